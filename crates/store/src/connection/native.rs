//! SQLite in an ordinary file: write-ahead log, and a commit that returns only once it is on the disk.

use crate::error::StoreError;
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::path::Path;
use std::time::{Duration, Instant};

/// How long to wait for another program's write; a few big imports queue up for less.
const WAIT: Duration = Duration::from_secs(10);

/// Makes a new file to lay the tables in. It has no log beside it, so that a full disk cannot leave half of it there.
pub(crate) fn open_new(file: &Path) -> Result<Connection, StoreError> {
    let flags =
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(file, flags)?;
    conn.pragma_update(None, "page_size", PAGE_BYTES)?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    Ok(conn)
}

/// Opens a database of other things than rows, making it where it is missing.
#[cfg(test)]
pub(crate) fn open_beside(file: &Path) -> Result<Connection, StoreError> {
    let conn = Connection::open(file)?;
    conn.pragma_update(None, "foreign_keys", true)?;
    Ok(conn)
}

/// Closes a new file that has everything in it, ready for several programs to open it at once.
pub(crate) fn close_new(conn: Connection) -> Result<(), StoreError> {
    // While a file is open elsewhere, its log cannot be changed for another, so this is done before it has its name.
    conn.pragma_update(None, "journal_mode", "WAL")?;
    conn.close().map_err(|(_, error)| error)?;
    Ok(())
}

/// Twice the usual: fewer pages to split in a big import, still little to write for one reading.
const PAGE_BYTES: i64 = 8192;

/// Opens the file to write.
pub(crate) fn open(file: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(file, flags)?;
    conn.busy_timeout(WAIT)?;
    write_ahead_at_last(&conn)?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    // A big import stays in memory until it commits, so that no page reaches the log twice.
    conn.pragma_update(None, "cache_size", -262_144)?;
    conn.pragma_update(None, "temp_store", "MEMORY")?;
    super::plan_once(&conn)?;
    Ok(conn)
}

/// Rows from which an import is worth a journal of its own.
const MANY_ROWS: usize = 10_000;
/// Pages up to which a file is mostly made by such an import.
const FEW_PAGES: i64 = 2_000;

/// Lets a big import into a young file write it once: with a rollback journal, new pages go straight to their place,
/// while a write-ahead log would hold them all a second time. As safe, but nobody else may read meanwhile; where somebody
/// has the file open, it stays as it is. Says whether [`write_ahead`] must follow.
pub(crate) fn write_plainly(conn: &Connection, rows: usize) -> Result<bool, StoreError> {
    let pages: i64 = conn.query_row("PRAGMA page_count", [], |row| row.get(0))?;
    if rows < MANY_ROWS || pages > FEW_PAGES {
        return Ok(false);
    }
    let mode = conn.query_row("PRAGMA journal_mode = TRUNCATE", [], |row| row.get::<_, String>(0));
    Ok(mode.is_ok_and(|mode| mode == "truncate"))
}

/// Goes back to the write-ahead log; what was written is safe already, and the next opening goes back as well.
pub(crate) fn write_ahead(conn: &Connection) {
    let _ = conn.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()));
}

/// Waits for another program's big import, which has the file for itself: SQLite does not wait before it changes a journal.
fn write_ahead_at_last(conn: &Connection) -> Result<(), StoreError> {
    let begun = Instant::now();
    loop {
        match conn.pragma_update(None, "journal_mode", "WAL") {
            Err(e) if e.sqlite_error_code() == Some(ErrorCode::DatabaseBusy) && begun.elapsed() < WAIT => {
                std::thread::sleep(Duration::from_millis(20));
            }
            done => return Ok(done?),
        }
    }
}

fn look(conn: &Connection) -> rusqlite::Result<()> {
    conn.query_row("SELECT count(*) FROM sqlite_master", [], |_| Ok(()))
}

/// Whether a commit was cut off, so that half of it stands in the file and the journal must undo it before anybody reads.
fn is_cut_off(error: &rusqlite::Error) -> bool {
    error.sqlite_error().is_some_and(|e| e.extended_code == rusqlite::ffi::SQLITE_READONLY_ROLLBACK)
}

/// Opens the file to read only, without needing to write a byte beside it, unless a commit that was cut off must be undone.
pub(crate) fn open_to_read(file: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(file, flags)?;
    conn.busy_timeout(WAIT)?;
    match look(&conn) {
        Ok(()) => return Ok(conn),
        Err(error) if error.sqlite_error_code() == Some(ErrorCode::DatabaseBusy) => return Err(error.into()),
        Err(error) if is_cut_off(&error) => {
            let writing = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
            let undoing = Connection::open_with_flags(file, writing)?;
            undoing.busy_timeout(WAIT)?;
            look(&undoing)?;
            return Ok(conn);
        }
        Err(_) => {}
    }
    // In a folder that cannot be written, the shared memory of the write-ahead log cannot be made.
    let path = file.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23");
    let uri = format!("file:{path}?immutable=1");
    Ok(Connection::open_with_flags(uri, flags | OpenFlags::SQLITE_OPEN_URI)?)
}
