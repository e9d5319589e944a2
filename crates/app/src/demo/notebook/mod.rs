//! The old notebook: sheets as a person would have kept them over a first season, with faults of the audit's kinds.
//!
//! Every number comes off the same bench as the good evenings; then single cells are spoiled, and each is put down with
//! the row it stands in and the rule that should find it.

mod autumn;
mod box_two;
mod lids;
mod log;
mod metric;
mod pad;
mod page;

use super::chance::Chance;
use super::shed::Shed;

/// A file of the old notebook.
#[derive(Clone, Debug, PartialEq)]
pub struct OldRecord {
    /// Its name.
    pub file_name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// What is wrong in it on purpose.
    pub planted: Vec<Planted>,
}

/// A fault put there on purpose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planted {
    /// The file's own row, counted from 1 with headers, comments and blank lines.
    pub sheet_row: i64,
    /// Further rows on which naming it counts as well.
    pub also_rows: Vec<i64>,
    /// Code of the rule that should find it.
    pub rule: &'static str,
}

/// The whole notebook.
pub fn kept(shed: &Shed, chance: &mut Chance) -> Vec<OldRecord> {
    vec![
        box_two::sheet(),
        autumn::sheet(shed, chance),
        log::sheet(shed, chance),
        page::sheet(shed, chance),
        metric::sheet(shed, chance),
        lids::sheet(shed),
    ]
}
