//! SQLite in a browser: the file lives in the origin's private file system, through the VFS that the program registers
//! as the default one before it opens a store. One tab holds the store, so there is no log beside the file.

use crate::error::StoreError;
use rusqlite::{Connection, OpenFlags};
use std::path::Path;

/// Makes a new file to lay the tables in.
pub(crate) fn open_new(file: &Path) -> Result<Connection, StoreError> {
    open(file)
}

/// Closes a new file that has everything in it.
pub(crate) fn close_new(conn: Connection) -> Result<(), StoreError> {
    conn.close().map_err(|(_, error)| error)?;
    Ok(())
}

/// Opens the file to write, making it where it is missing.
pub(crate) fn open(file: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
    let conn = Connection::open_with_flags(file, flags)?;
    conn.pragma_update(None, "journal_mode", "DELETE")?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.pragma_update(None, "cache_size", -65_536)?;
    conn.pragma_update(None, "temp_store", "MEMORY")?;
    conn.set_prepared_statement_cache_capacity(160);
    Ok(conn)
}

/// Opens the file to look at it. A commit that was cut off is undone thereby, which to read only would not do.
pub(crate) fn open_to_read(file: &Path) -> Result<Connection, StoreError> {
    Ok(Connection::open_with_flags(file, OpenFlags::SQLITE_OPEN_READ_WRITE)?)
}
