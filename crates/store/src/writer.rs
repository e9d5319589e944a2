//! One write by a person: any number of changes that hold together or not at all.

use crate::connection;
use crate::error::StoreError;
use crate::history::TransactionId;
use crate::host::{dice, fresh_id};
use crate::local::{self, Place};
use crate::log;
use crate::rows::fits;
use crate::shelf::Store;
use crate::tables::{Tables, Told};
use crate::taken_back;
use airshelf_catalog::change::cbor::{Envelope, put_change};
use airshelf_catalog::change::{Act, Change, Clock, Edited, Head, Live, RowState, Stamp, same};
use airshelf_catalog::model::Reading;
use airshelf_catalog::{Entity, EntityKind, FieldDef, Value, ValueRef};
use std::collections::HashMap;
use uuid::Uuid;

/// What became of a write.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome<T> {
    /// What the closure returned.
    pub value: T,
    /// The transaction; none where nothing came to be changed.
    pub transaction: Option<TransactionId>,
    /// The rows changed, in order.
    pub changed: Vec<Changed>,
}

/// One row that a write changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Changed {
    /// What it is.
    pub kind: EntityKind,
    /// Which.
    pub id: Uuid,
    /// Whether it is new.
    pub created: bool,
}

/// Collects the changes of one write.
pub struct Writer<'c> {
    pub(crate) tables: Tables<'c>,
    pub(crate) store: &'c Store,
    changes: Vec<Change>,
    at: HashMap<Uuid, usize>,
}

fn field_named<E: Entity>(name: &str) -> Result<&'static FieldDef, StoreError> {
    let missing =
        || StoreError::NotAField { entity: E::KIND.table(), why: format!("there is no field {name}") };
    E::FIELDS.iter().find(|field| field.name == name).ok_or_else(missing)
}

impl Store {
    /// Runs one write: everything the closure does becomes one transaction, or nothing does.
    ///
    /// # Errors
    /// What the closure returns, [`StoreError::ReadOnly`], [`StoreError::Busy`], [`StoreError::DiskFull`].
    pub fn write<T, X: From<StoreError>>(
        &mut self,
        label: &str,
        work: impl FnOnce(&mut Writer<'_>) -> Result<T, X>,
    ) -> Result<Outcome<T>, X> {
        self.must_write()?;
        let store = &*self;
        let tx = connection::begin(&store.conn)?;
        let tables = Tables::open(&store.conn, &*store.host)?;
        let mut writer = Writer { tables, store, changes: Vec::new(), at: HashMap::new() };
        let value = work(&mut writer)?;
        let outcome = writer.finish(label, value)?;
        tx.commit().map_err(StoreError::from)?;
        Ok(outcome)
    }
}

impl Writer<'_> {
    /// A new row's identifier.
    pub fn fresh_id(&self) -> Uuid {
        fresh_id(&*self.store.host)
    }

    /// Creates a row; one without an id gets a fresh one. A row that is held already stays as it is, which is how two
    /// devices that build the same assembly build one.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn create<E: Entity>(&mut self, row: &E) -> Result<Uuid, StoreError> {
        let id = if row.id().is_nil() { self.fresh_id() } else { row.id() };
        let held = local::find(self.tables.conn, id)?;
        if let Some(known) = held.filter(|known| known.born.is_some()) {
            if self.tables.is_dead(known.id)? {
                // Creating what was deleted brings it back.
                self.stage(E::KIND, id, Act::Edit(vec![]));
            }
            return Ok(id);
        }
        if self.at.contains_key(&id) {
            return Ok(id);
        }
        let mut fields = Vec::new();
        for (index, field) in E::FIELDS.iter().enumerate() {
            let value = row.value(index);
            if value != ValueRef::Null {
                fields.push((field.number, value.to_owned()));
            }
        }
        self.stage(E::KIND, id, Act::Create(fields));
        Ok(id)
    }

    /// Reads a row as this write has left it so far.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn get<E: Entity>(&mut self, id: Uuid) -> Result<Option<E>, StoreError> {
        let mut row = self.store.get::<E>(id)?;
        if let Some(at) = self.at.get(&id) {
            let mut set = |field: u16, value: &Value| {
                let row = row.get_or_insert_with(|| {
                    let mut new = E::default();
                    new.set_id(id);
                    new
                });
                row.set(field, value.clone()).map_err(|e| not_a_field(E::KIND, &e.to_string()))
            };
            match &self.changes[*at].act {
                Act::Create(fields) => fields.iter().try_for_each(|(field, value)| set(*field, value))?,
                Act::Edit(edits) => edits.iter().try_for_each(|edit| set(edit.field, &edit.value))?,
                Act::Delete(_) => row = None,
                Act::Strange(_) => {}
            }
        }
        Ok(row)
    }

    /// Sets a field by its name. Setting what it holds already changes nothing.
    ///
    /// A value that somebody else wrote apart stays listed as a conflict until it is settled
    /// ([`Store::settle`]); an edit replaces only what showed.
    ///
    /// # Errors
    /// [`StoreError::NoSuchRow`], [`StoreError::NotAField`], [`StoreError::ReadingsStay`], [`StoreError::LayersStay`].
    pub fn edit<E: Entity>(&mut self, id: Uuid, field: &str, value: Value) -> Result<(), StoreError> {
        let def = field_named::<E>(field)?;
        fits(def, &value).map_err(|e| not_a_field(E::KIND, &e.to_string()))?;
        if E::KIND == EntityKind::Reading && def.name != "struck" {
            return Err(StoreError::ReadingsStay);
        }
        if E::KIND == EntityKind::Assembly && def.name == "layers" {
            return Err(StoreError::LayersStay);
        }
        self.set(E::KIND, id, def.number, value, false)
    }

    /// Edits every field in which `row` differs from what is held.
    ///
    /// # Errors
    /// As [`Writer::edit`].
    pub fn update<E: Entity>(&mut self, row: &E) -> Result<(), StoreError> {
        let held = self
            .get::<E>(row.id())?
            .ok_or(StoreError::NoSuchRow { entity: E::KIND.table(), id: row.id() })?;
        for (index, field) in E::FIELDS.iter().enumerate() {
            if held.value(index) != row.value(index) {
                self.edit::<E>(row.id(), field.name, row.value(index).to_owned())?;
            }
        }
        Ok(())
    }

    /// Strikes out a reading with a reason; it is kept and never used.
    ///
    /// # Errors
    /// [`StoreError::NoSuchRow`].
    pub fn strike(&mut self, reading: Uuid, reason: &str) -> Result<(), StoreError> {
        self.edit::<Reading>(reading, "struck", Value::Text(reason.to_owned()))
    }

    /// Deletes a row. A concurrent edit on another device, or a new reference to it, brings it back.
    ///
    /// # Errors
    /// [`StoreError::NoSuchRow`], [`StoreError::ReadingsStay`].
    pub fn delete<E: Entity>(&mut self, id: Uuid) -> Result<(), StoreError> {
        if E::KIND == EntityKind::Reading {
            return Err(StoreError::ReadingsStay);
        }
        self.delete_row(E::KIND, id)
    }

    pub(crate) fn delete_row(&mut self, kind: EntityKind, id: Uuid) -> Result<(), StoreError> {
        let no_row = StoreError::NoSuchRow { entity: kind.table(), id };
        if let Some(at) = self.at.get(&id).copied()
            && let Act::Create(_) = self.changes[at].act
        {
            // Made and dropped within one write: nobody ever saw it.
            self.changes[at].act = Act::Edit(vec![]);
            self.at.remove(&id);
            self.changes[at].row = Uuid::nil();
            return Ok(());
        }
        let known = local::find(self.tables.conn, id)?.filter(|known| known.born.is_some()).ok_or(no_row)?;
        if self.tables.is_dead(known.id)? {
            return Ok(());
        }
        let mut seen = log::seen(self.tables.conn)?;
        let own = log::count_of(self.tables.conn, self.store.identity.device)? + 1;
        seen.insert(self.store.identity.device, own);
        let act = Act::Delete(seen);
        match self.at.get(&id) {
            Some(at) => self.changes[*at].act = act,
            None => self.stage(kind, id, act),
        }
        Ok(())
    }

    fn stage(&mut self, kind: EntityKind, row: Uuid, act: Act) {
        self.at.entry(row).or_insert(self.changes.len());
        self.changes.push(Change { entity: kind.number(), row, act, strange: vec![] });
    }

    /// What this write sets a field to, where it edits it.
    pub(crate) fn staged_value(&self, row: Uuid, field: u16) -> Option<&Value> {
        let Act::Edit(edits) = &self.changes[*self.at.get(&row)?].act else { return None };
        edits.iter().find(|edit| edit.field == field).map(|edit| &edit.value)
    }

    /// The standing values of a field, latest first, and whether the row is held.
    fn state(&mut self, kind: EntityKind, id: Uuid) -> Result<(RowState, Told), StoreError> {
        let no_row = StoreError::NoSuchRow { entity: kind.table(), id };
        let known = local::find(self.tables.conn, id)?.filter(|known| known.born.is_some()).ok_or(no_row)?;
        self.tables.state(known.id)
    }

    /// Sets a field by its number; `settling` replaces every standing value, else only the one that shows.
    pub(crate) fn set(
        &mut self,
        kind: EntityKind,
        id: Uuid,
        field: u16,
        value: Value,
        settling: bool,
    ) -> Result<(), StoreError> {
        if let Some(at) = self.at.get(&id).copied()
            && let Act::Create(fields) = &mut self.changes[at].act
        {
            fields.retain(|(number, _)| *number != field);
            if value != Value::Null {
                fields.push((field, value));
            }
            return Ok(());
        }
        let (state, told) = self.state(kind, id)?;
        let live = state.fields.get(&field).map_or(&[][..], |live| live);
        let takes_back =
            kind == EntityKind::ImportFile && field == taken_back::undone() && value == Value::Int(1);
        let conn = self.tables.conn;
        let stands = takes_back && taken_back::stands(conn, id, &state, &told)?;
        let shown = live.first().map_or(&Value::Null, |live| &live.value);
        let differ = live.iter().any(|live| !same(&live.value, shown));
        let staged = self.at.get(&id).is_some_and(|at| {
            matches!(&self.changes[*at].act, Act::Edit(edits) if edits.iter().any(|edit| edit.field == field))
        });
        let says_more = *shown != value || staged || stands || (settling && differ);
        if !says_more {
            return Ok(());
        }
        let replaced = |held: &&Live| settling || same(&held.value, shown);
        let mut replaces: Vec<Stamp> = live.iter().filter(replaced).map(|held| held.stamp).collect();
        if takes_back {
            replaces.extend(taken_back::imports_of(conn, id)?);
        }
        let edit = Edited { field, value, replaces };
        match self.at.get(&id).copied() {
            None => self.stage(kind, id, Act::Edit(vec![edit])),
            Some(at) => match &mut self.changes[at].act {
                Act::Edit(edits) => {
                    edits.retain(|held| held.field != field);
                    edits.push(edit);
                }
                // Deleted and then edited in one write: it lives.
                other => *other = Act::Edit(vec![edit]),
            },
        }
        Ok(())
    }

    /// Touches a row without changing a field, which brings back a deleted one.
    pub(crate) fn bring_back(&mut self, kind: EntityKind, id: Uuid) {
        if !self.at.contains_key(&id) {
            self.stage(kind, id, Act::Edit(vec![]));
        }
    }

    fn finish<T>(mut self, label: &str, value: T) -> Result<Outcome<T>, StoreError> {
        let mut changes = std::mem::take(&mut self.changes);
        changes.retain(|change| !change.row.is_nil());
        if changes.is_empty() {
            return Ok(Outcome { value, transaction: None, changed: vec![] });
        }
        let (conn, host, device) = (self.tables.conn, &*self.store.host, self.store.identity.device);
        let number = log::count_of(conn, device)? + 1;
        let hlc = Clock(log::clock(conn)?).tick(host.now_ms(), dice(host));
        let stamp = Stamp { hlc, device };
        let txn = log::next_txn(conn)?;
        let head = Head {
            person: host.person(),
            wall: host.wall(),
            program: host.program(),
            label: label.to_owned(),
            imports: vec![],
        };
        let (head, mut plain) = (head.pack(), Vec::new());
        changes.iter().for_each(|change| put_change(&mut plain, change));
        let body = log::compress(&plain);
        let envelope = Envelope { stamp, number, head: &head, body: &body };
        log::append(conn, txn, &envelope, changes.len())?;
        let at = Place { txn, stamp, number };
        let mut changed = Vec::new();
        for change in &changes {
            self.tables.take(at, change)?;
            let kind = EntityKind::from_number(change.entity).expect("a writer writes entities it knows");
            let created = matches!(change.act, Act::Create(_));
            changed.push(Changed { kind, id: change.row, created });
        }
        Ok(Outcome { value, transaction: Some(TransactionId { device, number }), changed })
    }
}

fn not_a_field(kind: EntityKind, why: &str) -> StoreError {
    StoreError::NotAField { entity: kind.table(), why: why.to_owned() }
}
