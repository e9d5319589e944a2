//! A number as a screen shows it.

use airshelf_units::{Digits, Dimension, System, Unit, show, usual};
use serde::Serialize;
use ts_rs::TS;

/// A number with its unit, in the shelf's units and in the other system.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct Amount {
    /// In SI units; for drawing, not for showing.
    pub si: f64,
    /// As the shelf's people say it.
    pub text: String,
    /// In the other unit system; none where both say the same.
    pub other: Option<String>,
}

/// A value with its 95 % interval.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct Interval {
    /// The value.
    pub value: Amount,
    /// Low end; none where nothing is known of the scatter.
    pub low: Option<Amount>,
    /// High end.
    pub high: Option<Amount>,
}

fn other_than(system: System) -> System {
    match system {
        System::Us => System::Si,
        System::Si => System::Us,
    }
}

impl Amount {
    /// A value in the usual units of its dimension.
    pub fn of(si: f64, dimension: Dimension, system: System, digits: Digits) -> Self {
        Amount::in_units(si, usual(dimension, system), usual(dimension, other_than(system)), digits)
    }

    /// A value in two units.
    pub fn in_units(si: f64, unit: Unit, other: Unit, digits: Digits) -> Self {
        let other = (other != unit).then(|| show(si, other, digits));
        Amount { si, text: show(si, unit, digits), other }
    }

    /// A share of a whole, given as a ratio and said in percent.
    pub fn percent(ratio: f64, decimals: usize) -> Self {
        Amount { si: ratio, text: format!("{:.decimals$} %", 100.0 * ratio), other: None }
    }
}
