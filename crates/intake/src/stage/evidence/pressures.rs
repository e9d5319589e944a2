//! Which pressure is that of the day, which was set and which was read.

use super::{Book, give, place};
use crate::map::Field;
use crate::stage::table::Found;
use airshelf_units::Dimension;

/// A pressure of some hundred hectopascals is that of the day.
pub(super) fn air(found: &mut Found, book: &Book<'_>) {
    if place(found, Field::Barometer).is_some() {
        return;
    }
    for at in 0..found.columns.len() {
        let column = &found.columns[at];
        let Some(unit) = column.header.unit.filter(|u| u.dimension() == Dimension::Pressure) else {
            continue;
        };
        if column.field.is_some() && column.confidence > 0.8 {
            continue;
        }
        let of_air = |v: &f64| (60_000.0..110_000.0).contains(&unit.to_si(*v));
        let numbers: Vec<f64> = book.numbers(found, at).into_iter().flatten().collect();
        if !numbers.is_empty() && numbers.iter().filter(|v| of_air(v)).count() * 2 > numbers.len() {
            give(found, at, Field::Barometer);
            return;
        }
    }
}

/// Of two pressures whose words are alike, the one that wanders was read; one beside a known one is the other.
pub(super) fn pressures(found: &mut Found, book: &Book<'_>) {
    let open: Vec<usize> = (0..found.columns.len())
        .filter(|&at| {
            let column = &found.columns[at];
            column.field.is_none()
                && column.header.unit.is_some_and(|u| u.dimension() == Dimension::Pressure)
                && !column.header.words.iter().any(|w| matches!(w.as_str(), "meter" | "orifice" | "inclined"))
        })
        .collect();
    if let [one] = open.as_slice() {
        match (place(found, Field::SetPressure), place(found, Field::ActualPressure)) {
            (Some(_), None) => give(found, *one, Field::ActualPressure),
            (None, Some(_)) => give(found, *one, Field::SetPressure),
            _ => {}
        }
    }
    let (Some(set), Some(actual)) = (place(found, Field::SetPressure), place(found, Field::ActualPressure))
    else {
        return;
    };
    let told = |at: usize| {
        let words = &found.columns[at].header.words;
        ["set", "target", "wanted", "nominal", "actual", "read", "measured", "held", "got"]
            .iter()
            .any(|w| words.iter().any(|own| own == w))
    };
    if told(set) || told(actual) {
        return;
    }
    let different = |at: usize| {
        let mut texts = book.texts(found, at);
        texts.sort_unstable();
        texts.dedup();
        texts.len()
    };
    if different(set) > different(actual) {
        give(found, set, Field::ActualPressure);
        give(found, actual, Field::SetPressure);
    }
}
