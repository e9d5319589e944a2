//! Sheets of every kind become records: the samples, sheets of other shops, mappings, and the way back.

#![allow(clippy::unwrap_used)]

#[path = "stage/again.rs"]
mod again;
#[path = "stage/elsewhere.rs"]
mod elsewhere;
#[path = "stage/evidence.rs"]
mod evidence;
#[path = "stage/export.rs"]
mod export;
#[path = "stage/habits.rs"]
mod habits;
#[path = "stage/headers.rs"]
mod headers;
#[path = "stage/keys.rs"]
mod keys;
#[path = "stage/layouts.rs"]
mod layouts;
#[path = "stage/maps.rs"]
mod maps;
#[path = "stage/pieces.rs"]
mod pieces;
#[path = "stage/rows.rs"]
mod rows;
#[path = "stage/samples.rs"]
mod samples;
#[path = "stage/shops.rs"]
mod shops;
#[path = "stage/statements.rs"]
mod statements;
#[path = "stage/trades.rs"]
mod trades;
#[path = "stage/units.rs"]
mod units;

use airshelf_catalog::{Records, Run};
use airshelf_intake::map::Mapping;
use airshelf_intake::reader::{Limits, read};
use airshelf_intake::stage::{Known, Staged, TableReport, stage};

/// A measured cell: row, column, field, SI value.
type Cell = (u32, String, String, f64);

fn staged_with(name: &str, bytes: &[u8], known: &Known, mapping: Option<&Mapping>) -> (Staged, Vec<Cell>) {
    let book = read(name, bytes, &Limits::default()).unwrap();
    let mut cells = Vec::new();
    let staged = stage(name, &book, known, mapping, &mut |c| {
        cells.push((c.row, c.column.to_owned(), c.field.to_owned(), c.si));
    });
    (staged, cells)
}

fn staged(text: &str) -> (Staged, Vec<Cell>) {
    staged_with("sheet.csv", text.as_bytes(), &Known::default(), None)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * b.abs()
}

#[track_caller]
fn has(cells: &[Cell], row: u32, column: &str, si: f64) {
    let found: Vec<&Cell> = cells.iter().filter(|c| c.0 == row && c.1 == column).collect();
    assert!(found.iter().any(|c| near(c.3, si)), "row {row}, {column}: {found:?} instead of {si}");
}

fn fields(table: &TableReport) -> Vec<&str> {
    table.columns.iter().map(|c| c.field.as_deref().unwrap_or("-")).collect()
}

fn page_si(table: &TableReport, field: &str) -> Option<f64> {
    table.page.iter().find(|p| p.field == field)?.si
}

fn run_at(records: &Records, row: i64) -> &Run {
    records.runs.iter().find(|r| r.row == Some(row)).unwrap()
}
