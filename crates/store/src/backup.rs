//! A backup is one ZIP file that any program opens: the database, the photos, and a list of their hashes.
//!
//! The device's identity is not in it, so that a restored shelf is another device.

use crate::blobs::{BlobState, Blobs, hash_of, hex, note_lost};
use crate::connection;
use crate::error::StoreError;
use crate::host::Host;
use crate::naming;
use crate::place::name_shelf;
use crate::shelf::{FILE, Store};
use crate::whole::MANIFEST;
use serde_json::{Value as Json, json};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{Read, Seek, Write};
use std::path::Path;
use std::sync::Arc;
use uuid::Uuid;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

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
    /// Checks the shelf, writes a backup and reads it back. An older file of that name stays until the new one is
    /// verified. Blobs that are not here are no fault: they are counted, and are not in the backup.
    ///
    /// # Errors
    /// [`StoreError::NotBackedUp`] where the database, its log or a blob is damaged, what the file system says,
    /// [`StoreError::NoBackup`] where reading it back finds a fault. The older file was left as it was then.
    pub fn backup(&self, file: &Path) -> Result<BackedUp, StoreError> {
        naming::clear_abandoned(file, Some(self.host.now_ms()));
        let (beside, snapshot) = (naming::beside(file, &*self.host), naming::beside(file, &*self.host));
        let done = self.write_backup(&beside, &snapshot).and_then(|counts| {
            verify(&beside)?;
            let what = format!("naming {}", file.display());
            fs::rename(&beside, file)
                .and_then(|()| naming::sync_folder_of(file))
                .map_err(StoreError::io(what))?;
            Ok(counts)
        });
        let _ = fs::remove_file(&snapshot);
        if done.is_err() {
            let _ = fs::remove_file(&beside);
        }
        let (blobs, not_here) = done.map_err(|error| match error {
            StoreError::Damaged { what } => StoreError::NotBackedUp { file: file.to_owned(), what },
            StoreError::BlobDamaged { file: blob } => StoreError::NotBackedUp {
                file: file.to_owned(),
                what: format!("{}: its contents do not match its name", blob.display()),
            },
            StoreError::Malformed(malformed) => {
                StoreError::NotBackedUp { file: file.to_owned(), what: format!("the log: {malformed}") }
            }
            StoreError::Gap { number, .. } => StoreError::NotBackedUp {
                file: file.to_owned(),
                what: format!("the log: transactions are missing before number {number}"),
            },
            other => other,
        })?;
        let size_bytes = fs::metadata(file).map_err(StoreError::io("reading the backup's size"))?.len();
        Ok(BackedUp { blobs, not_here, size_bytes })
    }

    fn write_backup(&self, file: &Path, snapshot: &Path) -> Result<(usize, usize), StoreError> {
        let what = format!("writing {}", file.display());
        self.copy_database(snapshot)?;
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
        let mut backed_up = BTreeSet::new();
        for hash in &self.blobs().list()? {
            // One that went meanwhile is not here.
            let Some(bytes) = self.blobs().get(hash)? else { continue };
            let name = hex(hash);
            backed_up.insert(*hash);
            add(&format!("blobs/{}/{name}", &name[..2]), stored, &bytes)?;
        }
        let not_here = self.wanted_blobs()?.iter().filter(|hash| !backed_up.contains(*hash)).count();
        let manifest = json!({
            "backup_of_shelf": self.shelf_id(), "made": self.host.wall(), "program": self.host.program(), "sha256": hashes,
        });
        zip.start_file(MANIFEST, packed).map_err(|e| zip_error(&what, e))?;
        zip.write_all(manifest.to_string().as_bytes()).map_err(StoreError::io(&*what))?;
        let out = zip.finish().map_err(|e| zip_error(&what, e))?;
        out.sync_all().map_err(StoreError::io(what))?;
        Ok((backed_up.len(), not_here))
    }

    /// Copies the database, and makes sure that neither it nor the copy is damaged.
    fn copy_database(&self, snapshot: &Path) -> Result<(), StoreError> {
        // A copy is built anew from the tables, so an index that differs from them shows only here.
        let mut faults = self.file_faults()?;
        if faults.is_empty() {
            self.conn.execute("VACUUM INTO ?1", [snapshot.to_string_lossy()])?;
            self.note_lost_in(snapshot)?;
            faults = self.beside(connection::open_to_read(snapshot)?).log_faults()?;
        }
        if faults.is_empty() { Ok(()) } else { Err(StoreError::damaged(faults.join("; "))) }
    }

    /// The shelf that a file is a backup of, by the list of its contents; none where it is no backup.
    pub fn shelf_of_backup(file: &Path) -> Option<Uuid> {
        let mut zip = open_zip(file).ok()?;
        let manifest: Json = serde_json::from_reader(zip.by_name(MANIFEST).ok()?).ok()?;
        manifest["backup_of_shelf"].as_str()?.parse().ok()
    }

    /// Whoever restores the copy is another device, and cannot know that this one did not have these any more.
    fn note_lost_in(&self, snapshot: &Path) -> Result<(), StoreError> {
        let mut lost = Vec::new();
        for hash in self.wanted_blobs()? {
            if self.blob_state(&hash)? == BlobState::Lost {
                lost.push(hash);
            }
        }
        if !lost.is_empty() {
            let copy = rusqlite::Connection::open(snapshot)?;
            lost.iter().try_for_each(|hash| note_lost(&copy, hash))?;
        }
        Ok(())
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
        naming::make_folder(dir).map_err(StoreError::io(&*what))?;
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
                Blobs::at(dir, Arc::clone(&host)).put(&bytes)?;
            }
        }
        // The database comes last under its name: until then there is no shelf here.
        let beside = naming::beside(&dir.join(FILE), &*host);
        let written = File::create_new(&beside).and_then(|mut out| {
            out.write_all(&database)?;
            out.sync_all()
        });
        let made = written
            .map_err(StoreError::io(&*what))
            .and_then(|()| connection::open(&beside).and_then(connection::close_new));
        // The identity comes before the name: a shelf that was in this folder may have left its own, and what is restored
        // must never write under that, whatever stops this program when.
        let made = made.and_then(|()| {
            host.new_identity(dir).map(drop).map_err(StoreError::io("keeping a new identity"))
        });
        name_shelf(made, &beside, dir)?;
        Store::open(dir, host)
    }
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
