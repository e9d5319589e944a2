//! Whether a hub is running on the shelf, and where: what `airshelf pair` needs to make its link.

use super::{Trust, files};
use airshelf_app::{Code, Fault};
use serde::{Deserialize, Serialize};
use std::fs::{File, TryLockError};

/// Where a running hub is reached.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, Eq)]
pub struct Where {
    /// The address to give to other devices.
    pub url: String,
    /// The page that explains how to trust the hub's authority, where there is one.
    pub trust_page: Option<String>,
    /// The SHA-256 of the authority's certificate, where there is one.
    pub authority_sha256: Option<String>,
}

impl Where {
    /// The link that pairs a device; the code stands behind the `#`, which no browser sends.
    pub fn link(&self, code: &str) -> String {
        let mut link = format!("{}/#pair={code}", self.url);
        if let Some(authority) = &self.authority_sha256 {
            link += &format!("&authority={authority}");
        }
        link
    }
}

impl Trust {
    fn running_lock(&self) -> Result<File, Fault> {
        let path = self.base.join(format!("{}.running", self.shelf()));
        files::private(&path, false).map_err(|e| files::fault("opening", &path, &e))
    }

    /// Takes the place of the one hub on this shelf, for as long as the answer is held.
    ///
    /// # Errors
    /// [`Fault`] if another hub has it.
    pub(crate) fn claim(&self) -> Result<File, Fault> {
        let lock = self.running_lock()?;
        match lock.try_lock() {
            Ok(()) => Ok(lock),
            Err(TryLockError::WouldBlock) => {
                let at = files::read::<Where>(&self.folder().join("running.json")).ok().flatten();
                let at = at.map_or_else(String::new, |at| format!(" at {}", at.url));
                Err(Fault::new(Code::ShelfExists, format!("a hub is running on this shelf already{at}"))
                    .hint("Use that one, or stop it first."))
            }
            Err(TryLockError::Error(error)) => Err(files::fault("locking", &self.folder(), &error)),
        }
    }

    /// Says where the hub is reached.
    pub(crate) fn announce(&self, at: &Where) -> Result<(), Fault> {
        files::write(&self.folder().join("running.json"), at)
    }

    /// Where a hub is running on this shelf, if one is.
    ///
    /// # Errors
    /// [`Fault`] if the files cannot be read.
    pub fn running(&self) -> Result<Option<Where>, Fault> {
        match self.running_lock()?.try_lock() {
            Err(TryLockError::WouldBlock) => files::read(&self.folder().join("running.json")),
            _ => Ok(None),
        }
    }
}
