//! What the runs of an evening ask of the statistics.

use crate::fittings::{Comparable, Fitted, Subject};
use airshelf_catalog::{Records, Restraint};
use airshelf_stats::compare as stats;
use std::collections::BTreeMap;

/// The group as `airshelf_stats` takes it, and who its subjects are.
pub(super) fn question(
    group: &Comparable,
    records: &Records,
    dont_care: Option<f64>,
) -> (stats::Group, Vec<Subject>) {
    let mut subjects: Vec<Subject> = Vec::new();
    let mut index: BTreeMap<Subject, usize> = BTreeMap::new();
    let mut fittings = Vec::new();
    let mut step: Option<f64> = None;
    for fitted in &group.fittings {
        let subject = match fitted.subject {
            None => stats::Subject::Baseline,
            Some(subject) => stats::Subject::Assembly(*index.entry(subject).or_insert_with(|| {
                subjects.push(subject);
                subjects.len() - 1
            })),
        };
        fittings.extend(stats::mean_of(&readings_of(fitted, subject)));
        step = fitted
            .readings
            .iter()
            .filter_map(|r| r.step_m3_s)
            .fold(step, |s, x| Some(s.map_or(x, |s: f64| s.min(x))));
    }
    let mut question = stats::Group::new(group.set_pressure_pa, fittings);
    question.placing = subjects.iter().map(|s| placing(s.restraint)).collect();
    question.leakage = leakage(group);
    question.dont_care_percent = dont_care.map(|ratio| 100.0 * ratio);
    let range = group.terms.range.and_then(|id| records.bench_ranges.iter().find(|r| r.id == id));
    question.flow_step_m3_s = range.and_then(|r| r.step.as_ref()).map(|q| q.si).or(step);
    question.stated_scatter = range
        .and_then(|r| r.stated_scatter.as_ref())
        .map(|q| stats::StatedScatter { scatter: q.si, degrees_of_freedom: None });
    (question, subjects)
}

fn readings_of(fitted: &Fitted, subject: stats::Subject) -> Vec<stats::Fitting> {
    fitted
        .readings
        .iter()
        .map(|reading| stats::Fitting {
            subject,
            when: reading.when,
            flow_m3_s: reading.flow_m3_s,
            actual_pressure_pa: reading.actual_pa,
            readings: 1,
            type_b: stats::TypeB::default(),
        })
        .collect()
}

/// The mean of the leakage readings; a page that took leakage off already has none.
pub(super) fn leakage(group: &Comparable) -> Option<stats::Leakage> {
    let n = group.leakage.len() as f64;
    if n == 0.0 {
        return None;
    }
    let at: Option<Vec<f64>> = group.leakage.iter().map(|(_, p)| *p).collect();
    Some(stats::Leakage {
        flow_m3_s: group.leakage.iter().map(|(q, _)| q).sum::<f64>() / n,
        at_pressure_pa: at.map(|p| p.iter().sum::<f64>() / n),
    })
}

fn placing(restraint: Option<Restraint>) -> stats::Placing {
    match restraint {
        Some(Restraint::Fastened) => stats::Placing::Placed,
        Some(Restraint::Taped) => stats::Placing::PlacedIfRefitted,
        None => stats::Placing::Marked,
        Some(Restraint::HandHeld | Restraint::None | Restraint::Lost) => stats::Placing::Never,
    }
}
