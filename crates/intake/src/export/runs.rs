//! The canonical sheet of runs.

use super::{Cells, Column, ExportError, revision_names, write};
use crate::stage::service_in;
use airshelf_catalog::ids::unpack_layers;
use airshelf_catalog::{
    BaselineKind, BenchRange, Claim, PartKind, Purpose, Quantity, Reading, Records, Run, Session, Uuid,
};
use airshelf_units::Unit;
use std::collections::HashMap;
use std::io::Write;

/// A run's line of the sheet.
#[derive(Clone, Copy)]
struct Line<'r> {
    run: &'r Run,
    reading: Option<&'r Reading>,
    claim: Option<&'r Claim>,
    session: Option<&'r Session>,
    /// Texts of its layers by kind.
    layers: &'r [(PartKind, String)],
}

impl<'r> Line<'r> {
    /// The session whose page speaks for a run; the page's own baseline needs none.
    fn page(&self) -> Option<&'r Session> {
        self.session.filter(|_| !self.run.id.is_nil())
    }
}

/// Writes runs as a canonical sheet: one line for each reading that was not struck out, and for each run that only claims.
///
/// Sessions stand in their order in `records`, runs by their number. What a page stated once stands in each of its rows;
/// the baseline that it stated is a line of its own, a baseline without a flow.
/// Parts of no kind of their own (`other`) in an assembly have no column and are left out.
///
/// # Errors
/// [`ExportError`] if `out` cannot be written to.
///
/// ```
/// let mut out = Vec::new();
/// airshelf_intake::export::runs(&airshelf_catalog::Records::default(), &mut out)?;
/// assert!(out.starts_with(b"session,date,bench,range (CFM),item,purpose,order,"));
/// # Ok::<(), airshelf_intake::export::ExportError>(())
/// ```
pub fn runs<W: Write>(records: &Records, out: W) -> Result<(), ExportError> {
    let names = revision_names(records);
    let kinds: HashMap<Uuid, PartKind> = records.parts.iter().filter_map(|p| Some((p.id, p.kind?))).collect();
    let kind_of: HashMap<Uuid, PartKind> =
        records.revisions.iter().filter_map(|r| Some((r.id, *kinds.get(&r.part?)?))).collect();
    let assemblies: HashMap<Uuid, Vec<(PartKind, String)>> = records
        .assemblies
        .iter()
        .filter_map(|a| {
            let layers = unpack_layers(a.layers.as_deref()?)?;
            let named = layers
                .iter()
                .filter_map(|l| Some((*kind_of.get(&l.revision)?, names.get(&l.revision)?.clone())));
            Some((a.id, named.collect()))
        })
        .collect();
    let places: HashMap<Uuid, usize> =
        records.sessions.iter().enumerate().map(|(at, s)| (s.id, at)).collect();
    let benches: HashMap<Uuid, &str> =
        records.benches.iter().filter_map(|b| Some((b.id, b.name.as_deref()?))).collect();
    let ranges: HashMap<Uuid, &BenchRange> = records.bench_ranges.iter().map(|r| (r.id, r)).collect();
    let claims: HashMap<Uuid, &Claim> = records.claims.iter().filter_map(|c| Some((c.run?, c))).collect();
    let mut readings: HashMap<Uuid, Vec<&Reading>> = HashMap::new();
    for reading in &records.readings {
        if let Some(run) = reading.run {
            readings.entry(run).or_default().push(reading);
        }
    }

    let pages: Vec<(Run, Claim)> = records.sessions.iter().filter_map(stated).collect();
    let mut stated: HashMap<Option<Uuid>, &(Run, Claim)> = pages.iter().map(|p| (p.0.session, p)).collect();

    let mut order: Vec<&Run> = records.runs.iter().collect();
    let place = |run: &Run| run.session.and_then(|s| places.get(&s).copied()).unwrap_or(usize::MAX);
    order.sort_by_key(|r| (place(r), r.order_number.unwrap_or(i64::MAX)));
    let mut lines: Vec<Line<'_>> = Vec::with_capacity(order.len());
    for run in order {
        let mut line = Line {
            run,
            reading: None,
            claim: claims.get(&run.id).copied(),
            session: run.session.and_then(|s| places.get(&s)).map(|at| &records.sessions[*at]),
            layers: run.assembly.and_then(|a| assemblies.get(&a)).map_or(&[], Vec::as_slice),
        };
        if let Some((run, claim)) = stated.remove(&run.session) {
            lines.push(Line { run, reading: None, claim: Some(claim), layers: &[], ..line });
        }
        let Some(list) = readings.get(&run.id) else {
            lines.push(line);
            continue;
        };
        for reading in list.iter().filter(|r| r.struck.is_none()) {
            line.reading = Some(reading);
            lines.push(line);
            // A claim stands beside one reading.
            line.claim = None;
        }
    }

    let owned = |text: Option<&str>| text.unwrap_or_default().to_owned();
    let named = |revision: Option<Uuid>| revision.and_then(|r| names.get(&r)).cloned().unwrap_or_default();
    let layer = |kind: PartKind| {
        move |line: &Line<'_>| {
            let texts: Vec<&str> = line.layers.iter().filter(|l| l.0 == kind).map(|l| l.1.as_str()).collect();
            texts.join(" + ")
        }
    };
    let columns = vec![
        text(&lines, "session", false, |l| owned(l.session.and_then(|s| s.name.as_deref()))),
        text(&lines, "date", false, |l| {
            owned(l.run.date.as_deref().or(l.session.and_then(|s| s.date.as_deref())))
        }),
        text(&lines, "bench", false, |l| {
            owned(l.session.and_then(|s| s.bench).and_then(|b| benches.get(&b)).copied())
        }),
        measured(&lines, "range", false, Unit::CFM, |l| {
            ranges.get(&l.run.range.or(l.page().and_then(|s| s.range))?)?.full_scale.as_ref()
        }),
        text(&lines, "item", false, |l| match l.run.purpose {
            Some(Purpose::FixtureLeakage) => "blanked".to_owned(),
            _ => named(l.run.item.or(l.page().and_then(|s| s.item))),
        }),
        text(&lines, "purpose", false, |l| owned(l.run.purpose.map(Purpose::name))),
        text(&lines, "order", false, |l| l.run.order_number.map(|o| o.to_string()).unwrap_or_default()),
        text(&lines, "clock", true, |l| owned(l.reading.and_then(|r| r.clock.as_deref()))),
        text(&lines, "base", false, |l| match (l.run.purpose, l.run.baseline_kind) {
            (Some(Purpose::Baseline), Some(BaselineKind::Unknown) | None) => "?".to_owned(),
            (Some(Purpose::Baseline), Some(BaselineKind::WithBase)) => {
                let other = if l.run.id.is_nil() { "with base" } else { "?" };
                Some(layer(PartKind::Base)(l)).filter(|t| !t.is_empty()).unwrap_or_else(|| other.to_owned())
            }
            _ => layer(PartKind::Base)(l),
        }),
        text(&lines, "spacer", false, layer(PartKind::Spacer)),
        text(&lines, "velocity stack", true, layer(PartKind::VelocityStack)),
        text(&lines, "filter", false, layer(PartKind::Filter)),
        text(&lines, "lid", false, layer(PartKind::Lid)),
        text(&lines, "stud", true, |l| named(l.run.stud)),
        text(&lines, "restraint", false, |l| {
            let page = l.session.and_then(|s| s.restraint).filter(|_| !l.layers.is_empty());
            owned(l.run.restraint.or(page).map(|r| r.name()))
        }),
        text(&lines, "service", false, |l| owned(service(l).map(|s| s.name()))),
        text(&lines, "direction", true, |l| owned(l.run.direction.map(|d| d.name()))),
        text(&lines, "refit", true, |l| owned(l.run.refit.map(|r| r.name()))),
        measured(&lines, "set pressure", false, Unit::IN_H2O, |l| {
            l.run.set_pressure.as_ref().or(l.page().and_then(|s| s.set_pressure.as_ref()))
        }),
        measured(&lines, "actual pressure", false, Unit::IN_H2O, |l| {
            l.reading.and_then(|r| r.actual_pressure.as_ref())
        }),
        measured(&lines, "flow", false, Unit::CFM, |l| l.reading.and_then(|r| r.flow.as_ref())),
        measured(&lines, "leakage", true, Unit::CFM, |l| l.claim.and_then(|c| c.leakage.as_ref())),
        measured(&lines, "net flow", true, Unit::CFM, |l| l.claim.and_then(|c| c.net_flow.as_ref())),
        measured(&lines, "flow at set pressure", true, Unit::CFM, |l| {
            l.claim.and_then(|c| c.flow_at_set_pressure.as_ref())
        }),
        measured(&lines, "flow at reference air", true, Unit::CFM, |l| {
            l.claim.and_then(|c| c.flow_at_reference_air.as_ref())
        }),
        text(&lines, "air factor", true, |l| {
            l.claim.and_then(|c| c.air_factor).map(|f| f.to_string()).unwrap_or_default()
        }),
        measured(&lines, "stated baseline", true, Unit::CFM, |l| {
            l.claim.and_then(|c| c.stated_baseline.as_ref())
        }),
        measured(&lines, "stated loss", true, Unit::CFM, |l| l.claim.and_then(|c| c.stated_loss.as_ref())),
        measured(&lines, "loss percent", true, Unit::PERCENT, |l| {
            l.claim.and_then(|c| c.stated_loss_percent.as_ref())
        }),
        text(&lines, "baseline session", true, |l| {
            owned(l.claim.and_then(|c| c.baseline_session.as_deref()))
        }),
        text(&lines, "place", true, |l| {
            l.claim.and_then(|c| c.place).map(|p| p.to_string()).unwrap_or_default()
        }),
        text(&lines, "readings", true, |l| {
            let page =
                l.session.and_then(|s| s.readings_each).filter(|_| l.run.purpose == Some(Purpose::Test));
            l.claim.and_then(|c| c.readings).or(page).map(|r| r.to_string()).unwrap_or_default()
        }),
        measured(&lines, "air temperature", false, Unit::FAHRENHEIT, |l| {
            l.reading
                .and_then(|r| r.air_temperature.as_ref())
                .or(l.page().and_then(|s| s.air_temperature.as_ref()))
        }),
        measured(&lines, "meter temperature", true, Unit::FAHRENHEIT, |l| {
            l.reading.and_then(|r| r.meter_temperature.as_ref())
        }),
        measured(&lines, "barometer", false, Unit::IN_HG, |l| {
            l.reading.and_then(|r| r.barometer.as_ref()).or(l.page().and_then(|s| s.barometer.as_ref()))
        }),
        measured(&lines, "humidity", false, Unit::PERCENT, |l| {
            l.reading.and_then(|r| r.humidity.as_ref()).or(l.page().and_then(|s| s.humidity.as_ref()))
        }),
        text(&lines, "photo", true, |l| owned(l.run.photo_note.as_deref())),
        text(&lines, "note", false, |l| owned(l.run.note.as_deref())),
    ];
    write(columns, lines.len(), out)
}

/// The baseline that a page states, as a baseline's line without a reading; its base says what it consists of.
fn stated(session: &Session) -> Option<(Run, Claim)> {
    let baseline = session.stated_baseline.clone()?;
    let run = Run {
        session: Some(session.id),
        purpose: Some(Purpose::Baseline),
        baseline_kind: session.stated_baseline_kind,
        ..Run::default()
    };
    Some((run, Claim { stated_baseline: Some(baseline), ..Claim::default() }))
}

fn text<'r>(
    lines: &[Line<'r>],
    name: &'static str,
    optional: bool,
    of: impl Fn(&Line<'r>) -> String,
) -> Column<'r> {
    Column { name, optional, cells: Cells::Text(lines.iter().map(of).collect()) }
}

fn measured<'r>(
    lines: &[Line<'r>],
    name: &'static str,
    optional: bool,
    unit: Unit,
    of: impl Fn(&Line<'r>) -> Option<&'r Quantity>,
) -> Column<'r> {
    Column { name, optional, cells: Cells::Measured(unit.dimension(), unit, lines.iter().map(of).collect()) }
}

/// The state of a run's element: its own, else what its page says of such elements.
fn service(line: &Line<'_>) -> Option<airshelf_catalog::Service> {
    line.run.service.or_else(|| {
        let note = line.session?.service_note.as_deref()?;
        let filter = &line.layers.iter().find(|l| l.0 == PartKind::Filter)?.1;
        service_in(note, filter)
    })
}
