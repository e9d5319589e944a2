//! How a change reaches the tables.
//!
//! A new row goes straight in. Whatever else happens to a row, its state is added up again from every change held of
//! it ([`merge`]), so that the tables are a function of the set of changes, in whatever order they came.

mod deletes;
mod line;
mod told;

use crate::births::Births;
use crate::error::StoreError;
use crate::host::Host;
use crate::local::{self, Uuids};
use crate::log;
use crate::rows::fits;
use airshelf_catalog::change::cbor::read_changes;
use airshelf_catalog::change::{Act, Stamp};
use airshelf_catalog::{EntityKind, Value};
use rusqlite::{CachedStatement, Connection};
use rustc_hash::FxHashMap;
use std::collections::hash_map::Entry;
use std::collections::{BTreeSet, HashMap};
use std::rc::Rc;
use uuid::Uuid;

pub(crate) use told::Told;
use {deletes::Stone, told::Body};

/// Where changes are written; lives as long as one SQLite transaction.
pub(crate) struct Tables<'c> {
    pub conn: &'c Connection,
    host: &'c dyn Host,
    ids: FxHashMap<Uuid, i64>,
    inserts: Vec<Option<CachedStatement<'c>>>,
    /// Rows of a big import on their way into their tables.
    births: Option<Births<'c>>,
    new_layer: Option<CachedStatement<'c>>,
    /// Deletes by row; nearly always empty.
    tombs: HashMap<i64, Vec<Stone>>,
    /// Branches of copied devices of which something is held; nearly always none.
    branches: Vec<Uuid>,
    bodies: HashMap<i64, Rc<Body>>,
    scratch: String,
    /// Rows that a concurrent change brought back: row, entity, the transaction that did.
    pub revived: Vec<(Uuid, u8, Stamp)>,
    /// Rows whose standing values may have come to differ.
    pub touched: BTreeSet<i64>,
}

/// Whether a row was there already.
pub(crate) enum Birth {
    New(i64),
    Held(local::Known),
}

impl<'c> Tables<'c> {
    pub(crate) fn open(conn: &'c Connection, host: &'c dyn Host) -> Result<Self, StoreError> {
        let mut tables = Tables {
            conn,
            host,
            ids: FxHashMap::default(),
            inserts: (0..256).map(|_| None).collect(),
            births: None,
            new_layer: None,
            tombs: HashMap::new(),
            branches: Vec::new(),
            bodies: HashMap::new(),
            scratch: String::new(),
            revived: Vec::new(),
            touched: BTreeSet::new(),
        };
        let stones: Vec<(i64, i64)> = conn
            .prepare_cached("SELECT row, txn FROM tombstone")?
            .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        if !stones.is_empty() {
            tables.look_for_branches()?;
        }
        for (row, txn) in stones {
            let at = local::place(conn, txn)?;
            let uuid = Uuids::one_by_one(conn).of(row)?;
            for change in read_changes(&log::body(conn, txn)?)? {
                if let (true, Act::Delete(seen)) = (change.row == uuid, change.act) {
                    tables.tombs.entry(row).or_default().push(Stone::of(at, seen));
                }
            }
        }
        Ok(tables)
    }

    /// Lays the lines of new rows down many at a time, where about that many come; [`Tables::end_births`] must follow
    /// before anything looks for a row by its UUID.
    pub(crate) fn expect_births(&mut self, rows: usize) -> Result<(), StoreError> {
        if self.tombs.is_empty()
            && let Some((births, held)) = Births::expect(self.conn, rows)?
        {
            self.ids.reserve(held.len() + rows);
            self.ids.extend(held);
            self.births = Some(births);
        }
        Ok(())
    }

    /// Lays down what is left of the new rows.
    pub(crate) fn end_births(&mut self) -> Result<(), StoreError> {
        self.births.take().map_or(Ok(()), Births::end)
    }

    /// The local integer of a row that something names.
    pub(crate) fn id_of(&mut self, uuid: Uuid, entity: u8) -> Result<i64, StoreError> {
        if let Some(id) = self.ids.get(&uuid) {
            return Ok(*id);
        }
        let id = match &mut self.births {
            Some(births) => births.make(uuid, entity, None)?,
            None => local::find_or_make(self.conn, uuid, entity)?,
        };
        self.ids.insert(uuid, id);
        Ok(id)
    }

    /// Makes a row's line under the transaction that creates it, unless it was created before.
    pub(crate) fn give_birth(&mut self, uuid: Uuid, entity: u8, txn: i64) -> Result<Birth, StoreError> {
        let known = match (self.ids.entry(uuid), &mut self.births) {
            (Entry::Vacant(place), Some(births)) => {
                return Ok(Birth::New(*place.insert(births.make(uuid, entity, Some(txn))?)));
            }
            (Entry::Vacant(place), None) => match local::make(self.conn, uuid, entity, Some(txn))? {
                Some(id) => return Ok(Birth::New(*place.insert(id))),
                None => {
                    let known = local::find(self.conn, uuid)?;
                    place.insert(known.ok_or_else(local::differ)?.id);
                    known
                }
            },
            (Entry::Occupied(id), births) => {
                if let Some(births) = births {
                    births.lay_down()?;
                }
                local::known(self.conn, *id.get())?
            }
        };
        let known = known.ok_or_else(local::differ)?;
        if known.born.is_some() {
            return Ok(Birth::Held(known));
        }
        let mut mark = self.conn.prepare_cached("UPDATE row SET born = ?2, entity = ?3 WHERE id = ?1")?;
        mark.execute((known.id, txn, entity))?;
        if self.is_touched(known.id)? { Ok(Birth::Held(known)) } else { Ok(Birth::New(known.id)) }
    }

    pub(crate) fn is_touched(&self, id: i64) -> Result<bool, StoreError> {
        Ok(self.conn.prepare_cached("SELECT 1 FROM touch WHERE row = ?1 LIMIT 1")?.exists([id])?)
    }

    fn known(&self, entity: u8) -> Option<EntityKind> {
        EntityKind::from_number(entity).filter(|_| self.host.knows(entity, 0))
    }

    /// Whether this program knows a field.
    pub(crate) fn knows(&self, kind: EntityKind, field: u16) -> bool {
        self.host.knows(kind.number(), 0) && self.host.knows(kind.number(), field)
    }

    /// Why this program cannot take a field; none where it can.
    fn why_not(&self, kind: EntityKind, field: u16, value: &Value) -> Option<String> {
        let Some(def) = kind.fields().iter().find(|def| def.number == field) else {
            return Some(format!("{} has a field {field}", kind.table()));
        };
        if !self.host.knows(kind.number(), field) {
            return Some(format!("{} has a field {field}", kind.table()));
        }
        fits(def, value).err().map(|e| e.to_string())
    }
}
