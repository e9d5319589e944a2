//! One simulation: devices of one shelf, what happens to them, and what must hold once they had quiet.

use crate::deeds::{self, Pen};
use crate::device::Device;
use crate::facts::Facts;
use crate::machine::{Machine, Sun};
use crate::network::{Met, Network, Weather};
use crate::quiet;
use crate::{tomorrow, vfs};
use airshelf_store::Store;
use fastrand::Rng;
use std::sync::{Arc, Mutex};
use tempfile::TempDir;

/// Clocks are wrong by up to this.
const MOST_SKEW_MS: i64 = 48 * 3_600_000;
/// So many devices at most, copies and restored ones among them.
const MOST_DEVICES: usize = 6;

/// What happened so far, kept outside so that it outlives a panic.
pub type Trace = Arc<Mutex<Vec<String>>>;

/// A simulation under way.
pub struct World {
    pub devices: Vec<Device>,
    pub facts: Facts,
    pub dice: Rng,
    sun: Sun,
    network: Network,
    pen: Pen,
    folder: TempDir,
    trace: Trace,
    named: usize,
    /// How often folders are copied, in percent of all that happens.
    copies: u8,
}

fn folder() -> TempDir {
    let memory = std::path::Path::new("/dev/shm");
    if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() }.unwrap()
}

impl World {
    /// Devices that hold one shelf, as many as the seed says.
    pub fn of(seed: u64, trace: Trace) -> World {
        vfs::register();
        let mut world = World {
            devices: Vec::new(),
            facts: Facts::default(),
            dice: Rng::with_seed(seed),
            sun: Sun::rises(),
            network: Network::default(),
            pen: Pen::default(),
            folder: folder(),
            trace,
            named: 0,
            copies: 0,
        };
        world.copies = *[0, 3, 15].get(world.dice.usize(..3)).unwrap();
        world.pen.few = world.dice.bool();
        for n in 0..world.dice.usize(3..=4) {
            let (name, machine) = (world.name(), world.machine());
            machine.installs(n > 0 && world.dice.u8(0..5) == 0);
            let device = Device::new(world.folder.path(), &name, machine, n < 2);
            world.devices.push(device);
        }
        // The first writes once, so that it is not empty, and all join it.
        let first = &mut world.devices[0];
        let told = deeds::something(first, &mut world.facts, &mut world.pen, &mut Rng::with_seed(0));
        world.tell(&told);
        for other in 1..world.devices.len() {
            assert_eq!(world.exchange(other, 0, Weather::Clear), Met::Whole { moved: true });
        }
        world
    }

    fn tell(&self, text: &str) {
        self.trace.lock().unwrap().push(text.to_owned());
    }

    fn name(&mut self) -> String {
        self.named += 1;
        format!("d{}", self.named)
    }

    fn skew(&mut self) -> i64 {
        let most = *[0, 1_000, 3_600_000, MOST_SKEW_MS].get(self.dice.usize(..4)).unwrap();
        self.dice.i64(-most..=most)
    }

    fn machine(&mut self) -> Arc<Machine> {
        let skew = self.skew();
        Machine::new(&self.sun, self.dice.u64(..), skew)
    }

    fn any(&mut self) -> usize {
        self.dice.usize(..self.devices.len())
    }

    /// A device and a hub that it may call.
    fn two(&mut self) -> (usize, usize) {
        loop {
            let (client, hub) = (self.any(), self.any());
            if client != hub && self.devices[hub].is_hub {
                return (client, hub);
            }
        }
    }

    /// A device calls a hub.
    pub fn exchange(&mut self, client: usize, hub: usize, weather: Weather) -> Met {
        let [asks, answers] = self.devices.get_disjoint_mut([client, hub]).unwrap();
        let met = self.network.exchange(asks, answers, hub, &mut self.dice, weather);
        self.tell(&format!(
            "{} calls {} ({weather:?}): {met:?}",
            self.devices[client].name, self.devices[hub].name
        ));
        for at in [client, hub] {
            if self.devices[at].recovers(&mut self.dice) {
                self.tell(&format!("{}: the power went meanwhile", self.devices[at].name));
            }
        }
        met
    }

    /// Something happens.
    pub fn goes_on(&mut self) {
        let passes = *[0, 1, 5, 1_000, 60_000, 7_200_000].get(self.dice.usize(..6)).unwrap();
        self.sun.moves_on(passes);
        if self.dice.u8(0..100) < self.copies {
            match self.dice.u8(0..5) {
                0..=2 => self.copied(),
                _ => self.put_back(),
            }
            return;
        }
        match self.dice.u8(0..100) {
            0..=61 => self.deed(),
            62..=86 => self.meeting(),
            87..=89 => {
                let (at, skew) = (self.any(), self.skew());
                self.devices[at].machine.is_off_by(skew);
                self.tell(&format!("{}: clock off by {skew} ms", self.devices[at].name));
            }
            90..=92 => {
                let at = self.any();
                self.tell(&format!("{}: the power goes", self.devices[at].name));
                self.devices[at].goes_dark(&mut self.dice);
            }
            93..=94 => self.restored(),
            95 => self.tomorrow(),
            96 => self.new_program(),
            _ => {
                let at = self.any();
                self.tell(&format!("{}: opened again", self.devices[at].name));
                self.devices[at].open().unwrap();
            }
        }
    }

    fn trouble(&mut self, at: usize) {
        let device = &self.devices[at];
        match self.dice.u8(0..12) {
            0..=1 => device.disk.goes_dark_after(self.dice.u64(1..40)),
            2 => device.disk.has_room(Some(self.dice.u64(0..60_000))),
            3 => device.machine.is_full(true),
            _ => {}
        }
    }

    fn trouble_ends(&mut self, at: usize) {
        self.devices[at].disk.has_room(None);
        self.devices[at].disk.stays_lit();
        self.devices[at].machine.is_full(false);
    }

    fn deed(&mut self) {
        let at = self.any();
        self.deed_on(at);
    }

    fn deed_on(&mut self, at: usize) {
        self.trouble(at);
        let World { devices, facts, pen, dice, .. } = self;
        let told = deeds::something(&mut devices[at], facts, pen, dice);
        self.trouble_ends(at);
        self.tell(&told);
    }

    fn meeting(&mut self) {
        let (a, b) = self.two();
        for at in [a, b] {
            self.trouble(at);
        }
        let weather = *[Weather::Clear, Weather::Accidents(4), Weather::Accidents(12)]
            .get(self.dice.usize(..3))
            .unwrap();
        self.exchange(a, b, weather);
        for at in [a, b] {
            self.trouble_ends(at);
        }
    }

    /// Somebody copies a folder and uses the copy on another machine, perhaps with everything else on the disk.
    fn copied(&mut self) {
        let at = self.any();
        if self.dice.bool() || self.devices.len() >= MOST_DEVICES {
            let copy = self.folder.path().join(format!("copy-{at}-{}", self.named));
            self.named += 1;
            self.tell(&format!("{}: its folder is copied", self.devices[at].name));
            self.devices[at].copy_to(&copy);
            self.devices[at].copy = Some(copy);
            return;
        }
        let (name, machine) = (self.name(), self.machine());
        let whole_disk = self.dice.bool();
        if whole_disk {
            machine.takes_identity_of(&self.devices[at].machine);
        }
        machine.installs(self.devices[at].machine.is_old());
        self.tell(&format!(
            "{}: copied as {name}, {}",
            self.devices[at].name,
            if whole_disk { "a clone" } else { "another device" }
        ));
        let to = self.folder.path().join(&name);
        self.devices[at].copy_to(&to);
        let device = Device::made_by(self.folder.path(), &name, machine, self.dice.bool(), |dir, host| {
            Store::open(dir, host).unwrap()
        });
        self.devices.push(device);
        if whole_disk && self.dice.bool() {
            self.write_apart(at, self.devices.len() - 1);
        }
    }

    /// Both copies of a device are written to, and somebody sees what the one wrote before the other is noticed.
    fn write_apart(&mut self, original: usize, copy: usize) {
        let others: Vec<usize> = (0..copy).filter(|at| *at != original).collect();
        let Some(other) = self.dice.choice(others) else { return };
        for _ in 0..self.dice.usize(1..4) {
            self.deed_on(original);
        }
        self.exchange(original.max(other), original.min(other), Weather::Clear);
        for at in [other, copy] {
            for _ in 0..self.dice.usize(1..4) {
                self.deed_on(at);
            }
        }
    }

    /// Somebody puts an earlier copy of a folder back. What was written since is with others, so that nothing is lost.
    fn put_back(&mut self) {
        let at = self.any();
        let Some(copy) = self.devices[at].copy.clone() else { return };
        if let Some(other) = self.saved_elsewhere(at) {
            self.tell(&format!(
                "{}: after meeting {other}, an earlier copy is put back",
                self.devices[at].name
            ));
            self.devices[at].put_back(&copy);
        }
    }

    /// Brings everything that a device holds to another, whose name it gives.
    fn saved_elsewhere(&mut self, at: usize) -> Option<String> {
        let can = |other: &usize| *other != at && self.devices[*other].is_hub;
        let others: Vec<usize> = (0..self.devices.len()).filter(can).collect();
        let other = self.dice.choice(others)?;
        let met = self.exchange(at, other, Weather::Clear);
        assert!(matches!(met, Met::Whole { .. }), "{met:?}");
        Some(self.devices[other].name.clone())
    }

    /// A backup is made and restored beside the original or, once everything is with another, instead of it.
    fn restored(&mut self) {
        let at = self.any();
        let file = self.folder.path().join(format!("backup-{}", self.named));
        self.named += 1;
        self.devices[at].held().backup(&file).unwrap();
        if self.devices.len() < MOST_DEVICES {
            let (name, machine) = (self.name(), self.machine());
            self.tell(&format!("{}: backed up and restored as {name}", self.devices[at].name));
            let hub = self.dice.bool();
            let device = Device::made_by(self.folder.path(), &name, machine, hub, |dir, host| {
                Store::restore(&file, dir, host).unwrap()
            });
            self.devices.push(device);
        } else {
            self.tell(&format!("{}: backed up", self.devices[at].name));
        }
    }

    /// A transaction of a program that does not exist yet arrives, or such a program adds a column.
    fn tomorrow(&mut self) {
        let at = self.any();
        let part = self.devices[at].held().load::<airshelf_catalog::model::Part>().unwrap();
        let part = self.dice.choice(part).map(|part| part.id);
        let device = &mut self.devices[at];
        if self.dice.bool() {
            device.close();
            let told = tomorrow::adds_a_column(&device.dir);
            device.open().unwrap();
            self.tell(&format!("{}: {told}", self.devices[at].name));
        } else {
            let sent = tomorrow::transaction(&mut self.dice, part);
            device.store().apply(&[sent]).unwrap();
            self.tell(&format!("{}: something of tomorrow arrives", self.devices[at].name));
        }
    }

    fn new_program(&mut self) {
        let at = self.any();
        let device = &mut self.devices[at];
        device.machine.installs(false);
        device.open().unwrap();
        self.tell(&format!("{}: the newest program", self.devices[at].name));
    }
}

/// Runs a seed to its end.
pub fn run(seed: u64, trace: &Trace) {
    let mut world = World::of(seed, Arc::clone(trace));
    for _ in 0..world.dice.usize(20..70) {
        world.goes_on();
    }
    quiet::settles(&mut world);
}
