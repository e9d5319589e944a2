//! What a person decides about a fault: it stands, or a repair that was offered is taken.

use super::faults::{Choice, the_one};
use crate::code::{Code, Fault};
use crate::entry::Changed;
use crate::shelf::Shelf;
use airshelf_catalog::{
    Claim, Decision, DecisionKind, Entity, FieldKind, Measurement, PartDimension, Quantity, Reading, Records,
    Run, Session, Uuid, Value,
};
use airshelf_intake::audit::{Amount, Fault as Found, Repair, Scope, audit};
use airshelf_store::Writer;
use airshelf_units::{Digits, show_number};

/// Lets a fault stand, with the reason.
pub(super) fn let_stand(
    shelf: &mut Shelf,
    subject: Uuid,
    rule: &str,
    reason: &str,
) -> Result<Changed, Fault> {
    if airshelf_intake::audit::Rule::from_code(rule).is_none() {
        return Err(Fault::new(Code::BadArgument, format!("the audit has no rule {rule}")));
    }
    if reason.trim().is_empty() {
        return Err(Fault::new(Code::BadArgument, "a fault is let stand with a reason"));
    }
    let row = decision(DecisionKind::LetStand, subject, rule, reason.trim());
    let label = format!("let stand: {}", rule.replace('-', " "));
    let outcome = shelf.store.write(&label, |w| Ok::<Uuid, Fault>(w.create(&row)?))?;
    Ok(Changed::of(outcome))
}

fn decision(kind: DecisionKind, subject: Uuid, rule: &str, reason: &str) -> Decision {
    Decision {
        subject: Some(subject),
        kind: Some(kind),
        rule: Some(rule.into()),
        reason: Some(reason.into()),
        ..Decision::default()
    }
}

/// Where a repair would write.
enum Target<'a> {
    Run(&'a Run, &'static str),
    Session(&'a Session, &'static str),
    Claim(&'a Claim, &'static str),
    Measurement(&'a Measurement),
    /// A reading is struck out, and another made from it.
    Reading(&'a Reading, &'static str),
}

/// What a touch can do about a fault.
pub(super) fn choices(records: &Records, fault: &Found) -> Vec<Choice> {
    let Some((_, values)) = offered(records, fault) else { return Vec::new() };
    let words = values.iter().map(|value| match value {
        Some(amount) => Choice { text: format!("Make it {amount}") },
        None => Choice { text: "Leave it blank".into() },
    });
    words.collect()
}

/// Takes a repair that is offered: one transaction with the change and the decision.
pub(super) fn repair(shelf: &mut Shelf, subject: Uuid, rule: &str, choice: usize) -> Result<Changed, Fault> {
    let records = shelf.records()?;
    let faults = audit(&records, &Scope { tables: None, limits: shelf.limits() });
    let gone = || {
        Fault::new(Code::NotFound, "this fault is not there any more, or has no such repair")
            .hint("Look at the list again.")
    };
    let fault = the_one(&faults, subject, rule).ok_or_else(gone)?;
    let (target, values) = offered(&records, fault).ok_or_else(gone)?;
    let value = *values.get(choice).ok_or_else(gone)?;
    let reason = match value {
        Some(amount) => format!("{amount}, as the audit offered"),
        None => "blank, as the audit offered".to_owned(),
    };
    let label = format!("repair: {}", rule.replace('-', " "));
    let outcome = shelf.store.write(&label, |w| {
        put(w, &target, value, rule)?;
        w.create(&decision(DecisionKind::Repaired, subject, rule, &reason))?;
        Ok::<Uuid, Fault>(subject)
    })?;
    Ok(Changed::of(outcome))
}

/// Where a fault's repair would write and what; none where only a person can mend it.
fn offered<'a>(records: &'a Records, fault: &Found) -> Option<(Target<'a>, Vec<Option<Amount>>)> {
    let (field, values) = match fault.repair.as_ref()? {
        Repair::Set { field, to } => (field, to.iter().copied().map(Some).collect()),
        Repair::Blank { field } => (field, vec![None]),
        _ => return None,
    };
    let target = target(records, fault.subject, field)?;
    Some((target, values))
}

fn target<'a>(records: &'a Records, subject: Uuid, field: &str) -> Option<Target<'a>> {
    if let Some(run) = records.runs.iter().find(|run| run.id == subject) {
        if let Some(name) = measured::<Run>(field) {
            return Some(Target::Run(run, name));
        }
        if let Some(name) = measured::<Claim>(field)
            && let Some(claim) = records.claims.iter().find(|claim| claim.run == Some(run.id))
        {
            return Some(Target::Claim(claim, name));
        }
        let name = measured::<Reading>(field)?;
        let mut own = records.readings.iter().filter(|r| r.run == Some(run.id) && r.struck.is_none());
        // Of several readings nobody can say which one was meant.
        let reading = own.next().filter(|_| own.next().is_none())?;
        return Some(Target::Reading(reading, name));
    }
    if let Some(session) = records.sessions.iter().find(|session| session.id == subject) {
        return Some(Target::Session(session, measured::<Session>(field)?));
    }
    let own = |m: &&Measurement| m.id == subject;
    let measurement = records.measurements.iter().find(own)?;
    let dimension = measurement.dimension.map(PartDimension::name)?;
    (dimension.replace([' ', '-'], "_") == field || field == "value")
        .then_some(Target::Measurement(measurement))
}

/// The field of that name, if it holds a quantity.
fn measured<E: Entity>(name: &str) -> Option<&'static str> {
    let is_measured = |kind: &FieldKind| matches!(kind, FieldKind::Quantity(_) | FieldKind::AnyQuantity);
    E::FIELDS.iter().find(|field| field.name == name && is_measured(&field.kind)).map(|field| field.name)
}

fn put(w: &mut Writer<'_>, target: &Target, value: Option<Amount>, rule: &str) -> Result<(), Fault> {
    let value = value.map_or(Value::Null, |amount| Value::Quantity(written(amount)));
    match target {
        Target::Run(run, field) => w.edit::<Run>(run.id, field, value)?,
        Target::Session(session, field) => w.edit::<Session>(session.id, field, value)?,
        Target::Claim(claim, field) => w.edit::<Claim>(claim.id, field, value)?,
        Target::Measurement(measured) => w.edit::<Measurement>(measured.id, "value", value)?,
        Target::Reading(reading, field) => {
            let mut mended = Reading { repairs: Some(reading.id), ..(*reading).clone() };
            mended.set_id(Uuid::nil());
            let number = Reading::FIELDS.iter().find(|def| def.name == *field).map_or(0, |def| def.number);
            mended.set(number, value).map_err(|e| Fault::new(Code::BadArgument, e.to_string()))?;
            w.strike(reading.id, &format!("repaired: {}", rule.replace('-', " ")))?;
            w.create(&mended)?;
        }
    }
    Ok(())
}

/// An amount as a person would have written it.
fn written(amount: Amount) -> Quantity {
    let mut raw = show_number(amount.unit.from_si(amount.si), Digits::Significant(5));
    if raw.contains('.') && !raw.contains('e') {
        raw.truncate(raw.trim_end_matches('0').trim_end_matches('.').len());
    }
    Quantity::read(amount.si, raw.as_str(), amount.unit)
}
