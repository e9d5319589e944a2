//! How an evening stands: what is on the bench, what was read, what the bench can see so far, what comes next.

use super::super::amount::Amount;
use super::choose::{ChosenPart, chosen};
use super::evenings::is_open;
use super::measured::Units;
use crate::audited::{FaultReport, blocked, report};
use crate::code::{Code, Fault};
use crate::compare;
use crate::explain::reduced;
use crate::fittings::Blocked;
use crate::names::{Names, for_person};
use crate::sentences::bench as words;
use crate::shelf::Shelf;
use airshelf_catalog::{
    Assembly, Bench, BenchRange, Meter, Purpose, Reading, Records, Refit, Restraint, Run, Service, Session,
    Uuid, Value,
};
use airshelf_flow::scale::highest_pressure;
use airshelf_intake::audit::{Fault as Found, Rule, Scope, audit};
use airshelf_stats::compare::ScatterFrom;
use serde::Serialize;
use std::collections::HashMap;
use ts_rs::TS;

/// A baseline is taken after so many fittings of assemblies. Common practice, no source.
const BETWEEN_BASELINES: usize = 4;

/// Earlier evenings on the bench that lend their scatter while an evening goes on.
const EARLIER: usize = 12;

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

/// The records of an evening with what is wrong with them.
pub(super) struct Night {
    pub records: Records,
    pub session: Session,
    pub faults: Vec<Found>,
    pub blocked: HashMap<Uuid, Blocked>,
    pub units: Units,
}

/// A reading brought to its set pressure, with whom it repeats.
struct Reduced {
    reading: Uuid,
    same: Same,
    fitting: usize,
    at_set_m3_s: f64,
}

/// Runs that repeat each other.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) struct Same {
    purpose: Option<Purpose>,
    assembly: Option<Uuid>,
    restraint: Option<Restraint>,
    service: Option<Service>,
    item: Option<Uuid>,
    range: Option<Uuid>,
    set_pressure: Option<i64>,
}

impl Same {
    pub fn of(run: &Run, session: &Session) -> Same {
        let set = run.set_pressure.as_ref().or(session.set_pressure.as_ref());
        Same {
            purpose: run.purpose,
            assembly: run.assembly,
            restraint: run.restraint.or(session.restraint).filter(|_| run.purpose != Some(Purpose::Baseline)),
            service: run.service,
            item: run.item.or(session.item),
            range: run.range.or(session.range),
            set_pressure: set.filter(|p| p.si > 0.0).map(|p| (p.si.ln() * 1000.0).round() as i64),
        }
    }
}

impl Night {
    /// The evening alone, or with what earlier ones on its bench can lend.
    pub fn of(shelf: &Shelf, session: Uuid, with_earlier: bool) -> Result<Night, Fault> {
        let missing = || Fault::new(Code::NotFound, "this evening is not on the shelf");
        let own: Session = shelf.store().get(session)?.ok_or_else(missing)?;
        let mut ids = if with_earlier { earlier(shelf, &own)? } else { Vec::new() };
        ids.push(session);
        let records = shelf.store().evenings(&ids)?;
        Night::made(shelf, own, records)
    }

    /// The evening as it would be with one more reading, whose run comes last.
    pub fn with(
        shelf: &Shelf,
        session: Session,
        assembly: Option<Assembly>,
        mut run: Run,
        reading: Reading,
    ) -> Result<Night, Fault> {
        let mut records = shelf.store().evenings(&[session.id])?;
        run.order_number =
            Some(records.runs.iter().filter_map(|run| run.order_number).max().unwrap_or(0) + 1);
        if let Some(new) = assembly.filter(|new| records.assemblies.iter().all(|held| held.id != new.id)) {
            shelf.store().take_in(&mut records, new)?;
        }
        records.runs.push(run);
        records.readings.push(reading);
        Night::made(shelf, session, records)
    }

    fn made(shelf: &Shelf, session: Session, mut records: Records) -> Result<Night, Fault> {
        records.runs.sort_by_key(|run| (run.session != Some(session.id), run.order_number, run.row));
        let faults = audit(&records, &Scope { tables: None, limits: shelf.limits() });
        let range = session.range.and_then(|id| records.bench_ranges.iter().find(|r| r.id == id));
        let units = Units::of(Some(&session), range, shelf.system());
        Ok(Night { blocked: blocked(&faults), units, faults, records, session })
    }

    /// The runs of the evening, in order.
    pub fn runs(&self) -> impl DoubleEndedIterator<Item = &Run> {
        self.records.runs.iter().filter(|run| run.session == Some(self.session.id))
    }

    fn standing_readings(&self) -> Vec<(&Run, &Reading)> {
        let mut by_run: HashMap<Uuid, Vec<&Reading>> = HashMap::new();
        for reading in self.records.readings.iter().filter(|r| r.struck.is_none()) {
            by_run.entry(reading.run.unwrap_or_default()).or_default().push(reading);
        }
        let of = |run: &'_ Run| by_run.get(&run.id).cloned().unwrap_or_default();
        self.runs().flat_map(|run| of(run).into_iter().map(move |reading| (run, reading))).collect()
    }

    fn reduced(&self) -> Vec<Reduced> {
        let mut out = Vec::new();
        let (mut fitting, mut before) = (0, None);
        for (run, reading) in self.standing_readings() {
            let same = Same::of(run, &self.session);
            if run.refit != Some(Refit::No) || before != Some(same) {
                fitting += 1;
            }
            before = Some(same);
            if let Some(Ok(brought)) = reduced(&self.records, run, reading, &self.blocked) {
                out.push(Reduced { reading: reading.id, same, fitting, at_set_m3_s: brought.at_set_m3_s });
            }
        }
        out
    }

    /// The mean of a reading's repeats, each fitting counting once, and how many there are.
    fn repeats(all: &[Reduced], same: Same, but: Option<Uuid>) -> Option<(f64, usize)> {
        let mut fittings: Vec<(usize, f64, f64)> = Vec::new();
        for one in all.iter().filter(|one| one.same == same && Some(one.reading) != but) {
            match fittings.last_mut().filter(|(fitting, ..)| *fitting == one.fitting) {
                Some((_, sum, n)) => (*sum, *n) = (*sum + one.at_set_m3_s, *n + 1.0),
                None => fittings.push((one.fitting, one.at_set_m3_s, 1.0)),
            }
        }
        let count = fittings.len();
        let sum: f64 = fittings.iter().map(|(_, sum, n)| sum / n).sum();
        (count > 0).then(|| (sum / count as f64, count))
    }

    /// How far a flow is from the repeats of its kind, and that in words.
    pub fn beside(&self, same: Same, but: Option<Uuid>, at_set_m3_s: f64) -> Option<(Amount, String)> {
        self.apart(&self.reduced(), same, but, at_set_m3_s)
    }

    fn apart(&self, all: &[Reduced], same: Same, but: Option<Uuid>, flow: f64) -> Option<(Amount, String)> {
        let (mean, count) = Night::repeats(all, same, but)?;
        let size = self.units.little((flow - mean).abs());
        let told = words::beside_repeats(&size.text, flow < mean, count);
        Some((self.units.little(flow - mean), told))
    }

    /// What is wrong with a run, as far as it can be mended at the bench.
    pub fn faults_of(&self, run: Uuid) -> Vec<FaultReport> {
        let told = self.faults.iter().filter(|fault| fault.subject == run && speaks(fault.rule));
        told.map(|fault| report(fault, None, self.units.system)).collect()
    }
}

/// Rules that speak of a reading; the others speak of pages, parts and sums that nobody types at a bench.
fn speaks(rule: Rule) -> bool {
    !matches!(rule, Rule::AmbientMissing | Rule::ServiceStateMissing | Rule::OrderTrend | Rule::Unbracketed)
}

/// The last closed evenings before this one on its bench.
fn earlier(shelf: &Shelf, own: &Session) -> Result<Vec<Uuid>, Fault> {
    let Some(bench) = own.bench else { return Ok(Vec::new()) };
    let mut before: Vec<Session> = shelf.store().find_by("bench", &Value::Id(bench))?;
    let order = |s: &Session| (s.date.clone(), s.name.clone(), s.id);
    before.retain(|s| !is_open(s) && order(s) < order(own));
    before.sort_by_cached_key(order);
    Ok(before.iter().rev().take(EARLIER).map(|s| s.id).collect())
}

pub(super) fn page(shelf: &Shelf, session: Uuid) -> Result<EveningPage, Fault> {
    let night = Night::of(shelf, session, true)?;
    let names = Names::of(&night.records);
    let (session, units) = (&night.session, night.units);
    let all = night.reduced();
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
            let lines = read.iter().map(|reading| line(&night, &all, run, reading)).collect();
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

fn line(night: &Night, all: &[Reduced], run: &Run, reading: &Reading) -> ReadingLine {
    let units = night.units;
    let own = all.iter().find(|one| one.reading == reading.id);
    let apart = own.and_then(|own| night.apart(all, own.same, Some(reading.id), own.at_set_m3_s));
    let (apart, beside) = apart.unzip();
    let held = reading.actual_pressure.as_ref();
    ReadingLine {
        id: reading.id,
        flow: reading.flow.as_ref().map(|flow| units.flow(flow.si)),
        reduced: own.filter(|_| !leaks(run)).map(|own| units.flow(own.at_set_m3_s)),
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

fn leakage(night: &Night, purpose: Purpose, say: fn(&str, Option<&str>) -> String) -> Option<LeakageRead> {
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

fn baseline(night: &Night, all: &[Reduced]) -> Option<BaselineSoFar> {
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

fn seen(night: &Night) -> SeenSoFar {
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

/// The evening's fittings in order: none for a baseline, else what was fitted; and how many follow the last baseline.
struct Fitted {
    subjects: Vec<(Same, Uuid, usize)>,
    baselines: usize,
    first_is_baseline: bool,
    since_baseline: usize,
}

fn fitted(night: &Night) -> Fitted {
    let mut out = Fitted { subjects: Vec::new(), baselines: 0, first_is_baseline: false, since_baseline: 0 };
    let mut before = None;
    for (run, reading) in night.standing_readings() {
        if reading.flow.is_none() {
            continue;
        }
        let same = Same::of(run, &night.session);
        match (run.purpose, run.assembly) {
            (Some(Purpose::Baseline), _) => {
                out.first_is_baseline |= out.subjects.is_empty();
                (out.baselines, out.since_baseline) = (out.baselines + 1, 0);
            }
            (Some(Purpose::Test) | None, Some(assembly)) => {
                if run.refit == Some(Refit::No) && before == Some(same) {
                    continue;
                }
                out.since_baseline += 1;
                match out.subjects.iter_mut().find(|(held, ..)| *held == same) {
                    Some((_, _, fittings)) => *fittings += 1,
                    None => out.subjects.push((same, assembly, 1)),
                }
            }
            _ => continue,
        }
        before = Some(same);
    }
    out
}

fn next(night: &Night, names: &Names, seen: &SeenSoFar) -> Vec<String> {
    let fitted = fitted(night);
    let mut next = Vec::new();
    if night.session.item.is_none() {
        next.push("Say which carburetor stands on the bench.".to_owned());
    }
    if fitted.baselines == 0 {
        let leaked = night.runs().any(|run| run.purpose == Some(Purpose::FixtureLeakage));
        if !leaked && fitted.subjects.is_empty() {
            next.push("Read the fixture leakage with the bench blanked off, then the baseline.".into());
        } else {
            next.push("Baseline due now: without one there are no losses.".into());
        }
    } else {
        next.push(words::baseline_due(BETWEEN_BASELINES.saturating_sub(fitted.since_baseline)));
    }
    if let Some((_, assembly, fittings)) = fitted.subjects.iter().min_by_key(|(.., fittings)| *fittings) {
        next.push(words::one_more(&names.assembly(Some(*assembly)), *fittings, seen.from != "none"));
    }
    next
}

fn before_closing(night: &Night, seen: &SeenSoFar) -> Vec<String> {
    let fitted = fitted(night);
    let some = !fitted.subjects.is_empty();
    [
        (!some, "nothing"),
        (some && fitted.baselines == 0, "no-baseline"),
        (some && fitted.baselines > 0 && !fitted.first_is_baseline, "start-missing"),
        (some && fitted.baselines > 0 && fitted.since_baseline > 0, "end-missing"),
        (some && seen.from == "none", "no-scatter"),
    ]
    .into_iter()
    .filter(|(holds, _)| *holds)
    .map(|(_, code)| words::before_closing(code).to_owned())
    .collect()
}

fn holds(
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
