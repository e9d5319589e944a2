//! What every request can reach: the shelf, who is paired, and the news of changes.

use crate::refusal::Refusal;
use crate::tls::Names;
use crate::trust::Trust;
use airshelf_app::{Fault, Host, Shelf};
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::watch;

/// The hub's state; a clone is the same hub.
#[derive(Clone)]
pub struct Hub {
    /// The shelf. It is held for one step at a time, and never across an await: see [`Hub::with_shelf`].
    pub shelf: Arc<Mutex<Shelf>>,
    /// Who may ask.
    pub trust: Arc<Trust>,
    /// Clock and randomness.
    pub host: Arc<dyn Host>,
    /// What people call this hub.
    pub name: Arc<str>,
    /// The names that it answers to.
    pub names: Arc<Names>,
    changed: watch::Sender<u64>,
    trust_changed: watch::Sender<u64>,
    stopping: watch::Sender<bool>,
}

impl std::fmt::Debug for Hub {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Hub").field("name", &self.name).finish_non_exhaustive()
    }
}

impl Hub {
    pub(crate) fn new(
        shelf: Shelf,
        trust: Arc<Trust>,
        host: Arc<dyn Host>,
        name: &str,
        names: Arc<Names>,
    ) -> Self {
        Hub {
            shelf: Arc::new(Mutex::new(shelf)),
            trust,
            host,
            name: name.into(),
            names,
            changed: watch::Sender::new(0),
            trust_changed: watch::Sender::new(0),
            stopping: watch::Sender::new(false),
        }
    }

    /// Does something with the shelf on a thread that may wait for the disk.
    ///
    /// # Errors
    /// The fault as a [`Refusal`].
    pub async fn with_shelf<T, F>(&self, work: F) -> Result<T, Refusal>
    where
        T: Send + 'static,
        F: FnOnce(&mut Shelf) -> Result<T, Fault> + Send + 'static,
    {
        let shelf = Arc::clone(&self.shelf);
        apart(move || {
            // A step that panicked left no half transaction behind: SQLite rolled it back.
            let mut shelf = shelf.lock().unwrap_or_else(PoisonError::into_inner);
            work(&mut shelf).map_err(Refusal::from)
        })
        .await
    }

    /// Does something with the trust's files on a thread that may wait for the disk.
    ///
    /// # Errors
    /// What `work` gives.
    pub async fn with_trust<T, F>(&self, work: F) -> Result<T, Refusal>
    where
        T: Send + 'static,
        F: FnOnce(&Trust) -> Result<T, Refusal> + Send + 'static,
    {
        let trust = Arc::clone(&self.trust);
        apart(move || work(&trust)).await
    }

    /// Says that the shelf holds something new: every live stream tells its device.
    pub fn changed(&self) {
        self.changed.send_modify(|count| *count = count.wrapping_add(1));
    }

    /// Hears of changes; changes that come faster than they are heard are heard once.
    pub fn changes(&self) -> watch::Receiver<u64> {
        self.changed.subscribe()
    }

    /// Says that a device may have been revoked: every live stream looks whether it is its own.
    pub fn trust_changed(&self) {
        self.trust_changed.send_modify(|count| *count = count.wrapping_add(1));
    }

    pub(crate) fn trust_changes(&self) -> watch::Receiver<u64> {
        self.trust_changed.subscribe()
    }

    /// Hears of the end.
    pub fn end(&self) -> watch::Receiver<bool> {
        self.stopping.subscribe()
    }

    pub(crate) fn stop(&self) {
        self.stopping.send_replace(true);
    }
}

async fn apart<T, F>(work: F) -> Result<T, Refusal>
where
    T: Send + 'static,
    F: FnOnce() -> Result<T, Refusal> + Send + 'static,
{
    match tokio::task::spawn_blocking(work).await {
        Ok(done) => done,
        Err(error) => {
            Err(Refusal::broken(format!("the hub broke while doing this; nothing was changed ({error})")))
        }
    }
}
