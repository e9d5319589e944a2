//! Rank agreement: Kendall's tau-b and Spearman's rho.

use crate::distribution::{normal_below, student_two_sided};
use crate::error::{Result, StatsError, at_least};

/// Most pairs of values for which Kendall's p is counted out.
const EXACT_UP_TO: usize = 50;

/// A rank correlation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// From −1 to 1.
    pub coefficient: f64,
    /// Two-sided probability of one as large by chance.
    pub p: f64,
    /// How `p` was had.
    pub p_is: PValue,
}

/// How a p value was had.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PValue {
    /// All orders counted.
    Exact,
    /// Normal approximation with the variance for ties.
    Normal,
    /// Student's approximation with n − 2 degrees of freedom.
    Student,
}

/// Gives Kendall's tau-b: (C − D)/[(n₀ − n_x)(n₀ − n_y)]^½, C and D the
/// concordant and discordant pairs, n₀ all pairs, n_x and n_y those tied.
///
/// p is exact without ties up to 50 values, else normal with the variance for
/// ties (no continuity correction).
///
/// # Errors
/// `Unequal` for lists of different length, `TooFew` below two, `Constant`
/// where one list does not vary, `OutOfRange` for a value that is not a number.
///
/// Source: Kendall, *Rank Correlation Methods* (from memory); p checked against
/// `scipy.stats.kendalltau`.
///
/// ```
/// let tau = airshelf_stats::agreement::kendall(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 3.0]).unwrap();
/// assert!((tau.coefficient - 2.0 / 3.0).abs() < 1e-12);
/// ```
pub fn kendall(x: &[f64], y: &[f64]) -> Result<Agreement> {
    check(x, y)?;
    let n = x.len();
    let score: i64 = (0..n)
        .flat_map(|i| (0..i).map(move |j| (i, j)))
        .map(|(i, j)| order(x[i], x[j]) * order(y[i], y[j]))
        .sum();
    let all = (n * (n - 1) / 2) as f64;
    let (ties_x, ties_y) = (ties(x), ties(y));
    let pairs = |ties: &[f64]| ties.iter().map(|t| t * (t - 1.0) / 2.0).sum::<f64>();
    let free = (all - pairs(&ties_x)) * (all - pairs(&ties_y));
    if free <= 0.0 {
        return Err(StatsError::Constant);
    }
    let s = score as f64;
    let tied = ties_x.iter().chain(&ties_y).any(|t| *t > 1.0);
    let (p, p_is) = if !tied && n <= EXACT_UP_TO {
        (exact(n, score.unsigned_abs() as usize), PValue::Exact)
    } else {
        let z = s / variance(n as f64, &ties_x, &ties_y).sqrt();
        (2.0 * normal_below(-z.abs()), PValue::Normal)
    };
    Ok(Agreement { coefficient: s / free.sqrt(), p: p.min(1.0), p_is })
}

fn order(a: f64, b: f64) -> i64 {
    match a.total_cmp(&b) {
        _ if a == b => 0,
        std::cmp::Ordering::Less => -1,
        _ => 1,
    }
}

/// Sizes of the groups of equal values.
fn ties(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.chunk_by(|a, b| a == b).map(|group| group.len() as f64).collect()
}

/// Variance of C − D under chance, with ties.
fn variance(n: f64, x: &[f64], y: &[f64]) -> f64 {
    let sum = |ties: &[f64], of: &dyn Fn(f64) -> f64| ties.iter().map(|&t| of(t)).sum::<f64>();
    let first = |t: f64| t * (t - 1.0) * (2.0 * t + 5.0);
    let second = |t: f64| t * (t - 1.0);
    let third = |t: f64| t * (t - 1.0) * (t - 2.0);
    let mut v = (first(n) - sum(x, &first) - sum(y, &first)) / 18.0;
    v += sum(x, &second) * sum(y, &second) / (2.0 * n * (n - 1.0));
    if n > 2.0 {
        v += sum(x, &third) * sum(y, &third) / (9.0 * n * (n - 1.0) * (n - 2.0));
    }
    v
}

/// Share of all orders of `n` values whose |C − D| is at least `score`: the
/// number of orders with k inversions, built up one value at a time.
fn exact(n: usize, score: usize) -> f64 {
    let all = n * (n - 1) / 2;
    let mut share = vec![0.0; all + 1];
    share[0] = 1.0;
    let mut reach = 0;
    for i in 2..=n {
        reach += i - 1;
        // A sliding sum of the last i shares; all are positive, and the first to leave is the smallest there.
        let before = share[..=reach].to_vec();
        let mut window = 0.0;
        for k in 0..=reach {
            window += before[k];
            if k >= i {
                window -= before[k - i];
            }
            share[k] = window / i as f64;
        }
    }
    // C − D = all − 2 k, the same way round from either end.
    let most = (all - score) / 2;
    let tail: f64 = share[..=most].iter().sum();
    if score == 0 { 1.0 } else { (2.0 * tail).min(1.0) }
}

/// Gives Spearman's rho: the correlation of the ranks, ties sharing their mean
/// rank. p is Student's approximation, n − 2 degrees of freedom.
///
/// # Errors
/// `Unequal` for lists of different length, `TooFew` below three, `Constant`
/// where one list does not vary, `OutOfRange` for a value that is not a number.
///
/// Source: Spearman 1904, textbook, from memory.
pub fn spearman(x: &[f64], y: &[f64]) -> Result<Agreement> {
    check(x, y)?;
    at_least(x.len(), 3)?;
    let rho = crate::uncertainty::correlation(&ranks(x), &ranks(y))?;
    let nu = (x.len() - 2) as f64;
    let p = if rho.abs() >= 1.0 { 0.0 } else { student_two_sided(rho * (nu / (1.0 - rho * rho)).sqrt(), nu) };
    Ok(Agreement { coefficient: rho, p, p_is: PValue::Student })
}

fn ranks(values: &[f64]) -> Vec<f64> {
    values
        .iter()
        .map(|v| {
            let below = values.iter().filter(|w| *w < v).count() as f64;
            let same = values.iter().filter(|w| *w == v).count() as f64;
            below + (same + 1.0) / 2.0
        })
        .collect()
}

fn check(x: &[f64], y: &[f64]) -> Result<()> {
    if x.len() != y.len() {
        return Err(StatsError::Unequal { left: x.len(), right: y.len() });
    }
    at_least(x.len(), 2)?;
    match x.iter().chain(y).find(|v| v.is_nan()) {
        Some(&value) => Err(StatsError::OutOfRange { name: "value", value }),
        None => Ok(()),
    }
}
