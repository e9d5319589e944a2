//! Local integers: tables join on them, changes never carry them.

use crate::error::StoreError;
use airshelf_catalog::change::Stamp;
use rusqlite::{CachedStatement, Connection, OptionalExtension};
use rustc_hash::FxHashMap;
use std::cell::{Cell, RefCell};
use std::collections::{BTreeSet, HashSet};
use uuid::Uuid;

/// A row as the `row` table knows it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Known {
    pub id: i64,
    pub entity: u8,
    pub born: Option<i64>,
}

/// Finds a row by its identifier.
pub(crate) fn find(conn: &Connection, uuid: Uuid) -> Result<Option<Known>, StoreError> {
    let mut find = conn.prepare_cached(
        "SELECT r.id, r.entity, r.born FROM row_of o JOIN row r ON r.id = o.row WHERE o.uuid = ?1",
    )?;
    let known = find
        .query_row([uuid.as_bytes()], |row| {
            Ok(Known { id: row.get(0)?, entity: row.get(1)?, born: row.get(2)? })
        })
        .optional()?;
    Ok(known)
}

/// What the `row` table knows of a local integer.
pub(crate) fn known(conn: &Connection, id: i64) -> Result<Option<Known>, StoreError> {
    let mut find = conn.prepare_cached("SELECT entity, born FROM row WHERE id = ?1")?;
    Ok(find.query_row([id], |row| Ok(Known { id, entity: row.get(0)?, born: row.get(1)? })).optional()?)
}

/// Rows that were there before one of these transactions changed them.
pub(crate) fn touched_by(conn: &Connection, txns: &HashSet<i64>) -> Result<BTreeSet<i64>, StoreError> {
    let mut found = BTreeSet::new();
    let mut read = conn.prepare_cached("SELECT row, txn FROM touch")?;
    let mut rows = read.query([])?;
    while let Some(row) = rows.next()? {
        if txns.contains(&row.get(1)?) {
            found.insert(row.get(0)?);
        }
    }
    Ok(found)
}

/// Transactions that changed one of these rows after it was there.
pub(crate) fn transactions_touching(
    conn: &Connection,
    rows: &HashSet<i64>,
) -> Result<HashSet<i64>, StoreError> {
    let mut found = HashSet::new();
    let mut read = conn.prepare_cached("SELECT txn FROM touch WHERE row = ?1")?;
    for row in rows {
        for txn in read.query_map([row], |row| row.get(0))? {
            found.insert(txn?);
        }
    }
    Ok(found)
}

/// Makes a row's line; none where there is one of that UUID.
pub(crate) fn make(
    conn: &Connection,
    uuid: Uuid,
    entity: u8,
    born: Option<i64>,
) -> Result<Option<i64>, StoreError> {
    // SQLite gives the next line the same integer.
    let mut name = conn.prepare_cached(
        "INSERT OR IGNORE INTO row_of (uuid, row) VALUES (?1, (SELECT coalesce(max(id), 0) + 1 FROM row))",
    )?;
    if name.execute([uuid.as_bytes()])? == 0 {
        return Ok(None);
    }
    let mut line = conn.prepare_cached("INSERT INTO row (uuid, entity, born) VALUES (?1, ?2, ?3)")?;
    line.execute((uuid.as_bytes(), entity, born))?;
    Ok(Some(conn.last_insert_rowid()))
}

/// Gives the local integer of a row, making a line for one that nothing held has created yet.
pub(crate) fn find_or_make(conn: &Connection, uuid: Uuid, entity: u8) -> Result<i64, StoreError> {
    if let Some(id) = make(conn, uuid, entity, None)? {
        return Ok(id);
    }
    find(conn, uuid)?.map(|known| known.id).ok_or_else(differ)
}

/// The tables `row` and `row_of` say different things.
pub(crate) fn differ() -> StoreError {
    StoreError::damaged("a row and its index differ")
}

/// The local integer of a device.
pub(crate) fn device(conn: &Connection, uuid: Uuid) -> Result<i64, StoreError> {
    let mut find = conn.prepare_cached("SELECT id FROM device WHERE uuid = ?1")?;
    if let Some(id) = find.query_row([uuid.as_bytes()], |row| row.get(0)).optional()? {
        return Ok(id);
    }
    conn.execute("INSERT INTO device (uuid, number) VALUES (?1, 0)", [uuid.as_bytes()])?;
    Ok(conn.last_insert_rowid())
}

/// Identifiers by local integer: looked up one by one, or all read at once before a big read.
pub(crate) struct Uuids<'c> {
    conn: &'c Connection,
    whole: RefCell<Vec<Uuid>>,
    single: RefCell<FxHashMap<i64, Uuid>>,
    /// Looked up in the cache once, not for every row.
    find: RefCell<Option<CachedStatement<'c>>>,
    is_whole: Cell<bool>,
}

impl<'c> Uuids<'c> {
    pub(crate) fn one_by_one(conn: &'c Connection) -> Self {
        Uuids {
            conn,
            whole: RefCell::default(),
            single: RefCell::default(),
            find: RefCell::default(),
            is_whole: Cell::new(false),
        }
    }

    /// Reads them all, when many rows are about to be read.
    pub(crate) fn read_all(&self) -> Result<(), StoreError> {
        if self.is_whole.get() {
            return Ok(());
        }
        let most: Option<i64> = self.conn.query_row("SELECT max(id) FROM row", [], |row| row.get(0))?;
        let most = usize::try_from(most.unwrap_or(0)).map_err(|_| StoreError::damaged("a negative row"))?;
        let mut whole = vec![Uuid::nil(); most + 1];
        let mut read = self.conn.prepare_cached("SELECT id, uuid FROM row")?;
        let mut rows = read.query([])?;
        while let Some(row) = rows.next()? {
            let at: i64 = row.get(0)?;
            whole[at as usize] = uuid_of(row.get_ref(1)?)?;
        }
        drop(rows);
        *self.whole.borrow_mut() = whole;
        self.is_whole.set(true);
        Ok(())
    }

    pub(crate) fn of(&self, id: i64) -> Result<Uuid, StoreError> {
        if self.is_whole.get() {
            let whole = self.whole.borrow();
            let found = usize::try_from(id).ok().and_then(|at| whole.get(at)).copied();
            return found.ok_or_else(|| StoreError::damaged("a link to no row"));
        }
        if let Some(uuid) = self.single.borrow().get(&id) {
            return Ok(*uuid);
        }
        let mut kept = self.find.borrow_mut();
        let find = match &mut *kept {
            Some(find) => find,
            none => none.insert(self.conn.prepare_cached("SELECT uuid FROM row WHERE id = ?1")?),
        };
        let mut rows = find.query([id])?;
        let row = rows.next()?.ok_or_else(|| StoreError::damaged("a link to no row"))?;
        let uuid = uuid_of(row.get_ref(0)?)?;
        self.single.borrow_mut().insert(id, uuid);
        Ok(uuid)
    }
}

/// Reads an identifier out of a column.
pub(crate) fn uuid_of(value: rusqlite::types::ValueRef<'_>) -> Result<Uuid, StoreError> {
    let bytes = value.as_blob().map_err(|_| StoreError::damaged("an identifier that is no blob"))?;
    Uuid::from_slice(bytes).map_err(|_| StoreError::damaged("an identifier of another length"))
}

/// The stamp and number of a transaction by its local integer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Place {
    pub txn: i64,
    pub stamp: Stamp,
    pub number: u64,
}

/// Finds where a transaction stands in the order.
pub(crate) fn place(conn: &Connection, txn: i64) -> Result<Place, StoreError> {
    let mut find = conn.prepare_cached(
        "SELECT d.uuid, t.number, t.clock FROM txn t JOIN device d ON d.id = t.device WHERE t.id = ?1",
    )?;
    let mut rows = find.query([txn])?;
    let row = rows.next()?.ok_or_else(|| StoreError::damaged("a row of no transaction"))?;
    let stamp = Stamp { device: uuid_of(row.get_ref(0)?)?, hlc: row.get::<_, i64>(2)? as u64 };
    Ok(Place { txn, stamp, number: row.get::<_, i64>(1)? as u64 })
}
