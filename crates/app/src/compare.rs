//! From groups of fittings to verdicts: the records' side of `airshelf_stats::compare`.

use crate::code::{Code, Fault};
use crate::fittings::{Baseline, Blocked, Comparable, Evening, Fitted, Subject, evenings};
use crate::names::{Names, for_person};
use crate::report::{
    AssemblyReport, BaselineReport, Comparison, GroupReport, LeakageReport, LeftOutReport, PairReport,
    Repeatability, SessionReport, SweepReport,
};
use crate::sentences;
use airshelf_catalog::{Engine, Records, Restraint, Uuid};
use airshelf_flow::air::Air;
use airshelf_flow::engine::{Engine as Breathing, InletAir, part_effect};
use airshelf_flow::leakage::{HIGHEST_EXPONENT, LOWEST_EXPONENT, USUAL_EXPONENT};
use airshelf_flow::restriction::Restriction;
use airshelf_flow::sweep;
use airshelf_stats::compare as stats;
use airshelf_units::System;
use std::collections::{BTreeMap, HashMap, HashSet};

/// What is asked of a comparison.
#[derive(Clone, Copy, Debug, Default)]
pub struct Asked<'a> {
    /// Only these sessions; earlier ones are read for their scatter all the same.
    pub sessions: Option<&'a [Uuid]>,
    /// The difference that does not matter, as a ratio; none: what each session states before looking.
    pub dont_care: Option<f64>,
    /// The engine to which it should matter.
    pub engine: Option<&'a Engine>,
    /// A person's units, for the sentences.
    pub system: Option<System>,
    /// Places and losses only.
    pub no_pairs: bool,
}

/// Scatter of earlier evenings, by bench range.
type History = HashMap<Option<Uuid>, Vec<stats::EveningScatter>>;

/// Compares every session, or one. `blocked` says which runs the audit keeps out, and by which rule.
///
/// # Errors
/// [`Fault`] if the engine asked about lacks its displacement or efficiency.
pub fn compare(
    records: &Records,
    blocked: &HashMap<Uuid, Blocked>,
    asked: &Asked,
) -> Result<Comparison, Fault> {
    let names = Names::of(records);
    let breathing = asked.engine.map(breathing).transpose()?;
    let mut history = History::new();
    let mut sessions = Vec::new();
    let mut still = asked.sessions.map(|wanted| wanted.iter().copied().collect::<HashSet<Uuid>>());
    for evening in evenings(records, blocked) {
        // What comes after the last session asked for teaches it nothing.
        let wanted = match &mut still {
            None => true,
            Some(left) if left.is_empty() => break,
            Some(left) => left.remove(&evening.session.id),
        };
        let mut groups = Vec::new();
        let mut scatters = Vec::new();
        for group in &evening.groups {
            let dont_care = asked.dont_care.or(evening.session.dont_care.as_ref().map(|ratio| ratio.si));
            let (mut question, subjects) = question(group, records, dont_care);
            if let Some(scatter) = stats::evening_scatter(&question) {
                scatters.push((group.terms.range, scatter));
            }
            if wanted {
                question.history = history.get(&group.terms.range).cloned().unwrap_or_default();
                let Ok(answer) = stats::compare(&question) else { continue };
                let open = evening.session.closed.is_none() && evening.session.table.is_none();
                let setting =
                    Setting { names: &names, records, asked, dont_care, breathing: breathing.as_ref() };
                groups.push(group_report(group, &answer, &subjects, &setting, open));
            }
        }
        // Only an evening that is over teaches the bench's scatter.
        for (range, scatter) in scatters {
            history.entry(range).or_default().push(scatter);
        }
        if wanted {
            sessions.push(session_report(&evening, groups, &names, records));
        }
    }
    let caution = breathing.map(|_| crate::calc::ENGINE_RANGE.to_owned());
    Ok(Comparison { sessions, cautions: caution.into_iter().collect() })
}

/// What the bench can see so far on one evening, from its group with most fittings, and how many assemblies that has.
/// Earlier evenings among the records lend their scatter. None before the first assembly.
pub(crate) fn so_far(
    records: &Records,
    blocked: &HashMap<Uuid, Blocked>,
    session: Uuid,
) -> Option<(stats::SoFar, usize)> {
    let mut history = History::new();
    for evening in evenings(records, blocked) {
        let own = evening.session.id == session;
        let mut scatters = Vec::new();
        let mut said: Option<(stats::SoFar, usize)> = None;
        for group in &evening.groups {
            let (mut question, subjects) = question(group, records, None);
            if own {
                question.history = history.get(&group.terms.range).cloned().unwrap_or_default();
                let Ok(so_far) = stats::scatter_so_far(&question) else { continue };
                if said.is_none_or(|(best, _)| best.fittings < so_far.fittings) {
                    said = Some((so_far, subjects.len()));
                }
            } else if let Some(scatter) = stats::evening_scatter(&question) {
                scatters.push((group.terms.range, scatter));
            }
        }
        if own {
            return said;
        }
        for (range, scatter) in scatters {
            history.entry(range).or_default().push(scatter);
        }
    }
    None
}

/// Student's factor of a two-sided 95 % interval.
pub(crate) fn student_95(freedom: f64) -> Option<f64> {
    airshelf_stats::distribution::student_factor(0.95, freedom).ok()
}

struct BreathingEngine<'a> {
    name: &'a str,
    speed_rad_s: f64,
    engine: Breathing,
    air: InletAir,
}

fn breathing(engine: &Engine) -> Result<BreathingEngine<'_>, Fault> {
    let name = engine.name.as_deref().unwrap_or("the engine");
    let lacks = |what: &str| {
        Fault::new(Code::BadArgument, format!("{name} has no {what}"))
            .hint("Set it with: airshelf engine change NAME displacement=… volumetric_efficiency=… speed=…")
    };
    let displacement_m3 = engine.displacement.as_ref().ok_or_else(|| lacks("displacement"))?.si;
    let volumetric_efficiency =
        engine.volumetric_efficiency.as_ref().ok_or_else(|| lacks("volumetric efficiency"))?.si;
    let speed_rad_s =
        engine.speed.as_ref().or(engine.highest_speed.as_ref()).ok_or_else(|| lacks("speed"))?.si;
    Ok(BreathingEngine {
        name,
        speed_rad_s,
        engine: Breathing {
            displacement_m3,
            speed_rev_s: speed_rad_s / std::f64::consts::TAU,
            volumetric_efficiency,
        },
        air: InletAir::from(&Air::reference()),
    })
}

/// The group as `airshelf_stats` takes it, and who its subjects are.
fn question(group: &Comparable, records: &Records, dont_care: Option<f64>) -> (stats::Group, Vec<Subject>) {
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
fn leakage(group: &Comparable) -> Option<stats::Leakage> {
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

/// What a report of one group needs beside the group.
struct Setting<'a> {
    names: &'a Names<'a>,
    records: &'a Records,
    asked: &'a Asked<'a>,
    /// The difference that does not matter, as a ratio.
    dont_care: Option<f64>,
    breathing: Option<&'a BreathingEngine<'a>>,
}

/// Beyond this many pairs, how many more fittings each would need is left to a question about one of them.
const MOST_PLANNED_PAIRS: usize = 600;

fn group_report(
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

fn session_report(
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
