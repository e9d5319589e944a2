//! Damaged files, foreign files, newer files, killed programs: what was kept, and what the store says of it.

#![allow(clippy::unwrap_used)]

mod bench;

use airshelf_catalog::model::{Part, Photo};
use airshelf_catalog::{Uuid, Value};
use airshelf_store::native::Native;
use airshelf_store::{BlobState, Pace, ReadOnly, Scope, Store, StoreError};
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Duration;
use tempfile::TempDir;

fn host(folder: &Path) -> Arc<Native> {
    Arc::new(Native::new(folder.join("config")))
}

fn with_a_part() -> (TempDir, PathBuf, Uuid) {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("shelf");
    let mut store = Store::create(&dir, host(folder.path())).unwrap();
    let part = Part { tag: Some("KP-1".into()), ..Part::default() };
    let id = store.write("new", |w| w.create(&part)).unwrap_or_else(|e: StoreError| panic!("{e}")).value;
    (folder, dir, id)
}

#[test]
fn a_missing_and_a_foreign_file_are_told_apart_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("shelf");
    assert!(matches!(Store::open(&dir, host(folder.path())), Err(StoreError::NoShelf { .. })));
    fs::create_dir(&dir).unwrap();
    let other = rusqlite::Connection::open(dir.join("airshelf.db")).unwrap();
    other.execute_batch("CREATE TABLE somebody_elses (x)").unwrap();
    drop(other);
    let before = fs::read(dir.join("airshelf.db")).unwrap();
    assert!(matches!(Store::open(&dir, host(folder.path())), Err(StoreError::NotAShelf { .. })));
    assert!(matches!(Store::create(&dir, host(folder.path())), Err(StoreError::AlreadyShelf { .. })));
    assert_eq!(fs::read(dir.join("airshelf.db")).unwrap(), before);
}

#[test]
fn a_damaged_file_is_named_as_such_and_not_written_to() {
    let (folder, dir, _) = with_a_part();
    let file = dir.join("airshelf.db");
    let whole = fs::read(&file).unwrap();
    let opened = |bytes: &[u8]| -> StoreError {
        fs::write(&file, bytes).unwrap();
        let opened = Store::open(&dir, host(folder.path())).and_then(|store| {
            let checked = store.check()?;
            assert!(!checked.is_sound(), "a damaged file passes as sound");
            Err(StoreError::Damaged { what: checked.file_faults.join("; ") })
        });
        let error: StoreError = opened.map(|_: Store| ()).unwrap_err();
        assert_eq!(fs::read(&file).unwrap(), bytes, "left as it was");
        error
    };
    for bytes in [
        &b"this is no database at all, but long enough to look at"[..],
        &whole[..whole.len() / 2],
        &whole[..300],
    ] {
        let error = opened(bytes);
        assert!(matches!(error, StoreError::Damaged { .. }), "{error:?}");
        assert!(!error.trying_again_helps());
        assert!(error.to_string().contains("restore a backup"));
    }
    let mut scribbled = whole.clone();
    let third = scribbled.len() / 3;
    scribbled[third..third + 9_000].fill(0x5a);
    assert!(matches!(opened(&scribbled), StoreError::Damaged { .. }));
}

#[test]
fn a_table_that_differs_from_the_log_is_found() {
    let (folder, dir, _) = with_a_part();
    let behind = rusqlite::Connection::open(dir.join("airshelf.db")).unwrap();
    behind.execute("UPDATE part SET tag = 'KP-2'", []).unwrap();
    drop(behind);
    let checked = Store::open(&dir, host(folder.path())).unwrap().check().unwrap();
    assert!(!checked.is_sound());
    assert_eq!(checked.table_faults, ["part: 1 rows differ from the replayed log"]);
}

#[test]
fn a_row_that_its_identifier_does_not_lead_to_is_found() {
    for wrong in
        ["UPDATE row_of SET row = row + 1000", "DELETE FROM row_of", "UPDATE row_of SET uuid = x'00'"]
    {
        let (folder, dir, _) = with_a_part();
        let behind = rusqlite::Connection::open(dir.join("airshelf.db")).unwrap();
        behind.execute(&format!("{wrong} WHERE row = (SELECT id FROM part)"), []).unwrap();
        drop(behind);
        let checked = Store::open(&dir, host(folder.path())).unwrap().check().unwrap();
        assert_eq!(checked.file_faults, ["the rows and their index differ"], "{wrong}");
    }
}

#[test]
fn a_damaged_log_is_found() {
    let (folder, dir, _) = with_a_part();
    let behind = rusqlite::Connection::open(dir.join("airshelf.db")).unwrap();
    behind.execute("UPDATE txn SET chain = x'0102030405060708'", []).unwrap();
    drop(behind);
    let checked = Store::open(&dir, host(folder.path())).unwrap().check().unwrap();
    assert!(checked.table_faults[0].starts_with("the log"), "{checked:?}");
}

#[test]
fn a_newer_programs_file_is_written_where_only_columns_were_added_and_else_only_read() {
    let (folder, dir, id) = with_a_part();
    let newer = |sql: &str| {
        let behind = rusqlite::Connection::open(dir.join("airshelf.db")).unwrap();
        behind.execute_batch(sql).unwrap();
    };
    newer("PRAGMA user_version = 7; ALTER TABLE part ADD COLUMN color TEXT; UPDATE part SET color = 'green'");
    let mut store = Store::open(&dir, host(folder.path())).unwrap();
    assert_eq!(store.read_only(), None);
    store
        .write("edit", |w| w.edit::<Part>(id, "place", Value::Text("box".into())))
        .unwrap_or_else(|e: StoreError| panic!("{e}"));
    drop(store);
    let behind = rusqlite::Connection::open(dir.join("airshelf.db")).unwrap();
    let color: String = behind.query_row("SELECT color FROM part", [], |row| row.get(0)).unwrap();
    assert_eq!(color, "green", "a column of a newer program stays");
    drop(behind);
    newer("UPDATE shelf SET writer_version = 7");
    let mut store = Store::open(&dir, host(folder.path())).unwrap();
    assert_eq!(store.read_only(), Some(&ReadOnly::NewerProgram { version: 7 }));
    assert_eq!(store.get::<Part>(id).unwrap().unwrap().place.unwrap(), "box");
    let refused = store.write("new", |w| w.create(&Part::default()).map(drop));
    assert!(matches!(&refused, Err(StoreError::ReadOnly { why }) if why.contains("newer program")));
}

/// Where this runs as a user that no permission stops, there is nothing to see, and the file is only opened.
#[cfg(unix)]
#[test]
fn a_folder_that_cannot_be_written_is_read() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, dir, id) = with_a_part();
    let mode = |mode| fs::set_permissions(&dir, fs::Permissions::from_mode(mode)).unwrap();
    mode(0o555);
    let stopped = fs::File::create(dir.join("probe")).is_err();
    let mut store = Store::open(&dir, host(folder.path())).unwrap();
    assert_eq!(store.read_only().is_some(), stopped);
    assert_eq!(store.get::<Part>(id).unwrap().unwrap().tag.unwrap(), "KP-1");
    let wrote = store.write("new", |w| w.create(&Part::default()).map(drop));
    assert_eq!(matches!(wrote, Err(StoreError::ReadOnly { .. })), stopped);
    mode(0o755);
}

/// Where this runs as a user that no permission stops, there is nothing to see, and the file is only opened.
#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read_is_not_called_damaged() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, dir, _) = with_a_part();
    for place in [dir.join("airshelf.db"), dir.clone()] {
        let before = fs::metadata(&place).unwrap().permissions();
        fs::set_permissions(&place, fs::Permissions::from_mode(0o000)).unwrap();
        let stopped = fs::File::open(dir.join("airshelf.db")).is_err();
        match Store::open(&dir, host(folder.path())) {
            Err(error @ StoreError::MayNotRead { .. }) if stopped => {
                assert!(error.to_string().contains("right to read") && !error.trying_again_helps());
            }
            opened => assert!(opened.is_ok() && !stopped, "{opened:?}"),
        }
        fs::set_permissions(&place, before).unwrap();
    }
}

#[test]
fn a_second_program_waits_or_is_told_to_try_again() {
    let (folder, dir, _) = with_a_part();
    let behind = rusqlite::Connection::open(dir.join("airshelf.db")).unwrap();
    behind.execute_batch("BEGIN IMMEDIATE").unwrap();
    let mut store = Store::open(&dir, host(folder.path())).unwrap();
    let busy = store.write("new", |w| w.create(&Part::default()).map(drop)).unwrap_err();
    let busy: StoreError = busy;
    assert!(matches!(busy, StoreError::Busy) && busy.trying_again_helps());
    behind.execute_batch("ROLLBACK").unwrap();
    store
        .write("new", |w| w.create(&Part::default()).map(drop))
        .unwrap_or_else(|e: StoreError| panic!("{e}"));
}

const CHILD: &str = "AIRSHELF_TEST_IMPORTS_INTO";
const STOPS_AT: &str = "AIRSHELF_TEST_STOPS_AT";

/// Does nothing by itself; run again by the test below, as the program that is killed.
#[test]
fn a_program_that_imports() {
    let Some(folder) = std::env::var_os(CHILD).map(PathBuf::from) else { return };
    let records = bench::evenings(6_000);
    let mut store = Store::open(&folder.join("shelf"), host(&folder)).unwrap();
    let stops_at = std::env::var(STOPS_AT).unwrap();
    let mut progress = |done: usize, _: usize| {
        println!("done {done}");
        if format!("done {done}") == stops_at {
            std::thread::sleep(Duration::from_secs(60));
        }
        Pace::GoOn
    };
    store.import(&records, "import", &mut progress).unwrap();
    println!("committed");
    std::thread::sleep(Duration::from_secs(60));
}

#[test]
fn an_import_killed_at_any_moment_is_whole_or_not_there() {
    let records = bench::evenings(6_000);
    let me = std::env::current_exe().unwrap();
    let moments = ["done 1024", "done 6144", "done 12288", "last", "committed"];
    for moment in moments {
        let (folder, dir, id) = with_a_part();
        let mut child = Command::new(&me)
            .args(["--exact", "a_program_that_imports", "--nocapture"])
            .env(CHILD, folder.path())
            .env(STOPS_AT, moment)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let last = format!("done {}", records.len());
        let wanted = if moment == "last" { &last } else { moment };
        let out = BufReader::new(child.stdout.take().unwrap());
        assert!(out.lines().any(|line| line.unwrap() == wanted), "{moment} is reached");
        child.kill().unwrap();
        child.wait().unwrap();
        let mut store = Store::open(&dir, host(folder.path())).unwrap();
        assert!(store.check().unwrap().is_sound(), "{moment}");
        assert_eq!(store.get::<Part>(id).unwrap().unwrap().tag.unwrap(), "KP-1");
        let imported = store.records(Scope::All).unwrap().len() - 1;
        assert!(imported == 0 || imported == records.len(), "{moment}: {imported}");
        assert!(moment != "committed" || imported == records.len(), "what was confirmed is kept");
        assert!(!moment.starts_with("done") || imported == 0);
        // And the next try makes it whole.
        store.import(&records, "import", &mut |_, _| Pace::GoOn).unwrap();
        assert_eq!(store.records(Scope::All).unwrap().len() - 1, records.len());
        assert!(store.check().unwrap().is_sound());
    }
}

/// Leaves the file as a big import does that is cut off within its commit: pages half written, the old ones in the journal.
fn cut_off_in_a_commit(dir: &Path) {
    let (file, journal) = (dir.join("airshelf.db"), dir.join("airshelf.db-journal"));
    let behind = rusqlite::Connection::open(&file).unwrap();
    behind
        .execute_batch(
            "PRAGMA journal_mode = TRUNCATE; PRAGMA cache_size = 5; BEGIN IMMEDIATE;
             CREATE TABLE more (text TEXT); UPDATE part SET tag = 'KP-2';
             INSERT INTO more WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 2000)
             SELECT printf('%0200d', i) FROM n",
        )
        .unwrap();
    let (mut half, old) = (fs::read(&file).unwrap(), fs::read(&journal).unwrap());
    drop(behind);
    // The first page is written first; by it the file is longer than it is.
    let pages = u32::try_from(half.len()).unwrap() / 8192 + 500;
    half[28..32].copy_from_slice(&pages.to_be_bytes());
    let (counter, valid_for): (&[u8], usize) = (&[0, 0, 9, 9], 92);
    half[24..28].copy_from_slice(counter);
    half[valid_for..valid_for + 4].copy_from_slice(counter);
    fs::write(&file, half).unwrap();
    fs::write(&journal, old).unwrap();
}

#[test]
fn a_commit_that_was_cut_off_is_undone_at_the_next_opening() {
    let (folder, dir, id) = with_a_part();
    cut_off_in_a_commit(&dir);
    let store = Store::open(&dir, host(folder.path())).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(store.get::<Part>(id).unwrap().unwrap().tag.unwrap(), "KP-1");
    let checked = store.check().unwrap();
    assert!(checked.is_sound(), "{checked:?}");
}

#[test]
fn a_blob_is_here_elsewhere_lost_or_damaged() {
    let (folder, dir, id) = with_a_part();
    let mut store = Store::open(&dir, host(folder.path())).unwrap();
    let hash = store.blobs().put(b"a picture").unwrap();
    assert_eq!(store.blobs().put(b"a picture").unwrap(), hash);
    let photo = Photo { sha256: Some(hash.to_vec()), subject: Some(id), ..Photo::default() };
    store.write("photo", |w| w.create(&photo)).unwrap_or_else(|e: StoreError| panic!("{e}"));
    assert_eq!(store.blob_state(&hash).unwrap(), BlobState::Here);
    assert_eq!(store.check().unwrap().blobs_here, 1);
    let path = store.blobs().path(&hash);
    fs::write(&path, b"another picture").unwrap();
    assert!(matches!(store.blobs().get(&hash), Err(StoreError::BlobDamaged { .. })));
    assert_eq!(store.check().unwrap().blobs_damaged.len(), 1);
    fs::remove_file(&path).unwrap();
    let checked = store.check().unwrap();
    assert_eq!((checked.blobs_lost.len(), checked.is_sound()), (1, false));
    store.blob_is_elsewhere(&hash, 9).unwrap();
    assert_eq!(store.blob_state(&hash).unwrap(), BlobState::Elsewhere);
    assert!(store.check().unwrap().is_sound());
    assert_eq!(store.blobs().list().unwrap(), Vec::<[u8; 32]>::new());
}

/// The locks of this process on a file, as the kernel lists them: where each begins.
#[cfg(target_os = "linux")]
fn locks_on(file: &Path) -> Vec<String> {
    use std::os::unix::fs::MetadataExt;
    let (inode, own) = (std::fs::metadata(file).unwrap().ino(), std::process::id().to_string());
    let listed = std::fs::read_to_string("/proc/locks").unwrap();
    listed
        .lines()
        .map(|line| line.split_whitespace().collect::<Vec<_>>())
        .filter(|at| at[4] == own && at[5].rsplit(':').next() == Some(&*inode.to_string()))
        .map(|at| at[6].to_owned())
        .collect()
}

#[test]
#[cfg(target_os = "linux")]
fn a_shelf_in_use_stays_locked_whoever_looks_at_its_file() {
    let folder = tempfile::tempdir().unwrap();
    let host = Arc::new(Native::new(folder.path().join("config")));
    let at = folder.path().join("shelf");
    drop(Store::create(&at, Arc::clone(&host) as _).unwrap());
    let held = Store::open(&at, Arc::clone(&host) as _).unwrap();
    let shared = held.dir().join("airshelf.db");
    // SQLite's shared bytes begin at 2^30 + 2 (its file format, "File Locking").
    assert!(locks_on(&shared).contains(&"1073741826".to_owned()), "{:?}", locks_on(&shared));
    assert!(Store::is_there(&at));
    drop(Store::open(&at, host).unwrap());
    assert!(locks_on(&shared).contains(&"1073741826".to_owned()), "{:?}", locks_on(&shared));
}

/// What another device wrote of, it may have until it says that it has not.
#[test]
fn a_photo_of_another_device_is_elsewhere_until_that_says_no() {
    let (folder, dir, id) = with_a_part();
    let mut phone = Store::open(&dir, host(folder.path())).unwrap();
    let hash = phone.blobs().put(b"a picture").unwrap();
    let photo = Photo { sha256: Some(hash.to_vec()), subject: Some(id), ..Photo::default() };
    phone.write("photo", |w| w.create(&photo)).unwrap_or_else(|e: StoreError| panic!("{e}"));
    let mut hub = Store::create(&folder.path().join("hub"), host(folder.path())).unwrap();
    hub.join_empty(&phone.version_vector().unwrap()).unwrap();
    hub.apply(&phone.transactions_since(&hub.version_vector().unwrap(), usize::MAX).unwrap()).unwrap();
    assert_eq!(hub.blob_state(&hash).unwrap(), BlobState::Elsewhere);
    assert!(hub.check().unwrap().is_sound());
    let a_third = hub.fresh_id();
    hub.blob_is_lacked_by(&hash, a_third).unwrap();
    assert_eq!(hub.blob_state(&hash).unwrap(), BlobState::Elsewhere);
    hub.blob_is_lacked_by(&hash, phone.device()).unwrap();
    assert_eq!(hub.blob_state(&hash).unwrap(), BlobState::Lost);
    hub.blob_is_elsewhere(&hash, 9).unwrap();
    assert_eq!(hub.blob_state(&hash).unwrap(), BlobState::Elsewhere);
}
