//! Photos and originals, kept by the SHA-256 of their bytes: files beside the database, and in a browser, where files
//! cannot be opened at once, rows of a database of their own.

#[cfg(not(target_family = "wasm"))]
mod arriving;
#[cfg(not(target_family = "wasm"))]
mod folder;
#[cfg(any(test, target_family = "wasm"))]
mod table;
#[cfg(not(target_family = "wasm"))]
mod thumbnails;

#[cfg(not(target_family = "wasm"))]
pub use folder::Blobs;
#[cfg(target_family = "wasm")]
pub use table::Blobs;

use crate::error::StoreError;
use crate::local::uuid_of;
use crate::shelf::Store;
use rusqlite::{Connection, OptionalExtension};
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// The hash that names a blob.
pub type Hash = [u8; 32];

/// Where a blob is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BlobState {
    /// In this shelf's folder.
    Here,
    /// Not here, but another device has it or may have it: it said so, or wrote of it and was not asked yet.
    Elsewhere,
    /// Not here, and no device can have it: only this one wrote of it, or whoever did said that it does not have it.
    Lost,
}

/// What became of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piece {
    /// So many bytes are here; the next piece begins there.
    Held(u64),
    /// The blob is here, whole and verified.
    Whole,
    /// All bytes came, and they are not what the name says; none of them was kept.
    Wrong,
}

/// Notes that nobody has a blob, unless somebody is known to.
pub(crate) fn note_lost(conn: &Connection, hash: &Hash) -> Result<(), StoreError> {
    let mut note =
        conn.prepare_cached("INSERT OR IGNORE INTO blob (sha256, size_bytes, elsewhere) VALUES (?1, 0, 0)")?;
    note.execute([hash])?;
    Ok(())
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
        let mut find = self.conn.prepare_cached("SELECT elsewhere FROM blob WHERE sha256 = ?1")?;
        let elsewhere = match find.query_row([hash], |row| row.get::<_, bool>(0)).optional()? {
            Some(said) => said,
            None => self.blob_writers(hash)?.iter().any(|writer| *writer != self.identity.device),
        };
        Ok(if elsewhere { BlobState::Elsewhere } else { BlobState::Lost })
    }

    /// The devices that wrote of a blob. The same file may be imported on several.
    fn blob_writers(&self, hash: &Hash) -> Result<Vec<Uuid>, StoreError> {
        let mut read = self.conn.prepare_cached(
            "SELECT d.uuid FROM txn t JOIN device d ON d.id = t.device WHERE t.id IN (
             SELECT r.born FROM photo p JOIN row r ON r.id = p.id WHERE p.sha256 = ?1
             UNION SELECT r.born FROM import_file f JOIN row r ON r.id = f.id WHERE f.sha256 = ?1
             UNION SELECT o.txn FROM import_file f JOIN touch o ON o.row = f.id WHERE f.sha256 = ?1)",
        )?;
        let mut rows = read.query([hash])?;
        let mut writers = Vec::new();
        while let Some(row) = rows.next()? {
            writers.push(uuid_of(row.get_ref(0)?)?);
        }
        Ok(writers)
    }

    /// Notes that a device said that it does not have a blob. Where only it and this one wrote of it, it is lost, unless
    /// somebody else is known to have it.
    ///
    /// # Errors
    /// A damaged, busy or read-only file.
    pub fn blob_is_lacked_by(&mut self, hash: &Hash, device: Uuid) -> Result<(), StoreError> {
        self.must_write()?;
        if self.blob_writers(hash)?.iter().all(|writer| *writer == device || *writer == self.identity.device)
        {
            note_lost(&self.conn, hash)?;
        }
        Ok(())
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
