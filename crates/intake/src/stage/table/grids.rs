//! Grids of results: names across, names down, and a result in every cell; one, or several beside each other.

use super::Span;
use crate::map::Header;
use crate::map::header::words_of;
use crate::reader::{CellKind, Row, Sheet};
use crate::stage::runs::split_at_pressure;
use crate::stage::terms::{ditto, kind, not_run, plain, says, summary};
use airshelf_units::{Dimension, read_any};

/// The grids whose header a row is, with the number of columns that the names of their rows take. The first header of
/// each is its corner, which may be blank.
pub(super) fn headed(sheet: &Sheet, at: usize) -> Vec<(usize, Vec<Header>, Span)> {
    let row = &sheet.rows[at];
    let Some(next) = sheet.rows.get(at + 1).filter(|r| !r.is_comment()) else { return Vec::new() };
    // Names may begin with digits (`11x3`), but none of them is a number.
    let numbers = |c: crate::reader::Cell<'_>| {
        is_result(c.raw.trim()) || matches!(c.kind, CellKind::Number(_) | CellKind::Date(_))
    };
    if row.is_comment() || row.cells().any(numbers) {
        return Vec::new();
    }
    let headers: Vec<Header> = row
        .cells()
        .filter(|c| !c.raw.trim().is_empty())
        .take(super::headers::MOST_COLUMNS)
        .map(|c| Header::of(c.column as usize, c.raw.trim()))
        .collect();
    if headers.len() < 2 {
        return Vec::new();
    }
    if let Some(two) = with_two_names(sheet, at, &headers) {
        return vec![two];
    }
    let starts = starts(row, next, &headers);
    let mut out = Vec::new();
    for (side, &from) in starts.iter().enumerate() {
        let to = starts.get(side + 1).copied().unwrap_or(usize::MAX);
        let span = Span { from: if side == 0 { 0 } else { from }, to };
        let mut own: Vec<Header> = vec![Header::of(from, row.text(from).trim())];
        own.extend(
            headers.iter().filter(|h| h.column > from && h.column < to).filter(|h| names_parts(h)).cloned(),
        );
        // What is only a unit is no part: `Carburetor, CFM, inHg` heads a list.
        if own.len() < 3 || own[1..].iter().any(|h| h.words.is_empty()) || !is_row(next, 1, &own, span) {
            continue;
        }
        let corner = plain(&own[0].text);
        let speaks = speaks_of_parts(&own[0].text) || corner.is_empty();
        let second = sheet.rows.get(at + 2).is_some_and(|r| is_row(r, 1, &own, span));
        if speaks || second {
            out.push((1, own, span));
        }
    }
    out
}

/// A grid whose rows have two names: the first two headers are kinds of parts, and a name stands below either.
fn with_two_names(sheet: &Sheet, at: usize, headers: &[Header]) -> Option<(usize, Vec<Header>, Span)> {
    let next = sheet.rows.get(at + 1)?;
    let (labels, across) = headers.split_at_checked(2)?;
    let kinds = labels.iter().all(|h| h.words.len() <= 3 && kind(&h.text).is_some());
    let named = labels.iter().all(|h| is_name(next.text(h.column).trim()));
    let beside = labels[1].column == labels[0].column + 1;
    let own: Vec<Header> = labels.iter().chain(across.iter().filter(|h| names_parts(h))).cloned().collect();
    let parts = own.len() > 3 && own[2..].iter().all(|h| !h.words.is_empty() && h.unit.is_none());
    let fits = kinds && named && beside && parts && is_row(next, 2, &own, Span::ALL);
    // One row may be anything; two are a grid.
    let second = sheet.rows.get(at + 2).is_some_and(|r| is_row(r, 2, &own, Span::ALL));
    (fits && second).then_some((2, own, Span::ALL))
}

/// The columns in which the names of rows stand: the first one, and each further one that has a name below a corner.
fn starts(row: &Row, next: &Row, headers: &[Header]) -> Vec<usize> {
    let first = next.cells().find(|c| !c.raw.trim().is_empty()).map(|c| c.column as usize);
    let Some(first) = first else { return Vec::new() };
    // A header to the left of all names belongs to no grid.
    if headers.first().is_some_and(|h| h.column < first) {
        return Vec::new();
    }
    next.cells()
        .filter(|c| is_name(c.raw.trim()))
        .map(|c| c.column as usize)
        .filter(|&at| {
            let corner = row.text(at).trim();
            at == first || corner.is_empty() || (speaks_of_parts(corner) && parts_two(corner))
        })
        .collect()
}

/// Whether a text names what goes down and across.
fn parts_two(corner: &str) -> bool {
    corner.contains(['\\', '/', '×', '|', '>', ':'])
        || [" by ", " against ", " versus ", " vs ", " and ", " x "].iter().any(|mark| corner.contains(mark))
}

fn speaks_of_parts(corner: &str) -> bool {
    let words = plain(corner);
    corner.contains(['\\', '/', '×'])
        || [
            "lid", "filter", "base", "element", "top", "cover", "cleaner", "spacer", "stack", "pan", "cap",
            "hat",
        ]
        .iter()
        .any(|w| says(&words, w) || says(&words, &format!("{w}s")))
}

/// Whether a column of a grid is that of a part, not of a mean or of remarks.
fn names_parts(header: &Header) -> bool {
    let words = words_of(&header.text);
    let remark = ["note", "notes", "remark", "remarks", "comment", "comments"];
    let of_remarks = words.len() <= 2 && words.iter().any(|w| remark.contains(&w.as_str()));
    !summary(&header.text) && !of_remarks
}

fn is_name(text: &str) -> bool {
    !text.is_empty() && !is_result(text) && !not_run(text) && !ditto(text) && !summary(text)
}

/// Whether a cell of a grid is a result or says that there is none.
fn is_cell(text: &str) -> bool {
    let body = text.trim_start_matches(['-', '−', '+', '(', '~']);
    body.starts_with(|c: char| c.is_ascii_digit()) || not_run(text) || ditto(text) || is_broken(text)
}

/// Whether a cell is a formula without its result, or with an error for one.
fn is_broken(text: &str) -> bool {
    let error = text.starts_with('#') && text.ends_with(['!', '?', 'A']);
    error || text.strip_prefix('=').is_some_and(|formula| formula.contains(|c: char| c.is_ascii_digit()))
}

/// Whether a text is a number as results are written, in either decimal style and with its unit or pressure: no name.
fn is_result(text: &str) -> bool {
    let number = split_at_pressure(text).map_or(text, |split| split.0);
    let body = number.trim_start_matches(['-', '−', '+', '(', '~']);
    if !body.starts_with(|c: char| c.is_ascii_digit()) {
        return false;
    }
    body.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '\'' | '’' | ')' | ' '))
        || read_any(number, None)
            .is_ok_and(|r| matches!(r.unit.dimension(), Dimension::Flow | Dimension::Ratio))
}

/// Whether a row goes on with the grid of these headers: a name below the corner, and results or gaps beside it. Of two
/// names the first may be left out.
pub(super) fn is_row(row: &Row, labels: usize, headers: &[Header], span: Span) -> bool {
    let Some((names, across)) = headers.split_at_checked(labels) else { return false };
    let Some((corner, outer)) = names.split_last() else { return false };
    let name = row.text(corner.column).trim();
    let no_name = |name: &str| is_result(name) || summary(name);
    let outer = outer.first().map_or("", |h| row.text(h.column).trim());
    if name.is_empty() || no_name(name) || no_name(outer) || row.is_comment() {
        return false;
    }
    let mut results = 0;
    for header in across {
        let cell = row.text(header.column).trim();
        if !is_cell(cell) {
            return false;
        }
        results += usize::from(!cell.is_empty());
    }
    // Beyond the named columns stand at most remarks and means, never before them.
    let last = across.last().map_or(corner.column, |h| h.column);
    let between = |c: crate::reader::Cell<'_>| {
        let column = c.column as usize;
        let own = names.iter().any(|h| h.column == column) || across.iter().any(|h| h.column == column);
        !c.raw.trim().is_empty() && span.has(c.column) && !own && column < last
    };
    let beyond =
        row.cells().filter(|c| !c.raw.trim().is_empty() && span.has(c.column) && c.column as usize > last);
    results > 0 && !row.cells().any(between) && beyond.count() <= 2
}
