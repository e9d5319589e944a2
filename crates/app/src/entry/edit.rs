//! Adding, changing and removing rows by `FIELD=VALUE`.

use super::beside::Beside;
use super::fields::{FieldHelp, parse};
use super::find::{Lookup, called, find, name_of, of_kind};
use super::row::{Shown, shown};
use super::write::{
    add_assembly, add_part, add_run, dimension_named, field_named, set_dimension, set_fields,
};
use crate::code::{Code, Fault};
use crate::names::Names;
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::ids::fold;
use airshelf_catalog::model::*;
use airshelf_catalog::records::Gather;
use airshelf_catalog::{Entity, FieldKind, PartDimension, Records, Uuid, ValueRef};
use airshelf_store::{Scope, StoreError, TransactionId};
use airshelf_units::System;
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

impl From<StoreError> for Fault {
    fn from(error: StoreError) -> Self {
        store_fault(error)
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

    /// Lists the rows of a kind; runs only of one session. Each is made as `take` asks for it.
    ///
    /// # Errors
    /// [`Fault`] if the shelf cannot be read.
    pub fn list<R>(
        &self,
        kind: EntityKind,
        session: Option<&str>,
        system: System,
        take: impl FnOnce(&mut dyn Iterator<Item = Shown>) -> R,
    ) -> Result<R, Fault> {
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
            take(&mut rows.map(|row| beside.with(shown(row, &names, &name_of, system), &names, row.id(), system)))
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

fn changed(id: Uuid, transaction: Option<TransactionId>, rows: usize) -> Changed {
    Changed { id, change: transaction.map(|t| t.number), rows }
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
