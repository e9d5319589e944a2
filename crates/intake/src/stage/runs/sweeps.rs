//! Runs that climb through several pressures with the same parts on, whatever they are called.

use crate::map::Field;
use crate::reader::Row;
use crate::stage::Paper;
use crate::stage::table::Found;
use crate::stage::terms::{ditto, purpose};
use airshelf_catalog::Purpose;
use std::cell::OnceCell;
use std::collections::HashSet;

/// Pressures nearer than this are one. Common practice, no source.
const APART: f64 = 0.05;

/// The numbers of the rows that are steps of a sweep: three or more in a row with the same parts on, each at another
/// pressure than the one before, under a word that is not known or that says only that it is a test.
pub(super) fn sweeps(paper: &Paper<'_>, found: &Found) -> HashSet<u32> {
    let column =
        |field: Field| found.columns.iter().find(|c| c.field == Some(field)).map(|c| c.header.column);
    let (Some(set), mut out) = (column(Field::SetPressure), HashSet::new()) else { return HashSet::new() };
    let parts: Vec<usize> =
        [Field::Assembly, Field::Base, Field::Spacer, Field::VelocityStack, Field::Filter, Field::Lid]
            .into_iter()
            .filter_map(column)
            .collect();
    let word = column(Field::Purpose);
    if parts.is_empty() {
        return out;
    }
    let pull = |row: &Row| -> Option<f64> {
        let text = row.text(set).trim();
        text.replace(',', ".").split(' ').next()?.parse().ok().filter(|v: &f64| *v > 0.0)
    };
    let stands = |row: &Row, before: &Row| {
        let same = |at: usize| {
            let (own, over) = (row.text(at).trim(), before.text(at).trim());
            own == over || ditto(own)
        };
        parts.iter().chain(&word).all(|at| same(*at))
            && pull(row).zip(pull(before)).is_some_and(|(a, b)| (a / b - 1.0).abs() > APART)
    };
    let rows: Vec<&Row> = found.rows.iter().map(|&row| &paper.sheet.rows[row]).collect();
    let middle = OnceCell::new();
    let mut from = 0;
    for at in 1..=rows.len() {
        if at < rows.len() && stands(rows[at], rows[at - 1]) {
            continue;
        }
        let steps = &rows[from..at];
        from = at;
        let mut pulls: Vec<f64> = steps.iter().filter_map(|row| pull(row)).collect();
        pulls.sort_by(f64::total_cmp);
        pulls.dedup_by(|a, b| (*a / *b - 1.0).abs() <= APART);
        if pulls.len() < 3 || parts.iter().all(|at| steps[0].text(*at).trim().is_empty()) {
            continue;
        }
        let called = word.map(|at| steps[0].text(at).trim()).unwrap_or_default();
        match paper.page.legend.read(called, purpose) {
            None => out.extend(steps.iter().map(|row| row.number())),
            // One may be the run at the pressure of the others.
            Some(Purpose::Test) => {
                let usual = *middle.get_or_init(|| usual(rows.iter().filter_map(|row| pull(row))));
                let apart =
                    |row: &&&Row| pull(row).zip(usual).is_some_and(|(a, b)| (a / b - 1.0).abs() > APART);
                out.extend(steps.iter().filter(apart).map(|row| row.number()));
            }
            Some(_) => {}
        }
    }
    out
}

/// The value in the middle.
fn usual(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}
