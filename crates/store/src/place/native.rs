//! A shelf in a folder of a disk, where several programs may come at once and power may go.

use crate::connection;
use crate::error::StoreError;
use crate::host::Host;
use crate::naming;
use crate::shelf::FILE;
use rusqlite::Connection;
use std::fs::{self, File};
use std::io::ErrorKind;
use std::path::Path;

/// Makes a shelf's database in a folder, which may exist.
pub(crate) fn make(
    dir: &Path,
    host: &dyn Host,
    lay: impl FnOnce(&Connection) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let file = dir.join(FILE);
    if file.exists() {
        return Err(StoreError::AlreadyShelf { dir: dir.to_owned() });
    }
    naming::make_folder(dir).map_err(StoreError::io(format!("making the folder {}", dir.display())))?;
    // Until the tables are whole, the file has another name, so that a shelf is never half made.
    let beside = naming::beside(&file, host);
    let laid = connection::open_new(&beside).and_then(|conn| {
        connection::make(&conn, lay)?;
        connection::close_new(conn)
    });
    name_shelf(laid, &beside, dir)
}

/// Copies a database into a folder that holds no shelf.
pub(crate) fn copy_into(copy: &Connection, dir: &Path, host: &dyn Host) -> Result<(), StoreError> {
    let beside = naming::beside(&dir.join(FILE), host);
    let made = copy
        .execute("VACUUM INTO ?1", [beside.to_string_lossy()])
        .map_err(StoreError::from)
        .and_then(|_| connection::open(&beside).and_then(connection::close_new));
    name_shelf(made, &beside, dir)
}

/// Makes sure that there is a file which may be read; SQLite does not say why one cannot be opened.
///
/// Nobody but SQLite opens the file: closing any handle of it drops the locks that this process holds on it (POSIX), and
/// another program would take a shelf in use for one that nobody has open.
pub(crate) fn look(dir: &Path, file: &Path) -> Result<(), StoreError> {
    match fs::metadata(file) {
        Ok(about) if about.is_dir() => return Err(StoreError::NotAShelf { file: file.to_owned() }),
        Ok(_) => {}
        Err(e) if e.kind() == ErrorKind::NotFound => {
            return Err(StoreError::NoShelf { dir: dir.to_owned() });
        }
        Err(e) if e.kind() != ErrorKind::PermissionDenied => {
            return Err(StoreError::io(format!("opening {}", file.display()))(e));
        }
        Err(_) => return Err(StoreError::MayNotRead { file: file.to_owned() }),
    }
    if may(file, false) { Ok(()) } else { Err(StoreError::MayNotRead { file: file.to_owned() }) }
}

/// Whether this program may read a file, or write it.
fn may(file: &Path, write: bool) -> bool {
    #[cfg(unix)]
    {
        use rustix::fs::{Access, AtFlags, CWD, accessat};
        let how = if write { Access::WRITE_OK } else { Access::READ_OK };
        accessat(CWD, file, how, AtFlags::EACCESS).is_ok()
    }
    // Elsewhere locks belong to the handle.
    #[cfg(not(unix))]
    fs::OpenOptions::new().read(!write).write(write).open(file).is_ok()
}

/// Clears away databases under way. The name is taken, so they come too late, whether their program lives or not.
pub(crate) fn clear(file: &Path) {
    naming::clear_abandoned(file, None);
}

/// Names the database that was made in a folder unless there is a shelf by now; leaves nothing else of it behind.
pub(crate) fn name_shelf(made: Result<(), StoreError>, beside: &Path, dir: &Path) -> Result<(), StoreError> {
    let file = dir.join(FILE);
    let named = made.and_then(|()| {
        let what = format!("naming {}", file.display());
        naming::name_unless_taken(beside, &file).map_err(StoreError::io(what))
    });
    if !matches!(named, Ok(true)) {
        for ending in ["", "-journal", "-wal", "-shm"] {
            let mut left = beside.as_os_str().to_owned();
            left.push(ending);
            let _ = fs::remove_file(left);
        }
        // Whoever was first clears away what comes too late, so that any fault may come of that.
        if file.exists() {
            return Err(StoreError::AlreadyShelf { dir: dir.to_owned() });
        }
    }
    named.map(drop)
}

/// Whether the file and the folder around it can be written; the write-ahead log stands beside the file.
pub(crate) fn can_write(dir: &Path, file: &Path) -> bool {
    if !may(file, true) {
        return false;
    }
    let probe = dir.join("airshelf.db-probe");
    // A full disk is said where it keeps something from being written.
    let made = File::create(&probe).map_or_else(|e| e.kind() == ErrorKind::StorageFull, |_| true);
    let _ = fs::remove_file(probe);
    made
}
