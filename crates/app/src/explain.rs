//! How the numbers of a run came about, step by step.

use crate::code::{Code, Fault};
use crate::fittings::{Blocked, loss_signs};
use crate::names::{Names, as_written};
use crate::report::{AssemblyReport, GroupReport, SessionReport};
use crate::sentences;
use airshelf_catalog::{Bench, BenchRange, Meter, Purpose, Quantity, Reading, Records, Run, Session, Uuid};
use airshelf_flow::FlowError;
use airshelf_flow::air::Air;
use airshelf_flow::reduce::{
    FixtureLeakage, Indicated, MeterKind, Reading as Reduced, ReadingUncertainty, ReducedReading, reduce,
};
use airshelf_units::System;
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use ts_rs::TS;

/// The chain of a run.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Explanation {
    /// The run.
    pub run: Uuid,
    /// What it was, in words.
    pub what: String,
    /// From which file, sheet and row, where it was imported.
    pub from: Option<String>,
    /// The steps, first to last.
    pub steps: Vec<Step>,
    /// What a person should know beside them.
    pub cautions: Vec<String>,
}

/// One step.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Step {
    /// What it gives.
    pub name: String,
    /// How.
    pub formula: String,
    /// Why it may be done so.
    pub source: String,
    /// The value, in `unit`.
    pub value: f64,
    /// An SI unit, or percent.
    pub unit: String,
    /// What this step adds, or the standard uncertainty of its result; none where it is not known.
    pub standard_uncertainty: Option<f64>,
}

/// The rows that explain one run.
struct Found<'a> {
    blocked: &'a HashMap<Uuid, Blocked>,
    run: &'a Run,
    session: &'a Session,
    range: Option<&'a BenchRange>,
    bench: Option<&'a Bench>,
}

/// Explains a run from the records of its session and, where it took part, the comparison. Fixture leakage that is
/// `blocked` is left out here as it is there.
///
/// # Errors
/// [`Fault`] if the run is not there, has no reading that stands, or its reading cannot be reduced.
pub fn explain(
    records: &Records,
    run: Uuid,
    blocked: &HashMap<Uuid, Blocked>,
    compared: Option<&SessionReport>,
    system: System,
) -> Result<Explanation, Fault> {
    let names = Names::of(records);
    let found = find(records, run, blocked)?;
    let mut steps = Vec::new();
    let mut cautions = Vec::new();
    let reading = records.readings.iter().rfind(|r| r.run == Some(run) && r.struck.is_none());
    match reading.and_then(|r| Some((r, r.flow.as_ref()?))) {
        Some((reading, flow)) => {
            from_reading(records, &found, reading, flow, system, &mut steps, &mut cautions)?
        }
        None => from_claim(records, &found, &mut steps)?,
    }
    if let Some(session) = compared {
        comparison(&found, session, &mut steps);
    }
    let order = found.run.order_number.map_or(String::new(), |n| format!(" run {n}"));
    let what = format!(
        "{}{order}: {}, {}",
        found.session.name.as_deref().unwrap_or("session"),
        found.run.purpose.map_or("run", Purpose::name),
        names.assembly(found.run.assembly)
    );
    Ok(Explanation { run, what, from: place(records, found.run), steps, cautions })
}

/// A reading of a run brought to its set pressure, as [`explain`] shows it; none without flow or test pressure.
pub(crate) fn reduced(
    records: &Records,
    run: &Run,
    reading: &Reading,
    blocked: &HashMap<Uuid, Blocked>,
) -> Option<Result<ReducedReading, FlowError>> {
    let leaked = leaked(records, run.session?, blocked);
    reduced_by(records, run, reading, blocked, &leaked)
}

/// The same, where what leaked in the run's session is at hand.
pub(crate) fn reduced_by(
    records: &Records,
    run: &Run,
    reading: &Reading,
    blocked: &HashMap<Uuid, Blocked>,
    leaked: &[Leaked],
) -> Option<Result<ReducedReading, FlowError>> {
    let session = records.sessions.iter().find(|s| Some(s.id) == run.session)?;
    let found = on_bench(records, run, session, blocked);
    Some(reduce(&reduction(&found, reading, reading.flow.as_ref()?, leaked)?))
}

/// The steps from what the meter showed.
fn from_reading(
    records: &Records,
    found: &Found,
    reading: &Reading,
    flow: &Quantity,
    system: System,
    steps: &mut Vec<Step>,
    cautions: &mut Vec<String>,
) -> Result<(), Fault> {
    for (name, quantity) in [
        ("flow as read", Some(flow)),
        ("set pressure", found.run.set_pressure.as_ref().or(found.session.set_pressure.as_ref())),
        ("actual pressure", reading.actual_pressure.as_ref()),
    ] {
        steps.extend(quantity.map(|q| written(name, q)));
    }
    let leaked = leaked(records, found.session.id, found.blocked);
    let Some(asked) = reduction(found, reading, flow, &leaked) else {
        cautions
            .push("There is no test pressure: flow, pressure drop and k cannot be brought to one.".into());
        return Ok(());
    };
    let reduced =
        reduce(&asked).map_err(|e| Fault::new(Code::OutsideValidity, sentences::refusal(&e, system)))?;
    steps.extend(reduced.steps.iter().map(|step| Step {
        name: step.name.into(),
        formula: step.formula.into(),
        source: step.source.into(),
        value: step.value,
        unit: step.unit.into(),
        standard_uncertainty: step.standard_uncertainty,
    }));
    cautions.extend(reduced.cautions.iter().map(|caution| sentences::caution(caution, system)));
    Ok(())
}

/// The steps of a run of which the page tells only a loss.
fn from_claim(records: &Records, found: &Found, steps: &mut Vec<Step>) -> Result<(), Fault> {
    let claim = records.claims.iter().find(|c| c.run == Some(found.run.id));
    let loss = claim.and_then(|c| c.stated_loss.as_ref().or(c.stated_loss_percent.as_ref()));
    let (Some(claim), Some(loss)) = (claim, loss) else {
        let mut readings = records.readings.iter().filter(|r| r.run == Some(found.run.id));
        let struck = readings.find_map(|r| r.struck.as_deref());
        return Err(Fault::new(
            Code::NotFound,
            match struck {
                Some(why) => format!("this run's reading is struck out ({why}): there is nothing to explain"),
                None => "this run has no flow and no loss: there is nothing to explain".into(),
            },
        ));
    };
    let baseline = claim.stated_baseline.as_ref().or(found.session.stated_baseline.as_ref());
    steps.extend(baseline.map(|q| written("stated baseline", q)));
    steps.push(written("stated loss", loss));
    let of_session: HashSet<Uuid> =
        records.runs.iter().filter(|r| r.session == Some(found.session.id)).map(|r| r.id).collect();
    let own = records.claims.iter().filter(|c| c.run.is_some_and(|run| of_session.contains(&run)));
    let (of_flow, of_share) = loss_signs(own);
    if let Some(baseline) = baseline {
        let (value, formula) = match claim.stated_loss {
            Some(_) if of_flow < 0.0 => {
                (baseline.si + loss.si, "Q0 + loss, where losses are written negative")
            }
            Some(_) => (baseline.si - loss.si, "Q0 - loss"),
            None if of_share < 0.0 => {
                (baseline.si * (1.0 + loss.si), "Q0 (1 + loss), where losses are written negative")
            }
            None => (baseline.si * (1.0 - loss.si), "Q0 (1 - loss)"),
        };
        steps.push(Step {
            name: "flow".into(),
            formula: formula.into(),
            source: "as the page means it".into(),
            value,
            unit: "m3/s".into(),
            standard_uncertainty: None,
        });
    }
    Ok(())
}

fn find<'a>(
    records: &'a Records,
    run: Uuid,
    blocked: &'a HashMap<Uuid, Blocked>,
) -> Result<Found<'a>, Fault> {
    let missing = |what: &str| Fault::new(Code::NotFound, format!("{what} is not on this shelf"));
    let run = records.runs.iter().find(|r| r.id == run).ok_or_else(|| missing("this run"))?;
    let session = records
        .sessions
        .iter()
        .find(|s| Some(s.id) == run.session)
        .ok_or_else(|| missing("this run's session"))?;
    Ok(on_bench(records, run, session, blocked))
}

fn on_bench<'a>(
    records: &'a Records,
    run: &'a Run,
    session: &'a Session,
    blocked: &'a HashMap<Uuid, Blocked>,
) -> Found<'a> {
    let range = run.range.or(session.range).and_then(|id| records.bench_ranges.iter().find(|r| r.id == id));
    let bench = range
        .and_then(|r| r.bench)
        .or(session.bench)
        .and_then(|id| records.benches.iter().find(|b| b.id == id));
    Found { blocked, run, session, range, bench }
}

fn reduction(found: &Found, reading: &Reading, flow: &Quantity, leaked: &[Leaked]) -> Option<Reduced> {
    let set_pressure_pa = found.run.set_pressure.as_ref().or(found.session.set_pressure.as_ref())?.si;
    let own_or_page =
        |own: &Option<Quantity>, page: &Option<Quantity>| own.as_ref().or(page.as_ref()).map(|q| q.si);
    let part_air = match (
        own_or_page(&reading.air_temperature, &found.session.air_temperature),
        own_or_page(&reading.barometer, &found.session.barometer),
        own_or_page(&reading.humidity, &found.session.humidity),
    ) {
        (Some(t), Some(p), Some(h)) => Air::from_relative_humidity(t, p, h).ok(),
        _ => None,
    };
    let leakage = match found.run.purpose {
        Some(Purpose::FixtureLeakage | Purpose::ClosedThrottleLeakage) => None,
        _ => fixture_leakage(leaked, set_pressure_pa),
    };
    Some(Reduced {
        indicated: Indicated::Direct { flow_m3_s: flow.si },
        bench_factor: found.bench.and_then(|b| b.factor).unwrap_or(1.0),
        leakage,
        set_pressure_pa,
        actual_pressure_pa: reading.actual_pressure.as_ref().map(|q| q.si),
        meter: match found.bench.and_then(|b| b.meter) {
            Some(Meter::SameAirOrifice) => MeterKind::SameAir,
            Some(Meter::Volumetric) => MeterKind::Volumetric,
            Some(Meter::Mass) => MeterKind::Mass,
            None => MeterKind::Unknown,
        },
        part_air,
        meter_temperature_k: reading.meter_temperature.as_ref().map(|q| q.si),
        meter_pressure_pa: None,
        scale_density_kg_m3: None,
        reference_density_kg_m3: Air::reference().density_kg_m3(),
        uncertainty: ReadingUncertainty {
            indicated_m3_s: found.range.and_then(|r| r.step.as_ref()).map(|step| step.si / 12f64.sqrt()),
            bench_factor_relative: found.bench.and_then(|b| b.factor_uncertainty),
            ..ReadingUncertainty::default()
        },
    })
}

/// A reading of fixture leakage, with the pressure it was read at where that is written.
pub(crate) struct Leaked {
    flow_m3_s: f64,
    at_pa: Option<f64>,
}

/// A session's readings of fixture leakage that the audit lets stand.
pub(crate) fn leaked(records: &Records, session: Uuid, blocked: &HashMap<Uuid, Blocked>) -> Vec<Leaked> {
    let leaks = |run: &&Run| {
        run.session == Some(session)
            && run.purpose == Some(Purpose::FixtureLeakage)
            && !blocked.contains_key(&run.id)
    };
    let mut read = Vec::new();
    for run in records.runs.iter().filter(leaks) {
        for reading in records.readings.iter().filter(|r| r.run == Some(run.id) && r.struck.is_none()) {
            let at = reading.actual_pressure.as_ref().or(run.set_pressure.as_ref());
            let flow = reading.flow.as_ref();
            read.extend(flow.map(|flow| Leaked { flow_m3_s: flow.si, at_pa: at.map(|q| q.si) }));
        }
    }
    read
}

/// Their mean.
fn fixture_leakage(leaked: &[Leaked], set_pressure_pa: f64) -> Option<FixtureLeakage> {
    let n = leaked.len() as f64;
    (n > 0.0).then(|| FixtureLeakage {
        flow_m3_s: leaked.iter().map(|one| one.flow_m3_s).sum::<f64>() / n,
        at_pa: leaked.iter().map(|one| one.at_pa.unwrap_or(set_pressure_pa)).sum::<f64>() / n,
        standard_uncertainty_m3_s: None,
    })
}

fn written(name: &str, quantity: &Quantity) -> Step {
    let formula = as_written(quantity).unwrap_or_else(|| "computed".into());
    let unit = quantity.unit().map_or("SI", |u| u.dimension().si_unit().symbol());
    Step {
        name: name.into(),
        formula,
        source: "as written".into(),
        value: quantity.si,
        unit: unit.into(),
        standard_uncertainty: None,
    }
}

fn comparison(found: &Found, session: &SessionReport, steps: &mut Vec<Step>) {
    for group in &session.groups {
        if let Some(report) = group.assemblies.iter().find(|a| a.runs.contains(&found.run.id)) {
            compared(group, report, steps);
        }
    }
}

/// What the comparison made of all runs of an assembly.
pub(crate) fn of_assembly(group: &GroupReport, report: &AssemblyReport) -> Vec<Step> {
    let mut steps = Vec::new();
    compared(group, report, &mut steps);
    steps
}

fn compared(group: &GroupReport, report: &AssemblyReport, steps: &mut Vec<Step>) {
    let mut push =
        |name: &str, formula: &str, source: &str, value: Option<f64>, unit: &str, u: Option<f64>| {
            if let Some(value) = value {
                steps.push(Step {
                    name: name.into(),
                    formula: formula.into(),
                    source: source.into(),
                    value,
                    unit: unit.into(),
                    standard_uncertainty: u,
                });
            }
        };
    let freedom = group.repeatability.degrees_of_freedom;
    let half = |low: Option<f64>, high: Option<f64>| {
        let t = crate::compare::student_95(freedom?)?;
        Some((high? - low?) / 2.0 / t)
    };
    push(
        "scatter of one fitting",
        "s² = r'r / tr M over the rows of assemblies, joined with earlier evenings",
        "type A, JCGM 100:2008 4.2",
        group.repeatability.scatter_percent,
        "%",
        None,
    );
    push(
        "mean flow of the assembly, drift removed",
        "exp(alpha) from y = alpha + sum delta phi(t)",
        "least squares by QR over the session",
        Some(report.flow_m3_s),
        "m3/s",
        group
            .repeatability
            .scatter_percent
            .map(|s| s / 100.0 * report.flow_m3_s / (report.fittings.max(1) as f64).sqrt()),
    );
    push(
        "loss against the baseline",
        "100 (1 - exp(alpha_i - alpha_0))",
        "least squares by QR over the session; limits by Student's t, JCGM 100:2008 G.3",
        report.loss_percent,
        "%",
        half(report.loss_low_percent, report.loss_high_percent),
    );
    push(
        "loss as a flow",
        "Q0 - Q",
        "on this baseline at this pressure only",
        report.loss_m3_s,
        "m3/s",
        half(report.loss_low_m3_s, report.loss_high_m3_s),
    );
    push(
        "pressure drop of the parts",
        "P (1 - (Q/Q0)²)",
        "Bernoulli's equation",
        report.pressure_drop_pa,
        "Pa",
        None,
    );
    push(
        "k of the parts",
        "P (1/Q² - 1/Q0²)",
        "resistances in series; carried to 0.8 to 1.25 times the tested flow, beyond it only bounded by an exponent between 0.5 and 1",
        report.k_pa_s2_m6,
        "Pa.s2/m6",
        None,
    );
}

/// Where an imported run stands: file, sheet, row.
pub fn place(records: &Records, run: &Run) -> Option<String> {
    let table = records.sheet_tables.iter().find(|t| Some(t.id) == run.table)?;
    let file = records.import_files.iter().find(|f| Some(f.id) == table.file)?;
    let sheet = table.sheet.as_deref().map_or(String::new(), |s| format!(", sheet {s}"));
    Some(format!("{}{sheet}, row {}", file.name.as_deref().unwrap_or("?"), run.row.unwrap_or_default()))
}
