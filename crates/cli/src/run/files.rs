//! Files that a person names.

use super::Place;
use airshelf_app::{Code, Fault, FileIn};
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};

/// Refuses to write over anything but an earlier one of the same, or into the shelf's own folder.
pub(super) fn spare(
    path: &Path,
    place: &Place,
    what: &str,
    same: impl Fn(&Path) -> bool,
) -> Result<(), Fault> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let real = path.canonicalize().or_else(|_| folder.canonicalize());
    let inside =
        matches!((real, place.dir.canonicalize()), (Ok(real), Ok(shelf)) if real.starts_with(&shelf));
    let refused = |why: &str| {
        Err(Fault::new(Code::BadArgument, format!("{} {why}; nothing was written", path.display()))
            .hint("Name another file."))
    };
    if inside {
        return refused("is in the shelf's own folder");
    }
    if path.is_file() && !same(path) {
        return refused(&format!("is there already and is no {what}"));
    }
    Ok(())
}

/// The first line of a file, its end included.
pub(super) fn first_line(path: &Path) -> Option<Vec<u8>> {
    let mut line = Vec::new();
    BufReader::new(fs::File::open(path).ok()?).read_until(b'\n', &mut line).ok()?;
    (!line.is_empty()).then_some(line)
}

/// Writes a file whole or not at all: beside it first, onto the disk, then under its name.
pub(super) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    if path.exists() && !path.is_file() {
        // A device such as /dev/stdout takes what it is given.
        return fs::write(path, bytes).map_err(|e| io_fault(path, &e));
    }
    let mut beside = path.as_os_str().to_owned();
    beside.push(".part");
    let beside = PathBuf::from(beside);
    let written = fs::File::create(&beside).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    written.and_then(|()| fs::rename(&beside, path)).map_err(|error| {
        let _ = fs::remove_file(&beside);
        io_fault(path, &error)
    })
}

/// A name in the folder that is free, or has the same bytes already; nothing of a person's own is written over.
pub(super) fn free_name(folder: &Path, name: &str, bytes: &[u8]) -> PathBuf {
    let (stem, extension) =
        name.rsplit_once('.').map_or((name, String::new()), |(s, e)| (s, format!(".{e}")));
    let mut path = folder.join(name);
    let mut number = 2;
    while path.exists() && fs::read(&path).is_ok_and(|held| held != bytes) {
        path = folder.join(format!("{stem} {number}{extension}"));
        number += 1;
    }
    path
}

/// The files of a path: itself, or everything in the folder.
pub(super) fn collect(path: &Path, files: &mut Vec<FileIn>) -> Result<(), Fault> {
    if path.is_dir() {
        let mut inside: Vec<PathBuf> = fs::read_dir(path)
            .map_err(|e| io_fault(path, &e))?
            .filter_map(|entry| entry.ok().map(|entry| entry.path()))
            .filter(|path| path.is_file())
            .collect();
        inside.sort();
        for path in inside {
            collect(&path, files)?;
        }
        return Ok(());
    }
    let bytes = fs::read(path).map_err(|e| io_fault(path, &e))?;
    files.push(FileIn { path: path.display().to_string(), bytes });
    Ok(())
}

pub(super) fn io_fault(path: &Path, error: &std::io::Error) -> Fault {
    use std::io::ErrorKind;
    let code = if error.kind() == ErrorKind::StorageFull { Code::DiskFull } else { Code::UnreadableFile };
    let fault = Fault::new(code, format!("{}: {error}", path.display()));
    match error.kind() {
        ErrorKind::IsADirectory => fault.hint(format!("Name the files in it: {}/*.csv", path.display())),
        ErrorKind::PermissionDenied => fault.hint("Give yourself the right to it, or name another place."),
        _ => fault,
    }
}
