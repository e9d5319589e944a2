//! Tests of differences: t tests, Holm's adjustment, Tukey-Kramer intervals.
//!
//! These are the textbook tests on plain lists. A group of fittings with
//! drift goes through [`crate::compare`].

use crate::distribution::{student_factor, student_two_sided};
use crate::error::{Result, StatsError, at_least};
use crate::studentized_range::StudentizedRange;
use crate::summary::{Summary, summary};

/// Outcome of a t test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TTest {
    /// Difference of the means, first less second, in the unit of the values.
    pub difference: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Student's t.
    pub t: f64,
    /// Degrees of freedom, possibly broken.
    pub degrees_of_freedom: f64,
    /// Two-sided probability of a larger t by chance.
    pub p: f64,
}

impl TTest {
    fn of(difference: f64, standard_uncertainty: f64, degrees_of_freedom: f64) -> Result<Self> {
        if standard_uncertainty == 0.0 {
            return Err(StatsError::Constant);
        }
        let t = difference / standard_uncertainty;
        let p = student_two_sided(t, degrees_of_freedom);
        Ok(Self { difference, standard_uncertainty, t, degrees_of_freedom, p })
    }

    /// Gives the interval of the difference.
    ///
    /// # Errors
    /// `OutOfRange` for a confidence outside (0, 1).
    pub fn interval(&self, confidence: f64) -> Result<(f64, f64)> {
        let half = student_factor(confidence, self.degrees_of_freedom)? * self.standard_uncertainty;
        Ok((self.difference - half, self.difference + half))
    }
}

/// Tests two means whose scatters may differ: u² = s_a²/n_a + s_b²/n_b,
/// degrees of freedom by Welch.
///
/// # Errors
/// `TooFew` below two values a side, `Constant` where neither side varies.
///
/// Source: Welch, *Biometrika* 34 (1947) 28; NIST/SEMATECH e-Handbook 1.3.5.3.
pub fn welch(a: &Summary, b: &Summary) -> Result<TTest> {
    let (ua2, ub2) = shares(a, b)?;
    let nu = (ua2 + ub2).powi(2) / (ua2 * ua2 / (a.count - 1) as f64 + ub2 * ub2 / (b.count - 1) as f64);
    TTest::of(a.mean - b.mean, (ua2 + ub2).sqrt(), nu)
}

/// Tests two means that share one scatter: s² pooled, n_a + n_b − 2 degrees
/// of freedom.
///
/// # Errors
/// As [`welch`].
///
/// Source: NIST/SEMATECH e-Handbook 1.3.5.3.
pub fn pooled(a: &Summary, b: &Summary) -> Result<TTest> {
    shares(a, b)?;
    let (na, nb) = (a.count as f64, b.count as f64);
    let nu = na + nb - 2.0;
    let s2 = ((na - 1.0) * a.standard_deviation.powi(2) + (nb - 1.0) * b.standard_deviation.powi(2)) / nu;
    TTest::of(a.mean - b.mean, (s2 * (1.0 / na + 1.0 / nb)).sqrt(), nu)
}

fn shares(a: &Summary, b: &Summary) -> Result<(f64, f64)> {
    at_least(a.count.min(b.count), 2)?;
    Ok((a.standard_uncertainty().powi(2), b.standard_uncertainty().powi(2)))
}

/// Tests values taken in pairs: one list of differences against zero.
///
/// # Errors
/// `Unequal` for lists of different length, `TooFew` below two pairs,
/// `Constant` where the differences do not vary.
///
/// Source: NIST/SEMATECH e-Handbook 7.3.1.1 (section from memory).
pub fn paired(a: &[f64], b: &[f64]) -> Result<TTest> {
    if a.len() != b.len() {
        return Err(StatsError::Unequal { left: a.len(), right: b.len() });
    }
    let differences: Vec<f64> = a.iter().zip(b).map(|(a, b)| a - b).collect();
    let found = summary(&differences)?;
    TTest::of(found.mean, found.standard_uncertainty(), (found.count - 1) as f64)
}

/// Adjusts p values for being looked at together: the i-th smallest times the
/// number not yet passed, never falling, at most one. In the order given.
///
/// Source: Holm, *Scandinavian Journal of Statistics* 6 (1979) 65.
#[must_use]
pub fn holm(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&i, &j| p[i].total_cmp(&p[j]));
    let mut adjusted = vec![0.0; p.len()];
    let mut most = 0.0_f64;
    for (rank, &i) in order.iter().enumerate() {
        most = most.max((p.len() - rank) as f64 * p[i]).min(1.0);
        adjusted[i] = most;
    }
    adjusted
}

/// One interval of a difference among several means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairInterval {
    /// Index of the group whose mean counts positive.
    pub of: usize,
    /// Index of the group whose mean is taken off.
    pub less: usize,
    /// Difference of the means.
    pub difference: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// Gives intervals for all differences between group means that hold at once:
/// ȳ_j − ȳ_i ± q_p(m, ν)/√2 · s (1/n_i + 1/n_j)^½, for every i < j.
///
/// # Errors
/// `TooFew` below two groups or without repeats, `OutOfRange` for a
/// confidence outside (0, 1).
///
/// Source: Tukey 1953; Kramer, *Biometrics* 12 (1956) 307; NIST/SEMATECH
/// e-Handbook 7.4.7.1.
pub fn tukey_kramer(groups: &[Vec<f64>], confidence: f64) -> Result<Vec<PairInterval>> {
    let analysed = crate::anova::one_way(groups)?;
    if let Some(empty) = groups.iter().find(|group| group.is_empty()) {
        at_least(empty.len(), 1)?;
    }
    let q = StudentizedRange::new(groups.len())?
        .quantile(confidence, analysed.within.degrees_of_freedom as f64)?;
    let mut intervals = Vec::new();
    for i in 0..groups.len() {
        for j in i + 1..groups.len() {
            let difference = crate::summary::mean(&groups[j]) - crate::summary::mean(&groups[i]);
            let share = 1.0 / groups[i].len() as f64 + 1.0 / groups[j].len() as f64;
            let half = q * std::f64::consts::FRAC_1_SQRT_2 * analysed.residual_sd * share.sqrt();
            intervals.push(PairInterval {
                of: j,
                less: i,
                difference,
                low: difference - half,
                high: difference + half,
            });
        }
    }
    Ok(intervals)
}
