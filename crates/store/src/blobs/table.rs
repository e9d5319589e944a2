//! Blobs in a database of their own, for a browser: its private file system opens a file only after a wait, while a
//! database that is open can be asked at once. A row makes a blob whole; its bytes lie in pieces, so that a big photo is
//! never asked for all at once.

use super::{Hash, Piece, hash_of};
use crate::connection;
use crate::error::StoreError;
use crate::host::Host;
use rusqlite::{Connection, OptionalExtension};
use sha2::{Digest, Sha256};
use std::cell::{OnceCell, RefCell};
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

const FILE: &str = "photos.db";

const TABLES: &str = "
    CREATE TABLE IF NOT EXISTS blob (
        id INTEGER PRIMARY KEY, sha256 BLOB NOT NULL UNIQUE, size_bytes INTEGER NOT NULL, whole INTEGER NOT NULL
    ) STRICT;
    CREATE TABLE IF NOT EXISTS piece (
        blob INTEGER NOT NULL REFERENCES blob (id) ON DELETE CASCADE, from_byte INTEGER NOT NULL, bytes BLOB NOT NULL,
        PRIMARY KEY (blob, from_byte)
    ) STRICT;
    CREATE TABLE IF NOT EXISTS thumbnail (sha256 BLOB PRIMARY KEY, bytes BLOB NOT NULL) STRICT;
";

/// Bytes of a piece.
const PIECE: usize = 1 << 20;

/// The database of blobs.
#[derive(Clone)]
pub struct Blobs {
    file: PathBuf,
    conn: Rc<OnceCell<RefCell<Connection>>>,
}

impl std::fmt::Debug for Blobs {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Blobs").field("file", &self.file).finish_non_exhaustive()
    }
}

/// A row of `blob`.
struct Known {
    id: i64,
    size_bytes: u64,
    whole: bool,
}

impl Blobs {
    pub(crate) fn at(dir: &Path, _host: Arc<dyn Host>) -> Self {
        Blobs { file: dir.join(FILE), conn: Rc::default() }
    }

    fn with<T>(&self, run: impl FnOnce(&Connection) -> Result<T, StoreError>) -> Result<T, StoreError> {
        if self.conn.get().is_none() {
            let conn = connection::open_beside(&self.file)?;
            conn.execute_batch(TABLES)?;
            let _ = self.conn.set(RefCell::new(conn));
        }
        let conn = self.conn.get().expect("it was just set").borrow();
        run(&conn)
    }

    fn known(conn: &Connection, hash: &Hash) -> Result<Option<Known>, StoreError> {
        let mut find = conn.prepare_cached("SELECT id, size_bytes, whole FROM blob WHERE sha256 = ?1")?;
        let row = |row: &rusqlite::Row<'_>| {
            let size: i64 = row.get(1)?;
            Ok(Known { id: row.get(0)?, size_bytes: size.unsigned_abs(), whole: row.get(2)? })
        };
        Ok(find.query_row([hash], row).optional()?)
    }

    fn lay(conn: &Connection, blob: i64, mut from: u64, bytes: &[u8]) -> Result<(), StoreError> {
        let mut add =
            conn.prepare_cached("INSERT INTO piece (blob, from_byte, bytes) VALUES (?1, ?2, ?3)")?;
        for piece in bytes.chunks(PIECE) {
            add.execute((blob, from as i64, piece))?;
            from += piece.len() as u64;
        }
        Ok(())
    }

    fn hash_of_pieces(conn: &Connection, blob: i64) -> Result<Hash, StoreError> {
        let mut read = conn.prepare_cached("SELECT bytes FROM piece WHERE blob = ?1 ORDER BY from_byte")?;
        let mut rows = read.query([blob])?;
        let mut hasher = Sha256::new();
        while let Some(row) = rows.next()? {
            hasher.update(row.get_ref(0)?.as_blob().map_err(rusqlite::Error::from)?);
        }
        Ok(hasher.finalize().into())
    }

    fn whole(&self, hash: &Hash) -> Result<Option<Known>, StoreError> {
        self.with(|conn| Ok(Blobs::known(conn, hash)?.filter(|known| known.whole)))
    }

    /// Whether a blob is here.
    pub fn is_here(&self, hash: &Hash) -> bool {
        matches!(self.whole(hash), Ok(Some(_)))
    }

    /// How many bytes a blob has; none where it is not here.
    pub fn size_bytes(&self, hash: &Hash) -> Option<u64> {
        self.whole(hash).ok().flatten().map(|known| known.size_bytes)
    }

    /// Keeps bytes and gives the hash that names them. They are in the file when this returns.
    ///
    /// # Errors
    /// A full or busy file; a blob is never half kept.
    pub fn put(&self, bytes: &[u8]) -> Result<Hash, StoreError> {
        let hash = hash_of(bytes);
        self.with(|conn| {
            if Blobs::known(conn, &hash)?.is_some_and(|known| known.whole) {
                return Ok(hash);
            }
            let tx = connection::begin(conn)?;
            tx.execute("DELETE FROM blob WHERE sha256 = ?1", [&hash])?;
            let size = bytes.len() as i64;
            tx.execute("INSERT INTO blob (sha256, size_bytes, whole) VALUES (?1, ?2, 1)", (&hash, size))?;
            Blobs::lay(&tx, tx.last_insert_rowid(), 0, bytes)?;
            tx.commit()?;
            Ok(hash)
        })
    }

    /// Reads a blob and makes sure that it is what its name says; none where it is not here.
    ///
    /// # Errors
    /// [`StoreError::BlobDamaged`], or a damaged file.
    pub fn get(&self, hash: &Hash) -> Result<Option<Vec<u8>>, StoreError> {
        let Some((total, bytes)) = self.piece(hash, 0, usize::MAX)? else { return Ok(None) };
        if bytes.len() as u64 == total && hash_of(&bytes) == *hash {
            return Ok(Some(bytes));
        }
        Err(StoreError::BlobDamaged { file: self.file.join(super::hex(hash)) })
    }

    /// Whether a blob is what its name says; reads it in pieces.
    ///
    /// # Errors
    /// A damaged file.
    pub fn is_sound(&self, hash: &Hash) -> Result<bool, StoreError> {
        self.with(|conn| match Blobs::known(conn, hash)? {
            Some(known) => Ok(Blobs::hash_of_pieces(conn, known.id)? == *hash),
            None => Ok(false),
        })
    }

    /// Lists the blobs here.
    ///
    /// # Errors
    /// A damaged file.
    pub fn list(&self) -> Result<Vec<Hash>, StoreError> {
        self.with(|conn| {
            let mut read = conn.prepare_cached("SELECT sha256 FROM blob WHERE whole ORDER BY sha256")?;
            let found = read.query_map([], |row| row.get::<_, Hash>(0))?;
            Ok(found.collect::<Result<_, _>>()?)
        })
    }

    /// How many bytes of a blob that is not whole yet are here.
    pub fn bytes_arrived(&self, hash: &Hash) -> u64 {
        let known = self.with(|conn| Blobs::known(conn, hash)).ok().flatten();
        known.filter(|known| !known.whole).map_or(0, |known| known.size_bytes)
    }

    /// Takes a piece that begins at byte `from` of a blob of `total` bytes. A piece that does not join on to what is here
    /// is not taken; the answer says where to go on.
    ///
    /// # Errors
    /// A full or busy file; the pieces before stay.
    pub fn take_piece(&self, hash: &Hash, from: u64, total: u64, bytes: &[u8]) -> Result<Piece, StoreError> {
        self.with(|conn| {
            let tx = connection::begin(conn)?;
            let mut known = Blobs::known(&tx, hash)?;
            if known.as_ref().is_some_and(|known| known.whole) {
                return Ok(Piece::Whole);
            }
            if known.as_ref().is_some_and(|known| known.size_bytes > total) {
                // Pieces of something else; begin anew.
                tx.execute("DELETE FROM blob WHERE sha256 = ?1", [hash])?;
                known = None;
            }
            let held = known.as_ref().map_or(0, |known| known.size_bytes);
            if from != held || held + bytes.len() as u64 > total {
                tx.commit()?;
                return Ok(Piece::Held(held));
            }
            let id = match known {
                Some(known) => known.id,
                None => {
                    tx.execute("INSERT INTO blob (sha256, size_bytes, whole) VALUES (?1, 0, 0)", [hash])?;
                    tx.last_insert_rowid()
                }
            };
            Blobs::lay(&tx, id, held, bytes)?;
            let held = held + bytes.len() as u64;
            let whole = held == total;
            if whole && Blobs::hash_of_pieces(&tx, id)? != *hash {
                tx.execute("DELETE FROM blob WHERE id = ?1", [id])?;
                tx.commit()?;
                return Ok(Piece::Wrong);
            }
            tx.execute(
                "UPDATE blob SET size_bytes = ?2, whole = ?3 WHERE id = ?1",
                (id, held as i64, whole),
            )?;
            tx.commit()?;
            Ok(if whole { Piece::Whole } else { Piece::Held(held) })
        })
    }

    /// Reads up to `most` bytes of a blob from byte `from` on, with its size in all; none where it is not here.
    ///
    /// # Errors
    /// A damaged file.
    pub fn piece(&self, hash: &Hash, from: u64, most: usize) -> Result<Option<(u64, Vec<u8>)>, StoreError> {
        self.with(|conn| {
            let Some(known) = Blobs::known(conn, hash)?.filter(|known| known.whole) else { return Ok(None) };
            let most = u64::try_from(most).unwrap_or(u64::MAX);
            let to = from.saturating_add(most).min(known.size_bytes);
            let mut bytes = Vec::new();
            let mut read = conn.prepare_cached(
                "SELECT from_byte, bytes FROM piece WHERE blob = ?1 AND from_byte < ?3 AND from_byte + length(bytes) > ?2
                 ORDER BY from_byte",
            )?;
            let mut rows = read.query((known.id, from as i64, to as i64))?;
            while let Some(row) = rows.next()? {
                let begins = row.get::<_, i64>(0)?.unsigned_abs();
                let piece = row.get_ref(1)?.as_blob().map_err(rusqlite::Error::from)?;
                let first = from.saturating_sub(begins) as usize;
                let last = ((to - begins) as usize).min(piece.len());
                bytes.extend_from_slice(&piece[first..last]);
            }
            Ok(Some((known.size_bytes, bytes)))
        })
    }

    /// The small picture of a photo, where there is one.
    pub fn thumbnail(&self, hash: &Hash) -> Option<Vec<u8>> {
        let read = self.with(|conn| {
            let mut find = conn.prepare_cached("SELECT bytes FROM thumbnail WHERE sha256 = ?1")?;
            Ok(find.query_row([hash], |row| row.get(0)).optional()?)
        });
        read.ok().flatten()
    }

    /// Keeps the small picture of a photo.
    ///
    /// # Errors
    /// A full or busy file.
    pub fn keep_thumbnail(&self, hash: &Hash, bytes: &[u8]) -> Result<(), StoreError> {
        self.with(|conn| {
            conn.execute("INSERT OR REPLACE INTO thumbnail (sha256, bytes) VALUES (?1, ?2)", (hash, bytes))?;
            Ok(())
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::native::Native;

    fn blobs(dir: &Path) -> Blobs {
        Blobs::at(dir, Arc::new(Native::new(dir.join("config"))))
    }

    fn bytes(count: usize) -> Vec<u8> {
        (0..count).map(|at| (at * 31 + at / 257) as u8).collect()
    }

    #[test]
    fn what_was_put_comes_back_and_is_there_after_opening_again() {
        let dir = tempfile::tempdir().unwrap();
        let big = bytes(3 * PIECE + 17);
        let hash = blobs(dir.path()).put(&big).unwrap();
        let again = blobs(dir.path());
        assert!(again.is_here(&hash) && again.is_sound(&hash).unwrap());
        assert_eq!(again.get(&hash).unwrap().as_deref(), Some(&big[..]));
        assert_eq!(again.list().unwrap(), [hash]);
        assert_eq!(again.put(&big).unwrap(), hash);
        assert_eq!(again.size_bytes(&hash), Some(big.len() as u64));
        assert_eq!(again.get(&[7; 32]).unwrap(), None);
    }

    #[test]
    fn any_stretch_of_a_blob_can_be_read() {
        let dir = tempfile::tempdir().unwrap();
        let (blobs, big) = (blobs(dir.path()), bytes(2 * PIECE + 5));
        let hash = blobs.put(&big).unwrap();
        let end = big.len();
        for (from, most) in [(0, 1), (PIECE - 1, 2), (5, PIECE), (2 * PIECE, 99), (end, 4), (end + 9, 4)] {
            let (total, piece) = blobs.piece(&hash, from as u64, most).unwrap().unwrap();
            assert_eq!(total, end as u64);
            assert_eq!(piece, big[from.min(end)..(from + most).min(end)], "{from} {most}");
        }
    }

    #[test]
    fn pieces_join_on_and_wrong_bytes_are_not_kept() {
        let dir = tempfile::tempdir().unwrap();
        let (blobs, big) = (blobs(dir.path()), bytes(PIECE + 100));
        let (hash, total) = (hash_of(&big), big.len() as u64);
        assert_eq!(blobs.take_piece(&hash, 0, total, &big[..1000]).unwrap(), Piece::Held(1000));
        assert_eq!(blobs.take_piece(&hash, 0, total, &big[..1000]).unwrap(), Piece::Held(1000));
        assert_eq!(blobs.bytes_arrived(&hash), 1000);
        assert!(!blobs.is_here(&hash));
        assert!(blobs.list().unwrap().is_empty());
        let mut wrong = big.clone();
        wrong[5000] ^= 1;
        assert_eq!(blobs.take_piece(&hash, 1000, total, &wrong[1000..]).unwrap(), Piece::Wrong);
        assert_eq!(blobs.bytes_arrived(&hash), 0);
        assert_eq!(blobs.take_piece(&hash, 0, total, &big[..PIECE]).unwrap(), Piece::Held(PIECE as u64));
        assert_eq!(blobs.take_piece(&hash, PIECE as u64, total, &big[PIECE..]).unwrap(), Piece::Whole);
        assert_eq!(blobs.get(&hash).unwrap().as_deref(), Some(&big[..]));
    }

    #[test]
    fn a_thumbnail_is_kept_beside() {
        let dir = tempfile::tempdir().unwrap();
        let blobs = blobs(dir.path());
        assert_eq!(blobs.thumbnail(&[1; 32]), None);
        blobs.keep_thumbnail(&[1; 32], b"small").unwrap();
        assert_eq!(blobs.thumbnail(&[1; 32]).as_deref(), Some(&b"small"[..]));
        assert!(blobs.list().unwrap().is_empty());
    }
}
