//! Rows and cells that could not be taken.

use super::faults::place;
use crate::code::Fault;
use crate::entry::Changed;
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::{ImportFile, Quarantined, SheetTable};
use airshelf_intake::reader::column_name;
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use ts_rs::TS;
use uuid::Uuid;

/// A page of what stands aside.
#[derive(Clone, Debug, Serialize, TS)]
pub struct AsideList {
    /// How many there are.
    pub total: usize,
    /// Those asked for.
    pub rows: Vec<AsideRow>,
}

/// A row or a cell that could not be taken.
#[derive(Clone, Debug, Serialize, TS)]
pub struct AsideRow {
    /// Which.
    pub id: Uuid,
    /// File, sheet, row and column.
    pub place: String,
    /// What stood there.
    pub raw: String,
    /// Why it could not be taken.
    pub reason: String,
}

pub(super) fn list(shelf: &Shelf, from: usize, count: usize) -> Result<AsideList, Fault> {
    let mut rows: Vec<Quarantined> = shelf.store.load().map_err(store_fault)?;
    let tables: Vec<SheetTable> = shelf.store.load().map_err(store_fault)?;
    let files: Vec<ImportFile> = shelf.store.load().map_err(store_fault)?;
    let tables: HashMap<Uuid, &SheetTable> = tables.iter().map(|table| (table.id, table)).collect();
    // What a person touched stays in sight when its file is taken back; there is nothing to mend in it then.
    let undone: HashSet<Uuid> = files.iter().filter(|f| f.undone == Some(true)).map(|f| f.id).collect();
    let file_of = |row: &Quarantined| tables.get(&row.table?)?.file;
    rows.retain(|row| row.repaired.is_none() && file_of(row).is_none_or(|file| !undone.contains(&file)));
    rows.sort_by_key(|row| (file_of(row), row.table, row.row, row.column));
    let name = |table: &SheetTable| files.iter().find(|f| Some(f.id) == table.file)?.name.as_deref();
    let total = rows.len();
    let shown = rows.into_iter().skip(from).take(count).map(|row| {
        let table = row.table.and_then(|table| tables.get(&table).copied());
        let column = row.column.and_then(|column| u32::try_from(column).ok()).map(column_name);
        AsideRow {
            id: row.id,
            place: place(
                table.and_then(name),
                table.and_then(|table| table.sheet.as_deref()),
                row.row,
                column.as_deref(),
            ),
            raw: row.raw.unwrap_or_default(),
            reason: row.reason.unwrap_or_default(),
        }
    });
    Ok(AsideList { total, rows: shown.collect() })
}

pub(super) fn dismiss(shelf: &mut Shelf, id: Uuid) -> Result<Changed, Fault> {
    let outcome = shelf.store.write("put a quarantined row away", |w| {
        w.delete::<Quarantined>(id)?;
        Ok::<Uuid, Fault>(id)
    })?;
    Ok(Changed::of(outcome))
}
