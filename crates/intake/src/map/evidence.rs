//! What the units of the columns beside each other tell where their words do not.
//!
//! Common practice, no source: a sheet with two columns of pressures has the one that was set and the one that was
//! held; a table of runs has a flow; the only area of a part is that of its media.

use super::columns::Assigned;
use super::field::Field;
use super::group::Group;
use airshelf_catalog::PartDimension;
use airshelf_units::{Dimension, Unit};

/// What a pressure is called that was wanted.
const WANTED: &[&str] = &[
    "set",
    "target",
    "aim",
    "aimed",
    "wanted",
    "nominal",
    "asked",
    "desired",
    "planned",
    "goal",
    "setpoint",
    "intended",
    "req",
    "required",
    "requested",
];

/// What a pressure is called that was read.
const READ: &[&str] = &[
    "actual",
    "read",
    "reading",
    "measured",
    "got",
    "shown",
    "seen",
    "held",
    "indicated",
    "observed",
    "true",
    "gauge",
    "found",
];

/// Pressures that belong to the meter, not to the part.
const OF_THE_METER: &[&str] = &["meter", "orifice", "inclined", "incline"];

/// Gives columns without a field the one that their unit and the columns beside them leave.
pub(super) fn by_unit(columns: &mut [Assigned], group: Group) {
    match group {
        Group::Runs => {
            pressures(columns);
            lone(columns, Dimension::Flow, Field::Flow);
            lone(columns, Dimension::Temperature, Field::AirTemperature);
        }
        Group::Parts => {
            lone(columns, Dimension::Area, Field::Of(PartDimension::MediaArea));
            lone(columns, Dimension::Mass, Field::Of(PartDimension::Mass));
        }
        Group::Guesses => lone(columns, Dimension::Flow, Field::Guess),
        Group::Ratings => {
            lone(columns, Dimension::Flow, Field::Flow);
            lone(columns, Dimension::Pressure, Field::RatedAt);
        }
    }
}

fn says(column: &Assigned, words: &[&str]) -> bool {
    column.header.words.iter().any(|w| words.contains(&w.as_str()))
}

fn give(column: &mut Assigned, field: Field, confidence: f64) {
    if column.field != Some(field) {
        column.field = Some(field);
        column.confidence = confidence;
    }
    column.unit = field.dimension().and_then(|d| column.header.unit_for(d, false));
}

/// The first column of that dimension that nobody claims.
fn lone(columns: &mut [Assigned], dimension: Dimension, field: Field) {
    if columns.iter().any(|c| c.field == Some(field)) {
        return;
    }
    let open = |c: &&mut Assigned| {
        c.field.is_none() && c.header.unit.is_some_and(|unit| unit.dimension() == dimension)
    };
    if let Some(column) = columns.iter_mut().find(open) {
        give(column, field, 0.66);
    }
}

/// Of two pressures one was wanted and one was read.
fn pressures(columns: &mut [Assigned]) {
    let of_the_air = [Unit::IN_HG, Unit::HPA, Unit::MM_HG];
    let candidates: Vec<usize> = (0..columns.len())
        .filter(|&at| match columns[at].field {
            Some(Field::SetPressure | Field::ActualPressure) => true,
            None => {
                // An inch is one of water only where the header says so.
                let unit = columns[at].header.unit_for(Dimension::Pressure, false);
                let unit = unit.filter(|u| columns[at].header.unit == Some(*u) || columns[at].header.water);
                unit.is_some_and(|u| !of_the_air.contains(&u)) && !says(&columns[at], OF_THE_METER)
            }
            _ => false,
        })
        .collect();
    match candidates.as_slice() {
        [one] if columns[*one].field.is_none() => give(&mut columns[*one], Field::SetPressure, 0.65),
        [one, two] => {
            let wanted = |at: usize| says(&columns[at], WANTED);
            let read = |at: usize| says(&columns[at], READ);
            let field = |at: usize| columns[at].field;
            let (set, actual) = if wanted(*one) != wanted(*two) {
                if wanted(*one) { (*one, *two) } else { (*two, *one) }
            } else if read(*one) != read(*two) {
                if read(*one) { (*two, *one) } else { (*one, *two) }
            } else if field(*one) == Some(Field::ActualPressure) || field(*two) == Some(Field::SetPressure) {
                (*two, *one)
            } else {
                (*one, *two)
            };
            give(&mut columns[set], Field::SetPressure, 0.7);
            give(&mut columns[actual], Field::ActualPressure, 0.7);
        }
        _ => {}
    }
}
