//! Photos and originals: files named by the SHA-256 of their bytes, beside the database.

use crate::error::StoreError;
use crate::host::Host;
use crate::naming;
use crate::shelf::Store;
use sha2::{Digest, Sha256};
use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The hash that names a blob.
pub type Hash = [u8; 32];

/// Where a blob is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BlobState {
    /// In this shelf's folder.
    Here,
    /// Not here, but another device confirmed that it has it.
    Elsewhere,
    /// Not here, and nobody said to have it.
    Lost,
}

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

/// Hashes bytes.
pub fn hash_of(bytes: &[u8]) -> Hash {
    Sha256::digest(bytes).into()
}

/// Writes a hash as people see it.
pub fn hex(hash: &Hash) -> String {
    hash.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Reads a hash as people see it.
pub fn parse(name: &str) -> Option<Hash> {
    let mut hash = [0; 32];
    if name.len() != 64 || !name.is_ascii() {
        return None;
    }
    for (byte, at) in hash.iter_mut().zip((0..64).step_by(2)) {
        *byte = u8::from_str_radix(&name[at..at + 2], 16).ok()?;
    }
    Some(hash)
}

/// Hashes a file, read in pieces.
pub(crate) fn hash_of_file(path: &Path) -> Result<Hash, StoreError> {
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

    pub(crate) fn folder(&self) -> &Path {
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

impl Store {
    /// Every blob that a row names: photos, and the originals of imported files.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn wanted_blobs(&self) -> Result<Vec<Hash>, StoreError> {
        let mut read = self.conn.prepare_cached(
            "SELECT sha256 FROM photo WHERE length(sha256) = 32 UNION SELECT sha256 FROM import_file WHERE length(sha256) = 32",
        )?;
        let found = read.query_map([], |row| row.get::<_, Hash>(0))?;
        Ok(found.collect::<Result<_, _>>()?)
    }

    /// Every blob that is a photo.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn photo_hashes(&self) -> Result<Vec<Hash>, StoreError> {
        let mut read =
            self.conn.prepare_cached("SELECT DISTINCT sha256 FROM photo WHERE length(sha256) = 32")?;
        let found = read.query_map([], |row| row.get::<_, Hash>(0))?;
        Ok(found.collect::<Result<_, _>>()?)
    }

    /// Whether a row names a blob.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn wants(&self, hash: &Hash) -> Result<bool, StoreError> {
        let mut find = self.conn.prepare_cached(
            "SELECT 1 FROM photo WHERE sha256 = ?1 UNION ALL SELECT 1 FROM import_file WHERE sha256 = ?1 LIMIT 1",
        )?;
        Ok(find.exists([hash])?)
    }

    /// Blobs that a row names and that no other device confirmed to have.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn unconfirmed_blobs(&self) -> Result<Vec<Hash>, StoreError> {
        let mut find = self.conn.prepare_cached("SELECT 1 FROM blob WHERE sha256 = ?1 AND elsewhere = 1")?;
        let mut unconfirmed = Vec::new();
        for hash in self.wanted_blobs()? {
            if !find.exists([hash])? {
                unconfirmed.push(hash);
            }
        }
        Ok(unconfirmed)
    }

    /// Says where a blob is.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn blob_state(&self, hash: &Hash) -> Result<BlobState, StoreError> {
        if self.blobs().is_here(hash) {
            return Ok(BlobState::Here);
        }
        let mut find = self.conn.prepare_cached("SELECT 1 FROM blob WHERE sha256 = ?1 AND elsewhere = 1")?;
        Ok(if find.exists([hash])? { BlobState::Elsewhere } else { BlobState::Lost })
    }

    /// Notes that another device confirmed that it holds a blob.
    ///
    /// # Errors
    /// A damaged, busy or read-only file.
    pub fn blob_is_elsewhere(&mut self, hash: &Hash, size_bytes: u64) -> Result<(), StoreError> {
        self.must_write()?;
        let mut note = self.conn.prepare_cached(
            "INSERT INTO blob (sha256, size_bytes, elsewhere) VALUES (?1, ?2, 1)
             ON CONFLICT (sha256) DO UPDATE SET elsewhere = 1",
        )?;
        note.execute((hash, i64::try_from(size_bytes).unwrap_or(i64::MAX)))?;
        Ok(())
    }
}
