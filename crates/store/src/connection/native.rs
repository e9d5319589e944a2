//! SQLite in an ordinary file: write-ahead log, and a commit that returns only once it is on the disk.

use crate::error::StoreError;
use rusqlite::{Connection, OpenFlags};
use std::path::Path;
use std::time::Duration;

/// Opens the file to write, making it where it is missing.
pub(crate) fn open(file: &Path) -> Result<Connection, StoreError> {
    let flags =
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(file, flags)?;
    conn.busy_timeout(Duration::from_secs(5))?;
    // Twice the usual: fewer pages to split in a big import, still little to write for one reading.
    conn.pragma_update(None, "page_size", 8192)?;
    conn.pragma_update(None, "journal_mode", "WAL")?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    // A big import stays in memory until it commits, so that no page reaches the log twice.
    conn.pragma_update(None, "cache_size", -262_144)?;
    conn.pragma_update(None, "temp_store", "MEMORY")?;
    conn.set_prepared_statement_cache_capacity(160);
    Ok(conn)
}

/// Opens the file to read only, without needing to write a byte beside it.
pub(crate) fn open_to_read(file: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(file, flags)?;
    conn.busy_timeout(Duration::from_secs(5))?;
    if conn.query_row("SELECT count(*) FROM sqlite_master", [], |_| Ok(())).is_ok() {
        return Ok(conn);
    }
    // In a folder that cannot be written, the shared memory of the write-ahead log cannot be made.
    let path = file.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23");
    let uri = format!("file:{path}?immutable=1");
    Ok(Connection::open_with_flags(uri, flags | OpenFlags::SQLITE_OPEN_URI)?)
}
