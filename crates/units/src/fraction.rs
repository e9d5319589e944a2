//! Fractions of an inch: as read, and the nearest one to a length.

use std::fmt;

/// A number written as a fraction, kept as written: `11/8` has no whole part, `1-3/8` has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Mixed {
    /// Whether a minus stands before it.
    pub negative: bool,
    /// The whole number before the fraction, where one is written.
    pub whole: Option<u64>,
    /// The number above the line.
    pub numerator: u64,
    /// The number below the line, never zero.
    pub denominator: u64,
}

impl Mixed {
    /// Gives the value, rounded once.
    pub fn value(self) -> f64 {
        let magnitude = match self.whole {
            None => self.numerator as f64 / self.denominator as f64,
            Some(whole) => {
                let top = u128::from(whole) * u128::from(self.denominator) + u128::from(self.numerator);
                top as f64 / self.denominator as f64
            }
        };
        if self.negative { -magnitude } else { magnitude }
    }

    /// Says whether it is written without a whole part and is one or more, such as `11/8`: often a dash got lost.
    pub fn is_improper(self) -> bool {
        self.whole.is_none() && self.numerator >= self.denominator
    }
}

impl fmt::Display for Mixed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.negative {
            f.write_str("-")?;
        }
        match self.whole {
            Some(whole) if self.numerator == 0 => write!(f, "{whole}"),
            Some(whole) => write!(f, "{whole}-{}/{}", self.numerator, self.denominator),
            None if self.numerator == 0 => f.write_str("0"),
            None => write!(f, "{}/{}", self.numerator, self.denominator),
        }
    }
}

/// A length in inches and a reduced fraction; prints as `2-15/16 in`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Fraction {
    /// The number of inches, reduced; prints without the unit.
    pub inches: Mixed,
    /// The number of parts before reduction (of the denominator asked for), signed.
    pub parts: i64,
}

impl fmt::Display for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} in", self.inches)
    }
}

/// Finds the fraction of an inch nearest to a length.
///
/// `parts = round(length / 0.0254 · denominator)`, then reduced; halves round away from zero. `length_m` in m, of either
/// sign, up to about 1e11 m; a denominator of 0 is taken as 1. A length that is not finite gives 0.
/// Source: inch = 25.4 mm exactly, NIST SP 811 (2008) App. B.8.
///
/// ```
/// use airshelf_units::nearest_fraction;
/// assert_eq!(nearest_fraction(0.0746125, 64).to_string(), "2-15/16 in");
/// assert_eq!(nearest_fraction(0.3556, 64).to_string(), "14 in");
/// ```
pub fn nearest_fraction(length_m: f64, denominator: u32) -> Fraction {
    let denominator = u64::from(denominator.max(1));
    // 25.4 mm exactly: mm·10/254 keeps common millimeter values exact where /0.0254 would not.
    let parts = (length_m * 1e4 / 254.0 * denominator as f64).round() as i64;
    let magnitude = parts.unsigned_abs();
    let (whole, numerator) = (magnitude / denominator, magnitude % denominator);
    let common = greatest_common_divisor(numerator, denominator);
    let inches = Mixed {
        negative: parts < 0,
        whole: (whole > 0 || numerator == 0).then_some(whole),
        numerator: numerator / common,
        denominator: denominator / common,
    };
    Fraction { inches, parts }
}

fn greatest_common_divisor(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}
