//! Rows that head a list, or several lists beside each other.

use super::Span;
use crate::map::columns::Assigned;
use crate::map::group::best_group;
use crate::map::{Group, Header};
use crate::reader::{CellKind, Row};
use crate::stage::legend::Legend;

/// How many cells have content, and how many of these begin like numbers; stops early once it is plainly data.
pub(super) fn texts_and_numbers(row: &Row) -> (usize, usize) {
    let (mut texts, mut numbers) = (0, 0);
    for cell in row.cells() {
        let raw = cell.raw.trim_start();
        let Some(first) = raw.bytes().next() else { continue };
        let signed = matches!(first, b'-' | b'+') && raw.as_bytes().get(1).is_some_and(u8::is_ascii_digit);
        if first.is_ascii_digit() || signed || matches!(cell.kind, CellKind::Number(_) | CellKind::Date(_)) {
            numbers += 1;
            if numbers > 3 && numbers > texts {
                break;
            }
        } else {
            texts += 1;
        }
    }
    (texts, numbers)
}

/// Columns looked at; no sheet of runs has so many that mean something.
pub(super) const MOST_COLUMNS: usize = 256;

pub(crate) fn headers_of(row: &Row) -> Vec<Header> {
    row.cells()
        .filter(|c| !c.raw.trim().is_empty())
        .take(MOST_COLUMNS)
        .map(|c| Header::of(c.column as usize, c.raw.trim()))
        .collect()
}

/// The table whose header a row is once its short words are spelled out by the key above it.
pub(super) fn spelled_headers(row: &Row, legend: &Legend) -> Vec<(Group, Vec<Assigned>, Span)> {
    if legend.is_empty() || texts_and_numbers(row).1 > 0 {
        return Vec::new();
    }
    let headers = headers_of(row);
    let spelled: Vec<Option<Header>> = headers.iter().map(|header| legend.header(header)).collect();
    if headers.len() < 4 || spelled.iter().flatten().count() * 2 < headers.len() {
        return Vec::new();
    }
    let spelled: Vec<Header> = spelled
        .into_iter()
        .zip(&headers)
        .map(|(own, header)| own.unwrap_or_else(|| header.clone()))
        .collect();
    let Some((group, mut columns, _)) = best_group(&spelled) else { return Vec::new() };
    for (column, header) in columns.iter_mut().zip(&headers) {
        column.header.text.clone_from(&header.text);
    }
    vec![(group, columns, Span::ALL)]
}

/// Rows below a header that tell whether a column without one is free.
const BELOW: usize = 12;

/// The tables whose header a row is: one, or several beside each other with a free column between.
pub(super) fn listed_headers(row: &Row, below: &[Row]) -> Vec<(Group, Vec<Assigned>, Span)> {
    let (texts, numbers) = texts_and_numbers(row);
    if texts < 2 || numbers * 5 > texts {
        return Vec::new();
    }
    let headers = headers_of(row);
    // A line of prose with a few commas is no header.
    let long = headers.iter().filter(|h| h.text.chars().count() > 44).count();
    if long * 3 > headers.len() {
        return Vec::new();
    }
    let sides = beside_each_other(&headers, below);
    if !sides.is_empty() {
        return sides;
    }
    best_group(&headers).map(|(group, columns, _)| (group, columns, Span::ALL)).into_iter().collect()
}

/// Tables beside each other: each is one by itself, and they are of different kinds or repeat their headers.
fn beside_each_other(headers: &[Header], below: &[Row]) -> Vec<(Group, Vec<Assigned>, Span)> {
    // One note beside a table does not fill a column.
    let filled = |column: usize| {
        below.iter().take(BELOW).filter(|row| !row.text(column).trim().is_empty()).count() > 1
    };
    let joined = |a: &Header, b: &Header| (a.column + 1..b.column).all(filled);
    let sides: Vec<&[Header]> = headers.chunk_by(joined).collect();
    if sides.len() < 2 {
        return Vec::new();
    }
    let tables: Vec<(Group, Vec<Assigned>)> = sides
        .iter()
        .filter(|side| side.len() > 1)
        .filter_map(|side| best_group(side).map(|(group, columns, _)| (group, columns)))
        .collect();
    let differ = tables.windows(2).any(|pair| pair[0].0 != pair[1].0);
    let spelled = |table: &(Group, Vec<Assigned>)| -> Vec<String> {
        table.1.iter().map(|c| c.header.text.to_lowercase()).collect()
    };
    let repeat = tables.windows(2).any(|pair| {
        let (one, other) = (spelled(&pair[0]), spelled(&pair[1]));
        one.iter().filter(|text| other.contains(text)).count() * 2 > one.len().min(other.len())
    });
    if tables.len() < 2 || !(differ || repeat) {
        return Vec::new();
    }
    let starts: Vec<usize> = tables.iter().map(|t| t.1[0].header.column).collect();
    let span = |at: usize| Span {
        from: if at == 0 { 0 } else { starts[at] },
        to: starts.get(at + 1).copied().unwrap_or(usize::MAX),
    };
    tables.into_iter().enumerate().map(|(at, (group, columns))| (group, columns, span(at))).collect()
}
