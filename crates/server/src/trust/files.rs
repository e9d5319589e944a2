//! Files that are whole or not there, readable by their owner only, and changed by one process at a time.

use airshelf_app::{Code, Fault};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;
use std::time::SystemTime;

/// Tells whether a file is still the one that was read.
pub(crate) type Version = (u64, Option<SystemTime>, u64);

pub(crate) fn fault(doing: &str, path: &Path, error: &io::Error) -> Fault {
    let code = if error.kind() == io::ErrorKind::StorageFull { Code::DiskFull } else { Code::UnreadableFile };
    Fault::new(code, format!("{doing} {}: {error}", path.display()))
}

/// Makes a folder that only its owner can look into.
pub(crate) fn private_folder(folder: &Path) -> Result<(), Fault> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder.create(folder).map_err(|e| fault("making", folder, &e))
}

/// Opens a file that only its owner can read, made where it is missing.
pub(crate) fn private(path: &Path, fresh: bool) -> io::Result<File> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(fresh);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path)
}

/// Writes a file whole or not at all: beside it first, onto the disk, then under its name.
pub(crate) fn write(path: &Path, value: &impl Serialize) -> Result<(), Fault> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(".part");
    let beside = Path::new(&beside);
    let written = private(beside, true).and_then(|mut file| {
        serde_json::to_writer_pretty(&mut file, value)?;
        file.write_all(b"\n")?;
        file.sync_all()
    });
    written.and_then(|()| fs::rename(beside, path)).and_then(|()| sync_folder(path)).map_err(|error| {
        let _ = fs::remove_file(beside);
        fault("writing", path, &error)
    })
}

#[cfg(unix)]
fn sync_folder(path: &Path) -> io::Result<()> {
    path.parent().map_or(Ok(()), |folder| File::open(folder)?.sync_all())
}

#[cfg(not(unix))]
fn sync_folder(_path: &Path) -> io::Result<()> {
    Ok(())
}

/// Reads a file, if it is there.
pub(crate) fn read<T: DeserializeOwned>(path: &Path) -> Result<Option<T>, Fault> {
    let text = match fs::read(path) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(fault("reading", path, &error)),
    };
    serde_json::from_slice(&text).map(Some).map_err(|error| {
        Fault::new(Code::UnreadableFile, format!("{} is damaged: {error}", path.display()))
            .hint(without(path))
    })
}

/// What moving a damaged file away costs.
fn without(path: &Path) -> &'static str {
    match path.file_name().and_then(|name| name.to_str()) {
        Some("devices.json") => "Move the file away; devices that were paired have to be paired again.",
        Some("hubs.json") => {
            "Move the file away, and pair again with the hubs that this device was paired with."
        }
        Some("authority.json") => {
            "Move the file away: the hub makes a new authority, and devices have to trust and pair with that."
        }
        Some("certificate.json") => {
            "Move the file away: the hub makes a new certificate by the same authority, and devices notice nothing."
        }
        _ => "Move the file away, and try again.",
    }
}

/// Removes a file, which may be gone already.
pub(crate) fn remove(path: &Path) -> Result<(), Fault> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(fault("removing", path, &error)),
        _ => Ok(()),
    }
}

/// What tells this version of a file from another; every write gives it another inode.
pub(crate) fn version(path: &Path) -> Option<Version> {
    let about = fs::metadata(path).ok()?;
    #[cfg(unix)]
    let inode = std::os::unix::fs::MetadataExt::ino(&about);
    #[cfg(not(unix))]
    let inode = 0;
    Some((about.len(), about.modified().ok(), inode))
}

/// Waits until no other process changes the files of the folder, for as long as the lock is held.
pub(crate) fn lock(folder: &Path) -> Result<File, Fault> {
    let path = folder.join("lock");
    let file = private(&path, false).map_err(|e| fault("opening", &path, &e))?;
    file.lock().map_err(|e| fault("locking", &path, &e))?;
    Ok(file)
}
