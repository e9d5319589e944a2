//! Turns each command into a call of the app, and prints the answer.

mod files;
mod rows;

use self::files::{collect, first_line, free_name, io_fault, spare, write_whole};
use self::rows::{edit, quarantine, run_entry};
use crate::arguments::{Cli, Command, Compare, Conflicts, Exported, Import, Photo};
use crate::hub;
use crate::output::Output;
use crate::show;
use crate::sync;
use airshelf_app::native::Native;
use airshelf_app::{
    Code, CompareAsked, EntityKind, Fault, FileIn, FileReport, Host, ImportAsked, Mapping, Shelf,
};
use serde_json::json;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The audit found a blocking fault.
const BLOCKED: u8 = 3;
/// Something could not be done.
const FAULTY: u8 = 1;

/// Where the shelf stands, and the machine it stands on.
pub(crate) struct Place {
    pub(crate) dir: PathBuf,
    /// What this machine keeps beside its shelves.
    pub(crate) config: PathBuf,
    pub(crate) host: Arc<dyn Host>,
}

impl Place {
    fn of(cli: &Cli) -> Result<Place, Fault> {
        let folders = directories::ProjectDirs::from("", "", "airshelf");
        let no_home = || {
            Fault::new(Code::NoShelf, "this system names no data folder")
                .hint("Say where the shelf is with --shelf DIR.")
        };
        let dir = match &cli.shelf {
            Some(dir) => dir.clone(),
            None => folders.as_ref().ok_or_else(no_home)?.data_dir().join("shelf"),
        };
        let config = match &folders {
            Some(folders) => folders.config_dir().to_owned(),
            None => std::env::temp_dir().join("airshelf"),
        };
        Ok(Place { dir, host: Arc::new(Native::new(config.clone())), config })
    }

    pub(crate) fn open(&self, out: &mut Output) -> Result<Shelf, Fault> {
        let shelf = Shelf::open(&self.dir, self.host.clone())?;
        out.prefer(shelf.system());
        if let Some(why) = shelf.read_only() {
            out.talk(&format!("This shelf can only be read: {why}."));
        }
        Ok(shelf)
    }
}

/// Runs a command that is no calculation.
pub(crate) fn run(cli: &Cli, out: &mut Output) -> Result<u8, Fault> {
    match &cli.command {
        Command::Calc => unreachable!("clap demands a calculator"),
        Command::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(*shell, &mut crate::arguments::command(), "airshelf", &mut text);
            out.bytes(&text);
            return Ok(0);
        }
        Command::Man => return man(out),
        _ => {}
    }
    let place = Place::of(cli)?;
    match &cli.command {
        Command::New => new(&place, out),
        Command::Demo => demo(&place, out),
        Command::Import(asked) => import(&place, asked, out),
        Command::Audit { session } => {
            let shelf = place.open(out)?;
            audit(&shelf, session.as_deref(), out)
        }
        Command::Compare(asked) => {
            let shelf = place.open(out)?;
            compare(&shelf, asked, out)
        }
        Command::Explain { run } => {
            let explained = place.open(out)?.explain(run, out.system)?;
            out.answer(&explained, |out| show::explanation(&explained, out));
            Ok(0)
        }
        Command::Export { what, out: file } => {
            let shelf = place.open(out)?;
            export(&shelf, &place, *what, file.as_deref(), out)
        }
        Command::Find { text } => {
            let found = place.open(out)?.find(&text.join(" "), 50)?;
            out.answer(&found, |out| show::found(&found, out));
            Ok(0)
        }
        Command::Photo(photo) => photos(&place, photo, out),
        Command::Part(entry) => edit(&place, EntityKind::Part, entry, out),
        Command::Revision(entry) => edit(&place, EntityKind::Revision, entry, out),
        Command::Assembly(entry) => edit(&place, EntityKind::Assembly, entry, out),
        Command::Session(entry) => edit(&place, EntityKind::Session, entry, out),
        Command::Bench(entry) => edit(&place, EntityKind::Bench, entry, out),
        Command::Range(entry) => edit(&place, EntityKind::BenchRange, entry, out),
        Command::Engine(entry) => edit(&place, EntityKind::Engine, entry, out),
        Command::Vehicle(entry) => edit(&place, EntityKind::Vehicle, entry, out),
        Command::Person(entry) => edit(&place, EntityKind::Person, entry, out),
        Command::Service(entry) => edit(&place, EntityKind::ServiceEvent, entry, out),
        Command::Decision(entry) => edit(&place, EntityKind::Decision, entry, out),
        Command::Quarantine(asked) => quarantine(&place, asked, out),
        Command::Run(entry) => run_entry(&place, entry, out),
        Command::Undo { number } => undo(&place, *number, out),
        Command::Conflicts(asked) => conflicts(&place, asked, out),
        Command::Check => {
            let shelf = place.open(out)?;
            check(&shelf, out)
        }
        Command::Backup { file } => {
            let shelf = place.open(out)?;
            spare(file, &place, "backup of this shelf", |held| shelf.has_backup_in(held))?;
            let waiting = out.waiting("writing the backup");
            let made = shelf.backup(file)?;
            drop(waiting);
            out.answer(&made, |out| show::backed_up(file, &made, out));
            Ok(0)
        }
        Command::Restore { file } => {
            let waiting = out.waiting("restoring");
            let shelf = Shelf::restore(file, &place.dir, place.host.clone())?;
            drop(waiting);
            check(&shelf, out)
        }
        Command::Serve(asked) => hub::serve(&place, asked, out),
        Command::Pair => hub::pair(&place, out),
        Command::Devices(asked) => hub::devices(&place, asked, out),
        Command::Sync(asked) => sync::sync(&place, asked, out),
        Command::Calc | Command::Completions { .. } | Command::Man => Ok(0),
    }
}

fn man(out: &mut Output) -> Result<u8, Fault> {
    let mut page = Vec::new();
    clap_mangen::Man::new(crate::arguments::command())
        .render(&mut page)
        .map_err(|e| Fault::new(Code::Stopped, e.to_string()))?;
    out.bytes(&page);
    Ok(0)
}

fn new(place: &Place, out: &mut Output) -> Result<u8, Fault> {
    let shelf = Shelf::create(&place.dir, place.host.clone())?;
    let shelf_dir = place.dir.display().to_string();
    out.answer(&json!({ "shelf": shelf_dir, "id": shelf.store().shelf_id() }), |out| {
        out.wrapped("", &format!("An empty shelf is in {shelf_dir}."));
        out.wrapped("", "Bring old sheets in with `airshelf import FILE…`, or add a part: `airshelf part add kind=filter tag=PF-1`.");
    });
    Ok(0)
}

fn demo(place: &Place, out: &mut Output) -> Result<u8, Fault> {
    let progress = std::cell::RefCell::new(out.progress("making the demo shelf"));
    let made = Shelf::make_demo(&place.dir, place.host.clone(), &mut |_, done, total| {
        progress.borrow_mut().at(done, total);
        true
    })?;
    let notebook = place.dir.join("old-records");
    let write = |path: &Path, bytes: &[u8]| fs::write(path, bytes).map_err(|e| io_fault(path, &e));
    fs::create_dir_all(&notebook).map_err(|e| io_fault(&notebook, &e))?;
    let mut files = Vec::new();
    for (name, bytes) in &made.old_records {
        let path = notebook.join(name);
        write(&path, bytes)?;
        files.push(path.display().to_string());
    }
    let shelf_dir = place.dir.display().to_string();
    out.answer(&json!({ "shelf": shelf_dir, "rows": made.rows, "old_records": files }), |out| {
        out.wrapped(
            "",
            &format!("The demo shelf of the Quarry Loop Shed is in {shelf_dir} ({} rows).", made.rows),
        );
        out.line("Its old notebook waits to be imported:");
        for file in &files {
            out.line(&format!("  {file}"));
        }
    });
    Ok(0)
}

fn import(place: &Place, asked: &Import, out: &mut Output) -> Result<u8, Fault> {
    let mapping: Option<Mapping> = match &asked.map {
        None => None,
        Some(path) => {
            let text = fs::read_to_string(path).map_err(|e| io_fault(path, &e))?;
            Some(serde_json::from_str(&text).map_err(|e| {
                Fault::new(Code::BadArgument, format!("{}: {e}", path.display()))
                    .hint("A map looks like {\"tables\":[{\"columns\":[{\"header\":\"Wert\",\"field\":\"flow\",\"unit\":\"L/s\"}]}]}")
            })?)
        }
    };
    let mut files = Vec::new();
    let mut unread = Vec::new();
    for (place, path) in asked.files.iter().enumerate() {
        match fs::read(path) {
            Ok(bytes) => files.push(FileIn { path: path.display().to_string(), bytes }),
            Err(error) => {
                unread.push((place, FileReport::refused(path.display().to_string(), io_fault(path, &error))))
            }
        }
    }
    let mut progress = out.progress("importing");
    let opened = Shelf::open(&place.dir, place.host.clone());
    if let Ok(shelf) = &opened {
        out.prefer(shelf.system());
    }
    let question = ImportAsked {
        write: asked.write,
        mapping: mapping.as_ref(),
        conversions: out.json,
        system: out.system,
    };
    let mut at = |_: &str, done: u64, total: u64| {
        progress.at(done, total);
        true
    };
    let mut made = false;
    let mut report = match opened {
        Err(fault) if fault.code == Code::NoShelf && asked.write => {
            made = true;
            Shelf::create(&place.dir, place.host.clone())?.import(files, &question, &mut at)?
        }
        Err(fault) if fault.code == Code::NoShelf => airshelf_app::dry_run(files, &question, &mut at)?,
        Err(fault) => return Err(fault),
        Ok(mut shelf) => match shelf.read_only() {
            Some(why) if asked.write => {
                return Err(Fault::new(
                    Code::ReadOnly,
                    format!("this shelf can only be read: {why}; nothing was kept"),
                ));
            }
            _ => shelf.import(files, &question, &mut at)?,
        },
    };
    drop(progress);
    for (place, refused) in unread {
        report.files.insert(place, refused);
    }
    out.answer(&report, |out| show::imported(&report, out));
    if made {
        out.talk(&format!("A new shelf was made in {}.", place.dir.display()));
    }
    Ok(if report.failed() { FAULTY } else { 0 })
}

fn audit(shelf: &Shelf, session: Option<&str>, out: &mut Output) -> Result<u8, Fault> {
    let waiting = out.waiting("auditing");
    let report = shelf.audit(session, out.system)?;
    drop(waiting);
    out.answer(&report, |out| show::faults(&report.faults, usize::MAX, out));
    Ok(if report.blocks() { BLOCKED } else { 0 })
}

fn compare(shelf: &Shelf, asked: &Compare, out: &mut Output) -> Result<u8, Fault> {
    let question = CompareAsked {
        session: asked.session.as_deref(),
        dont_care: asked.dont_care.as_deref(),
        engine: asked.engine.as_deref(),
    };
    let waiting = out.waiting("comparing");
    let report = shelf.compare(&question, out.system)?;
    drop(waiting);
    out.answer(&report, |out| show::comparison(&report, asked.session.is_some(), out));
    Ok(0)
}

fn export(
    shelf: &Shelf,
    place: &Place,
    what: Exported,
    file: Option<&Path>,
    out: &mut Output,
) -> Result<u8, Fault> {
    let waiting = out.waiting("writing the sheet");
    let bytes = match what {
        Exported::Runs => shelf.export_runs()?,
        Exported::Parts => shelf.export_parts()?,
    };
    drop(waiting);
    match file {
        Some(path) => {
            spare(path, place, "export of these", |held| {
                first_line(held).is_some_and(|l| bytes.starts_with(&l))
            })?;
            write_whole(path, &bytes)?;
            let rows = bytes.iter().filter(|b| **b == b'\n').count().saturating_sub(1);
            out.answer(&json!({ "file": path.display().to_string(), "rows": rows }), |out| {
                out.wrapped("", &format!("{rows} rows are in {}.", path.display()));
            });
        }
        None => out.sheet(&bytes),
    }
    Ok(0)
}

fn undo(place: &Place, number: Option<u64>, out: &mut Output) -> Result<u8, Fault> {
    let mut shelf = place.open(out)?;
    match number {
        None => {
            let history = shelf.history(30)?;
            out.answer(&json!({ "changes": history }), |out| show::history(&history, out));
        }
        Some(number) => {
            let undone = shelf.undo(number)?;
            out.answer(&undone, |out| show::undone(&undone, out));
        }
    }
    Ok(0)
}

fn conflicts(place: &Place, asked: &Conflicts, out: &mut Output) -> Result<u8, Fault> {
    let mut shelf = place.open(out)?;
    match asked {
        Conflicts::List => {
            let list = shelf.conflicts()?;
            out.answer(&json!({ "conflicts": list }), |out| show::conflicts(&list, out));
        }
        Conflicts::Settle { number, value } => {
            let changed = shelf.settle(*number, *value)?;
            out.answer(&changed, |out| show::changed("Settled", &changed, out));
        }
    }
    Ok(0)
}

fn check(shelf: &Shelf, out: &mut Output) -> Result<u8, Fault> {
    let waiting = out.waiting("checking");
    let checked = shelf.check()?;
    drop(waiting);
    out.answer(&checked, |out| show::checked(&checked, out));
    Ok(if checked.sound { 0 } else { FAULTY })
}

fn photos(place: &Place, photo: &Photo, out: &mut Output) -> Result<u8, Fault> {
    let mut shelf = place.open(out)?;
    match photo {
        Photo::Add { paths, tag, role } => {
            let mut files = Vec::new();
            for path in paths {
                collect(path, &mut files)?;
            }
            let added = shelf.add_photos(&files, tag.as_deref(), role.as_deref())?;
            out.answer(&added, |out| show::photos(&added.photos, out));
            for refused in &added.refused {
                out.talk(&format!("not kept: {}", refused.message));
            }
            return Ok(if added.refused.is_empty() { 0 } else { FAULTY });
        }
        Photo::List { tag } => {
            let list = shelf.photos(tag.as_deref())?;
            out.answer(&json!({ "photos": list }), |out| show::photos(&list, out));
        }
        Photo::Export { folder, tag } => {
            fs::create_dir_all(folder).map_err(|e| io_fault(folder, &e))?;
            let mut list = shelf.photos(tag.as_deref())?;
            list.retain(|photo| photo.state == "here");
            for photo in &list {
                let bytes = shelf.photo_bytes(photo.id)?;
                write_whole(&free_name(folder, &photo.export_name, &bytes), &bytes)?;
            }
            out.answer(&json!({ "folder": folder.display().to_string(), "photos": list }), |out| {
                show::photos(&list, out)
            });
        }
    }
    Ok(0)
}
