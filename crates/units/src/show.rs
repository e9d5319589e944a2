//! Prints quantities.

use std::fmt;

use crate::Unit;
use crate::read::with_unit;

/// How many digits to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Digits {
    /// This many significant digits, at least one.
    Significant(u32),
    /// This many decimals.
    Decimals(u32),
}

/// Prints a quantity: number, space, unit as people write it.
///
/// `si` in the SI unit of the unit's dimension. A value that is not finite prints as `undefined`.
///
/// ```
/// use airshelf_units::{Digits, Unit, show};
/// assert_eq!(show(Unit::IN_H2O.to_si(20.0), Unit::IN_H2O, Digits::Decimals(1)), "20.0 inH2O");
/// assert_eq!(show(295.372222, Unit::FAHRENHEIT, Digits::Decimals(1)), "72.0 °F");
/// assert_eq!(show(0.52, Unit::PERCENT, Digits::Significant(2)), "52 %");
/// ```
pub fn show(si: f64, unit: Unit, digits: Digits) -> String {
    let number = show_number(unit.from_si(si), digits);
    if si.is_finite() { with_unit(number, unit) } else { number }
}

/// Prints a number with a point, without grouping and without a minus before zero.
///
/// Significant digits beyond the decimal point of a large number print as zeros (`1234567` to two is `1200000`); from 1e15
/// on, and below 1e-9, a power of ten is written (`1.2e-12`), which [`crate::read`] takes back.
pub fn show_number(value: f64, digits: Digits) -> String {
    if !value.is_finite() {
        return "undefined".to_owned();
    }
    let printed = match digits {
        Digits::Decimals(decimals) => format!("{value:.*}", decimals as usize),
        Digits::Significant(significant) => significant_digits(value, significant.max(1)),
    };
    match printed.strip_prefix('-') {
        Some(rest) if !rest.contains(|c: char| c.is_ascii_digit() && c != '0') => rest.to_owned(),
        _ => printed,
    }
}

fn significant_digits(value: f64, significant: u32) -> String {
    let scientific = format!("{value:.*e}", significant as usize - 1);
    let (mantissa, power) = scientific.split_once('e').expect("the e format has an exponent");
    let power: i32 = power.parse().expect("the exponent is a whole number");
    if value != 0.0 && !(-9..15).contains(&power) {
        return scientific;
    }
    let decimals = significant as i32 - 1 - power;
    if decimals >= 0 {
        return format!("{value:.*}", decimals as usize);
    }
    // The mantissa is already rounded correctly; only zeros follow it.
    let digits: String = mantissa.chars().filter(|c| *c != '.').collect();
    digits + &"0".repeat(decimals.unsigned_abs() as usize)
}

/// Prints a number with the digits that it was written with.
pub(crate) fn plain_number(value: f64, resolution: Option<f64>) -> String {
    let decimals = resolution.map_or(0.0, |resolution| (-libm::log10(resolution)).round());
    if (0.0..=17.0).contains(&decimals) && value.abs() < 1e15 {
        show_number(value, Digits::Decimals(decimals as u32))
    } else {
        format!("{value}")
    }
}

/// A value rounded to the place of its uncertainty; prints as `265.80 CFM, u 0.41 CFM`.
///
/// The uncertainty is not printed after a plus-minus sign, which is for intervals of high confidence (GUM 7.2.2).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rounded {
    /// The rounded number in `unit`.
    pub value: f64,
    /// The rounded standard uncertainty in `unit`; zero where none was given.
    pub standard_uncertainty: f64,
    /// The decimals of both; negative where whole digits are rounded too.
    pub decimals: i32,
    /// The unit of both.
    pub unit: Unit,
}

impl Rounded {
    /// Prints the value with its unit, to the place of the uncertainty.
    pub fn value_text(&self) -> String {
        with_unit(self.number(self.value), self.unit)
    }

    /// Prints the standard uncertainty with its unit.
    pub fn uncertainty_text(&self) -> String {
        with_unit(self.number(self.standard_uncertainty), self.unit)
    }

    fn number(&self, value: f64) -> String {
        show_number(value, Digits::Decimals(self.decimals.max(0).unsigned_abs()))
    }
}

impl fmt::Display for Rounded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.value_text())?;
        if self.standard_uncertainty > 0.0 {
            write!(f, ", u {}", self.uncertainty_text())?;
        }
        Ok(())
    }
}

/// Rounds a value to the place of its standard uncertainty, which keeps two significant digits.
///
/// `si` and `standard_uncertainty_si` in the SI unit of the dimension; a temperature's offset plays no part in the
/// uncertainty. Where the uncertainty is zero, negative or not finite, the value keeps six significant digits.
/// Source: GUM (JCGM 100:2008) 7.2.6: at most two significant digits of an uncertainty, values rounded to be consistent.
///
/// ```
/// use airshelf_units::{Unit, to_resolution};
/// let flow = to_resolution(Unit::CFM.to_si(265.8123), Unit::CFM.factor() * 0.4137, Unit::CFM);
/// assert_eq!(flow.to_string(), "265.81 CFM, u 0.41 CFM");
/// ```
pub fn to_resolution(si: f64, standard_uncertainty_si: f64, unit: Unit) -> Rounded {
    let value = unit.from_si(si);
    let uncertainty = standard_uncertainty_si / unit.factor();
    let known = uncertainty.is_finite() && uncertainty > 0.0;
    let (sized, significant) = if known { (uncertainty, 2) } else { (value, 6) };
    let decimals = if sized == 0.0 || !sized.is_finite() {
        0
    } else {
        significant - 1 - power_of_ten(sized, significant)
    };
    Rounded {
        value: round_to(value, decimals),
        standard_uncertainty: if known { round_to(uncertainty, decimals) } else { 0.0 },
        decimals,
        unit,
    }
}

/// The power of ten of a number after rounding: 0.0996 to two digits is 0.10.
fn power_of_ten(value: f64, significant: i32) -> i32 {
    let scientific = format!("{value:.*e}", significant.unsigned_abs() as usize - 1);
    let (_, power) = scientific.split_once('e').expect("the e format has an exponent");
    power.parse().expect("the exponent is a whole number")
}

fn round_to(value: f64, decimals: i32) -> f64 {
    if decimals >= 0 {
        // Through the decimal text: multiplying by a power of ten first would round twice.
        format!("{value:.*}", decimals.unsigned_abs() as usize).parse().unwrap_or(value)
    } else {
        let step = 10_f64.powi(-decimals);
        (value / step).round() * step
    }
}
