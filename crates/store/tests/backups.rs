//! Backups: verified, restored elsewhere, and never made of a damaged shelf.

#![allow(clippy::unwrap_used)]

use airshelf_catalog::Uuid;
use airshelf_catalog::model::{Part, Photo};
use airshelf_store::blobs::Hash;
use airshelf_store::native::Native;
use airshelf_store::{BlobState, Scope, Store, StoreError};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tempfile::TempDir;

const NOTE: &str = "bent at the rim near the third stud";

fn host(folder: &Path) -> Arc<Native> {
    Arc::new(Native::new(folder.join("config")))
}

fn with_a_part() -> (TempDir, PathBuf, Uuid) {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("shelf");
    let mut store = Store::create(&dir, host(folder.path())).unwrap();
    let part = Part { tag: Some("KP-1".into()), note: Some(NOTE.into()), ..Part::default() };
    let id = store.write("new", |w| w.create(&part)).unwrap_or_else(|e: StoreError| panic!("{e}")).value;
    (folder, dir, id)
}

fn photographed(store: &mut Store, id: Uuid) -> Hash {
    let hash = store.blobs().put(b"not really a picture").unwrap();
    let photo = Photo { sha256: Some(hash.to_vec()), subject: Some(id), ..Photo::default() };
    store.write("photo", |w| w.create(&photo)).unwrap_or_else(|e: StoreError| panic!("{e}"));
    hash
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries.map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_backup_is_verified_restored_elsewhere_and_refused_when_damaged() {
    let (folder, dir, id) = with_a_part();
    let mut store = Store::open(&dir, host(folder.path())).unwrap();
    let hash = photographed(&mut store, id);
    let file = folder.path().join("shelf.zip");
    let said = store.backup(&file).unwrap();
    assert_eq!((said.blobs, said.not_here), (1, 0));
    let there = folder.path().join("there");
    let restored = Store::restore(&file, &there, host(folder.path())).unwrap();
    assert_eq!(restored.records(Scope::All).unwrap(), store.records(Scope::All).unwrap());
    assert_eq!(restored.blobs().get(&hash).unwrap(), Some(b"not really a picture".to_vec()));
    assert_eq!(restored.shelf_id(), store.shelf_id());
    assert_ne!(restored.device(), store.device());
    let key = store.identity().key;
    let database = fs::read(there.join("airshelf.db")).unwrap();
    assert!(!database.windows(32).any(|piece| piece == key), "the device's key is in no backup");
    assert!(restored.check().unwrap().is_sound());
    assert!(matches!(
        Store::restore(&file, &there, host(folder.path())),
        Err(StoreError::AlreadyShelf { .. })
    ));
    let mut bytes = fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0xff;
    fs::write(&file, &bytes).unwrap();
    let nowhere = folder.path().join("nowhere");
    let refused = Store::restore(&file, &nowhere, host(folder.path()));
    assert!(matches!(refused, Err(StoreError::NoBackup { .. })), "{refused:?}");
    assert!(!nowhere.join("airshelf.db").exists());
}

/// Every place of the file where the note stands is damaged by itself: in the table, and in the log.
#[test]
fn what_is_restored_never_writes_as_the_device_that_was_in_its_place() {
    let (folder, dir, _) = with_a_part();
    let file = folder.path().join("backup.zip");
    let store = Store::open(&dir, host(folder.path())).unwrap();
    let before = store.device();
    store.backup(&file).unwrap();
    drop(store);
    fs::remove_dir_all(&dir).unwrap();
    // An identity that cannot be kept: nothing is restored, rather than under the old one.
    let config = folder.path().join("config");
    let devices = config.join("devices");
    fs::rename(&devices, config.join("devices, aside")).unwrap();
    fs::write(&devices, "in the way").unwrap();
    assert!(Store::restore(&file, &dir, host(folder.path())).is_err());
    assert!(!dir.join("airshelf.db").exists());
    fs::remove_file(&devices).unwrap();
    fs::rename(config.join("devices, aside"), &devices).unwrap();
    let restored = Store::restore(&file, &dir, host(folder.path())).unwrap();
    assert_ne!(restored.device(), before);
}

#[test]
fn a_damaged_database_is_refused_and_the_earlier_backup_stays() {
    let (folder, dir, _) = with_a_part();
    let (file, database) = (folder.path().join("shelf.zip"), dir.join("airshelf.db"));
    let store = Store::open(&dir, host(folder.path())).unwrap();
    store.backup(&file).unwrap();
    drop(store);
    let (good, whole) = (fs::read(&file).unwrap(), fs::read(&database).unwrap());
    let piece = NOTE.as_bytes()[..12].to_vec();
    let places: Vec<usize> = (0..whole.len() - 12).filter(|at| whole[*at..*at + 12] == piece).collect();
    assert!(places.len() >= 2, "in the table and in the log: {places:?}");
    let mut damages: Vec<Vec<u8>> = Vec::new();
    for place in places {
        let mut damaged = whole.clone();
        damaged[place + 3] ^= 0x04;
        damages.push(damaged);
    }
    let mut scribbled = whole.clone();
    let third = scribbled.len() / 3;
    scribbled[third..third + 9_000].fill(0x5a);
    damages.push(scribbled);
    for damaged in damages {
        fs::write(&database, &damaged).unwrap();
        let store = Store::open(&dir, host(folder.path())).unwrap();
        let refused = store.backup(&file).unwrap_err();
        assert!(matches!(refused, StoreError::NotBackedUp { .. }), "{refused:?}");
        assert!(refused.to_string().contains("was left as it was"), "{refused}");
        assert!(!refused.trying_again_helps());
        assert_eq!(fs::read(&file).unwrap(), good);
        assert_eq!(names_in(folder.path()), ["config", "shelf", "shelf.zip"]);
    }
}

#[test]
fn a_damaged_blob_is_refused_and_a_missing_one_is_counted_and_lost_where_it_is_restored() {
    let (folder, dir, id) = with_a_part();
    let file = folder.path().join("shelf.zip");
    let mut store = Store::open(&dir, host(folder.path())).unwrap();
    let hash = photographed(&mut store, id);
    store.backup(&file).unwrap();
    let good = fs::read(&file).unwrap();
    fs::write(store.blobs().path(&hash), b"another picture").unwrap();
    let refused = store.backup(&file).unwrap_err();
    assert!(
        matches!(&refused, StoreError::NotBackedUp { what, .. } if what.contains("blobs")),
        "{refused:?}"
    );
    assert_eq!(fs::read(&file).unwrap(), good);
    fs::remove_file(store.blobs().path(&hash)).unwrap();
    let said = store.backup(&file).unwrap();
    assert_eq!((said.blobs, said.not_here), (0, 1));
    let restored = Store::restore(&file, &folder.path().join("there"), host(folder.path())).unwrap();
    assert_eq!(restored.blob_state(&hash).unwrap(), BlobState::Lost);
    assert_eq!(restored.check().unwrap().blobs_lost.len(), 1);
    assert_eq!(restored.records(Scope::All).unwrap(), store.records(Scope::All).unwrap());
    assert_eq!(names_in(folder.path()), ["config", "shelf", "shelf.zip", "there"]);
}

#[test]
fn two_backups_under_one_name_at_once_are_both_sound() {
    let (folder, dir, _) = with_a_part();
    let file = folder.path().join("shelf.zip");
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                let store = Store::open(&dir, host(folder.path())).unwrap();
                (0..3).for_each(|_| assert_eq!(store.backup(&file).unwrap().not_here, 0));
            });
        }
    });
    Store::restore(&file, &folder.path().join("there"), host(folder.path())).unwrap();
    assert_eq!(names_in(folder.path()), ["config", "shelf", "shelf.zip", "there"]);
}
