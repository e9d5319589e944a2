//! Settles what headers leave open: units, decimal style, and fields that only the content tells.

use super::known::Known;
use super::page::{Page, barometer_unit};
use super::table::{Found, Shape};
use super::terms::{direction, ditto, not_run, purpose, restraint, says, service};
use crate::map::columns::Assigned;
use crate::map::{Field, Group};
use crate::reader::{CellKind, Row, Sheet};
use airshelf_catalog::{PartDimension, PartKind};
use airshelf_units::{Decimal, Dimension, Unit, decimal_of, read};

/// Rows looked at to learn a table's habits.
const LOOK: usize = 400;

/// What the whole file says about units.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Habits {
    pub flow: Option<Unit>,
    pub pressure: Option<Unit>,
    pub length: Option<Unit>,
    pub metric: bool,
}

impl Habits {
    /// Gathers units from every header and from lines such as `Lengths in inches unless the cell says so`.
    pub fn of(sheets: &[Sheet], tables: &[(usize, Found)]) -> Habits {
        let mut habits = Habits::default();
        // A line that says it beats the unit of some other column.
        for (index, sheet) in sheets.iter().enumerate() {
            let end = tables.iter().filter(|t| t.0 == index).map(|t| t.1.header).min();
            for row in sheet.rows.iter().take(end.unwrap_or(sheet.rows.len()).min(60)) {
                for cell in row.cells() {
                    if let Some(unit) = length_unit_in(cell.raw) {
                        habits.length.get_or_insert(unit);
                    }
                }
            }
        }
        let (mut us, mut si) = (0, 0);
        for column in tables.iter().flat_map(|t| &t.1.columns) {
            let Some(unit) = column.unit.or(column.header.unit) else { continue };
            let place = match unit.dimension() {
                Dimension::Flow => &mut habits.flow,
                Dimension::Pressure if column.field != Some(Field::Barometer) => &mut habits.pressure,
                Dimension::Length => &mut habits.length,
                _ => &mut None,
            };
            place.get_or_insert(unit);
            if [Unit::CFM, Unit::IN_H2O, Unit::IN_HG, Unit::FAHRENHEIT, Unit::INCH, Unit::SQ_IN]
                .contains(&unit)
            {
                us += 1;
            } else if unit.dimension() != Dimension::Ratio && unit.dimension() != Dimension::Count {
                si += 1;
            }
        }
        habits.metric = si > us;
        habits
    }
}

/// The unit of lengths that a line of text names.
fn length_unit_in(text: &str) -> Option<Unit> {
    let words = super::terms::plain(text);
    let about = [
        "lengths",
        "length",
        "dimensions",
        "sizes",
        "measurements",
        "measured",
        "measures",
        "diameters",
        "heights",
        "inches",
        "millimeters",
        "millimetres",
        "everything",
        "all in",
    ]
    .iter()
    .any(|w| says(&words, w));
    // `Everything in mm of water` is about pressures.
    let fluid = ["water", "h2o", "hg", "mercury", "wc", "wg"].iter().any(|w| says(&words, w));
    if !about || fluid {
        return None;
    }
    if ["inches", "inch"].iter().any(|w| says(&words, w)) {
        Some(Unit::INCH)
    } else if ["mm", "millimeters", "millimetres"].iter().any(|w| says(&words, w)) {
        Some(Unit::MM)
    } else if ["cm", "centimeters", "centimetres"].iter().any(|w| says(&words, w)) {
        Some(Unit::CM)
    } else {
        None
    }
}

fn look<'w>(found: &Found, sheet: &'w Sheet) -> impl Iterator<Item = &'w Row> {
    let rows: Vec<usize> = found.rows.iter().copied().take(LOOK).collect();
    rows.into_iter().map(|r| &sheet.rows[r])
}

fn content<'w>(found: &Found, sheet: &'w Sheet, column: usize) -> Vec<(&'w str, &'w CellKind)> {
    look(found, sheet)
        .map(|r| (r.text(column).trim(), r.kind(column)))
        .filter(|(text, _)| !text.is_empty() && !ditto(text))
        .collect()
}

/// The decimal style of a table: what its numbers decide, else what the file's other tables did.
pub(crate) fn decimal(found: &Found, sheet: &Sheet) -> Option<Decimal> {
    let columns: Vec<usize> = found
        .columns
        .iter()
        .filter(|c| {
            matches!(found.shape, Shape::Grid(_))
                || c.field
                    .is_some_and(|f| f.dimension().is_some() || f == Field::AirFactor || f == Field::Price)
        })
        .map(|c| c.header.column)
        .collect();
    let mut cells: Vec<&str> = Vec::new();
    let mut own_numbers = false;
    for row in look(found, sheet) {
        for &column in &columns {
            match row.kind(column) {
                CellKind::Number(_) => own_numbers = true,
                _ => cells.push(row.text(column)),
            }
        }
    }
    decimal_of(cells.into_iter()).or(own_numbers.then_some(Decimal::Point))
}

/// Moves columns to the field that their content speaks for, where the header is open or says the opposite.
pub(crate) fn fields(found: &mut Found, sheet: &Sheet, page: &Page, known: &Known) {
    match found.shape {
        Shape::Listed(Group::Runs) => {}
        Shape::Listed(Group::Guesses) => return guess(found, sheet, page),
        _ => return,
    }
    for at in 0..found.columns.len() {
        let (field, column) = (found.columns[at].field, found.columns[at].header.column);
        if found.columns[at].confidence >= 1.0
            && !matches!(
                field,
                Some(Field::Assembly | Field::Restraint | Field::ActualPressure | Field::SetPressure)
            )
        {
            continue;
        }
        let cells = content(found, sheet, column);
        if cells.is_empty() {
            continue;
        }
        let share = |test: &dyn Fn(&str) -> bool| {
            cells.iter().filter(|c| test(c.0)).count() as f64 / cells.len() as f64
        };
        let numeric = share(&|t| t.starts_with(|c: char| c.is_ascii_digit() || c == '-'));
        let filled = cells.len() as f64 / found.rows.len().clamp(1, LOOK) as f64;
        let moved = match field {
            Some(Field::Restraint) if numeric > 0.7 && !found.has(Field::ActualPressure) => {
                Some(Field::ActualPressure)
            }
            Some(Field::ActualPressure | Field::SetPressure)
                if numeric < 0.3
                    && !found.has(Field::Restraint)
                    && share(&|t| restraint(t).is_some()) > 0.6 =>
            {
                Some(Field::Restraint)
            }
            // A `stack` beside filter and lid is a velocity stack, no assembly.
            Some(Field::Assembly)
                if (found.has(Field::Filter) || found.has(Field::Lid))
                    && share(&|t| !t.contains(['/', '+', '|', ',', '>'])) > 0.9 =>
            {
                let words = &found.columns[at].header.words;
                let horn =
                    words.iter().any(|w| matches!(w.as_str(), "stack" | "stacks" | "vel" | "velocity"));
                let horn = (horn && !found.has(Field::VelocityStack)).then_some(Field::VelocityStack);
                horn.or_else(|| unnamed(found, known, filled, &share))
            }
            None if numeric < 0.5 => unnamed(found, known, filled, &share),
            // Tags may be numbers.
            None if found.columns[at].header.unit.is_none() => named_part(found, known, &share),
            _ => None,
        };
        if let Some(field) = moved {
            let column = &mut found.columns[at];
            column.field = Some(field);
            column.confidence = 0.7;
            column.unit = field.dimension().and_then(|d| column.header.unit_for(d, false));
        }
    }
    pressure(found, sheet, page);
    if page.percent {
        for column in &mut found.columns {
            if column.field == Some(Field::StatedLoss)
                && column.unit.is_none()
                && page.losses
                && page.flow_unit.is_none()
            {
                column.field = Some(Field::StatedLossPercent);
            }
        }
    }
    let ranked = [
        "best to worst",
        "winners",
        "ranking",
        "ranked",
        "best first",
        "worst last",
        "order of merit",
        "best on top",
        "best at the top",
        "hit list",
        "top ten",
        "league table",
        "rangliste",
        "bestenliste",
        "classement",
        "clasificación",
    ]
    .iter()
    .any(|w| says(&page.words, w))
        || by_loss(found, sheet);
    let ordered = found.has(Field::Purpose) || found.has(Field::Clock);
    if ranked && !ordered && !found.has(Field::Place) {
        for column in &mut found.columns {
            if column.field == Some(Field::Order) {
                column.field = Some(Field::Place);
            }
        }
    }
}

/// Whether a list without flows is numbered from the least loss to the largest.
fn by_loss(found: &Found, sheet: &Sheet) -> bool {
    if found.has(Field::Flow) || found.has(Field::NetFlow) {
        return false;
    }
    let numbers = |field: Field| -> Vec<f64> {
        let column = found.columns.iter().find(|c| c.field == Some(field)).map(|c| c.header.column);
        let cells = column.map(|column| content(found, sheet, column)).unwrap_or_default();
        let number = |text: &str| {
            let both = [Decimal::Point, Decimal::Comma];
            both.into_iter().find_map(|d| read(text, Dimension::Ratio, Some(Unit::RATIO), Some(d)).ok())
        };
        cells.iter().filter_map(|c| number(c.0)).map(|r| r.value.abs()).collect()
    };
    let (order, loss) = (numbers(Field::Order), numbers(Field::StatedLoss));
    order.len() >= 4
        && loss.len() == order.len()
        && order.iter().enumerate().all(|(at, n)| *n == at as f64 + 1.0)
        && loss.windows(2).all(|pair| pair[0] <= pair[1])
}

/// The share of a column's cells for which something holds.
type Share<'a> = &'a dyn Fn(&dyn Fn(&str) -> bool) -> f64;

/// A field for a column whose header says nothing, by its content.
fn unnamed(found: &Found, known: &Known, filled: f64, share: Share) -> Option<Field> {
    let free = |field: Field| !found.has(field);
    // Every row is run for something; remarks, which may name a purpose too, are few and longer.
    let purposes = || share(&|t| purpose(t).is_some() && t.split(' ').count() <= 3) > 0.9;
    if free(Field::Purpose) && filled > 0.6 && purposes() {
        return Some(Field::Purpose);
    }
    if free(Field::Restraint) && share(&|t| restraint(t).is_some()) > 0.9 {
        return Some(Field::Restraint);
    }
    if free(Field::Service) && share(&|t| service(t).is_some()) > 0.9 {
        return Some(Field::Service);
    }
    if free(Field::Direction) && share(&|t| direction(t).is_some()) > 0.9 {
        return Some(Field::Direction);
    }
    named_part(found, known, share)
}

/// The part that a column names, where the shelf has the tags of most of its cells.
fn named_part(found: &Found, known: &Known, share: Share) -> Option<Field> {
    let free = |field: Field| !found.has(field);
    let layers = [Field::Filter, Field::Lid, Field::Base, Field::Spacer, Field::VelocityStack, Field::Stud];
    layers.into_iter().find(|&field| {
        let kind = if field == Field::Stud { Some(PartKind::Stud) } else { field.layer() };
        free(field)
            && share(&|t| {
                known.part(kind, t).and_then(|p| known.parts.get(&p)).is_some_and(|p| p.kind == kind)
            }) > 0.6
    })
}

/// One column of pressures may be what was set or what was held: held where the page says what was set, or where the
/// numbers wander.
fn pressure(found: &mut Found, sheet: &Sheet, page: &Page) {
    let Some(at) = found.columns.iter().position(|c| c.field == Some(Field::SetPressure)) else { return };
    if found.has(Field::ActualPressure) {
        return;
    }
    let certain = ["set", "target", "nominal", "wanted", "asked", "setpoint", "test"];
    if found.columns[at].header.words.iter().any(|w| certain.contains(&w.as_str())) {
        return;
    }
    let mut cells: Vec<&str> =
        content(found, sheet, found.columns[at].header.column).iter().map(|c| c.0).collect();
    let all = cells.len();
    cells.sort_unstable();
    cells.dedup();
    if page.get(Field::SetPressure).is_some() || (all >= 4 && cells.len() * 4 > all && cells.len() > 3) {
        found.columns[at].field = Some(Field::ActualPressure);
    }
}

/// Whether guesses are of a loss, a flow or a place.
fn guess(found: &mut Found, sheet: &Sheet, page: &Page) {
    let Some(at) = found.columns.iter().position(|c| c.field == Some(Field::Guess)) else { return };
    let said = |words: &[&str]| found.columns[at].header.words.iter().any(|w| words.contains(&w.as_str()));
    let numbers: Vec<f64> = content(found, sheet, found.columns[at].header.column)
        .iter()
        .filter_map(|c| read(c.0, Dimension::Flow, Some(Unit::CFM), None).ok().map(|r| r.value))
        .collect();
    let field = if said(&["loss", "lost", "down"]) {
        Field::StatedLoss
    } else if said(&["flow"]) {
        Field::Flow
    } else if said(&["place", "rank"]) && !found.has(Field::Place) {
        Field::Place
    } else if page.losses && !page.flows {
        Field::StatedLoss
    } else if page.flows && !page.losses {
        Field::Flow
    } else {
        // A flow guessed is some hundred, a loss some ten. Common practice, no source.
        let large = numbers.iter().filter(|v| **v > 75.0).count();
        if large * 2 > numbers.len() { Field::Flow } else { Field::StatedLoss }
    };
    found.columns[at].field = Some(field);
}

/// The bare numbers of a column in order of size.
fn sizes(found: &Found, sheet: &Sheet, column: usize) -> Vec<f64> {
    let number = |text: &str| {
        let read = read(text, Dimension::Ratio, Some(Unit::RATIO), Decimal::Point);
        read.ok().map(|r| r.value.abs())
    };
    let cells = content(found, sheet, column);
    let mut numbers: Vec<f64> = cells.iter().filter(|c| !not_run(c.0)).filter_map(|c| number(c.0)).collect();
    numbers.sort_by(f64::total_cmp);
    numbers
}

/// The unit of lengths under headers without one: as a line above says, else of a column beside them, unless the
/// numbers themselves are too large for inches; one unit for all columns, as small parts have small numbers in either.
fn length(found: &Found, sheet: &Sheet, page: &Page, habits: Habits) -> Unit {
    if let Some(said) = page.lines.iter().find_map(|line| length_unit_in(&line.1)) {
        return said;
    }
    // Largest in inches: common practice, no source.
    let open =
        |c: &&Assigned| c.unit.is_none() && c.field.is_some_and(|f| f.dimension() == Some(Dimension::Length));
    let (mut inches, mut large, mut any) = (0, 0, false);
    for column in found.columns.iter().filter(open) {
        let across = matches!(
            column.field,
            Some(Field::Size | Field::Of(PartDimension::OutsideDiameter | PartDimension::InsideDiameter))
        );
        let numbers = sizes(found, sheet, column.header.column);
        let metric = if across { 60.0 } else { 30.0 };
        let own = numbers.iter().filter(|n| **n > metric).count();
        large += own;
        any |= own * 2 > numbers.len();
        // Nobody writes millimeters as fractions, and no element is some millimeters across.
        let cells = content(found, sheet, column.header.column);
        inches +=
            cells.iter().filter(|c| c.0.contains('/') && c.0.contains(|d: char| d.is_ascii_digit())).count();
        inches += if across { numbers.iter().filter(|n| (3.0..20.0).contains(*n)).count() } else { 0 };
    }
    let large = any && large > inches;
    let own = found.columns.iter().find_map(|c| c.unit.filter(|u| u.dimension() == Dimension::Length));
    match own.or(habits.length) {
        Some(Unit::INCH) | None if large => Unit::MM,
        Some(unit) => unit,
        None => Unit::INCH,
    }
}

/// Gives every column of quantities a unit: its header's, else what the page, the table or the file uses.
pub(crate) fn units(found: &mut Found, sheet: &Sheet, page: &Page, habits: Habits) {
    let of = |found: &Found, dimension: Dimension, skip: &[Field]| {
        found
            .columns
            .iter()
            .filter(|c| !skip.iter().any(|f| c.field == Some(*f)))
            .find_map(|c| c.unit.filter(|u| u.dimension() == dimension))
    };
    let flow = of(found, Dimension::Flow, &[])
        .or(page.flow_unit)
        .or(page.quantity(Field::Range).or(page.quantity(Field::StatedBaseline)).and_then(|q| q.unit()))
        .or(habits.flow)
        .unwrap_or(if habits.metric { Unit::L_S } else { Unit::CFM });
    let pressure = of(found, Dimension::Pressure, &[Field::Barometer])
        .or(page.quantity(Field::SetPressure).and_then(|q| q.unit()))
        .or(page.pressure_unit)
        .or(habits.pressure);
    let length = length(found, sheet, page, habits);
    for at in 0..found.columns.len() {
        let column = &found.columns[at];
        let Some(field) = column.field else { continue };
        let Some(dimension) = field.dimension() else { continue };
        // A unit that is not understood is none of the usual ones.
        if column.unit.is_some() || column.header.unclear_unit(dimension).is_some() {
            continue;
        }
        let numbers = sizes(found, sheet, column.header.column);
        let median = numbers.get(numbers.len() / 2).copied();
        let largest = numbers.last().copied().unwrap_or(0.0);
        let unit = match (dimension, field) {
            (Dimension::Flow, _) => Some(flow),
            (Dimension::Pressure, Field::Barometer) => median.and_then(barometer_unit),
            (Dimension::Pressure, Field::RatedAt) => {
                // 1.5 and 3.0 are inches of mercury, 28 is inches of water. Common practice, no source.
                Some(if median.is_some_and(|m| m < 8.0) {
                    Unit::IN_HG
                } else {
                    pressure.unwrap_or(Unit::IN_H2O)
                })
            }
            (Dimension::Pressure, _) => Some(pressure.unwrap_or(match median {
                Some(m) if m >= 1000.0 => Unit::PASCAL,
                Some(m) if m >= 160.0 => Unit::MM_H2O,
                Some(m) if habits.metric && m < 40.0 => Unit::KPA,
                _ => Unit::IN_H2O,
            })),
            (Dimension::Temperature, _) => {
                Some(if median.is_none_or(|m| m > 45.0) { Unit::FAHRENHEIT } else { Unit::CELSIUS })
            }
            (Dimension::Ratio, Field::Humidity) if largest <= 1.0 && largest > 0.0 => Some(Unit::RATIO),
            (Dimension::Ratio, _) => Some(Unit::PERCENT),
            (Dimension::Length, _) => Some(length),
            (Dimension::Area, _) => Some(if length == Unit::INCH { Unit::SQ_IN } else { Unit::SQ_CM }),
            (Dimension::Mass, _) => Some(Unit::GRAM),
            (Dimension::Count, _) => Some(Unit::COUNT),
            _ => None,
        };
        let column = &mut found.columns[at];
        column.unit = unit;
        if !matches!(dimension, Dimension::Count | Dimension::Ratio) {
            column.confidence = (column.confidence * 0.8 * 100.0).round() / 100.0;
        }
    }
}

/// Kinds of parts that a word of a stack or of a label names.
pub(crate) fn kind_in(words: &str) -> Option<PartKind> {
    const WORDS: &[(PartKind, &[&str])] = &[
        (PartKind::VelocityStack, &["velocity stack", "horn", "trumpet", "bellmouth", "velocity"]),
        (PartKind::Spacer, &["spacer", "riser", "packer", "collar"]),
        (
            PartKind::Filter,
            &[
                "foam",
                "paper",
                "filter",
                "element",
                "gauze",
                "cotton",
                "cleaner",
                "cartridge",
                "pleated",
                "mesh",
            ],
        ),
        (
            PartKind::Base,
            &[
                "base",
                "flat",
                "dropped",
                "drop",
                "pan",
                "bottom",
                "backplate",
                "dished",
                "plate",
                "tray",
                "recessed",
            ],
        ),
        (
            PartKind::Lid,
            &[
                "lid",
                "vented",
                "solid",
                "domed",
                "faceplate",
                "hat",
                "top",
                "cover",
                "open",
                "perforated",
                "cap",
                "closed",
                "louvered",
                "louvred",
                "slotted",
                "drilled",
            ],
        ),
    ];
    WORDS.iter().find(|k| k.1.iter().any(|w| says(words, w))).map(|k| k.0)
}
