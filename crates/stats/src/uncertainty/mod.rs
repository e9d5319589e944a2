//! Uncertainty as the GUM states it: type A and type B, combined, expanded.

mod propagate;

pub use propagate::{Input, Propagated, combined, correlation_of, propagate, second_order};

use crate::distribution::student_factor;
use crate::error::{Result, StatsError, at_least};
use crate::summary::{mean, summary};

/// Shape of what is known about a quantity that was not repeated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Anywhere within ± a.
    Rectangular,
    /// Within ± a, the middle more likely, falling linearly.
    Triangular,
    /// Within ± a, the ends more likely (a swing back and forth).
    Arcsine,
    /// Shown in steps of a: rectangular, half a step to each side.
    Step,
}

/// Gives the standard uncertainty of a type B estimate from its half-width
/// (or step) `a`: a/√3, a/√6, a/√2, a/√12. In the unit of `a`.
///
/// # Errors
/// `OutOfRange` for a negative `a`.
///
/// Source: JCGM 100:2008 (GUM) 4.3.7, 4.3.9, F.2.2.1; arcsine JCGM 101:2008
/// 6.4.6 (clauses from memory).
pub fn type_b(a: f64, shape: Shape) -> Result<f64> {
    if a.is_nan() || a < 0.0 {
        return Err(StatsError::OutOfRange { name: "half-width", value: a });
    }
    let square: f64 = match shape {
        Shape::Rectangular => 3.0,
        Shape::Triangular => 6.0,
        Shape::Arcsine => 2.0,
        Shape::Step => 12.0,
    };
    Ok(a / square.sqrt())
}

/// Gives the effective degrees of freedom of a combined standard uncertainty:
/// ν = u_c⁴ / Σ u_i⁴/ν_i, over contributions u_i = |c_i| u(x_i) that do not
/// depend on each other. Infinite degrees of freedom are allowed.
///
/// # Errors
/// `Unequal` for lists of different length, `OutOfRange` for degrees of
/// freedom that are not positive.
///
/// Source: JCGM 100:2008 (GUM) G.4.1, equation (G.2b).
///
/// ```
/// let nu = airshelf_stats::uncertainty::welch_satterthwaite(&[0.25, 0.57, 0.82], &[9.0, 4.0, 14.0]);
/// assert!((nu.unwrap() - 18.998742).abs() < 1e-6);
/// ```
pub fn welch_satterthwaite(contributions: &[f64], degrees_of_freedom: &[f64]) -> Result<f64> {
    if contributions.len() != degrees_of_freedom.len() {
        return Err(StatsError::Unequal { left: contributions.len(), right: degrees_of_freedom.len() });
    }
    if let Some(&value) = degrees_of_freedom.iter().find(|nu| nu.is_nan() || **nu <= 0.0) {
        return Err(StatsError::OutOfRange { name: "degrees of freedom", value });
    }
    let square: f64 = contributions.iter().map(|u| u * u).sum();
    let shares: f64 = contributions.iter().zip(degrees_of_freedom).map(|(u, nu)| u.powi(4) / nu).sum();
    Ok(if shares > 0.0 { square * square / shares } else { f64::INFINITY })
}

/// An expanded uncertainty with what it was made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expanded {
    /// Coverage factor.
    pub factor: f64,
    /// Half-width of the interval, in the unit of the standard uncertainty.
    pub half_width: f64,
}

/// Expands a standard uncertainty: U = t_p(ν) u, with broken degrees of
/// freedom cut to the next lower whole number (18.9987 is 18), as the GUM
/// advises; below one they are kept.
///
/// # Errors
/// `OutOfRange` for a confidence outside (0, 1) or degrees of freedom that
/// are not positive.
///
/// Source: JCGM 100:2008 (GUM) G.4.1 and 6.2.1.
pub fn expanded(standard_uncertainty: f64, degrees_of_freedom: f64, confidence: f64) -> Result<Expanded> {
    // A sum that should be a whole number may end a rounding error below it.
    let whole = (degrees_of_freedom * (1.0 + 1e-12)).floor();
    let nu = if whole >= 1.0 { whole } else { degrees_of_freedom };
    let factor = student_factor(confidence, nu)?;
    Ok(Expanded { factor, half_width: factor * standard_uncertainty })
}

/// A pooled standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    /// √(Σ(n_i − 1)s_i² / Σ(n_i − 1)).
    pub standard_deviation: f64,
    /// Σ(n_i − 1).
    pub degrees_of_freedom: usize,
}

/// Pools standard deviations, each given with the number of values it is
/// from. One of a single value carries no information and is passed over.
///
/// # Errors
/// `TooFew` where no group has two values.
///
/// Source: JCGM 100:2008 (GUM) 4.2.4; NIST/SEMATECH e-Handbook 7.3.1.
pub fn pooled(groups: &[(f64, usize)]) -> Result<Pooled> {
    let (mut squares, mut degrees_of_freedom) = (0.0, 0);
    for (s, n) in groups.iter().filter(|(_, n)| *n > 1) {
        squares += (n - 1) as f64 * s * s;
        degrees_of_freedom += n - 1;
    }
    at_least(degrees_of_freedom, 1)?;
    Ok(Pooled { standard_deviation: (squares / degrees_of_freedom as f64).sqrt(), degrees_of_freedom })
}

/// Gives the correlation of the means of two quantities read together:
/// r = s(a, b)/(s(a) s(b)), −1 to 1.
///
/// # Errors
/// `Unequal` for lists of different length, `TooFew` below two, `Constant`
/// where one does not vary.
///
/// Source: JCGM 100:2008 (GUM) 5.2.2 and 5.2.3.
pub fn correlation(a: &[f64], b: &[f64]) -> Result<f64> {
    if a.len() != b.len() {
        return Err(StatsError::Unequal { left: a.len(), right: b.len() });
    }
    let spread = summary(a)?.standard_deviation * summary(b)?.standard_deviation;
    if spread == 0.0 {
        return Err(StatsError::Constant);
    }
    let (mean_a, mean_b) = (mean(a), mean(b));
    let shared: f64 = a.iter().zip(b).map(|(x, y)| (x - mean_a) * (y - mean_b)).sum();
    Ok((shared / ((a.len() - 1) as f64 * spread)).clamp(-1.0, 1.0))
}
