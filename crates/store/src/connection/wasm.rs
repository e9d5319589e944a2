//! SQLite in a browser: the file lives in the origin's private file system, through the VFS that the program registers
//! as the default one before it opens a store. One tab holds the store, so there is no log beside the file.

use crate::error::StoreError;
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::path::Path;

const WRITE: OpenFlags = OpenFlags::SQLITE_OPEN_READ_WRITE;

/// Opens the file to write, making it where it is missing.
pub(crate) fn open(file: &Path) -> Result<Connection, StoreError> {
    let conn = Connection::open_with_flags(file, WRITE | OpenFlags::SQLITE_OPEN_CREATE)?;
    // Nobody else is there: what was read once is not looked for again at each question.
    conn.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
    conn.pragma_update(None, "journal_mode", "DELETE")?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.pragma_update(None, "cache_size", -65_536)?;
    conn.pragma_update(None, "temp_store", "MEMORY")?;
    super::plan_once(&conn)?;
    Ok(conn)
}

/// Opens a database of other things than rows, making it where it is missing.
pub(crate) fn open_beside(file: &Path) -> Result<Connection, StoreError> {
    let conn = Connection::open_with_flags(file, WRITE | OpenFlags::SQLITE_OPEN_CREATE)?;
    conn.pragma_update(None, "journal_mode", "DELETE")?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.pragma_update(None, "temp_store", "MEMORY")?;
    conn.pragma_update(None, "foreign_keys", true)?;
    Ok(conn)
}

/// Opens the file if it is there and anything was ever written to it.
pub(crate) fn open_existing(file: &Path) -> Result<Option<Connection>, StoreError> {
    let conn = match Connection::open_with_flags(file, WRITE) {
        Ok(conn) => conn,
        Err(error) if error.sqlite_error_code() == Some(ErrorCode::CannotOpen) => return Ok(None),
        Err(error) => return Err(error.into()),
    };
    let pages: i64 = conn.query_row("PRAGMA page_count", [], |row| row.get(0))?;
    Ok((pages > 0).then_some(conn))
}

/// Opens the file to look at it. A commit that was cut off is undone thereby, which to read only would not do.
pub(crate) fn open_to_read(file: &Path) -> Result<Connection, StoreError> {
    Ok(Connection::open_with_flags(file, WRITE)?)
}
