//! The TypeScript types of the desktop's news are those of the Rust types: written by `cargo xtask types`, compared here.

use crate::hub::{Guest, HubOn, HubShown, WayIn};
use crate::news::{Going, Heard, Together};
use std::fs;
use std::path::Path;
use ts_rs::{Config, TS};

const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../ui/src/lib/backend/desktop");

#[test]
fn the_types_of_the_screens_are_those_of_the_desktop() {
    let to = Config::new().with_large_int("number");
    let made = [
        ("Heard", Heard::export_to_string(&to)),
        ("Together", Together::export_to_string(&to)),
        ("Going", Going::export_to_string(&to)),
        ("HubShown", HubShown::export_to_string(&to)),
        ("HubOn", HubOn::export_to_string(&to)),
        ("Guest", Guest::export_to_string(&to)),
        ("WayIn", WayIn::export_to_string(&to)),
    ];
    let folder = Path::new(KEPT);
    if std::env::var_os("AIRSHELF_WRITE_TYPES").is_some() {
        let _ = fs::remove_dir_all(folder);
        fs::create_dir_all(folder).unwrap();
        for (name, text) in &made {
            fs::write(folder.join(name).with_extension("ts"), text.as_ref().unwrap()).unwrap();
        }
    }
    for (name, text) in &made {
        let kept = fs::read_to_string(folder.join(name).with_extension("ts")).unwrap_or_default();
        assert_eq!(&kept, text.as_ref().unwrap(), "{name} is not up to date: run `cargo xtask types`");
    }
    assert_eq!(fs::read_dir(folder).unwrap().count(), made.len(), "types that nobody asks for any more");
}
