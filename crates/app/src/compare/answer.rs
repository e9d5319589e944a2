//! What the statistics answer, as a report.

use super::question::leakage;
use super::{BreathingEngine, Setting};
use crate::fittings::{Baseline, Comparable, Evening, Subject};
use crate::names::{Names, for_person};
use crate::report::{
    AssemblyReport, BaselineReport, GroupReport, LeakageReport, LeftOutReport, PairReport, Repeatability,
    SessionReport, SweepReport,
};
use crate::sentences;
use airshelf_catalog::{Records, Uuid};
use airshelf_flow::air::Air;
use airshelf_flow::engine::part_effect;
use airshelf_flow::leakage::{HIGHEST_EXPONENT, LOWEST_EXPONENT, USUAL_EXPONENT};
use airshelf_flow::restriction::Restriction;
use airshelf_flow::sweep;
use airshelf_stats::compare as stats;
use airshelf_units::System;
use std::collections::HashMap;

/// Beyond this many pairs, how many more fittings each would need is left to a question about one of them.
const MOST_PLANNED_PAIRS: usize = 600;

pub(super) fn group_report(
    group: &Comparable,
    answer: &stats::Comparison,
    subjects: &[Subject],
    setting: &Setting,
    open: bool,
) -> GroupReport {
    let mut order: Vec<usize> = (0..subjects.len()).filter(|&i| answer.assemblies[i].fittings > 0).collect();
    let flow = |i: usize| answer.assemblies[i].flow_m3_s.map_or(0.0, |q| q.value);
    order.sort_by(|&i, &j| flow(j).total_cmp(&flow(i)));
    let restriction = |i: usize| item_and_part(group, answer, i);
    let report = |&i: &usize| AssemblyReport {
        runs: runs_of(group, Some(subjects[i])),
        ..assembly_report(answer, subjects[i], i, setting, restriction(i))
    };
    let mut assemblies: Vec<AssemblyReport> = order.iter().map(report).collect();
    name(&mut assemblies);
    let scatter = answer.repeatability;
    let silent = open || setting.asked.no_pairs;
    let pairs = if silent { Vec::new() } else { pair_reports(answer, &order, &assemblies, setting) };
    let break_even = scatter.scatter.is_none().then(|| break_even(answer, &order)).flatten();
    GroupReport {
        item: group.terms.item.map(|id| setting.names.revision(id)),
        range: range_name(group, setting.records, setting.asked.system.unwrap_or(System::Us)),
        direction: group.terms.direction.name(),
        set_pressure_pa: group.set_pressure_pa,
        baseline: answer.baseline.map(|baseline| BaselineReport {
            definition: match group.terms.baseline {
                Baseline::With(base) => format!("with {}", setting.names.assembly(Some(base))),
                _ => "bare".into(),
            },
            fittings: baseline.fittings,
            flow_m3_s: baseline.flow_m3_s.value,
            low_m3_s: baseline.flow_m3_s.limits.map(|l| l.0),
            high_m3_s: baseline.flow_m3_s.limits.map(|l| l.1),
            runs: runs_of(group, None),
        }),
        leakage: leakage(group).map(|leak| LeakageReport {
            flow_m3_s: leak.flow_m3_s,
            at_pressure_pa: leak.at_pressure_pa,
            exponent: USUAL_EXPONENT,
            exponent_low: LOWEST_EXPONENT,
            exponent_high: HIGHEST_EXPONENT,
        }),
        repeatability: Repeatability {
            scatter_percent: scatter.scatter_percent(),
            degrees_of_freedom: scatter
                .scatter
                .map(|_| scatter.degrees_of_freedom)
                .filter(|nu| nu.is_finite()),
            from: match scatter.from {
                stats::ScatterFrom::Session => "session",
                stats::ScatterFrom::History => "history",
                stats::ScatterFrom::Stated => "stated",
                stats::ScatterFrom::None => "none",
            },
        },
        resolvable_percent: answer.resolvable_percent,
        break_even_scatter_percent: break_even,
        marks: marks(group, answer, open, &assemblies),
        assemblies,
        pairs,
    }
}

/// The runs that fitted a subject, in their order; a page's stated baseline has none.
fn runs_of(group: &Comparable, subject: Option<Subject>) -> Vec<Uuid> {
    let mut runs: Vec<Uuid> = group
        .fittings
        .iter()
        .filter(|fitted| fitted.subject == subject)
        .flat_map(|fitted| fitted.readings.iter().map(|reading| reading.run))
        .collect();
    runs.dedup();
    runs
}

/// The scatter below which the largest difference on the page would be real.
fn break_even(answer: &stats::Comparison, order: &[usize]) -> Option<f64> {
    let (first, last) = (*order.first()?, *order.last()?);
    let (a, b) = (stats::Subject::Assembly(first), stats::Subject::Assembly(last));
    let other = if first == last { stats::Subject::Baseline } else { b };
    Some(answer.pair(a, other)?.break_even_scatter_percent).filter(|s| *s > 0.0)
}

fn marks(
    group: &Comparable,
    answer: &stats::Comparison,
    open: bool,
    assemblies: &[AssemblyReport],
) -> Vec<&'static str> {
    let beyond = assemblies.iter().any(|a| a.engine_air_loss_low_percent != a.engine_air_loss_high_percent);
    let one_end = answer.baseline.is_some() && !group.unordered && answer.bracket != stats::Bracket::Both;
    let coarse = answer.repeatability.scatter.is_some_and(|s| {
        let step =
            group.fittings.iter().flat_map(|f| &f.readings).filter_map(|r| Some(r.step_m3_s? / r.flow_m3_s));
        step.fold(0.0, f64::max) * 0.3 > s
    });
    [
        (open, "open-session"),
        (answer.baseline.is_none(), "no-baseline"),
        (group.leakage_left_out, "leakage-left-out"),
        (one_end, "one-end-baseline"),
        (group.set_pressure_pa.is_none(), "no-pressure"),
        (answer.repeatability.few_evenings, "few-evenings"),
        (coarse, "coarse-meter"),
        (beyond, "beyond-tested-flow"),
        (answer.repeatability.stated_contradicted, "stated-contradicted"),
        (answer.repeatability.scatter.is_none(), "no-scatter"),
        (!open && answer.best_is_flattered && answer.repeatability.scatter.is_some(), "flattered"),
    ]
    .into_iter()
    .filter_map(|(holds, mark)| holds.then_some(mark))
    .collect()
}

fn range_name(group: &Comparable, records: &Records, system: System) -> Option<String> {
    let range = records.bench_ranges.iter().find(|r| Some(r.id) == group.terms.range)?;
    let bench = records.benches.iter().find(|b| Some(b.id) == range.bench).and_then(|b| b.name.as_deref());
    let scale = range.full_scale.as_ref().map(|scale| for_person(scale, system));
    Some([bench, scale.as_deref()].into_iter().flatten().collect::<Vec<_>>().join(", "))
}

/// The carburetor and the assembly's parts as restrictions, for an engine to breathe through.
fn item_and_part(
    group: &Comparable,
    answer: &stats::Comparison,
    index: usize,
) -> Option<(Restriction, Restriction)> {
    let density = Air::reference().density_kg_m3();
    let item =
        Restriction::of_item(answer.baseline?.flow_m3_s.value, group.set_pressure_pa?, density).ok()?;
    let result = &answer.assemblies[index];
    let part = Restriction {
        k_pa_s2_m6: result.k_pa_s2_m6?.value,
        reference_density_kg_m3: density,
        tested_flow_m3_s: result.flow_m3_s?.value,
    };
    Some((item, part))
}

fn assembly_report(
    answer: &stats::Comparison,
    subject: Subject,
    index: usize,
    setting: &Setting,
    restriction: Option<(Restriction, Restriction)>,
) -> AssemblyReport {
    let result = &answer.assemblies[index];
    let low = |e: Option<stats::Estimate>| Some(e?.limits?.0);
    let high = |e: Option<stats::Estimate>| Some(e?.limits?.1);
    let value = |e: Option<stats::Estimate>| Some(e?.value);
    let effect = setting.breathing.zip(restriction).and_then(|(engine, (item, part))| {
        part_effect(&engine.engine, &engine.air, Some(&item), Some(&part)).ok()
    });
    AssemblyReport {
        id: subject.assembly,
        parts: setting.names.parts(subject.assembly),
        restraint: subject.restraint.map(|r| r.name()),
        service: subject.service.map(|s| s.name()),
        fittings: result.fittings,
        loss_percent: value(result.loss_percent),
        loss_low_percent: low(result.loss_percent),
        loss_high_percent: high(result.loss_percent),
        flow_m3_s: result.flow_m3_s.map_or(0.0, |q| q.value),
        loss_m3_s: value(result.loss_m3_s),
        loss_low_m3_s: low(result.loss_m3_s),
        loss_high_m3_s: high(result.loss_m3_s),
        pressure_drop_pa: value(result.pressure_drop_pa),
        k_pa_s2_m6: value(result.k_pa_s2_m6),
        entry_gain: result.finding == stats::Finding::EntryGain,
        place: result.place,
        placed: result.placed,
        why_not: match result.why_not {
            Some(stats::WhyNot::NotHeld) => subject.restraint.map(|r| r.name()),
            Some(stats::WhyNot::TapedWithoutRefits) => Some("taped"),
            Some(stats::WhyNot::NoScatter) => Some("no-scatter"),
            Some(stats::WhyNot::NoFitting) => Some("no-fitting"),
            None => result.marked.then_some("unstated"),
        },
        engine_air_loss_percent: effect.as_ref().map(|e| 100.0 * e.air_loss),
        engine_air_loss_low_percent: effect.as_ref().map(|e| 100.0 * e.air_loss_low),
        engine_air_loss_high_percent: effect.as_ref().map(|e| 100.0 * e.air_loss_high),
        engine_same_as_warmer_low_k: effect.as_ref().map(|e| e.same_as_warmer_low_k),
        engine_same_as_warmer_high_k: effect.as_ref().map(|e| e.same_as_warmer_high_k),
        k_limits: result.k_pa_s2_m6.and_then(|k| k.limits),
        runs: Vec::new(),
        called: String::new(),
    }
}

fn pair_reports(
    answer: &stats::Comparison,
    order: &[usize],
    assemblies: &[AssemblyReport],
    setting: &Setting,
) -> Vec<PairReport> {
    let count = order.len() * order.len().saturating_sub(1) / 2;
    let mut reports = Vec::with_capacity(count);
    for a in 0..order.len() {
        for b in a + 1..order.len() {
            let of = |i: usize| stats::Subject::Assembly(order[i]);
            let Some(pair) = answer.pair(of(a), of(b)) else { continue };
            let further = if count <= MOST_PLANNED_PAIRS { answer.further(&pair, 0.8) } else { None };
            let verdict = pair.verdict.map(|v| match v {
                stats::Verdict::AMore => "a_more",
                stats::Verdict::BMore => "b_more",
                stats::Verdict::NotResolved => "not_resolved",
                stats::Verdict::Equivalent => "equivalent",
            });
            let engine = engine_half(setting.breathing, &assemblies[a], &assemblies[b]);
            let sentence = sentences::pair(
                &sentences::Pair {
                    a: &assemblies[a].called,
                    b: &assemblies[b].called,
                    difference_percent: pair.difference_percent,
                    of_flow_m3_s: assemblies[b].flow_m3_s,
                    resolvable_percent: pair.resolvable_percent,
                    verdict,
                    dont_care_percent: setting.dont_care.map(|ratio| 100.0 * ratio),
                    smaller_than_dont_care: pair.smaller_than_dont_care,
                    limits_percent: pair.limits_percent,
                    more: further.as_ref().map(|f| (f.more_each as u32, f.chance)),
                    break_even_percent: Some(pair.break_even_scatter_percent).filter(|s| *s > 0.0),
                    engine,
                },
                setting.asked.system.unwrap_or(System::Us),
            );
            reports.push(PairReport {
                a,
                b,
                difference_percent: pair.difference_percent,
                low_percent: pair.limits_percent.map(|l| l.0),
                high_percent: pair.limits_percent.map(|l| l.1),
                resolvable_percent: pair.resolvable_percent,
                verdict,
                smaller_than_dont_care: pair.smaller_than_dont_care,
                break_even_scatter_percent: pair.verdict.is_none().then_some(pair.break_even_scatter_percent),
                more_fittings: further.as_ref().map(|f| f.more_each as u32),
                chance: further.as_ref().map(|f| f.chance),
                sentence,
            });
        }
    }
    reports
}

/// Calls assemblies by their parts, and by how they were held or what state they were in where that is not the usual or
/// where nothing else sets two apart.
fn name(assemblies: &mut [AssemblyReport]) {
    let words = |a: &AssemblyReport, all: bool| {
        let state = match a.service {
            Some(state) if all || matches!(state, "dirty" | "washed") => Some(state),
            None if all => Some("state not stated"),
            _ => None,
        };
        let held = match a.restraint {
            Some(held) if all || held != "fastened" => Some(held),
            None if all => Some("restraint not stated"),
            _ => None,
        };
        let more: Vec<&str> = [state, held].into_iter().flatten().collect();
        let parts = a.parts.join(" + ");
        if more.is_empty() { parts } else { format!("{parts} ({})", more.join(", ")) }
    };
    let short: Vec<String> = assemblies.iter().map(|a| words(a, false)).collect();
    let mut times: HashMap<&str, usize> = HashMap::new();
    short.iter().for_each(|own| *times.entry(own).or_default() += 1);
    for (assembly, own) in assemblies.iter_mut().zip(&short) {
        assembly.called = if times[&own[..]] == 1 { own.clone() } else { words(assembly, true) };
    }
}

fn engine_half<'a>(
    breathing: Option<&'a BreathingEngine>,
    a: &AssemblyReport,
    b: &AssemblyReport,
) -> Option<sentences::EngineHalf<'a>> {
    let engine = breathing?;
    Some(sentences::EngineHalf {
        engine: engine.name,
        speed_rad_s: engine.speed_rad_s,
        air_percent: b.engine_air_loss_percent? - a.engine_air_loss_percent?,
        same_as_warmer_k: (
            b.engine_same_as_warmer_low_k? - a.engine_same_as_warmer_low_k?,
            b.engine_same_as_warmer_high_k? - a.engine_same_as_warmer_high_k?,
        ),
    })
}

/// The curve with its 95 % interval at a dozen places from the lowest swept flow to the highest.
fn fitted_curve(fit: &sweep::Sweep, flows: &[f64]) -> Vec<[f64; 4]> {
    const PLACES: u32 = 12;
    let lowest = flows.iter().copied().fold(fit.highest_flow_m3_s, f64::min);
    let at = |i: u32| lowest + f64::from(i) / f64::from(PLACES) * (fit.highest_flow_m3_s - lowest);
    let there = |flow: f64| {
        let drop = fit.predict(flow, 0.95).ok()?;
        Some([flow, drop.drop_pa, drop.confidence_pa.0, drop.confidence_pa.1])
    };
    (0..=PLACES).filter_map(|i| there(at(i))).collect()
}

pub(super) fn session_report(
    evening: &Evening,
    groups: Vec<GroupReport>,
    names: &Names,
    records: &Records,
) -> SessionReport {
    let sweeps = evening.sweeps.iter().filter_map(|swept| {
        let (flows, drops): (Vec<f64>, Vec<f64>) = swept.points.iter().copied().unzip();
        let fit = sweep::fit(&flows, &drops).ok()?;
        Some(SweepReport {
            parts: swept.subject.map_or(Vec::new(), |s| names.parts(s.assembly)),
            points: flows.len(),
            a_pa_s_m3: fit.curve.a_pa_s_m3,
            b_pa_s2_m6: fit.curve.b_pa_s2_m6,
            a_standard_error: fit.covariance.a_a.sqrt(),
            b_standard_error: fit.covariance.b_b.sqrt(),
            highest_flow_m3_s: fit.highest_flow_m3_s,
            fitted: fitted_curve(&fit, &flows),
            measured: swept.points.clone(),
        })
    });
    let runs: HashMap<Uuid, _> = match evening.left_out.is_empty() {
        true => HashMap::new(),
        false => records.runs.iter().map(|r| (r.id, r)).collect(),
    };
    SessionReport {
        id: evening.session.id,
        name: evening.session.name.clone().unwrap_or_else(|| "session".into()),
        date: evening.session.date.clone(),
        groups,
        sweeps: sweeps.collect(),
        left_out: evening
            .left_out
            .iter()
            .map(|left| {
                let run = runs.get(&left.run);
                LeftOutReport {
                    run: left.run,
                    what: run.map_or_else(String::new, |r| names.assembly(r.assembly)),
                    order: run.and_then(|r| r.order_number),
                    why: left.why.clone(),
                }
            })
            .collect(),
    }
}
