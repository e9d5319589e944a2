//! Flow that follows the order of the runs: an element that dries, loads up or loosens.
//!
//! Kendall's score between order and flow, each flow less the mean of its own assembly, so that only changes within
//! assemblies count.

use super::desk::Desk;
use super::evening::{Model, View};
use super::fault::Detail;
use super::rule::Rule;
use airshelf_stats::agreement::kendall;

const SIGNIFICANT: f64 = 0.005;

pub(crate) fn check(desk: &mut Desk, model: &Model) {
    let groups: Vec<Vec<usize>> = model
        .groups
        .iter()
        .map(|(_, fittings)| fittings.iter().flatten().copied().collect::<Vec<_>>())
        .filter(|g| g.len() > 1)
        .collect();
    let drift = model.at_set.slope;
    let Some(set) = score(desk, &groups, &model.at_set, drift) else { return };
    if set.p >= SIGNIFICANT {
        return;
    }
    // The error of a fitted drift is a trend of its own, so that what is left must be there without the fit as well.
    // Drift is the bench's: seen at set pressure, where the setting of the baselines does not blur it.
    for (view, drift) in [(&model.as_read, drift), (&model.at_set, 0.0)] {
        let Some(also) = score(desk, &groups, view, drift) else { return };
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

fn score(desk: &Desk, groups: &[Vec<usize>], view: &View, drift: f64) -> Option<Score> {
    let rows = desk.rows();
    let mut points: Vec<(f64, f64)> = Vec::new();
    for group in groups {
        let values: Vec<(f64, f64)> = group
            .iter()
            .filter_map(|&i| {
                let t = rows[i].t;
                Some((t, view.ln_q[i]? + (view.slope - drift) * t))
            })
            .collect();
        let mean = values.iter().map(|v| v.1).sum::<f64>() / values.len().max(1) as f64;
        // Flows alike to the last digit are ties, whatever the arithmetic left behind it.
        points.extend(values.into_iter().map(|(t, y)| (t, ((y - mean) * 1e9).round())));
    }
    let (order, flow): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
    let found = kendall(&order, &flow).ok()?;
    let pairs = (order.len() * (order.len() - 1) / 2) as i64;
    Some(Score { score: (found.coefficient * pairs as f64).round() as i64, pairs, p: found.p })
}
