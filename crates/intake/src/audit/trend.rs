//! Flow that follows the order of the runs: an element that dries, loads up or loosens.
//!
//! Kendall's score within each assembly, summed over the assemblies; its distribution under no trend is exact where no
//! two flows are equal (the convolution of the inversion counts), else normal with the correction for ties
//! (M. G. Kendall, Rank Correlation Methods, 4th ed., chapters 4 and 5; from memory).

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
    let Some(set) = score(desk, &groups, &model.at_set) else { return };
    if set.p >= SIGNIFICANT {
        return;
    }
    let Some(read) = score(desk, &groups, &model.as_read) else { return };
    if read.p >= SIGNIFICANT || read.score.signum() != set.score.signum() {
        return;
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

fn score(desk: &Desk, groups: &[Vec<usize>], view: &View) -> Option<Score> {
    let rows = desk.rows();
    let (mut score, mut pairs, mut variance, mut tied) = (0_i64, 0_i64, 0.0, false);
    for group in groups {
        let mut values: Vec<f64> = Vec::with_capacity(group.len());
        for (k, &i) in group.iter().enumerate() {
            let y = view.ln_q[i]?;
            for (j, &x) in values.iter().enumerate() {
                if rows[group[j]].t == rows[group[k]].t {
                    continue;
                }
                pairs += 1;
                let difference = y - x;
                if difference.abs() < 1e-9 {
                    tied = true;
                } else {
                    score += if difference > 0.0 { 1 } else { -1 };
                }
            }
            values.push(y);
        }
        let n = group.len() as f64;
        variance += n * (n - 1.0) * (2.0 * n + 5.0) / 18.0;
    }
    if pairs == 0 {
        return None;
    }
    let z = ((score.abs() as f64) - 1.0).max(0.0) / variance.sqrt();
    // Far from significant by the normal approximation: no need to count exactly.
    let p = if z < 1.8 || tied { two_sided_normal(z) } else { exact(groups, score.abs()) };
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

/// Two-sided probability of a score at least this far from zero, with every order equally likely.
fn exact(groups: &[Vec<usize>], score: i64) -> f64 {
    // Number of inversions of n items: the product of uniform choices 0..k for k < n.
    let mut counts = vec![1.0_f64];
    let mut most = 0_usize;
    for group in groups {
        for k in 2..=group.len() {
            let mut next = vec![0.0; counts.len() + k - 1];
            for (i, c) in counts.iter().enumerate() {
                for slot in &mut next[i..i + k] {
                    *slot += c / k as f64;
                }
            }
            counts = next;
            most += k - 1;
        }
    }
    // Score = pairs − 2 · inversions; both tails.
    let pairs = most as i64;
    let tail: f64 = counts
        .iter()
        .enumerate()
        .filter(|(inversions, _)| (pairs - 2 * *inversions as i64).abs() >= score)
        .map(|(_, c)| c)
        .sum();
    tail.min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nine_climbing_readings_are_one_order_in_nine_factorial() {
        let p = exact(&[(0..9).collect()], 36);
        assert!((p - 2.0 / 362_880.0).abs() < 1e-12);
    }

    #[test]
    fn three_stacks_of_four_add_their_scores() {
        let groups = vec![vec![0, 1, 2, 3], vec![4, 5, 6, 7], vec![8, 9, 10, 11]];
        assert!((exact(&groups, 18) - 2.0 / 24f64.powi(3)).abs() < 1e-12);
        assert!((exact(&groups, 0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_normal_tail_is_that_of_the_tables() {
        assert!((two_sided_normal(1.959_964) - 0.05).abs() < 1e-5);
    }
}
