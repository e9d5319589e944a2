//! A reading: read as it is typed, kept with its run, struck out.

use super::super::amount::Amount;
use super::choose::layers_of;
use super::evenings::open_session;
use super::measured::{Units, needed, typed};
use super::night::{Night, Same};
use crate::audited::FaultReport;
use crate::code::{Code, Fault};
use crate::entry::Changed;
use crate::explain::reduced;
use crate::names::as_written;
use crate::sentences;
use crate::sentences::bench as words;
use crate::shelf::Shelf;
use airshelf_catalog::ids::{Layer, assembly, pack_layers};
use airshelf_catalog::{
    Assembly, BaselineKind, BenchRange, Direction, Purpose, Reading, Refit, Restraint, Run, Service, Session,
    Value,
};
use airshelf_units::Dimension;
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// The pressure that was held.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "how", rename_all = "kebab-case")]
pub enum PressureAt {
    /// Nobody looked; it is taken as set.
    NotRead,
    /// The gauge stood on the set pressure.
    OnTarget,
    /// The gauge showed this.
    At {
        /// As typed.
        text: String,
    },
}

/// A reading as it is typed, with what it was taken on.
#[derive(Clone, Debug, Deserialize, TS)]
pub struct NewReading {
    /// The evening.
    pub session: Uuid,
    /// Why it was made.
    pub purpose: Purpose,
    /// The revisions on the bench, in any order, the stud among them; for a check plate, the plate.
    pub parts: Vec<Uuid>,
    /// How they are held.
    pub restraint: Option<Restraint>,
    /// The state of the element.
    pub service: Option<Service>,
    /// Taken off and fitted again before this reading.
    pub refitted: bool,
    /// The range in use; none for the evening's.
    pub range: Option<Uuid>,
    /// The flow, as typed.
    pub flow: String,
    /// The pressure that was held.
    pub held: PressureAt,
}

/// How a reading would be kept.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ReadingTried {
    /// The flow as read.
    pub flow: Amount,
    /// Less leakage, at the set pressure.
    pub reduced: Option<Amount>,
    /// The same in reference air, where the meter is known.
    pub at_reference: Option<Amount>,
    /// How far from its repeats; below zero where it is below them.
    pub apart: Option<Amount>,
    /// All of it in one line.
    pub echo: String,
    /// Why it cannot be brought to the set pressure.
    pub refused: Option<String>,
    /// What is wrong with it.
    pub faults: Vec<FaultReport>,
}

/// A reading that is not kept yet.
struct Drawn {
    assembly: Option<Assembly>,
    run: Run,
    reading: Reading,
}

fn drawn(shelf: &Shelf, session: &Session, new: &NewReading) -> Result<Drawn, Fault> {
    let range_id = new.range.or(session.range);
    let range: Option<BenchRange> = range_id.map(|id| shelf.store().get(id)).transpose()?.flatten();
    let units = Units::of(Some(session), range.as_ref(), shelf.system());
    let flow = needed("flow", &new.flow, Dimension::Flow, units.flow)?;
    let set = session.set_pressure.clone();
    let gauge = match &new.held {
        PressureAt::NotRead => None,
        PressureAt::OnTarget => set.clone(),
        PressureAt::At { text } => typed("pressure", text, Dimension::Pressure, units.pressure)?,
    };
    let sweep = new.purpose == Purpose::Sweep;
    if sweep && gauge.is_none() {
        return Err(Fault::new(Code::BadArgument, "a sweep needs the pressure of each reading"));
    }
    let (layers, stud) = layers_of(shelf, &new.parts)?;
    let (mut on_item, mut item) = (layers, session.item);
    match new.purpose {
        Purpose::FixtureLeakage => (on_item, item) = (Vec::new(), None),
        Purpose::ClosedThrottleLeakage => on_item.clear(),
        // The plate stands where the carburetor would.
        Purpose::CheckPlate => (item, on_item) = (on_item.first().copied(), Vec::new()),
        Purpose::Test if on_item.is_empty() => {
            return Err(Fault::new(Code::BadArgument, "a test needs its parts: choose what is on the bench"));
        }
        Purpose::Test | Purpose::Sweep | Purpose::Baseline => {}
    }
    let layers: Vec<Layer> = on_item.into_iter().map(Layer::of).collect();
    let made = (!layers.is_empty()).then(|| Assembly {
        id: assembly(&layers),
        layers: Some(pack_layers(&layers)),
        ..Assembly::default()
    });
    let dressed = made.is_some();
    let bare_or_base = if dressed { BaselineKind::WithBase } else { BaselineKind::Bare };
    let run = Run {
        session: Some(session.id),
        purpose: Some(new.purpose),
        assembly: made.as_ref().map(|made| made.id),
        item,
        range: range_id,
        direction: (new.purpose != Purpose::FixtureLeakage).then_some(Direction::Intake),
        set_pressure: if sweep { gauge.clone() } else { set },
        restraint: new.restraint.filter(|_| dressed && new.purpose != Purpose::Baseline),
        service: new.service.filter(|_| dressed && new.purpose != Purpose::Baseline),
        stud: stud.filter(|_| dressed),
        refit: matches!(new.purpose, Purpose::Test | Purpose::Sweep | Purpose::Baseline)
            .then_some(if new.refitted { Refit::Yes } else { Refit::No }),
        baseline_kind: (new.purpose == Purpose::Baseline || (sweep && !dressed)).then_some(bare_or_base),
        ..Run::default()
    };
    let wall = shelf.store().wall();
    let reading = Reading {
        flow: Some(flow),
        actual_pressure: gauge,
        // What the air was stays with the reading, whatever the evening says later.
        air_temperature: session.air_temperature.clone(),
        barometer: session.barometer.clone(),
        humidity: session.humidity.clone(),
        clock: wall.get(11..19).map(Into::into),
        ..Reading::default()
    };
    Ok(Drawn { assembly: made, run, reading })
}

pub(super) fn attempt(shelf: &Shelf, new: &NewReading) -> Result<ReadingTried, Fault> {
    let session = open_session(shelf, new.session)?;
    let Drawn { assembly, mut run, mut reading } = drawn(shelf, &session, new)?;
    // Nothing of it is kept; any id that no row has will do.
    run.id = Uuid::max();
    (reading.id, reading.run) = (Uuid::max(), Some(run.id));
    let night = Night::with(shelf, session, assembly, run, reading)?;
    let run = night.runs().find(|run| run.id == Uuid::max());
    let read = night.records.readings.iter().find(|reading| reading.id == Uuid::max());
    let (Some(run), Some(read), units) = (run, read, night.units) else {
        return Err(Fault::new(Code::Store, "the reading was lost on its way"));
    };
    let flow = units.flow(read.flow.as_ref().map_or(0.0, |flow| flow.si));
    let leakage = matches!(run.purpose, Some(Purpose::FixtureLeakage | Purpose::ClosedThrottleLeakage));
    let (brought, refused) = match reduced(&night.records, run, read, &night.blocked) {
        Some(Ok(brought)) => (Some(brought), None),
        Some(Err(error)) => (None, Some(sentences::refusal(&error, units.system))),
        None => (None, None),
    };
    let beside = brought
        .as_ref()
        .and_then(|b| night.beside(Same::of(run, &night.session), Some(Uuid::max()), b.at_set_m3_s));
    let taken_off = brought.as_ref().and_then(|b| {
        let step = b.steps.iter().find(|step| step.name.starts_with("fixture leakage"))?;
        Some(units.little(step.value).text)
    });
    let reduced = brought.as_ref().map(|b| units.flow(b.at_set_m3_s));
    let at = run.set_pressure.as_ref().map(|p| units.pressure(p.si).text);
    let echo = words::shown_back(
        &reduced.as_ref().filter(|_| !leakage).unwrap_or(&flow).text,
        at.as_deref(),
        taken_off.as_deref(),
        beside.as_ref().map(|(_, told)| told.as_str()),
    );
    Ok(ReadingTried {
        reduced: reduced.filter(|_| !leakage),
        at_reference: brought.and_then(|b| b.at_reference_m3_s).filter(|_| !leakage).map(|q| units.flow(q)),
        apart: beside.map(|(apart, _)| apart),
        faults: night.faults_of(run.id),
        echo,
        refused,
        flow,
    })
}

pub(super) fn keep(shelf: &mut Shelf, new: &NewReading) -> Result<Changed, Fault> {
    let session = open_session(shelf, new.session)?;
    let Drawn { assembly, mut run, mut reading } = drawn(shelf, &session, new)?;
    let runs: Vec<Run> = shelf.store().find_by("session", &Value::Id(session.id))?;
    run.order_number = Some(runs.iter().filter_map(|run| run.order_number).max().unwrap_or(0) + 1);
    let flow = reading.flow.as_ref().and_then(as_written).unwrap_or_default();
    let outcome = shelf.store.write(&format!("read {flow}"), |w| {
        if let Some(assembly) = &assembly {
            w.create(assembly)?;
        }
        let id = w.create(&run)?;
        reading.run = Some(id);
        w.create(&reading)?;
        Ok::<Uuid, Fault>(id)
    })?;
    Ok(Changed::of(outcome))
}

/// The reading, if it is one of the evening and stands.
fn standing(shelf: &Shelf, session: Uuid, reading: Uuid) -> Result<Reading, Fault> {
    let missing = || Fault::new(Code::NotFound, "this reading is not one of this evening");
    let held: Reading = shelf.store().get(reading)?.ok_or_else(missing)?;
    let run = held.run.map(|run| shelf.store().get::<Run>(run)).transpose()?.flatten();
    if run.and_then(|run| run.session) != Some(session) {
        return Err(missing());
    }
    if held.struck.is_some() {
        return Err(Fault::new(Code::BadArgument, "this reading is struck out already"));
    }
    Ok(held)
}

pub(super) fn strike(
    shelf: &mut Shelf,
    session: Uuid,
    reading: Uuid,
    reason: &str,
) -> Result<Changed, Fault> {
    let reason = said(reason, "a reading is struck out with a reason")?;
    standing(shelf, session, reading)?;
    let outcome = shelf.store.write("strike a reading", |w| {
        w.strike(reading, reason)?;
        Ok::<Uuid, Fault>(reading)
    })?;
    Ok(Changed::of(outcome))
}

fn said<'a>(text: &'a str, otherwise: &str) -> Result<&'a str, Fault> {
    match text.trim() {
        "" => Err(Fault::new(Code::BadArgument, otherwise)),
        text => Ok(text),
    }
}

pub(super) fn happened(
    shelf: &mut Shelf,
    session: Uuid,
    what: &str,
    reading: Option<Uuid>,
) -> Result<Changed, Fault> {
    let what = said(what, "say what happened")?;
    let held = open_session(shelf, session)?;
    if let Some(reading) = reading {
        standing(shelf, session, reading)?;
    }
    let clock = shelf.store().wall().get(11..16).unwrap_or_default().to_owned();
    let line = format!("{clock} {what}");
    let note =
        held.note.filter(|note| !note.is_empty()).map_or(line.clone(), |note| format!("{note}\n{line}"));
    let outcome = shelf.store.write(&format!("happened: {what}"), |w| {
        w.edit::<Session>(session, "note", Value::Text(note))?;
        if let Some(reading) = reading {
            w.strike(reading, what)?;
        }
        Ok::<Uuid, Fault>(session)
    })?;
    Ok(Changed::of(outcome))
}
