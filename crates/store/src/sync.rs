//! Two stores become equal: they compare how far they hold each device's transactions, and send what is missing.
//!
//! Nothing here asks what is newer. Transactions travel byte for byte, in the order of their stamps, so that every
//! prefix is a valid store; what is held already is passed over.

use crate::conflicts::{Conflict, conflicts_of};
use crate::connection;
use crate::error::StoreError;
use crate::local::{self, Place, uuid_of};
use crate::log;
use crate::shelf::Store;
use crate::tables::Tables;
use airshelf_catalog::EntityKind;
use airshelf_catalog::change::cbor::{Envelope, put_change, read_changes};
use airshelf_catalog::change::{Act, Change, Stamp};
use rusqlite::Connection;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// A transaction as it travels; see [`airshelf_catalog::change::cbor`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Encoded(pub Vec<u8>);

/// How far a store holds one device's transactions.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct HeldUntil {
    /// The number of the last; all before it are held.
    pub number: u64,
    /// A hash over all of them: two stores that hold as many but other ones notice.
    pub chain: Vec<u8>,
}

/// How far a store holds every device's transactions.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct VersionVector {
    /// The shelf.
    pub shelf: Uuid,
    /// Whether that is the demonstration.
    pub demo: bool,
    /// Per device.
    pub devices: BTreeMap<Uuid, HeldUntil>,
}

/// A device of which two copies write, or that was restored to an earlier state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Cloned {
    /// The device's id, held by both copies.
    pub device: Uuid,
    /// The first number under which the two wrote differently; none where one copy is merely behind.
    pub from: Option<u64>,
}

/// A row that was deleted and came back, because somebody wrote about it meanwhile.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Revived {
    /// What it is; none where only a newer program knows.
    pub kind: Option<EntityKind>,
    /// Which.
    pub id: Uuid,
    /// The transaction that brought it back.
    pub by: Stamp,
}

/// What came of taking transactions in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Applied {
    /// Transactions that are new here.
    pub new: usize,
    /// Conflicts that stand in the rows they changed.
    pub conflicts: Vec<Conflict>,
    /// Rows that came back.
    pub revived: Vec<Revived>,
    /// Things in those rows that this program does not know, and keeps.
    pub parked: usize,
    /// Where two copies of a device wrote. With differing numbers nothing was taken: the copy whose device it is calls
    /// [`Store::take_new_device`], and the exchange starts again.
    pub cloned: Option<Cloned>,
}

impl Store {
    /// Says what this store holds.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn version_vector(&self) -> Result<VersionVector, StoreError> {
        let mut read = self.conn.prepare_cached(
            "SELECT d.uuid, d.number, t.chain FROM device d JOIN txn t ON t.device = d.id AND t.number = d.number",
        )?;
        let mut rows = read.query([])?;
        let mut devices = BTreeMap::new();
        while let Some(row) = rows.next()? {
            let held = HeldUntil { number: row.get::<_, i64>(1)? as u64, chain: row.get(2)? };
            devices.insert(uuid_of(row.get_ref(0)?)?, held);
        }
        Ok(VersionVector { shelf: self.shelf_id(), demo: self.is_demo(), devices })
    }

    /// Makes sure that the other store is of this shelf; an empty store joins the other's.
    ///
    /// # Errors
    /// [`StoreError::OtherShelf`].
    pub fn meet(&mut self, theirs: &VersionVector) -> Result<(), StoreError> {
        if theirs.shelf == self.shelf_id() || theirs.devices.is_empty() {
            return Ok(());
        }
        if self.is_empty()? {
            self.must_write()?;
            return self.join(theirs.shelf, theirs.demo);
        }
        Err(StoreError::OtherShelf { ours: self.shelf_id(), theirs: theirs.shelf })
    }

    /// Gives transactions that the other store lacks, in the order of their stamps, about `budget_bytes` of them but at
    /// least one. Where the two hold different transactions under one number, all of that device's are given, so that
    /// the receiver finds the first that differs.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn transactions_since(
        &self,
        theirs: &VersionVector,
        budget_bytes: usize,
    ) -> Result<Vec<Encoded>, StoreError> {
        let mut missing: Vec<(Stamp, i64, u64)> = Vec::new();
        let mut devices = self.conn.prepare_cached("SELECT id, uuid, number FROM device WHERE number > 0")?;
        let mut rows = devices.query([])?;
        while let Some(row) = rows.next()? {
            let (device, uuid): (i64, Uuid) = (row.get(0)?, uuid_of(row.get_ref(1)?)?);
            let count = row.get::<_, i64>(2)? as u64;
            let from = match theirs.devices.get(&uuid) {
                None => 0,
                Some(held) if held.number > count => continue,
                Some(held) if log::chain_at(&self.conn, device, held.number)? == held.chain => held.number,
                Some(_) => 0,
            };
            let mut read = self
                .conn
                .prepare_cached("SELECT id, clock, number FROM txn WHERE device = ?1 AND number > ?2")?;
            let mut txns = read.query((device, from as i64))?;
            while let Some(txn) = txns.next()? {
                let stamp = Stamp { hlc: txn.get::<_, i64>(1)? as u64, device: uuid };
                missing.push((stamp, txn.get(0)?, txn.get::<_, i64>(2)? as u64));
            }
        }
        missing.sort_unstable();
        let (mut out, mut bytes) = (Vec::new(), 0);
        for (stamp, txn, number) in missing {
            let mut read = self.conn.prepare_cached("SELECT head, body FROM txn WHERE id = ?1")?;
            let mut rows = read.query([txn])?;
            let row = rows.next()?.ok_or_else(|| StoreError::damaged("a transaction went missing"))?;
            let head = row.get_ref(0)?.as_blob().map_err(rusqlite::Error::from)?;
            let body = row.get_ref(1)?.as_blob().map_err(rusqlite::Error::from)?;
            let packed = Envelope { stamp, number, head, body }.pack();
            bytes += packed.len();
            if bytes > budget_bytes && !out.is_empty() {
                break;
            }
            out.push(Encoded(packed));
        }
        Ok(out)
    }

    /// Takes transactions in; all of them, or none.
    ///
    /// # Errors
    /// [`StoreError::Gap`] where earlier ones are missing, [`StoreError::Malformed`], and what a write may say.
    pub fn apply(&mut self, transactions: &[Encoded]) -> Result<Applied, StoreError> {
        self.must_write()?;
        let tx = connection::begin(&self.conn)?;
        let mut tables = Tables::open(&tx, &*self.host)?;
        let mut applied = Applied::default();
        let mut next = log::next_txn(&tx)?;
        for encoded in transactions {
            let envelope = Envelope::unpack(&encoded.0)?;
            let device = envelope.stamp.device;
            let held = log::count_of(&tx, device)?;
            if envelope.number == 0 || envelope.number > held + 1 {
                return Err(StoreError::Gap { device, number: envelope.number });
            }
            if envelope.number <= held {
                if is_the_same(&tx, &envelope)? {
                    continue;
                }
                let cloned = Some(Cloned { device, from: Some(envelope.number) });
                return Ok(Applied { cloned, ..Applied::default() });
            }
            if device == self.identity.device {
                applied.cloned = Some(Cloned { device, from: None });
            }
            let changes = read_changes(&log::decompress(envelope.body)?)?;
            log::append(&tx, next, &envelope, changes.len())?;
            let at = Place { txn: next, stamp: envelope.stamp, number: envelope.number };
            for change in &changes {
                tables.take(at, change)?;
            }
            next += 1;
            applied.new += 1;
        }
        for (id, entity, by) in std::mem::take(&mut tables.revived) {
            applied.revived.push(Revived { kind: EntityKind::from_number(entity), id, by });
        }
        for row in std::mem::take(&mut tables.touched) {
            applied.conflicts.append(&mut conflicts_of(&mut tables, row)?);
            let mut count = tx.prepare_cached("SELECT count(*) FROM parked WHERE row = ?1")?;
            applied.parked += count.query_row([row], |row| row.get::<_, i64>(0))? as usize;
        }
        drop(tables);
        tx.commit()?;
        Ok(applied)
    }

    /// Takes a new device id after a clone or a restore was noticed, and sends what the two copies wrote differently
    /// under it from now on. Gives how many transactions that were.
    ///
    /// # Errors
    /// What a write may say, or what keeps the new identity from being kept.
    pub fn take_new_device(&mut self, cloned: &Cloned) -> Result<usize, StoreError> {
        self.must_write()?;
        if cloned.device != self.identity.device {
            return Ok(0);
        }
        let old = self.identity.device;
        let new = self.host.new_identity(self.dir()).map_err(StoreError::io("keeping a new identity"))?;
        let mut reissued = 0;
        if let Some(from) = cloned.from {
            let tx = connection::begin(&self.conn)?;
            let rows = reissue(&tx, old, new.device, from)?;
            let mut tables = Tables::open(&tx, &*self.host)?;
            for row in &rows.1 {
                tables.add_up(*row)?;
            }
            drop(tables);
            tx.commit()?;
            reissued = rows.0;
        }
        self.identity = new;
        Ok(reissued)
    }
}

fn is_the_same(conn: &Connection, envelope: &Envelope<'_>) -> Result<bool, StoreError> {
    let mut read = conn.prepare_cached(
        "SELECT 1 FROM txn t JOIN device d ON d.id = t.device
         WHERE d.uuid = ?1 AND t.number = ?2 AND t.clock = ?3 AND t.head = ?4 AND t.body = ?5",
    )?;
    let (number, clock) = (envelope.number as i64, envelope.stamp.hlc as i64);
    Ok(read.exists((envelope.stamp.device.as_bytes(), number, clock, envelope.head, envelope.body))?)
}

/// Moves a device's transactions from a number on to another device, with the stamps that they name.
fn reissue(conn: &Connection, old: Uuid, new: Uuid, from: u64) -> Result<(usize, BTreeSet<i64>), StoreError> {
    let (old_id, new_id) = (local::device(conn, old)?, local::device(conn, new)?);
    let txns: Vec<(i64, i64, Vec<u8>, Vec<u8>)> = conn
        .prepare("SELECT id, clock, head, body FROM txn WHERE device = ?1 AND number >= ?2 ORDER BY number")?
        .query_map((old_id, from as i64), |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?
        .collect::<Result<_, _>>()?;
    let clocks: BTreeSet<u64> = txns.iter().map(|(_, clock, ..)| *clock as u64).collect();
    let (mut chain, mut rows) = (Vec::new(), BTreeSet::new());
    for (number, (txn, clock, head, body)) in (1u64..).zip(&txns) {
        let mut changes = read_changes(&log::decompress(body)?)?;
        for change in &changes {
            if let Some(known) = local::find(conn, change.row)?
                && conn.prepare_cached("SELECT 1 FROM touch WHERE row = ?1")?.exists([known.id])?
            {
                rows.insert(known.id);
            }
        }
        let renamed = rename(&mut changes, old, new, from, &clocks);
        let body = if renamed {
            let mut plain = Vec::new();
            changes.iter().for_each(|change| put_change(&mut plain, change));
            log::compress(&plain)
        } else {
            body.clone()
        };
        let stamp = Stamp { hlc: *clock as u64, device: new };
        chain = log::link(&chain, &Envelope { stamp, number, head, body: &body }).to_vec();
        conn.prepare_cached("UPDATE txn SET device = ?2, number = ?3, body = ?4, chain = ?5 WHERE id = ?1")?
            .execute((txn, new_id, number as i64, &body, &chain))?;
    }
    let mut count = conn.prepare_cached("UPDATE device SET number = ?2 WHERE id = ?1")?;
    count.execute((old_id, from as i64 - 1))?;
    count.execute((new_id, txns.len() as i64))?;
    Ok((txns.len(), rows))
}

/// Renames the device in the stamps and vectors of changes; whether anything had to be renamed and could be.
fn rename(changes: &mut [Change], old: Uuid, new: Uuid, from: u64, clocks: &BTreeSet<u64>) -> bool {
    if changes.iter().any(|change| !change.strange.is_empty() || matches!(change.act, Act::Strange(_))) {
        return false;
    }
    let mut renamed = false;
    for change in changes {
        match &mut change.act {
            Act::Edit(edits) => {
                for stamp in edits.iter_mut().flat_map(|edit| &mut edit.replaces) {
                    if stamp.device == old && clocks.contains(&stamp.hlc) {
                        stamp.device = new;
                        renamed = true;
                    }
                }
            }
            Act::Delete(seen) => {
                if let Some(number) = seen.get(&old).copied().filter(|number| *number >= from) {
                    seen.insert(old, from - 1);
                    seen.insert(new, number - from + 1);
                    renamed = true;
                }
            }
            Act::Create(_) | Act::Strange(_) => {}
        }
    }
    renamed
}
