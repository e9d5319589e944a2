//! The log of transactions: appended to, never changed, kept and forwarded byte for byte.

use crate::error::StoreError;
use crate::local::{Place, device, uuid_of};
use airshelf_catalog::change::cbor::Envelope;
use airshelf_catalog::change::{Head, Seen, Stamp};
use rusqlite::{Connection, OptionalExtension};
use sha2::{Digest, Sha256};
use std::collections::HashSet;
use uuid::Uuid;

/// No transaction's changes are bigger than this; a longer length in a body is hostile or damaged.
const MOST_BYTES: usize = 256 << 20;

/// Bytes of the chain hash that are kept; enough to notice a clone, not meant against forgery.
pub(crate) const CHAIN: usize = 8;

/// Compresses a transaction's changes.
pub(crate) fn compress(changes: &[u8]) -> Vec<u8> {
    lz4_flex::compress_prepend_size(changes)
}

/// Reads a body back.
pub(crate) fn decompress(body: &[u8]) -> Result<Vec<u8>, StoreError> {
    let size = body.get(..4).map(|b| u32::from_le_bytes(b.try_into().expect("four bytes")) as usize);
    match size {
        // LZ4 cannot shrink by more than 255 times.
        Some(size) if size <= MOST_BYTES && size / 256 <= body.len() => {
            lz4_flex::decompress_size_prepended(body)
                .map_err(|e| StoreError::damaged(format!("a transaction's changes: {e}")))
        }
        _ => Err(StoreError::damaged("a transaction's changes have an impossible length")),
    }
}

/// The body of a held transaction, decompressed.
pub(crate) fn body(conn: &Connection, txn: i64) -> Result<Vec<u8>, StoreError> {
    let mut find = conn.prepare_cached("SELECT body FROM txn WHERE id = ?1")?;
    let mut rows = find.query([txn])?;
    let row = rows.next()?.ok_or_else(|| StoreError::damaged("a row of no transaction"))?;
    decompress(row.get_ref(0)?.as_blob().map_err(rusqlite::Error::from)?)
}

/// The local integer that the next transaction will get.
pub(crate) fn next_txn(conn: &Connection) -> Result<i64, StoreError> {
    Ok(conn.query_row("SELECT coalesce(max(id), 0) + 1 FROM txn", [], |row| row.get(0))?)
}

/// The transactions whose imported files are wanted.
pub(crate) fn transactions_of(
    conn: &Connection,
    wanted: impl Fn(&[Uuid]) -> bool,
) -> Result<HashSet<i64>, StoreError> {
    let mut read = conn.prepare_cached("SELECT id, head FROM txn")?;
    let mut rows = read.query([])?;
    let mut found = HashSet::new();
    while let Some(row) = rows.next()? {
        let head = Head::unpack(row.get_ref(1)?.as_blob().map_err(rusqlite::Error::from)?)?;
        if wanted(&head.imports) {
            found.insert(row.get(0)?);
        }
    }
    Ok(found)
}

/// How many transactions of a device are held.
pub(crate) fn count_of(conn: &Connection, uuid: Uuid) -> Result<u64, StoreError> {
    let mut find = conn.prepare_cached("SELECT number FROM device WHERE uuid = ?1")?;
    let held: Option<i64> = find.query_row([uuid.as_bytes()], |row| row.get(0)).optional()?;
    Ok(held.unwrap_or(0) as u64)
}

/// How far each device's transactions are held.
pub(crate) fn seen(conn: &Connection) -> Result<Seen, StoreError> {
    let mut read = conn.prepare_cached("SELECT uuid, number FROM device WHERE number > 0")?;
    let mut rows = read.query([])?;
    let mut seen = Seen::new();
    while let Some(row) = rows.next()? {
        seen.insert(uuid_of(row.get_ref(0)?)?, row.get::<_, i64>(1)? as u64);
    }
    Ok(seen)
}

/// The chain hash after one more transaction.
pub(crate) fn link(before: &[u8], envelope: &Envelope<'_>) -> [u8; CHAIN] {
    let hash = Sha256::new()
        .chain_update(before)
        .chain_update(envelope.number.to_le_bytes())
        .chain_update(envelope.stamp.hlc.to_le_bytes())
        .chain_update((envelope.head.len() as u64).to_le_bytes())
        .chain_update(envelope.head)
        .chain_update(envelope.body)
        .finalize();
    hash[..CHAIN].try_into().expect("a hash is longer")
}

/// The chain hash of a device's transaction; empty before the first.
pub(crate) fn chain_at(conn: &Connection, device: i64, number: u64) -> Result<Vec<u8>, StoreError> {
    let mut find = conn.prepare_cached("SELECT chain FROM txn WHERE device = ?1 AND number = ?2")?;
    Ok(find.query_row((device, number as i64), |row| row.get(0)).optional()?.unwrap_or_default())
}

/// Appends a transaction under the local integer `txn`; it must be the next of its device.
pub(crate) fn append(
    conn: &Connection,
    txn: i64,
    envelope: &Envelope<'_>,
    changes: usize,
) -> Result<(), StoreError> {
    let device = device(conn, envelope.stamp.device)?;
    let number = envelope.number as i64;
    let chain = link(&chain_at(conn, device, envelope.number - 1)?, envelope);
    let mut insert = conn.prepare_cached(
        "INSERT INTO txn (id, device, number, clock, changes, chain, head, body) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?;
    let clock = envelope.stamp.hlc as i64;
    insert.execute((txn, device, number, clock, changes as i64, chain, envelope.head, envelope.body))?;
    conn.prepare_cached("UPDATE device SET number = ?2 WHERE id = ?1")?.execute((device, number))?;
    conn.prepare_cached("UPDATE shelf SET clock = max(clock, ?1)")?.execute([clock])?;
    Ok(())
}

/// The latest clock of any stamp seen.
pub(crate) fn clock(conn: &Connection) -> Result<u64, StoreError> {
    Ok(conn.query_row("SELECT clock FROM shelf", [], |row| row.get::<_, i64>(0))? as u64)
}

/// Finds a transaction by device and number.
pub(crate) fn find(conn: &Connection, uuid: Uuid, number: u64) -> Result<Option<Place>, StoreError> {
    let mut find = conn.prepare_cached(
        "SELECT t.id, t.clock FROM txn t JOIN device d ON d.id = t.device WHERE d.uuid = ?1 AND t.number = ?2",
    )?;
    let place = find
        .query_row((uuid.as_bytes(), number as i64), |row| {
            let stamp = Stamp { hlc: row.get::<_, i64>(1)? as u64, device: uuid };
            Ok(Place { txn: row.get(0)?, stamp, number })
        })
        .optional()?;
    Ok(place)
}
