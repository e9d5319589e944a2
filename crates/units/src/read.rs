//! Reads one quantity.

use crate::decimal::figure;
use crate::number::{Scan, Written, plain_text, scan, starts_number};
use crate::show::plain_number;
use crate::system::counterpart;
use crate::{Decimal, Dimension, Mixed, ReadError, Unit, UnitError};

/// A quantity as read: its value in SI, and how it was written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Read {
    /// The value in the SI unit of its dimension ([`Dimension::si_unit`]).
    pub si: f64,
    /// The number in [`Read::unit`].
    pub value: f64,
    /// The unit written, or else the default.
    pub unit: Unit,
    /// One unit of the last digit shown, in [`Read::unit`]; for a fraction one part of its denominator.
    pub resolution: Option<f64>,
    /// The fraction as written, where one was.
    pub fraction: Option<Mixed>,
}

impl Read {
    /// Says how the text was read, with the same quantity in the other system of units.
    ///
    /// ```
    /// use airshelf_units::{Decimal, Dimension, Unit, read};
    /// let depth = read("1⅛", Dimension::Length, Some(Unit::INCH), Decimal::Point).unwrap();
    /// assert_eq!(depth.echo(), "1-1/8 in = 28.575 mm");
    /// ```
    pub fn echo(&self) -> String {
        let number = match self.fraction {
            Some(fraction) => fraction.to_string(),
            None => plain_number(self.value, self.resolution),
        };
        let written = with_unit(number, self.unit);
        match counterpart(self.unit) {
            Some(other) => {
                let converted = crate::show_number(other.from_si(self.si), crate::Digits::Significant(6));
                let trimmed = match converted.contains('.') && !converted.contains('e') {
                    true => converted.trim_end_matches('0').trim_end_matches('.'),
                    false => converted.as_str(),
                };
                format!("{written} = {}", with_unit(trimmed.to_owned(), other))
            }
            None => written,
        }
    }

    /// Gives the resolution in SI; a temperature's offset plays no part in it.
    pub fn resolution_si(&self) -> Option<f64> {
        self.resolution.map(|resolution| resolution * self.unit.factor())
    }

    fn of(value: f64, unit: Unit, resolution: f64, fraction: Option<Mixed>) -> Read {
        Read { si: unit.to_si(value), value, unit, resolution: Some(resolution), fraction }
    }
}

pub(crate) fn with_unit(number: String, unit: Unit) -> String {
    match unit.shown() {
        "" => number,
        "°" => number + "°",
        shown => format!("{number} {shown}"),
    }
}

/// Reads a quantity of a known dimension as people write it.
///
/// A unit in the text wins over `default`; `default` is the unit when the text has none. `decimal` is the style of the
/// table ([`Decimal`], or `None` where nothing decided it). Fractions, feet with inches, Unicode fractions, primes, spaces
/// and minus signs are read; the dash in `1-1/8` joins. An improper fraction such as `11/8` is a number (1.375); its
/// missing whole part stays visible in [`Read::fraction`].
///
/// Errors: [`ReadError`]; each message says what to write instead. A default of another dimension is
/// [`ReadError::WrongDimension`].
///
/// Source: common practice; fractions in exact integers up to one rounding.
///
/// ```
/// use airshelf_units::{Decimal, Dimension, Unit, read};
/// let bore = read("2 15/16 in", Dimension::Length, None, Decimal::Point).unwrap();
/// assert_eq!((bore.value, bore.unit, bore.resolution), (2.9375, Unit::INCH, Some(0.0625)));
/// let held = read("20 in. water", Dimension::Pressure, None, Decimal::Point).unwrap();
/// assert!((held.si - 4981.7782).abs() < 1e-6);
/// assert!(read("20", Dimension::Pressure, None, Decimal::Point).is_err());
/// ```
pub fn read(
    text: &str,
    dimension: Dimension,
    default: Option<Unit>,
    decimal: impl Into<Option<Decimal>>,
) -> Result<Read, ReadError> {
    let decimal = decimal.into();
    if let Some(unit) = default {
        if unit.dimension() != dimension {
            return Err(ReadError::WrongDimension {
                text: unit.symbol().to_owned(),
                found: unit.dimension(),
                wanted: dimension,
                fits: dimension.symbols(),
            });
        }
        if let Some((value, resolution)) = plain_decimal(text.as_bytes(), decimal) {
            return Ok(Read::of(value, unit, resolution, None));
        }
    }
    read_written(text, Some(dimension), default, decimal)
}

/// Reads a quantity whose own unit says what it is.
///
/// Errors: [`ReadError::NoUnit`] without a unit, and as [`read`].
///
/// ```
/// use airshelf_units::{Decimal, Dimension, read_any};
/// assert_eq!(read_any("5.5inH2O", Decimal::Point).unwrap().unit.dimension(), Dimension::Pressure);
/// ```
pub fn read_any(text: &str, decimal: impl Into<Option<Decimal>>) -> Result<Read, ReadError> {
    read_written(text, None, None, decimal.into())
}

/// Powers of ten that are exact, and their inverses.
const TENS: [f64; 16] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
const TENTHS: [f64; 16] =
    [1e0, 1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9, 1e-10, 1e-11, 1e-12, 1e-13, 1e-14, 1e-15];

/// Reads digits with at most one certain decimal mark, the form of nearly every cell of a table; `None` for the rest.
fn plain_decimal(text: &[u8], decimal: Option<Decimal>) -> Option<(f64, f64)> {
    let text = text.trim_ascii();
    let (negative, digits) = match text.split_first()? {
        (b'-', rest) => (true, rest),
        _ => (false, text),
    };
    // Fifteen digits fit a double exactly, and a power of ten below 1e22 does too: one division rounds correctly.
    if digits.len() > 16 {
        return None;
    }
    let mark = if decimal == Some(Decimal::Comma) { b',' } else { b'.' };
    let (mut whole, mut places, mut seen, mut marked) = (0_u64, 0_usize, 0_usize, false);
    for &byte in digits {
        match byte {
            b'0'..=b'9' => {
                whole = whole * 10 + u64::from(byte - b'0');
                seen += 1;
                places += usize::from(marked);
            }
            _ if byte == mark && !marked && seen > 0 => marked = true,
            _ => return None,
        }
    }
    if seen == 0 || seen > 15 || (marked && places == 0) {
        return None;
    }
    let value = whole as f64 / TENS[places];
    Some((if negative { -value } else { value }, TENTHS[places]))
}

/// Units that are written one after the other, and how many of the second make one of the first.
const PAIRS: [(Unit, Unit, u64); 2] = [(Unit::FOOT, Unit::INCH, 12), (Unit::POUND, Unit::OUNCE, 16)];

fn read_written(
    text: &str,
    dimension: Option<Dimension>,
    default: Option<Unit>,
    decimal: Option<Decimal>,
) -> Result<Read, ReadError> {
    let plain = plain_text(text);
    let mut plain = plain.as_str();
    if dimension == Some(Dimension::Length) {
        plain = plain.trim_start_matches(['Ø', 'ø', '⌀', ' ']);
    }
    let found = scan(plain)?;
    if found.rest.is_empty() {
        let unit = default.ok_or_else(|| ReadError::NoUnit {
            text: text.trim().to_owned(),
            fits: dimension.map(Dimension::symbols).unwrap_or_default(),
        })?;
        return valued(&found, unit, decimal, unit.dimension());
    }
    // `1 ft 2 in` is a pair, `1 ft2` an area: what stands before the second number tells them apart.
    let second = found.rest.find(starts_number).map(|at| found.rest.split_at(at));
    if let Some((first, second)) = second.filter(|(first, _)| first.ends_with(PAIR_ENDS))
        && let Some(read) = read_pair(&found, first, second, dimension, decimal)?
    {
        return Ok(read);
    }
    let unit = match (Unit::named(found.rest, dimension), second) {
        (Ok(unit), _) => unit,
        (Err(error), None) => return Err(error.into()),
        (Err(error), Some((first, second))) => {
            return match read_pair(&found, first, second, dimension, decimal)? {
                Some(read) => Ok(read),
                None => Err(error.into()),
            };
        }
    };
    valued(&found, unit, decimal, unit.dimension())
}

/// What may stand between the first unit of a pair and the second number.
const PAIR_ENDS: [char; 5] = [' ', '\'', '′', '’', '-'];

/// Reads `1′ 2-1/2″` and `1 lb 3 oz`; `None` where the text is no such pair.
fn read_pair(
    found: &Scan<'_>,
    first: &str,
    second: &str,
    dimension: Option<Dimension>,
    decimal: Option<Decimal>,
) -> Result<Option<Read>, ReadError> {
    let first = first.trim_end().trim_end_matches('-');
    let Ok(large) = Unit::named(first, dimension) else { return Ok(None) };
    let Some((_, small, times)) = PAIRS.into_iter().find(|(unit, _, _)| *unit == large) else {
        return Ok(None);
    };
    let Ok(rest) = scan(second) else { return Ok(None) };
    let pair = || ReadError::Malformed {
        text: format!("{first} {second}"),
        why: "after feet come inches and after pounds ounces, each with its mark, such as 1' 2\" or 1 lb 3 oz",
    };
    match Unit::named(rest.rest, Some(small.dimension())) {
        Ok(unit) if unit == small => {}
        // `1 ft 2` leaves the second unit open, and `lb/in2` is no pair at all.
        _ if rest.rest.is_empty() => return Err(pair()),
        Err(UnitError::Unknown { .. }) => return Ok(None),
        _ => return Err(pair()),
    }
    let large_read = valued(found, large, decimal, large.dimension())?;
    if large_read.fraction.is_some() || large_read.value.fract() != 0.0 || large_read.value.abs() > 1e9 {
        return Err(pair());
    }
    let small_read = valued(&rest, small, decimal, small.dimension())?;
    let sign = if found.negative { -1.0 } else { 1.0 };
    let carried = large_read.value.abs() as u64 * times;
    let value = sign * (carried as f64 + small_read.value);
    let resolution = small_read.resolution.expect("a number always has a last digit");
    let Some(part) = small_read.fraction else { return Ok(Some(Read::of(value, small, resolution, None))) };
    let mixed = Mixed { negative: found.negative, whole: Some(carried + part.whole.unwrap_or(0)), ..part };
    Ok(Some(Read::of(mixed.value(), small, resolution, Some(mixed))))
}

fn valued(
    found: &Scan<'_>,
    unit: Unit,
    decimal: Option<Decimal>,
    dimension: Dimension,
) -> Result<Read, ReadError> {
    match found.written {
        Written::Fraction(mixed) => {
            let mixed = Mixed { negative: found.negative, ..mixed };
            Ok(Read::of(mixed.value(), unit, 1.0 / mixed.denominator as f64, Some(mixed)))
        }
        Written::Figure { token, exponent } => {
            let figure = figure(token, exponent, decimal, dimension)?;
            let value = if found.negative { -figure.value } else { figure.value };
            Ok(Read::of(value, unit, figure.resolution, None))
        }
    }
}
