//! Keeping a shelf sound: verifying, backing up, taking back, settling what was changed apart.

use crate::code::{Code, Fault};
use crate::conflicts::{ConflictCard, devices};
use crate::demo;
use crate::entry::Changed;
use crate::names::{Names, as_written};
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::{ImportFile, Records, Uuid, Value};
use airshelf_store::{Entry, Host, Pace, Scope, StoreError, TransactionId, Undone, Writer};
use serde::Serialize;
use std::path::Path;
use std::sync::Arc;
use ts_rs::TS;

/// `airshelf check`.
#[derive(Clone, Debug, Serialize, TS)]
pub struct CheckReport {
    /// Whether everything is as it should be.
    pub sound: bool,
    /// Transactions replayed.
    pub transactions: usize,
    /// Rows compared with the replayed log.
    pub rows: usize,
    /// Photos and originals here and sound.
    pub blobs_here: usize,
    /// What is only on other devices.
    pub blobs_elsewhere: Vec<String>,
    /// What nobody is known to have.
    pub blobs_lost: Vec<String>,
    /// Damaged files.
    pub blobs_damaged: Vec<String>,
    /// Faults of the database file.
    pub file_faults: Vec<String>,
    /// Where tables and log differ.
    pub table_faults: Vec<String>,
    /// Imports that have not all arrived.
    pub incomplete_imports: usize,
    /// Values that a newer program wrote and that are kept aside.
    pub parked: usize,
    /// All of it in sentences.
    #[serde(skip)]
    pub said: Vec<String>,
}

/// `airshelf backup`.
#[derive(Clone, Debug, Serialize, TS)]
pub struct BackupReport {
    /// Photos and originals in it.
    pub blobs: usize,
    /// What the shelf names and does not have here.
    pub blobs_not_here: usize,
    /// Its size.
    pub bytes: u64,
    /// It was read back and compared.
    pub verified: bool,
}

/// One change of the shelf's history.
#[derive(Clone, Debug, Serialize, TS)]
pub struct HistoryReport {
    /// Its number on its device.
    pub number: u64,
    /// The device.
    pub device: Uuid,
    /// This device, or what the other is called.
    pub from: String,
    /// When, on that device's wall clock.
    pub wall: String,
    /// What.
    pub label: String,
    /// Rows changed.
    pub rows: usize,
    /// Whether this device made it.
    pub here: bool,
}

/// What an undo put back.
#[derive(Clone, Debug, Serialize, TS)]
pub struct UndoReport {
    /// Rows and fields put back.
    pub rows: usize,
    /// What was changed since, and stays.
    pub kept: Vec<String>,
    /// How many rows of an import stay, since another file has them or something in sight needs them.
    pub stay: usize,
    /// The number to undo the undo by.
    pub change: Option<u64>,
}

/// A demo shelf that was made.
#[derive(Clone, Debug)]
pub struct DemoMade {
    /// Rows on it.
    pub rows: usize,
    /// The old notebook's files.
    pub old_records: Vec<(String, Vec<u8>)>,
}

impl Shelf {
    /// Makes the demo shelf, with an old notebook to be imported. It is a shelf of its own and never syncs with others.
    ///
    /// # Errors
    /// [`Fault`] if there is a shelf already, or the folder does not allow it.
    pub fn make_demo(dir: &Path, host: Arc<dyn Host>, progress: crate::Progress) -> Result<DemoMade, Fault> {
        let mut shelf = Shelf::create_demo(dir, host)?;
        let made = demo::shelf(demo::SEED);
        shelf
            .store
            .import(&made.records, "make the demo", &mut |done, total| match progress(
                "making",
                done as u64,
                total as u64,
            ) {
                true => Pace::GoOn,
                false => Pace::Stop,
            })
            .map_err(store_fault)?;
        let old_records = made.old_records.into_iter().map(|r| (r.file_name, r.bytes)).collect();
        Ok(DemoMade { rows: made.records.len(), old_records })
    }

    /// Verifies database, change log, photos and originals.
    ///
    /// # Errors
    /// [`Fault`] if the database cannot be read at all.
    pub fn check(&self) -> Result<CheckReport, Fault> {
        let c = self.store.check().map_err(store_fault)?;
        let mut said = vec![format!(
            "{}, {}, {} verified.",
            counted(c.transactions, "transaction replayed", "transactions replayed"),
            counted(c.rows, "row compared", "rows compared"),
            counted(c.blobs_here, "photo or original", "photos and originals")
        )];
        said.extend(c.file_faults.iter().map(|f| format!("The database file: {f}")));
        said.extend(c.table_faults.iter().map(|f| format!("Tables and log differ: {f}")));
        said.extend(c.blobs_damaged.iter().map(|b| format!("Damaged: blob {b}")));
        said.extend(c.blobs_lost.iter().map(|b| format!("Lost: blob {b}; no device is known to have it")));
        if !c.blobs_elsewhere.is_empty() {
            said.push(format!("{} photos and originals are only on other devices.", c.blobs_elsewhere.len()));
        }
        said.extend(c.incomplete.iter().map(|i| {
            let of = i.made.map_or(String::new(), |n| format!(" of {n}"));
            format!("An import has not all arrived: {}{of} changes are here.", i.here)
        }));
        if !c.parked.is_empty() {
            said.push(format!("{} values of a newer program are kept aside for it.", c.parked.len()));
        }
        Ok(CheckReport {
            sound: c.is_sound(),
            transactions: c.transactions,
            rows: c.rows,
            blobs_here: c.blobs_here,
            incomplete_imports: c.incomplete.len(),
            parked: c.parked.len(),
            blobs_elsewhere: c.blobs_elsewhere,
            blobs_lost: c.blobs_lost,
            blobs_damaged: c.blobs_damaged,
            file_faults: c.file_faults,
            table_faults: c.table_faults,
            said,
        })
    }

    /// Whether a file is a backup of this shelf.
    #[cfg(not(target_family = "wasm"))]
    pub fn has_backup_in(&self, file: &Path) -> bool {
        airshelf_store::Store::shelf_of_backup(file) == Some(self.store.shelf_id())
    }

    /// Writes the whole shelf to one file, and reads it back.
    ///
    /// # Errors
    /// [`Fault`] if it cannot be written.
    #[cfg(not(target_family = "wasm"))]
    pub fn backup(&self, file: &Path) -> Result<BackupReport, Fault> {
        let made = self.store.backup(file).map_err(store_fault)?;
        Ok(BackupReport {
            blobs: made.blobs,
            blobs_not_here: made.not_here,
            bytes: made.size_bytes,
            verified: true,
        })
    }

    /// The latest changes, latest first; an import is one, however many transactions it was written in.
    ///
    /// # Errors
    /// [`Fault`] if the shelf cannot be read.
    pub fn history(&self, limit: usize) -> Result<Vec<HistoryReport>, Fault> {
        let here = self.store.device();
        let mut transactions = limit;
        let mut entries = loop {
            let read = self.store.history(transactions).map_err(store_fault)?;
            let all = read.len() < transactions;
            let folded = one_for_each_import(read);
            if all || folded.len() > limit {
                break folded;
            }
            transactions = transactions.saturating_mul(4);
        };
        entries.truncate(limit);
        let from = devices(self, entries.iter().map(|e| e.id.device).collect())?;
        Ok(entries
            .into_iter()
            .map(|e| HistoryReport {
                number: e.id.number,
                device: e.id.device,
                from: from(e.id.device),
                wall: e.head.wall,
                label: e.head.label,
                rows: e.changes,
                here: e.id.device == here,
            })
            .collect())
    }

    /// Takes back what a change of this device did, where nothing was written over it since.
    ///
    /// # Errors
    /// [`Fault`] if there is no such change.
    pub fn undo(&mut self, number: u64) -> Result<UndoReport, Fault> {
        let id = TransactionId { device: self.store.device(), number };
        let files = self.store.transaction(id).map_err(store_fault)?.head.imports;
        self.undoing(&format!("undo {number}"), &files, |w| w.undo(id))
    }

    /// Takes back what a file brought, but for what a person has changed since.
    ///
    /// # Errors
    /// [`Fault`] if there is no such file, or it was taken back already.
    pub fn take_back(&mut self, file: Uuid) -> Result<UndoReport, Fault> {
        let held: Option<ImportFile> = self.store.get(file).map_err(store_fault)?;
        let held = held.ok_or_else(|| Fault::new(Code::NotFound, "this file was not imported here"))?;
        if held.undone == Some(true) {
            return Err(Fault::new(Code::BadArgument, "this import was taken back already"));
        }
        let label = format!("take back {}", held.name.as_deref().unwrap_or("an import"));
        self.undoing(&label, &[file], |w| w.take_back(&[file]))
    }

    /// Undoes something; `files` are those whose import it is.
    fn undoing(
        &mut self,
        label: &str,
        files: &[Uuid],
        undo: impl FnOnce(&mut Writer<'_>) -> Result<Undone, StoreError>,
    ) -> Result<UndoReport, Fault> {
        let before = self.store.rows_of_imports(files).map_err(store_fault)?;
        let outcome = self.store.write(label, |w| undo(w).map_err(store_fault))?;
        if outcome.transaction.is_none() && outcome.value.left.is_empty() {
            return Err(Fault::new(Code::BadArgument, "there is nothing left of it to be taken back").hint(
                "`airshelf undo` lists the changes; what was taken back is brought back by undoing that.",
            ));
        }
        let after = self.store.rows_of_imports(files).map_err(store_fault)?;
        let records = match outcome.value.left.is_empty() {
            true => Records::default(),
            false => self.store.records(Scope::Shelf).map_err(store_fault)?,
        };
        let names = Names::of(&records);
        let kept =
            outcome.value.left.iter().map(|(kind, id)| crate::entry::called(&records, &names, *kind, *id));
        Ok(UndoReport {
            rows: outcome.value.done.saturating_sub(files.len()) + before.saturating_sub(after),
            kept: kept.collect(),
            stay: after.saturating_sub(outcome.value.left.len()),
            change: outcome.transaction.map(|t| t.number),
        })
    }

    /// Values that were changed apart on two devices.
    ///
    /// # Errors
    /// [`Fault`] if the shelf cannot be read.
    pub fn conflicts(&self) -> Result<Vec<ConflictCard>, Fault> {
        crate::conflicts::all(self)
    }

    /// Settles a conflict, as numbered from 1 in [`Shelf::conflicts`], with one of its values, from 1.
    ///
    /// # Errors
    /// [`Fault`] if there is no such conflict or value.
    pub fn settle(&mut self, number: usize, value: usize) -> Result<Changed, Fault> {
        let list = self.store.conflicts().map_err(store_fault)?;
        let missing = |what: &str| {
            Fault::new(Code::NotFound, format!("there is no {what}"))
                .hint("`airshelf conflicts list` numbers them.")
        };
        let conflict = number
            .checked_sub(1)
            .and_then(|n| list.get(n))
            .ok_or_else(|| missing("conflict of that number"))?;
        let chosen = std::iter::once(&conflict.shown)
            .chain(&conflict.others)
            .nth(value.wrapping_sub(1))
            .ok_or_else(|| missing("value of that number"))?;
        let outcome = self.store.settle(conflict, chosen.value.clone()).map_err(store_fault)?;
        Ok(Changed {
            id: conflict.id,
            change: outcome.transaction.map(|t| t.number),
            rows: outcome.changed.len(),
        })
    }
}

/// The transactions of one import as one, under the number of the last.
fn one_for_each_import(entries: Vec<Entry>) -> Vec<Entry> {
    let mut folded: Vec<Entry> = Vec::new();
    for entry in entries {
        match folded.last_mut() {
            Some(last) if is_of_one_import(last, &entry) => last.changes += entry.changes,
            _ => folded.push(entry),
        }
    }
    folded
}

fn is_of_one_import(one: &Entry, other: &Entry) -> bool {
    let (a, b) = (&one.head, &other.head);
    !a.imports.is_empty() && a.imports == b.imports && a.label == b.label && one.id.device == other.id.device
}

fn counted(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

pub(crate) fn in_words(value: &Value) -> String {
    match value {
        Value::Null => "blank".into(),
        Value::Int(i) => i.to_string(),
        Value::Real(x) => x.to_string(),
        Value::Text(text) => text.clone(),
        Value::Bytes(bytes) => format!("{} bytes", bytes.len()),
        Value::Id(id) => id.to_string(),
        Value::Quantity(q) => as_written(q).unwrap_or_else(|| q.si.to_string()),
        Value::Price(price) => format!("{} {}", price.amount, price.currency),
    }
}
