//! Blobs on their way in: kept in pieces beside the whole ones until every byte is there and the hash is right.

use super::folder::hash_of_file;
use super::{Blobs, Hash, Piece, hex};
use crate::error::StoreError;
use crate::naming;
use std::fs;
use std::io::{Seek, SeekFrom, Write};
use std::path::PathBuf;

impl Blobs {
    fn arriving(&self, hash: &Hash) -> PathBuf {
        self.folder().join("arriving").join(hex(hash))
    }

    /// How many bytes of a blob that is not whole yet are here.
    pub fn bytes_arrived(&self, hash: &Hash) -> u64 {
        fs::metadata(self.arriving(hash)).map_or(0, |about| about.len())
    }

    /// Takes a piece that begins at byte `from` of a blob of `total` bytes. A piece that does not join on to what is here
    /// is not taken; the answer says where to go on.
    ///
    /// # Errors
    /// What the file system says; the pieces before stay.
    pub fn take_piece(&self, hash: &Hash, from: u64, total: u64, bytes: &[u8]) -> Result<Piece, StoreError> {
        if self.is_here(hash) {
            return Ok(Piece::Whole);
        }
        let path = self.arriving(hash);
        let what = || format!("keeping {}", path.display());
        let folder = path.parent().expect("an arriving blob lies in a folder");
        naming::make_folder(folder).map_err(StoreError::io(what()))?;
        let mut file = fs::OpenOptions::new()
            .create(true)
            .truncate(false)
            .read(true)
            .write(true)
            .open(&path)
            .map_err(StoreError::io(what()))?;
        let mut held = file.metadata().map_err(StoreError::io(what()))?.len();
        if held > total {
            // Pieces of something else, or of a file that was cut; begin anew.
            file.set_len(0).map_err(StoreError::io(what()))?;
            held = 0;
        }
        if from != held || held + bytes.len() as u64 > total {
            return Ok(Piece::Held(held));
        }
        file.seek(SeekFrom::End(0)).map_err(StoreError::io(what()))?;
        if let Err(error) = file.write_all(bytes) {
            let _ = file.set_len(held);
            return Err(StoreError::io(what())(error));
        }
        held += bytes.len() as u64;
        if held < total {
            return Ok(Piece::Held(held));
        }
        file.sync_all().map_err(StoreError::io(what()))?;
        drop(file);
        if hash_of_file(&path)? != *hash {
            fs::remove_file(&path).map_err(StoreError::io(what()))?;
            return Ok(Piece::Wrong);
        }
        let whole = self.path(hash);
        let what = || format!("keeping {}", whole.display());
        naming::make_folder(whole.parent().expect("a blob lies in a folder"))
            .map_err(StoreError::io(what()))?;
        fs::rename(&path, &whole).map_err(StoreError::io(what()))?;
        naming::sync_folder_of(&whole).map_err(StoreError::io(what()))?;
        Ok(Piece::Whole)
    }

    /// Reads up to `most` bytes of a blob from byte `from` on, with its size in all; none where it is not here.
    ///
    /// # Errors
    /// What the file system says.
    pub fn piece(&self, hash: &Hash, from: u64, most: usize) -> Result<Option<(u64, Vec<u8>)>, StoreError> {
        use std::io::Read;
        let path = self.path(hash);
        let what = || format!("reading {}", path.display());
        let mut file = match fs::File::open(&path) {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            opened => opened.map_err(StoreError::io(what()))?,
        };
        let total = file.metadata().map_err(StoreError::io(what()))?.len();
        file.seek(SeekFrom::Start(from.min(total))).map_err(StoreError::io(what()))?;
        let mut bytes = Vec::new();
        file.take(most as u64).read_to_end(&mut bytes).map_err(StoreError::io(what()))?;
        Ok(Some((total, bytes)))
    }
}
