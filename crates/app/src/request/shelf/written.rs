//! What screens write down: parts with everything, changes, revisions, service, assemblies, vehicles. Each is one
//! transaction.

use super::parts::{SizeTyped, latest};
use crate::code::{Code, Fault};
use crate::entry::{Changed, Resolve, checked, measure, measures, parse};
use crate::shelf::Shelf;
use airshelf_catalog::ids::{Layer, assembly, first_revision, fold, pack_layers};
use airshelf_catalog::{
    Assembly, Entity, EntityKind, Listing, Measurement, Part, PartDimension, PartKind, PartStatus, Photo,
    Quantity, Revision, ServiceEvent, ServiceKind, Source, Uuid, Value, Vehicle,
};
use airshelf_units::{Decimal, Dimension, System, Unit, read, usual};
use serde::Deserialize;
use ts_rs::TS;

/// A part as it was typed.
#[derive(Clone, Debug, Deserialize, TS)]
pub struct NewPart {
    /// The tag on it.
    pub tag: String,
    /// What it is.
    pub kind: Option<PartKind>,
    /// Whose it is.
    pub status: Option<PartStatus>,
    /// Other fields and what was typed into them: `name`, `maker`, `place`, `condition`, `price`, `arrived`, `note`.
    pub fields: Vec<(String, String)>,
    /// Its dimensions.
    pub sizes: Vec<SizeTyped>,
    /// Where it was offered: `seller`, `price`, `seen`, `note`.
    pub listing: Vec<(String, String)>,
}

/// A revision as it was typed.
#[derive(Clone, Debug, Deserialize, TS)]
pub struct NewRevision {
    /// The part.
    pub part: Uuid,
    /// Its letter; none: the next one.
    pub label: Option<String>,
    /// What was changed.
    pub change: String,
    /// When, civil.
    pub revised: Option<String>,
    /// Dimensions that the change has altered.
    pub sizes: Vec<SizeTyped>,
}

/// What happened to a part in use.
#[derive(Clone, Debug, Deserialize, TS)]
pub struct NewService {
    /// The revision.
    pub revision: Uuid,
    /// What.
    pub kind: ServiceKind,
    /// Other fields and what was typed into them: `date`, `nights`, `note`.
    pub fields: Vec<(String, String)>,
}

/// Which rows [`edit`] changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, TS)]
#[serde(rename_all = "lowercase")]
pub enum Editable {
    /// A part.
    Part,
    /// An assembly's name and note.
    Assembly,
    /// A photo's role and note.
    Photo,
    /// A vehicle.
    Vehicle,
}

/// No field that is typed here links to another row.
struct NoLinks;

impl Resolve for NoLinks {
    fn row(&self, _kind: Option<EntityKind>, text: &str) -> Result<Uuid, Fault> {
        Err(Fault::new(Code::BadArgument, format!("{text} is not looked up here")))
    }
}

fn fill<E: Entity>(row: &mut E, fields: &[(String, String)], system: System) -> Result<(), Fault> {
    for (name, text) in fields {
        let (field, value) = typed::<E>(name, text, system)?;
        row.set(field, value).map_err(|e| Fault::new(Code::BadArgument, e.to_string()))?;
    }
    Ok(())
}

/// The field's number and its value; a length without a unit is in the shelf's own.
fn typed<E: Entity>(name: &str, text: &str, system: System) -> Result<(u16, Value), Fault> {
    let field = E::FIELDS.iter().find(|f| f.name == name).ok_or_else(|| {
        Fault::new(Code::BadArgument, format!("there is no field {name} of {}", E::KIND.table()))
    })?;
    let bare =
        text.trim().chars().all(|c| !c.is_alphabetic() && !"\"′″'".contains(c)) && !text.trim().is_empty();
    let with_unit = match field.kind {
        airshelf_catalog::FieldKind::Quantity(Dimension::Length) if bare => {
            format!("{} {}", text.trim(), usual(Dimension::Length, system).symbol())
        }
        _ => text.to_owned(),
    };
    Ok((field.number, parse(field, &with_unit, &NoLinks)?))
}

/// Reads a dimension as it was typed.
pub(super) fn size(typed: &SizeTyped, system: System) -> Result<Quantity, Fault> {
    let dimension = typed.dimension;
    let of = measures(dimension);
    let unit = if of == Dimension::Count { Unit::COUNT } else { usual(of, system) };
    let told = |why: String| Fault::new(Code::BadQuantity, format!("{}: {why}", dimension.name()));
    let read = read(&typed.text, of, Some(unit), Decimal::Point).map_err(|e| told(e.to_string()))?;
    checked(dimension, read.si, &typed.text)?;
    let mut value = Quantity::read(read.si, typed.text.trim(), read.unit)
        .from_source(typed.source.unwrap_or(Source::Measured));
    if let Some(u) = typed.uncertainty_si.filter(|u| u.is_finite() && *u > 0.0)
        && let Some(written) = &mut value.written
    {
        written.details.get_or_insert_default().standard_uncertainty_si = Some(u);
    }
    Ok(value)
}

/// How a dimension was understood, in both unit systems.
pub(super) fn echo(typed: &SizeTyped, system: System) -> Result<String, Fault> {
    size(typed, system)?;
    let of = measures(typed.dimension);
    let unit = if of == Dimension::Count { Unit::COUNT } else { usual(of, system) };
    let read = read(&typed.text, of, Some(unit), Decimal::Point)
        .map_err(|e| Fault::new(Code::BadQuantity, e.to_string()))?;
    Ok(read.echo())
}

fn sizes(typed: &[SizeTyped], system: System) -> Result<Vec<(PartDimension, Quantity)>, Fault> {
    typed
        .iter()
        .filter(|one| !one.text.trim().is_empty())
        .map(|one| Ok((one.dimension, size(one, system)?)))
        .collect()
}

/// Refuses an empty tag, or one that another part has, whatever its case.
fn tag_is_free(shelf: &Shelf, tag: &str, own: Option<Uuid>) -> Result<(), Fault> {
    if tag.trim().is_empty() {
        return Err(Fault::new(Code::BadArgument, "a part needs a tag: say what is written on it"));
    }
    let wanted = fold(tag);
    for id in shelf.store().parts_by_words(tag, airshelf_store::PartFilter::default(), 600)? {
        let Some(part) = shelf.store().get::<Part>(id)?.filter(|part| Some(part.id) != own) else { continue };
        if part.tag.as_deref().map(fold).as_ref() == Some(&wanted) {
            return Err(Fault::new(Code::BadArgument, format!("there is a part {} already", tag.trim()))
                .hint("Take another tag, or look at that part."));
        }
    }
    Ok(())
}

/// Puts a part on the shelf with all that was typed of it.
pub(super) fn part(shelf: &mut Shelf, new: &NewPart) -> Result<Changed, Fault> {
    let system = shelf.system();
    tag_is_free(shelf, &new.tag, None)?;
    let mut part =
        Part { tag: Some(new.tag.trim().to_owned()), kind: new.kind, status: new.status, ..Part::default() };
    fill(&mut part, &new.fields, system)?;
    let sizes = sizes(&new.sizes, system)?;
    let mut listing = Listing::default();
    fill(&mut listing, &new.listing, system)?;
    let offered = listing != Listing::default();
    let outcome = shelf.store.write(&format!("add part {}", new.tag.trim()), |w| {
        let id = w.create(&part)?;
        let revision = first_revision(id);
        w.create(&Revision { id: revision, part: Some(id), ..Revision::default() })?;
        for (dimension, value) in sizes {
            measure(w, revision, dimension, value)?;
        }
        if offered {
            w.create(&Listing { part: Some(id), ..listing })?;
        }
        Ok::<Uuid, Fault>(id)
    })?;
    Ok(Changed::of(outcome))
}

/// Changes fields; an empty text blanks one.
pub(super) fn edit(
    shelf: &mut Shelf,
    kind: Editable,
    id: Uuid,
    fields: &[(String, String)],
) -> Result<Changed, Fault> {
    if kind == Editable::Part
        && let Some((_, tag)) = fields.iter().find(|(name, _)| name == "tag")
    {
        tag_is_free(shelf, tag, Some(id))?;
    }
    match kind {
        Editable::Part => edit_row::<Part>(shelf, id, fields),
        Editable::Assembly => edit_row::<Assembly>(shelf, id, fields),
        Editable::Photo => edit_row::<Photo>(shelf, id, fields),
        Editable::Vehicle => edit_row::<Vehicle>(shelf, id, fields),
    }
}

fn edit_row<E: Entity>(shelf: &mut Shelf, id: Uuid, fields: &[(String, String)]) -> Result<Changed, Fault> {
    let system = shelf.system();
    let values = fields
        .iter()
        .map(|(name, text)| Ok((name.as_str(), typed::<E>(name, text, system)?.1)))
        .collect::<Result<Vec<_>, Fault>>()?;
    let what = E::KIND.table().replace('_', " ");
    let outcome = shelf.store.write(&format!("change {what}"), |w| {
        for (name, value) in values {
            w.edit::<E>(id, name, value)?;
        }
        Ok::<Uuid, Fault>(id)
    })?;
    Ok(Changed::of(outcome))
}

/// Sets a dimension of a revision; an empty text blanks it.
pub(super) fn dimension(shelf: &mut Shelf, revision: Uuid, typed: &SizeTyped) -> Result<Changed, Fault> {
    let value = match typed.text.trim().is_empty() {
        true => None,
        false => Some(size(typed, shelf.system())?),
    };
    let measured: Vec<Measurement> = shelf.store.find_by("revision", &Value::Id(revision))?;
    let held = measured.iter().find(|m| m.dimension == Some(typed.dimension) && m.value.is_some());
    let outcome = shelf.store.write(&format!("measure {}", typed.dimension.name()), |w| {
        match (held, value) {
            (Some(held), value) => {
                w.edit::<Measurement>(held.id, "value", value.map_or(Value::Null, Value::Quantity))?;
            }
            (None, Some(value)) => measure(w, revision, typed.dimension, value)?,
            (None, None) => {}
        }
        Ok::<Uuid, Fault>(revision)
    })?;
    Ok(Changed::of(outcome))
}

/// Makes a revision from the one that a part stands at.
pub(super) fn revision(shelf: &mut Shelf, new: &NewRevision) -> Result<Changed, Fault> {
    if new.change.trim().is_empty() {
        return Err(Fault::new(Code::BadArgument, "say what was changed: clay, a radius, a cut"));
    }
    let previous = latest(shelf, new.part)?
        .ok_or_else(|| Fault::new(Code::NotFound, "this part is not on this device"))?;
    let count = shelf.store.find_by::<Revision>("part", &Value::Id(new.part))?.len();
    let label = new
        .label
        .as_deref()
        .map(str::trim)
        .filter(|l| !l.is_empty())
        .map_or_else(|| letter(count), str::to_owned);
    let mut revision = Revision {
        part: Some(new.part),
        label: Some(label.clone()),
        previous: Some(previous.id),
        change: Some(new.change.trim().to_owned()),
        ..Revision::default()
    };
    let system = shelf.system();
    if let Some(date) = &new.revised {
        fill(&mut revision, &[("revised".into(), date.clone())], system)?;
    }
    let sizes = sizes(&new.sizes, system)?;
    let outcome = shelf.store.write(&format!("revision {label}"), |w| {
        let id = w.create(&revision)?;
        for (dimension, value) in sizes {
            measure(w, id, dimension, value)?;
        }
        Ok::<Uuid, Fault>(id)
    })?;
    Ok(Changed::of(outcome))
}

/// The first revision has no letter; the second is B, the twenty-seventh and later ones are numbered.
fn letter(revisions: usize) -> String {
    match u8::try_from(revisions) {
        Ok(n @ 1..=25) => char::from(b'A' + n).to_string(),
        _ => (revisions + 1).to_string(),
    }
}

/// Writes down what happened to a part in use.
pub(super) fn service(shelf: &mut Shelf, new: &NewService) -> Result<Changed, Fault> {
    let mut event =
        ServiceEvent { revision: Some(new.revision), kind: Some(new.kind), ..ServiceEvent::default() };
    fill(&mut event, &new.fields, shelf.system())?;
    let outcome =
        shelf.store.write(&format!("part {}", new.kind.name()), |w| Ok::<Uuid, Fault>(w.create(&event)?))?;
    Ok(Changed::of(outcome))
}

/// Keeps an assembly of revisions, from the item up; the same ones make the same assembly.
pub(super) fn assembled(shelf: &mut Shelf, layers: &[Uuid], name: &str) -> Result<Changed, Fault> {
    if layers.is_empty() {
        return Err(Fault::new(Code::BadArgument, "an assembly has at least one part"));
    }
    let layers: Vec<Layer> = layers.iter().map(|revision| Layer::of(*revision)).collect();
    let row = Assembly { id: assembly(&layers), layers: Some(pack_layers(&layers)), ..Assembly::default() };
    let outcome = shelf.store.write("add assembly", |w| {
        let id = w.create(&row)?;
        if !name.trim().is_empty() {
            w.edit::<Assembly>(id, "name", Value::Text(name.trim().to_owned()))?;
        }
        Ok::<Uuid, Fault>(id)
    })?;
    Ok(Changed::of(outcome))
}

/// Adds a vehicle: `name`, `hood_height`, `wanted_clearance`, `note`.
pub(super) fn vehicle(shelf: &mut Shelf, fields: &[(String, String)]) -> Result<Changed, Fault> {
    let mut vehicle = Vehicle::default();
    fill(&mut vehicle, fields, shelf.system())?;
    let name = vehicle.name.as_deref().unwrap_or_default();
    if name.trim().is_empty() {
        return Err(Fault::new(Code::BadArgument, "a vehicle needs a name"));
    }
    let taken = |v: &Vehicle| v.name.as_deref().map(fold) == Some(fold(name));
    if shelf.store.load::<Vehicle>()?.iter().any(taken) {
        return Err(Fault::new(Code::BadArgument, format!("there is a vehicle {name} already")));
    }
    let outcome =
        shelf.store.write(&format!("add vehicle {name}"), |w| Ok::<Uuid, Fault>(w.create(&vehicle)?))?;
    Ok(Changed::of(outcome))
}
