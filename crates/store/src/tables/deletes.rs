//! Deletes, and what brings a row back: a change about it that its deleter had not seen.

use super::Tables;
use crate::error::StoreError;
use crate::local::{self, Place, Uuids};
use crate::log;
use airshelf_catalog::change::branch::{begins_at, covered};
use airshelf_catalog::change::cbor::Changes;
use airshelf_catalog::change::{Act, Change, Seen};
use airshelf_catalog::ids::unpack_layers;
use airshelf_catalog::{EntityKind, Value};
use std::collections::BTreeSet;
use uuid::Uuid;

/// A delete: who wrote it, and what they had seen, itself included.
#[derive(Clone)]
pub(super) struct Stone {
    txn: i64,
    writer: Uuid,
    seen: Seen,
}

impl Stone {
    pub(super) fn of(at: Place, mut seen: Seen) -> Self {
        let own = seen.entry(at.stamp.device).or_insert(0);
        *own = (*own).max(at.number);
        Stone { txn: at.txn, writer: at.stamp.device, seen }
    }
}

impl Tables<'_> {
    /// Takes a delete. It holds unless some held change beyond what its writer had seen touches the row.
    pub(super) fn bury(&mut self, id: i64, uuid: Uuid, at: Place, seen: &Seen) -> Result<(), StoreError> {
        if self.tombs.is_empty() {
            self.look_for_branches()?;
        }
        let stone = Stone::of(at, seen.clone());
        let mut insert = self
            .conn
            .prepare_cached("INSERT OR IGNORE INTO tombstone (row, txn, revived_by) VALUES (?1, ?2, NULL)")?;
        insert.execute((id, at.txn))?;
        self.tombs.entry(id).or_default().push(stone.clone());
        self.touched.insert(id);
        for (device, held) in log::seen(self.conn)? {
            let from = covered(&stone.seen, stone.writer, device, &self.branches);
            for number in from + 1..=held {
                let Some(place) = log::find(self.conn, device, number)? else { continue };
                for unread in Changes::of(&log::body(self.conn, place.txn)?) {
                    let change = unread?.read()?;
                    if !matches!(change.act, Act::Delete(_))
                        && (change.row == uuid || names(&change).contains(&uuid))
                    {
                        return self.revive(id, at.txn, uuid, place);
                    }
                }
            }
        }
        Ok(())
    }

    pub(super) fn look_for_branches(&mut self) -> Result<(), StoreError> {
        self.branches = log::seen(self.conn)?.into_keys().filter(|id| begins_at(*id).is_some()).collect();
        Ok(())
    }

    /// Finds anew which deletes hold, after transactions got other names or a branch is new here.
    pub(crate) fn bury_again(&mut self) -> Result<(), StoreError> {
        self.look_for_branches()?;
        let told = std::mem::take(&mut self.revived);
        let mut in_sight = BTreeSet::new();
        for (id, stones) in std::mem::take(&mut self.tombs) {
            let uuid = Uuids::one_by_one(self.conn).of(id)?;
            if !self.is_dead(id)? {
                in_sight.insert(uuid);
            }
            for stone in stones {
                let mut mark = self
                    .conn
                    .prepare_cached("UPDATE tombstone SET revived_by = NULL WHERE row = ?1 AND txn = ?2")?;
                mark.execute((id, stone.txn))?;
                self.bury(id, uuid, local::place(self.conn, stone.txn)?, &stone.seen)?;
            }
        }
        // What was in sight before did not come back.
        self.revived.retain(|(row, ..)| !in_sight.contains(row));
        self.revived.splice(..0, told);
        self.take_back_again()
    }

    fn revive(&mut self, id: i64, stone: i64, uuid: Uuid, at: Place) -> Result<(), StoreError> {
        // Which change revived it depends on the order they came in; that one did does not.
        let mut mark = self.conn.prepare_cached(
            "UPDATE tombstone SET revived_by = ?3 WHERE row = ?1 AND txn = ?2 AND revived_by IS NULL",
        )?;
        if mark.execute((id, stone, at.txn))? == 1 {
            let entity =
                self.conn.query_row("SELECT entity FROM row WHERE id = ?1", [id], |row| row.get(0))?;
            self.revived.push((uuid, entity, at.stamp));
            self.touched.insert(id);
        }
        Ok(())
    }

    /// Whether any delete is held at all.
    pub(crate) fn any_dead(&self) -> bool {
        !self.tombs.is_empty()
    }

    /// Brings back deleted rows that a change beyond what their deleters had seen is about, or names.
    pub(crate) fn revive_by(&mut self, at: Place, change: &Change) -> Result<(), StoreError> {
        let mut rows = names(change);
        rows.push(change.row);
        for uuid in rows {
            let Some(known) = local::find(self.conn, uuid)? else { continue };
            for stone in self.tombs.get(&known.id).cloned().unwrap_or_default() {
                if at.number > covered(&stone.seen, stone.writer, at.stamp.device, &self.branches) {
                    self.revive(known.id, stone.txn, uuid, at)?;
                }
            }
        }
        Ok(())
    }

    /// Whether a delete of the row holds.
    pub(crate) fn is_dead(&self, id: i64) -> Result<bool, StoreError> {
        let mut find = self
            .conn
            .prepare_cached("SELECT 1 FROM tombstone WHERE row = ?1 AND revived_by IS NULL LIMIT 1")?;
        Ok(find.exists([id])?)
    }
}

/// The rows that a change's values name.
fn names(change: &Change) -> Vec<Uuid> {
    let mut names = Vec::new();
    let mut note = |value: &Value| match value {
        Value::Id(id) => names.push(*id),
        Value::Bytes(packed) if change.entity == EntityKind::Assembly.number() => {
            names.extend(unpack_layers(packed).unwrap_or_default().iter().map(|layer| layer.revision));
        }
        _ => {}
    };
    match &change.act {
        Act::Create(fields) => fields.iter().for_each(|(_, value)| note(value)),
        Act::Edit(edits) => edits.iter().for_each(|edit| note(&edit.value)),
        Act::Delete(_) | Act::Strange(_) => {}
    }
    names
}
