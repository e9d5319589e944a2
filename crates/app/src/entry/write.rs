//! Rows from `FIELD=VALUE` pairs: plain fields, a part's dimensions, an assembly's parts, a run's reading.

use super::fields::{Resolve, parse, quantity};
use super::find::Lookup;
use crate::code::{Code, Fault};
use airshelf_catalog::ids::{Layer, assembly, first_revision, fold, pack_layers};
use airshelf_catalog::model::*;
use airshelf_catalog::{Entity, FieldKind, PartDimension, Purpose, Quantity, Records, Source, Uuid, Value};
use airshelf_store::Writer;
use airshelf_units::Dimension;

pub(super) fn field_named<E: Entity>(name: &str) -> Result<&'static airshelf_catalog::FieldDef, Fault> {
    let wanted = name.trim().to_lowercase().replace(['-', ' '], "_");
    E::FIELDS.iter().find(|f| f.name == wanted && !matches!(f.kind, FieldKind::Bytes)).ok_or_else(|| {
        let known: Vec<&str> = E::FIELDS.iter().map(|f| f.name).collect();
        Fault::new(
            Code::BadArgument,
            format!(
                "there is no field {name} of a record of this kind ({})",
                E::KIND.table().replace('_', " ")
            ),
        )
        .hint(format!("It has: {}", known.join(", ")))
    })
}

pub(super) fn set_fields<E: Entity>(
    row: &mut E,
    set: &[(String, String)],
    lookup: &Lookup,
) -> Result<(), Fault> {
    for (name, text) in set {
        let field = field_named::<E>(name)?;
        row.set(field.number, parse(field, text, lookup)?)
            .map_err(|e| Fault::new(Code::BadArgument, e.to_string()))?;
    }
    Ok(())
}

pub(super) fn dimension_named(name: &str) -> Option<PartDimension> {
    let wanted = fold(&name.replace(['_', '-'], " "));
    PartDimension::ALL.iter().copied().find(|d| fold(d.name()) == wanted)
}

/// What a dimension measures.
pub(crate) fn measures(dimension: PartDimension) -> Dimension {
    match dimension {
        PartDimension::PleatCount => Dimension::Count,
        PartDimension::MediaArea => Dimension::Area,
        PartDimension::Mass => Dimension::Mass,
        _ => Dimension::Length,
    }
}

/// Gives the value back where a part can have it; `text` is how it was written.
pub(crate) fn checked(dimension: PartDimension, si: f64, text: &str) -> Result<f64, Fault> {
    // A base may stand higher than the flange as well as lower.
    let low = if dimension == PartDimension::Drop { -10.0 } else { f64::MIN_POSITIVE };
    let high = if dimension == PartDimension::PleatCount { 1e5 } else { 10.0 };
    if (low..=high).contains(&si) {
        return Ok(si);
    }
    let name = dimension.name();
    let what = format!("{name}: `{}` cannot be: it is below zero, or beyond any part", text.trim());
    Err(Fault::new(Code::BadQuantity, what))
}

fn measured(dimension: PartDimension, text: &str) -> Result<Quantity, Fault> {
    let value = quantity(text, measures(dimension))
        .map_err(|e| Fault::new(Code::BadQuantity, format!("{}: {e}", dimension.name())))?;
    checked(dimension, value.si, text)?;
    Ok(value.from_source(Source::Measured))
}

pub(crate) fn measure(
    w: &mut Writer,
    revision: Uuid,
    dimension: PartDimension,
    value: Quantity,
) -> Result<(), Fault> {
    let row = Measurement {
        revision: Some(revision),
        dimension: Some(dimension),
        value: Some(value),
        ..Measurement::default()
    };
    w.create(&row)?;
    Ok(())
}

pub(super) fn add_part(w: &mut Writer, set: &[(String, String)], lookup: &Lookup) -> Result<Uuid, Fault> {
    let mut part = Part::default();
    let mut dimensions = Vec::new();
    for (name, text) in set {
        match dimension_named(name) {
            Some(dimension) => dimensions.push((dimension, measured(dimension, text)?)),
            None => set_fields(&mut part, std::slice::from_ref(&(name.clone(), text.clone())), lookup)?,
        }
    }
    let id = w.create(&part)?;
    let revision = first_revision(id);
    w.create(&Revision { id: revision, part: Some(id), ..Revision::default() })?;
    for (dimension, value) in dimensions {
        measure(w, revision, dimension, value)?;
    }
    Ok(id)
}

pub(super) fn set_dimension(
    w: &mut Writer,
    records: &Records,
    part: Uuid,
    dimension: PartDimension,
    text: &str,
) -> Result<(), Fault> {
    let value =
        if text.trim().is_empty() { Value::Null } else { Value::Quantity(measured(dimension, text)?) };
    let revision = first_revision(part);
    let held =
        records.measurements.iter().rfind(|m| m.revision == Some(revision) && m.dimension == Some(dimension));
    match (held, value) {
        (Some(held), value) => w.edit::<Measurement>(held.id, "value", value)?,
        (None, Value::Quantity(value)) => measure(w, revision, dimension, value)?,
        (None, _) => {}
    }
    Ok(())
}

/// The assembly of the parts that a text lists, created where it is new.
fn assembly_of(w: &mut Writer, text: &str, lookup: &Lookup) -> Result<Uuid, Fault> {
    let layers = text
        .split([',', '+'])
        .map(str::trim)
        .filter(|tag| !tag.is_empty())
        .map(|tag| Ok(Layer::of(lookup.row(Some(EntityKind::Revision), tag)?)))
        .collect::<Result<Vec<_>, Fault>>()?;
    if layers.is_empty() {
        return Err(Fault::new(
            Code::BadArgument,
            "parts lists the tags from the carburetor up, such as BS-1,FF-1,LD-1",
        ));
    }
    let row = Assembly { id: assembly(&layers), layers: Some(pack_layers(&layers)), ..Assembly::default() };
    Ok(w.create(&row)?)
}

pub(super) fn add_assembly(w: &mut Writer, set: &[(String, String)], lookup: &Lookup) -> Result<Uuid, Fault> {
    let parts = set.iter().find(|(name, _)| name == "parts").map_or("", |(_, text)| text);
    let id = assembly_of(w, parts, lookup)?;
    for (name, text) in set.iter().filter(|(name, _)| name != "parts") {
        let field = field_named::<Assembly>(name)?;
        w.edit::<Assembly>(id, field.name, parse(field, text, lookup)?)?;
    }
    Ok(id)
}

pub(super) fn add_run(w: &mut Writer, set: &[(String, String)], lookup: &Lookup) -> Result<Uuid, Fault> {
    let mut run = Run::default();
    let mut reading = Reading::default();
    for (name, text) in set {
        let pair = std::slice::from_ref(&(name.clone(), text.clone())).to_vec();
        if name == "parts" {
            run.assembly = Some(assembly_of(w, text, lookup)?);
        } else if field_named::<Run>(name).is_ok() {
            set_fields(&mut run, &pair, lookup)?;
        } else {
            set_fields(&mut reading, &pair, lookup)?;
        }
    }
    if run.session.is_none() {
        return Err(Fault::new(Code::BadArgument, "a run belongs to a session: session=NAME")
            .hint("Make one with: airshelf session add name=… date=2024-05-18"));
    }
    if matches!(run.purpose, Some(Purpose::Test | Purpose::Sweep)) && run.assembly.is_none() {
        return Err(Fault::new(Code::BadArgument, "a test names its parts: parts=BS-1,FF-1,LD-1"));
    }
    let twin =
        |r: &&Run| r.session == run.session && r.order_number.is_some() && r.order_number == run.order_number;
    if let Some(twin) = lookup.records.runs.iter().find(twin) {
        let number = twin.order_number.unwrap_or_default();
        return Err(Fault::new(Code::BadArgument, format!("this session has a run {number} already")));
    }
    if run.order_number.is_none() {
        let last = lookup
            .records
            .runs
            .iter()
            .filter(|r| r.session == run.session)
            .filter_map(|r| r.order_number)
            .max();
        run.order_number = Some(last.unwrap_or(0) + 1);
    }
    let id = w.create(&run)?;
    if Reading::FIELDS.iter().enumerate().any(|(i, _)| reading.value(i) != airshelf_catalog::ValueRef::Null) {
        reading.run = Some(id);
        w.create(&reading)?;
    }
    Ok(id)
}
