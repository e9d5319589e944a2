//! Adding, changing and removing rows by `FIELD=VALUE`.

use super::fields::{FieldHelp, Resolve, parse, quantity};
use super::row::{Shown, shown};
use crate::code::{Code, Fault};
use crate::names::{Names, as_written, for_person};
use crate::shelf::{Shelf, only, store_fault};
use airshelf_catalog::ids::{Layer, assembly, first_revision, fold, pack_layers};
use airshelf_catalog::model::*;
use airshelf_catalog::quantity::si_suffix;
use airshelf_catalog::records::Gather;
use airshelf_catalog::{Entity, FieldKind, PartDimension, Purpose, Records, Source, Uuid, Value, ValueRef};
use airshelf_store::{Scope, StoreError, TransactionId, Writer};
use airshelf_units::{Dimension, System};
use serde::Serialize;
use std::cell::RefCell;
use std::collections::HashMap;

/// What a write did.
#[derive(Clone, Debug, Serialize, ts_rs::TS)]
pub struct Changed {
    /// The row.
    pub id: Uuid,
    /// The number to undo it by; none where nothing came to be changed.
    pub change: Option<u64>,
    /// The rows changed.
    pub rows: usize,
}

impl Changed {
    pub(crate) fn of(outcome: airshelf_store::Outcome<Uuid>) -> Self {
        changed(outcome.value, outcome.transaction, outcome.changed.len())
    }
}

/// Runs the expression with `$entity` as the type of that kind.
macro_rules! of_kind {
    ($kind:expr, $entity:ident => $run:expr) => {
        of_kind!(@ $kind, $entity => $run; Person Part Revision Measurement Alias Photo Listing Assembly Bench BenchRange
            Session Run Reading Claim Rating Prediction ServiceEvent Engine Vehicle Decision ImportFile SheetTable
            SheetRows AlsoAt Quarantined)
    };
    (@ $kind:expr, $entity:ident => $run:expr; $($name:ident)+) => {
        match $kind { $( EntityKind::$name => { type $entity = $name; $run } )+ }
    };
}

impl From<StoreError> for Fault {
    fn from(error: StoreError) -> Self {
        store_fault(error)
    }
}

/// The rows by which names are looked up.
struct Lookup<'a> {
    records: &'a Records,
    names: Names<'a>,
}

impl Resolve for Lookup<'_> {
    fn row(&self, kind: Option<EntityKind>, text: &str) -> Result<Uuid, Fault> {
        find(self.records, &self.names, kind, text)
    }
}

impl Shelf {
    /// The fields that can be set of a kind.
    pub fn fields(kind: EntityKind) -> Vec<FieldHelp> {
        let mut help: Vec<FieldHelp> = kind
            .fields()
            .iter()
            .filter(|f| {
                !matches!(f.kind, FieldKind::Bytes)
                    && !matches!(f.name, "table" | "row" | "column" | "only_named")
            })
            .map(FieldHelp::of)
            .collect();
        if kind == EntityKind::Part {
            for (_, name) in PartDimension::CODES {
                help.push(FieldHelp { name, takes: "a measured value with its unit".into() });
            }
        }
        if kind == EntityKind::Assembly {
            help.push(FieldHelp {
                name: "parts",
                takes: "tags from the carburetor up: BS-1,FF-1,LD-1".into(),
            });
        }
        if kind == EntityKind::Run {
            help.push(FieldHelp {
                name: "parts",
                takes: "tags from the carburetor up; builds the assembly".into(),
            });
            help.extend(
                Reading::FIELDS
                    .iter()
                    .filter(|f| !matches!(f.name, "run" | "struck" | "repairs"))
                    .map(FieldHelp::of),
            );
        }
        help
    }

    /// Lists the rows of a kind; runs only of one session.
    ///
    /// # Errors
    /// [`Fault`] if the shelf cannot be read.
    pub fn list(&self, kind: EntityKind, session: Option<&str>, system: System) -> Result<Vec<Shown>, Fault> {
        let records = match (kind, session) {
            (EntityKind::Run, Some(text)) => {
                let ids: Vec<Uuid> = self.sessions(text)?.iter().map(|s| s.id).collect();
                self.store.records(Scope::Sessions(&ids)).map_err(store_fault)?
            }
            (EntityKind::Run, None) => self.records()?,
            _ => self.store.records(Scope::Shelf).map_err(store_fault)?,
        };
        let names = Names::of(&records);
        let known = RefCell::new(HashMap::new());
        let name_of = |kind, id| {
            let mut known = known.borrow_mut();
            known.entry(id).or_insert_with(|| name_of(&records, &names, kind, id)).clone()
        };
        let beside = Beside::of(kind, &records);
        Ok(of_kind!(kind, E => {
            let rows = E::gather(&records).iter();
            rows.map(|row| beside.with(shown(row, &names, &name_of, system), &names, row.id(), system)).collect()
        }))
    }

    /// Shows one row.
    ///
    /// # Errors
    /// [`Fault`] if nothing or more than one row fits.
    pub fn show(&self, kind: EntityKind, which: &str, system: System) -> Result<Shown, Fault> {
        let records = self.records()?;
        let names = Names::of(&records);
        let id = match kind {
            EntityKind::Run => self.find_run(&records, which)?,
            _ => find(&records, &names, Some(kind), which)?,
        };
        let name_of = |kind, id| name_of(&records, &names, kind, id);
        of_kind!(kind, E => {
            let row = E::gather(&records).iter().find(|row| row.id() == id).ok_or_else(|| Fault::new(Code::NotFound, format!("there is no {which}")))?;
            let beside = Beside::of(kind, &records);
            Ok(beside.with(shown(row, &names, &name_of, system), &names, id, system))
        })
    }

    /// Adds a row.
    ///
    /// # Errors
    /// [`Fault`] if a field is not known or its value cannot be read; nothing is added then.
    pub fn add(&mut self, kind: EntityKind, set: &[(String, String)]) -> Result<Changed, Fault> {
        let records = self.records()?;
        let lookup = Lookup { records: &records, names: Names::of(&records) };
        unique(&lookup, kind, None, set)?;
        let label = format!("add {}", kind.table().replace('_', " "));
        let outcome = self.store.write(&label, |w| match kind {
            EntityKind::Part => add_part(w, set, &lookup),
            EntityKind::Assembly => add_assembly(w, set, &lookup),
            EntityKind::Run => add_run(w, set, &lookup),
            _ => of_kind!(kind, E => {
                let mut row = E::default();
                set_fields(&mut row, set, &lookup)?;
                Ok(w.create(&row)?)
            }),
        })?;
        Ok(changed(outcome.value, outcome.transaction, outcome.changed.len()))
    }

    /// Changes fields of a row; an empty value blanks one.
    ///
    /// # Errors
    /// [`Fault`] if nothing fits, or a value cannot be read; nothing is changed then.
    pub fn change(
        &mut self,
        kind: EntityKind,
        which: &str,
        set: &[(String, String)],
    ) -> Result<Changed, Fault> {
        let records = self.records()?;
        let lookup = Lookup { records: &records, names: Names::of(&records) };
        let id = match kind {
            EntityKind::Run => self.find_run(&records, which)?,
            _ => find(&records, &lookup.names, Some(kind), which)?,
        };
        unique(&lookup, kind, Some(id), set)?;
        let label = format!("change {} {which}", kind.table().replace('_', " "));
        let outcome = self.store.write(&label, |w| {
            for (name, text) in set {
                if kind == EntityKind::Part
                    && let Some(dimension) = dimension_named(name)
                {
                    set_dimension(w, &records, id, dimension, text)?;
                    continue;
                }
                of_kind!(kind, E => {
                    let field = field_named::<E>(name)?;
                    w.edit::<E>(id, field.name, parse(field, text, &lookup)?)?;
                });
            }
            Ok::<Uuid, Fault>(id)
        })?;
        Ok(changed(outcome.value, outcome.transaction, outcome.changed.len()))
    }

    /// Removes a row; undo brings it back.
    ///
    /// # Errors
    /// [`Fault`] if nothing fits, or it is a reading.
    pub fn remove(&mut self, kind: EntityKind, which: &str) -> Result<Changed, Fault> {
        let records = self.records()?;
        let names = Names::of(&records);
        let id = find(&records, &names, Some(kind), which)?;
        let users = users(&records, &names, kind, id);
        if !users.is_empty() {
            let some = users.iter().take(3).cloned().collect::<Vec<_>>().join(", ");
            let more = if users.len() > 3 { format!(" and {} more", users.len() - 3) } else { String::new() };
            let fault = Fault::new(
                Code::BadArgument,
                format!("{which} is used by {some}{more}; nothing was removed"),
            );
            return Err(match kind {
                EntityKind::Part => fault
                    .hint(format!("Say that it is gone with: airshelf part change {which} status=scrapped")),
                _ => fault,
            });
        }
        let label = format!("remove {} {which}", kind.table().replace('_', " "));
        let outcome = self.store.write(&label, |w| {
            of_kind!(kind, E => w.delete::<E>(id)?);
            Ok::<Uuid, Fault>(id)
        })?;
        Ok(changed(outcome.value, outcome.transaction, outcome.changed.len()))
    }

    /// Strikes out the readings of a run; they are kept and never used.
    ///
    /// # Errors
    /// [`Fault`] if no run fits, or it has no reading that stands.
    pub fn strike(&mut self, which: &str, reason: &str) -> Result<Changed, Fault> {
        if reason.trim().is_empty() {
            return Err(Fault::new(Code::BadArgument, "a reading is struck out with a reason"));
        }
        let records = self.records()?;
        let id = self.find_run(&records, which)?;
        let standing: Vec<Uuid> = records
            .readings
            .iter()
            .filter(|r| r.run == Some(id) && r.struck.is_none())
            .map(|r| r.id)
            .collect();
        if standing.is_empty() {
            return Err(Fault::new(Code::NotFound, "this run has no reading that stands"));
        }
        let outcome = self.store.write(&format!("strike {which}"), |w| {
            for reading in &standing {
                w.strike(*reading, reason)?;
            }
            Ok::<Uuid, Fault>(id)
        })?;
        Ok(changed(outcome.value, outcome.transaction, outcome.changed.len()))
    }

    /// The row that a tag, a name or the beginning of an id means.
    pub(crate) fn find_row(&self, kind: Option<EntityKind>, text: &str) -> Result<Uuid, Fault> {
        let records = self.store.records(Scope::Shelf).map_err(store_fault)?;
        find(&records, &Names::of(&records), kind, text)
    }
}

/// What is shown with a row: a part's dimensions, a run's readings.
struct Beside<'a> {
    measurements: HashMap<Uuid, Vec<&'a Measurement>>,
    readings: HashMap<Uuid, Vec<&'a Reading>>,
    kind: EntityKind,
}

impl<'a> Beside<'a> {
    fn of(kind: EntityKind, records: &'a Records) -> Self {
        let mut beside = Beside { measurements: HashMap::new(), readings: HashMap::new(), kind };
        if kind == EntityKind::Part {
            let part: HashMap<Uuid, Uuid> =
                records.revisions.iter().filter_map(|r| Some((r.id, r.part?))).collect();
            for measured in &records.measurements {
                if let Some(part) = measured.revision.and_then(|r| part.get(&r)) {
                    beside.measurements.entry(*part).or_default().push(measured);
                }
            }
        }
        if kind == EntityKind::Run {
            for reading in &records.readings {
                beside.readings.entry(reading.run.unwrap_or_default()).or_default().push(reading);
            }
        }
        beside
    }

    fn with(&self, mut row: Shown, names: &Names, id: Uuid, system: System) -> Shown {
        if self.kind == EntityKind::Part {
            let mut measurements = Vec::new();
            for measured in self.measurements.get(&id).into_iter().flatten() {
                let (Some(dimension), Some(value)) = (measured.dimension, &measured.value) else { continue };
                let unit_of = value.unit().map(airshelf_units::Unit::dimension);
                let key = format!(
                    "{}_{}",
                    fold(dimension.name()).replace(' ', "_"),
                    unit_of.map_or("si", si_suffix)
                );
                // Several files may have measured it; the first that was kept is the part's own, and all are listed.
                row.json.entry(key.clone()).or_insert_with(|| serde_json::json!(value.si));
                measurements.push(serde_json::json!({
                    "id": measured.id, "dimension": dimension.name(), key: value.si,
                    "written": as_written(value), "source": value.source(),
                }));
                let text = for_person(value, system);
                let source = match value.source() {
                    Some(Source::Stated) => " (stated)",
                    Some(Source::Estimated) => " (estimated)",
                    _ => "",
                };
                row.lines.push((dimension.name().to_owned(), text + source));
            }
            row.json.insert("measurements".into(), measurements.into());
        }
        if self.kind == EntityKind::Run {
            let none = |_, _| None;
            let readings: Vec<Shown> = self
                .readings
                .get(&id)
                .into_iter()
                .flatten()
                .map(|reading| shown(*reading, names, &none, system))
                .collect();
            for reading in &readings {
                row.lines.extend(reading.lines.iter().filter(|(name, _)| name != "run").cloned());
            }
            let list: Vec<_> = readings.into_iter().map(|r| serde_json::Value::Object(r.json)).collect();
            row.json.insert("readings".into(), list.into());
        }
        row
    }
}

fn changed(id: Uuid, transaction: Option<TransactionId>, rows: usize) -> Changed {
    Changed { id, change: transaction.map(|t| t.number), rows }
}

fn field_named<E: Entity>(name: &str) -> Result<&'static airshelf_catalog::FieldDef, Fault> {
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

fn set_fields<E: Entity>(row: &mut E, set: &[(String, String)], lookup: &Lookup) -> Result<(), Fault> {
    for (name, text) in set {
        let field = field_named::<E>(name)?;
        row.set(field.number, parse(field, text, lookup)?)
            .map_err(|e| Fault::new(Code::BadArgument, e.to_string()))?;
    }
    Ok(())
}

fn dimension_named(name: &str) -> Option<PartDimension> {
    let wanted = fold(&name.replace(['_', '-'], " "));
    PartDimension::ALL.iter().copied().find(|d| fold(d.name()) == wanted)
}

fn measured(dimension: PartDimension, text: &str) -> Result<airshelf_catalog::Quantity, Fault> {
    let of = match dimension {
        PartDimension::PleatCount => Dimension::Count,
        PartDimension::MediaArea => Dimension::Area,
        PartDimension::Mass => Dimension::Mass,
        _ => Dimension::Length,
    };
    let value = quantity(text, of)
        .map_err(|e| Fault::new(Code::BadQuantity, format!("{}: {e}", dimension.name())))?;
    // A base may stand higher than the flange as well as lower.
    let low = if dimension == PartDimension::Drop { -10.0 } else { f64::MIN_POSITIVE };
    let high = if of == Dimension::Count { 1e5 } else { 10.0 };
    if !(low..=high).contains(&value.si) {
        let what = format!("{}: `{text}` cannot be: it is below zero, or beyond any part", dimension.name());
        return Err(Fault::new(Code::BadQuantity, what));
    }
    Ok(value.from_source(Source::Measured))
}

fn add_part(w: &mut Writer, set: &[(String, String)], lookup: &Lookup) -> Result<Uuid, Fault> {
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
        let row = Measurement {
            revision: Some(revision),
            dimension: Some(dimension),
            value: Some(value),
            ..Measurement::default()
        };
        w.create(&row)?;
    }
    Ok(id)
}

fn set_dimension(
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
        (None, Value::Quantity(value)) => {
            let row = Measurement {
                revision: Some(revision),
                dimension: Some(dimension),
                value: Some(value),
                ..Measurement::default()
            };
            w.create(&row)?;
        }
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

fn add_assembly(w: &mut Writer, set: &[(String, String)], lookup: &Lookup) -> Result<Uuid, Fault> {
    let parts = set.iter().find(|(name, _)| name == "parts").map_or("", |(_, text)| text);
    let id = assembly_of(w, parts, lookup)?;
    for (name, text) in set.iter().filter(|(name, _)| name != "parts") {
        let field = field_named::<Assembly>(name)?;
        w.edit::<Assembly>(id, field.name, parse(field, text, lookup)?)?;
    }
    Ok(id)
}

fn add_run(w: &mut Writer, set: &[(String, String)], lookup: &Lookup) -> Result<Uuid, Fault> {
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

/// Refuses a tag or a name that another row of the kind has, or an empty one.
fn unique(
    lookup: &Lookup,
    kind: EntityKind,
    own: Option<Uuid>,
    set: &[(String, String)],
) -> Result<(), Fault> {
    let field = match kind {
        EntityKind::Part => "tag",
        EntityKind::Session
        | EntityKind::Bench
        | EntityKind::Engine
        | EntityKind::Vehicle
        | EntityKind::Person => "name",
        _ => return Ok(()),
    };
    let Some((_, text)) = set.iter().find(|(name, _)| name.trim().eq_ignore_ascii_case(field)) else {
        return Ok(());
    };
    if text.trim().is_empty() {
        return Err(Fault::new(Code::BadArgument, format!("{field} is empty: say what people call it")));
    }
    let held = of_kind!(kind, E => E::gather(lookup.records).iter().map(Entity::id).find(|id| {
        Some(*id) != own && name_of(lookup.records, &lookup.names, kind, *id).is_some_and(|n| fold(&n) == fold(text))
    }));
    match held {
        None => Ok(()),
        Some(_) => {
            let what = kind.table().replace('_', " ");
            Err(Fault::new(Code::BadArgument, format!("there is a {what} {} already", text.trim()))
                .hint(format!("Change it with: airshelf {what} change {} FIELD=VALUE", text.trim())))
        }
    }
}

/// What refers to a row, in words; a part's own revisions and dimensions go with it and do not count.
fn users(records: &Records, names: &Names, kind: EntityKind, id: Uuid) -> Vec<String> {
    let mut own: Vec<Uuid> = vec![id];
    if kind == EntityKind::Part {
        own.extend(records.revisions.iter().filter(|r| r.part == Some(id)).map(|r| r.id));
    }
    let mut found = Vec::new();
    for user in EntityKind::ALL.iter().copied() {
        if matches!(
            (kind, user),
            (EntityKind::Part, EntityKind::Revision | EntityKind::Measurement | EntityKind::Alias)
        ) {
            continue;
        }
        of_kind!(user, E => for row in E::gather(records) {
            let links = (0..E::FIELDS.len()).any(|i| matches!(row.value(i), ValueRef::Id(link) if own.contains(&link)));
            let layers = user == EntityKind::Assembly && names.layers(row.id()).iter().any(|l| own.contains(l));
            if links || layers {
                found.push(called(records, names, user, row.id()));
            }
        });
    }
    found
}

/// What a row is and what people call it.
pub(crate) fn called(records: &Records, names: &Names, kind: EntityKind, id: Uuid) -> String {
    let what = kind.table().replace('_', " ");
    format!("{what} {}", name_of(records, names, kind, id).unwrap_or_else(|| id.to_string()))
}

/// The name by which people know a row.
fn name_of(records: &Records, names: &Names, kind: EntityKind, id: Uuid) -> Option<String> {
    fn named<T>(rows: &[T], id: Uuid, of: impl Fn(&T) -> (Uuid, Option<String>)) -> Option<String> {
        rows.iter().map(of).find(|(row, _)| *row == id).and_then(|(_, name)| name)
    }
    match kind {
        EntityKind::Person => named(&records.persons, id, |r| (r.id, r.name.clone())),
        EntityKind::Part => named(&records.parts, id, |r| (r.id, r.tag.clone().or(r.name.clone()))),
        EntityKind::Revision => Some(names.revision(id)),
        EntityKind::Assembly => Some(names.assembly(Some(id))),
        EntityKind::Bench => named(&records.benches, id, |r| (r.id, r.name.clone())),
        EntityKind::BenchRange => named(&records.bench_ranges, id, |r| {
            let scale = r.full_scale.as_ref().and_then(as_written);
            (r.id, scale)
        }),
        EntityKind::Session => named(&records.sessions, id, |r| (r.id, r.name.clone())),
        EntityKind::Engine => named(&records.engines, id, |r| (r.id, r.name.clone())),
        EntityKind::Vehicle => named(&records.vehicles, id, |r| (r.id, r.name.clone())),
        EntityKind::ImportFile => named(&records.import_files, id, |r| (r.id, r.name.clone())),
        EntityKind::SheetTable => named(&records.sheet_tables, id, |r| {
            (r.id, r.file.and_then(|f| name_of(records, names, EntityKind::ImportFile, f)))
        }),
        _ => None,
    }
}

/// The row of a kind (or of any) that a tag, a name or the beginning of an id means.
fn find(records: &Records, names: &Names, kind: Option<EntityKind>, text: &str) -> Result<Uuid, Fault> {
    let wanted = fold(text);
    let mut found = Vec::new();
    for kind in kind.map_or(EntityKind::ALL.to_vec(), |k| vec![k]) {
        let before = found.len();
        if kind == EntityKind::Revision {
            found.extend(
                records.revisions.iter().map(|r| r.id).filter(|id| fold(&names.revision(*id)) == wanted),
            );
            if found.len() == before {
                found.extend(alias(records, &wanted).map(first_revision));
            }
            if found.len() == before && wanted.len() >= 4 {
                let ids = records.revisions.iter().map(|r| r.id);
                found.extend(ids.filter(|id| id.to_string().starts_with(&wanted)));
            }
            continue;
        }
        let ids: Vec<Uuid> = of_kind!(kind, E => E::gather(records).iter().map(Entity::id).collect());
        found.extend(
            ids.iter().filter(|id| name_of(records, names, kind, **id).is_some_and(|n| fold(&n) == wanted)),
        );
        if found.len() == before && kind == EntityKind::Part {
            found.extend(alias(records, &wanted));
            if found.len() == before {
                let called = |p: &&Part| p.name.as_deref().map(fold).as_ref() == Some(&wanted);
                found.extend(records.parts.iter().filter(called).map(|p| p.id));
            }
        }
        if found.len() == before && wanted.len() >= 4 {
            found.extend(ids.iter().filter(|id| id.to_string().starts_with(&wanted)));
        }
    }
    found.sort();
    found.dedup();
    only(found, text)
}

fn alias(records: &Records, wanted: &str) -> Option<Uuid> {
    records
        .aliases
        .iter()
        .find(|a| a.spelling.as_deref().map(fold).as_deref() == Some(wanted))
        .and_then(|a| a.part)
}
