//! Repairs carried out, each by changes that one undo takes back.

use super::offered::{Offer, Target};
use super::one_part::unite;
use crate::code::{Code, Fault};
use airshelf_catalog::ids::first_revision;
use airshelf_catalog::{
    AlsoAt, Claim, Entity, Measurement, Part, Reading, Records, Run, Session, Uuid, Value,
};
use airshelf_store::Writer;

/// Writes what an offer says.
pub(super) fn out(w: &mut Writer<'_>, records: &Records, offer: &Offer, rule: &str) -> Result<(), Fault> {
    let rule = rule.replace('-', " ");
    match offer {
        Offer::Value(target, value) => put(w, *target, value.clone(), &rule)?,
        Offer::Swap(one, other) => {
            let value = |m: &Measurement| m.value.clone().map_or(Value::Null, Value::Quantity);
            w.edit::<Measurement>(one.id, "value", value(other))?;
            w.edit::<Measurement>(other.id, "value", value(one))?;
        }
        Offer::StrikeOut(readings) => {
            for reading in readings {
                w.strike(reading.id, &format!("kept out: {rule}"))?;
            }
        }
        Offer::OneRun { keep, other, readings } => {
            let number = keep.order_number.map_or(String::new(), |number| format!(" {number}"));
            for reading in readings {
                w.strike(reading.id, &format!("{rule}: the same as run{number}"))?;
            }
            if other.table.is_some() {
                w.create(&AlsoAt {
                    record: Some(keep.id),
                    table: other.table,
                    row: other.row,
                    column: other.column,
                    ..AlsoAt::default()
                })?;
            }
        }
        Offer::OneRecord => {}
        Offer::SamePart { from, to } => unite(w, records, from, to)?,
        Offer::UsePart { run, field, part } => {
            w.edit::<Run>(run.id, field, Value::Id(first_revision(part.id)))?;
        }
    }
    Ok(())
}

fn put(w: &mut Writer<'_>, target: Target, value: Value, rule: &str) -> Result<(), Fault> {
    match target {
        Target::Run(run, field) => w.edit::<Run>(run.id, field, value)?,
        Target::Session(session, field) => w.edit::<Session>(session.id, field, value)?,
        Target::Claim(claim, field) => w.edit::<Claim>(claim.id, field, value)?,
        Target::Measurement(measured) => w.edit::<Measurement>(measured.id, "value", value)?,
        Target::Part(part, field) => w.edit::<Part>(part.id, field, value)?,
        Target::Reading(reading, field) => {
            let mut mended = Reading { repairs: Some(reading.id), ..reading.clone() };
            mended.set_id(Uuid::nil());
            let number = Reading::FIELDS.iter().find(|def| def.name == field).map_or(0, |def| def.number);
            mended.set(number, value).map_err(|e| Fault::new(Code::BadArgument, e.to_string()))?;
            w.strike(reading.id, &format!("repaired: {rule}"))?;
            w.create(&mended)?;
        }
    }
    Ok(())
}
