//! A file before anything is kept of it: its tables, its columns as they were understood, its rows beside their reading.

use super::faults::{FaultRow, place};
use super::said::{FieldsOffered, TableSaid, mappings, of_column, offered};
use crate::audited::FaultReport;
use crate::code::{Code, Fault};
use crate::import::{FileIn, FileReport, ImportAsked, QuarantineReport, file_name};
use crate::request::Amount;
use crate::shelf::Shelf;
use airshelf_catalog::{Records, TableKind};
use airshelf_intake::map::Mapping;
use airshelf_intake::reader::{Limits, Row, Sheet, Workbook, column_name, read};
use airshelf_intake::stage::{Known, TableReport, stage};
use airshelf_units::{Digits, System, Unit};
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use ts_rs::TS;

/// Rows of a table that are shown at once.
const FIRST_ROWS: usize = 40;

/// What an import of files would do.
#[derive(Clone, Debug, Serialize, TS)]
pub struct DryRun {
    /// One for each file.
    pub files: Vec<SheetRead>,
    /// How many rows would be taken in all.
    pub taken: usize,
    /// All of it in a sentence.
    pub said: String,
    /// What the columns of its kinds of tables can be said to hold.
    pub offered: Vec<FieldsOffered>,
}

/// One file as it was read.
#[derive(Clone, Debug, Serialize, TS)]
pub struct SheetRead {
    /// Its name.
    pub name: String,
    /// Why it could not be read.
    pub error: Option<Fault>,
    /// What would become of its rows, in words.
    pub said: Vec<String>,
    /// How many rows would be taken.
    pub taken: usize,
    /// Its tables.
    pub tables: Vec<TableShown>,
    /// Its first rows as they stand, where no table was found, for a person to say which one is the header.
    pub heads: Vec<HeadShown>,
    /// What is wrong with it.
    pub faults: Vec<FaultRow>,
    /// What could not be taken.
    pub aside: Vec<String>,
}

/// A row that may be a header.
#[derive(Clone, Debug, Serialize, TS)]
pub struct HeadShown {
    /// The sheet; none in text files.
    pub sheet: Option<String>,
    /// The file's own row.
    pub row: u32,
    /// Its cells.
    pub text: String,
}

/// A table of a file.
#[derive(Clone, Debug, Serialize, TS)]
pub struct TableShown {
    /// The sheet; none in text files.
    pub sheet: Option<String>,
    /// What it holds and where it stands.
    pub title: String,
    /// How it lies there.
    pub layout: String,
    /// The kind of table.
    pub kind: String,
    /// The file's own row of its header.
    pub header_row: u32,
    /// Rows that may be its header instead.
    pub heads: Vec<HeadShown>,
    /// Whether its columns can be said to hold something else; those of a grid are what the grid is.
    pub can_say: bool,
    /// What stands above it and holds for its rows.
    pub page: Vec<PageLine>,
    /// Its columns.
    pub columns: Vec<ColumnShown>,
    /// How many rows of data it has.
    pub rows_in_all: usize,
    /// The first of them.
    pub rows: Vec<RowShown>,
}

/// A line above a table.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PageLine {
    /// What it was taken to be.
    pub field: String,
    /// What stands there.
    pub raw: String,
    /// How it was read; none where it reads as it stands.
    pub read: Option<Amount>,
    /// True where the unit is only the usual one.
    pub assumed: bool,
}

/// A column as it was understood.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ColumnShown {
    /// Its letters, as spreadsheets count.
    pub letters: String,
    /// Its place, from 0.
    pub column: usize,
    /// The header as spelled.
    pub header: String,
    /// What it was taken to be; none where it was left out.
    pub field: Option<String>,
    /// The field's name.
    pub name: Option<String>,
    /// The unit.
    pub unit: Option<String>,
    /// How sure that is, in words.
    pub sure: &'static str,
    /// The same from 0 to 100 %.
    pub confidence: Amount,
}

/// Rows of a table.
#[derive(Clone, Debug, Serialize, TS)]
pub struct SheetRows {
    /// Which rows.
    pub rows: Vec<RowShown>,
    /// How many the table has.
    pub total: usize,
}

/// A row of a file beside its reading.
#[derive(Clone, Debug, Serialize, TS)]
pub struct RowShown {
    /// The file's own row.
    pub row: u32,
    /// Its cells, by the table's columns.
    pub cells: Vec<CellShown>,
    /// Which of the file's faults stand on it, from 0.
    pub faults: Vec<usize>,
    /// Why it could not be taken.
    pub aside: Option<String>,
}

/// A cell.
#[derive(Clone, Debug, Serialize, TS)]
pub struct CellShown {
    /// What stands there.
    pub raw: String,
    /// How it was read, where it was measured.
    pub read: Option<Amount>,
    /// Whether a fault names it.
    pub faulty: bool,
}

pub(super) fn dry_run(
    shelf: &mut Shelf,
    files: Vec<FileIn>,
    tables: &[TableSaid],
    progress: crate::Progress<'_>,
) -> Result<DryRun, Fault> {
    let system = shelf.system();
    let asked = ImportAsked { write: false, mapping: None, conversions: false, system };
    let mappings = mappings(tables, files.len());
    let report = shelf.import_said(files.clone(), &asked, &mappings, progress)?;
    let mut kinds: Vec<TableKind> = report.files.iter().flat_map(|f| &f.tables).map(|t| t.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let total = files.len() as u64;
    let mut read = Vec::new();
    for (at, (file, report)) in files.iter().zip(report.files).enumerate() {
        if !progress("showing", at as u64, total) {
            return Err(Fault::new(Code::Stopped, "stopped; nothing was kept"));
        }
        let said = Said { file: at, tables, mapping: mappings.get(at).and_then(Option::as_ref) };
        read.push(shown(file, report, system, said));
    }
    let taken = read.iter().map(|file| file.taken).sum();
    let failed = read.iter().filter(|file| file.error.is_some()).count();
    let mut said = match taken {
        0 => "Nothing new would be kept.".to_owned(),
        1 => "1 row would be kept.".to_owned(),
        n => format!("{n} rows would be kept."),
    };
    said += match failed {
        0 => "",
        1 => " One file could not be read.",
        _ => " Some files could not be read.",
    };
    Ok(DryRun { files: read, taken, said, offered: kinds.into_iter().map(offered).collect() })
}

/// What was said of one file.
#[derive(Clone, Copy)]
struct Said<'a> {
    file: usize,
    tables: &'a [TableSaid],
    mapping: Option<&'a Mapping>,
}

/// Rows that may be headers, of a file in which no table was found.
const HEADS: usize = 15;

fn shown(file: &FileIn, report: FileReport, system: System, told: Said) -> SheetRead {
    let faults: Vec<FaultRow> = report.faults.iter().map(FaultRow::not_kept).collect();
    let aside = report.quarantined.iter().map(aside_words).collect();
    let said = counts(&report);
    let (mut tables, mut rows) = (Vec::new(), Vec::new());
    if let Ok(workbook) = read(file_name(&file.path), &file.bytes, &Limits::default()) {
        let (faults, aside) = (&report.faults[..], &report.quarantined[..]);
        let page = Page { file, workbook: &workbook, system, faults, aside, said: told };
        tables.extend(report.tables.iter().map(|table| page.table(table)));
        if tables.is_empty() {
            rows = workbook.sheets.iter().flat_map(|sheet| heads(sheet, u32::MAX)).take(HEADS).collect();
        }
    }
    SheetRead {
        name: file_name(&file.path).to_owned(),
        error: report.error.map(without_flags),
        said,
        taken: report.rows.taken,
        tables,
        heads: rows,
        faults,
        aside,
    }
}

/// Rows of one table, read again from the file.
pub(super) fn rows(
    shelf: &mut Shelf,
    file: &FileIn,
    tables: &[TableSaid],
    table: usize,
    (from, count): (usize, usize),
) -> Result<SheetRows, Fault> {
    let system = shelf.system();
    let asked = ImportAsked { write: false, mapping: None, conversions: false, system };
    let at = tables.first().map_or(0, |said| said.file);
    let mapping = mappings(tables, at + 1).pop().flatten();
    let said = Said { file: at, tables, mapping: mapping.as_ref() };
    let report =
        shelf.import_said(vec![file.clone()], &asked, std::slice::from_ref(&mapping), &mut |_, _, _| true)?;
    let report = report.files.into_iter().next().ok_or_else(|| Fault::new(Code::NotFound, "no file"))?;
    if let Some(error) = report.error {
        return Err(error);
    }
    let name = file_name(&file.path);
    let workbook = read(name, &file.bytes, &Limits::default())
        .map_err(|fault| Fault::new(Code::UnreadableFile, fault.to_string()))?;
    let table = report
        .tables
        .get(table)
        .ok_or_else(|| Fault::new(Code::NotFound, format!("{name} has no such table")))?;
    let (faults, aside) = (&report.faults[..], &report.quarantined[..]);
    let page = Page { file, workbook: &workbook, system, faults, aside, said };
    Ok(SheetRows { rows: page.rows(table, from, count), total: table.rows })
}

/// A refusal of a file in the words of a screen, which has no flags to set.
fn without_flags(fault: Fault) -> Fault {
    match fault.hint.as_deref() {
        Some(hint) if hint.contains("--") => Fault {
            hint: Some(
                "Say which of its rows is the header, or give its data one such as date, flow, lid.".into(),
            ),
            ..fault
        },
        _ => fault,
    }
}

/// What became of a file's rows.
fn counts(report: &FileReport) -> Vec<String> {
    let rows = &report.rows;
    let some = |n: usize, one: &str, more: &str| match n {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {more}")),
    };
    [
        some(rows.read, "row of data", "rows of data"),
        some(rows.taken, "row is new", "rows are new"),
        some(rows.already, "row is on the shelf already", "rows are on the shelf already"),
        some(rows.quarantined, "row cannot be taken", "rows cannot be taken"),
        some(rows.cells, "cell is set aside", "cells are set aside"),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn aside_words(row: &QuarantineReport) -> String {
    let at = place(None, row.sheet.as_deref(), row.row, row.column.as_deref());
    let raw = row.raw.as_deref().map_or(String::new(), |raw| format!(" `{raw}`"));
    format!("{at}:{raw} {}", row.reason.as_deref().unwrap_or_default()).trim().to_owned()
}

/// A file with what was found in it.
struct Page<'a> {
    file: &'a FileIn,
    workbook: &'a Workbook,
    system: System,
    faults: &'a [FaultReport],
    aside: &'a [QuarantineReport],
    said: Said<'a>,
}

/// Rows of a sheet that may be headers: those down to a row.
fn heads(sheet: &Sheet, last: u32) -> Vec<HeadShown> {
    let rows = sheet.rows.iter().filter(|row| row.number() <= last);
    let text = |row: &Row| {
        let cells = row.cells().map(|cell| cell.raw.trim()).filter(|text| !text.is_empty());
        cells.take(8).collect::<Vec<_>>().join(" · ")
    };
    rows.map(|row| HeadShown { sheet: sheet.name.clone(), row: row.number(), text: text(row) })
        .filter(|head| !head.text.is_empty())
        .collect()
}

impl Page<'_> {
    fn table(&self, table: &TableReport) -> TableShown {
        let kind = table.kind.name();
        let on = table.sheet.as_deref().map_or(String::new(), |sheet| format!("sheet {sheet}, "));
        TableShown {
            sheet: table.sheet.clone(),
            title: format!("{kind}: {on}rows {} to {}", table.first_row, table.last_row),
            layout: table.layout.clone(),
            kind: kind.to_owned(),
            header_row: table.header_row,
            heads: self.heads(table),
            can_say: table.kind != TableKind::Matrix,
            page: table
                .page
                .iter()
                .map(|entry| PageLine {
                    field: entry.field.replace('_', " "),
                    raw: entry.raw.clone(),
                    read: entry
                        .si
                        .zip(entry.si_unit)
                        .and_then(|(si, unit)| amount(si, unit, self.system))
                        .or_else(|| {
                            let text = entry.value.clone().filter(|value| *value != entry.raw)?;
                            Some(Amount { si: 0.0, text, other: None })
                        }),
                    assumed: entry.assumed,
                })
                .collect(),
            columns: table
                .columns
                .iter()
                .map(|column| ColumnShown {
                    letters: letters(column.column),
                    column: column.column,
                    header: column.header.clone(),
                    field: column.field.as_ref().map(|field| field.replace('_', " ")),
                    name: column.field.clone(),
                    unit: column.unit.clone(),
                    sure: match (column.field.is_some(), column.confidence) {
                        _ if self.is_said(table, column.column) => "as you said",
                        (false, _) => "left out",
                        (true, c) if c >= 0.9 => "sure",
                        (true, c) if c >= 0.6 => "likely",
                        _ => "a guess",
                    },
                    confidence: Amount::percent(column.confidence, 0),
                })
                .collect(),
            rows_in_all: table.rows,
            rows: self.rows(table, 0, FIRST_ROWS),
        }
    }

    /// Rows around the header that could be it instead: some above it, and the first ones of data.
    fn heads(&self, table: &TableReport) -> Vec<HeadShown> {
        let Some(sheet) = self.workbook.sheets.iter().find(|sheet| sheet.name == table.sheet) else {
            return Vec::new();
        };
        let mut rows = heads(sheet, table.header_row + 8);
        rows.drain(..rows.len().saturating_sub(HEADS));
        rows
    }

    /// Whether a person said what a column holds.
    fn is_said(&self, table: &TableReport, column: usize) -> bool {
        let Said { file, tables, .. } = self.said;
        of_column(tables, file, table.sheet.as_deref(), table.header_row, column)
    }

    fn rows(&self, table: &TableReport, from: usize, count: usize) -> Vec<RowShown> {
        let Some(sheet) = self.workbook.sheets.iter().find(|sheet| sheet.name == table.sheet) else {
            return Vec::new();
        };
        let of_table = |number: u32| (table.first_row..=table.last_row).contains(&number);
        let shown: Vec<_> =
            sheet.rows.iter().filter(|row| of_table(row.number())).skip(from).take(count).collect();
        let wanted: HashSet<u32> = shown.iter().map(|row| row.number()).collect();
        let read = self.readings(table, &wanted);
        let here = |sheet: &Option<String>, row: Option<i64>, number: u32| {
            *sheet == table.sheet && row == Some(i64::from(number))
        };
        shown
            .into_iter()
            .map(|row| {
                let number = row.number();
                let faults: Vec<usize> = (0..self.faults.len())
                    .filter(|at| {
                        let fault = &self.faults[*at];
                        here(&fault.sheet, fault.row, number)
                            || (fault.sheet == table.sheet && fault.rows.contains(&i64::from(number)))
                    })
                    .collect();
                let blamed = |header: &str| {
                    faults.iter().any(|at| {
                        let fault = &self.faults[*at];
                        here(&fault.sheet, fault.row, number) && fault.column.as_deref() == Some(header)
                    })
                };
                let aside = self
                    .aside
                    .iter()
                    .find(|aside| here(&aside.sheet, aside.row, number))
                    .and_then(|aside| aside.reason.clone());
                RowShown {
                    row: number,
                    cells: table
                        .columns
                        .iter()
                        .map(|column| CellShown {
                            raw: row.text(column.column).to_owned(),
                            read: read.get(&(number, column.header.clone())).cloned(),
                            faulty: blamed(&column.header),
                        })
                        .collect(),
                    faults,
                    aside,
                }
            })
            .collect()
    }

    /// How the measured cells of some rows were read.
    fn readings(&self, table: &TableReport, wanted: &HashSet<u32>) -> HashMap<(u32, String), Amount> {
        let mut read = HashMap::new();
        let system = self.system;
        let known = Known::of(&Records::default());
        let _ = stage(file_name(&self.file.path), self.workbook, &known, self.said.mapping, &mut |cell| {
            if cell.sheet == table.sheet.as_deref()
                && wanted.contains(&cell.row)
                && let Some(amount) = amount(cell.si, cell.si_unit, system)
            {
                read.insert((cell.row, cell.column.to_owned()), amount);
            }
        });
        read
    }
}

fn letters(column: usize) -> String {
    column_name(u32::try_from(column).unwrap_or(u32::MAX))
}

fn amount(si: f64, si_unit: &str, system: System) -> Option<Amount> {
    let dimension = Unit::from_symbol(si_unit)?.dimension();
    Some(Amount::of(si, dimension, system, Digits::Significant(5)))
}
