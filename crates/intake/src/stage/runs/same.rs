//! Whether a run is one that the file or the shelf has already.

use crate::stage::complete::{Completed, HeldRun};
use crate::stage::draft::{At, Draft};
use airshelf_catalog::ids::{Derived, beside};
use airshelf_catalog::{
    Claim, EntityKind, Purpose, Quantity, Reading, Restraint, Run, Service, Session, Uuid, Value,
};

/// Gives a run its identifier and puts it down with its reading and claim, or notes where else it stands.
pub(crate) fn put_run(
    draft: &mut Draft<'_, '_>,
    mut run: Run,
    mut reading: Reading,
    claim: Option<Claim>,
    at: At,
) {
    if run.order_number.is_some() {
        order_session(draft, &run);
    }
    let id = draft.free_id(&run_key(&run, &reading, claim.as_ref(), run.restraint, run.service));
    if let Some((id, held)) = held(draft, id, &run, &reading, claim.as_ref()) {
        if held.table != Some(at.table) {
            draft.also_at(id, at, run.column.map(|c| c as usize));
            if let Some((item, range)) = run.session.and_then(|s| draft.paged.get(&s)) {
                run.item = run.item.or(*item);
                run.range = run.range.or(*range);
            }
            let benchless = run.range.and_then(|r| draft.benchless(r));
            draft.complete(held.completed(id, &run, benchless));
        }
        draft.staged.rows.already += 1;
        return;
    }
    run.id = id;
    let read = reading.flow.is_some()
        || reading.actual_pressure.is_some()
        || reading.air_temperature.is_some()
        || reading.barometer.is_some()
        || reading.humidity.is_some()
        || reading.meter_temperature.is_some()
        || reading.clock.is_some();
    if read {
        reading.id = beside("reading", id);
        reading.run = Some(id);
        draft.records.readings.push(reading);
    }
    if let Some(mut claim) = claim {
        claim.id = beside("claim", id);
        claim.run = Some(id);
        draft.records.claims.push(claim);
    }
    draft.records.runs.push(run);
    draft.staged.rows.taken += 1;
}

/// A session of the shelf that was only a list has an order once runs with numbers come to it.
fn order_session(draft: &mut Draft<'_, '_>, run: &Run) {
    let Some(session) = run.session.and_then(|s| draft.known.sessions.get(&s)) else { return };
    if session.unordered == Some(true) && draft.ordered.insert(session.id) {
        let mut completed = Completed { kind: EntityKind::Session, row: session.id, fields: Vec::new() };
        completed.set::<Session>("unordered", Value::Null);
        completed.set::<Session>("table", run.table.map_or(Value::Null, Value::Id));
        draft.complete(completed);
    }
}

/// What a run's identifier derives from.
fn run_key(
    run: &Run,
    reading: &Reading,
    claim: Option<&Claim>,
    restraint: Option<Restraint>,
    service: Option<Service>,
) -> Derived {
    let si = |q: &Option<Quantity>| q.as_ref().map(|q| q.si);
    let key = Derived::new("run")
        .id(run.session)
        .int(run.order_number)
        .text(run.purpose.map_or("", Purpose::name))
        .id(run.assembly)
        .text(restraint.map_or("", Restraint::name))
        .text(service.map_or("", Service::name))
        .real(si(&run.set_pressure))
        .real(si(&reading.actual_pressure))
        .real(si(&reading.flow));
    if reading.flow.is_some() {
        return key;
    }
    key.real(claim.and_then(|c| si(&c.stated_loss).or(si(&c.stated_loss_percent)).or(si(&c.net_flow))))
}

/// The run of the shelf that this is: by its identifier, else the one of the same number in the same session that
/// differs only in that one of the two leaves restraint or service blank.
pub(super) fn held(
    draft: &mut Draft<'_, '_>,
    id: Uuid,
    run: &Run,
    reading: &Reading,
    claim: Option<&Claim>,
) -> Option<(Uuid, HeldRun)> {
    let known = draft.known;
    if let Some(held) = known.runs.get(&id) {
        return Some((id, *held));
    }
    run.order_number?;
    known.sessions.get(&run.session?)?;
    let restraints: Vec<_> = match run.restraint {
        Some(own) => vec![Some(own), None],
        None => std::iter::once(None).chain(Restraint::ALL.iter().copied().map(Some)).collect(),
    };
    let services: Vec<_> = match run.service {
        Some(own) => vec![Some(own), None],
        None => std::iter::once(None).chain(Service::ALL.iter().copied().map(Some)).collect(),
    };
    for restraint in restraints {
        for service in &services {
            let other = run_key(run, reading, claim, restraint, *service).int(Some(1)).finish();
            if let Some(held) = known.runs.get(&other)
                && draft.take_id(other)
            {
                return Some((other, *held));
            }
        }
    }
    None
}
