//! What one session showed: groups with their places and intervals, pairs in words, sweeps, what was left out.

use super::curves::{Plot, sweeps};
use super::grid::{GridShown, grid};
use super::open::{Opened, Question, key, lacks, place_of};
use super::words;
use crate::audited::report as told;
use crate::code::{Code, Fault};
use crate::names::Names;
use crate::report::{AssemblyReport, GroupReport, PairReport};
use crate::request::{Amount, Interval};
use crate::sentences;
use crate::shelf::Shelf;
use airshelf_units::{Dimension, System, usual};
use serde::Serialize;
use ts_rs::TS;
use uuid::Uuid;

/// Beyond this many, only neighbors' pairs are told at once, and any other is asked for.
const MOST_PAIRS: usize = 600;

/// What a session showed.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Finding {
    /// The session.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Its civil date.
    pub date: Option<String>,
    /// Whether it was imported from an old page.
    pub page: bool,
    /// The difference that does not matter, as it was taken.
    pub dont_care: Option<Amount>,
    /// The shelf's engines.
    pub engines: Vec<EngineChoice>,
    /// What may be compared with each other.
    pub groups: Vec<Group>,
    /// Sweeps as measured and as fitted; none where no assembly was swept.
    pub sweeps: Option<Plot>,
    /// What each sweep says, in words.
    pub swept: Vec<String>,
    /// Runs that were left out.
    pub left_out: Vec<LeftOutRow>,
}

/// An engine that can be chosen.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EngineChoice {
    /// Which.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// What it lacks to be asked about.
    pub lacks: Option<&'static str>,
}

/// Runs that may be compared.
#[derive(Clone, Debug, Serialize, TS)]
#[ts(rename = "FindingGroup")]
pub struct Group {
    /// What stood on the bench, and at which pressure.
    pub title: String,
    /// The bench and its range.
    pub range: Option<String>,
    /// What losses are counted from; none where pairs alone are compared.
    pub baseline: Option<BaselineShown>,
    /// How well the bench repeats.
    pub repeats: String,
    /// What it can tell apart, or what would have to be true of a page without a scatter.
    pub can_tell: Option<String>,
    /// Fixture leakage, where some was taken off.
    pub leakage: Option<String>,
    /// What to know of the whole group.
    pub marks: Vec<&'static str>,
    /// What the axis counts.
    pub axis: String,
    /// The assemblies, best first.
    pub rows: Vec<AssemblyRow>,
    /// Pairs in words.
    pub pairs: Vec<PairRow>,
    /// How many pairs there are.
    pub pairs_in_all: usize,
    /// Whether there are no pairs because the session is still open.
    pub open: bool,
    /// Lid × filter × base, where more than one of two of them were tested.
    pub grid: Option<GridShown>,
}

/// What losses are counted from.
#[derive(Clone, Debug, Serialize, TS)]
pub struct BaselineShown {
    /// `bare`, or `with` and the base.
    pub name: String,
    /// Its flow.
    pub flow: Interval,
    /// `3 fittings`.
    pub fittings: String,
    /// Whether runs stand behind it; a page may only state it.
    pub measured: bool,
}

/// Where ink stands on an axis, in the axis's unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, TS)]
pub struct Drawn {
    /// The middle.
    pub value: f64,
    /// Low end; none where nothing is known of the scatter.
    pub low: Option<f64>,
    /// High end.
    pub high: Option<f64>,
}

/// An assembly of a group, in one restraint and service state.
#[derive(Clone, Debug, Serialize, TS)]
pub struct AssemblyRow {
    /// What tells it apart within the group.
    pub key: String,
    /// The assembly.
    pub assembly: Uuid,
    /// In words.
    pub label: String,
    /// `3 fittings, taped`.
    pub note: String,
    /// Where it stands on the axis.
    pub drawn: Drawn,
    /// What the bar stands for: the loss, or the flow where there is no baseline.
    pub main: Amount,
    /// Its interval in words.
    pub main_ends: Option<String>,
    /// Loss against the baseline.
    pub loss: Option<Interval>,
    /// Flow at the set pressure.
    pub flow: Amount,
    /// Loss as a flow.
    pub loss_flow: Option<Interval>,
    /// Pressure drop of the parts at that flow.
    pub drop: Option<Amount>,
    /// The parts' own resistance, as the drop at a flow that people can picture.
    pub k: Option<Amount>,
    /// Said only where a gain is resolved.
    pub gain: Option<String>,
    /// 1 + the number of placed assemblies resolved better.
    pub place: Option<String>,
    /// Why it has none, or what marks it.
    pub why_not: Option<&'static str>,
    /// What it costs the engine asked about.
    pub engine: Option<EngineCost>,
}

/// What an assembly costs an engine.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EngineCost {
    /// Share of its air; ends only where the engine's flow is far from the tested one.
    pub air: Interval,
    /// Rise of intake temperature that costs as much.
    pub warmer: Amount,
}

/// Two assemblies of a group.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PairRow {
    /// The first's key.
    pub a: String,
    /// The second's key.
    pub b: String,
    /// `a_more`, `b_more`, `not_resolved` or `equivalent`; none without a scatter.
    pub verdict: Option<&'static str>,
    /// Both halves of the verdict.
    pub sentence: String,
    /// Their difference and what the bench could have seen; none without a scatter.
    pub drawn: Option<PairDrawn>,
}

/// A pair's difference and its own limit.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PairDrawn {
    /// How far apart, in the axis's unit.
    pub difference: f64,
    /// From how far on they would be told apart.
    pub limit: f64,
    /// The difference in words.
    pub difference_text: String,
    /// The limit in words.
    pub limit_text: String,
}

/// A run that was left out.
#[derive(Clone, Debug, Serialize, TS)]
pub struct LeftOutRow {
    /// The run.
    pub run: Uuid,
    /// `run 12: BS-2 + PF-1`.
    pub what: String,
    /// The rule or circumstance.
    pub rule: String,
    /// Why, in a sentence.
    pub why: String,
}

pub(super) fn finding(
    shelf: &Shelf,
    session: Uuid,
    dont_care: Option<&str>,
    engine: Option<Uuid>,
) -> Result<Finding, Fault> {
    let opened = Opened::of(shelf, &Question { session, dont_care, engine }, false)?;
    let session = opened.session();
    let names = Names::of(&opened.records);
    let plot = sweeps(&opened.report.sweeps, opened.system);
    Ok(Finding {
        id: session.id,
        name: opened.report.name.clone(),
        date: session.date.clone(),
        page: session.table.is_some(),
        dont_care: opened.dont_care.map(|ratio| words::percent(100.0 * ratio, None)),
        engines: opened
            .records
            .engines
            .iter()
            .map(|engine| EngineChoice {
                id: engine.id,
                name: engine.name.clone().unwrap_or_else(|| "engine".into()),
                lacks: lacks(engine),
            })
            .collect(),
        groups: opened.report.groups.iter().map(|g| group(session.id, g, &names, opened.system)).collect(),
        swept: plot.iter().flat_map(|(_, said)| said.clone()).collect(),
        sweeps: plot.map(|(plot, _)| plot),
        left_out: left_out(&opened),
    })
}

/// One pair of a group, by the keys of its rows.
pub(super) fn one_pair(
    shelf: &Shelf,
    question: &Question,
    number: usize,
    a: &str,
    b: &str,
) -> Result<PairRow, Fault> {
    let opened = Opened::of(shelf, question, false)?;
    let group = opened.group(number)?;
    let (a, b) = (place_of(group, a)?, place_of(group, b)?);
    let (a, b) = (a.min(b), a.max(b));
    let own = |pair: &&PairReport| pair.a == a && pair.b == b;
    let pair = group
        .pairs
        .iter()
        .find(own)
        .ok_or_else(|| Fault::new(Code::NotFound, "these two cannot be compared with each other"))?;
    Ok(pair_row(group, pair, opened.system))
}

fn group(session: Uuid, report: &GroupReport, names: &Names, system: System) -> Group {
    let shown = if report.pairs.len() <= MOST_PAIRS {
        report.pairs.iter().collect()
    } else {
        report.pairs.iter().filter(|pair| pair.b == pair.a + 1).collect::<Vec<_>>()
    };
    let can_tell = match (report.resolvable_percent, report.break_even_scatter_percent) {
        (Some(percent), _) => {
            report.assemblies.first().map(|best| sentences::can_tell(percent, best.flow_m3_s, system))
        }
        (None, Some(scatter)) => Some(sentences::break_even(scatter)),
        (None, None) => None,
    };
    Group {
        title: words::title(report, system),
        range: report.range.clone(),
        baseline: report.baseline.as_ref().map(|baseline| BaselineShown {
            name: words::baseline(baseline),
            flow: Interval {
                value: words::flow(baseline.flow_m3_s, system),
                low: baseline.low_m3_s.map(|q| words::flow(q, system)),
                high: baseline.high_m3_s.map(|q| words::flow(q, system)),
            },
            fittings: words::count(baseline.fittings, "fitting"),
            measured: baseline.runs.iter().any(|run| *run != session),
        }),
        repeats: words::repeatability(&report.repeatability),
        can_tell,
        leakage: report.leakage.as_ref().map(|leak| words::leakage(leak, system)),
        marks: report
            .marks
            .iter()
            .map(|mark| sentences::group_marks(mark))
            .filter(|m| !m.is_empty())
            .collect(),
        axis: axis(report, system),
        rows: report.assemblies.iter().map(|assembly| row(report, assembly, system)).collect(),
        pairs: shown.into_iter().map(|pair| pair_row(report, pair, system)).collect(),
        pairs_in_all: report.pairs.len(),
        open: report.marks.contains(&"open-session"),
        grid: grid(report, names, system),
    }
}

fn axis(report: &GroupReport, system: System) -> String {
    let at = report
        .set_pressure_pa
        .map_or(String::new(), |pa| format!(" at {}", words::pressure(pa, system).text));
    match &report.baseline {
        Some(baseline) => {
            let of = report.item.as_deref().unwrap_or("item");
            match baseline.definition.as_str() {
                "bare" => format!("Loss against the bare {of}{at}, %"),
                with => format!("Loss against {of} {with}{at}, %"),
            }
        }
        None => format!("Flow{at}, {}", usual(Dimension::Flow, system).shown()),
    }
}

/// Where a loss or a flow stands on the axis.
fn drawn(report: &GroupReport, assembly: &AssemblyReport, system: System) -> Drawn {
    match (&report.baseline, assembly.loss_percent) {
        (Some(_), Some(value)) => {
            Drawn { value, low: assembly.loss_low_percent, high: assembly.loss_high_percent }
        }
        _ => {
            let unit = usual(Dimension::Flow, system);
            Drawn { value: unit.from_si(assembly.flow_m3_s), low: None, high: None }
        }
    }
}

fn row(report: &GroupReport, assembly: &AssemblyReport, system: System) -> AssemblyRow {
    let loss = assembly
        .loss_percent
        .map(|value| words::percent_interval(value, assembly.loss_low_percent, assembly.loss_high_percent));
    let flow = words::flow(assembly.flow_m3_s, system);
    let why_not = assembly.why_not.map(sentences::why_not);
    let is_gain = assembly.pressure_drop_pa.is_some_and(|pa| pa < 0.0);
    let drop = assembly.pressure_drop_pa.filter(|_| !is_gain).map(|pa| words::pressure(pa, system));
    let mut note = words::count(assembly.fittings, "fitting");
    if let Some(why) = why_not {
        note += &format!("; {why}");
    }
    AssemblyRow {
        key: key(assembly),
        assembly: assembly.id,
        label: assembly.called.clone(),
        note,
        drawn: drawn(report, assembly, system),
        main: loss.as_ref().map_or_else(|| flow.clone(), |loss| loss.value.clone()),
        main_ends: loss.as_ref().and_then(words::ends),
        loss_flow: assembly.loss_m3_s.map(|value| Interval {
            value: words::flow_difference(value, system),
            low: assembly.loss_low_m3_s.map(|q| words::flow_difference(q, system)),
            high: assembly.loss_high_m3_s.map(|q| words::flow_difference(q, system)),
        }),
        loss,
        flow,
        drop,
        k: assembly.k_pa_s2_m6.filter(|_| !is_gain || assembly.entry_gain).map(|k| words::k(k, system)),
        gain: assembly
            .pressure_drop_pa
            .filter(|_| assembly.entry_gain)
            .map(|pa| format!("entry gain of {}", words::pressure(-pa, system).text)),
        place: assembly.place.filter(|_| assembly.placed).map(|place| place.to_string()),
        why_not,
        engine: engine_cost(assembly, system),
    }
}

fn engine_cost(assembly: &AssemblyReport, system: System) -> Option<EngineCost> {
    let value = assembly.engine_air_loss_percent?;
    let (low, high) = (assembly.engine_air_loss_low_percent?, assembly.engine_air_loss_high_percent?);
    let amount = |value| words::percent(value, Some(0.0));
    let ends = (low != high).then_some((low, high));
    Some(EngineCost {
        air: Interval {
            value: amount(value),
            low: ends.map(|ends| amount(ends.0)),
            high: ends.map(|ends| amount(ends.1)),
        },
        warmer: words::warmer(
            assembly.engine_same_as_warmer_low_k?,
            assembly.engine_same_as_warmer_high_k?,
            system,
        ),
    })
}

fn pair_row(report: &GroupReport, pair: &PairReport, system: System) -> PairRow {
    let (a, b) = (&report.assemblies[pair.a], &report.assemblies[pair.b]);
    // A difference counts from the second's flow, the axis from the baseline's, or it counts flow.
    let per_percent = match &report.baseline {
        Some(baseline) => b.flow_m3_s / baseline.flow_m3_s,
        None => usual(Dimension::Flow, system).from_si(b.flow_m3_s) / 100.0,
    };
    PairRow {
        a: key(a),
        b: key(b),
        verdict: pair.verdict,
        sentence: pair.sentence.clone(),
        drawn: pair.resolvable_percent.map(|limit| PairDrawn {
            difference: pair.difference_percent.abs() * per_percent,
            limit: limit * per_percent,
            difference_text: words::percent(pair.difference_percent.abs(), Some(limit / 4.0)).text,
            limit_text: words::percent(limit, Some(limit / 4.0)).text,
        }),
    }
}

fn left_out(opened: &Opened) -> Vec<LeftOutRow> {
    let rows = opened.report.left_out.iter().map(|left| {
        let of_run = opened.faults.iter().find(|fault| {
            fault.rule.code() == left.why && (fault.subject == left.run || fault.covers.contains(&left.run))
        });
        let why = match of_run {
            Some(fault) => told(fault, None, opened.system).why,
            None => sentences::left_out(&left.why).map_or_else(|| left.why.replace('-', " "), str::to_owned),
        };
        let order = left.order.map_or_else(|| "run".to_owned(), |order| format!("run {order}"));
        LeftOutRow { run: left.run, what: format!("{order}: {}", left.what), rule: left.why.clone(), why }
    });
    rows.collect()
}
