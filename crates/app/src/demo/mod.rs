//! The demo shelf: "Quarry Loop Shed", a dirt-track half-ton with a 250 in³ six and a two-barrel.
//!
//! [`shelf`] makes it from a seed alone: people, parts, eight evenings at a 300 CFM bench, guesses, a season of service,
//! decisions, and an old notebook full of faults. Readings come from a physical model ([`bench`], [`shed`]) and are
//! written down as a person would; [`Truth`] keeps what the model knows and the readings only show.
//!
//! Architecture invariant: no clock, no file and no chance but the seed's.

mod bench;
mod beside;
mod chance;
mod evenings;
mod notebook;
mod shed;
mod shelf;
mod truth;
mod written;

#[cfg(test)]
mod tests;

pub use notebook::{OldRecord, Planted};
pub use truth::{TrueEvening, TrueFlow, Truth};

use airshelf_catalog::Records;
use chance::Chance;

/// The demo's name.
pub const NAME: &str = "Quarry Loop Shed";
/// The seed of the demo that users see.
pub const SEED: u64 = 250;

/// A shelf to look around in, the truth behind it, and old records to import.
#[derive(Clone, Debug)]
pub struct Demo {
    /// The shelf's rows, with identifiers that depend on the seed's readings only.
    pub records: Records,
    /// What is true of it.
    pub truth: Truth,
    /// Files of the old notebook, in the order to import them.
    pub old_records: Vec<OldRecord>,
}

/// Makes the demo; the same seed makes the same demo everywhere.
///
/// ```
/// use airshelf_app::demo::{SEED, shelf};
/// let demo = shelf(SEED);
/// assert_eq!(demo.records, shelf(SEED).records);
/// assert_eq!(demo.records.sessions.len(), 8);
/// ```
pub fn shelf(seed: u64) -> Demo {
    let shed = shed::Shed::new();
    let mut records = shelf::stock();
    let evenings = evenings::hold(&mut records, &shed, &mut Chance::apart(seed, 1));
    let main = records
        .sessions
        .iter()
        .find(|s| s.name.as_deref() == Some(evenings::MAIN))
        .map(|s| s.id)
        .expect("the main evening is one of the plans");
    beside::guess(&mut records, &shed, main, &mut Chance::apart(seed, 2));
    beside::serve(&mut records);
    beside::decide(&mut records);
    Demo {
        records,
        truth: truth::tell(&shed, evenings, main),
        old_records: notebook::kept(&shed, &mut Chance::apart(seed, 3)),
    }
}
