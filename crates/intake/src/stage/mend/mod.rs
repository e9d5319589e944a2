//! A row that could not be taken, taken again with what a person says stands in its cells.
//!
//! The file is staged twice from its own bytes, as it stands and with the row corrected, so that tables and identifiers
//! come out as they did when it was imported. What differs between the two is what the correction made of the row: new
//! records where it had none, fields where it was taken without a cell. Whatever else a person did to it since stays.

mod needed;
mod taken;

#[cfg(test)]
mod tests;

use super::{Completed, Known, Staged, stage};
use crate::map::Mapping;
use crate::reader::Workbook;
use airshelf_catalog::{EntityKind, Quarantined, Reading, Records, Uuid};
use serde::{Deserialize, Serialize};
use std::collections::HashSet;
use taken::Taken;

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CellText {
    /// The column, from 0.
    pub column: usize,
    /// Its text; an empty one blanks the cell.
    pub text: String,
}

/// A row with its corrected cells.
#[derive(Clone, Copy, Debug)]
pub struct Correction<'a> {
    /// The file's name.
    pub file_name: &'a str,
    /// The file.
    pub workbook: &'a Workbook,
    /// What was said of its columns when it was imported.
    pub mapping: Option<&'a Mapping>,
    /// The row or the cell that could not be taken.
    pub entry: &'a Quarantined,
    /// Cells that were corrected before.
    pub before: &'a [CellText],
    /// Cells that are corrected now.
    pub cells: &'a [CellText],
}

/// What a correction makes of a row.
#[derive(Clone, Debug, Default)]
pub struct Mended {
    /// New rows, with what they need that the shelf does not have, and cells that still stand aside.
    pub records: Records,
    /// Fields of rows that the shelf has.
    pub completed: Vec<Completed>,
    /// Readings of the shelf to be struck out, each with the one that takes its place.
    pub replaced: Vec<(Uuid, Reading)>,
    /// What was made of the row.
    pub record: Option<(EntityKind, Uuid)>,
    /// What stood aside of the row and does so no longer.
    pub settled: Vec<Uuid>,
}

/// Why a correction cannot be taken. Trying again with the same texts does not help.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotMended {
    /// The row or the cell still cannot be read.
    #[error("it still cannot be taken: {0}")]
    Aside(String),
    /// There is nothing in it.
    #[error("with these cells the row holds nothing that could be kept")]
    Nothing,
    /// Other rows would change.
    #[error("with these cells other rows of the sheet would be read otherwise")]
    Others,
    /// The file has no such table or row.
    #[error("the row is not found in the file as it was imported")]
    NoRow,
    /// The reading that it belongs to is no longer used.
    #[error("the reading of this row was struck out, so there is nothing to put right")]
    Struck,
}

/// Takes a row again; `shelf` is all that the shelf holds.
///
/// # Errors
/// [`NotMended`] with the reason; nothing is to be kept then.
pub fn mend(shelf: &Records, correction: &Correction<'_>) -> Result<Mended, NotMended> {
    let entry = correction.entry;
    let (Some(table), Some(row)) = (entry.table, entry.row) else { return Err(NotMended::NoRow) };
    let known = without_file(shelf, table, correction.workbook);
    let read = |cells: &[&[CellText]]| -> Result<Staged, NotMended> {
        let book = laid_over(shelf, correction.workbook, table, row, cells)?;
        Ok(stage(correction.file_name, &book, &known, correction.mapping, &mut |_| {}))
    };
    let before = read(&[correction.before])?;
    let after = read(&[correction.before, correction.cells])?;
    if !after.records.sheet_tables.iter().any(|t| t.id == table) {
        return Err(NotMended::NoRow);
    }
    let aside: Vec<&Quarantined> =
        after.records.quarantined.iter().filter(|q| (q.table, q.row) == (entry.table, entry.row)).collect();
    if let Some(still) = aside.iter().find(|q| q.column.is_none() || q.column == entry.column) {
        return Err(NotMended::Aside(still.reason.clone().unwrap_or_default()));
    }
    if !taken::same_beside(&before.records, &after.records, (table, row)) {
        return Err(NotMended::Others);
    }
    let mut mended = Taken { shelf, before: &before, after: &after, table, row }.mended()?;
    for still in &aside {
        let known = |list: &[Quarantined]| list.iter().any(|held| held.id == still.id);
        if !known(&shelf.quarantined) && !known(&before.records.quarantined) {
            mended.records.quarantined.push((*still).clone());
        }
    }
    let of_row = |q: &&Quarantined| (q.table, q.row) == (entry.table, entry.row);
    mended.settled = shelf
        .quarantined
        .iter()
        .filter(of_row)
        .filter(|q| aside.iter().all(|still| still.column != q.column))
        .map(|q| q.id)
        .collect();
    Ok(mended)
}

/// What the shelf knows without what this file brought, so that its rows come out whole.
fn without_file(shelf: &Records, table: Uuid, workbook: &Workbook) -> Known {
    let file = shelf.sheet_tables.iter().find(|t| t.id == table).and_then(|t| t.file);
    let tables: HashSet<Uuid> =
        shelf.sheet_tables.iter().filter(|t| file.is_some() && t.file == file).map(|t| t.id).collect();
    let own = |of: Option<Uuid>| of.is_some_and(|of| tables.contains(&of));
    let runs = shelf.runs.iter().filter(|r| own(r.table)).map(|r| r.id);
    let guesses = shelf.predictions.iter().filter(|r| own(r.table)).map(|r| r.id);
    let ratings = shelf.ratings.iter().filter(|r| own(r.table)).map(|r| r.id);
    let mut known = Known::of(shelf);
    known.forget(&workbook.sha256, runs.chain(guesses).chain(ratings));
    known
}

/// The file with corrected cells in one row.
fn laid_over(
    shelf: &Records,
    workbook: &Workbook,
    table: Uuid,
    row: i64,
    cells: &[&[CellText]],
) -> Result<Workbook, NotMended> {
    let name = shelf.sheet_tables.iter().find(|t| t.id == table).map(|t| &t.sheet);
    let mut book = workbook.clone();
    let sheet = book.sheets.iter_mut().find(|sheet| Some(&sheet.name) == name).ok_or(NotMended::NoRow)?;
    let held = sheet.rows.iter_mut().find(|held| i64::from(held.number()) == row).ok_or(NotMended::NoRow)?;
    let texts: Vec<(usize, &str)> =
        cells.iter().copied().flatten().map(|cell| (cell.column, cell.text.trim())).collect();
    if !texts.is_empty() {
        *held = held.corrected(texts);
    }
    Ok(book)
}
