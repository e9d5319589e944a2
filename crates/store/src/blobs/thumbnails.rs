//! Small pictures of photos, kept beside them: they can be made again at any time, and are in no backup.

use super::{Blobs, Hash, hex};
use crate::error::StoreError;
use std::fs;
use std::path::PathBuf;

impl Blobs {
    fn thumbnail_path(&self, hash: &Hash) -> PathBuf {
        let name = hex(hash);
        self.folder().join("thumbnails").join(&name[..2]).join(name)
    }

    /// The small picture of a photo, where there is one.
    pub fn thumbnail(&self, hash: &Hash) -> Option<Vec<u8>> {
        fs::read(self.thumbnail_path(hash)).ok()
    }

    /// Keeps the small picture of a photo.
    ///
    /// # Errors
    /// What the file system says.
    pub fn keep_thumbnail(&self, hash: &Hash, bytes: &[u8]) -> Result<(), StoreError> {
        let path = self.thumbnail_path(hash);
        let what = || format!("keeping {}", path.display());
        fs::create_dir_all(path.parent().expect("a thumbnail lies in a folder"))
            .map_err(StoreError::io(what()))?;
        let beside = path.with_extension("part");
        fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, &path)).map_err(StoreError::io(what()))
    }
}
