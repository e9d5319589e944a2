//! A device: a folder on a disk that may fail, a machine, and the store between them.

use crate::disk::Disk;
use crate::machine::Machine;
use airshelf_app::Shelf;
use airshelf_store::{Store, StoreError};
use fastrand::Rng;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A device.
pub struct Device {
    pub name: String,
    pub dir: PathBuf,
    pub disk: Arc<Disk>,
    pub machine: Arc<Machine>,
    /// Whether others may call it; two that may not never meet.
    pub is_hub: bool,
    /// A copy of its folder from earlier.
    pub copy: Option<PathBuf>,
    store: Option<Store>,
}

impl Device {
    /// A device with an empty shelf.
    pub fn new(folder: &Path, name: &str, machine: Arc<Machine>, is_hub: bool) -> Device {
        let dir = folder.join(name);
        let disk = Disk::below(&dir);
        let store = Store::create(&dir, machine.clone()).unwrap();
        Device { name: name.into(), dir, disk, machine, is_hub, copy: None, store: Some(store) }
    }

    /// A device whose folder is made by something else.
    pub fn made_by(
        folder: &Path,
        name: &str,
        machine: Arc<Machine>,
        is_hub: bool,
        make: impl FnOnce(&Path, Arc<Machine>) -> Store,
    ) -> Device {
        let dir = folder.join(name);
        let disk = Disk::below(&dir);
        let store = make(&dir, machine.clone());
        Device { name: name.into(), dir, disk, machine, is_hub, copy: None, store: Some(store) }
    }

    /// The open store.
    pub fn store(&mut self) -> &mut Store {
        self.store.as_mut().expect("a device between two events has its store open")
    }

    /// The open store, to be read.
    pub fn held(&self) -> &Store {
        self.store.as_ref().expect("a device between two events has its store open")
    }

    /// Hands the store over to a program.
    pub fn takes_shelf(&mut self) -> Shelf {
        Shelf::from(self.store.take().expect("a device between two events has its store open"))
    }

    /// Takes the store back.
    pub fn has_shelf(&mut self, shelf: Shelf) {
        self.store = Some(shelf.into());
    }

    /// Closes the store.
    pub fn close(&mut self) {
        self.store = None;
    }

    /// Opens the store again.
    pub fn open(&mut self) -> Result<(), StoreError> {
        self.close();
        self.store = Some(Store::open(&self.dir, self.machine.clone())?);
        Ok(())
    }

    /// Starts the device again where its power went, which may happen once more while it starts. Says whether it had gone.
    pub fn recovers(&mut self, dice: &mut Rng) -> bool {
        if !self.disk.is_dark() {
            self.disk.stays_lit();
            return false;
        }
        self.close();
        self.disk.lights_up(dice);
        for _ in 0..2 {
            if dice.u8(0..4) == 0 {
                self.disk.goes_dark_after(dice.u64(1..12));
            }
            let opened = self.open();
            if !self.disk.is_dark() {
                opened.unwrap_or_else(|error| {
                    panic!("{} does not open after the power went: {error}", self.name)
                });
                self.disk.stays_lit();
                return true;
            }
            self.close();
            self.disk.lights_up(dice);
        }
        self.open()
            .unwrap_or_else(|error| panic!("{} does not open after the power went: {error}", self.name));
        true
    }

    /// The power goes while nothing is done.
    pub fn goes_dark(&mut self, dice: &mut Rng) {
        self.disk.goes_dark_after(0);
        let _ = self.disk.sync(Path::new(""));
        self.recovers(dice);
    }

    /// Copies the closed folder.
    pub fn copy_to(&mut self, to: &Path) {
        self.close();
        copy_folder(&self.dir, to);
        self.open().unwrap();
    }

    /// Puts a copy of the folder in its place; photos that came since are gone from here.
    pub fn put_back(&mut self, copy: &Path) {
        self.close();
        fs::remove_dir_all(&self.dir).unwrap();
        copy_folder(copy, &self.dir);
        self.open().unwrap();
    }
}

impl Drop for Device {
    fn drop(&mut self) {
        self.close();
        self.disk.remove();
    }
}

/// Copies a folder with everything in it.
pub fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().flatten() {
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}
