//! The least-squares fit of one group: a mean for every subject and the drift
//! they share.
//!
//! y = α_subject + Σ δ_k φ_k(t) + ε. Taking every subject's mean off the rows
//! leaves a problem with at most three columns, which QR solves; the means
//! follow. That is the same solution as the QR of the whole table, at a cost
//! that does not grow with the square of the number of assemblies:
//!
//! G_ij = [i = j]/n_i + φ̄_iᵀ V φ̄_j with V = (Φ_cᵀ Φ_c)⁻¹, and with Q_S the
//! rows S of assemblies of the thin Q of Φ_c,
//! tr M_SS = n_S − m_S − tr(Q_SᵀQ_S),
//! Σ(M_SS)² = n_S − m_S − 2 tr(Q_SᵀQ_S) + ‖Q_SᵀQ_S‖².
//!
//! What nothing but a hand held says nothing of drift and scatter: its rows of Φ_c are zero and not among S.

use nalgebra::DMatrix;
use std::collections::BTreeSet;

use super::fitting::{Group, LeftOut, Placing, Subject};
use crate::drift::{MOST_HATS, hats, hats_for, nodes};

/// Where the baselines stand in the evening.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bracket {
    /// A baseline before the first and after the last assembly.
    Both,
    /// None after the last assembly.
    EndMissing,
    /// None before the first assembly.
    StartMissing,
    /// None at either end, some between.
    EndsMissing,
    /// None at all: pairs are compared, losses refused.
    NoBaseline,
}

/// One subject's mean over its fittings.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Side {
    pub(crate) fittings: usize,
    /// ln flow at the set pressure, drift taken off to the middle of the session.
    pub(crate) alpha: f64,
    pub(crate) phi: [f64; MOST_HATS],
    pub(crate) ln_ratio: f64,
    pub(crate) part_to_meter: f64,
    pub(crate) range_factor: f64,
    /// `None` where its fittings were on several ranges.
    pub(crate) range: Option<u32>,
    /// How much a bow of one in the drift shifts `alpha`.
    pub(crate) bow: f64,
}

/// The fit.
#[derive(Debug, Clone)]
pub(crate) struct Fit {
    /// The baseline, then the assemblies.
    pub(crate) sides: Vec<Side>,
    /// V, the inverse of Φ_cᵀΦ_c.
    pub(crate) drift_inverse: [[f64; MOST_HATS]; MOST_HATS],
    /// Change of ln flow along each hat.
    pub(crate) drift: [f64; MOST_HATS],
    /// Hat functions that the rows could tell from the assemblies.
    pub(crate) hats: usize,
    /// Change of ln flow from the first row to the last.
    pub(crate) total_drift: f64,
    pub(crate) hats_planned: usize,
    pub(crate) bracket: Bracket,
    /// tr M_SS and Σ(M_SS)² over the rows of assemblies, and r_Sᵀr_S.
    pub(crate) trace: f64,
    pub(crate) squares: f64,
    pub(crate) residual: f64,
    pub(crate) left_out: Vec<LeftOut>,
}

struct Row {
    side: usize,
    /// Whether its repeats say how the bench drifts: not where nothing but a hand held it.
    held: bool,
    /// Whether they say how the bench repeats: those of a baseline do not either.
    in_s: bool,
    when: f64,
    y: f64,
    ln_ratio: f64,
    index: usize,
}

impl Fit {
    /// φ̄-part of G_ii + G_jj − 2 G_ij: what the drift costs a difference.
    pub(crate) fn drift_share(&self, i: &Side, j: &Side) -> f64 {
        let mut sum = 0.0;
        for a in 0..self.hats {
            for b in 0..self.hats {
                sum += (i.phi[a] - j.phi[a]) * self.drift_inverse[a][b] * (i.phi[b] - j.phi[b]);
            }
        }
        sum
    }

    /// Fits the group; `None` where no fitting can be used.
    pub(crate) fn of(group: &Group) -> Option<Self> {
        let (mut rows, mut left_out) = (Vec::new(), Vec::new());
        let mut count = 1;
        for (index, fitting) in group.fittings.iter().enumerate() {
            count = count.max(fitting.subject.side() + 1);
            match group.ln_flow(fitting) {
                Ok((y, ln_ratio)) => {
                    let side = fitting.subject.side();
                    let held = match fitting.subject {
                        Subject::Baseline => true,
                        Subject::Assembly(number) => group.placing_of(number) != Placing::Never,
                    };
                    rows.push(Row {
                        side,
                        held,
                        in_s: held && side > 0,
                        when: fitting.when,
                        y,
                        ln_ratio,
                        index,
                    });
                }
                Err(because) => left_out.push(LeftOut { fitting: index, because }),
            }
        }
        rows.sort_by(|a, b| a.when.total_cmp(&b.when));
        let (start, end) = (rows.first()?.when, rows.last()?.when);
        let span = if end > start { end - start } else { 1.0 };
        for row in &mut rows {
            row.when = (row.when - start) / span;
        }
        let end = (end - start) / span;

        let mut sides = vec![Side::default(); count];
        average(group, &rows, &mut sides);

        let groups = baseline_groups(&rows);
        let hats_planned = hats_for(groups.len());
        let plan =
            (1..=hats_planned).rev().find_map(|k| Drift::of(&rows, &sides, &nodes(&groups, k, 0.0, end)));
        let mut fit = Self {
            sides,
            drift_inverse: [[0.0; MOST_HATS]; MOST_HATS],
            drift: [0.0; MOST_HATS],
            hats: 0,
            total_drift: 0.0,
            hats_planned,
            bracket: bracket(&rows),
            trace: 0.0,
            squares: 0.0,
            residual: 0.0,
            left_out,
        };
        fit.settle(&rows, plan);
        Some(fit)
    }

    /// Takes the drift off the means and adds up the residuals.
    fn settle(&mut self, rows: &[Row], plan: Option<Drift>) {
        let in_s = rows.iter().filter(|row| row.in_s);
        let means: BTreeSet<usize> = in_s.clone().map(|row| row.side).collect();
        let free = (in_s.count() - means.len()) as f64;
        (self.trace, self.squares) = (free, free);
        let mut own = vec![[0.0; MOST_HATS]; rows.len()];
        if let Some(plan) = plan {
            self.hats = plan.hats;
            self.drift_inverse = plan.inverse;
            self.drift = plan.slope;
            self.trace -= plan.trace_s;
            self.squares += plan.squares_s - 2.0 * plan.trace_s;
            own = plan.phi;
            self.total_drift = dot(&self.drift, &own[rows.len() - 1]) - dot(&self.drift, &own[0]);
            for (side, (phi, bow)) in self.sides.iter_mut().zip(plan.means.iter().zip(&plan.bow)) {
                side.phi = *phi;
                side.bow = *bow;
                side.alpha -= dot(&self.drift, phi);
            }
        }
        for (row, phi) in rows.iter().zip(&own) {
            if row.in_s {
                let r = row.y - self.sides[row.side].alpha - dot(&self.drift, phi);
                self.residual += r * r;
            }
        }
    }
}

fn dot(a: &[f64; MOST_HATS], b: &[f64; MOST_HATS]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn average(group: &Group, rows: &[Row], sides: &mut [Side]) {
    for row in rows {
        let side = &mut sides[row.side];
        let type_b = group.fittings[row.index].type_b;
        if side.fittings == 0 {
            side.range = Some(type_b.range);
        } else if side.range != Some(type_b.range) {
            side.range = None;
        }
        side.fittings += 1;
        side.alpha += row.y;
        side.ln_ratio += row.ln_ratio;
        side.part_to_meter += type_b.part_to_meter;
        side.range_factor = side.range_factor.max(type_b.range_factor);
    }
    for side in sides.iter_mut().filter(|side| side.fittings > 0) {
        let n = side.fittings as f64;
        side.alpha /= n;
        side.ln_ratio /= n;
        side.part_to_meter /= n;
    }
}

/// Mean times of the runs of consecutive baselines.
fn baseline_groups(rows: &[Row]) -> Vec<f64> {
    rows.chunk_by(|a, b| (a.side == 0) == (b.side == 0))
        .filter(|chunk| chunk[0].side == Subject::Baseline.side())
        .map(|chunk| chunk.iter().map(|row| row.when).sum::<f64>() / chunk.len() as f64)
        .collect()
}

fn bracket(rows: &[Row]) -> Bracket {
    if rows.iter().all(|row| row.side > 0) {
        return Bracket::NoBaseline;
    }
    let starts = rows.first().is_some_and(|row| row.side == 0);
    let ends = rows.last().is_some_and(|row| row.side == 0);
    match (starts, ends) {
        (true, true) => Bracket::Both,
        (true, false) => Bracket::EndMissing,
        (false, true) => Bracket::StartMissing,
        (false, false) => Bracket::EndsMissing,
    }
}

/// The drift columns, solved.
struct Drift {
    hats: usize,
    /// Centered hat functions of every row, and their means over each side.
    phi: Vec<[f64; MOST_HATS]>,
    means: Vec<[f64; MOST_HATS]>,
    slope: [f64; MOST_HATS],
    inverse: [[f64; MOST_HATS]; MOST_HATS],
    trace_s: f64,
    squares_s: f64,
    bow: Vec<f64>,
}

impl Drift {
    /// `None` where these nodes cannot be told from the subjects' means.
    fn of(rows: &[Row], sides: &[Side], nodes: &[f64]) -> Option<Self> {
        let hats_here = nodes.len() - 1;
        if rows.len() <= hats_here || nodes.windows(2).any(|w| w[1] - w[0] < 1e-9) {
            return None;
        }
        let mut phi: Vec<[f64; MOST_HATS]> = rows.iter().map(|row| hats(nodes, row.when)).collect();
        let n = rows.len() as f64;
        for k in 0..hats_here {
            let mean = phi.iter().map(|p| p[k]).sum::<f64>() / n;
            phi.iter_mut().for_each(|p| p[k] -= mean);
        }
        let bows: Vec<f64> = rows.iter().map(|row| 4.0 * row.when * (1.0 - row.when)).collect();
        let mut means = vec![[0.0; MOST_HATS]; sides.len()];
        let mut bow = vec![0.0; sides.len()];
        for ((row, p), b) in rows.iter().zip(&phi).zip(&bows) {
            let n = sides[row.side].fittings as f64;
            for k in 0..hats_here {
                means[row.side][k] += p[k] / n;
            }
            bow[row.side] += b / n;
        }
        let within = DMatrix::from_fn(rows.len(), hats_here, |r, k| match rows[r].held {
            true => phi[r][k] - means[rows[r].side][k],
            false => 0.0,
        });
        let scale = phi.iter().flatten().fold(0.0_f64, |most, v| most.max(v.abs()));
        let decomposed = within.qr();
        let (q, r) = (decomposed.q(), decomposed.r());
        if (0..hats_here).any(|k| r[(k, k)].abs() <= 1e-7 * scale) {
            return None;
        }
        let r_inverse = r.try_inverse()?;
        // Qᵀ times the rows: the means drop out, Q being centered by side.
        let project = |of: &dyn Fn(usize) -> f64| {
            let mut slope = [0.0; MOST_HATS];
            for (k, slope) in slope.iter_mut().enumerate().take(hats_here) {
                for l in k..hats_here {
                    let along: f64 = (0..rows.len()).map(|i| q[(i, l)] * of(i)).sum();
                    *slope += r_inverse[(k, l)] * along;
                }
            }
            slope
        };
        let slope = project(&|i| rows[i].y - sides[rows[i].side].alpha);
        let bow_slope = project(&|i| bows[i]);
        for (bow, mean) in bow.iter_mut().zip(&means) {
            *bow -= dot(&bow_slope, mean);
        }
        let v = &r_inverse * r_inverse.transpose();
        let mut inverse = [[0.0; MOST_HATS]; MOST_HATS];
        let (mut trace_s, mut squares_s) = (0.0, 0.0);
        for a in 0..hats_here {
            for b in 0..hats_here {
                inverse[a][b] = v[(a, b)];
                let in_s: f64 =
                    (0..rows.len()).filter(|&i| rows[i].in_s).map(|i| q[(i, a)] * q[(i, b)]).sum();
                squares_s += in_s * in_s;
                if a == b {
                    trace_s += in_s;
                }
            }
        }
        Some(Self { hats: hats_here, phi, means, slope, inverse, trace_s, squares_s, bow })
    }
}
