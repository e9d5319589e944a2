//! The hubs that this machine was paired with: their keys, and by which certificate they are known.

use crate::trust::files;
use airshelf_app::Fault;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// One hub.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Known {
    /// Where it is.
    pub url: String,
    /// What people call it.
    pub name: String,
    /// The shelf that was paired with it.
    pub shelf: Uuid,
    /// This device's key there.
    pub key: String,
    /// The only certificate that the connection may lead to, DER in hexadecimal digits; none for a public authority.
    pub authority: Option<String>,
}

#[derive(Default, Serialize, Deserialize)]
struct Kept {
    hubs: Vec<Known>,
}

/// The file in which they are kept, readable by its owner only.
#[derive(Clone, Debug)]
pub struct Knows {
    folder: PathBuf,
}

impl Knows {
    /// In this machine's configuration folder.
    ///
    /// # Errors
    /// [`Fault`] if the folder cannot be made.
    pub fn of(config: &Path) -> Result<Knows, Fault> {
        let folder = config.join("paired-with");
        files::private_folder(&folder)?;
        Ok(Knows { folder })
    }

    fn file(&self) -> PathBuf {
        self.folder.join("hubs.json")
    }

    /// Every hub.
    ///
    /// # Errors
    /// [`Fault`] if the file cannot be read.
    pub fn all(&self) -> Result<Vec<Known>, Fault> {
        Ok(files::read::<Kept>(&self.file())?.unwrap_or_default().hubs)
    }

    /// The hub at an address, as the folder of a shelf is paired with it.
    ///
    /// # Errors
    /// [`Fault`] if the file cannot be read.
    pub fn at(&self, url: &str) -> Result<Option<Known>, Fault> {
        Ok(self.all()?.into_iter().find(|known| known.url == url))
    }

    /// Keeps a hub, in place of what was known of that address.
    ///
    /// # Errors
    /// [`Fault`] if it cannot be kept.
    pub fn keep(&self, known: Known) -> Result<(), Fault> {
        let _lock = files::lock(&self.folder)?;
        let mut kept: Kept = files::read(&self.file())?.unwrap_or_default();
        kept.hubs.retain(|other| other.url != known.url);
        kept.hubs.push(known);
        files::write(&self.file(), &kept)
    }

    /// Forgets the hub at an address.
    ///
    /// # Errors
    /// [`Fault`] if that cannot be kept.
    pub fn forget(&self, url: &str) -> Result<(), Fault> {
        let _lock = files::lock(&self.folder)?;
        let mut kept: Kept = files::read(&self.file())?.unwrap_or_default();
        kept.hubs.retain(|known| known.url != url);
        files::write(&self.file(), &kept)
    }
}
