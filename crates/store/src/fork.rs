//! Two copies of one device wrote apart under the same numbers: a folder was copied, or put back to an earlier state.
//!
//! The branch whose first differing transaction is earlier keeps the device's name; the other gets a name derived from
//! that transaction ([`airshelf_catalog::change::branch`]). Every store that holds the other branch, its writer's or not,
//! comes to the same name for it, so that they all agree without asking whose the device was.

use crate::connection;
use crate::error::StoreError;
use crate::local;
use crate::log;
use crate::shelf::Store;
use crate::sync::VersionVector;
use crate::tables::Tables;
use airshelf_catalog::change::cbor::{Changes, Envelope};
use airshelf_catalog::change::{Stamp, branch};
use rusqlite::{Connection, OptionalExtension};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// One transaction of a device as another store compares it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub struct Link {
    /// Its clock.
    pub hlc: u64,
    /// The hash over it and all before it.
    pub chain: Vec<u8>,
}

impl Store {
    /// The devices of which the other store holds other transactions than this one, as far as can be seen from here:
    /// those of which it holds no more.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn forked_from(&self, theirs: &VersionVector) -> Result<Vec<Uuid>, StoreError> {
        let mut forked = Vec::new();
        for (uuid, held) in &theirs.devices {
            let known = self.links(*uuid, &[held.number])?;
            if known.values().next().is_some_and(|link| link.chain != held.chain) {
                forked.push(*uuid);
            }
        }
        Ok(forked)
    }

    /// The links of a device's chain at some numbers; those that are not held are left out.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn links(&self, device: Uuid, numbers: &[u64]) -> Result<BTreeMap<u64, Link>, StoreError> {
        let mut find = self.conn.prepare_cached(
            "SELECT t.clock, t.chain FROM txn t JOIN device d ON d.id = t.device WHERE d.uuid = ?1 AND t.number = ?2",
        )?;
        let mut found = BTreeMap::new();
        for number in numbers {
            let link = find
                .query_row((device.as_bytes(), *number as i64), |row| {
                    Ok(Link { hlc: row.get::<_, i64>(0)? as u64, chain: row.get(1)? })
                })
                .optional()?;
            found.extend(link.map(|link| (*number, link)));
        }
        Ok(found)
    }

    /// Settles a fork at the first number under which the two stores hold different transactions of a device. Where this
    /// store's branch is the later one, it is renamed, and gives how many transactions that were; else none: it is then
    /// for the other store to rename its own.
    ///
    /// If the device is this one, it writes under a new identity from then on.
    ///
    /// # Errors
    /// What a write may say, or what keeps a new identity from being kept.
    pub fn settle_fork(
        &mut self,
        device: Uuid,
        from: u64,
        theirs: &Link,
    ) -> Result<Option<usize>, StoreError> {
        self.must_write()?;
        let ours = self.links(device, &[from])?;
        if ours.get(&from).is_none_or(|ours| ours <= theirs) {
            return Ok(None);
        }
        if device == self.identity.device {
            self.take_new_identity()?;
        }
        let tx = connection::begin(&self.conn)?;
        let mut moved = Moved::default();
        moved.part(&tx, device, from)?;
        let mut tables = Tables::open(&tx, &*self.host)?;
        for row in &moved.rows {
            tables.add_up(*row)?;
        }
        tables.bury_again()?;
        drop(tables);
        tx.commit()?;
        Ok(Some(moved.count))
    }
}

/// A held transaction, without the device and number that may change.
struct Written {
    txn: i64,
    hlc: u64,
    head: Vec<u8>,
    body: Vec<u8>,
}

/// What was moved to other names.
#[derive(Default)]
struct Moved {
    count: usize,
    /// Rows to be added up again.
    rows: BTreeSet<i64>,
}

impl Moved {
    /// Moves a device's transactions from a number on to the name of the branch that they are.
    fn part(&mut self, conn: &Connection, device: Uuid, from: u64) -> Result<(), StoreError> {
        let id = local::device(conn, device)?;
        let written: Vec<Written> = conn
            .prepare(
                "SELECT id, clock, head, body FROM txn WHERE device = ?1 AND number >= ?2 ORDER BY number",
            )?
            .query_map((id, from as i64), |row| {
                let hlc = row.get::<_, i64>(1)? as u64;
                Ok(Written { txn: row.get(0)?, hlc, head: row.get(2)?, body: row.get(3)? })
            })?
            .collect::<Result<_, _>>()?;
        let Some(first) = written.first() else { return Ok(()) };
        let branch = branch::name(device, from, first.hlc, &first.head, &first.body);
        self.count += written.len();
        for one in &written {
            self.note_rows(conn, one)?;
        }
        conn.prepare_cached("UPDATE device SET number = ?2 WHERE id = ?1")?.execute((id, from as i64 - 1))?;
        self.file(conn, branch, 1, written)
    }

    /// Files transactions under a name from a number on, before which nothing differs. What is held under that name
    /// already is kept once, and what parts from it is a branch of its own.
    fn file(
        &mut self,
        conn: &Connection,
        device: Uuid,
        from: u64,
        mut written: Vec<Written>,
    ) -> Result<(), StoreError> {
        let id = local::device(conn, device)?;
        let held = log::count_of(conn, device)?;
        let mut chain = log::chain_at(conn, id, from - 1)?;
        for at in 0..written.len() {
            let (number, one) = (from + at as u64, &written[at]);
            let stamp = Stamp { hlc: one.hlc, device };
            chain = log::link(&chain, &Envelope { stamp, number, head: &one.head, body: &one.body }).to_vec();
            if number > held {
                conn.prepare_cached("UPDATE txn SET device = ?2, number = ?3, chain = ?4 WHERE id = ?1")?
                    .execute((one.txn, id, number as i64, &chain))?;
                conn.prepare_cached("UPDATE device SET number = ?2 WHERE id = ?1")?
                    .execute((id, number as i64))?;
                continue;
            }
            let there = log::find(conn, device, number)?
                .ok_or_else(|| StoreError::damaged("a transaction went missing"))?;
            let theirs = Link { hlc: there.stamp.hlc, chain: log::chain_at(conn, id, number)? };
            if theirs.chain == chain {
                merge_into(conn, one.txn, there.txn)?;
                continue;
            }
            let ours = Link { hlc: one.hlc, chain };
            let rest = written.split_off(at);
            if ours > theirs {
                let branch = branch::name(device, number, rest[0].hlc, &rest[0].head, &rest[0].body);
                return self.file(conn, branch, 1, rest);
            }
            self.part(conn, device, number)?;
            return self.file(conn, device, number, rest);
        }
        Ok(())
    }

    fn note_rows(&mut self, conn: &Connection, one: &Written) -> Result<(), StoreError> {
        for unread in Changes::of(&log::decompress(&one.body)?) {
            if let Some(known) = local::find(conn, unread?.row)?
                && conn.prepare_cached("SELECT 1 FROM touch WHERE row = ?1")?.exists([known.id])?
            {
                self.rows.insert(known.id);
            }
        }
        Ok(())
    }
}

/// Drops a transaction that is held a second time under another local integer.
fn merge_into(conn: &Connection, again: i64, kept: i64) -> Result<(), StoreError> {
    for (table, column) in
        [("row", "born"), ("touch", "txn"), ("tombstone", "txn"), ("rival", "txn"), ("parked", "txn")]
    {
        conn.execute(
            &format!("UPDATE OR IGNORE \"{table}\" SET {column} = ?2 WHERE {column} = ?1"),
            [again, kept],
        )?;
        if table != "row" {
            conn.execute(&format!("DELETE FROM \"{table}\" WHERE {column} = ?1"), [again])?;
        }
    }
    conn.execute("DELETE FROM txn WHERE id = ?1", [again])?;
    Ok(())
}
