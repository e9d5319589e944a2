//! A device in a test: its own clock, its own dice, its own identity, and what its program knows.

use airshelf_catalog::{Entity, Records, Uuid, Value};
use airshelf_store::{Applied, Encoded, Host, Identity, Scope, Store, VersionVector};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};

/// The machine of a test.
pub struct Machine {
    identity: Mutex<Identity>,
    clock_ms: AtomicU64,
    dice: AtomicU64,
    knows: fn(u8, u16) -> bool,
}

impl Machine {
    /// A machine with a number, whose clock starts anywhere.
    pub fn number(n: u8, clock_ms: u64) -> Arc<Machine> {
        Machine::knowing(n, clock_ms, |_, _| true)
    }

    /// A machine whose program knows only some entities and fields.
    pub fn knowing(n: u8, clock_ms: u64, knows: fn(u8, u16) -> bool) -> Arc<Machine> {
        Arc::new(Machine {
            identity: Mutex::new(Identity { device: Uuid::from_bytes([n; 16]), key: [n; 32] }),
            clock_ms: AtomicU64::new(clock_ms),
            dice: AtomicU64::new(u64::from(n) << 32),
            knows,
        })
    }
}

impl Host for Machine {
    fn now_ms(&self) -> u64 {
        self.clock_ms.fetch_add(1, Ordering::Relaxed)
    }
    fn wall(&self) -> String {
        "2026-11-25T18:40:00+01:00".into()
    }
    fn random(&self, out: &mut [u8]) {
        for (at, byte) in out.iter_mut().enumerate() {
            let roll = self.dice.fetch_add(0x9e37_79b9_7f4a_7c15, Ordering::Relaxed);
            *byte = (roll >> (at % 8 * 8)) as u8;
        }
    }
    fn identity(&self, _: &Path) -> std::io::Result<Identity> {
        Ok(*self.identity.lock().unwrap())
    }
    fn new_identity(&self, _: &Path) -> std::io::Result<Identity> {
        let mut held = self.identity.lock().unwrap();
        let mut fresh = [0; 16];
        self.random(&mut fresh);
        fresh[0] = 0xee;
        *held = Identity { device: Uuid::from_bytes(fresh), key: [1; 32] };
        Ok(*held)
    }
    fn knows(&self, entity: u8, field: u16) -> bool {
        (self.knows)(entity, field)
    }
}

/// Settles what two copies of one device wrote apart, as an exchange does; gives how many transactions were renamed.
pub fn settle(a: &mut Store, b: &mut Store) -> usize {
    let mut renamed = 0;
    loop {
        let mut forked = a.forked_from(&b.version_vector().unwrap()).unwrap();
        forked.extend(b.forked_from(&a.version_vector().unwrap()).unwrap());
        let Some(device) = forked.first().copied() else { return renamed };
        let (ours, theirs) = (
            a.links(device, &(1..1_000).collect::<Vec<_>>()).unwrap(),
            b.links(device, &(1..1_000).collect::<Vec<_>>()).unwrap(),
        );
        let from = *ours.keys().find(|number| ours[number] != theirs[number]).expect("they differ somewhere");
        let by_a = a.settle_fork(device, from, &theirs[&from]).unwrap();
        let by_b = b.settle_fork(device, from, &ours[&from]).unwrap();
        assert!(by_a.is_some() != by_b.is_some(), "exactly one branch keeps its name");
        renamed += by_a.or(by_b).unwrap();
    }
}

/// Copies to `to` what it lacks, in small pieces, and says what came of it.
pub fn pour(from: &Store, to: &mut Store) -> Applied {
    to.meet(&from.version_vector().unwrap()).unwrap();
    let mut all = Applied::default();
    loop {
        let piece = from.transactions_since(&to.version_vector().unwrap(), 400).unwrap();
        if piece.is_empty() {
            return all;
        }
        let applied = to.apply(&piece).unwrap();
        all.new += applied.new;
        all.parked += applied.parked;
        all.revived.extend(applied.revived);
        all.conflicts = applied.conflicts;
        all.new_identity |= applied.new_identity;
    }
}

/// Brings two stores together, both ways.
pub fn sync(a: &mut Store, b: &mut Store) {
    settle(a, b);
    pour(a, b);
    pour(b, a);
}

/// All transactions of a store.
pub fn log_of(store: &Store) -> Vec<Encoded> {
    store.transactions_since(&VersionVector::default(), usize::MAX).unwrap()
}

/// Everything a store shows, in an order that every store agrees on.
pub fn shown(store: &Store) -> (Records, Vec<String>, Vec<String>) {
    let mut records = store.records(Scope::All).unwrap();
    macro_rules! sort { ($($plural:ident),+) => { $( records.$plural.sort_by_key(|row| row.id); )+ } }
    sort!(
        persons,
        parts,
        revisions,
        measurements,
        aliases,
        photos,
        listings,
        assemblies,
        benches,
        bench_ranges
    );
    sort!(
        sessions,
        runs,
        readings,
        claims,
        ratings,
        predictions,
        service_events,
        engines,
        vehicles,
        decisions
    );
    sort!(import_files, sheet_tables, sheet_rows, also_at, quarantined);
    let mut conflicts: Vec<String> = store.conflicts().unwrap().iter().map(|c| format!("{c:?}")).collect();
    conflicts.sort();
    let mut parked: Vec<String> = store.parked().unwrap().iter().map(|p| format!("{p:?}")).collect();
    parked.sort();
    (records, conflicts, parked)
}

/// Fails unless both stores show the same, and each is what its log adds up to.
#[track_caller]
pub fn assert_equal(a: &Store, b: &Store) {
    assert_eq!(shown(a), shown(b));
    for store in [a, b] {
        let checked = store.check().unwrap();
        assert_eq!(checked.table_faults, Vec::<String>::new());
        assert!(checked.is_sound(), "{checked:?}");
    }
}

/// Edits one field in a write of its own.
pub fn edit<E: Entity>(store: &mut Store, id: Uuid, field: &str, text: &str) {
    store
        .write("edit", |w| w.edit::<E>(id, field, Value::Text(text.into())))
        .unwrap_or_else(|e: airshelf_store::StoreError| panic!("{e}"));
}
