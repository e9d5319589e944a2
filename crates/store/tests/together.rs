//! Several processes at one shelf at once: one makes it, all write to it, and a full disk breaks nothing.

#![allow(clippy::unwrap_used)]

mod bench;

use airshelf_store::native::Native;
use airshelf_store::{Pace, Scope, Store, StoreError};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;

const WORK: &str = "AIRSHELF_TEST_WORK";
const FOLDER: &str = "AIRSHELF_TEST_FOLDER";

fn host(folder: &Path) -> Arc<Native> {
    Arc::new(Native::new(folder.join("config")))
}

/// Does nothing by itself; run again by the tests below as one of several programs.
#[test]
fn one_of_several_programs() {
    let Some(folder) = std::env::var_os(FOLDER).map(PathBuf::from) else { return };
    let dir = folder.join("shelf");
    let said = match &*std::env::var(WORK).unwrap() {
        "create" => match Store::create(&dir, host(&folder)) {
            Ok(_) => "created".to_owned(),
            Err(StoreError::AlreadyShelf { .. }) => "already".to_owned(),
            Err(StoreError::DiskFull) => "full".to_owned(),
            Err(other) => format!("{other:?}"),
        },
        "without a log" => {
            let behind = rusqlite::Connection::open(dir.join("airshelf.db")).unwrap();
            let mode = behind.query_row("PRAGMA journal_mode = TRUNCATE", [], |row| row.get::<_, String>(0));
            mode.unwrap_or_else(|error| error.to_string())
        }
        _ => {
            let mut store = Store::open(&dir, host(&folder)).unwrap();
            for picture in 0..60_u8 {
                store.blobs().put(&[picture; 5_000]).unwrap();
            }
            store.import(&bench::evenings(500), "import", &mut |_, _| Pace::GoOn).unwrap();
            format!("imported as {}", store.device())
        }
    };
    fs::write(folder.join(format!("said-{}", std::process::id())), said).unwrap();
}

fn start(work: &str, folder: &Path) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "one_of_several_programs"])
        .env(WORK, work)
        .env(FOLDER, folder)
        .stdout(Stdio::null())
        .spawn()
        .unwrap()
}

/// Runs eight at once and gives what they said.
fn eight(work: &str, folder: &Path) -> Vec<String> {
    let children: Vec<Child> = (0..8).map(|_| start(work, folder)).collect();
    let said = children.into_iter().map(|mut child| {
        let file = folder.join(format!("said-{}", child.id()));
        assert!(child.wait().unwrap().success());
        fs::read_to_string(file).unwrap()
    });
    let mut said: Vec<String> = said.collect();
    said.sort();
    said
}

fn no_file_is_under_way(folder: &Path) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        assert!(!path.to_string_lossy().contains(".new"), "{}", path.display());
        if path.is_dir() {
            no_file_is_under_way(&path);
        }
    }
}

#[test]
fn of_several_that_make_a_shelf_one_does_and_the_others_are_told_so() {
    for _ in 0..6 {
        let folder = tempfile::tempdir().unwrap();
        let said = eight("create", folder.path());
        assert_eq!(said[..7], ["already"; 7], "{said:?}");
        assert_eq!(said[7], "created");
        let store = Store::open(&folder.path().join("shelf"), host(folder.path())).unwrap();
        assert!(store.check().unwrap().is_sound());
        no_file_is_under_way(folder.path());
    }
}

#[test]
fn what_a_killed_creation_left_is_cleared_away() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("shelf");
    fs::create_dir(&dir).unwrap();
    fs::write(dir.join("airshelf.db.new-0123456789abcdef"), b"half a").unwrap();
    fs::write(dir.join("airshelf.db.new-0123456789abcdef-journal"), b"half a").unwrap();
    drop(Store::create(&dir, host(folder.path())).unwrap());
    no_file_is_under_way(&dir);
}

#[test]
fn nobody_takes_the_log_away_from_a_shelf_that_a_program_has_open() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("shelf");
    let said = || {
        let mut child = start("without a log", folder.path());
        assert!(child.wait().unwrap().success());
        fs::read_to_string(folder.path().join(format!("said-{}", child.id()))).unwrap()
    };
    let held = Store::create(&dir, host(folder.path())).unwrap();
    assert_eq!(said(), "database is locked", "open once");
    drop(Store::open(&dir, host(folder.path())).unwrap());
    assert_eq!(said(), "database is locked", "opened again and closed meanwhile");
    drop(held);
    assert_eq!(said(), "truncate", "closed");
}

#[test]
fn several_that_import_the_same_files_at_once_all_succeed() {
    let folder = tempfile::tempdir().unwrap();
    drop(Store::create(&folder.path().join("shelf"), host(folder.path())).unwrap());
    // A device that is new to this shelf: whoever comes first says who it is.
    fs::remove_dir_all(folder.path().join("config")).unwrap();
    let said = eight("import", folder.path());
    assert!(said.iter().all(|one| *one == said[0]), "one device: {said:?}");
    let store = Store::open(&folder.path().join("shelf"), host(folder.path())).unwrap();
    assert_eq!(store.records(Scope::All).unwrap().len(), bench::evenings(500).len());
    assert_eq!(store.blobs().list().unwrap().len(), 60);
    assert!(store.check().unwrap().is_sound());
    no_file_is_under_way(folder.path());
}

/// Where this user may make no file system to fill, there is nothing to see.
#[cfg(target_os = "linux")]
#[test]
fn a_shelf_made_on_a_nearly_full_disk_is_whole_or_not_there() {
    let script = "mount -t tmpfs -o size=${SIZE}k disk \"$DISK\" || exit 9
        \"$ME\" --exact one_of_several_programs || exit 1
        cat \"$DISK\"/said-* > \"$OUT\"; ls \"$DISK\"/shelf >> \"$OUT\"
        \"$ME\" --exact one_of_several_programs; cat \"$DISK\"/said-* >> \"$OUT\"";
    let mut said_full = 0;
    for size in (200..1_000).step_by(100) {
        let folder = tempfile::tempdir().unwrap();
        let (disk, out) = (folder.path().join("disk"), folder.path().join("out"));
        fs::create_dir(&disk).unwrap();
        let ran = Command::new("unshare")
            .args(["--map-root-user", "--mount", "sh", "-c", script])
            .env("SIZE", size.to_string())
            .env("DISK", &disk)
            .env("OUT", &out)
            .env("ME", std::env::current_exe().unwrap())
            .env(WORK, "create")
            .env(FOLDER, &disk)
            .output();
        match ran {
            Ok(ran) if ran.status.code() != Some(9) && out.exists() => {}
            _ => return println!("no file system can be made here"),
        }
        let said = fs::read_to_string(&out).unwrap();
        if said.starts_with("full") {
            said_full += 1;
            assert!(!said.contains("airshelf.db.new"), "{size}: {said}");
        } else {
            assert!(said.starts_with("created") && said.contains("already"), "{size}: {said}");
        }
    }
    assert!(said_full > 0, "some of these disks are too small");
}
