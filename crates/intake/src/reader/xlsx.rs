//! Office Open XML workbooks, cell by cell: a sheet with one cell in the far
//! corner costs one cell, not the rectangle up to it.

use std::io::Cursor;

use calamine::{DataRef, Reader, SheetType, SheetVisible, Xlsx, XlsxError};

use super::archive::{self, Archive};
use super::budget::Budget;
use super::row::Held;
use super::{CellKind, Limits, Merged, ReadFault, Row, Sheet, civil, parts};

/// Reads every worksheet; charts and macro sheets are left out.
pub(super) fn sheets(
    name: &str,
    bytes: &[u8],
    members: &mut Archive<'_>,
    limits: &Limits,
) -> Result<Vec<Sheet>, ReadFault> {
    let merges = parts::check(name, members, limits)?;
    let mut book = Xlsx::new(Cursor::new(bytes)).map_err(|error| fault(name, "the workbook", error))?;
    let from_1904 = book.has_1904_epoch();
    let mut budget = Budget::new(name, limits);
    let mut sheets = Vec::new();
    for listed in book.sheets_metadata().to_vec() {
        if listed.typ != SheetType::WorkSheet {
            continue;
        }
        let place = format!("sheet {:?}", listed.name);
        let rows = match rows(name, &mut book, &listed.name, from_1904, &mut budget)? {
            Some(rows) => rows,
            None => continue,
        };
        let merged = if merges {
            book.merge_cells_by_sheet_name(&listed.name).map_err(|error| fault(name, &place, error))?
        } else {
            Vec::new()
        };
        sheets.push(Sheet {
            hidden: listed.visible != SheetVisible::Visible,
            name: Some(listed.name),
            rows,
            merged: merged
                .iter()
                .map(|block| Merged {
                    first_row: block.start.0.saturating_add(1),
                    last_row: block.end.0.saturating_add(1),
                    first_column: block.start.1,
                    last_column: block.end.1,
                })
                .collect(),
        });
    }
    Ok(sheets)
}

/// Reads the cells of one sheet; `None` where it is no worksheet after all.
fn rows(
    name: &str,
    book: &mut Xlsx<Cursor<&[u8]>>,
    sheet: &str,
    from_1904: bool,
    budget: &mut Budget<'_>,
) -> Result<Option<Vec<Row>>, ReadFault> {
    let mut last = 0;
    let place = |row: u32| match row {
        0 => format!("sheet {sheet:?}"),
        row => format!("sheet {sheet:?}, row {row} or the next"),
    };
    let mut reader = match book.worksheet_cells_reader(sheet) {
        Ok(reader) => reader,
        Err(XlsxError::NotAWorksheet(_)) => return Ok(None),
        Err(error) => return Err(fault(name, &place(0), error)),
    };
    let percent: Vec<bool> = reader
        .styles()
        .iter()
        .map(|style| {
            let format = style.number_format.as_ref();
            format.is_some_and(|format| format.format_code.contains('%'))
        })
        .collect();
    let mut rows: Vec<(u32, Vec<Held>)> = Vec::new();
    let mut blank = false;
    loop {
        let next = reader.next_cell_with_style_id().map_err(|error| fault(name, &place(last), error))?;
        let Some((cell, style)) = next else { break };
        let (row, column) = cell.get_position();
        let number = row.saturating_add(1);
        last = number;
        let in_percent = percent.get(style) == Some(&true);
        let Some((raw, kind)) = shown(cell.get_value(), in_percent, from_1904) else {
            blank = true;
            continue;
        };
        budget.take(sheet, number, column, 1, raw.len())?;
        let held = Held { column, raw: raw.into_boxed_str(), kind };
        match rows.last_mut() {
            Some((at, cells)) if *at == number => cells.push(held),
            _ => rows.push((number, vec![held])),
        }
    }
    drop(reader);
    if blank {
        formulas(name, book, sheet, &mut rows, budget)?;
    }
    // Some writers store rows out of order, or one row in pieces.
    if !rows.is_sorted_by(|a, b| a.0 < b.0) {
        rows.sort_by_key(|(number, _)| *number);
        rows.dedup_by(|later, first| {
            let same = later.0 == first.0;
            if same {
                first.1.append(&mut later.1);
            }
            same
        });
    }
    let rows = rows.into_iter();
    Ok(Some(rows.map(|(number, cells)| Row::cells_of(number, cells)).collect()))
}

/// Puts in the formulas that were stored without their result: what they come to is not known, but not nothing.
fn formulas(
    name: &str,
    book: &mut Xlsx<Cursor<&[u8]>>,
    sheet: &str,
    rows: &mut Vec<(u32, Vec<Held>)>,
    budget: &mut Budget<'_>,
) -> Result<(), ReadFault> {
    let failed = |error| fault(name, &format!("sheet {sheet:?}, its formulas"), error);
    let mut found: Vec<(u32, Held)> = Vec::new();
    let mut reader = book.worksheet_cells_reader(sheet).map_err(failed)?;
    while let Some(cell) = reader.next_formula().map_err(failed)? {
        let (row, column) = cell.get_position();
        let number = row.saturating_add(1);
        let has = |cells: &[Held]| cells.iter().any(|held| held.column == column);
        let held = match rows.binary_search_by_key(&number, |r| r.0) {
            Ok(at) => has(&rows[at].1),
            Err(_) => rows.iter().any(|r| r.0 == number && has(&r.1)),
        };
        if cell.get_value().is_empty() || held {
            continue;
        }
        let raw = format!("={}", cell.get_value());
        budget.take(sheet, number, column, 1, raw.len())?;
        found.push((number, Held { column, raw: raw.into_boxed_str(), kind: CellKind::Error }));
    }
    for (number, held) in found {
        match rows.iter_mut().find(|r| r.0 == number) {
            Some((_, cells)) => {
                let at = cells.partition_point(|c| c.column < held.column);
                cells.insert(at, held);
            }
            None => rows.push((number, vec![held])),
        }
    }
    Ok(())
}

/// A cell's text and kind; `None` for a cell with a format but no content.
fn shown(value: &DataRef<'_>, in_percent: bool, from_1904: bool) -> Option<(String, CellKind)> {
    let text = |text: &str| (!text.is_empty()).then(|| (text.to_owned(), CellKind::Text));
    match value {
        DataRef::Empty => None,
        DataRef::String(written) => text(written),
        DataRef::SharedString(written) => text(written),
        DataRef::Float(value) if in_percent => Some((civil::percent(*value), CellKind::Number(*value))),
        DataRef::Float(value) => Some((civil::number(*value), CellKind::Number(*value))),
        DataRef::Int(value) => Some((value.to_string(), CellKind::Number(*value as f64))),
        DataRef::Bool(value) => {
            let shown = if *value { "TRUE" } else { "FALSE" };
            Some((shown.into(), CellKind::Bool(*value)))
        }
        DataRef::DateTime(date) => Some(civil::serial(date.as_f64(), date.is_duration(), from_1904)),
        DataRef::DateTimeIso(written) => Some(civil::iso(written)),
        DataRef::DurationIso(written) => {
            let shown = civil::iso_duration(written);
            Some((shown.unwrap_or_else(|| written.clone()), CellKind::Text))
        }
        DataRef::Error(error) => Some((error.to_string(), CellKind::Error)),
    }
}

fn fault(name: &str, place: &str, error: XlsxError) -> ReadFault {
    match error {
        XlsxError::Password => ReadFault::Encrypted { file: name.into() },
        error => archive::corrupt(name, place, error),
    }
}
