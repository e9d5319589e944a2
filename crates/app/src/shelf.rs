//! An open shelf and what can be asked of it.

use crate::audited::{AuditReport, blocked, report};
use crate::code::{Code, Fault};
use crate::compare::{self, Asked};
use crate::explain::{Explanation, explain};
use crate::report::Comparison;
use airshelf_catalog::limits::Limits;
use airshelf_catalog::{Engine, Records, Session, Uuid};
use airshelf_intake::audit::{Scope as AuditScope, audit};
use airshelf_store::{Host, Scope, Store, StoreError};
use airshelf_units::{Decimal, Dimension, System, read};
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

    /// The store beneath, for what needs no words.
    pub fn store(&self) -> &Store {
        &self.store
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

    /// Audits the shelf, or one session of it.
    ///
    /// # Errors
    /// [`Fault`] if there is no such session.
    pub fn audit(&self, session: Option<&str>) -> Result<AuditReport, Fault> {
        let records = self.records()?;
        let faults = audit(&records, &AuditScope { tables: None, limits: self.limits() });
        let wanted: Option<HashSet<Uuid>> = match session {
            None => None,
            Some(text) => {
                let sessions: HashSet<Uuid> = self.sessions(text)?.into_iter().map(|s| s.id).collect();
                let runs = records
                    .runs
                    .iter()
                    .filter(|r| r.session.is_some_and(|s| sessions.contains(&s)))
                    .map(|r| r.id);
                Some(runs.chain(sessions.iter().copied()).collect())
            }
        };
        let faults = faults
            .iter()
            .filter(|f| {
                wanted
                    .as_ref()
                    .is_none_or(|ids| ids.contains(&f.subject) || f.covers.iter().any(|c| ids.contains(c)))
            })
            .map(|f| report(f, f.place.file.clone()))
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
                    .map_err(|e| Fault::new(Code::BadQuantity, format!("--dont-care: {e}")))?
                    .si,
            ),
        };
        let sessions = match asked.session {
            None => vec![None],
            Some(text) => self.sessions(text)?.into_iter().map(|s| Some(s.id)).collect(),
        };
        let records = self.records()?;
        let engine: Option<Engine> = match asked.engine {
            None => None,
            Some(text) => Some(self.engine(text)?),
        };
        let faults = audit(&records, &AuditScope { tables: None, limits: self.limits() });
        let blocked = blocked(&faults);
        let mut all = Comparison::default();
        for session in sessions {
            let asked = Asked { session, dont_care, engine: engine.as_ref(), system: Some(system) };
            all.sessions.extend(compare::compare(&records, &blocked, &asked)?.sessions);
        }
        Ok(all)
    }

    fn engine(&self, text: &str) -> Result<Engine, Fault> {
        let id = self.find_row(Some(airshelf_catalog::EntityKind::Engine), text)?;
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
    pub fn explain(&self, run: &str) -> Result<Explanation, Fault> {
        let records = self.records()?;
        let run = self.find_run(&records, run)?;
        let session = records.runs.iter().find(|r| r.id == run).and_then(|r| r.session);
        let blocked = blocked(&audit(&records, &AuditScope { tables: None, limits: self.limits() }));
        let compared = compare::compare(&records, &blocked, &Asked { session, ..Asked::default() })?;
        explain(&records, run, compared.sessions.first())
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
    pub fn restore(file: &Path, dir: &Path, host: Arc<dyn Host>) -> Result<Shelf, Fault> {
        Ok(Shelf { store: Store::restore(file, dir, host).map_err(store_fault)? })
    }
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
        Code::Store if error.trying_again_helps() => fault.hint("Try again."),
        _ => fault,
    }
}
