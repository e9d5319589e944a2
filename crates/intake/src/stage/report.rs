//! What a file yields, and how each table was understood.

use super::Completed;
use super::draft::At;
use airshelf_catalog::{Records, TableKind, Uuid};
use serde::Serialize;

/// A measured cell with what it was taken to mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conversion<'a> {
    /// The sheet's name; none in text files.
    pub sheet: Option<&'a str>,
    /// The file's own row.
    pub row: u32,
    /// The header as spelled.
    pub column: &'a str,
    /// The field's name.
    pub field: &'a str,
    /// The cell as written.
    pub raw: &'a str,
    /// The value in `si_unit`.
    pub si: f64,
    /// The SI unit's symbol.
    pub si_unit: &'static str,
}

/// Hears of measured cells.
pub type Convert<'a> = dyn FnMut(Conversion<'_>) + Send + 'a;

/// How many rows of data were met, and what became of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct RowCounts {
    /// Rows of data, faulty and duplicate ones included.
    pub read: usize,
    /// Rows that became records.
    pub taken: usize,
    /// Rows that the shelf has already.
    pub already: usize,
    /// Rows set aside whole: entries of [`Records::quarantined`] without a column.
    pub quarantined: usize,
    /// Cells set aside of rows that were taken without them: entries with a column.
    pub cells: usize,
}

/// A column as it was understood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ColumnReport {
    /// Column, from 0.
    pub column: usize,
    /// The header as spelled.
    pub header: String,
    /// The field's name; none where the column was left out.
    pub field: Option<String>,
    /// The unit's symbol.
    pub unit: Option<String>,
    /// From 0 (a guess) to 1 (the field's own name).
    pub confidence: f64,
}

/// A table as it was understood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TableReport {
    /// The sheet's name; none in text files.
    pub sheet: Option<String>,
    /// What it holds.
    pub kind: TableKind,
    /// The layout in words.
    pub layout: String,
    /// The file's own row of the header.
    pub header_row: u32,
    /// The file's own row of the first row of data.
    pub first_row: u32,
    /// The file's own row of the last row of data.
    pub last_row: u32,
    /// How many rows of data it has.
    pub rows: usize,
    /// `.` or `,` where the table decides it.
    pub decimal: Option<char>,
    /// Its columns.
    pub columns: Vec<ColumnReport>,
    /// What stands above it and holds for its rows.
    pub page: Vec<PageEntry>,
}

/// A value that stands above a table, in the form that [`SheetTable::page`] keeps as JSON.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PageEntry {
    /// The field's name.
    pub field: String,
    /// The file's own row.
    pub row: Option<u32>,
    /// The text as written.
    pub raw: String,
    /// A name, a date in ISO 8601, a term.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// The value in SI.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub si: Option<f64>,
    /// The SI unit's symbol.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub si_unit: Option<&'static str>,
    /// True where the unit is only the usual one.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub assumed: bool,
}

/// What a file yields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Staged {
    /// New records, with the file, its tables, raw rows, further places and what was set aside.
    pub records: Records,
    /// Fields of records that the shelf has, or an earlier file of the same import, with blanks there; see [`complete`].
    pub completed: Vec<Completed>,
    /// The tables found.
    pub tables: Vec<TableReport>,
    /// Rows of data.
    pub rows: RowCounts,
    /// Rows, cells of a grid or lines of a list that hold a run, faulty and duplicate ones included.
    pub runs: usize,
    /// Rows of tables of parts.
    pub parts: usize,
    /// Headers below which no row of data stands: sheet and the file's own row.
    pub rowless: Vec<(Option<String>, u32)>,
    /// Dates whose day and month could be exchanged.
    pub(super) ambiguous: Vec<(Uuid, u32, String)>,
}

impl Staged {
    pub(crate) fn ambiguous(&mut self, at: At, raw: &str) {
        self.ambiguous.push((at.table, at.row, raw.to_owned()));
    }
}
