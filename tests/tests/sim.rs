//! Devices of one shelf over years of bad luck, in a second: does anything get lost?
//!
//! Three to six stores and hubs, people who write apart, clocks that are wrong and run backwards, a network that loses,
//! doubles and reorders, power that goes at any write, disks that fill up, copied folders, restored backups, programs
//! of three ages. Everything follows from a seed. 300 seeds, 5,000 with `AIRSHELF_LONG=1`; one alone with
//! `AIRSHELF_SEED=… cargo test -p airshelf-tests --test sim`.
#![cfg(unix)]
#![allow(clippy::unwrap_used)]

#[path = "sim/deeds.rs"]
mod deeds;
#[path = "sim/device.rs"]
mod device;
#[path = "sim/disk.rs"]
mod disk;
#[path = "sim/facts.rs"]
mod facts;
#[path = "sim/machine.rs"]
mod machine;
#[path = "sim/network.rs"]
mod network;
#[path = "sim/quiet.rs"]
mod quiet;
#[path = "sim/sheets.rs"]
mod sheets;
#[path = "sim/tomorrow.rs"]
mod tomorrow;
#[path = "sim/vfs.rs"]
mod vfs;
#[path = "sim/world.rs"]
mod world;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};

/// Seeds that failed once.
const REGRESSIONS: &[u64] = &[910, 1192, 1618, 2507];

fn seeds() -> Vec<u64> {
    if let Ok(seed) = std::env::var("AIRSHELF_SEED") {
        return seed.split(',').map(|seed| seed.trim().parse().expect("a seed is a number")).collect();
    }
    let long = std::env::var_os("AIRSHELF_LONG").is_some_and(|v| v == "1");
    let count = if long { 5_000 } else { 300 };
    REGRESSIONS.iter().copied().chain(1..=count).collect()
}

/// Runs a seed; gives what failed, with everything that had happened.
fn failure(seed: u64) -> Option<String> {
    let trace = world::Trace::default();
    let panic = catch_unwind(AssertUnwindSafe(|| world::run(seed, &trace))).err()?;
    let text = panic.downcast_ref::<String>().cloned();
    let text = text.or_else(|| panic.downcast_ref::<&str>().map(|text| (*text).to_owned()));
    let trace = trace.lock().unwrap_or_else(std::sync::PoisonError::into_inner).join("\n  ");
    let replay = format!("AIRSHELF_SEED={seed} cargo test -p airshelf-tests --test sim");
    Some(format!("seed {seed}: {}\n  {trace}\n  {replay}", text.unwrap_or_default()))
}

#[test]
fn nothing_is_lost_whatever_happens_to_the_devices_of_a_shelf() {
    let (seeds, next) = (seeds(), AtomicU64::new(0));
    let failures = Arc::new(Mutex::new(Vec::new()));
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(2, usize::from) {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed) as usize;
                    let Some(seed) = seeds.get(at) else { return };
                    if at > 0 && at.is_multiple_of(500) {
                        eprintln!("{at} of {} seeds", seeds.len());
                    }
                    if let Some(failure) = failure(*seed) {
                        failures.lock().unwrap().push((*seed, failure));
                    }
                }
            });
        }
    });
    let failures = failures.lock().unwrap();
    let failed: Vec<u64> = failures.iter().map(|(seed, _)| *seed).collect();
    for (_, failure) in failures.iter().take(3) {
        eprintln!("{failure}");
    }
    assert!(failed.is_empty(), "{} of {} seeds failed: {failed:?}", failed.len(), seeds.len());
}
