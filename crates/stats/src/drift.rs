//! Drift of the bench through an evening, seen by its baselines.

use crate::error::{Result, StatsError, positive};

/// Most hat functions a drift is given.
pub(crate) const MOST_HATS: usize = 3;

/// The baseline as it stood at a run, and the run brought back to a reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bracketed {
    /// Baseline flow at the time of the run, m³/s.
    pub baseline_m3_s: f64,
    /// The run's flow times reference over baseline, m³/s.
    pub corrected_m3_s: f64,
    /// Weight of the later baseline; the earlier one has the rest.
    pub weight: f64,
}

/// Corrects one run for the drift between two baselines.
///
/// B(t) = B₀ + w (B₁ − B₀), w = (t − t₀)/(t₁ − t₀); Q·B_ref/B(t).
/// Baselines and run as (flow m³/s, time in any unit). This is the hand
/// calculation; [`crate::compare`] fits drift and assemblies together.
///
/// Range: t₀ ≤ t ≤ t₁, t₀ < t₁, flows above zero.
///
/// # Errors
/// `Unbracketed` for a run outside the two baselines, `OutOfRange` for a flow
/// that is not positive or baselines at one time.
///
/// Source: linear interpolation; NIST/SEMATECH e-Handbook 2.3.3 on designs
/// that take drift out.
///
/// ```
/// let run = airshelf_stats::drift::bracket((900.0, 0.0), (894.0, 60.0), (846.0, 20.0), 900.0).unwrap();
/// assert_eq!(run.baseline_m3_s, 898.0);
/// ```
pub fn bracket(
    before: (f64, f64),
    after: (f64, f64),
    run: (f64, f64),
    reference_m3_s: f64,
) -> Result<Bracketed> {
    for flow in [before.0, after.0, run.0, reference_m3_s] {
        positive("flow", flow)?;
    }
    let span = positive("time between baselines", after.1 - before.1)?;
    let weight = (run.1 - before.1) / span;
    if !(0.0..=1.0).contains(&weight) {
        return Err(StatsError::Unbracketed);
    }
    let baseline_m3_s = before.0 + weight * (after.0 - before.0);
    Ok(Bracketed { baseline_m3_s, corrected_m3_s: run.0 * reference_m3_s / baseline_m3_s, weight })
}

/// Says how many hat functions the plan of an evening allows: one for up to
/// three groups of baselines, two for four or five, three for six and more.
/// Fixed by the plan and never by the fit.
#[must_use]
pub fn hats_for(baseline_groups: usize) -> usize {
    match baseline_groups {
        0..=3 => 1,
        4 | 5 => 2,
        _ => MOST_HATS,
    }
}

/// Spreads `hats + 1` nodes evenly over the baseline groups, by their count,
/// between the first and the last; over `first..last` where there are fewer
/// than two groups. `groups` in rising order.
pub(crate) fn nodes(groups: &[f64], hats: usize, first: f64, last: f64) -> Vec<f64> {
    let ends = [first, last];
    let at = if groups.len() < 2 || groups[0] == groups[groups.len() - 1] { &ends[..] } else { groups };
    (0..=hats)
        .map(|k| {
            let place = k as f64 * (at.len() - 1) as f64 / hats as f64;
            let i = (place as usize).min(at.len() - 2);
            at[i] + (place - i as f64) * (at[i + 1] - at[i])
        })
        .collect()
}

/// Values at `t` of the hat functions of every node but the first, continued
/// linearly outside the nodes. (The first is one less their sum; the
/// assemblies' means stand for it.)
pub(crate) fn hats(nodes: &[f64], t: f64) -> [f64; MOST_HATS] {
    let mut value = [0.0; MOST_HATS];
    let last = nodes.len() - 1;
    let i = (1..last).filter(|&k| t >= nodes[k]).count();
    let share = (t - nodes[i]) / (nodes[i + 1] - nodes[i]);
    if i > 0 {
        value[i - 1] = 1.0 - share;
    }
    value[i] = share;
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hats_are_continuous_at_their_nodes_and_linear_outside() {
        let x = [0.0, 1.0, 3.0, 4.0];
        for node in x {
            let (below, above) = (hats(&x, node - 1e-9), hats(&x, node + 1e-9));
            assert!(below.iter().zip(above).all(|(a, b)| (a - b).abs() < 1e-8));
        }
        let (near, far) = (hats(&x, 5.0), hats(&x, 6.0));
        assert_eq!([near[1], near[2]], [-1.0, 2.0]);
        assert_eq!([far[1], far[2]], [-2.0, 3.0]);
    }

    #[test]
    fn nodes_take_in_the_first_and_the_last_baseline() {
        assert_eq!(nodes(&[1.0, 4.0, 9.0, 11.0], 2, 0.0, 12.0), [1.0, 6.5, 11.0]);
        assert_eq!(nodes(&[3.0], 1, 0.0, 12.0), [0.0, 12.0]);
        assert_eq!(nodes(&[], 1, 0.0, 12.0), [0.0, 12.0]);
    }
}
