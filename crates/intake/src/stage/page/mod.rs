//! What stands above a table and holds for all its rows: labels with values, and free text.

mod baseline;
mod figures;
mod labels;
mod names;
mod quantities;
mod statements;

use super::legend::Legend;
use super::table::Span;
use super::terms::{plain, purpose, restraint, service};
use crate::map::header::unit_cell;
use crate::map::{DateOrder, Field, Header};
use crate::reader::{CellKind, Row};
use airshelf_catalog::{BaselineKind, Purpose, Quantity, Restraint};
use airshelf_units::{Decimal, Dimension, Unit};
pub(crate) use baseline::baseline_kind;
pub(crate) use figures::figures;
pub(crate) use labels::is_label;
use labels::label_of;
pub(crate) use names::item_of_shelf;
use names::{bench_in_text, find_date, item_in_text};
use quantities::find_quantities;
pub(crate) use quantities::{barometer_unit, pressure_of_header};
use statements::{left_to_the_rows, note_words};

/// One value of a page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct PageValue {
    pub field: Field,
    pub row: Option<u32>,
    pub raw: String,
    pub quantity: Option<Quantity>,
    /// A date, a name.
    pub text: Option<String>,
    /// The unit was taken from what is usual.
    pub assumed: bool,
}

/// What a page says.
#[derive(Clone, Debug, Default)]
pub(crate) struct Page {
    pub values: Vec<PageValue>,
    pub restraint: Option<(Restraint, u32, String)>,
    pub readings_each: Option<(i64, u32, String)>,
    pub service_note: Option<(String, u32)>,
    pub baseline_kind: Option<BaselineKind>,
    /// The date's day and month could be exchanged.
    pub ambiguous_date: bool,
    /// The unit of flow that its text names.
    pub flow_unit: Option<Unit>,
    /// The unit of test pressures that it names.
    pub pressure_unit: Option<Unit>,
    /// Whether its text speaks of losses, of flows, of percent.
    pub losses: bool,
    pub flows: bool,
    pub percent: bool,
    /// What it says that its short words stand for.
    pub legend: Legend,
    /// All text in plain words.
    pub words: String,
    /// Lines with one cell of text, for labels of a matrix.
    pub lines: Vec<(u32, String)>,
}

/// How the page's numbers and dates are written.
#[derive(Clone, Copy)]
pub(crate) struct Hand {
    pub decimal: Option<Decimal>,
    pub order: Option<DateOrder>,
    pub guess: DateOrder,
    /// Unit of a flow that names none.
    pub flow: Unit,
}

impl Page {
    pub fn get(&self, field: Field) -> Option<&PageValue> {
        self.values.iter().find(|v| v.field == field)
    }

    pub fn quantity(&self, field: Field) -> Option<&Quantity> {
        self.get(field)?.quantity.as_ref()
    }

    pub fn text(&self, field: Field) -> Option<&str> {
        self.get(field)?.text.as_deref()
    }

    pub fn put(&mut self, value: PageValue) {
        if self.get(value.field).is_none() {
            self.values.push(value);
        }
    }

    /// Whether it says nothing but titles.
    pub fn is_silent(&self) -> bool {
        self.values.is_empty() && self.restraint.is_none() && self.service_note.is_none()
    }
}

/// Reads the lines above a table.
pub(crate) fn read_page(rows: &[&Row], hand: Hand, span: Span) -> Page {
    let mut page = Page::default();
    for (at, row) in rows.iter().enumerate() {
        if let Some(over) = at.checked_sub(1).and_then(|before| rows.get(before)) {
            read_under(over, row, hand, span, &mut page);
        }
        read_line(row, hand, span, &mut page);
    }
    page
}

/// Reads a line of values right below a line of nothing but labels: `Date | Carb | Air` over `3 May | K2 | 20 °C`.
fn read_under(over: &Row, row: &Row, hand: Hand, span: Span, page: &mut Page) {
    let filled = |row: &Row| -> Vec<u32> {
        row.cells().filter(|c| span.has(c.column) && !c.raw.trim().is_empty()).map(|c| c.column).collect()
    };
    let (labels, values) = (filled(over), filled(row));
    if over.number() + 1 != row.number()
        || labels.len() < 3
        || values.len() < 2
        || !values.iter().all(|column| labels.contains(column))
    {
        return;
    }
    let named = |column: &u32| label_of(over.text(*column as usize)).filter(|l| l.0 != Field::Note);
    let told = labels.iter().filter_map(named).count();
    if told < labels.len() || values.iter().any(|column| label_of(row.text(*column as usize)).is_some()) {
        return;
    }
    for column in values {
        let (text, kind) = (row.text(column as usize).trim(), row.kind(column as usize));
        read_value(text, kind, row.number(), named(&column).as_ref(), hand, page);
    }
}

fn read_line(row: &Row, hand: Hand, span: Span, page: &mut Page) {
    let number = row.number();
    // A line that says nothing above this table, of several beside each other, is for all of them.
    let here = row.cells().any(|c| span.has(c.column) && !c.raw.trim().is_empty());
    let cells: Vec<(String, &CellKind)> = row
        .cells()
        .filter(|c| (span.has(c.column) || !here) && !c.raw.trim().is_empty())
        .map(|c| (c.raw.trim().trim_start_matches('#').trim().to_owned(), c.kind))
        .filter(|c| !c.0.is_empty())
        .collect();
    let whole = cells.iter().map(|c| c.0.as_str()).collect::<Vec<_>>().join(" | ");
    note_words(&whole, number, page);
    if let [(text, _)] = cells.as_slice() {
        page.lines.push((number, text.clone()));
    }
    let cells = joined(cells);
    let mut label: Option<(Field, Header)> = None;
    for (at, (text, kind)) in cells.iter().enumerate() {
        // A label and its value in one cell: `Date: 6/15/2024`.
        if let Some((head, tail)) = text.split_once([':', '='])
            && !tail.trim().is_empty()
            && !tail.starts_with(|c: char| c.is_ascii_digit())
            && let Some(found) = label_of(&format!("{head}:"))
        {
            read_value(tail.trim(), kind, number, Some(&found), hand, page);
            label = None;
            continue;
        }
        if at + 1 < cells.len()
            && let Some(found) = label_of(text).or_else(|| baseline_label(text, &cells[at + 1].0, hand))
        {
            label = Some(found);
            continue;
        }
        // Of weather told in one line, only the first cell says what the percents are.
        let first = (at > 0 && label.is_none() && text.ends_with('%')).then(|| Header::of(0, &cells[0].0));
        let first = first.map(|header| (Field::Note, header));
        read_value(text, kind, number, label.as_ref().or(first.as_ref()), hand, page);
    }
}

/// A number and its unit in a cell of its own are one value.
fn joined(cells: Vec<(String, &CellKind)>) -> Vec<(String, &CellKind)> {
    let mut out: Vec<(String, &CellKind)> = Vec::with_capacity(cells.len());
    for (text, kind) in cells {
        let bare = |before: &str| {
            before.starts_with(|c: char| c.is_ascii_digit() || c == '-')
                && before.chars().all(|c| c.is_ascii_digit() || "-.,'’ ".contains(c))
        };
        match out.last_mut() {
            Some((before, _)) if bare(before) && unit_cell(&text).is_some() => {
                before.push(' ');
                before.push_str(&text);
            }
            _ => out.push((text, kind)),
        }
    }
    out
}

/// `carb alone` before a flow says that the flow is the baseline.
fn baseline_label(text: &str, next: &str, hand: Hand) -> Option<(Field, Header)> {
    let flow = |figure: &figures::Figure| figure.read.is_some_and(|r| r.unit.dimension() == Dimension::Flow);
    let stands = purpose(text) == Some(Purpose::Baseline) && figures(text, hand.decimal).is_empty();
    (stands && figures(next, hand.decimal).iter().any(flow))
        .then(|| (Field::StatedBaseline, Header::of(0, text)))
}

fn read_value(
    text: &str,
    kind: &CellKind,
    row: u32,
    label: Option<&(Field, Header)>,
    hand: Hand,
    page: &mut Page,
) {
    let field = label.map(|l| l.0);
    let told = |field, raw: &str, text: &str| PageValue {
        field,
        row: Some(row),
        raw: raw.to_owned(),
        quantity: None,
        text: Some(text.to_owned()),
        assumed: false,
    };
    match field {
        Some(Field::Who) => page.put(told(Field::Who, text, text)),
        Some(Field::Session) => page.put(told(Field::Session, text, text)),
        Some(Field::Item) => {
            let name = text.split([',', ';']).next().unwrap_or(text).trim();
            page.put(told(Field::Item, name, name));
        }
        Some(Field::Bench) => {
            let name = text.split([',', ';']).next().unwrap_or(text).trim();
            if figures(name, hand.decimal).iter().all(|f| f.read.is_none()) {
                page.put(told(Field::Bench, name, name));
            }
        }
        Some(Field::Restraint) => {
            if let Some(held) = restraint(text) {
                page.restraint.get_or_insert((held, row, text.to_owned()));
            }
        }
        Some(Field::Service) if service(text).is_some() && !left_to_the_rows(&plain(text)) => {
            page.service_note.get_or_insert((text.to_owned(), row));
        }
        _ => {}
    }
    if field.is_none() || field == Some(Field::Note) {
        bench_in_text(text, row, page);
        item_in_text(text, row, page);
    }
    find_date(text, kind, row, field, hand, page);
    find_quantities(text, row, label, hand, page);
}
