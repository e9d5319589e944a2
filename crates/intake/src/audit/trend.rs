//! Flow that follows the order of the runs: an element that dries, loads up or loosens.
//!
//! Kendall's score between order and flow, each flow less the mean of its own assembly, so that only changes within
//! assemblies count. Its distribution under no trend is exact where no two values are equal (counts of inversions),
//! else normal (M. G. Kendall, Rank Correlation Methods, 4th ed., chapters 4 and 5; from memory).

use super::desk::Desk;
use super::evening::{Model, View};
use super::fault::Detail;
use super::rule::Rule;

const SIGNIFICANT: f64 = 0.005;

pub(crate) fn check(desk: &mut Desk, model: &Model) {
    let groups: Vec<Vec<usize>> = model
        .groups
        .iter()
        .map(|(_, fittings)| fittings.iter().flatten().copied().collect::<Vec<_>>())
        .filter(|g| g.len() > 1)
        .collect();
    let Some(set) = score(desk, &groups, &model.at_set, true) else { return };
    if set.p >= SIGNIFICANT {
        return;
    }
    // The error of a fitted drift is a trend of its own, so that what is left must be there without the fit as well.
    for (view, less_drift) in [(&model.as_read, true), (&model.at_set, false)] {
        let Some(also) = score(desk, &groups, view, less_drift) else { return };
        if also.p >= SIGNIFICANT || also.score.signum() != set.score.signum() {
            return;
        }
    }
    let mut rows: Vec<usize> = groups.into_iter().flatten().collect();
    rows.sort_unstable();
    let runs = rows.len();
    // The last run shows most of it.
    rows.rotate_right(1);
    let detail = Detail::Trend { score: set.score, pairs: set.pairs, p: set.p, runs };
    desk.report_over(&rows, Rule::OrderTrend, "flow", detail);
}

struct Score {
    score: i64,
    pairs: i64,
    p: f64,
}

fn score(desk: &Desk, groups: &[Vec<usize>], view: &View, less_drift: bool) -> Option<Score> {
    let rows = desk.rows();
    let mut points: Vec<(f64, f64)> = Vec::new();
    for group in groups {
        let values: Vec<(f64, f64)> = group
            .iter()
            .filter_map(|&i| {
                let t = rows[i].t;
                Some((t, view.ln_q[i]? + if less_drift { 0.0 } else { view.slope * t }))
            })
            .collect();
        let mean = values.iter().map(|v| v.1).sum::<f64>() / values.len().max(1) as f64;
        points.extend(values.into_iter().map(|(t, y)| (t, y - mean)));
    }
    let (mut score, mut pairs, mut tied) = (0_i64, 0_i64, false);
    for (k, a) in points.iter().enumerate() {
        for b in &points[..k] {
            let way = (a.0 - b.0) * (a.1 - b.1);
            pairs += 1;
            tied |= a.0 == b.0 || (a.1 - b.1).abs() < 1e-9;
            score += i64::from(way > 0.0 && (a.1 - b.1).abs() >= 1e-9)
                - i64::from(way < 0.0 && (a.1 - b.1).abs() >= 1e-9);
        }
    }
    if pairs == 0 {
        return None;
    }
    let n = points.len() as f64;
    let variance = n * (n - 1.0) * (2.0 * n + 5.0) / 18.0;
    let z = ((score.abs() as f64) - 1.0).max(0.0) / variance.sqrt();
    // Far from significant, or of many runs: the normal approximation decides as well.
    let p = if z < 1.8 || tied || points.len() > 60 {
        two_sided_normal(z)
    } else {
        exact(points.len(), score.abs())
    };
    Some(Score { score, pairs, p })
}

/// Two-sided tail of the normal distribution (Abramowitz and Stegun 7.1.26, absolute error below 1.5e-7; from memory).
fn two_sided_normal(z: f64) -> f64 {
    let x = z / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let poly = t
        * (0.254_829_592
            + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    poly * (-x * x).exp()
}

/// Two-sided probability of a score at least this far from zero among `n` values, with every order equally likely.
fn exact(n: usize, score: i64) -> f64 {
    // Number of inversions of n items: the sum of uniform choices from 0..k for every k up to n.
    let mut shares = vec![1.0_f64];
    for k in 2..=n {
        let mut next = vec![0.0; shares.len() + k - 1];
        for (i, share) in shares.iter().enumerate() {
            for slot in &mut next[i..i + k] {
                *slot += share / k as f64;
            }
        }
        shares = next;
    }
    // Score = pairs − 2 · inversions; both tails.
    let pairs = (n * n.saturating_sub(1) / 2) as i64;
    let far = |inversions: usize| (pairs - 2 * inversions as i64).abs() >= score;
    shares.iter().enumerate().filter(|(i, _)| far(*i)).map(|(_, share)| share).sum::<f64>().min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nine_climbing_readings_are_one_order_in_nine_factorial() {
        assert!((exact(9, 36) - 2.0 / 362_880.0).abs() < 1e-12);
        assert!((exact(9, 0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_exact_tail_is_that_of_the_tables() {
        // Kendall, Rank Correlation Methods, appendix table 1, from memory: n = 4, S = 4: 0.167 one-sided.
        assert!((exact(4, 4) / 2.0 - 4.0 / 24.0).abs() < 1e-12);
    }

    #[test]
    fn the_normal_tail_is_that_of_the_tables() {
        assert!((two_sided_normal(1.959_964) - 0.05).abs() < 1e-5);
    }
}
