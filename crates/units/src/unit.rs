//! A unit: a row of the table, and conversion to and from SI.

use crate::Dimension;
use crate::table::{ROWS, Row};

/// A unit of measurement: one row of the table in `table.rs`.
///
/// `value_si = (value + offset) · factor`; the offset is zero except for temperatures.
///
/// ```
/// use airshelf_units::Unit;
/// assert_eq!(Unit::INCH.to_si(1.0), 0.0254);
/// assert!((Unit::FAHRENHEIT.to_si(68.0) - 293.15).abs() < 1e-9);
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Unit(pub(crate) u8);

impl Unit {
    pub(crate) fn row(self) -> &'static Row {
        &ROWS[usize::from(self.0)]
    }

    /// Lists every unit; within a dimension the usual ones come first.
    pub fn all() -> impl Iterator<Item = Unit> {
        (0..ROWS.len()).map(|place| Unit(u8::try_from(place).expect("the table has fewer than 256 rows")))
    }

    /// Gives the stable symbol, used in files and in the database.
    pub fn symbol(self) -> &'static str {
        self.row().symbol
    }

    /// Gives the symbol as people write it (`°F`, `in²`); empty for a count.
    pub fn shown(self) -> &'static str {
        self.row().shown
    }

    /// Says what the unit measures.
    pub fn dimension(self) -> Dimension {
        self.row().dimension
    }

    /// Gives the number of SI units in one of this unit.
    pub fn factor(self) -> f64 {
        self.row().factor
    }

    /// Says where the factor comes from.
    pub fn source(self) -> &'static str {
        self.row().source
    }

    /// Converts a number of this unit to SI.
    pub fn to_si(self, value: f64) -> f64 {
        let row = self.row();
        (value + row.offset) * row.factor
    }

    /// Converts an SI value to a number of this unit.
    pub fn from_si(self, si: f64) -> f64 {
        let row = self.row();
        si / row.factor - row.offset
    }

    /// Finds the unit with exactly this stable symbol.
    pub fn from_symbol(symbol: &str) -> Option<Unit> {
        Unit::all().find(|unit| unit.symbol() == symbol)
    }
}

impl std::fmt::Debug for Unit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Unit({})", self.symbol())
    }
}

impl std::fmt::Display for Unit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.shown())
    }
}
