//! Several devices: a hub in a process of its own, and commands that sync with it.

use crate::{airshelf, json};
use serde_json::Value;
use std::fmt::Write;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::{TempDir, tempdir};

/// A device: a home of its own with a shelf `s` in it.
struct Device {
    home: TempDir,
}

impl Device {
    fn new() -> Self {
        Device { home: tempdir().unwrap() }
    }

    fn path(&self) -> &Path {
        self.home.path()
    }

    fn run(&self, words: &[&str]) -> Value {
        let all: Vec<&str> = ["--json", "--shelf", "s"].iter().chain(words).copied().collect();
        let output = airshelf(self.path(), &all);
        assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
        json(&output)
    }

    fn refused(&self, words: &[&str]) -> String {
        let all: Vec<&str> = ["--json", "--shelf", "s"].iter().chain(words).copied().collect();
        let output = airshelf(self.path(), &all);
        assert_eq!(output.status.code(), Some(1), "{words:?}");
        json(&output)["fault"]["code"].as_str().unwrap().to_owned()
    }

    fn export(&self, what: &str) -> String {
        let mut lines: Vec<String> =
            String::from_utf8(airshelf(self.path(), &["--shelf", "s", "export", what]).stdout)
                .unwrap()
                .lines()
                .map(str::to_owned)
                .collect();
        lines.sort();
        lines.join("\n")
    }

    fn start(&self, words: &[&str]) -> Child {
        Command::new(env!("CARGO_BIN_EXE_airshelf"))
            .args(["--json", "--shelf", "s"])
            .args(words)
            .current_dir(self.path())
            .env_clear()
            .env("HOME", self.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap()
    }
}

/// A hub that runs until it is dropped.
struct Hub {
    child: Child,
    link: String,
}

impl Hub {
    fn on(device: &Device) -> Hub {
        let mut child = device.start(&["serve", "--port", "0"]);
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let (mut text, mut line) = (String::new(), String::new());
        let said: Value = loop {
            line.clear();
            assert!(out.read_line(&mut line).unwrap() > 0, "the hub said: {text}");
            text += &line;
            if let Ok(said) = serde_json::from_str(&text) {
                break said;
            }
        };
        // Who reads on keeps the hub from stumbling over a closed pipe.
        std::thread::spawn(move || for _ in out.lines() {});
        let link = said["invitation"]["link"].as_str().unwrap_or_default().to_owned();
        Hub { child, link }
    }
}

impl Drop for Hub {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn link_for_another(device: &Device) -> String {
    device.run(&["pair"])["link"].as_str().unwrap().to_owned()
}

#[test]
fn two_devices_and_a_hub_hold_the_same_and_a_revoked_one_is_out() {
    let (home, phone, laptop) = (Device::new(), Device::new(), Device::new());
    home.run(&["new"]);
    home.run(&["part", "add", "kind=filter", "tag=PF-1"]);
    let hub = Hub::on(&home);
    let first = phone.run(&["sync", &hub.link]);
    assert_eq!((first["joined"].as_bool(), first["received"].as_u64()), (Some(true), Some(1)));
    assert_eq!(phone.refused(&["sync", &hub.link]), "unpaired", "a code is good once");
    laptop.run(&["sync", &link_for_another(&home)]);
    phone.run(&["part", "add", "kind=lid", "tag=LD-1"]);
    phone.run(&["part", "change", "PF-1", "note=from the phone"]);
    laptop.run(&["part", "change", "PF-1", "note=from the laptop"]);
    assert_eq!(phone.run(&["sync"])["sent"], 2);
    let laptops = laptop.run(&["sync"]);
    assert_eq!(
        (laptops["sent"].as_u64(), laptops["received"].as_u64(), laptops["conflicts"].as_u64()),
        (Some(1), Some(2), Some(1))
    );
    let listed = laptop.run(&["conflicts", "list"]);
    assert_eq!(listed["conflicts"][0]["values"].as_array().unwrap().len(), 2);
    laptop.run(&["conflicts", "settle", "1", "1"]);
    laptop.run(&["sync"]);
    let phones = phone.run(&["sync"]);
    assert_eq!((phones["conflicts"].as_u64(), phones["only_here"].as_u64()), (Some(0), Some(0)));
    assert_eq!(phone.export("parts"), laptop.export("parts"));
    assert_eq!(phone.export("parts"), home.export("parts"));
    let devices = home.run(&["devices", "list"]);
    assert_eq!(devices["devices"].as_array().unwrap().len(), 2);
    let id = devices["devices"][0]["id"].as_str().unwrap();
    home.run(&["devices", "revoke", id]);
    let out =
        [&phone, &laptop].map(|device| airshelf(device.path(), &["--shelf", "s", "sync"]).status.code());
    assert_eq!(out.iter().filter(|code| **code == Some(1)).count(), 1, "one of the two is out: {out:?}");
}

#[test]
fn a_shelf_of_its_own_is_refused() {
    let (home, other) = (Device::new(), Device::new());
    for (device, tag) in [(&home, "tag=A"), (&other, "tag=B")] {
        device.run(&["new"]);
        device.run(&["part", "add", "kind=filter", tag]);
    }
    let hub = Hub::on(&home);
    assert_eq!(other.refused(&["sync", &hub.link]), "other-shelf");
    assert!(!home.export("parts").contains("B"));
}

#[test]
fn who_stays_hears_of_a_change_at_once() {
    let (home, phone) = (Device::new(), Device::new());
    home.run(&["new"]);
    home.run(&["part", "add", "kind=filter", "tag=PF-1"]);
    let hub = Hub::on(&home);
    phone.run(&["sync", &hub.link]);
    let mut staying = phone.start(&["sync", "--stay"]);
    // Written by another program than the hub, on the hub's shelf.
    home.run(&["part", "add", "kind=lid", "tag=LD-9"]);
    let begin = Instant::now();
    while !phone.export("parts").contains("LD-9") {
        assert!(begin.elapsed() < Duration::from_secs(30), "it never came");
    }
    staying.kill().unwrap();
    staying.wait().unwrap();
}

#[test]
fn an_empty_shelf_that_joins_while_its_hub_is_stopped_keeps_its_paired_devices() {
    let (home, branch, phone) = (Device::new(), Device::new(), Device::new());
    home.run(&["new"]);
    home.run(&["part", "add", "kind=filter", "tag=PF-1"]);
    branch.run(&["new"]);
    let hub = Hub::on(&branch);
    phone.run(&["sync", &hub.link]);
    drop(hub);
    assert_eq!(branch.run(&["devices", "list"])["devices"].as_array().unwrap().len(), 1);
    let hub = Hub::on(&home);
    assert_eq!(branch.run(&["sync", &hub.link])["joined"], true);
    assert_eq!(branch.run(&["devices", "list"])["devices"].as_array().unwrap().len(), 1);
}

fn long() -> bool {
    std::env::var_os("AIRSHELF_LONG").is_some()
}

/// Runs, parts with photos, in numbers.
fn fill(device: &Device, runs: usize, photos: usize) {
    let mut parts = String::from("tag,kind,OD (in),ID (in),height (in)\n");
    let folder = device.path().join("photos");
    std::fs::create_dir(&folder).unwrap();
    for n in 0..photos {
        writeln!(parts, "PF-{n},filter,14,12,{}", 2.0 + n as f64 / 1000.0).unwrap();
        let mut bytes = b"\xff\xd8\xff\xe0".to_vec();
        bytes.extend((0..60_000 + n).map(|at| (at * (n + 7) / 3 % 255) as u8));
        std::fs::write(folder.join(format!("PF-{n}.jpg")), bytes).unwrap();
    }
    let mut sheet = String::from(
        "session,date,bench,range (CFM),item,purpose,order,filter,lid,set pressure (inH2O),flow (CFM)\n",
    );
    for n in 0..runs {
        let (session, order) = (n / 40, n % 40 + 1);
        let purpose = if order % 8 == 1 { "baseline,{o},," } else { "test,{o},PF-1,LD-1" };
        let purpose = purpose.replace("{o}", &order.to_string());
        writeln!(sheet, "S-{session},2026-03-01,B,600,Q4,{purpose},5.5,{}.{}", 540 + n % 23, n % 10).unwrap();
    }
    std::fs::write(device.path().join("parts.csv"), parts).unwrap();
    std::fs::write(device.path().join("runs.csv"), sheet).unwrap();
    device.run(&["import", "--write", "parts.csv", "runs.csv"]);
    let added = device.run(&["photo", "add", "photos"]);
    assert_eq!(added["photos"].as_array().unwrap().len(), photos);
}

fn size(folder: &Path) -> u64 {
    let Ok(entries) = std::fs::read_dir(folder) else { return 0 };
    entries
        .flatten()
        .map(|entry| {
            let path: PathBuf = entry.path();
            if path.is_dir() { size(&path) } else { path.metadata().map_or(0, |about| about.len()) }
        })
        .sum()
}

#[test]
fn a_first_sync_killed_again_and_again_goes_on_and_ends_equal() {
    let (runs, photos) = if long() { (34_000, 500) } else { (3_000, 60) };
    let (home, phone) = (Device::new(), Device::new());
    home.run(&["new"]);
    fill(&home, runs, photos);
    let hub = Hub::on(&home);
    // The first is killed while it is still pairing or greeting at the latest, so that a known key is left.
    phone.run(&["new"]);
    let paired = phone.start(&["sync", &hub.link]);
    let shelf = phone.path().join("s");
    let whole = size(&home.path().join("s"));
    let mut kills = 0;
    let mut syncing = paired;
    for share in [1, 3, 5, 7, 9] {
        let begin = Instant::now();
        while size(&shelf) < whole * share / 10 && begin.elapsed() < Duration::from_secs(60) {
            if syncing.try_wait().unwrap().is_some() {
                break;
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        if syncing.try_wait().unwrap().is_none() {
            kills += 1;
        }
        let _ = syncing.kill();
        syncing.wait().unwrap();
        // Its photos have not been asked for yet, so that nobody is known to have them; all else is as it should be.
        let checked = json(&airshelf(phone.path(), &["--json", "--shelf", "s", "check"]));
        for faults in ["table_faults", "file_faults", "blobs_damaged"] {
            assert_eq!(checked[faults], serde_json::json!([]), "a killed sync leaves a valid shelf");
        }
        syncing = phone.start(&["sync"]);
    }
    let done = syncing.wait_with_output().unwrap();
    assert!(kills >= 2, "only {kills} syncs were killed under way");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stdout));
    let report: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(
        (report["photos_elsewhere"].as_u64(), report["incomplete_imports"].as_u64()),
        (Some(0), Some(0))
    );
    for device in [&home, &phone] {
        let checked = device.run(&["check"]);
        assert_eq!(checked["sound"], true, "{checked}");
        assert_eq!(checked["blobs_here"].as_u64(), Some(photos as u64 + 2), "photos, and two sheets");
    }
    for what in ["runs", "parts"] {
        assert!(home.export(what) == phone.export(what), "{what} differ");
    }
}
