//! An open shelf and what can be asked of it.

use crate::audited::{AuditReport, about, blocked, report};
use crate::code::{Code, Fault};
use crate::compare::{self, Asked};
use crate::explain::{Explanation, explain};
use crate::names::Names;
use crate::report::Comparison;
use airshelf_catalog::limits::Limits;
use airshelf_catalog::{BenchRange, Engine, Records, Session, Uuid};
use airshelf_intake::audit::{Scope as AuditScope, audit};
use airshelf_store::{Host, Scope, Store, StoreError};
use airshelf_units::{Decimal, Dimension, System, in_system, read};
use std::collections::HashSet;
use std::path::Path;
use std::sync::Arc;

/// An open shelf.
#[derive(Debug)]
pub struct Shelf {
    pub(crate) store: Store,
}

/// What is asked of a comparison, as people write it.
#[derive(Clone, Copy, Debug, Default)]
pub struct CompareAsked<'a> {
    /// A session's id, or its name on its sheet; without it, every session.
    pub session: Option<&'a str>,
    /// The difference that does not matter, such as `1%`.
    pub dont_care: Option<&'a str>,
    /// An engine's name or id.
    pub engine: Option<&'a str>,
}

impl From<Store> for Shelf {
    fn from(store: Store) -> Shelf {
        Shelf { store }
    }
}

impl From<Shelf> for Store {
    fn from(shelf: Shelf) -> Store {
        shelf.store
    }
}

impl Shelf {
    /// Makes an empty shelf in a folder.
    ///
    /// # Errors
    /// [`Fault`] if there is a shelf already, or the folder does not allow it.
    pub fn create(dir: &Path, host: Arc<dyn Host>) -> Result<Shelf, Fault> {
        Ok(Shelf { store: Store::create(dir, host).map_err(store_fault)? })
    }

    /// Makes the demo shelf; it never syncs with others.
    ///
    /// # Errors
    /// As [`Shelf::create`].
    pub fn create_demo(dir: &Path, host: Arc<dyn Host>) -> Result<Shelf, Fault> {
        Ok(Shelf { store: Store::create_demo(dir, host).map_err(store_fault)? })
    }

    /// Opens the shelf in a folder.
    ///
    /// # Errors
    /// [`Fault`] if there is none, or it is damaged.
    pub fn open(dir: &Path, host: Arc<dyn Host>) -> Result<Shelf, Fault> {
        Ok(Shelf { store: Store::open(dir, host).map_err(store_fault)? })
    }

    /// Whether there is a shelf in a folder.
    pub fn is_there(dir: &Path) -> bool {
        Store::is_there(dir)
    }

    /// The store beneath, for what needs no words.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Whether nothing was ever written on it.
    ///
    /// # Errors
    /// [`Fault`] if the file is busy or damaged.
    pub fn is_empty(&self) -> Result<bool, Fault> {
        self.store.is_empty().map_err(store_fault)
    }

    /// Reads again which shelf this is, after another program has written.
    ///
    /// # Errors
    /// [`Fault`] if the file is busy or damaged.
    pub fn look_again(&mut self) -> Result<(), Fault> {
        self.store.look_again().map_err(store_fault)
    }

    /// Why it can only be read, if so.
    pub fn read_only(&self) -> Option<String> {
        self.store.read_only().map(ToString::to_string)
    }

    pub(crate) fn records(&self) -> Result<Records, Fault> {
        self.store.records(Scope::All).map_err(store_fault)
    }

    pub(crate) fn limits(&self) -> Limits {
        Limits::default()
    }

    /// The units of the shelf: those in which its benches' ranges are written, US where that does not say.
    pub fn system(&self) -> System {
        let ranges: Vec<BenchRange> = self.store.load().unwrap_or_default();
        let metric = |range: &BenchRange| {
            let unit = range.full_scale.as_ref()?.unit()?;
            Some(in_system(unit, System::Si) == unit)
        };
        let written: Vec<bool> = ranges.iter().filter_map(metric).collect();
        let of_si = written.iter().filter(|metric| **metric).count();
        if 2 * of_si > written.len() { System::Si } else { System::Us }
    }

    /// Audits the shelf, or one session of it with the parts that its runs use.
    ///
    /// # Errors
    /// [`Fault`] if there is no such session.
    pub fn audit(&self, session: Option<&str>, system: System) -> Result<AuditReport, Fault> {
        let records = self.records()?;
        let faults = audit(&records, &AuditScope { tables: None, limits: self.limits() });
        let names = Names::of(&records);
        let wanted: Option<HashSet<Uuid>> = match session {
            None => None,
            Some(text) => {
                let sessions: HashSet<Uuid> = self.sessions(text)?.into_iter().map(|s| s.id).collect();
                Some(belonging(&records, &names, &sessions))
            }
        };
        let faults = faults
            .iter()
            .filter(|f| {
                wanted
                    .as_ref()
                    .is_none_or(|ids| ids.contains(&f.subject) || f.covers.iter().any(|c| ids.contains(c)))
            })
            .map(|f| {
                let mut report = report(f, f.place.file.clone(), system);
                if f.place.row.is_none() {
                    report.about = about(&records, &names, f.subject);
                }
                report
            })
            .collect();
        Ok(AuditReport { faults })
    }

    /// Compares the assemblies of one session, or of every session.
    ///
    /// # Errors
    /// [`Fault`] if there is no such session or engine, or the percentage cannot be read.
    pub fn compare(&self, asked: &CompareAsked, system: System) -> Result<Comparison, Fault> {
        let dont_care = match asked.dont_care {
            None => None,
            Some(text) => Some(
                read(text, Dimension::Ratio, None, Decimal::Point)
                    .ok()
                    .map(|ratio| ratio.si)
                    .filter(|ratio| (0.0..1.0).contains(ratio))
                    .ok_or_else(|| {
                        let what = format!("--dont-care: `{text}` is no percentage from 0% up, such as 1%");
                        Fault::new(Code::BadQuantity, what)
                    })?,
            ),
        };
        let sessions: Option<Vec<Uuid>> = match asked.session {
            None => None,
            Some(text) => Some(self.sessions(text)?.into_iter().map(|s| s.id).collect()),
        };
        let engine: Option<Engine> = match asked.engine {
            None => None,
            Some(text) => Some(self.engine(text)?),
        };
        let records = self.records()?;
        let faults = audit(&records, &AuditScope { tables: None, limits: self.limits() });
        let asked = Asked {
            sessions: sessions.as_deref(),
            dont_care,
            engine: engine.as_ref(),
            system: Some(system),
            no_pairs: false,
        };
        compare::compare(&records, &blocked(&faults), &asked)
    }

    fn engine(&self, text: &str) -> Result<Engine, Fault> {
        let found = self.find_row(Some(airshelf_catalog::EntityKind::Engine), text);
        let id = found.map_err(|fault| match fault.code {
            Code::NotFound => Fault::new(Code::NotFound, format!("there is no engine {text} on this shelf"))
                .hint("`airshelf engine list` names them."),
            _ => fault,
        })?;
        self.store
            .get(id)
            .map_err(store_fault)?
            .ok_or_else(|| Fault::new(Code::NotFound, format!("there is no engine {text}")))
    }

    /// The sessions with that id or name.
    ///
    /// # Errors
    /// [`Fault`] if there is none.
    pub fn sessions(&self, text: &str) -> Result<Vec<Session>, Fault> {
        let found = self.store.sessions_named(text).map_err(store_fault)?;
        if found.is_empty() {
            return Err(Fault::new(Code::NotFound, format!("there is no session {text} on this shelf"))
                .hint("`airshelf session list` names them."));
        }
        Ok(found)
    }

    /// Explains the numbers of a run: an id or its beginning, or `SESSION/ORDER`.
    ///
    /// # Errors
    /// [`Fault`] if no run or more than one fits, or it has nothing to explain.
    pub fn explain(&self, run: &str, system: System) -> Result<Explanation, Fault> {
        let records = self.records()?;
        let run = self.find_run(&records, run)?;
        let session = records.runs.iter().find(|r| r.id == run).and_then(|r| r.session);
        let blocked = blocked(&audit(&records, &AuditScope { tables: None, limits: self.limits() }));
        let asked = Asked { sessions: session.as_ref().map(std::slice::from_ref), ..Asked::default() };
        let compared = compare::compare(&records, &blocked, &asked)?;
        explain(&records, run, &blocked, compared.sessions.first(), system)
    }

    /// The run that a text means.
    pub(crate) fn find_run(&self, records: &Records, text: &str) -> Result<Uuid, Fault> {
        let text = text.trim();
        if let Some((session, order)) = text.rsplit_once('/')
            && let Ok(order) = order.trim().parse::<i64>()
        {
            let sessions: HashSet<Uuid> = self.sessions(session)?.into_iter().map(|s| s.id).collect();
            let runs = records.runs.iter().filter(|r| {
                r.order_number == Some(order) && r.session.is_some_and(|s| sessions.contains(&s))
            });
            return only(runs.map(|r| r.id).collect(), text);
        }
        let prefix = text.to_lowercase();
        let runs = records.runs.iter().filter(|r| prefix.len() >= 4 && r.id.to_string().starts_with(&prefix));
        only(runs.map(|r| r.id).collect(), text)
    }

    /// Brings a backup back into an empty folder.
    ///
    /// # Errors
    /// [`Fault`] if the folder holds a shelf, or the file is no sound backup.
    #[cfg(not(target_family = "wasm"))]
    pub fn restore(file: &Path, dir: &Path, host: Arc<dyn Host>) -> Result<Shelf, Fault> {
        Ok(Shelf { store: Store::restore(file, dir, host).map_err(store_fault)? })
    }
}

/// The sessions, their runs with what was guessed of them, and the parts that the runs use.
pub(crate) fn belonging(records: &Records, names: &Names, sessions: &HashSet<Uuid>) -> HashSet<Uuid> {
    let mut ids = sessions.clone();
    let mut parts: HashSet<Uuid> = HashSet::new();
    let of_these = |session: Option<Uuid>| session.is_some_and(|s| sessions.contains(&s));
    for run in records.runs.iter().filter(|r| of_these(r.session)) {
        ids.insert(run.id);
        let layers = run.assembly.map(|a| names.layers(a)).unwrap_or_default();
        let used = layers.into_iter().chain(run.item).chain(run.stud);
        parts.extend(used.filter_map(|revision| names.part_of(revision)).map(|part| part.id));
    }
    let measured = records.measurements.iter().filter(|m| {
        m.revision.and_then(|revision| names.part_of(revision)).is_some_and(|part| parts.contains(&part.id))
    });
    ids.extend(measured.map(|m| m.id));
    ids.extend(records.predictions.iter().filter(|p| of_these(p.session)).map(|p| p.id));
    ids.extend(parts);
    ids
}

pub(crate) fn only(mut found: Vec<Uuid>, text: &str) -> Result<Uuid, Fault> {
    match found.len() {
        0 => Err(Fault::new(Code::NotFound, format!("nothing on this shelf is called {text}"))
            .hint("`airshelf find TEXT` looks everywhere.")),
        1 => Ok(found.remove(0)),
        n => {
            let some: Vec<String> = found.iter().take(4).map(|id| id.to_string()[..13].to_owned()).collect();
            Err(Fault::new(Code::Ambiguous, format!("{n} things on this shelf are called {text}"))
                .hint(format!("Say which by its id: {} …", some.join(", "))))
        }
    }
}

/// Turns a fault of the store into one with a code and what to do.
pub(crate) fn store_fault(error: StoreError) -> Fault {
    let code = match &error {
        StoreError::NoShelf { .. } => Code::NoShelf,
        StoreError::AlreadyShelf { .. } => Code::ShelfExists,
        StoreError::ReadOnly { .. } => Code::ReadOnly,
        StoreError::MayNotRead { .. } => Code::MayNotRead,
        StoreError::NotBackedUp { .. } => Code::Damaged,
        StoreError::DiskFull => Code::DiskFull,
        StoreError::Damaged { .. } | StoreError::BlobDamaged { .. } | StoreError::NotAShelf { .. } => {
            Code::Damaged
        }
        StoreError::NoSuchRow { .. } | StoreError::NoSuchTransaction { .. } => Code::NotFound,
        StoreError::Stopped => Code::Stopped,
        StoreError::OtherShelf { .. } => Code::OtherShelf,
        StoreError::Malformed(_) => Code::BadArgument,
        _ => Code::Store,
    };
    let fault = Fault::new(code, error.to_string());
    match code {
        Code::NoShelf => fault.hint("Make one with `airshelf new`, or the demo with `airshelf demo`."),
        Code::ShelfExists => fault.hint("Open it as it is, or say another folder with --shelf."),
        Code::ReadOnly => fault.hint("Reading works: audit, compare, explain, find, export."),
        Code::Store if matches!(error, StoreError::Io { .. }) => {
            fault.hint("See that the folder may be written to and has room, then try again.")
        }
        _ => fault,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_busy_shelf_says_once_to_try_again() {
        for error in [StoreError::Busy, StoreError::DiskFull, StoreError::Stopped] {
            let fault = store_fault(error);
            let told = format!("{} {}", fault.message, fault.hint.unwrap_or_default()).to_lowercase();
            assert!(told.matches("try again").count() <= 1, "{told}");
        }
    }
}
