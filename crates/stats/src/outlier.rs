//! Grubbs's test: is the largest or the smallest value out of line?

use crate::distribution::student_factor;
use crate::error::{Result, StatsError, at_least, probability};
use crate::summary::summary;

/// Which end is tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The largest value.
    Upper,
    /// The smallest value.
    Lower,
    /// Whichever lies further out.
    Either,
}

/// Outcome of the test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grubbs {
    /// Distance of the value from the mean, in standard deviations.
    pub g: f64,
    /// The distance that chance alone exceeds with probability `alpha`.
    pub critical: f64,
    /// Where the value stands in the list.
    pub index: usize,
}

impl Grubbs {
    /// Whether it is out of line. It is a reason to look again, never one to
    /// drop a reading.
    #[must_use]
    pub fn is_outlier(&self) -> bool {
        self.g > self.critical
    }
}

/// Tests the value furthest out: G = |y − ȳ|/s against
/// (n − 1)/√n · [t²/(n − 2 + t²)]^½, t the upper α/n (either end α/2n) point of
/// Student's distribution with n − 2 degrees of freedom.
///
/// Range: n ≥ 3, normally distributed but for the one value.
///
/// # Errors
/// `TooFew` below three values, `Constant` where they do not vary,
/// `OutOfRange` for `alpha` outside (0, 1).
///
/// Source: Grubbs, *Technometrics* 11 (1969) 1; NIST/SEMATECH e-Handbook
/// 1.3.5.17.1.
pub fn grubbs(values: &[f64], end: End, alpha: f64) -> Result<Grubbs> {
    at_least(values.len(), 3)?;
    probability("alpha", alpha)?;
    let found = summary(values)?;
    if found.standard_deviation == 0.0 {
        return Err(StatsError::Constant);
    }
    let outward = |v: f64| match end {
        End::Upper => v - found.mean,
        End::Lower => found.mean - v,
        End::Either => (v - found.mean).abs(),
    };
    let index = (0..values.len())
        .max_by(|&i, &j| outward(values[i]).total_cmp(&outward(values[j])))
        .expect("there are three values");
    let n = values.len() as f64;
    // The two-sided factor holds 1 − 2 × the upper tail.
    let tails = if end == End::Either { alpha / n } else { 2.0 * alpha / n };
    let t2 = student_factor(1.0 - tails, n - 2.0)?.powi(2);
    Ok(Grubbs {
        g: outward(values[index]) / found.standard_deviation,
        critical: (n - 1.0) / n.sqrt() * (t2 / (n - 2.0 + t2)).sqrt(),
        index,
    })
}
