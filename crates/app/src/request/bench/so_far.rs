//! What an evening has shown so far: leakage, baselines, what the bench can see, how far its ranges reach.

use super::super::amount::Amount;
use super::night::{Night, Reduced};
use crate::compare;
use crate::names::for_person;
use crate::sentences::bench as words;
use airshelf_catalog::{Bench, BenchRange, Meter, Purpose, Uuid};
use airshelf_flow::scale::highest_pressure;
use airshelf_stats::compare::ScatterFrom;
use serde::Serialize;
use ts_rs::TS;

/// A leakage as it was read.
#[derive(Clone, Debug, Serialize, TS)]
pub struct LeakageRead {
    /// The mean of its readings.
    pub flow: Amount,
    /// At that pressure.
    pub at: Option<Amount>,
    /// What is done with it.
    pub sentence: String,
}

/// The baselines so far.
#[derive(Clone, Debug, Serialize, TS)]
pub struct BaselineSoFar {
    /// How many stand.
    pub count: usize,
    /// The mean at the set pressure.
    pub flow: Amount,
    /// From the first to the last.
    pub drift: Option<Amount>,
}

/// What the bench can see so far. No verdicts: looking after every reading triples the false ones.
#[derive(Clone, Debug, Serialize, TS)]
pub struct SeenSoFar {
    /// The difference between two assemblies that it could show, as a flow.
    pub flow: Option<Amount>,
    /// The same in percent.
    pub percent: Option<Amount>,
    /// How one fitting repeats.
    pub scatter: Option<Amount>,
    /// How many fittings stand behind it.
    pub fittings: usize,
    /// `session`, `history`, `stated` or `none`.
    #[ts(type = "\"session\" | \"history\" | \"stated\" | \"none\"")]
    pub from: &'static str,
    /// In words.
    pub sentence: String,
}

/// The highest pressure that a range holds.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PressureHeld {
    /// The range.
    pub range: Uuid,
    /// Where the flow fills it.
    pub highest: Amount,
    /// Where it leaves 5 % of it.
    pub leaves_margin: Amount,
    /// In words.
    pub sentence: String,
}

pub(super) fn leakage(
    night: &Night,
    purpose: Purpose,
    say: fn(&str, Option<&str>) -> String,
) -> Option<LeakageRead> {
    let mut flows = Vec::new();
    let mut at = Vec::new();
    for (run, reading) in night.standing_readings() {
        if run.purpose == Some(purpose)
            && let Some(flow) = &reading.flow
        {
            flows.push(flow.si);
            at.extend(reading.actual_pressure.as_ref().or(run.set_pressure.as_ref()).map(|q| q.si));
        }
    }
    let mean = |of: &[f64]| (!of.is_empty()).then(|| of.iter().sum::<f64>() / of.len() as f64);
    let flow = night.units.flow(mean(&flows)?);
    let at = mean(&at).map(|at| night.units.pressure(at));
    Some(LeakageRead { sentence: say(&flow.text, at.as_ref().map(|at| at.text.as_str())), flow, at })
}

pub(super) fn baseline(night: &Night, all: &[Reduced]) -> Option<BaselineSoFar> {
    // The last baseline says which kind is meant: bare or with which base, on which range, at which pressure.
    let kind = all.iter().rev().find(|one| one.same.purpose == Some(Purpose::Baseline))?.same;
    let own: Vec<f64> = all.iter().filter(|one| one.same == kind).map(|one| one.at_set_m3_s).collect();
    let (first, last) = (*own.first()?, *own.last()?);
    Some(BaselineSoFar {
        count: own.len(),
        flow: night.units.flow(own.iter().sum::<f64>() / own.len() as f64),
        drift: (own.len() > 1).then(|| Amount::percent(last / first - 1.0, 2)),
    })
}

pub(super) fn seen(night: &Night) -> SeenSoFar {
    let said = compare::so_far(&night.records, &night.blocked, night.session.id).map(|(said, _)| said);
    let from = match said.map(|said| said.repeatability.from) {
        Some(ScatterFrom::Session) => "session",
        Some(ScatterFrom::History) => "history",
        Some(ScatterFrom::Stated) => "stated",
        Some(ScatterFrom::None) | None => "none",
    };
    let flow = said.and_then(|said| said.resolvable_m3_s).map(|flow| night.units.little(flow));
    let in_percent = |percent: f64| Amount::percent(percent / 100.0, if percent < 1.0 { 2 } else { 1 });
    let percent = said.and_then(|said| said.resolvable_percent).map(in_percent);
    let scatter = said.and_then(|said| said.repeatability.scatter_percent()).map(in_percent);
    let text = |amount: &Option<Amount>| amount.as_ref().map(|amount| amount.text.clone());
    let (f, p, s) = (text(&flow), text(&percent), text(&scatter));
    let sentence = words::seen(f.as_deref(), p.as_deref(), s.as_deref(), from);
    SeenSoFar { flow, percent, scatter, fittings: said.map_or(0, |said| said.fittings), from, sentence }
}

pub(super) fn holds(
    night: &Night,
    ranges: &[&BenchRange],
    bench: Option<&Bench>,
    baseline: &Option<BaselineSoFar>,
) -> Vec<PressureHeld> {
    /// What a range holds only below this is of no use to anybody, Pa: one inch of water.
    const LEAST_PA: f64 = 249.088_91;
    /// Of the range, left free.
    const MARGIN: f64 = 0.05;
    let set = night.session.set_pressure.as_ref();
    // A mass meter's range is not one of flow.
    let known = bench.is_none_or(|bench| bench.meter != Some(Meter::Mass));
    let (Some(set), Some(baseline), true) = (set, baseline, known) else { return Vec::new() };
    let held = |range: &&BenchRange| {
        let scale = range.full_scale.as_ref()?;
        let held = highest_pressure(baseline.flow.si, set.si, scale.si, MARGIN).ok()?;
        let (highest, leaves) = (held.highest_pressure_pa, held.suggested_pressure_pa);
        if highest < LEAST_PA {
            return None;
        }
        let short = |si: f64| {
            let unit = night.units.pressure;
            let of = |digits| airshelf_units::show(si, unit, digits);
            let text = of(airshelf_units::Digits::Significant(3));
            Amount { text, ..night.units.pressure(si) }
        };
        let (highest, leaves_margin) = (short(highest), short(leaves));
        let name = for_person(scale, night.units.system);
        let sentence = words::holds(&name, &highest.text, &leaves_margin.text);
        Some(PressureHeld { range: range.id, highest, leaves_margin, sentence })
    };
    ranges.iter().filter_map(held).collect()
}
