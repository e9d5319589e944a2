//! Which repairs of a fault the shelf can carry out.

use crate::code::{Code, Fault};
use crate::names::{Names, as_written};
use crate::request::records::mend::ChangeOffered;
use airshelf_catalog::{
    AlsoAt, Claim, Entity, FieldKind, Measurement, Part, PartDimension, Price, Quantity, Reading, Records,
    Run, Session, Uuid, Value, ValueRef,
};
use airshelf_intake::audit::{Amount, Fault as Found, Repair};
use airshelf_units::{Decimal, Digits, Dimension, Unit, read, show_number};

/// Where a repair would write.
#[derive(Clone, Copy)]
pub(super) enum Target<'a> {
    Run(&'a Run, &'static str),
    Session(&'a Session, &'static str),
    Claim(&'a Claim, &'static str),
    Measurement(&'a Measurement),
    /// A reading is struck out, and another made from it.
    Reading(&'a Reading, &'static str),
    /// A part's own field: a price or words.
    Part(&'a Part, &'static str),
}

/// A repair that the shelf can carry out.
pub(super) enum Offer<'a> {
    /// Another value, or a blank.
    Value(Target<'a>, Value),
    /// Two dimensions of a part exchanged.
    Swap(&'a Measurement, &'a Measurement),
    /// Out of everything: the readings are struck out.
    StrikeOut(Vec<&'a Reading>),
    /// One of two runs that say the same: the other one's readings are struck out, and it is a further place of it.
    OneRun { keep: &'a Run, other: &'a Run, readings: Vec<&'a Reading> },
    /// A further place of one record, which needs nothing but to be looked at.
    OneRecord,
    /// Two entries that are one part.
    SamePart { from: &'a Part, to: &'a Part },
    /// Another part in a run.
    UsePart { run: &'a Run, field: &'static str, part: &'a Part },
}

/// What is offered for a fault; nothing where only a person can mend it.
pub(super) fn offers<'a>(records: &'a Records, fault: &Found) -> Vec<Offer<'a>> {
    let part = |id: &Uuid| records.parts.iter().find(|part| part.id == *id);
    let run = |id: Uuid| records.runs.iter().find(|run| run.id == id);
    let standing = |run: Uuid| -> Vec<&Reading> {
        records.readings.iter().filter(|r| r.run == Some(run) && r.struck.is_none()).collect()
    };
    let Some(repair) = &fault.repair else { return Vec::new() };
    match repair {
        Repair::Set { field, to } => match target(records, fault.subject, field) {
            Some(target) => to.iter().map(|to| Offer::Value(target, Value::Quantity(written(*to)))).collect(),
            None => Vec::new(),
        },
        Repair::Blank { field } => {
            target(records, fault.subject, field).map(|t| Offer::Value(t, Value::Null)).into_iter().collect()
        }
        Repair::SetText { field, to } => part(&fault.subject)
            .and_then(|part| Some((part, own_field(field)?)))
            .and_then(|(part, field)| {
                Some(Offer::Value(Target::Part(part, field), text_of(part, field, to)?))
            })
            .into_iter()
            .collect(),
        Repair::Swap { field, with } => swap(records, fault.subject, field, with).into_iter().collect(),
        Repair::Exclude => match standing(fault.subject) {
            readings if readings.is_empty() => Vec::new(),
            readings => vec![Offer::StrikeOut(readings)],
        },
        Repair::Merge { with } => {
            let further = |also: &AlsoAt| also.id == fault.subject;
            if records.also_at.iter().any(further) {
                return vec![Offer::OneRecord];
            }
            match (run(*with), run(fault.subject), standing(fault.subject)) {
                (Some(keep), Some(other), readings) if !readings.is_empty() && keep.id != other.id => {
                    vec![Offer::OneRun { keep, other, readings }]
                }
                _ => Vec::new(),
            }
        }
        Repair::SamePart { with } => {
            let Some(from) = part(&fault.subject) else { return Vec::new() };
            let others = with.iter().filter_map(part).filter(|to| to.id != from.id);
            others.map(|to| Offer::SamePart { from, to }).collect()
        }
        Repair::UsePart { field, part: other, .. } => {
            let field = Run::FIELDS.iter().find(|def| def.name == field).map(|def| def.name);
            match (run(fault.subject), field, part(other)) {
                (Some(run), Some(field), Some(part)) => vec![Offer::UsePart { run, field, part }],
                _ => Vec::new(),
            }
        }
    }
}

/// An offer as on a button.
pub(super) fn words(offer: &Offer, names: &Names) -> String {
    let called = |part: &Part| names.revision(airshelf_catalog::ids::first_revision(part.id));
    match offer {
        Offer::Value(_, Value::Null) => "Leave it blank".into(),
        Offer::Value(_, Value::Quantity(value)) => {
            let shown = value.unit().map(|unit| Amount::new(value.si, unit).to_string());
            format!("Make it {}", shown.unwrap_or_else(|| value.si.to_string()))
        }
        Offer::Value(_, Value::Price(price)) => {
            format!("Make it {} {}", price.raw, price.currency).trim().to_owned()
        }
        Offer::Value(_, value) => format!("Make it {}", crate::keep::in_words(value)),
        Offer::Swap(one, other) => format!("Exchange {} and {}", dimension(one), dimension(other)),
        Offer::StrikeOut(readings) if readings.len() == 1 => "Strike its reading out".into(),
        Offer::StrikeOut(_) => "Strike its readings out".into(),
        Offer::OneRun { .. } => "One run: strike this reading out".into(),
        Offer::OneRecord => "One record, two places".into(),
        Offer::SamePart { to, .. } => format!("Same part as {}", called(to)),
        Offer::UsePart { part, .. } => format!("It was {}", called(part)),
    }
}

fn dimension(measured: &Measurement) -> &'static str {
    measured.dimension.map_or("dimension", PartDimension::name)
}

fn swap<'a>(records: &'a Records, subject: Uuid, field: &str, with: &str) -> Option<Offer<'a>> {
    let one = records.measurements.iter().find(|m| m.id == subject && dimension(m) == field)?;
    let mut others =
        records.measurements.iter().filter(|m| m.revision == one.revision && dimension(m) == with);
    // Of several nobody can say which one was meant.
    let other = others.next().filter(|_| others.next().is_none())?;
    Some(Offer::Swap(one, other))
}

/// The field of a part of that name.
fn own_field(name: &str) -> Option<&'static str> {
    Part::FIELDS.iter().find(|def| def.name == name).map(|def| def.name)
}

/// A text as a part's field holds it.
fn text_of(part: &Part, field: &str, text: &str) -> Option<Value> {
    match Part::FIELDS.iter().find(|def| def.name == field)?.kind {
        FieldKind::Text => Some(Value::Text(text.trim().to_owned())),
        FieldKind::Price => {
            let amount = read(text.trim(), Dimension::Ratio, Some(Unit::RATIO), None).ok()?.value;
            let currency = part.price.as_ref().map(|price| price.currency.clone()).unwrap_or_default();
            Some(Value::Price(Price { amount, currency, raw: text.trim().to_owned() }))
        }
        _ => None,
    }
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

/// The quantity that a target holds, and what it measures.
fn held(target: Target<'_>) -> (Option<Quantity>, Option<Dimension>) {
    fn of<E: Entity>(row: &E, field: &str) -> (Option<Quantity>, Option<Dimension>) {
        let Some(index) = E::FIELDS.iter().position(|def| def.name == field) else { return (None, None) };
        let quantity = match row.value(index) {
            ValueRef::Quantity(quantity) => Some(quantity.clone()),
            _ => None,
        };
        let dimension = match E::FIELDS[index].kind {
            FieldKind::Quantity(dimension) => Some(dimension),
            _ => quantity.as_ref().and_then(Quantity::unit).map(Unit::dimension),
        };
        (quantity, dimension)
    }
    match target {
        Target::Run(run, field) => of(run, field),
        Target::Session(session, field) => of(session, field),
        Target::Claim(claim, field) => of(claim, field),
        Target::Measurement(measured) => of(measured, "value"),
        Target::Reading(reading, field) => of(reading, field),
        Target::Part(..) => (None, None),
    }
}

/// Where a person may type another value: where the repair would write, else where the fault stands.
fn typed_into<'a>(records: &'a Records, fault: &Found) -> Option<(Target<'a>, String)> {
    let field = match &fault.repair {
        Some(Repair::Set { field, .. } | Repair::Blank { field } | Repair::SetText { field, .. }) => field,
        _ => &fault.place.field,
    };
    let of_part = || {
        let part = records.parts.iter().find(|part| part.id == fault.subject)?;
        let name = own_field(field)?;
        text_of(part, name, "1").map(|_| Target::Part(part, name))
    };
    Some((target(records, fault.subject, field).or_else(of_part)?, field.replace('_', " ")))
}

/// What can be typed in the place of what is wrong.
pub(super) fn change(records: &Records, fault: &Found) -> Option<ChangeOffered> {
    let (target, field) = typed_into(records, fault)?;
    if let Target::Part(part, name) = target {
        let index = Part::FIELDS.iter().position(|def| def.name == name)?;
        let text = match part.value(index) {
            ValueRef::Text(text) => text.to_owned(),
            ValueRef::Price(price) => price.raw.clone(),
            _ => String::new(),
        };
        return Some(ChangeOffered { field, text, hint: "as it really is".into() });
    }
    let (quantity, dimension) = held(target);
    let unit = quantity.as_ref().and_then(Quantity::unit).or_else(|| usual(fault, dimension?))?;
    let text = quantity.as_ref().and_then(as_written).unwrap_or_default();
    let hint = match unit.shown() {
        "" => "a number".to_owned(),
        shown => format!("with its unit; a number alone is taken in {shown}"),
    };
    Some(ChangeOffered { field, text, hint })
}

/// The unit of what is offered, else the usual one.
fn usual(fault: &Found, dimension: Dimension) -> Option<Unit> {
    let offered = match &fault.repair {
        Some(Repair::Set { to, .. }) => to.first().map(|amount| amount.unit),
        _ => None,
    };
    offered.or_else(|| Unit::all().find(|unit| unit.dimension() == dimension))
}

/// What a person typed, as an offer.
pub(super) fn typed<'a>(records: &'a Records, fault: &Found, text: &str) -> Result<Offer<'a>, Fault> {
    let text = text.trim();
    let (target, field) = typed_into(records, fault).ok_or_else(super::gone)?;
    if text.is_empty() {
        return Err(Fault::new(Code::BadQuantity, format!("say what the {field} is")));
    }
    if let Target::Part(part, name) = target {
        let value = text_of(part, name, text)
            .ok_or_else(|| Fault::new(Code::BadQuantity, format!("`{text}` is no {field}")))?;
        return Ok(Offer::Value(target, value));
    }
    let (quantity, dimension) = held(target);
    let unit = quantity.as_ref().and_then(Quantity::unit).or_else(|| usual(fault, dimension?));
    let (Some(dimension), Some(unit)) = (dimension.or(unit.map(Unit::dimension)), unit) else {
        return Err(super::gone());
    };
    let typed = read(text, dimension, Some(unit), None::<Decimal>)
        .map_err(|why| Fault::new(Code::BadQuantity, why.to_string()))?;
    let raw = show_number(typed.value, Digits::Significant(6));
    Ok(Offer::Value(target, Value::Quantity(Quantity::read(typed.si, trimmed(raw), typed.unit))))
}

/// An amount as a person would have written it.
fn written(amount: Amount) -> Quantity {
    let raw = show_number(amount.unit.from_si(amount.si), Digits::Significant(5));
    Quantity::read(amount.si, trimmed(raw), amount.unit)
}

/// A number without trailing zeros.
fn trimmed(mut raw: String) -> String {
    if raw.contains('.') && !raw.contains('e') {
        raw.truncate(raw.trim_end_matches('0').trim_end_matches('.').len());
    }
    raw
}
