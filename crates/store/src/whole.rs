//! A shelf as one stretch of bytes, for a browser that has no file to write a backup to. It is the same ZIP file that
//! [`crate::Store::backup`] writes, with sheets beside, so that each side takes the other's.

use crate::blobs::{Blobs, hash_of, hex};
use crate::error::StoreError;
use crate::host::Host;
use crate::place;
use crate::shelf::{FILE, Store};
use rusqlite::Connection;
use serde_json::{Value as Json, json};
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};
use std::path::Path;
use std::sync::Arc;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// The list of contents within a backup.
pub(crate) const MANIFEST: &str = "manifest.json";

fn cannot(error: impl std::fmt::Display) -> StoreError {
    StoreError::NoBackup { file: "the file".into(), why: error.to_string() }
}

impl Store {
    /// Packs the database, the photos and originals that are here, and sheets beside them, by name.
    ///
    /// # Errors
    /// A damaged file or blob.
    pub fn pack(&mut self, sheets: &[(String, Vec<u8>)]) -> Result<Vec<u8>, StoreError> {
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        let packed = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
        let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        let mut hashes = BTreeMap::new();
        let mut add = |name: &str, options, bytes: &[u8]| -> Result<(), StoreError> {
            zip.start_file(name, options).map_err(cannot)?;
            zip.write_all(bytes).map_err(cannot)?;
            hashes.insert(name.to_owned(), hex(&hash_of(bytes)));
            Ok(())
        };
        let mut database = self.conn.serialize("main")?.to_vec();
        // The copy has no log beside it.
        if let Some(modes) = database.get_mut(18..20) {
            modes.fill(1);
        }
        add(FILE, packed, &database)?;
        drop(database);
        for hash in &self.blobs().list()? {
            let Some(bytes) = self.blobs().get(hash)? else { continue };
            let name = hex(hash);
            add(&format!("blobs/{}/{name}", &name[..2]), stored, &bytes)?;
        }
        for (name, bytes) in sheets {
            add(name, packed, bytes)?;
        }
        let manifest = json!({
            "backup_of_shelf": self.shelf_id(), "made": self.host.wall(), "program": self.host.program(), "sha256": hashes,
        });
        zip.start_file(MANIFEST, packed).map_err(cannot)?;
        zip.write_all(manifest.to_string().as_bytes()).map_err(cannot)?;
        Ok(zip.finish().map_err(cannot)?.into_inner())
    }

    /// Makes a shelf of a backup's bytes where there is none, and opens it there as another device.
    ///
    /// # Errors
    /// [`StoreError::AlreadyShelf`], [`StoreError::NoBackup`] (nothing was restored then), a full file system.
    pub fn unpack(bytes: &[u8], dir: &Path, host: Arc<dyn Host>) -> Result<Store, StoreError> {
        let file = dir.join(FILE);
        if place::look(dir, &file).is_ok() {
            return Err(StoreError::AlreadyShelf { dir: dir.to_owned() });
        }
        let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(cannot)?;
        let hashes = listed(&mut zip)?;
        let mut database = Vec::new();
        let blobs = Blobs::at(dir, Arc::clone(&host));
        for (name, hash) in &hashes {
            let mut entry = zip.by_name(name).map_err(|_| cannot(format!("{name} is missing")))?;
            let mut content = Vec::new();
            entry.read_to_end(&mut content).map_err(cannot)?;
            if *hash != hex(&hash_of(&content)) {
                return Err(cannot(format!("{name} is damaged")));
            }
            if name == FILE {
                database = content;
            } else if name.starts_with("blobs/") {
                blobs.put(&content)?;
            }
        }
        // The database comes last: until then there is no shelf here.
        let mut copy = Connection::open_in_memory()?;
        let size = database.len();
        copy.deserialize_read_exact("main", Cursor::new(database), size, true)?;
        host.new_identity(dir).map_err(StoreError::io("keeping a new identity"))?;
        place::copy_into(&copy, dir, &*host)?;
        Store::open(dir, host)
    }
}

fn listed(zip: &mut ZipArchive<Cursor<&[u8]>>) -> Result<BTreeMap<String, String>, StoreError> {
    let mut text = String::new();
    let mut manifest = zip.by_name(MANIFEST).map_err(|_| cannot("it has no list of its contents"))?;
    manifest.read_to_string(&mut text).map_err(cannot)?;
    let manifest: Json = serde_json::from_str(&text).map_err(cannot)?;
    let hashes: BTreeMap<String, String> =
        serde_json::from_value(manifest["sha256"].clone()).map_err(cannot)?;
    if !hashes.contains_key(FILE) {
        return Err(cannot("it has no database"));
    }
    Ok(hashes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::native::Native;
    use airshelf_catalog::model::Part;

    #[test]
    fn what_was_packed_is_unpacked_as_another_device_of_the_same_shelf() {
        let folder = tempfile::tempdir().unwrap();
        let host = Arc::new(Native::new(folder.path().join("config")));
        let mut store = Store::create(&folder.path().join("one"), host.clone()).unwrap();
        let part = Part { tag: Some("PF-1".into()), ..Part::default() };
        store.write("new", |w| w.create(&part)).unwrap_or_else(|e: StoreError| panic!("{e}"));
        let hash = store.blobs().put(b"a picture").unwrap();
        let packed = store.pack(&[("tables/part.csv".into(), b"tag\nPF-1\n".to_vec())]).unwrap();
        let other = Store::unpack(&packed, &folder.path().join("two"), host.clone()).unwrap();
        assert_eq!(other.load::<Part>().unwrap(), store.load::<Part>().unwrap());
        assert_eq!(other.shelf_id(), store.shelf_id());
        assert_ne!(other.device(), store.device());
        assert!(other.blobs().is_here(&hash));
        assert!(other.check().unwrap().is_sound());
        let file = folder.path().join("packed.zip");
        std::fs::write(&file, &packed).unwrap();
        assert!(Store::restore(&file, &folder.path().join("three"), host.clone()).is_ok());
        let again = Store::unpack(&packed, &folder.path().join("two"), host).unwrap_err();
        assert!(matches!(again, StoreError::AlreadyShelf { .. }), "{again}");
    }

    #[test]
    fn a_damaged_package_restores_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let host = Arc::new(Native::new(folder.path().join("config")));
        let mut store = Store::create(&folder.path().join("one"), host.clone()).unwrap();
        let mut packed = store.pack(&[]).unwrap();
        let middle = packed.len() / 3;
        packed[middle] ^= 0x55;
        let dir = folder.path().join("two");
        assert!(Store::unpack(&packed, &dir, host.clone()).is_err());
        assert!(!Store::is_there(&dir));
        assert!(Store::unpack(b"no zip", &dir, host).is_err());
    }
}
