//! A shelf in a browser's private file system, which one tab holds at a time.

use crate::connection;
use crate::error::StoreError;
use crate::host::Host;
use crate::shelf::FILE;
use rusqlite::Connection;
use std::path::Path;

/// Makes a shelf's database, all or nothing.
pub(crate) fn make(
    dir: &Path,
    _host: &dyn Host,
    lay: impl FnOnce(&Connection) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let file = dir.join(FILE);
    if connection::open_existing(&file)?.is_some() {
        return Err(StoreError::AlreadyShelf { dir: dir.to_owned() });
    }
    let conn = connection::open(&file)?;
    connection::make(&conn, lay)
}

/// Copies a database into a place that holds no shelf.
pub(crate) fn copy_into(copy: &Connection, dir: &Path, _host: &dyn Host) -> Result<(), StoreError> {
    copy.execute("VACUUM INTO ?1", [dir.join(FILE).to_string_lossy()])?;
    Ok(())
}

/// Makes sure that there is a file with something in it.
pub(crate) fn look(dir: &Path, file: &Path) -> Result<(), StoreError> {
    match connection::open_existing(file)? {
        Some(_) => Ok(()),
        None => Err(StoreError::NoShelf { dir: dir.to_owned() }),
    }
}

/// Nothing is ever under way beside the file.
pub(crate) fn clear(_file: &Path) {}

/// Who holds the store may write to it.
pub(crate) fn can_write(_dir: &Path, _file: &Path) -> bool {
    true
}
