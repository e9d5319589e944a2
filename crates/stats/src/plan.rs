//! Planning: how many fittings it takes, what they could show, and what more
//! of them would settle.

use crate::distribution::{RelativeScatter, integrate, normal_below, student_factor, student_two_sided};
use crate::error::{Result, StatsError, positive, probability};

/// Most repeats that [`repeats_to_resolve`] looks for.
const MOST_REPEATS: usize = 1_000_000;

/// Finds the fewest repeats of each of two parts that resolve a difference
/// with the power asked for, two-sided t test with pooled scatter.
///
/// Power = P(|t'| > t_p(2n − 2)) with t' noncentral, δ = (Δ/s) (n/2)^½.
/// `difference` and `scatter` in one unit, both above zero.
///
/// # Errors
/// `OutOfRange` for numbers outside their range, or where more than a million
/// repeats would be needed.
///
/// Source: Cohen 1988, table 2.3.5 (from memory), checked against
/// `statsmodels` `TTestIndPower`.
///
/// ```
/// assert_eq!(airshelf_stats::plan::repeats_to_resolve(1.0, 1.0, 0.95, 0.8).unwrap(), 17);
/// ```
pub fn repeats_to_resolve(difference: f64, scatter: f64, confidence: f64, power: f64) -> Result<usize> {
    let ratio = positive("difference", difference)? / positive("scatter", scatter)?;
    probability("confidence", confidence)?;
    probability("power", power)?;
    let reaches = |n: usize| Ok::<_, StatsError>(power_of(ratio, n, confidence)? >= power);
    let mut enough = 2;
    while !reaches(enough)? {
        enough *= 2;
        if enough > MOST_REPEATS {
            return Err(StatsError::OutOfRange { name: "difference over scatter", value: ratio });
        }
    }
    let mut short = enough / 2;
    while enough - short > 1 {
        let middle = usize::midpoint(short, enough);
        if reaches(middle)? { enough = middle } else { short = middle }
    }
    Ok(enough)
}

/// Gives the chance of resolving a difference with `n` repeats each;
/// `ratio` is difference over scatter. See [`repeats_to_resolve`].
///
/// # Errors
/// `TooFew` below two repeats, `OutOfRange` for a confidence outside (0, 1).
pub fn power_of(ratio: f64, n: usize, confidence: f64) -> Result<f64> {
    crate::error::at_least(n, 2)?;
    let nu = 2.0 * (n - 1) as f64;
    let critical = student_factor(confidence, nu)?;
    noncentral_beyond(critical, nu, ratio * (0.5 * n as f64).sqrt())
}

/// P(|t'| > critical), t' noncentral with shift δ: the normal tail averaged
/// over the scatter's own distribution.
fn noncentral_beyond(critical: f64, nu: f64, shift: f64) -> Result<f64> {
    let scatter = RelativeScatter::new(nu)?;
    let (from, to) = scatter.span();
    let panel = (1.0 / (2.0 * nu).sqrt()).min(0.5 / critical.max(0.5));
    Ok(integrate(from, to, panel, |s| {
        scatter.density(s) * (normal_below(shift - critical * s) + normal_below(-shift - critical * s))
    })
    .clamp(0.0, 1.0))
}

/// Gives the least difference of two means of `repeats` each that the bench
/// can resolve: t_p(2n − 2) s (2/n)^½, in the unit of `scatter`.
///
/// # Errors
/// `TooFew` below two repeats, `OutOfRange` for a scatter that is not
/// positive or a confidence outside (0, 1).
///
/// Source: the least significant difference of two means, textbook.
pub fn resolvable_difference(scatter: f64, repeats: usize, confidence: f64) -> Result<f64> {
    crate::error::at_least(repeats, 2)?;
    positive("scatter", scatter)?;
    let n = repeats as f64;
    Ok(student_factor(confidence, 2.0 * (n - 1.0))? * scatter * (2.0 / n).sqrt())
}

/// Gives the scatter below which a difference of two means would be real:
/// |Δ| / [factor (1/n_a + 1/n_b)^½], `factor` the multiplier of the standard
/// uncertainty. In the unit of `difference`.
///
/// # Errors
/// `TooFew` for no repeats, `OutOfRange` for a factor that is not positive.
pub fn break_even_scatter(difference: f64, repeats: (usize, usize), factor: f64) -> Result<f64> {
    crate::error::at_least(repeats.0.min(repeats.1), 1)?;
    let share = 1.0 / repeats.0 as f64 + 1.0 / repeats.1 as f64;
    Ok(difference.abs() / (positive("factor", factor)? * share.sqrt()))
}

/// How a difference stands now. Differences and scatter in ln flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// The difference found.
    pub difference: f64,
    /// Standard deviation of one fitting.
    pub scatter: f64,
    /// Degrees of freedom of the scatter.
    pub degrees_of_freedom: f64,
    /// Fittings of either side.
    pub fittings: (usize, usize),
    /// What the drift adds to 1/n_a + 1/n_b; more fittings are taken to leave
    /// it as it is.
    pub drift_share: f64,
    /// Variance that no repeat takes away.
    pub type_b_variance: f64,
}

/// So many more fittings, and the chance that they settle it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Further {
    /// More fittings of each of the two sides.
    pub more_each: usize,
    /// The chance that they resolve the difference.
    pub chance: f64,
}

/// Gives the chance that `more_each` more fittings of either side resolve a
/// difference.
///
/// With nothing known beforehand, the difference found after them is spread
/// around the present one by (u_now² − u_after²)^½ times Student's t; the
/// chance is the part of it beyond ± factor(ν_after)·u_after, where ν_after
/// counts the new fittings. `factor(ν)` is the multiplier of the standard
/// uncertainty, so q/√2 or t.
///
/// Where the number just brings the limit to the present difference, the
/// chance is about one half.
///
/// # Errors
/// `TooFew` for no fittings, `OutOfRange` for a scatter that is not positive
/// or degrees of freedom that are not positive.
///
/// Source: predictive distribution under a flat prior, from memory.
pub fn chance_after(standing: &Standing, more_each: usize, factor: impl Fn(f64) -> f64) -> Result<f64> {
    let (a, b) = standing.fittings;
    crate::error::at_least(a.min(b), 1)?;
    let s2 = positive("scatter", standing.scatter)?.powi(2);
    let nu = standing.degrees_of_freedom;
    if nu.is_nan() || nu <= 0.0 {
        return Err(StatsError::OutOfRange { name: "degrees of freedom", value: nu });
    }
    let share = |more: usize| 1.0 / (a + more) as f64 + 1.0 / (b + more) as f64 + standing.drift_share;
    let after = (s2 * share(more_each) + standing.type_b_variance).sqrt();
    let limit = factor(nu + 2.0 * more_each as f64) * after;
    let spread = (s2 * (share(0) - share(more_each))).sqrt();
    let beyond = |distance: f64| {
        if spread == 0.0 {
            return if distance < 0.0 { 1.0 } else { 0.0 };
        }
        let tail = 0.5 * student_two_sided(distance / spread, nu);
        if distance >= 0.0 { tail } else { 1.0 - tail }
    };
    let d = standing.difference.abs();
    Ok((beyond(limit - d) + beyond(limit + d)).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_that_just_reaches_is_about_even() {
        let standing = Standing {
            difference: 0.004,
            scatter: 0.004,
            degrees_of_freedom: 16.0,
            fittings: (3, 3),
            drift_share: 0.0,
            type_b_variance: 0.0,
        };
        // Multiplier chosen so that the limit after six more is the difference.
        let factor = 0.004 / (0.004 * (2.0_f64 / 9.0).sqrt());
        let chance = chance_after(&standing, 6, |_| factor).unwrap();
        assert!((chance - 0.5).abs() < 0.02, "{chance}");
        assert!(chance_after(&standing, 60, |_| factor).unwrap() > 0.6);
    }

    #[test]
    fn without_more_fittings_the_chance_is_what_it_is() {
        let mut standing = Standing {
            difference: 0.01,
            scatter: 0.004,
            degrees_of_freedom: 16.0,
            fittings: (3, 3),
            drift_share: 0.0,
            type_b_variance: 0.0,
        };
        assert_eq!(chance_after(&standing, 0, |_| 2.0).unwrap(), 1.0);
        standing.difference = 0.001;
        assert_eq!(chance_after(&standing, 0, |_| 2.0).unwrap(), 0.0);
    }

    #[test]
    fn power_without_a_difference_is_the_error_rate() {
        assert!((power_of(0.0, 5, 0.95).unwrap() - 0.05).abs() < 1e-9);
    }
}
