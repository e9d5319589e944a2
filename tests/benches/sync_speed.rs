//! How long a first sync takes against its peers, and how soon a change is elsewhere. Timed by `cargo xtask bench`.

#![allow(clippy::unwrap_used)]

use airshelf_app::native::Native;
use airshelf_app::sync::{Local, PhotosAsked};
use airshelf_app::units::System;
use airshelf_app::{FileIn, ImportAsked, Shelf};
use airshelf_catalog::Part;
use airshelf_server::client::{Address, Pairing, Remote, Wanted, exchange, stay};
use airshelf_server::{Certificate, Options, Reach, serve};
use airshelf_store::Store;
use std::net::{IpAddr, Ipv4Addr};
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};

fn host(folder: &Path, name: &str) -> Arc<Native> {
    Arc::new(Native::new(folder.join(format!("{name}-config"))))
}

fn paired(folder: &Path, name: &str, link: &str) -> (Shelf, Remote, Local) {
    let shelf = Shelf::create(&folder.join(name), host(folder, name)).unwrap();
    let address = Address::read(link).unwrap();
    let code = address.code.clone().unwrap();
    let device = shelf.store().device();
    let pairing = Pairing { code: &code, name, device, shelf: None, authority: None };
    let known = Remote::pair(&address, &pairing).unwrap();
    (shelf, Remote::of(&known).unwrap(), Local { name: Some(name.into()) })
}

/// Two devices stay together with the hub; another program writes on the one. Milliseconds from the end of each write,
/// after which it is committed, until the row can be read on the other.
fn live(at: &Path, phones: &mut Vec<(Shelf, Remote, Local)>) -> Vec<u128> {
    for (mut shelf, remote, local) in phones.drain(..2) {
        std::thread::spawn(move || {
            stay(&mut shelf, &remote, &local, PhotosAsked::None, &mut |_| Ok(()), &mut |_| true, &mut || {
                Wanted::Nothing
            })
        });
    }
    std::thread::sleep(Duration::from_millis(1_500));
    let again = |name: &str| Shelf::open(&at.join(name), host(at, name)).unwrap();
    let (mut written, read): (Store, Store) = (again("phone").into(), again("laptop").into());
    let once = |n: u64| {
        let lid = Part { id: written.fresh_id(), tag: Some(format!("LIVE-{n}")), ..Part::default() };
        written.write("a lid", |w| w.create(&lid)).unwrap();
        let committed = Instant::now();
        while !read.holds(lid.id).unwrap() {
            assert!(committed.elapsed() < Duration::from_secs(10), "the change never comes");
            std::thread::sleep(Duration::from_millis(1));
        }
        let took = committed.elapsed().as_millis();
        // At another moment of everybody's rounds each time.
        std::thread::sleep(Duration::from_millis(1_000 + 37 * n));
        took
    };
    (0..10).map(once).collect()
}

fn main() {
    let sheet = std::env::var("AIRSHELF_BIG_SHEET").expect("the bench says which sheet");
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let import = |name: &str| {
        let mut shelf = Shelf::create(&at.join(name), host(at, name)).unwrap();
        let file = FileIn { path: sheet.clone(), bytes: std::fs::read(&sheet).unwrap() };
        let asked = ImportAsked { write: true, mapping: None, conversions: false, system: System::Us };
        let begin = Instant::now();
        let report = shelf.import(vec![file], &asked, &mut |_, _, _| true).unwrap();
        assert!(!report.failed());
        (shelf, begin.elapsed())
    };
    let (_, first) = import("first");
    let (shelf, second) = import("hub");
    let local = first.min(second);

    let mut options = Options::new(shelf, at.join("hub-config"), host(at, "hub"));
    options.reach = Reach::Lan(Certificate::Own);
    options.listen = Some(vec![IpAddr::V4(Ipv4Addr::LOCALHOST)]);
    options.port = Some(0);
    let running = serve(options).unwrap();
    let link = || running.at().link(&running.hub().trust.invite().unwrap().code);

    let mut synced = Duration::MAX;
    let mut phones = Vec::new();
    for name in ["phone", "laptop", "tablet"] {
        let (mut shelf, remote, local) = paired(at, name, &link());
        let begin = Instant::now();
        let report = exchange(&mut shelf, &remote, &local, PhotosAsked::None, &mut |_| Ok(())).unwrap();
        synced = synced.min(begin.elapsed());
        assert!(report.received > 10 && report.incomplete_imports == 0);
        phones.push((shelf, remote, local));
    }

    let database = at.join("first").join("airshelf.db");
    let dumped = (0..2)
        .map(|n| {
            let begin = Instant::now();
            let line = format!(
                "sqlite3 {} .dump | sqlite3 {}",
                database.display(),
                at.join(format!("dump-{n}.db")).display()
            );
            assert!(Command::new("sh").args(["-c", &line]).status().unwrap().success());
            begin.elapsed()
        })
        .min()
        .unwrap();

    let lives = live(at, &mut phones);
    running.stop();

    let seconds = |time: Duration| time.as_secs_f64();
    println!("\nfirst sync over TLS on this machine, best run of each");
    println!("  first sync                {:7.2} s", seconds(synced));
    println!(
        "  local import              {:7.2} s  sync is {:.2} x",
        seconds(local),
        seconds(synced) / seconds(local)
    );
    println!(
        "  sqlite3 .dump | sqlite3   {:7.2} s  sync is {:.2} x",
        seconds(dumped),
        seconds(synced) / seconds(dumped)
    );
    println!("  a change, on another device after {lives:?} ms");
    assert!(synced <= 2 * local, "a first sync takes more than 2 x the local import");
    assert!(synced < dumped, "a first sync is slower than sqlite3 .dump | sqlite3");
    assert!(lives.iter().all(|ms| *ms < 300), "a change takes 300 ms or more");
}
