//! Commands on single rows.

use super::Place;
use crate::arguments::{Entry, Quarantine, RunEntry};
use crate::output::Output;
use crate::show;
use airshelf_app::{Code, EntityKind, Fault, Shelf};

/// `FIELD=VALUE` taken apart.
fn pairs(set: &[String]) -> Result<Vec<(String, String)>, Fault> {
    set.iter()
        .map(|text| match text.split_once('=') {
            Some((name, value)) => Ok((name.trim().to_owned(), value.to_owned())),
            None => Err(Fault::new(Code::BadArgument, format!("`{text}` is not FIELD=VALUE"))),
        })
        .collect()
}

pub(super) fn quarantine(place: &Place, asked: &Quarantine, out: &mut Output) -> Result<u8, Fault> {
    match asked {
        Quarantine::Entry(Entry::Show { which }) => {
            let shelf = place.open(out)?;
            let row = shelf.show(EntityKind::Quarantined, which, out.system)?;
            let cells = shelf.aside_cells(which);
            show::aside(&row, cells, out);
            Ok(0)
        }
        Quarantine::Entry(entry) => edit(place, EntityKind::Quarantined, entry, out),
        Quarantine::Mend { which, set } => {
            let mended = place.open(out)?.mend_aside(which, &cells(set)?)?;
            out.answer(&mended, |out| show::mended(&mended, out));
            Ok(0)
        }
    }
}

/// `COLUMN=TEXT` taken apart.
fn cells(set: &[String]) -> Result<Vec<(String, String)>, Fault> {
    pairs(set)
        .map_err(|fault| Fault { message: fault.message.replace("FIELD=VALUE", "COLUMN=TEXT"), ..fault })
}

pub(super) fn edit(place: &Place, kind: EntityKind, entry: &Entry, out: &mut Output) -> Result<u8, Fault> {
    if let Entry::Add { fields: true, .. } = entry {
        let help = Shelf::fields(kind);
        out.answer(&help, |out| show::fields(&help, out));
        return Ok(0);
    }
    let mut shelf = place.open(out)?;
    match entry {
        Entry::List => {
            let system = out.system;
            shelf.list(kind, None, system, |rows| show::list(kind, rows, out))?;
        }
        Entry::Show { which } => {
            let row = shelf.show(kind, which, out.system)?;
            out.answer(&row.json, |out| show::row(&row, out));
        }
        Entry::Add { set, .. } => {
            let changed = shelf.add(kind, &pairs(set)?)?;
            out.answer(&changed, |out| show::changed("Added", &changed, out));
        }
        Entry::Change { which, set } => {
            let changed = shelf.change(kind, which, &pairs(set)?)?;
            out.answer(&changed, |out| show::changed("Changed", &changed, out));
        }
        Entry::Remove { which } => {
            let changed = shelf.remove(kind, which)?;
            out.answer(&changed, |out| show::changed("Removed", &changed, out));
        }
    }
    Ok(0)
}

pub(super) fn run_entry(place: &Place, entry: &RunEntry, out: &mut Output) -> Result<u8, Fault> {
    if let RunEntry::Add { fields: true, .. } = entry {
        let help = Shelf::fields(EntityKind::Run);
        out.answer(&help, |out| show::fields(&help, out));
        return Ok(0);
    }
    let mut shelf = place.open(out)?;
    match entry {
        RunEntry::List { session } => {
            let system = out.system;
            shelf.list(EntityKind::Run, session.as_deref(), system, |rows| {
                show::list(EntityKind::Run, rows, out)
            })?;
        }
        RunEntry::Show { which } => {
            let row = shelf.show(EntityKind::Run, which, out.system)?;
            out.answer(&row.json, |out| show::row(&row, out));
        }
        RunEntry::Add { set, .. } => {
            let changed = shelf.add(EntityKind::Run, &pairs(set)?)?;
            out.answer(&changed, |out| show::changed("Added", &changed, out));
        }
        RunEntry::Change { which, set } => {
            let changed = shelf.change(EntityKind::Run, which, &pairs(set)?)?;
            out.answer(&changed, |out| show::changed("Changed", &changed, out));
        }
        RunEntry::Strike { which, reason } => {
            let changed = shelf.strike(which, reason)?;
            out.answer(&changed, |out| show::changed("Struck out", &changed, out));
        }
    }
    Ok(0)
}
