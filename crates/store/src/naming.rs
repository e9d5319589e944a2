//! Files that take their name only once they are whole, whoever else is writing the same one at the time.

use crate::host::Host;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, UNIX_EPOCH};

/// What stands between a file's name and the random end of a name that it has until it is whole.
const UNDER_WAY: &str = ".new-";

/// A file under way that nobody wrote to for this long is of a program that died.
const ABANDONED: Duration = Duration::from_secs(24 * 3600);

/// A name beside `file` that no other process and no other attempt uses.
pub(crate) fn beside(file: &Path, host: &dyn Host) -> PathBuf {
    let mut random = [0; 8];
    host.random(&mut random);
    let mut name = file.file_name().unwrap_or_default().to_owned();
    name.push(format!("{UNDER_WAY}{:016x}", u64::from_le_bytes(random)));
    file.with_file_name(name)
}

/// Gives a whole file its name unless one has it already; says whether it did. The file's other name is gone then.
///
/// # Errors
/// What the file system says.
pub(crate) fn name_unless_taken(whole: &Path, file: &Path) -> io::Result<bool> {
    match fs::hard_link(whole, file) {
        Ok(()) => {}
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists => return Ok(false),
        Err(e) if e.kind() == io::ErrorKind::NotFound || e.kind() == io::ErrorKind::StorageFull => {
            return Err(e);
        }
        // Memory cards and some phones have no links; there the look before the rename has to do.
        Err(_) if file.try_exists()? => return Ok(false),
        Err(_) => {
            fs::rename(whole, file)?;
            sync_folder_of(file)?;
            return Ok(true);
        }
    }
    let _ = fs::remove_file(whole);
    sync_folder_of(file)?;
    Ok(true)
}

/// Makes a name given in the file's folder outlast a power cut.
#[cfg(unix)]
pub(crate) fn sync_folder_of(file: &Path) -> io::Result<()> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
    fs::File::open(folder.unwrap_or(Path::new(".")))?.sync_all()
}

/// Elsewhere a folder cannot be opened to be synced; the name is as durable as the file system makes it.
#[cfg(not(unix))]
pub(crate) fn sync_folder_of(_file: &Path) -> io::Result<()> {
    Ok(())
}

/// Makes a folder, and those that it lies in, so that they outlast a power cut with what will lie in them.
pub(crate) fn make_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    if let Some(around) = folder.parent().filter(|around| !around.as_os_str().is_empty()) {
        make_folder(around)?;
    }
    match fs::create_dir(folder) {
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists && folder.is_dir() => Ok(()),
        made => made.and_then(|()| sync_folder_of(folder)),
    }
}

/// Removes what programs that died left under way for `file`; with a time, only what is older than a day by then.
pub(crate) fn clear_abandoned(file: &Path, now_ms: Option<u64>) {
    let Some(name) = file.file_name().and_then(|name| name.to_str()) else { return };
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
    let start = format!("{name}{UNDER_WAY}");
    let Ok(entries) = fs::read_dir(folder.unwrap_or(Path::new("."))) else { return };
    for entry in entries.flatten() {
        let is_ours = entry.file_name().to_str().is_some_and(|name| name.starts_with(&start));
        let is_old = |now_ms: u64| {
            let changed = entry.metadata().and_then(|about| about.modified()).ok();
            let since = changed.and_then(|at| at.duration_since(UNIX_EPOCH).ok());
            since.is_some_and(|since| since + ABANDONED < Duration::from_millis(now_ms))
        };
        if is_ours && now_ms.is_none_or(is_old) {
            let _ = fs::remove_file(entry.path());
        }
    }
}
