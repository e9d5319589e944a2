//! Who may ask: paired devices, the open invitation, and whether a hub is running, as files outside the shelf's folder.
//!
//! The folder is named by the shelf's identifier and is of this machine only: it is in no backup and no export. The
//! hub and the commands work on the same files, each change under a lock and each file whole or not at all.

mod devices;
pub(crate) mod files;
mod invitation;
mod joining;
mod key;
pub(crate) use key::hex;
mod running;
mod tries;

pub use devices::{DeviceReport, Paired};
pub use invitation::{Invitation, Joined, Joins, NotJoined};
pub use running::Where;

use airshelf_app::{Fault, Host};
use devices::Device;
use files::Version;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError, RwLock};
use uuid::Uuid;

/// The trust of one hub.
pub struct Trust {
    base: PathBuf,
    shelf: RwLock<Uuid>,
    host: Arc<dyn Host>,
    held: Mutex<Held>,
    tries: tries::Tries,
}

/// What was read last, so that a request does not read the file again.
#[derive(Default)]
struct Held {
    version: Option<Version>,
    devices: Vec<Device>,
}

impl std::fmt::Debug for Trust {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Trust").field("folder", &self.folder()).finish_non_exhaustive()
    }
}

impl Trust {
    /// The trust of the hub on a shelf; `config` is this machine's configuration folder. Makes the folder.
    ///
    /// # Errors
    /// [`Fault`] if the folder cannot be made.
    pub fn of(config: &Path, shelf: Uuid, host: Arc<dyn Host>) -> Result<Trust, Fault> {
        let base = config.join("hubs");
        files::private_folder(&base.join(shelf.to_string()))?;
        Ok(Trust {
            base,
            shelf: RwLock::new(shelf),
            host,
            held: Mutex::new(Held::default()),
            tries: tries::Tries::default(),
        })
    }

    /// The shelf that the hub is on.
    pub fn shelf(&self) -> Uuid {
        *self.shelf.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// Where the files stand.
    pub fn folder(&self) -> PathBuf {
        self.base.join(self.shelf().to_string())
    }

    /// What tells the devices' file of now from another.
    pub(crate) fn version(&self) -> Option<files::Version> {
        files::version(&self.folder().join("devices.json"))
    }

    fn held(&self) -> std::sync::MutexGuard<'_, Held> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Follows a shelf that was empty and has become part of another: who was paired stays paired.
    ///
    /// # Errors
    /// [`Fault`] if the folder cannot be renamed.
    pub fn follow(&self, shelf: Uuid) -> Result<(), Fault> {
        let mut ours = self.shelf.write().unwrap_or_else(PoisonError::into_inner);
        if *ours == shelf {
            return Ok(());
        }
        let (from, to) = (self.base.join(ours.to_string()), self.base.join(shelf.to_string()));
        if to.exists() {
            // This machine was a hub of that shelf once; what it knew then is set aside, not lost.
            let aside = self.base.join(format!("{shelf}.before-{}", self.host.now_ms()));
            std::fs::rename(&to, &aside).map_err(|e| files::fault("setting aside", &to, &e))?;
        }
        std::fs::rename(&from, &to).map_err(|e| files::fault("renaming", &from, &e))?;
        tracing::info!(from = %*ours, to = %shelf, "the shelf has joined another; paired devices stay");
        *ours = shelf;
        Ok(())
    }
}
