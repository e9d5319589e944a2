//! The order of changes: a hybrid logical clock.
//!
//! A stamp is later than every stamp its writer had seen, and close to the wall clock where that is right
//! (S. Kulkarni et al., *Logical Physical Clocks*, 2014). It only orders; nothing is refused for its clock.

use uuid::Uuid;

/// When a transaction was written, in an order that every store agrees on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Stamp {
    /// Milliseconds since 1970 in the upper 48 bits, chance in the lower 16.
    pub hlc: u64,
    /// The device, which decides between equal clocks.
    pub device: Uuid,
}

/// The latest stamp seen.
///
/// ```
/// use airshelf_catalog::change::Clock;
/// let mut clock = Clock::default();
/// let first = clock.tick(1_000, 7);
/// assert!(clock.tick(990, 3) > first); // a wall clock that went back does not take the order with it
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Clock(pub u64);

impl Clock {
    /// Gives a stamp's clock later than any before, at `now_ms` milliseconds since 1970 if that is later still.
    ///
    /// A throw of the dice goes in, so that two copies of a device, which count on from one clock, do not come to the same.
    pub fn tick(&mut self, now_ms: u64, dice: u16) -> u64 {
        let dice = u64::from(dice);
        self.0 = (now_ms << 16 | dice).max(self.0.saturating_add(1 + dice));
        self.0
    }

    /// Takes note of a stamp from elsewhere.
    pub fn see(&mut self, hlc: u64) {
        self.0 = self.0.max(hlc);
    }
}

impl Stamp {
    /// The wall clock's share, in milliseconds since 1970.
    pub fn unix_ms(self) -> u64 {
        self.hlc >> 16
    }
}
