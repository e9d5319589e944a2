//! A device whose clock and chance are the same every time, and the same in `ui/scripts/replay.worker.js`.

use airshelf_app::{Host, Identity};
use std::collections::HashMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Noon of 24 November 2025, in milliseconds since 1970.
const NOON_MS: u64 = 1_763_985_600_000;

/// The device. Each request has a turn: a second later, and chance that depends on nothing before it.
#[derive(Debug, Default)]
pub struct Steady(Mutex<State>);

#[derive(Debug, Default)]
struct State {
    turn: u64,
    /// By how many bytes are asked for at once: a native store throws dice, too, that a browser does not.
    streams: HashMap<usize, u64>,
    identities: HashMap<PathBuf, Identity>,
    kept: HashMap<String, String>,
}

impl Steady {
    fn state(&self) -> MutexGuard<'_, State> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Begins a request.
    pub fn turn(&self, turn: u64) {
        let mut state = self.state();
        state.turn = turn;
        state.streams.clear();
    }
}

impl Host for Steady {
    fn now_ms(&self) -> u64 {
        NOON_MS + 1000 * self.state().turn
    }

    fn wall(&self) -> String {
        let second = 12 * 3600 + self.state().turn;
        let (hour, minute) = (second / 3600, second / 60 % 60);
        format!("2025-11-{}T{:02}:{minute:02}:{:02}+00:00", 24 + hour / 24, hour % 24, second % 60)
    }

    /// SplitMix64, eight bytes at a time.
    fn random(&self, out: &mut [u8]) {
        let mut state = self.state();
        let turn = state.turn;
        let stream = state.streams.entry(out.len()).or_insert(turn << 16 | out.len() as u64);
        for bytes in out.chunks_mut(8) {
            *stream = stream.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut z = *stream;
            z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            bytes.copy_from_slice(&(z ^ (z >> 31)).to_le_bytes()[..bytes.len()]);
        }
    }

    fn identity(&self, place: &Path) -> io::Result<Identity> {
        let held = self.state().identities.get(place).copied();
        held.map_or_else(|| self.new_identity(place), Ok)
    }

    fn new_identity(&self, place: &Path) -> io::Result<Identity> {
        let (mut key, mut chance) = ([0; 32], [0; 10]);
        self.random(&mut key);
        self.random(&mut chance);
        let identity = Identity { device: airshelf_catalog::ids::fresh(self.now_ms(), &chance), key };
        self.state().identities.insert(place.to_owned(), identity);
        Ok(identity)
    }

    fn recall(&self, what: &str) -> io::Result<Option<String>> {
        Ok(self.state().kept.get(what).cloned())
    }

    fn remember(&self, what: &str, text: &str) -> io::Result<()> {
        self.state().kept.insert(what.to_owned(), text.to_owned());
        Ok(())
    }
}
