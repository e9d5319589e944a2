//! An evening as a screen shows it: what is on the bench, what was read, what the bench can see so far, what comes next.

use super::super::amount::Amount;
use super::choose::{ChosenPart, chosen};
use super::evenings::is_open;
use super::next::{before_closing, next};
use super::night::{Night, Reduced, Same, speaks};
use super::so_far::{BaselineSoFar, LeakageRead, PressureHeld, SeenSoFar, baseline, holds, leakage, seen};
use crate::audited::{FaultReport, report};
use crate::code::Fault;
use crate::names::{Names, for_person};
use crate::sentences::bench as words;
use crate::shelf::Shelf;
use airshelf_catalog::{BenchRange, Purpose, Reading, Refit, Restraint, Run, Service, Uuid};
use serde::Serialize;
use std::collections::HashMap;
use ts_rs::TS;

/// An evening.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EveningPage {
    /// Its session.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Its civil date.
    pub date: Option<String>,
    /// Whether readings may be added.
    pub open: bool,
    /// Whether it was read from an old record.
    pub imported: bool,
    /// The bench's name.
    pub bench: Option<String>,
    /// The bench.
    pub bench_id: Option<Uuid>,
    /// Its ranges, with the one in use.
    pub ranges: Vec<RangeNamed>,
    /// The range in use.
    pub range: Option<Uuid>,
    /// What stands on the bench: the carburetor's name.
    pub item: Option<String>,
    /// Its revision.
    pub item_id: Option<Uuid>,
    /// The set pressure.
    pub set_pressure: Option<Amount>,
    /// As it was typed.
    pub set_pressure_written: Option<String>,
    /// The unit of a flow where none is written.
    pub flow_unit: String,
    /// The unit of a pressure where none is written.
    pub pressure_unit: String,
    /// Air temperature, barometer and humidity that the next readings are taken in.
    pub air: Vec<String>,
    /// The same as they were typed; empty where nobody did.
    pub air_written: [String; 3],
    /// What is on the bench since the last reading.
    pub standing: Option<OnBench>,
    /// The runs, in order.
    pub runs: Vec<RunLine>,
    /// Fixture leakage.
    pub fixture_leakage: Option<LeakageRead>,
    /// What passes the closed throttle.
    pub closed_throttle_leakage: Option<LeakageRead>,
    /// The baselines so far.
    pub baseline: Option<BaselineSoFar>,
    /// What the bench can see so far.
    pub seen: SeenSoFar,
    /// What comes next, the most pressing first.
    pub next: Vec<String>,
    /// What is missing if it were closed now.
    pub before_closing: Vec<String>,
    /// The highest pressure that the bench's ranges hold for this carburetor.
    pub holds: Vec<PressureHeld>,
    /// What happened, as it was put down.
    pub note: Option<String>,
}

/// A range to choose.
#[derive(Clone, Debug, Serialize, TS)]
pub struct RangeNamed {
    /// Which.
    pub id: Uuid,
    /// Its full scale.
    pub name: String,
}

/// What stands on the bench.
#[derive(Clone, Debug, Serialize, TS)]
pub struct OnBench {
    /// The assembly; none for the bare carburetor.
    pub assembly: Option<Uuid>,
    /// What people call it.
    pub what: String,
    /// Its parts, from the carburetor up, with the stud.
    pub parts: Vec<ChosenPart>,
    /// Why the last run on it was made.
    pub purpose: Option<Purpose>,
    /// How it is held.
    pub restraint: Option<Restraint>,
    /// The state of its element.
    pub service: Option<Service>,
}

/// One run.
#[derive(Clone, Debug, Serialize, TS)]
pub struct RunLine {
    /// Which.
    pub id: Uuid,
    /// Its number in the evening's order.
    pub number: Option<i32>,
    /// Why it was made.
    pub purpose: Option<Purpose>,
    /// What was tested.
    pub what: String,
    /// How it was held.
    pub restraint: Option<Restraint>,
    /// The state of its element.
    pub service: Option<Service>,
    /// Whether it was fitted anew.
    pub refitted: bool,
    /// Its readings.
    pub readings: Vec<ReadingLine>,
    /// What is wrong with it.
    pub faults: Vec<FaultReport>,
}

/// One reading.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ReadingLine {
    /// Which.
    pub id: Uuid,
    /// The flow as read.
    pub flow: Option<Amount>,
    /// Less leakage, at the set pressure.
    pub reduced: Option<Amount>,
    /// How far from its repeats, in words.
    pub beside: Option<String>,
    /// How far from its repeats; below zero where it is below them.
    pub apart: Option<Amount>,
    /// The pressure that was held, where it was read.
    pub pressure: Option<Amount>,
    /// The civil clock.
    pub clock: Option<String>,
    /// Why it was struck out.
    pub struck: Option<String>,
}

pub(super) fn page(shelf: &Shelf, session: Uuid) -> Result<EveningPage, Fault> {
    let night = Night::of(shelf, session, true)?;
    let names = Names::of(&night.records);
    let (session, units) = (&night.session, night.units);
    let all = night.reduced();
    let by_reading: HashMap<Uuid, &Reduced> = all.iter().map(|one| (one.reading, one)).collect();
    let mut alike: HashMap<Same, Vec<Reduced>> = HashMap::new();
    for one in &all {
        alike.entry(one.same).or_default().push(*one);
    }
    let of = |reading: &Reading| {
        let own = *by_reading.get(&reading.id)?;
        Some((own, alike.get(&own.same)?.as_slice()))
    };
    let mut faults: HashMap<Uuid, Vec<FaultReport>> = HashMap::new();
    for fault in night.faults.iter().filter(|fault| speaks(fault.rule)) {
        faults.entry(fault.subject).or_default().push(report(fault, None, units.system));
    }
    let mut readings: HashMap<Uuid, Vec<&Reading>> = HashMap::new();
    for reading in &night.records.readings {
        readings.entry(reading.run.unwrap_or_default()).or_default().push(reading);
    }
    let runs: Vec<RunLine> = night
        .runs()
        .map(|run| {
            let read = readings.get(&run.id).map_or(&[][..], Vec::as_slice);
            let lines = read.iter().map(|reading| line(&night, of(reading), run, reading)).collect();
            RunLine {
                id: run.id,
                number: run.order_number.and_then(|n| i32::try_from(n).ok()),
                purpose: run.purpose,
                what: what(run, &names),
                restraint: run.restraint,
                service: run.service,
                refitted: run.refit != Some(Refit::No),
                readings: lines,
                faults: faults.remove(&run.id).unwrap_or_default(),
            }
        })
        .collect();
    let bench = night.records.benches.iter().find(|bench| Some(bench.id) == session.bench);
    let mut ranges: Vec<&BenchRange> =
        night.records.bench_ranges.iter().filter(|range| range.bench == session.bench).collect();
    let scale = |range: &BenchRange| range.full_scale.as_ref().map_or(0.0, |scale| scale.si);
    ranges.sort_by(|a, b| scale(a).total_cmp(&scale(b)));
    let air = [&session.air_temperature, &session.barometer, &session.humidity];
    let baseline = baseline(&night, &all);
    let seen = seen(&night);
    let open = is_open(session);
    Ok(EveningPage {
        id: session.id,
        name: session.name.clone().unwrap_or_default(),
        date: session.date.clone(),
        open,
        imported: session.table.is_some(),
        bench: bench.and_then(|bench| bench.name.clone()),
        bench_id: session.bench,
        ranges: ranges
            .iter()
            .filter_map(|range| {
                let name = for_person(range.full_scale.as_ref()?, units.system);
                Some(RangeNamed { id: range.id, name })
            })
            .collect(),
        range: session.range,
        item: session.item.map(|item| names.revision(item)),
        item_id: session.item,
        set_pressure: session.set_pressure.as_ref().map(|p| units.pressure(p.si)),
        set_pressure_written: session.set_pressure.as_ref().and_then(crate::names::as_written),
        flow_unit: units.flow.shown().into(),
        pressure_unit: units.pressure.shown().into(),
        air: air.iter().filter_map(|q| Some(for_person(q.as_ref()?, units.system))).collect(),
        air_written: air.map(|q| q.as_ref().and_then(crate::names::as_written).unwrap_or_default()),
        standing: standing(&night, &names),
        fixture_leakage: leakage(&night, Purpose::FixtureLeakage, words::fixture_leakage),
        closed_throttle_leakage: leakage(
            &night,
            Purpose::ClosedThrottleLeakage,
            words::closed_throttle_leakage,
        ),
        next: if open { next(&night, &names, &seen) } else { Vec::new() },
        before_closing: if open { before_closing(&night, &seen) } else { Vec::new() },
        holds: holds(&night, &ranges, bench, &baseline),
        note: session.note.clone(),
        baseline,
        seen,
        runs,
    })
}

/// A reading; `reduced` is what it comes to, and what its kind comes to.
fn line(night: &Night, reduced: Option<(&Reduced, &[Reduced])>, run: &Run, reading: &Reading) -> ReadingLine {
    let units = night.units;
    let apart =
        reduced.and_then(|(own, alike)| night.apart(alike, own.same, Some(reading.id), own.at_set_m3_s));
    let (apart, beside) = apart.unzip();
    let held = reading.actual_pressure.as_ref();
    ReadingLine {
        id: reading.id,
        flow: reading.flow.as_ref().map(|flow| units.flow(flow.si)),
        reduced: reduced.filter(|_| !leaks(run)).map(|(own, _)| units.flow(own.at_set_m3_s)),
        beside,
        apart,
        pressure: held.map(|pressure| units.pressure(pressure.si)),
        clock: reading.clock.as_deref().and_then(|clock| clock.get(..5)).map(Into::into),
        struck: reading.struck.clone(),
    }
}

fn leaks(run: &Run) -> bool {
    matches!(run.purpose, Some(Purpose::FixtureLeakage | Purpose::ClosedThrottleLeakage))
}

fn what(run: &Run, names: &Names) -> String {
    match run.purpose {
        Some(Purpose::Baseline) => match run.assembly {
            None => "baseline, bare".into(),
            base => format!("baseline with {}", names.assembly(base)),
        },
        Some(Purpose::FixtureLeakage | Purpose::ClosedThrottleLeakage | Purpose::CheckPlate) => {
            run.purpose.map_or("", Purpose::name).into()
        }
        _ => names.assembly(run.assembly),
    }
}

fn standing(night: &Night, names: &Names) -> Option<OnBench> {
    let on_it =
        |run: &&Run| matches!(run.purpose, None | Some(Purpose::Baseline | Purpose::Test | Purpose::Sweep));
    let run = night.runs().rfind(on_it)?;
    let layers = run.assembly.map(|assembly| names.layers(assembly)).unwrap_or_default();
    Some(OnBench {
        assembly: run.assembly,
        what: run.assembly.map_or_else(|| "bare carburetor".into(), |_| names.assembly(run.assembly)),
        parts: layers.into_iter().chain(run.stud).map(|revision| chosen(names, revision)).collect(),
        purpose: run.purpose,
        restraint: run.restraint,
        service: run.service,
    })
}
