//! What was done, by whom and when: the log as people read it.

use crate::error::StoreError;
use crate::local::{place, uuid_of};
use crate::log;
use crate::shelf::Store;
use airshelf_catalog::change::{Head, Stamp};
use uuid::Uuid;

/// Names a transaction on every device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub struct TransactionId {
    /// The device that wrote it.
    pub device: Uuid,
    /// Its number among that device's.
    pub number: u64,
}

/// One transaction of the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Which.
    pub id: TransactionId,
    /// Its place in the order.
    pub stamp: Stamp,
    /// Who, when, with what and why.
    pub head: Head,
    /// How many rows it changed.
    pub changes: usize,
}

impl Store {
    /// Lists the latest transactions, latest first.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn history(&self, limit: usize) -> Result<Vec<Entry>, StoreError> {
        let mut read = self.conn.prepare_cached(
            "SELECT d.uuid, t.number, t.clock, t.changes, t.head FROM txn t JOIN device d ON d.id = t.device
             ORDER BY t.clock DESC, d.uuid DESC LIMIT ?1",
        )?;
        let mut rows = read.query([i64::try_from(limit).unwrap_or(i64::MAX)])?;
        let mut entries = Vec::new();
        while let Some(row) = rows.next()? {
            let device = uuid_of(row.get_ref(0)?)?;
            entries.push(Entry {
                id: TransactionId { device, number: row.get::<_, i64>(1)? as u64 },
                stamp: Stamp { hlc: row.get::<_, i64>(2)? as u64, device },
                head: Head::unpack(row.get_ref(4)?.as_blob().map_err(rusqlite::Error::from)?)?,
                changes: row.get::<_, i64>(3)? as usize,
            });
        }
        Ok(entries)
    }

    /// Finds one transaction.
    ///
    /// # Errors
    /// [`StoreError::NoSuchTransaction`], a damaged or busy file.
    pub fn transaction(&self, id: TransactionId) -> Result<Entry, StoreError> {
        let missing = StoreError::NoSuchTransaction { device: id.device, number: id.number };
        let found = log::find(&self.conn, id.device, id.number)?.ok_or(missing)?;
        let stamp = place(&self.conn, found.txn)?.stamp;
        let (head, changes): (Vec<u8>, i64) = self
            .conn
            .prepare_cached("SELECT head, changes FROM txn WHERE id = ?1")?
            .query_row([found.txn], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(Entry { id, stamp, head: Head::unpack(&head)?, changes: changes as usize })
    }
}
