//! An empty shelf that joins another while no hub runs on it: who was paired with its hub stays paired.
//!
//! Whoever joins notes it beside the devices before the shelf does, so that no moment is left at which they are lost.
//! Who next opens the trust of that folder's shelf finds the note and follows.

use super::{Trust, files};
use airshelf_app::{Fault, Host, Shelf};
use serde::{Deserialize, Serialize};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use uuid::Uuid;

const NOTE: &str = "joining.json";

#[derive(Debug, PartialEq, Serialize, Deserialize)]
struct Joining {
    /// The shelf that is joined.
    shelf: Uuid,
    /// The folder of the one that joins; another folder's shelf may be the same, and is no business of these devices.
    folder: PathBuf,
}

fn whole(folder: &Path) -> PathBuf {
    fs::canonicalize(folder).unwrap_or_else(|_| folder.to_owned())
}

impl Trust {
    /// The trust of the hub on a shelf, which may have joined another since it had a hub.
    ///
    /// # Errors
    /// [`Fault`] if the folder cannot be made or renamed.
    pub fn on(config: &Path, shelf: &Shelf, host: Arc<dyn Host>) -> Result<Trust, Fault> {
        let id = shelf.store().shelf_id();
        let joined = Joining { shelf: id, folder: whole(shelf.store().dir()) };
        let Some(former) = former(&config.join("hubs"), &joined)? else {
            return Trust::of(config, id, host);
        };
        let trust = Trust::of(config, former, Arc::clone(&host))?;
        // A hub that runs follows by itself.
        let Ok(_claim) = trust.claim() else { return Trust::of(config, id, host) };
        trust.follow(id)?;
        files::remove(&trust.folder().join(NOTE))?;
        Ok(trust)
    }

    /// Notes that the empty shelf in a folder is about to become part of another.
    ///
    /// # Errors
    /// [`Fault`] if it cannot be noted; then it must not join.
    pub fn joins(config: &Path, folder: &Path, from: Uuid, to: Uuid) -> Result<(), Fault> {
        let ours = config.join("hubs").join(from.to_string());
        if !ours.exists() {
            return Ok(());
        }
        files::write(&ours.join(NOTE), &Joining { shelf: to, folder: whole(folder) })
    }
}

/// The shelf that this one was before it joined, if its hub's devices still wait.
fn former(base: &Path, joined: &Joining) -> Result<Option<Uuid>, Fault> {
    for entry in fs::read_dir(base).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let Some(id) = name.to_str().and_then(|name| Uuid::parse_str(name).ok()) else { continue };
        if id != joined.shelf && files::read(&entry.path().join(NOTE))?.as_ref() == Some(joined) {
            return Ok(Some(id));
        }
    }
    Ok(None)
}
