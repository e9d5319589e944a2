//! The TypeScript types of the screens are those of the requests: written by `cargo xtask types`, compared here.

#![allow(clippy::unwrap_used)]

use airshelf_app::Fault;
use airshelf_app::request::{Answer, Request};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use ts_rs::{Config, TS};

const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../ui/src/lib/backend/types");

fn files(folder: &Path) -> BTreeMap<String, String> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeMap::new() };
    let read = |entry: fs::DirEntry| {
        let text = fs::read_to_string(entry.path()).unwrap().replace("\r\n", "\n");
        (entry.file_name().into_string().unwrap(), text)
    };
    entries.map(|entry| entry.unwrap()).filter(|entry| entry.path().is_file()).map(read).collect()
}

#[test]
fn the_types_of_the_screens_are_those_of_the_requests() {
    let folder = tempfile::tempdir().unwrap();
    let to = Config::new().with_large_int("number").with_out_dir(folder.path());
    Request::export_all(&to).unwrap();
    Answer::export_all(&to).unwrap();
    Fault::export_all(&to).unwrap();
    let made = files(folder.path());
    if std::env::var_os("AIRSHELF_WRITE_TYPES").is_some() {
        let _ = fs::remove_dir_all(KEPT);
        fs::create_dir_all(KEPT).unwrap();
        for (name, text) in &made {
            fs::write(Path::new(KEPT).join(name), text).unwrap();
        }
    }
    let kept = files(Path::new(KEPT));
    for (name, text) in &made {
        assert_eq!(kept.get(name), Some(text), "{name} is not up to date: run `cargo xtask types`");
    }
    assert_eq!(kept.len(), made.len(), "types that nobody asks for any more: run `cargo xtask types`");
}
