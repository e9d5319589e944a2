//! A disk that loses power and fills up: what SQLite wrote to it and did not sync may be gone, torn or there.
//!
//! Every write since a file's last sync is kept with what it wrote over. When the power goes, each of them is kept,
//! dropped, or torn at the borders of sectors, in any combination: a disk may write in any order what nobody synced.

use fastrand::Rng;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};

/// What a disk writes whole or not at all.
const SECTOR: usize = 512;

/// What became of an operation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It is done.
    Done,
    /// There is no room.
    Full,
    /// The power is gone; perhaps it was done, perhaps half.
    Dark,
}

enum Unsynced {
    Write { at: usize, before: Vec<u8>, length_before: usize, bytes: Vec<u8> },
    Truncate { to: usize, tail: Vec<u8> },
}

#[derive(Default)]
struct State {
    unsynced: BTreeMap<PathBuf, Vec<Unsynced>>,
    /// Files that were made and whose names are not safe yet.
    young: BTreeSet<PathBuf>,
    /// Files that were removed, which is not safe yet.
    removed: Vec<(PathBuf, Vec<u8>)>,
    operations: u64,
    goes_dark_at: Option<u64>,
    dark: bool,
    room: Option<u64>,
}

/// The disk of one device: everything below a folder.
pub struct Disk {
    folder: PathBuf,
    state: Mutex<State>,
}

static DISKS: Mutex<Vec<Arc<Disk>>> = Mutex::new(Vec::new());

impl Disk {
    /// Puts everything below a folder on a disk of its own.
    pub fn below(folder: &Path) -> Arc<Disk> {
        let disk = Arc::new(Disk { folder: folder.to_owned(), state: Mutex::default() });
        DISKS.lock().unwrap().push(Arc::clone(&disk));
        disk
    }

    /// The disk on which a file lies.
    pub fn of(file: &Path) -> Option<Arc<Disk>> {
        DISKS.lock().unwrap().iter().find(|disk| file.starts_with(&disk.folder)).cloned()
    }

    /// Forgets the disk.
    pub fn remove(&self) {
        DISKS.lock().unwrap().retain(|disk| disk.folder != self.folder);
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap()
    }

    /// Cuts the power at an operation that changes something, counted from now.
    pub fn goes_dark_after(&self, operations: u64) {
        let mut state = self.state();
        state.goes_dark_at = Some(state.operations + operations);
    }

    /// Takes back that the power will go.
    pub fn stays_lit(&self) {
        self.state().goes_dark_at = None;
    }

    /// Whether the power is gone.
    pub fn is_dark(&self) -> bool {
        self.state().dark
    }

    /// Says how many bytes files may still grow.
    pub fn has_room(&self, bytes: Option<u64>) {
        self.state().room = bytes;
    }

    /// The power comes back: leaves of every file what a disk may have of it. Nobody may have a file open.
    pub fn lights_up(&self, dice: &mut Rng) {
        let mut state = self.state();
        let temper = dice.u8(0..4);
        for (file, operations) in std::mem::take(&mut state.unsynced) {
            if state.young.contains(&file) && dice.bool() {
                let _ = fs::remove_file(&file);
                continue;
            }
            let Ok(mut image) = fs::read(&file) else { continue };
            operations.iter().rev().for_each(|operation| operation.take_back(&mut image));
            for operation in &operations {
                match temper {
                    0 => operation.apply(&mut image, |_| true),
                    1 => {}
                    2 if dice.bool() => operation.apply(&mut image, |_| true),
                    2 => {}
                    _ => operation.apply(&mut image, |_| dice.bool()),
                }
            }
            fs::write(&file, image).unwrap();
        }
        for (file, bytes) in std::mem::take(&mut state.removed) {
            if !file.exists() && dice.bool() {
                fs::write(&file, bytes).unwrap();
            }
        }
        for entry in fs::read_dir(&self.folder).into_iter().flatten().flatten() {
            if entry.path().to_string_lossy().ends_with("-shm") {
                let _ = fs::remove_file(entry.path());
            }
        }
        *state = State { operations: state.operations, ..State::default() };
    }
}

/// What SQLite does to a disk; the caller does the same to the real file unless there is no room.
impl Disk {
    fn count(state: &mut State) -> Verdict {
        state.operations += 1;
        if state.goes_dark_at.is_some_and(|at| state.operations >= at) {
            state.dark = true;
        }
        if state.dark { Verdict::Dark } else { Verdict::Done }
    }

    /// A file is made.
    pub fn made(&self, file: &Path) {
        self.state().young.insert(file.to_owned());
    }

    /// Bytes are written over others, of which there may be fewer at the file's end.
    pub fn write(&self, file: &Path, at: usize, bytes: &[u8], before: Vec<u8>, length: usize) -> Verdict {
        let mut state = self.state();
        if state.dark {
            return Verdict::Dark;
        }
        let growth = (at + bytes.len()).saturating_sub(length) as u64;
        if let Some(room) = &mut state.room {
            if growth > *room {
                return Verdict::Full;
            }
            *room -= growth;
        }
        let operation = Unsynced::Write { at, before, length_before: length, bytes: bytes.to_vec() };
        state.unsynced.entry(file.to_owned()).or_default().push(operation);
        Disk::count(&mut state)
    }

    /// A file is cut off.
    pub fn truncate(&self, file: &Path, to: usize, tail: Vec<u8>) -> Verdict {
        let mut state = self.state();
        if state.dark {
            return Verdict::Dark;
        }
        if let Some(room) = &mut state.room {
            *room += tail.len() as u64;
        }
        state.unsynced.entry(file.to_owned()).or_default().push(Unsynced::Truncate { to, tail });
        Disk::count(&mut state)
    }

    /// A file is synced; the first time, SQLite syncs the folder with it.
    pub fn sync(&self, file: &Path) -> Verdict {
        let mut state = self.state();
        let verdict = Disk::count(&mut state);
        if verdict == Verdict::Done {
            state.unsynced.remove(file);
            if state.young.remove(file) {
                state.removed.clear();
            }
        }
        verdict
    }

    /// A file is removed.
    pub fn delete(&self, file: &Path, folder_synced: bool) -> Verdict {
        let mut state = self.state();
        let verdict = Disk::count(&mut state);
        if verdict == Verdict::Done {
            state.unsynced.remove(file);
            let young = state.young.remove(file);
            if folder_synced {
                state.removed.clear();
            } else if let (false, Ok(bytes)) = (young, fs::read(file)) {
                state.removed.push((file.to_owned(), bytes));
            }
        }
        verdict
    }
}

impl Unsynced {
    fn take_back(&self, image: &mut Vec<u8>) {
        match self {
            Unsynced::Write { at, before, length_before, .. } => {
                if let Some(there) = image.get_mut(*at..at + before.len()) {
                    there.copy_from_slice(before);
                }
                image.truncate(*length_before);
            }
            Unsynced::Truncate { to, tail } => {
                image.resize(*to, 0);
                image.extend_from_slice(tail);
            }
        }
    }

    fn apply(&self, image: &mut Vec<u8>, mut keep: impl FnMut(usize) -> bool) {
        match self {
            Unsynced::Write { at, bytes, .. } => {
                let mut from = 0;
                while from < bytes.len() {
                    let to = (((at + from) / SECTOR + 1) * SECTOR - at).min(bytes.len());
                    if keep(from) {
                        image.resize(image.len().max(at + to), 0);
                        image[at + from..at + to].copy_from_slice(&bytes[from..to]);
                    }
                    from = to;
                }
            }
            Unsynced::Truncate { to, .. } => {
                if keep(0) {
                    image.truncate(*to);
                }
            }
        }
    }
}
