//! The machine under a store: a clock that may be wrong and run backwards, dice, an identity, a program of some age.

use airshelf_catalog::{EntityKind, Uuid};
use airshelf_store::{Host, Identity};
use fastrand::Rng;
use std::io;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};
use std::sync::{Arc, Mutex};

/// The true time of a simulation, in milliseconds since 1970.
#[derive(Clone, Default)]
pub struct Sun(Arc<AtomicI64>);

impl Sun {
    /// Starts in November 2026.
    pub fn rises() -> Sun {
        Sun(Arc::new(AtomicI64::new(1_795_630_000_000)))
    }

    /// Lets time pass.
    pub fn moves_on(&self, ms: i64) {
        self.0.fetch_add(ms, Ordering::Relaxed);
    }
}

/// The machine of one device.
pub struct Machine {
    sun: Sun,
    skew_ms: AtomicI64,
    dice: Mutex<Rng>,
    identity: Mutex<Option<Identity>>,
    /// Whether its program is from before parts had a condition and people made decisions.
    old_program: AtomicBool,
    /// Whether identities cannot be kept at present.
    full: AtomicBool,
}

impl Machine {
    /// A new machine.
    pub fn new(sun: &Sun, seed: u64, skew_ms: i64) -> Arc<Machine> {
        Arc::new(Machine {
            sun: sun.clone(),
            skew_ms: AtomicI64::new(skew_ms),
            dice: Mutex::new(Rng::with_seed(seed)),
            identity: Mutex::default(),
            old_program: AtomicBool::new(false),
            full: AtomicBool::new(false),
        })
    }

    /// Copies another's identity, as a copy of a whole disk does.
    pub fn takes_identity_of(&self, other: &Machine) {
        *self.identity.lock().unwrap() = *other.identity.lock().unwrap();
    }

    /// Sets the clock wrong by so much.
    pub fn is_off_by(&self, ms: i64) {
        self.skew_ms.store(ms, Ordering::Relaxed);
    }

    /// Installs an older or the newest program; the store must be opened again to notice.
    pub fn installs(&self, old: bool) {
        self.old_program.store(old, Ordering::Relaxed);
    }

    /// Whether the program is the older one.
    pub fn is_old(&self) -> bool {
        self.old_program.load(Ordering::Relaxed)
    }

    /// Says whether identities can be kept.
    pub fn is_full(&self, full: bool) {
        self.full.store(full, Ordering::Relaxed);
    }

    fn make(&self) -> io::Result<Identity> {
        if self.full.load(Ordering::Relaxed) {
            return Err(io::ErrorKind::StorageFull.into());
        }
        let (mut device, mut key) = ([0; 16], [0; 32]);
        self.random(&mut device);
        self.random(&mut key);
        Ok(Identity { device: Uuid::from_bytes(device), key })
    }
}

impl Host for Machine {
    fn now_ms(&self) -> u64 {
        let now = self.sun.0.load(Ordering::Relaxed) + self.skew_ms.load(Ordering::Relaxed);
        u64::try_from(now).unwrap()
    }

    fn wall(&self) -> String {
        format!("wall {}", self.now_ms())
    }

    fn random(&self, out: &mut [u8]) {
        self.dice.lock().unwrap().fill(out);
    }

    fn identity(&self, _: &Path) -> io::Result<Identity> {
        let held = *self.identity.lock().unwrap();
        held.map_or_else(|| self.new_identity(Path::new("")), Ok)
    }

    fn new_identity(&self, _: &Path) -> io::Result<Identity> {
        let fresh = self.make()?;
        *self.identity.lock().unwrap() = Some(fresh);
        Ok(fresh)
    }

    fn program(&self) -> String {
        if self.is_old() { "airshelf 0".into() } else { "airshelf sim".into() }
    }

    fn knows(&self, entity: u8, field: u16) -> bool {
        let unknown = entity == EntityKind::Decision.number()
            || (entity == EntityKind::Part.number() && field == CONDITION);
        !(self.is_old() && unknown)
    }
}

/// The number of a part's condition.
pub const CONDITION: u16 = 9;
