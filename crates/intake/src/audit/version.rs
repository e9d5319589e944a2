//! Runs that a later version of their file has otherwise: the later one counts.
//!
//! Two tables are versions of one where file name, sheet and header row are the same. In such a table a run goes by its
//! order number, without one by its place on the sheet.

use super::desk::run_place;
use super::fault::{Amount, Detail, Fault, Repair};
use super::rule::Rule;
use super::shelf::{IdMap, KeyMap, Row, Shelf};
use super::twice::Twice;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Number of an order or of a place on a sheet.
type Which = (Option<i64>, Option<i64>, Option<i64>);

/// Puts down a fault for every run that a later version of its file has otherwise.
pub(crate) fn corrected(shelf: &Shelf, twice: &mut Twice, faults: &mut Vec<Fault>) {
    let lines = lines(shelf);
    if lines.is_empty() {
        return;
    }
    let mut stands: IdMap<Vec<usize>> = HashMap::default();
    for also in &shelf.records.also_at {
        let table = also.table.and_then(|t| shelf.table_at.get(&t).copied());
        if let (Some(record), Some(table)) = (also.record, table) {
            stands.entry(record).or_default().push(table);
        }
    }
    for (e, evening) in shelf.evenings.iter().enumerate() {
        // Of each run: the latest version that has it.
        let mut runs: BTreeMap<(usize, Which), Vec<(usize, usize)>> = BTreeMap::new();
        for (r, row) in evening.rows.iter().enumerate() {
            let Some(&(line, _)) = lines.get(&row.table) else { continue };
            let places = stands.get(&row.run.id).map_or(&[][..], Vec::as_slice);
            let latest = std::iter::once(&row.table)
                .chain(places)
                .filter_map(|table| lines.get(table).filter(|at| at.0 == line))
                .map(|at| at.1)
                .max();
            runs.entry((line, which(row))).or_default().push((latest.unwrap_or_default(), r));
        }
        for same in runs.into_values() {
            let newest = same.iter().map(|one| one.0).max().unwrap_or_default();
            let of = |version: usize| same.iter().filter(move |one| one.0 == version).map(|one| one.1);
            let mut last = of(newest);
            // Of two runs with one number nobody can say which one was mended.
            let (Some(kept), None) = (last.next(), last.next()) else { continue };
            let older: BTreeSet<usize> = same.iter().map(|one| one.0).filter(|v| *v < newest).collect();
            for version in older {
                let mut there = of(version);
                let (Some(r), None) = (there.next(), there.next()) else { continue };
                let marked = twice.entry(e).or_default();
                if !marked.contains(&r) {
                    marked.push(r);
                    faults.push(fault(shelf, &evening.rows[r], &evening.rows[kept]));
                }
            }
        }
    }
}

/// Of each table that has other versions: the number of their line, and which version it is.
fn lines(shelf: &Shelf) -> KeyMap<usize, (usize, usize)> {
    let files: IdMap<(usize, Option<&str>)> = shelf
        .records
        .import_files
        .iter()
        .enumerate()
        .map(|(at, file)| (file.id, (at, file.imported.as_deref())))
        .collect();
    let mut alike = BTreeMap::<_, Vec<usize>>::new();
    for (at, table) in shelf.tables.iter().enumerate() {
        if let Some(file) = table.file {
            alike.entry((file, table.record.sheet.as_deref(), table.record.header_row)).or_default().push(at);
        }
    }
    let age = |table: &usize| {
        let (at, imported) = shelf.tables[*table].record.file.and_then(|f| files.get(&f).copied())?;
        // A file that is not kept yet comes last.
        let moment = imported.map(|at| chrono::DateTime::parse_from_rfc3339(at).ok());
        Some((moment.is_none(), moment.flatten(), at))
    };
    let file = |table: usize| shelf.tables[table].record.file;
    let mut lines = HashMap::default();
    for (line, mut tables) in alike.into_values().enumerate() {
        tables.sort_by_key(age);
        // Tables of one file that stand beside each other are one version.
        let versions = || tables.chunk_by(|a, b| file(*a) == file(*b)).enumerate();
        if versions().count() > 1 {
            lines
                .extend(versions().flat_map(|(version, own)| own.iter().map(move |t| (*t, (line, version)))));
        }
    }
    lines
}

fn which(row: &Row) -> Which {
    match row.run.order_number {
        Some(order) => (Some(order), None, None),
        None => (None, row.run.row, row.run.column),
    }
}

/// The older run's fault, told where the newer one stands.
fn fault(shelf: &Shelf, older: &Row, newer: &Row) -> Fault {
    let flow = |row: &Row| row.flow().and_then(|q| Some(Amount { si: q.si, unit: q.unit()? }));
    Fault {
        rule: Rule::DuplicateRow,
        severity: Rule::DuplicateRow.severity(),
        place: run_place(shelf, newer, "flow"),
        rows: Vec::new(),
        value: newer.flow().and_then(|q| q.raw()).map(str::to_owned),
        subject: older.run.id,
        covers: Vec::new(),
        detail: Detail::Corrected { row: older.run.row, earlier: flow(older), later: flow(newer) },
        repair: Some(Repair::Merge { with: newer.run.id }),
    }
}
