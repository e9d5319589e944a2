//! The studentized range: the largest less the smallest of `m` means, in
//! units of an independently estimated standard deviation.
//!
//! It sets the one limit that holds for every pair at once (Tukey 1953,
//! Kramer, *Biometrics* 12 (1956) 307).

use std::sync::OnceLock;

use crate::distribution::{RelativeScatter, increasing_root, integrate, normal_below, normal_density};
use crate::error::{Result, StatsError, at_least, probability};

/// Degrees of freedom from which the scatter counts as known: the quantile
/// then differs by less than 1e-6.
const AS_GOOD_AS_INFINITE: f64 = 1e7;

/// Steps of the range tabulated per unit.
const STEPS: usize = 32;
/// Where the range of up to ten thousand normal deviates ends for all purposes.
const LONGEST: usize = 16;
/// Half-width of the normal density that is integrated over.
const REACH: usize = 9;
/// Table steps between two points of the inner sum, 1/8: the summand is smooth
/// and falls off to nothing at both ends, where equal steps converge faster
/// than any power (about 1e-11 here for m = 1000).
const STRIDE: usize = 4;

/// The distribution of the studentized range of `m` means, with the range of
/// `m` normal deviates tabulated once, so that a quantile takes microseconds.
///
/// P(q; m, ν) = ∫ f_ν(s) R_m(q s) ds,
/// R_m(w) = m ∫ φ(z) [Φ(z) − Φ(z − w)]^(m−1) dz,
/// `f_ν` the density of √(χ²_ν/ν).
///
/// Range: m from 2 to 10 000, ν ≥ 1 and infinite, probabilities up to 0.9999;
/// checked to 1e-6 against published tables and `scipy.stats.studentized_range`.
///
/// ```
/// let range = airshelf_stats::studentized_range::StudentizedRange::new(4).unwrap();
/// assert!((range.quantile(0.95, 16.0).unwrap() - 4.0460930606).abs() < 1e-6);
/// ```
#[derive(Debug, Clone)]
pub struct StudentizedRange {
    means: usize,
    /// R_m and its slope, at every 1/STEPS.
    table: Vec<(f64, f64)>,
}

impl StudentizedRange {
    /// Tabulates the range of `means` normal deviates.
    ///
    /// # Errors
    /// `TooFew` below two means, `OutOfRange` above ten thousand.
    pub fn new(means: usize) -> Result<Self> {
        at_least(means, 2)?;
        if means > 10_000 {
            return Err(StatsError::OutOfRange { name: "means", value: means as f64 });
        }
        let (below, density) = normal_table();
        let m = means as f64;
        let power = means as i32 - 2;
        let step = STRIDE as f64 / STEPS as f64;
        let offset = LONGEST * STEPS;
        let table = (0..=LONGEST * STEPS)
            .map(|w| {
                let (mut at, mut slope) = (0.0, 0.0);
                for z in (offset..below.len()).step_by(STRIDE) {
                    let gap = below[z] - below[z - w];
                    let most = gap.powi(power);
                    at += density[z] * most * gap;
                    slope += density[z] * density[z - w] * most;
                }
                (m * step * at, m * (m - 1.0) * step * slope)
            })
            .collect();
        Ok(Self { means, table })
    }

    /// How many means are compared.
    #[must_use]
    pub fn means(&self) -> usize {
        self.means
    }

    /// Gives the probability that the range of `m` normal deviates of unit
    /// standard deviation stays below `w`.
    #[must_use]
    pub fn normal_range_below(&self, w: f64) -> f64 {
        if w <= 0.0 {
            return 0.0;
        }
        let place = w * STEPS as f64;
        let i = place as usize;
        if i + 1 >= self.table.len() {
            return 1.0;
        }
        // Cubic through two values and two slopes.
        let (x, h) = (place - i as f64, 1.0 / STEPS as f64);
        let ((y0, d0), (y1, d1)) = (self.table[i], self.table[i + 1]);
        let rise = y1 - y0;
        let (a, b) = (h * d0 - rise, rise - h * d1);
        y0 + x * rise + x * (1.0 - x) * (a * (1.0 - x) + b * x)
    }

    /// Gives the probability that the studentized range stays below `q`, with
    /// `nu` degrees of freedom of the scatter.
    ///
    /// # Errors
    /// `OutOfRange` below one degree of freedom.
    pub fn below(&self, q: f64, nu: f64) -> Result<f64> {
        if nu.is_nan() || nu < 1.0 {
            return Err(StatsError::OutOfRange { name: "degrees of freedom", value: nu });
        }
        if q <= 0.0 {
            return Ok(0.0);
        }
        if nu >= AS_GOOD_AS_INFINITE {
            return Ok(self.normal_range_below(q));
        }
        let scatter = RelativeScatter::new(nu)?;
        let (from, to) = scatter.span();
        // Beyond `end` the range is certain to be smaller.
        let end = LONGEST as f64 / q;
        let panel = (1.0 / (2.0 * nu).sqrt()).min(1.0 / q);
        let inside =
            integrate(from, to.min(end), panel, |s| scatter.density(s) * self.normal_range_below(q * s));
        Ok(if end < to { inside + scatter.above(end.max(from)) } else { inside })
    }

    /// Gives `q_p(m, ν)`, below which the studentized range stays with
    /// probability `p`.
    ///
    /// # Errors
    /// `OutOfRange` for `p` outside (0, 1) or below one degree of freedom.
    pub fn quantile(&self, p: f64, nu: f64) -> Result<f64> {
        probability("p", p)?;
        self.below(1.0, nu)?;
        let tail = libm::log(1.0 - p);
        Ok(increasing_root(
            |q| {
                let above = 1.0 - self.below(q, nu).expect("nu was checked above");
                tail - libm::log(above.max(1e-300))
            },
            3.0,
        ))
    }
}

/// Φ and φ at every 1/STEPS from −(REACH + LONGEST) to REACH.
fn normal_table() -> &'static (Vec<f64>, Vec<f64>) {
    static TABLE: OnceLock<(Vec<f64>, Vec<f64>)> = OnceLock::new();
    TABLE.get_or_init(|| {
        (0..=(2 * REACH + LONGEST) * STEPS)
            .map(|i| i as f64 / STEPS as f64 - (REACH + LONGEST) as f64)
            .map(|z| (normal_below(z), normal_density(z)))
            .unzip()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::distribution::student_factor;

    #[test]
    fn two_means_are_student() {
        let two = StudentizedRange::new(2).unwrap();
        for nu in [1.0, 2.0, 3.3, 10.0, 120.0, 1e5, f64::INFINITY] {
            let q = two.quantile(0.95, nu).unwrap();
            let t = student_factor(0.95, nu).unwrap();
            assert!((q / (t * std::f64::consts::SQRT_2) - 1.0).abs() < 1e-7, "{nu}: {q} {t}");
        }
    }

    #[test]
    fn the_quantile_falls_with_freedom_and_rises_with_means() {
        let mut before = 0.0;
        for m in [2, 3, 8, 30, 171, 1000] {
            let range = StudentizedRange::new(m).unwrap();
            let q: Vec<f64> =
                [1.0, 2.0, 5.0, 50.0, 1e4, 1e9].map(|nu| range.quantile(0.95, nu).unwrap()).into();
            assert!(q.windows(2).all(|w| w[0] > w[1]), "{m}: {q:?}");
            assert!(q[2] > before);
            before = q[2];
        }
    }

    #[test]
    fn below_one_degree_of_freedom_is_refused() {
        assert!(StudentizedRange::new(3).unwrap().quantile(0.95, 0.5).is_err());
        assert!(StudentizedRange::new(1).is_err());
    }
}
