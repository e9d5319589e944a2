//! Imported files: keeping them, listing them, taking them back.

use super::faults::place;
use super::said::{TableSaid, mappings};
use crate::code::{Code, Fault};
use crate::demo;
use crate::import::{FileIn, ImportAsked, file_name};
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::{ImportFile, SheetTable};
use serde::Serialize;
use ts_rs::TS;
use uuid::Uuid;

/// What was kept of files.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Kept {
    /// One for each.
    pub files: Vec<KeptFile>,
}

/// What was kept of one file.
#[derive(Clone, Debug, Serialize, TS)]
pub struct KeptFile {
    /// Its name.
    pub name: String,
    /// Why nothing of it was kept.
    pub error: Option<Fault>,
    /// What became of its rows.
    pub said: String,
}

/// Imported files, the latest first.
#[derive(Clone, Debug, Serialize, TS)]
pub struct FileList {
    /// The files.
    pub files: Vec<FileRow>,
}

/// An imported file.
#[derive(Clone, Debug, Serialize, TS)]
pub struct FileRow {
    /// Which.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// When it was imported.
    pub imported: Option<String>,
    /// Its tables, each in words.
    pub tables: Vec<String>,
    /// Whether the import was taken back.
    pub taken_back: bool,
}

pub(super) fn keep(
    shelf: &mut Shelf,
    files: Vec<FileIn>,
    tables: &[TableSaid],
    progress: crate::Progress<'_>,
) -> Result<Kept, Fault> {
    let asked = ImportAsked { write: true, mapping: None, conversions: false, system: shelf.system() };
    let mappings = mappings(tables, files.len());
    let report = shelf.import_said(files, &asked, &mappings, progress)?;
    let files = report.files.into_iter().map(|file| KeptFile {
        name: file_name(&file.file).to_owned(),
        said: match (file.rows.taken, file.rows.already) {
            (0, 0) => "nothing was kept".into(),
            (0, _) => "all of it was on the shelf already".into(),
            (1, _) => "1 row was kept".into(),
            (n, _) => format!("{n} rows were kept"),
        },
        error: file.error,
    });
    Ok(Kept { files: files.collect() })
}

pub(super) fn list(shelf: &Shelf) -> Result<FileList, Fault> {
    let mut files: Vec<ImportFile> = shelf.store.load().map_err(store_fault)?;
    let tables: Vec<SheetTable> = shelf.store.load().map_err(store_fault)?;
    files.sort_by(|a, b| (&b.imported, &a.name, a.id).cmp(&(&a.imported, &b.name, b.id)));
    let rows = files.into_iter().map(|file| FileRow {
        tables: tables.iter().filter(|t| t.file == Some(file.id)).map(table_words).collect(),
        id: file.id,
        name: file.name.unwrap_or_else(|| "file".into()),
        imported: file.imported.map(|at| at.replace('T', " ").chars().take(16).collect()),
        taken_back: file.undone == Some(true),
    });
    Ok(FileList { files: rows.collect() })
}

fn table_words(table: &SheetTable) -> String {
    let kind = table.kind.map_or("table", |kind| kind.name());
    let at = place(None, table.sheet.as_deref(), None, None);
    let rows = match (table.first_row, table.last_row) {
        (Some(first), Some(last)) => format!("rows {first} to {last}"),
        _ => String::new(),
    };
    let place: Vec<String> = [at, rows].into_iter().filter(|text| !text.is_empty()).collect();
    if place.is_empty() { kind.to_owned() } else { format!("{kind}: {}", place.join(", ")) }
}

/// The demo's old notebook: its files' names, and one of them as bytes.
pub(super) fn notebook(
    shelf: &Shelf,
    file: Option<usize>,
    bytes: &mut Option<Vec<u8>>,
) -> Result<Vec<String>, Fault> {
    if !shelf.store.is_demo() {
        return Ok(Vec::new());
    }
    let mut kept = demo::shelf(demo::SEED).old_records;
    let names = kept.iter().map(|record| record.file_name.clone()).collect();
    if let Some(at) = file {
        if at >= kept.len() {
            return Err(Fault::new(Code::NotFound, "the notebook has no such file"));
        }
        *bytes = Some(kept.swap_remove(at).bytes);
    }
    Ok(names)
}
