//! What the sound rows of a session say together: drift from its baselines, scatter between fittings.
//!
//! Drift is fitted with a straight line through the baselines, in `ln Q` over the order. That is coarser than the
//! recipe for verdicts, on purpose: a rule only has to see what a person should look at.

use super::desk::Desk;
use super::rule::Rule;
use super::shelf::Row;
use airshelf_catalog::{BaselineKind, PartKind, Purpose, Refit, Restraint, Service, Uuid};

/// One way to look at flow: as read, or at the set pressure.
pub(crate) struct View {
    /// `ln Q` of every sound row of the session's main group, less drift.
    pub ln_q: Vec<Option<f64>>,
    /// `ln Q` of the baseline in the middle, where there is one.
    pub ln_q0: Option<f64>,
    /// Change of `ln Q` of the baselines from one run to the next.
    pub slope: f64,
    /// Squares of the baselines' distances from their middle, in runs, summed.
    pub spread: f64,
}

/// What is compared with what: assembly, restraint, state of the element.
pub(crate) type Group = (Option<Uuid>, Option<Restraint>, Option<Service>);

pub(crate) struct Model {
    pub as_read: View,
    pub at_set: View,
    /// Scatter between fittings, of `ln Q` at set pressure, with its degrees of freedom.
    pub scatter: Option<(f64, f64)>,
    /// Rows of each fitting of each group, in order.
    pub groups: Vec<(Group, Vec<Vec<usize>>)>,
}

pub(crate) fn group_of(row: &Row) -> Group {
    (row.run.assembly, row.restraint, row.run.service)
}

impl Model {
    pub fn of(desk: &Desk) -> Model {
        let rows = desk.rows();
        let at_pressure = |r: &Row| match (desk.evening.set_pa, r.set.or(r.actual())) {
            (Some(set), Some(own)) => (own.si / set - 1.0).abs() <= 0.05,
            _ => true,
        };
        let usable = |i: usize| desk.sound(i) && at_pressure(&rows[i]);
        let baselines = main_baselines(desk, &usable);
        let view = |flow: &dyn Fn(&Row) -> Option<f64>| {
            let points: Vec<(f64, f64)> = baselines
                .iter()
                .filter_map(|&i| Some((rows[i].t, libm::log(flow(&rows[i]).filter(|f| *f > 0.0)?))))
                .collect();
            let line = straight(&points);
            let (slope, middle) = line.map_or((0.0, 0.0), |(_, slope, middle)| (slope, middle));
            let spread = points.iter().map(|p| (p.0 - middle).powi(2)).sum();
            let ln_q = (0..rows.len())
                .map(|i| {
                    let flow = flow(&rows[i]).filter(|f| *f > 0.0 && usable(i) && !rows[i].is_leakage())?;
                    Some(libm::log(flow) - slope * (rows[i].t - middle))
                })
                .collect();
            View { ln_q, ln_q0: line.map(|(at, ..)| at), slope, spread }
        };
        let as_read = view(&|r| r.flow_m3_s());
        let at_set = view(&|r| r.flow_at_set_m3_s());
        let groups = fittings(desk, &at_set);
        // A baseline read wrong tilts the line through them; what is left without the line shows whether it did.
        let flat = View { ln_q: undrifted(&at_set, rows), ..at_set };
        let scatter = [scatter(&groups, &at_set), scatter(&groups, &flat)]
            .into_iter()
            .flatten()
            .min_by(|a, b| a.0.total_cmp(&b.0));
        Model { as_read, at_set, scatter, groups }
    }

    /// Mean of the fittings' means of a group, and how many fittings there are.
    pub fn mean(&self, fittings: &[Vec<usize>]) -> Option<(f64, usize)> {
        let means: Vec<f64> = fittings.iter().filter_map(|f| mean_of(f, &self.at_set)).collect();
        (!means.is_empty()).then(|| (means.iter().sum::<f64>() / means.len() as f64, means.len()))
    }
}

/// `ln Q` with the drift left in.
fn undrifted(view: &View, rows: &[Row]) -> Vec<Option<f64>> {
    view.ln_q.iter().zip(rows).map(|(q, row)| q.map(|q| q + view.slope * row.t)).collect()
}

/// Baselines of the definition that most of the session's have.
fn main_baselines(desk: &Desk, usable: &impl Fn(usize) -> bool) -> Vec<usize> {
    let rows = desk.rows();
    type Terms = (Option<Uuid>, Option<Uuid>, Option<Uuid>);
    let mut groups: Vec<(Terms, Vec<usize>)> = Vec::new();
    for (i, row) in rows.iter().enumerate() {
        if !row.is(Purpose::Baseline) || !usable(i) || desk.has(i, Rule::BaselineUndefined) {
            continue;
        }
        let base = if row.run.baseline_kind == Some(BaselineKind::Bare) { None } else { row.run.assembly };
        let key = (base, row.item, row.range);
        match groups.iter_mut().find(|(k, _)| *k == key) {
            Some((_, at)) => at.push(i),
            None => groups.push((key, vec![i])),
        }
    }
    groups.into_iter().map(|(_, at)| at).max_by_key(Vec::len).unwrap_or_default()
}

/// Least-squares line: value in the middle, slope, and the middle.
fn straight(points: &[(f64, f64)]) -> Option<(f64, f64, f64)> {
    let n = points.len() as f64;
    if points.is_empty() {
        return None;
    }
    let (mx, my) = (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
    let sxx: f64 = points.iter().map(|p| (p.0 - mx).powi(2)).sum();
    let sxy: f64 = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum();
    Some((my, if sxx > 0.0 { sxy / sxx } else { 0.0 }, mx))
}

fn mean_of(fitting: &[usize], view: &View) -> Option<f64> {
    let values: Vec<f64> = fitting.iter().filter_map(|&i| view.ln_q[i]).collect();
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Consecutive rows of one assembly without a stated refit are one fitting.
fn fittings(desk: &Desk, view: &View) -> Vec<(Group, Vec<Vec<usize>>)> {
    let rows = desk.rows();
    let mut out: Vec<(Group, Vec<Vec<usize>>)> = Vec::new();
    let mut before: Option<Group> = None;
    for (i, row) in rows.iter().enumerate() {
        if desk.has_any(i, &[Rule::DuplicateRow, Rule::CopiedReading]) {
            continue;
        }
        let group = (row.is_test() && row.assembly.is_some()).then(|| group_of(row));
        if let Some(group) = group
            && view.ln_q[i].is_some()
        {
            let continues = before == Some(group) && row.run.refit != Some(Refit::Yes);
            let at = match out.iter().position(|(g, _)| *g == group) {
                Some(at) => at,
                None => {
                    out.push((group, Vec::new()));
                    out.len() - 1
                }
            };
            match out[at].1.last_mut() {
                Some(fitting) if continues => fitting.push(i),
                _ => out[at].1.push(vec![i]),
            }
        }
        before = group;
    }
    out
}

fn scatter(groups: &[(Group, Vec<Vec<usize>>)], view: &View) -> Option<(f64, f64)> {
    let (mut squares, mut freedom) = (0.0, 0.0);
    for (_, fittings) in groups {
        let means: Vec<f64> = fittings.iter().filter_map(|f| mean_of(f, view)).collect();
        if means.len() < 2 {
            continue;
        }
        let mean = means.iter().sum::<f64>() / means.len() as f64;
        squares += means.iter().map(|m| (m - mean).powi(2)).sum::<f64>();
        freedom += means.len() as f64 - 1.0;
    }
    (freedom >= 2.0).then(|| ((squares / freedom).sqrt(), freedom))
}

/// The parts of an assembly by kind, for telling what differs between two.
pub(crate) fn layers_by_kind(desk: &Desk, row: &Row) -> Vec<(Option<PartKind>, usize)> {
    let mut layers: Vec<_> =
        desk.shelf.layers(row).iter().map(|&(_, p)| (desk.shelf.parts[p].kind(), p)).collect();
    layers.sort_unstable();
    layers
}
