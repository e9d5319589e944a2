//! Blobs in a folder: files named by the SHA-256 of their bytes, beside the database.

use super::{Hash, hash_of, hex, parse};
use crate::error::StoreError;
use crate::host::Host;
use crate::naming;
use sha2::{Digest, Sha256};
use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The folder of blobs.
#[derive(Clone)]
pub struct Blobs {
    folder: PathBuf,
    host: Arc<dyn Host>,
}

impl std::fmt::Debug for Blobs {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Blobs").field("folder", &self.folder).finish_non_exhaustive()
    }
}

/// Hashes a file, read in pieces.
pub(super) fn hash_of_file(path: &Path) -> Result<Hash, StoreError> {
    let what = || format!("reading {}", path.display());
    let mut file = fs::File::open(path).map_err(StoreError::io(what()))?;
    let (mut hasher, mut piece) = (Sha256::new(), vec![0; 1 << 16]);
    loop {
        let count = file.read(&mut piece).map_err(StoreError::io(what()))?;
        if count == 0 {
            return Ok(hasher.finalize().into());
        }
        hasher.update(&piece[..count]);
    }
}

impl Blobs {
    pub(crate) fn at(dir: &Path, host: Arc<dyn Host>) -> Self {
        Blobs { folder: dir.join("blobs"), host }
    }

    /// Where a blob's file is, or would be.
    pub fn path(&self, hash: &Hash) -> PathBuf {
        let name = hex(hash);
        self.folder.join(&name[..2]).join(name)
    }

    /// Whether a blob's file is here.
    pub fn is_here(&self, hash: &Hash) -> bool {
        self.path(hash).is_file()
    }

    /// Keeps bytes and gives the hash that names them. They are on the disk when this returns.
    ///
    /// # Errors
    /// What the file system says; a blob is never left half written under its name.
    pub fn put(&self, bytes: &[u8]) -> Result<Hash, StoreError> {
        let hash = hash_of(bytes);
        let path = self.path(&hash);
        if path.is_file() {
            return Ok(hash);
        }
        let what = || format!("keeping {}", path.display());
        let folder = path.parent().expect("a blob lies in a folder");
        naming::make_folder(folder).map_err(StoreError::io(what()))?;
        naming::clear_abandoned(&path, Some(self.host.now_ms()));
        let beside = naming::beside(&path, &*self.host);
        let written = (|| {
            let mut file = fs::File::create_new(&beside)?;
            file.write_all(bytes)?;
            file.sync_all()?;
            // Where another process put the same bytes meanwhile, either of the two will do.
            fs::rename(&beside, &path)?;
            naming::sync_folder_of(&path)
        })();
        if written.is_err() {
            let _ = fs::remove_file(&beside);
        }
        written.map_err(StoreError::io(what()))?;
        Ok(hash)
    }

    /// Reads a blob and makes sure that it is what its name says; none where it is not here.
    ///
    /// # Errors
    /// [`StoreError::BlobDamaged`], or what the file system says.
    pub fn get(&self, hash: &Hash) -> Result<Option<Vec<u8>>, StoreError> {
        let path = self.path(hash);
        match fs::read(&path) {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(None),
            Err(e) => Err(StoreError::io(format!("reading {}", path.display()))(e)),
            Ok(bytes) if hash_of(&bytes) == *hash => Ok(Some(bytes)),
            Ok(_) => Err(StoreError::BlobDamaged { file: path }),
        }
    }

    /// Whether a blob's file is what its name says; reads it in pieces.
    ///
    /// # Errors
    /// What the file system says.
    pub fn is_sound(&self, hash: &Hash) -> Result<bool, StoreError> {
        Ok(hash_of_file(&self.path(hash))? == *hash)
    }

    /// How many bytes a blob has; none where it is not here.
    pub fn size_bytes(&self, hash: &Hash) -> Option<u64> {
        fs::metadata(self.path(hash)).ok().map(|about| about.len())
    }

    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }

    /// Lists the blobs here.
    ///
    /// # Errors
    /// What the file system says.
    pub fn list(&self) -> Result<Vec<Hash>, StoreError> {
        let what = || format!("reading {}", self.folder.display());
        let mut found = Vec::new();
        if !self.folder.exists() {
            return Ok(found);
        }
        for folder in fs::read_dir(&self.folder).map_err(StoreError::io(what()))? {
            let folder = folder.map_err(StoreError::io(what()))?.path();
            // Beside them lie those that are still arriving.
            let holds_whole = folder.file_name().is_some_and(|name| name.len() == 2) && folder.is_dir();
            if !holds_whole {
                continue;
            }
            for file in fs::read_dir(&folder).map_err(StoreError::io(what()))? {
                let name = file.map_err(StoreError::io(what()))?.file_name();
                found.extend(name.to_str().and_then(parse));
            }
        }
        found.sort_unstable();
        Ok(found)
    }
}
