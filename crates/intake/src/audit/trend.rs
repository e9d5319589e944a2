//! Flow that follows the order of the runs: an element that dries, loads up or loosens.
//!
//! Kendall's score between order and flow less the bench's drift: over pairs of runs of one assembly, which sees it where
//! assemblies were run one after the other; and over all pairs, each flow less the mean of its own assembly, which sees it
//! where there are few runs of each. Drift is a line through few baselines; a trend no larger than that line's own error
//! is none.

use super::desk::Desk;
use super::evening::{Model, View};
use super::fault::Detail;
use super::rule::Rule;
use airshelf_stats::agreement::kendall;
use airshelf_stats::distribution::{normal_below, student_two_sided};

const SIGNIFICANT: f64 = 0.005;

pub(crate) fn check(desk: &mut Desk, model: &Model) {
    let groups: Vec<Vec<usize>> = model
        .groups
        .iter()
        .map(|(_, fittings)| fittings.iter().flatten().copied().collect::<Vec<_>>())
        .filter(|g| g.len() > 1)
        .collect();
    // Drift is the bench's: seen at set pressure, where the setting of the baselines does not blur it.
    let drift = model.at_set.slope;
    let at_set = points(desk, &groups, &model.at_set, drift);
    let Some(set) = at_set.score() else { return };
    let Some(read) = points(desk, &groups, &model.as_read, drift).score() else { return };
    let both = set.p < SIGNIFICANT && read.p < SIGNIFICANT && set.score.signum() == read.score.signum();
    let Some(beyond) = at_set.beyond_drift(model.at_set.spread).filter(|p| both && *p < SIGNIFICANT) else {
        return;
    };
    let mut rows: Vec<usize> = groups.into_iter().flatten().collect();
    rows.sort_unstable();
    let runs = rows.len();
    // The last run shows most of it.
    rows.rotate_right(1);
    let detail = Detail::Trend { score: set.score, pairs: set.pairs, p: set.p.max(beyond), runs };
    desk.report_over(&rows, Rule::OrderTrend, "flow", detail);
}

struct Score {
    score: i64,
    pairs: i64,
    p: f64,
}

/// Order and `ln Q`, each less the mean of its assembly.
struct Points {
    order: Vec<f64>,
    flow: Vec<f64>,
    /// Where each assembly's runs end.
    ends: Vec<usize>,
    /// Order less the mean order of its assembly.
    within: Vec<f64>,
    groups: usize,
}

fn points(desk: &Desk, groups: &[Vec<usize>], view: &View, drift: f64) -> Points {
    let rows = desk.rows();
    let mut out =
        Points { order: Vec::new(), flow: Vec::new(), ends: Vec::new(), within: Vec::new(), groups: 0 };
    for group in groups {
        let values: Vec<(f64, f64)> = group
            .iter()
            .filter_map(|&i| {
                let t = rows[i].t;
                Some((t, view.ln_q[i]? + (view.slope - drift) * t))
            })
            .collect();
        let n = values.len().max(1) as f64;
        let (mean_t, mean) =
            (values.iter().map(|v| v.0).sum::<f64>() / n, values.iter().map(|v| v.1).sum::<f64>() / n);
        out.groups += 1;
        for (t, y) in values {
            out.order.push(t);
            // Flows alike to the last digit are ties, whatever the arithmetic left behind it.
            out.flow.push(((y - mean) * 1e9).round() / 1e9);
            out.within.push(t - mean_t);
        }
        out.ends.push(out.order.len());
    }
    out
}

impl Points {
    /// Over all pairs; with several assemblies, the likelier of that and of pairs within them, at twice its `p` for having
    /// had two chances (Bonferroni).
    fn score(&self) -> Option<Score> {
        let found = kendall(&self.order, &self.flow).ok()?;
        let pairs = (self.order.len() * (self.order.len() - 1) / 2) as i64;
        let all = Score { score: (found.coefficient * pairs as f64).round() as i64, pairs, p: found.p };
        if self.groups < 2 {
            return Some(all);
        }
        let likelier = self.score_within().filter(|within| within.p < all.p).unwrap_or(all);
        Some(Score { p: (2.0 * likelier.p).min(1.0), ..likelier })
    }

    /// Scores of the assemblies summed, against the normal deviate, less one for a score that goes in steps of two:
    /// `p = 2·(1 − Φ((|S| − 1)/(Σ n(n − 1)(2n + 5)/18)^½))`, ties only making it less sure.
    /// Source: Hirsch, Slack and Smith 1982, *Techniques of trend analysis for monthly water quality data*, from memory.
    fn score_within(&self) -> Option<Score> {
        let (mut score, mut pairs, mut variance, mut from) = (0, 0, 0.0, 0);
        for &to in &self.ends {
            let n = to - from;
            for i in from..to {
                for j in i + 1..to {
                    let rises = self.flow[j].total_cmp(&self.flow[i]) as i64;
                    score += rises * self.order[j].total_cmp(&self.order[i]) as i64;
                    pairs += 1;
                }
            }
            variance += (n * n.saturating_sub(1) * (2 * n + 5)) as f64 / 18.0;
            from = to;
        }
        let deviate = ((score.abs() - 1).max(0)) as f64 / variance.sqrt();
        (variance > 0.0).then(|| Score { score, pairs, p: 2.0 * normal_below(-deviate) })
    }

    /// How likely chance makes a slope `b` as unlike the baselines' as this:
    /// `|b| / (s·(1/S_tests + 1/S_baselines)^½)` against Student's t, `s` the scatter about the slope and `S` the spreads
    /// of the order. From memory: the usual comparison of two slopes with one scatter.
    fn beyond_drift(&self, baselines_spread: f64) -> Option<f64> {
        let spread: f64 = self.within.iter().map(|t| t * t).sum();
        let freedom = self.flow.len() as f64 - self.groups as f64 - 1.0;
        if spread <= 0.0 || freedom < 1.0 {
            return None;
        }
        let slope = self.within.iter().zip(&self.flow).map(|(t, y)| t * y).sum::<f64>() / spread;
        let squares: f64 = self.within.iter().zip(&self.flow).map(|(t, y)| (y - slope * t).powi(2)).sum();
        // Without baselines nothing was taken off, and nothing is added.
        let line = if baselines_spread > 0.0 { 1.0 / baselines_spread } else { 0.0 };
        let error = (squares / freedom * (1.0 / spread + line)).sqrt();
        Some(student_two_sided(slope.abs() / error.max(1e-12), freedom))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(falls: [[f64; 4]; 3]) -> Points {
        let mut out =
            Points { order: Vec::new(), flow: Vec::new(), ends: Vec::new(), within: Vec::new(), groups: 3 };
        for flows in falls {
            for (at, flow) in flows.into_iter().enumerate() {
                out.order.push(out.order.len() as f64);
                out.flow.push(flow);
                out.within.push(at as f64 - 1.5);
            }
            out.ends.push(out.order.len());
        }
        out
    }

    #[test]
    fn assemblies_run_one_after_the_other_fall_each_by_itself() {
        let falling = points([[3.0, 1.0, -1.1, -2.9], [2.5, 0.9, -1.0, -2.4], [2.8, 1.2, -0.8, -3.2]]);
        let all = kendall(&falling.order, &falling.flow).unwrap();
        let found = falling.score().unwrap();
        assert!(all.p > SIGNIFICANT && found.p < SIGNIFICANT, "{} and {}", all.p, found.p);
        assert_eq!((found.score, found.pairs), (-18, 18));
        let steady = points([[0.1, -0.2, 0.2, -0.1], [-0.1, 0.2, -0.2, 0.1], [0.2, 0.1, -0.1, -0.2]]);
        assert!(steady.score().unwrap().p > 0.1);
    }
}
