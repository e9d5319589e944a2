//! What the numbers of a table tell of its columns where headers leave it open: sizes, sums and proportions that hold
//! from row to row.
//!
//! - net flow + leakage = flow as read
//! - flow at set pressure = flow · √(set / actual), for the flow as read or the net flow
//! - flow at reference air = flow · air factor
//! - stated baseline − flow = stated loss
//!
//! Common practice, no source. A relation counts when most rows keep it, so that a few wrong rows do not hide it.

mod fit;
mod flows;
mod pressures;
mod words;

use super::legend::Legend;
use super::table::{Found, Shape};
use super::terms::{ditto, not_run};
use crate::map::columns::{Assigned, assign};
use crate::map::{Field, Group, Header};
use crate::reader::{CellKind, Sheet};
use airshelf_units::{Decimal, Dimension, Unit, read};
use fit::unfit;
use flows::{flows, ranks, shares};
use pressures::{air, pressures};
use words::{
    dates, filtered, first_names, held, named_stack, numbered_or_named, orders, places, purposes, remarks,
    sizes, stack, stacks, stamps, states_for_elements, worded,
};

/// Rows looked at.
const LOOK: usize = 200;

/// Below this a field is only a guess from the header.
const SURE: f64 = 0.97;

/// Given to what the numbers tell.
const TOLD: f64 = 0.75;

/// Gives columns whose header is a short word of the page's key the field that its meaning names, with the unit that
/// stands there: before what the letters of the header only look like.
pub(super) fn by_key(found: &mut Found, legend: &Legend) {
    let Shape::Listed(group) = found.shape else { return };
    if legend.is_empty() {
        return;
    }
    let unsure = |column: &Assigned| {
        column.field.is_none() || column.confidence < SURE || column.header.words.is_empty()
    };
    let told = |column: &Assigned| {
        let whole = legend.header(&column.header);
        whole.or_else(|| legend.pieces(&column.header).filter(|_| column.field.is_none()))
    };
    let explained: Vec<Option<Header>> = found.columns.iter().map(|c| told(c).filter(|_| !c.told)).collect();
    let headers: Vec<Header> = found
        .columns
        .iter()
        .zip(&explained)
        .map(|(column, own)| own.clone().filter(|_| unsure(column)).unwrap_or_else(|| column.header.clone()))
        .collect();
    let again = assign(&headers, group);
    let mut given: Vec<usize> = Vec::new();
    for (at, new) in again.into_iter().enumerate() {
        let column = &found.columns[at];
        let Some(header) = explained[at].as_ref() else { continue };
        let text = column.header.text.clone();
        let open = unsure(column);
        let held = found.columns.iter().position(|c| c.field.is_some() && c.field == new.field);
        let free = held.is_none_or(|held| {
            held == at || explained[held].is_some() && !given.contains(&held) && unsure(&found.columns[held])
        });
        if open && new.field.is_some() && free {
            if let Some(held) = held.filter(|held| *held != at) {
                found.columns[held].field = None;
                found.columns[held].unit = None;
            }
            given.push(at);
            found.columns[at] = Assigned { header: Header { text, ..new.header }, ..new };
        } else if let Some(dimension) = column.field.and_then(Field::dimension)
            && let Some(unit) = header.unit.filter(|u| u.dimension() == dimension)
            && column.header.unit.is_none()
        {
            let column = &mut found.columns[at];
            column.header.unit = Some(unit);
            column.unit = Some(unit);
        }
    }
}

/// Gives columns the fields that the numbers of the table speak for.
///
/// Gives back the columns whose cells do not fit their header, as the header alone had them.
pub(super) fn by_content(
    found: &mut Found,
    sheet: &Sheet,
    decimal: Option<Decimal>,
    legend: &Legend,
) -> Vec<Assigned> {
    let Shape::Listed(group) = found.shape else { return Vec::new() };
    let book = Book { sheet, decimal, legend };
    let unfit = unfit(found, group, &book);
    dates(found, group, &book);
    if !matches!(group, Group::Runs | Group::Parts) {
        return unfit;
    }
    sizes(found, &book);
    if group == Group::Parts {
        first_names(found, &book);
        filtered(found, &book);
        remarks(found, &book);
    }
    if group == Group::Runs {
        stamps(found, &book);
        orders(found, &book);
        states_for_elements(found, &book);
        places(found, &book);
        purposes(found, &book);
        held(found, &book);
        worded(found, &book);
        remarks(found, &book);
        stacks(found, &book);
        numbered_or_named(found, &book);
        named_stack(found, &book);
        air(found, &book);
        pressures(found, &book);
        flows(found, &book);
        shares(found, &book);
        stack(found, &book);
        ranks(found, &book);
    }
    unfit
}

/// Where nothing else was found for a column that does not fit its header, the header stands: its cells are set aside
/// one by one, with their reasons.
pub(super) fn as_headed(found: &mut Found, unfit: Vec<Assigned>) {
    for column in unfit {
        if found.columns.iter().any(|c| c.field == column.field) {
            continue;
        }
        // A header that only half fits stands for nothing once its cells do not.
        if column.confidence < 0.9 {
            continue;
        }
        let own = found.columns.iter_mut().find(|c| c.header.column == column.header.column);
        if let Some(own) = own.filter(|c| c.field.is_none()) {
            *own = column;
        }
    }
}

/// The flow that stands in the middle of a table's flows, SI.
pub(super) fn usual_flow(found: &Found, sheet: &Sheet, decimal: Option<Decimal>) -> Option<f64> {
    let at = place(found, Field::Flow)?;
    let unit = found.columns[at].unit?;
    let book = Book { sheet, decimal, legend: &Legend::default() };
    let mut numbers: Vec<f64> = book.numbers(found, at).into_iter().flatten().collect();
    numbers.sort_by(f64::total_cmp);
    numbers.get(numbers.len() / 2).map(|middle| unit.to_si(*middle))
}

struct Book<'w> {
    sheet: &'w Sheet,
    decimal: Option<Decimal>,
    /// What the page says of its short words.
    legend: &'w Legend,
}

impl<'w> Book<'w> {
    /// Whether a cell, or what the page says that it stands for, can be read so.
    fn reads<T>(&self, text: &str, read: impl Fn(&str) -> Option<T>) -> bool {
        self.legend.read(text, read).is_some()
    }

    fn texts(&self, found: &Found, at: usize) -> Vec<&'w str> {
        let column = found.columns[at].header.column;
        let rows = found.rows.iter().take(LOOK).map(|r| self.sheet.rows[*r].text(column).trim());
        rows.filter(|t| !t.is_empty() && !ditto(t) && !not_run(t)).collect()
    }

    /// The numbers of a column, row by row.
    fn numbers(&self, found: &Found, at: usize) -> Vec<Option<f64>> {
        let column = found.columns[at].header.column;
        let number = |row: usize| {
            let row = &self.sheet.rows[row];
            let own = matches!(row.kind(column), CellKind::Number(_));
            let decimal = if own { Some(Decimal::Point) } else { self.decimal };
            let text = row.text(column).trim();
            read(text, Dimension::Ratio, Some(Unit::RATIO), decimal).ok().map(|r| r.value)
        };
        found.rows.iter().take(LOOK).map(|r| number(*r)).collect()
    }
}

fn place(found: &Found, field: Field) -> Option<usize> {
    found.columns.iter().position(|c| c.field == Some(field))
}

fn give(found: &mut Found, at: usize, field: Field) {
    let column = &mut found.columns[at];
    column.field = Some(field);
    column.confidence = TOLD;
    column.unit = field.dimension().and_then(|d| column.header.unit_for(d, field == Field::Barometer));
}
