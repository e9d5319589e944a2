//! Quantities as somebody at a bench types them, and the units that are meant where none is written.

use super::super::amount::Amount;
use crate::code::{Code, Fault};
use airshelf_catalog::{BenchRange, Quantity, Session};
use airshelf_units::{Decimal, Digits, Dimension, System, Unit, in_system, read, show_number, usual};

/// The units of an evening.
#[derive(Clone, Copy, Debug)]
pub(super) struct Units {
    pub flow: Unit,
    pub pressure: Unit,
    pub system: System,
}

impl Units {
    pub fn of(session: Option<&Session>, range: Option<&BenchRange>, system: System) -> Units {
        let written = |quantity: Option<&Quantity>| quantity.and_then(Quantity::unit);
        let pressure = session.and_then(|s| written(s.set_pressure.as_ref()));
        Units {
            flow: written(range.and_then(|r| r.full_scale.as_ref()))
                .unwrap_or(usual(Dimension::Flow, system)),
            pressure: pressure.unwrap_or(usual(Dimension::Pressure, system)),
            system,
        }
    }

    /// A flow in the units of its range.
    pub fn flow(&self, si: f64) -> Amount {
        both(si, self.flow, Digits::Significant(4))
    }

    /// A small flow, such as a difference.
    pub fn little(&self, si: f64) -> Amount {
        both(si, self.flow, Digits::Significant(2))
    }

    /// A test pressure.
    pub fn pressure(&self, si: f64) -> Amount {
        let unit = self.pressure;
        let mut amount = both(si, unit, Digits::Significant(4));
        let number = show_number(unit.from_si(si), Digits::Significant(4));
        if number.contains('.') {
            let short = number.trim_end_matches('0').trim_end_matches('.');
            amount.text = format!("{short} {}", unit.shown());
        }
        amount
    }
}

fn both(si: f64, unit: Unit, digits: Digits) -> Amount {
    let (us, metric) = (in_system(unit, System::Us), in_system(unit, System::Si));
    let other = if unit == us { metric } else { us };
    Amount::in_units(si, unit, other, digits)
}

/// Reads what was typed, in `unit` where it says none; none for an empty text.
///
/// # Errors
/// [`Code::BadQuantity`] with what is asked for and what was not understood.
pub(super) fn typed(
    what: &str,
    text: &str,
    dimension: Dimension,
    unit: Unit,
) -> Result<Option<Quantity>, Fault> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let bad = |why: String| Fault::new(Code::BadQuantity, format!("{what}: {why}"));
    let read = read(text, dimension, Some(unit), Decimal::Point).map_err(|e| bad(e.to_string()))?;
    let lowest = if what == "humidity" { -f64::MIN_POSITIVE } else { 0.0 };
    if !read.si.is_finite() || read.si <= lowest {
        return Err(bad(format!("`{text}` cannot be: it is not above zero")));
    }
    Ok(Some(Quantity::read(read.si, text, read.unit)))
}

/// As [`typed`], where something must be there.
pub(super) fn needed(what: &str, text: &str, dimension: Dimension, unit: Unit) -> Result<Quantity, Fault> {
    typed(what, text, dimension, unit)?
        .ok_or_else(|| Fault::new(Code::BadArgument, format!("{what} is empty")))
}
