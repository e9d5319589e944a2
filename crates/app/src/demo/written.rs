//! Values as a person writes them: rounded first, then taken from the text, so that text and value agree.

use airshelf_catalog::{Price, Quantity};
use airshelf_units::{Decimal, Unit, read};

/// The quantity that a text in a unit stands for.
pub fn quantity(raw: &str, unit: Unit) -> Quantity {
    let si =
        read(raw, unit.dimension(), Some(unit), Decimal::Point).expect("the demo writes what can be read").si;
    Quantity::read(si, raw, unit)
}

/// A value in SI units, written in a unit with so many decimals.
pub fn rounded(si: f64, unit: Unit, decimals: usize) -> Quantity {
    quantity(&text(si, unit, decimals), unit)
}

/// The text of a value in a unit with so many decimals.
pub fn text(si: f64, unit: Unit, decimals: usize) -> String {
    format!("{:.*}", decimals, unit.from_si(si))
}

/// A price in US dollars.
pub fn price(raw: &str) -> Price {
    Price {
        amount: raw.parse().expect("the demo's prices are numbers"),
        currency: "USD".into(),
        raw: raw.into(),
    }
}
