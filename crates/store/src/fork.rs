//! Two copies of one device wrote apart under the same numbers: a folder was copied, or put back to an earlier state.
//!
//! The branch whose first differing transaction is earlier keeps the device's name; the other gets a name derived from
//! that transaction. Every store that holds the other branch, its writer's or not, comes to the same name for it, so
//! that they all agree without asking whose the device was.

use crate::connection;
use crate::error::StoreError;
use crate::local;
use crate::log;
use crate::shelf::Store;
use crate::sync::VersionVector;
use crate::tables::Tables;
use airshelf_catalog::change::cbor::{Envelope, put_change, read_changes};
use airshelf_catalog::change::{Act, Change, Stamp};
use airshelf_catalog::ids::Derived;
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
        let Some(ours) = ours.get(&from).filter(|ours| *ours > theirs) else { return Ok(None) };
        if device == self.identity.device {
            self.take_new_identity()?;
        }
        let tx = connection::begin(&self.conn)?;
        let mut new =
            Derived::new("fork of").id(Some(device)).bytes(&from.to_le_bytes()).bytes(&ours.chain).finish();
        // The same branch may have come back under its new name already; said twice under two names, it adds nothing.
        while log::count_of(&tx, new)? > 0 {
            new = Derived::new("fork of").id(Some(new)).finish();
        }
        let (renamed, rows) = rename_from(&tx, device, new, from)?;
        let mut tables = Tables::open(&tx, &*self.host)?;
        for row in &rows {
            tables.add_up(*row)?;
        }
        tables.bury_again()?;
        drop(tables);
        tx.commit()?;
        Ok(Some(renamed))
    }
}

/// Moves a device's transactions from a number on to another device, with the stamps that they name. Gives their count
/// and the rows to be added up again.
fn rename_from(
    conn: &Connection,
    old: Uuid,
    new: Uuid,
    from: u64,
) -> Result<(usize, BTreeSet<i64>), StoreError> {
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
