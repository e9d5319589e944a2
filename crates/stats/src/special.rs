//! Incomplete beta and gamma functions that come out the same on every machine.
//!
//! The well-kept libraries call the system's logarithm and exponential, whose last digits differ between machines, and a
//! phone would print another last digit than the desk. These stand on `libm` alone, which is the same code everywhere.

use libm::{exp, lgamma, log, log1p};

/// Where a fraction or a series has settled.
const SETTLED: f64 = 1.5 * f64::EPSILON;
/// What stands for zero in a denominator of a continued fraction.
const NEARLY_ZERO: f64 = f64::MIN_POSITIVE / f64::EPSILON;
/// No fraction or series here takes as many terms for up to 1e9 degrees of freedom.
const MOST_TERMS: u32 = 1_000_000;

/// Evaluates `1/(b₀ + a₁/(b₁ + a₂/(b₂ + …)))` by the method of Lentz as modified by Thompson and Barnett (Numerical
/// Recipes, 3rd edition, section 5.2; from memory). `term` gives `aₙ` and `bₙ`.
fn fraction(first: f64, term: impl Fn(u32) -> (f64, f64)) -> f64 {
    let away = |x: f64| if x.abs() < NEARLY_ZERO { NEARLY_ZERO } else { x };
    let mut value = away(first);
    let (mut c, mut d) = (value, 0.0);
    for n in 1..MOST_TERMS {
        let (a, b) = term(n);
        d = 1.0 / away(b + a * d);
        c = away(b + a / c);
        value *= c * d;
        if (c * d - 1.0).abs() <= SETTLED {
            break;
        }
    }
    1.0 / value
}

/// The regularized incomplete beta function I_x(a, b), for a, b > 0 and x in [0, 1].
///
/// NIST Digital Library of Mathematical Functions, 8.17.22 (its continued fraction) and 8.17.4 (its symmetry).
pub(crate) fn beta_below(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_below(b, a, 1.0 - x);
    }
    let front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a;
    front
        * fraction(1.0, |n| {
            let m = f64::from(n / 2);
            let above = if n.is_multiple_of(2) {
                m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m))
            } else {
                -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))
            };
            (above, 1.0)
        })
}

/// The regularized upper incomplete gamma function Q(a, x), for a > 0 and x ≥ 0.
///
/// NIST Digital Library of Mathematical Functions, 8.11.4 (series, for small x) and 8.9.2 (continued fraction).
pub(crate) fn gamma_above(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    let front = exp(a * log(x) - x - lgamma(a));
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0 / a, 1.0 / a);
        for n in 1..MOST_TERMS {
            term *= x / (a + f64::from(n));
            sum += term;
            if term <= SETTLED * sum {
                break;
            }
        }
        return 1.0 - front * sum;
    }
    // Every second convergent of 8.9.2.
    front
        * fraction(x + 1.0 - a, |n| {
            let n = f64::from(n);
            (n * (a - n), x + 2.0 * n + 1.0 - a)
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `betainc` and `gammainc` of mpmath 1.4.1, regularized, worked out with 40 digits.
    const BETAS: [(f64, f64, f64, f64); 7] = [
        (0.5, 2.0, 0.3, 0.739_425_452_631_974_2),
        (2.0, 0.5, 0.7, 0.260_574_547_368_025_7),
        (0.5, 0.5, 0.01, 0.063_768_560_858_519_85),
        (5.0, 3.5, 0.6, 0.510_467_781_024_145_4),
        (12.5, 0.5, 0.05, 8.831_789_211_195_063e-18),
        (60.0, 0.5, 0.93, 0.003_230_489_350_072_064),
        (500.0, 0.5, 0.99, 0.001_527_357_879_052_989),
    ];
    const GAMMAS: [(f64, f64, f64); 10] = [
        (0.5, 0.1, 0.654_720_846_018_577),
        (0.5, 1.9207, 0.050_001_754_033_908_36),
        (0.5, 20.0, 2.539_628_589_470_865e-10),
        (1.0, 0.5, 0.606_530_659_712_633_4),
        (7.5, 3.0, 0.979_747_746_717_813_4),
        (7.5, 14.0, 0.021_569_033_973_251_2),
        (60.0, 61.5, 0.407_096_591_667_675_87),
        (60.0, 100.0, 6.341_503_427_368_771e-6),
        (500.0, 480.0, 0.813_718_026_809_679_4),
        (0.5, 300.0, 1.674_167_984_691_788e-132),
    ];

    #[test]
    fn they_are_those_of_mpmath() {
        for (a, b, x, value) in BETAS {
            assert!(
                (beta_below(a, b, x) / value - 1.0).abs() < 4e-13,
                "{a} {b} {x}: {}",
                beta_below(a, b, x)
            );
        }
        for (a, x, value) in GAMMAS {
            assert!((gamma_above(a, x) / value - 1.0).abs() < 4e-13, "{a} {x}: {}", gamma_above(a, x));
        }
    }
}
