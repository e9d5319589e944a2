//! What the changes held say of a row, added up anew.

use super::{Birth, Tables};
use crate::error::StoreError;
use crate::layout::layout;
use crate::local::{self, Place};
use crate::log;
use crate::taken_back;
use airshelf_catalog::change::cbor::{Changes, put_value};
use airshelf_catalog::change::{Act, Change, RowState, Stamp, merge, same};
use airshelf_catalog::{EntityKind, Value, ValueRef};
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;
use std::rc::Rc;
use uuid::Uuid;

/// Bodies kept decompressed at a time while rows are added up.
const BODIES_KEPT: usize = 64;

/// Everything said of a row by the changes held.
pub(crate) type Told = Vec<(Place, Change)>;

/// A transaction's changes, with where those of each row begin.
pub(super) struct Body {
    bytes: Vec<u8>,
    at: FxHashMap<Uuid, Vec<usize>>,
}

impl Body {
    fn of(bytes: Vec<u8>) -> Result<Self, StoreError> {
        let mut at: FxHashMap<Uuid, Vec<usize>> = FxHashMap::default();
        let mut changes = Changes::of(&bytes);
        loop {
            let position = changes.position();
            let Some(unread) = changes.next() else { break };
            at.entry(unread?.row).or_default().push(position);
        }
        Ok(Body { bytes, at })
    }
}

impl Tables<'_> {
    /// Takes one change of a transaction that the log holds already.
    pub(crate) fn take(&mut self, at: Place, change: &Change) -> Result<(), StoreError> {
        let plain = change.strange.is_empty();
        match (self.known(change.entity), &change.act) {
            (Some(kind), Act::Create(fields)) => match self.give_birth(change.row, change.entity, at.txn)? {
                Birth::New(id)
                    if plain && fields.iter().all(|(f, v)| self.why_not(kind, *f, v).is_none()) =>
                {
                    let value = |index: usize| {
                        let number = kind.fields()[index].number;
                        let found = fields.iter().rev().find(|(field, _)| *field == number);
                        found.map_or(ValueRef::Null, |(_, value)| value.as_ref())
                    };
                    self.insert(kind, id, value)?;
                }
                Birth::New(id) => self.add_up(id)?,
                Birth::Held(known) => self.born_again(known, at, change)?,
            },
            (Some(_), Act::Edit(_)) => {
                let id = self.id_of(change.row, change.entity)?;
                self.touch(id, at.txn)?;
                self.add_up(id)?;
            }
            (_, Act::Delete(seen)) => {
                let id = self.id_of(change.row, change.entity)?;
                self.touch(id, at.txn)?;
                self.bury(id, change.row, at, seen)?;
            }
            (_, act) => {
                let id = match act {
                    Act::Create(_) => match self.give_birth(change.row, change.entity, at.txn)? {
                        Birth::New(id) => id,
                        Birth::Held(known) => {
                            self.touch(known.id, at.txn)?;
                            known.id
                        }
                    },
                    _ => {
                        let id = self.id_of(change.row, change.entity)?;
                        self.touch(id, at.txn)?;
                        id
                    }
                };
                self.add_up(id)?;
            }
        }
        if !self.tombs.is_empty() && !matches!(change.act, Act::Delete(_)) {
            self.revive_by(at, change)?;
        }
        Ok(())
    }

    fn touch(&self, id: i64, txn: i64) -> Result<(), StoreError> {
        self.conn
            .prepare_cached("INSERT OR IGNORE INTO touch (row, txn) VALUES (?1, ?2)")?
            .execute((id, txn))?;
        Ok(())
    }

    /// A second creation. The usual one says the same as the first, since both imported one sheet.
    fn born_again(&mut self, known: local::Known, at: Place, change: &Change) -> Result<(), StoreError> {
        let Some(born) = known.born.filter(|born| *born != at.txn) else { return self.add_up(known.id) };
        if !self.is_touched(known.id)? {
            let first = self.told_in(born, change.row)?;
            let earlier = local::place(self.conn, born)?.stamp <= at.stamp;
            if let [only] = &first[..] {
                if earlier && says_the_same(only, change) {
                    return self.touch(known.id, at.txn);
                }
                if !earlier && only == change && change.strange.is_empty() {
                    // The earliest creation is the row's stamp; nothing in its line changes.
                    let mut mark = self.conn.prepare_cached("UPDATE row SET born = ?2 WHERE id = ?1")?;
                    mark.execute((known.id, at.txn))?;
                    return self.touch(known.id, born);
                }
            }
        }
        self.touch(known.id, at.txn)?;
        self.add_up(known.id)
    }

    fn told_in(&mut self, txn: i64, row: Uuid) -> Result<Vec<Change>, StoreError> {
        let body = match self.bodies.get(&txn) {
            Some(body) => Rc::clone(body),
            None => {
                let body = Rc::new(Body::of(log::body(self.conn, txn)?)?);
                if self.bodies.len() >= BODIES_KEPT {
                    self.bodies.clear();
                }
                self.bodies.insert(txn, Rc::clone(&body));
                body
            }
        };
        let mut told = Vec::new();
        for at in body.at.get(&row).map_or(&[][..], |at| at) {
            if let Some(unread) = Changes::of(&body.bytes[*at..]).next() {
                told.push(unread?.read()?);
            }
        }
        Ok(told)
    }

    /// Everything the log says of a row.
    pub(crate) fn told(&mut self, id: i64) -> Result<(Uuid, u8, Told), StoreError> {
        if let Some(births) = &mut self.births {
            births.lay_down()?;
        }
        let (uuid, entity, born): ([u8; 16], u8, Option<i64>) = self
            .conn
            .prepare_cached("SELECT uuid, entity, born FROM row WHERE id = ?1")?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
        let uuid = Uuid::from_bytes(uuid);
        let mut txns: BTreeSet<i64> = self
            .conn
            .prepare_cached("SELECT txn FROM touch WHERE row = ?1")?
            .query_map([id], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        txns.extend(born);
        let mut told = Told::new();
        for txn in txns {
            let place = local::place(self.conn, txn)?;
            told.extend(self.told_in(txn, uuid)?.into_iter().map(|change| (place, change)));
        }
        Ok((uuid, entity, told))
    }

    /// The state of a row by the merge rule.
    pub(crate) fn state(&mut self, id: i64) -> Result<(RowState, Told), StoreError> {
        let (_, _, told) = self.told(id)?;
        Ok((merge(told.iter().map(|(place, change)| (place.stamp, change))), told))
    }

    /// Adds a row up again from every change held of it, and writes what comes out.
    pub(crate) fn add_up(&mut self, id: i64) -> Result<(), StoreError> {
        let (uuid, _, told) = self.told(id)?;
        // A row's entity comes from its changes, since a link may have guessed it before any came.
        let Some(entity) = told.iter().min_by_key(|(place, _)| place.stamp).map(|(_, change)| change.entity)
        else {
            return Ok(());
        };
        let state = merge(told.iter().map(|(place, change)| (place.stamp, change)));
        let txn_of = |stamp: Stamp| {
            let found = told.iter().find(|(place, _)| place.stamp == stamp);
            found.map(|(place, _)| place.txn).expect("a standing value comes from a change held")
        };
        self.conn.prepare_cached("DELETE FROM parked WHERE row = ?1")?.execute([id])?;
        self.conn.prepare_cached("DELETE FROM rival WHERE row = ?1")?.execute([id])?;
        let mut mark = self.conn.prepare_cached("UPDATE row SET entity = ?2, born = ?3 WHERE id = ?1")?;
        mark.execute((id, entity, state.born.map(&txn_of)))?;
        self.touched.insert(id);
        // The earliest creation is the row's one stamp; all others touch it.
        for (place, _) in &told {
            self.touch(id, place.txn)?;
        }
        if let Some(born) = state.born {
            let mut one = self.conn.prepare_cached("DELETE FROM touch WHERE row = ?1 AND txn = ?2")?;
            one.execute((id, txn_of(born)))?;
        }
        self.park(id, entity, &told)?;
        let Some(kind) = self.known(entity) else { return Ok(()) };
        for (field, live) in &state.fields {
            for rival in live.iter().skip(1) {
                let mut value = Vec::new();
                put_value(&mut value, rival.value.as_ref());
                let mut insert = self.conn.prepare_cached(
                    "INSERT OR REPLACE INTO rival (row, field, txn, value) VALUES (?1, ?2, ?3, ?4)",
                )?;
                insert.execute((id, field, txn_of(rival.stamp), value))?;
            }
        }
        if state.born.is_none() {
            return Ok(());
        }
        let stands = kind == EntityKind::ImportFile && taken_back::stands(self.conn, uuid, &state, &told)?;
        if stands
            && self.is_taken_back(id)?
            && let Some((place, _)) = told.iter().max_by_key(|(place, _)| place.stamp)
        {
            self.revived.push((uuid, entity, place.stamp));
        }
        let shown: Vec<ValueRef<'_>> = kind
            .fields()
            .iter()
            .map(|def| {
                if stands && def.number == taken_back::undone() {
                    return ValueRef::Int(0);
                }
                let live = state.fields.get(&def.number).map_or(&[][..], |live| live);
                let known = live.iter().find(|live| self.why_not(kind, def.number, &live.value).is_none());
                known.map_or(ValueRef::Null, |live| live.value.as_ref())
            })
            .collect();
        let mut statement = self.conn.prepare_cached(&layout(kind).upsert)?;
        self.bind_and_run(&mut statement, kind, id, &|index| shown[index])?;
        self.beside(kind, id, &|index| shown[index], true)
    }

    /// Lists what this program does not know in the changes of a row.
    fn park(&self, id: i64, entity: u8, told: &Told) -> Result<(), StoreError> {
        let mut insert = self
            .conn
            .prepare_cached("INSERT OR REPLACE INTO parked (row, txn, field, why) VALUES (?1, ?2, ?3, ?4)")?;
        for (place, change) in told {
            let mut put = |field: u16, why: String| insert.execute((id, place.txn, field, why));
            let Some(kind) = self.known(entity) else {
                put(0, format!("an entity {entity}"))?;
                continue;
            };
            for field in &change.strange {
                put(*field, format!("a value of {} field {field} in an unknown form", kind.table()))?;
            }
            let fields: Vec<(u16, &Value)> = match &change.act {
                Act::Create(fields) => fields.iter().map(|(field, value)| (*field, value)).collect(),
                Act::Edit(edits) => edits.iter().map(|edit| (edit.field, &edit.value)).collect(),
                Act::Delete(_) => vec![],
                Act::Strange(act) => {
                    put(0, format!("a change of kind {act}"))?;
                    continue;
                }
            };
            for (field, value) in fields {
                if let Some(why) = self.why_not(kind, field, value) {
                    put(field, why)?;
                }
            }
        }
        Ok(())
    }
}

fn says_the_same(a: &Change, b: &Change) -> bool {
    let (Act::Create(x), Act::Create(y)) = (&a.act, &b.act) else { return false };
    let blank = |fields: &[(u16, Value)]| fields.iter().filter(|(_, v)| *v != Value::Null).count();
    a.strange.is_empty()
        && b.strange.is_empty()
        && blank(x) == blank(y)
        && x.iter().all(|(n, v)| *v == Value::Null || y.iter().any(|(m, w)| m == n && same(v, w)))
}
