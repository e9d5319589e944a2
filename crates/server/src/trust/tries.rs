//! How many codes may be tried in a while, whoever tries them: a bucket that fills again slowly.

use std::sync::{Mutex, PoisonError};

/// How many tries may come at once.
const AT_ONCE: u64 = 20;
/// How long one more takes.
const ONE_MORE_MS: u64 = 3_000;

/// The bucket: when the last try was taken, and how much is left, in milliseconds' worth.
#[derive(Debug)]
pub(crate) struct Tries {
    left: Mutex<(u64, u64)>,
}

impl Default for Tries {
    fn default() -> Self {
        Tries { left: Mutex::new((0, AT_ONCE * ONE_MORE_MS)) }
    }
}

impl Tries {
    /// Takes one try, if there is one.
    pub(crate) fn take(&self, now_ms: u64) -> bool {
        let mut held = self.left.lock().unwrap_or_else(PoisonError::into_inner);
        let (at, left) = *held;
        let left = left.saturating_add(now_ms.saturating_sub(at)).min(AT_ONCE * ONE_MORE_MS);
        let taken = left.checked_sub(ONE_MORE_MS);
        *held = (now_ms, taken.unwrap_or(left));
        taken.is_some()
    }
}
