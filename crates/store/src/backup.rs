//! A backup is one ZIP file that any program opens: the database, the photos, and a list of their hashes.
//!
//! The device's identity is not in it, so that a restored shelf is another device.

use crate::blobs::{hash_of, hex};
use crate::error::StoreError;
use crate::host::Host;
use crate::shelf::{FILE, Store};
use serde_json::{Value as Json, json};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{Read, Seek, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

const MANIFEST: &str = "manifest.json";

/// What a backup holds, as read back from it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BackedUp {
    /// Photos and originals in it.
    pub blobs: usize,
    /// Blobs that the shelf names but that are not here to be backed up.
    pub not_here: usize,
    /// The file's size.
    pub size_bytes: u64,
}

fn no_backup(file: &Path) -> impl Fn(String) -> StoreError + '_ {
    move |why| StoreError::NoBackup { file: file.to_owned(), why }
}

fn zip_error(what: &str, error: zip::result::ZipError) -> StoreError {
    StoreError::io(what)(std::io::Error::from(error))
}

impl Store {
    /// Writes a backup and reads it back. An older file of that name stays until the new one is verified.
    ///
    /// # Errors
    /// What the file system says, [`StoreError::NoBackup`] where reading it back finds a fault.
    pub fn backup(&self, file: &Path) -> Result<BackedUp, StoreError> {
        let (beside, snapshot) = (with_ending(file, "new"), with_ending(file, "db.new"));
        let done = self.write_backup(&beside, &snapshot);
        let _ = fs::remove_file(&snapshot);
        let (blobs, not_here) = match done {
            Ok(counts) => counts,
            Err(error) => {
                let _ = fs::remove_file(&beside);
                return Err(error);
            }
        };
        if let Err(error) = verify(&beside) {
            let _ = fs::remove_file(&beside);
            return Err(error);
        }
        fs::rename(&beside, file).map_err(StoreError::io(format!("naming {}", file.display())))?;
        let size_bytes = fs::metadata(file).map_err(StoreError::io("reading the backup's size"))?.len();
        Ok(BackedUp { blobs, not_here, size_bytes })
    }

    fn write_backup(&self, file: &Path, snapshot: &Path) -> Result<(usize, usize), StoreError> {
        let what = format!("writing {}", file.display());
        let _ = fs::remove_file(snapshot);
        self.conn.execute("VACUUM INTO ?1", [snapshot.to_string_lossy()])?;
        let mut zip = ZipWriter::new(File::create(file).map_err(StoreError::io(&*what))?);
        let packed =
            SimpleFileOptions::default().compression_method(CompressionMethod::Deflated).large_file(true);
        let stored =
            SimpleFileOptions::default().compression_method(CompressionMethod::Stored).large_file(true);
        let mut hashes = BTreeMap::new();
        let bytes = fs::read(snapshot).map_err(StoreError::io("reading the copied database"))?;
        let mut add = |name: &str, options, bytes: &[u8]| -> Result<(), StoreError> {
            zip.start_file(name, options).map_err(|e| zip_error(&what, e))?;
            zip.write_all(bytes).map_err(StoreError::io(&*what))?;
            hashes.insert(name.to_owned(), hex(&hash_of(bytes)));
            Ok(())
        };
        add(FILE, packed, &bytes)?;
        let here = self.blobs().list()?;
        for hash in &here {
            let bytes = self.blobs().get(hash)?.unwrap_or_default();
            let name = hex(hash);
            add(&format!("blobs/{}/{name}", &name[..2]), stored, &bytes)?;
        }
        let not_here = self.wanted_blobs()?.iter().filter(|hash| !here.contains(hash)).count();
        let manifest = json!({
            "backup_of_shelf": self.shelf_id(), "made": self.host.wall(), "program": self.host.program(), "sha256": hashes,
        });
        zip.start_file(MANIFEST, packed).map_err(|e| zip_error(&what, e))?;
        zip.write_all(manifest.to_string().as_bytes()).map_err(StoreError::io(&*what))?;
        let out = zip.finish().map_err(|e| zip_error(&what, e))?;
        out.sync_all().map_err(StoreError::io(what))?;
        Ok((here.len(), not_here))
    }

    /// Puts a backup into a folder that holds no shelf, and opens it there as another device.
    ///
    /// # Errors
    /// [`StoreError::AlreadyShelf`], [`StoreError::NoBackup`] (nothing was restored then), what the file system says.
    pub fn restore(file: &Path, dir: &Path, host: Arc<dyn Host>) -> Result<Store, StoreError> {
        if dir.join(FILE).exists() {
            return Err(StoreError::AlreadyShelf { dir: dir.to_owned() });
        }
        verify(file)?;
        let what = format!("restoring into {}", dir.display());
        fs::create_dir_all(dir).map_err(StoreError::io(&*what))?;
        let mut zip = open_zip(file)?;
        let mut database = Vec::new();
        for at in 0..zip.len() {
            let mut entry = zip.by_index(at).map_err(|e| no_backup(file)(e.to_string()))?;
            let name = entry.name().map_err(|e| no_backup(file)(e.to_string()))?.into_owned();
            let mut bytes = Vec::new();
            entry.read_to_end(&mut bytes).map_err(|e| no_backup(file)(e.to_string()))?;
            if name == FILE {
                database = bytes;
            } else if name.starts_with("blobs/") {
                crate::blobs::Blobs::at(dir).put(&bytes)?;
            }
        }
        // The database comes last under its name: until then there is no shelf here.
        let beside = dir.join("airshelf.db.new");
        let mut out = File::create(&beside).map_err(StoreError::io(&*what))?;
        out.write_all(&database).and_then(|()| out.sync_all()).map_err(StoreError::io(&*what))?;
        fs::rename(&beside, dir.join(FILE)).map_err(StoreError::io(&*what))?;
        host.new_identity(dir).map_err(StoreError::io("keeping a new identity"))?;
        Store::open(dir, host)
    }
}

fn with_ending(file: &Path, ending: &str) -> PathBuf {
    let mut name = file.file_name().unwrap_or_default().to_owned();
    name.push(".");
    name.push(ending);
    file.with_file_name(name)
}

fn open_zip(file: &Path) -> Result<ZipArchive<impl Read + Seek>, StoreError> {
    let open = File::open(file).map_err(StoreError::io(format!("opening {}", file.display())))?;
    ZipArchive::new(std::io::BufReader::new(open)).map_err(|e| no_backup(file)(e.to_string()))
}

/// Reads a backup to its end and compares every hash.
fn verify(file: &Path) -> Result<(), StoreError> {
    let bad = no_backup(file);
    let mut zip = open_zip(file)?;
    let mut text = String::new();
    let mut manifest = zip.by_name(MANIFEST).map_err(|_| bad("it has no list of its contents".into()))?;
    manifest.read_to_string(&mut text).map_err(|e| bad(e.to_string()))?;
    drop(manifest);
    let manifest: Json = serde_json::from_str(&text).map_err(|e| bad(e.to_string()))?;
    let hashes =
        manifest["sha256"].as_object().ok_or_else(|| bad("its list of contents has no hashes".into()))?;
    if !hashes.contains_key(FILE) {
        return Err(bad("it has no database".into()));
    }
    for (name, hash) in hashes {
        let mut entry = zip.by_name(name).map_err(|_| bad(format!("{name} is missing")))?;
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).map_err(|e| bad(format!("{name}: {e}")))?;
        if hash.as_str() != Some(&*hex(&hash_of(&bytes))) {
            return Err(bad(format!("{name} is damaged")));
        }
    }
    Ok(())
}
