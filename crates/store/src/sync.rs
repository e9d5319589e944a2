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
use airshelf_catalog::change::branch::begins_at;
use airshelf_catalog::change::cbor::{Base, Envelope, Malformed, read_changes};
use airshelf_catalog::change::{Head, Stamp};
use rusqlite::Connection;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// A transaction as it travels, or what others go on from; see [`airshelf_catalog::change::cbor`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Encoded(pub Vec<u8>);

impl Encoded {
    /// Parts a CBOR sequence (RFC 8742) into transactions.
    ///
    /// # Errors
    /// [`StoreError::Malformed`].
    pub fn part(sequence: &[u8]) -> Result<Vec<Encoded>, StoreError> {
        let items = airshelf_catalog::change::cbor::items(sequence)?;
        Ok(items.into_iter().map(|item| Encoded(item.to_vec())).collect())
    }

    /// The number of the last of every device's.
    ///
    /// # Errors
    /// [`StoreError::Malformed`].
    pub fn last_of_each(transactions: &[Encoded]) -> Result<BTreeMap<Uuid, u64>, StoreError> {
        let mut last = BTreeMap::new();
        for encoded in transactions {
            if Base::unpack(&encoded.0).is_some() {
                continue;
            }
            let envelope = Envelope::unpack(&encoded.0)?;
            let number = last.entry(envelope.stamp.device).or_insert(0);
            *number = envelope.number.max(*number);
        }
        Ok(last)
    }
}

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
    /// Whether this device's own transactions came from elsewhere: it had been put back to an earlier state, or copied,
    /// and writes under a new identity from now on.
    pub new_identity: bool,
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

    /// Makes sure that the other store is of this shelf. Where this one is empty and the other is not, it joins the
    /// other's; says whether it did.
    ///
    /// # Errors
    /// [`StoreError::OtherShelf`].
    pub fn meet(&mut self, theirs: &VersionVector) -> Result<bool, StoreError> {
        if theirs.shelf == self.shelf_id() || theirs.devices.is_empty() {
            return Ok(false);
        }
        if !self.is_empty()? {
            return Err(StoreError::OtherShelf { ours: self.shelf_id(), theirs: theirs.shelf });
        }
        self.must_write()?;
        self.join(theirs.shelf, theirs.demo)?;
        Ok(true)
    }

    /// Joins another's shelf, empty as both may be.
    ///
    /// # Errors
    /// [`StoreError::OtherShelf`] where this one is not empty.
    pub fn join_empty(&mut self, theirs: &VersionVector) -> Result<(), StoreError> {
        if theirs.shelf == self.shelf_id() {
            return Ok(());
        }
        if !self.is_empty()? {
            return Err(StoreError::OtherShelf { ours: self.shelf_id(), theirs: theirs.shelf });
        }
        self.must_write()?;
        self.join(theirs.shelf, theirs.demo)
    }

    /// Gives transactions that the other store lacks, in the order of their stamps, about `budget_bytes` of them but at
    /// least one, after what they go on from. Of a device of which it holds other ones none are given, until that fork is
    /// settled.
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
                Some(_) => continue,
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
        let mut bases = BTreeMap::new();
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
            if let Some(HeldUntil { number, chain }) = theirs.devices.get(&stamp.device) {
                bases.insert(stamp.device, Base { device: stamp.device, number: *number, chain });
            }
        }
        let bases = bases.values().map(|base| Encoded(base.pack()));
        Ok(bases.chain(out).collect())
    }

    /// Takes transactions in; all of them, or none.
    ///
    /// # Errors
    /// [`StoreError::Gap`] where earlier ones are missing, [`StoreError::Forked`] where this store holds another under the
    /// same number or before it, [`StoreError::Malformed`], and what a write may say.
    pub fn apply(&mut self, transactions: &[Encoded]) -> Result<Applied, StoreError> {
        self.must_write()?;
        let tx = connection::begin(&self.conn)?;
        let mut tables = Tables::open(&tx, &*self.host)?;
        let mut applied = Applied::default();
        let mut next = log::next_txn(&tx)?;
        let mut new_branch = false;
        for encoded in transactions {
            if let Some(base) = Base::unpack(&encoded.0) {
                must_hold(&tx, &base)?;
                continue;
            }
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
                return Err(StoreError::Forked { device, number: envelope.number });
            }
            if device == self.identity.device {
                applied.new_identity = true;
            }
            new_branch |= held == 0 && begins_at(device).is_some();
            let changes = read_changes(&log::decompress(envelope.body).map_err(came_damaged)?)?;
            log::append(&tx, next, &envelope, changes.len())?;
            let at = Place { txn: next, stamp: envelope.stamp, number: envelope.number };
            for change in &changes {
                tables.take(at, change)?;
            }
            tables.imported_apart(&Head::unpack(envelope.head)?.imports)?;
            next += 1;
            applied.new += 1;
        }
        if new_branch {
            tables.bury_again()?;
        }
        let mut told = BTreeSet::new();
        for (id, entity, by) in std::mem::take(&mut tables.revived) {
            let known = local::find(&tx, id)?.ok_or_else(local::differ)?;
            if !told.insert(id) || tables.is_dead(known.id)? {
                continue;
            }
            applied.revived.push(Revived { kind: EntityKind::from_number(entity), id, by });
        }
        for row in std::mem::take(&mut tables.touched) {
            applied.conflicts.append(&mut conflicts_of(&mut tables, row)?);
            let mut count = tx.prepare_cached("SELECT count(*) FROM parked WHERE row = ?1")?;
            applied.parked += count.query_row([row], |row| row.get::<_, i64>(0))? as usize;
        }
        drop(tables);
        tx.commit()?;
        if applied.new_identity {
            self.take_new_identity()?;
        }
        Ok(applied)
    }

    /// Writes under a new identity from now on.
    ///
    /// # Errors
    /// What keeps it from being kept.
    pub fn take_new_identity(&mut self) -> Result<(), StoreError> {
        let new = self.host.new_identity(self.dir());
        self.identity = new.map_err(StoreError::io("keeping a new identity"))?;
        Ok(())
    }
}

/// Bytes that came are damaged, and not this store.
fn came_damaged(error: StoreError) -> StoreError {
    match error {
        StoreError::Damaged { what } => StoreError::Malformed(Malformed::because(what)),
        other => other,
    }
}

fn must_hold(conn: &Connection, base: &Base<'_>) -> Result<(), StoreError> {
    let Base { device, number, chain } = *base;
    if number > log::count_of(conn, device)? {
        return Err(StoreError::Gap { device, number });
    }
    if log::chain_at(conn, local::device(conn, device)?, number)? != chain {
        return Err(StoreError::Forked { device, number });
    }
    Ok(())
}

fn is_the_same(conn: &Connection, envelope: &Envelope<'_>) -> Result<bool, StoreError> {
    let mut read = conn.prepare_cached(
        "SELECT 1 FROM txn t JOIN device d ON d.id = t.device
         WHERE d.uuid = ?1 AND t.number = ?2 AND t.clock = ?3 AND t.head = ?4 AND t.body = ?5",
    )?;
    let (number, clock) = (envelope.number as i64, envelope.stamp.hlc as i64);
    Ok(read.exists((envelope.stamp.device.as_bytes(), number, clock, envelope.head, envelope.body))?)
}
