//! A line of units below the headers.

use super::Span;
use crate::map::Header;
use crate::map::columns::{Assigned, best_group};
use crate::reader::Sheet;
use crate::stage::terms::plain;

/// A line of nothing but units below the headers belongs to them.
pub(super) fn units_below(
    sheet: &Sheet,
    at: usize,
    columns: &[Assigned],
    span: Span,
) -> Option<(Vec<Assigned>, usize)> {
    let row = sheet.rows.get(at + 1)?;
    let mut headers: Vec<Header> = columns.iter().map(|c| c.header.clone()).collect();
    let mut units = 0;
    for cell in row.cells().filter(|c| span.has(c.column) && !c.raw.trim().is_empty()) {
        let text = cell.raw.trim();
        let unit = match crate::map::header::unit_cell(text) {
            Some(unit) => unit,
            None if no_unit(text) => continue,
            None => return None,
        };
        let header = headers.iter_mut().find(|h| h.column == cell.column as usize)?;
        header.unit = Some(unit);
        units += 1;
    }
    if units < 2 {
        return None;
    }
    let (_, columns, _) = best_group(&headers)?;
    Some((columns, at + 1))
}

/// What stands in a line of units under a column that has none: a stroke, the form of a clock or a date.
fn no_unit(text: &str) -> bool {
    let form = |c: char| "-–—:/. ".contains(c) || "hmsdyHMSDY".contains(c);
    let inner = text.trim_matches(['(', ')', '[', ']']);
    (inner.chars().count() <= 10 && inner.chars().all(form))
        || matches!(
            plain(inner).as_str(),
            "min" | "h min" | "hr" | "no" | "nr" | "text" | "yes no" | "y n" | "tag"
        )
}
