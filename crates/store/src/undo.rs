//! Undo is a new change, and only where nobody wrote over what is undone.

use crate::error::StoreError;
use crate::history::TransactionId;
use crate::layout::layout;
use crate::local;
use crate::log;
use crate::tables::Told;
use crate::writer::Writer;
use airshelf_catalog::change::cbor::read_changes;
use airshelf_catalog::change::{Act, Change, Stamp, merge};
use airshelf_catalog::model::{ImportFile, Reading};
use airshelf_catalog::{Entity, EntityKind, FieldKind, Value};
use std::collections::{BTreeSet, HashSet};
use uuid::Uuid;

/// What an undo did, and what it left alone.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Undone {
    /// How many rows and fields were put back.
    pub done: usize,
    /// What was written over or is used since, and stays.
    pub left: Vec<(EntityKind, Uuid)>,
}

fn number_of<E: Entity>(name: &str) -> u16 {
    E::FIELDS.iter().find(|field| field.name == name).expect("a field of the catalog").number
}

impl Writer<'_> {
    /// Undoes a transaction. A new reading is struck out, an import is taken back by one change on its file, with
    /// what it completed of rows that were there before; other new rows are deleted, edited fields get back what showed before.
    ///
    /// # Errors
    /// [`StoreError::NoSuchTransaction`], a damaged or busy file.
    pub fn undo(&mut self, id: TransactionId) -> Result<Undone, StoreError> {
        let entry = self.store.transaction(id)?;
        let mut undone = Undone::default();
        if !entry.head.imports.is_empty() {
            return self.take_back(&entry.head.imports);
        }
        let missing = StoreError::NoSuchTransaction { device: id.device, number: id.number };
        let place = log::find(&self.store.conn, id.device, id.number)?.ok_or(missing)?;
        // Backwards, so that what refers to a row goes before the row.
        for change in read_changes(&log::body(&self.store.conn, place.txn)?)?.iter().rev() {
            let Some(kind) = EntityKind::from_number(change.entity) else { continue };
            let Some(known) = local::find(&self.store.conn, change.row)? else { continue };
            let (_, _, told) = self.tables.told(known.id)?;
            let done = match &change.act {
                Act::Create(_) => self.undo_creation(kind, change.row, known.id, place.txn, &told)?,
                Act::Edit(_) if self.was_revived(known.id, place.txn)? => {
                    let free = !self.is_used(known.id, change.row, place.txn)?;
                    if free {
                        self.delete_row(kind, change.row)?;
                    }
                    free
                }
                Act::Edit(_) => self.undo_edit(kind, change, place.txn, &told)?,
                Act::Delete(_) if self.tables.is_dead(known.id)? => {
                    self.bring_back(kind, change.row);
                    true
                }
                Act::Delete(_) | Act::Strange(_) => false,
            };
            if done {
                undone.done += 1;
            } else {
                undone.left.push((kind, change.row));
            }
        }
        Ok(undone)
    }

    /// Takes imports back by one change on each file, with what they completed of rows that were there before. Rows
    /// of theirs that a person has changed since stay.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn take_back(&mut self, files: &[Uuid]) -> Result<Undone, StoreError> {
        let mut undone = Undone::default();
        for file in files {
            let (kind, field) = (EntityKind::ImportFile, number_of::<ImportFile>("undone"));
            self.set(kind, *file, field, Value::Int(1), false)?;
            undone.done += 1;
        }
        let own = log::transactions_of(&self.store.conn, |imports| {
            !imports.is_empty() && imports.iter().all(|file| files.contains(file))
        })?;
        self.undo_completions(&own, &mut undone)?;
        self.changed_by_hand(&own, files, &mut undone)?;
        Ok(undone)
    }

    fn undo_creation(
        &mut self,
        kind: EntityKind,
        id: Uuid,
        local: i64,
        txn: i64,
        told: &Told,
    ) -> Result<bool, StoreError> {
        if told.iter().any(|(place, _)| place.txn != txn) {
            return Ok(false);
        }
        if kind == EntityKind::Reading {
            self.set(kind, id, number_of::<Reading>("struck"), Value::Text("undone".into()), false)?;
            return Ok(true);
        }
        if self.is_used(local, id, txn)? {
            return Ok(false);
        }
        self.delete_row(kind, id)?;
        Ok(true)
    }

    /// Takes back what an import said of rows that were there before it.
    fn undo_completions(&mut self, own: &HashSet<i64>, undone: &mut Undone) -> Result<(), StoreError> {
        let taken_back = self.store.taken_back_transactions()?;
        for id in local::touched_by(&self.store.conn, own)? {
            let (row, entity, told) = self.tables.told(id)?;
            // Only an import that is taken back itself had it before: it goes out of sight.
            if told.iter().all(|(place, _)| own.contains(&place.txn) || taken_back.contains(&place.txn)) {
                continue;
            }
            let Some(kind) = EntityKind::from_number(entity).filter(|kind| *kind != EntityKind::ImportFile)
            else {
                continue;
            };
            let now = merge(told.iter().map(|(place, change)| (place.stamp, change)));
            let others = told.iter().filter(|(place, _)| !own.contains(&place.txn));
            let before = merge(others.map(|(place, change)| (place.stamp, change)));
            let mine = |stamp: Stamp| told.iter().any(|(p, _)| p.stamp == stamp && own.contains(&p.txn));
            let mut fields = BTreeSet::new();
            for (_, change) in told.iter().filter(|(place, _)| own.contains(&place.txn)) {
                if let Act::Edit(edits) = &change.act {
                    fields.extend(edits.iter().map(|edit| edit.field));
                }
            }
            let (mut back, mut left) = (false, false);
            for field in fields {
                match now.fields.get(&field).and_then(|live| live.first()) {
                    Some(live) if mine(live.stamp) => {
                        let old = before.fields.get(&field).and_then(|live| live.first());
                        let old = old.map_or(Value::Null, |live| live.value.clone());
                        self.set(kind, row, field, old, false)?;
                        back = true;
                    }
                    shown => left |= shown.is_some_and(|live| live.value != Value::Null),
                }
            }
            undone.done += usize::from(back);
            if left {
                undone.left.push((kind, row));
            }
        }
        Ok(())
    }

    /// Rows that an import made and a person has changed since.
    fn changed_by_hand(
        &self,
        own: &HashSet<i64>,
        files: &[Uuid],
        undone: &mut Undone,
    ) -> Result<(), StoreError> {
        let conn = &self.store.conn;
        let mut by_hand = log::transactions_of(conn, <[Uuid]>::is_empty)?;
        let mut held = HashSet::new();
        for file in files {
            held.extend(local::find(conn, *file)?.map(|known| known.id));
        }
        let of_files = local::transactions_touching(conn, &held)?;
        let taken_back = self.store.taken_back_transactions()?;
        by_hand.retain(|txn| !of_files.contains(txn) && !taken_back.contains(txn));
        let uuids = local::Uuids::one_by_one(conn);
        for id in local::touched_by(conn, &by_hand)? {
            let (entity, born): (u8, Option<i64>) = conn
                .prepare_cached("SELECT entity, born FROM row WHERE id = ?1")?
                .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
            let kind = EntityKind::from_number(entity);
            if let Some(kind) = kind.filter(|_| born.is_some_and(|born| own.contains(&born)))
                && !self.tables.is_dead(id)?
            {
                undone.left.push((kind, uuids.of(id)?));
            }
        }
        Ok(())
    }

    fn undo_edit(
        &mut self,
        kind: EntityKind,
        change: &Change,
        txn: i64,
        told: &Told,
    ) -> Result<bool, StoreError> {
        let Act::Edit(edits) = &change.act else { return Ok(false) };
        let now = merge(told.iter().map(|(place, change)| (place.stamp, change)));
        let before = merge(
            told.iter().filter(|(place, _)| place.txn != txn).map(|(place, change)| (place.stamp, change)),
        );
        let Some(stamp) = told.iter().find(|(place, _)| place.txn == txn).map(|(place, _)| place.stamp)
        else {
            return Ok(false);
        };
        let mut all = true;
        for edit in edits {
            let shows = now.fields.get(&edit.field).and_then(|live| live.first());
            if shows.is_none_or(|live| live.stamp != stamp) {
                all = false;
                continue;
            }
            let old = before.fields.get(&edit.field).and_then(|live| live.first());
            self.set(
                kind,
                change.row,
                edit.field,
                old.map_or(Value::Null, |live| live.value.clone()),
                false,
            )?;
        }
        Ok(all)
    }

    /// Whether a transaction brought a deleted row back.
    fn was_revived(&self, id: i64, txn: i64) -> Result<bool, StoreError> {
        let mut find =
            self.store.conn.prepare_cached("SELECT 1 FROM tombstone WHERE row = ?1 AND revived_by = ?2")?;
        Ok(find.exists([id, txn])?)
    }

    /// Whether a row that another transaction made refers to this one, and goes on doing so after this write.
    fn is_used(&self, id: i64, row: Uuid, txn: i64) -> Result<bool, StoreError> {
        let uuids = local::Uuids::one_by_one(&self.store.conn);
        for kind in EntityKind::ALL {
            for (index, field) in kind.fields().iter().enumerate() {
                if matches!(field.kind, FieldKind::Link(_) | FieldKind::LinkAny) {
                    let column = &layout(*kind).columns[layout(*kind).first[index]].0;
                    // A reading whose making was undone keeps no run in sight.
                    let standing =
                        if *kind == EntityKind::Reading { "AND t.struck IS NOT 'undone'" } else { "" };
                    let sql = format!(
                        "SELECT t.id FROM \"{}\" t JOIN row r ON r.id = t.id WHERE t.\"{column}\" = ?1 AND r.born <> ?2
                         AND NOT EXISTS (SELECT 1 FROM tombstone WHERE row = t.id AND revived_by IS NULL) {standing}",
                        kind.table()
                    );
                    let mut read = self.store.conn.prepare_cached(&sql)?;
                    let mut users = read.query([id, txn])?;
                    while let Some(user) = users.next()? {
                        let user = uuids.of(user.get(0)?)?;
                        let now = self.staged_value(user, field.number);
                        if now.is_none_or(|value| *value == Value::Id(row)) {
                            return Ok(true);
                        }
                    }
                }
            }
        }
        let mut layers = self.store.conn.prepare_cached(
            "SELECT 1 FROM layer JOIN row r ON r.id = layer.assembly WHERE layer.revision = ?1 AND r.born <> ?2 LIMIT 1",
        )?;
        Ok(layers.exists([id, txn])?)
    }
}
