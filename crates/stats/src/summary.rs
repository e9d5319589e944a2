//! Mean and standard deviation in two passes.

use crate::error::{Result, at_least};

/// Mean and standard deviation of one list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// How many values.
    pub count: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Experimental standard deviation, n − 1.
    pub standard_deviation: f64,
}

impl Summary {
    /// The standard uncertainty of the mean, s/√n (GUM 4.2.3).
    #[must_use]
    pub fn standard_uncertainty(&self) -> f64 {
        self.standard_deviation / (self.count as f64).sqrt()
    }
}

/// Gives mean and experimental standard deviation in two passes, after taking
/// off the first value: pressures in Pa keep their digits, where the
/// sum-of-squares shortcut has none left.
///
/// # Errors
/// `TooFew` below two values.
///
/// Source: JCGM 100:2008 (GUM) 4.2.1 and 4.2.2; accuracy held to NIST StRD
/// NumAcc3 and NumAcc4.
pub fn summary(values: &[f64]) -> Result<Summary> {
    at_least(values.len(), 2)?;
    let mean = mean(values);
    let n = values.len() as f64;
    Ok(Summary {
        count: values.len(),
        mean,
        standard_deviation: (scatter_about(values, mean) / (n - 1.0)).sqrt(),
    })
}

/// The mean, of values shifted by the first.
pub(crate) fn mean(values: &[f64]) -> f64 {
    let first = values.first().copied().unwrap_or(f64::NAN);
    first + values.iter().map(|v| v - first).sum::<f64>() / values.len() as f64
}

/// Sum of squares about `center`, with what rounding left of the mean taken off.
pub(crate) fn scatter_about(values: &[f64], center: f64) -> f64 {
    let n = values.len() as f64;
    let rest = values.iter().map(|v| v - center).sum::<f64>();
    values.iter().map(|v| (v - center).powi(2)).sum::<f64>() - rest * rest / n
}
