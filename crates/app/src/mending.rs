//! A row of an old sheet that could not be taken: its cells as they stand, and taking it again as a person corrects them.

use crate::code::{Code, Fault};
use crate::entry::called;
use crate::names::Names;
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::ids::fold;
use airshelf_catalog::records::Visit;
use airshelf_catalog::{
    Claim, Entity, EntityKind, ImportFile, Part, Prediction, Quarantined, Rating, Run, Session, SheetTable,
    Uuid, Value,
};
use airshelf_intake::map::Mapping;
use airshelf_intake::reader::{Limits, Workbook, column_name, read};
use airshelf_intake::stage::{CellText, Correction, Mended, mend};
use airshelf_store::Writer;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A row that could not be taken, or was taken without a cell.
#[derive(Clone, Debug, Serialize, TS)]
pub struct AsideCells {
    /// Which.
    pub id: Uuid,
    /// The file's name.
    pub file: Option<String>,
    /// The sheet's name; none in text files.
    pub sheet: Option<String>,
    /// The file's own row.
    pub row: i64,
    /// Why it could not be taken.
    pub reason: String,
    /// Whether it was mended since.
    pub mended: bool,
    /// Its cells, by column.
    pub cells: Vec<AsideCell>,
}

/// A cell of such a row.
#[derive(Clone, Debug, Serialize, TS)]
pub struct AsideCell {
    /// The column, from 0.
    pub column: usize,
    /// Its letters, as spreadsheets count.
    pub letters: String,
    /// Its header as spelled.
    pub header: String,
    /// What it was taken to be; none where it is left out.
    pub field: Option<String>,
    /// What stands there, or what a person said stands there.
    pub text: String,
    /// Whether it is what could not be read.
    pub at_fault: bool,
}

/// What came of a row that was taken again.
#[derive(Clone, Debug, Serialize, TS)]
pub struct RowMended {
    /// What stood aside.
    pub id: Uuid,
    /// The number to undo it by.
    pub change: Option<u64>,
    /// How many rows of the shelf changed.
    pub rows: usize,
    /// The record made from it.
    pub record: Option<Uuid>,
    /// What it is.
    pub kind: Option<String>,
    /// All of it in a sentence.
    pub said: String,
    /// Cells of the row that still stand aside, each with its reason.
    pub aside: Vec<String>,
}

/// A column as its table keeps it.
#[derive(Deserialize)]
struct ColumnKept {
    column: usize,
    header: String,
    field: Option<String>,
}

/// Where such a row stands.
struct Found {
    entry: Quarantined,
    table: SheetTable,
    file: ImportFile,
    workbook: Workbook,
    /// What a person corrected before.
    before: Vec<CellText>,
}

impl Shelf {
    /// What stands in the row of something that could not be taken: an id or its beginning.
    ///
    /// # Errors
    /// [`Fault`] if nothing fits, or the file's original is not on this device.
    pub fn aside_cells(&self, which: &str) -> Result<AsideCells, Fault> {
        let found = self.found_aside(self.find_row(Some(EntityKind::Quarantined), which)?)?;
        let row = found.entry.row.unwrap_or_default();
        let texts = |column: usize| found.text(column);
        let mut columns: Vec<ColumnKept> = found.columns();
        let known: Vec<usize> = columns.iter().map(|column| column.column).collect();
        let others = found.row().into_iter().flat_map(|row| row.cells());
        for cell in others.filter(|cell| !cell.raw.trim().is_empty()) {
            let column = cell.column as usize;
            if !known.contains(&column) {
                columns.push(ColumnKept { column, header: String::new(), field: None });
            }
        }
        columns.sort_by_key(|column| column.column);
        let cells = columns.into_iter().map(|column| AsideCell {
            letters: letters(column.column),
            text: texts(column.column),
            at_fault: found.entry.column.and_then(|at| usize::try_from(at).ok()) == Some(column.column),
            column: column.column,
            header: column.header,
            field: column.field.map(|field| field.replace('_', " ")),
        });
        Ok(AsideCells {
            id: found.entry.id,
            row,
            cells: cells.collect(),
            mended: found.entry.repaired.is_some(),
            file: found.file.name,
            sheet: found.table.sheet,
            reason: found.entry.reason.unwrap_or_default(),
        })
    }

    /// Takes a row again with other texts in some of its cells, each named by its header or its letters.
    ///
    /// # Errors
    /// [`Fault`] if nothing fits, a column is not found, or the row still cannot be taken; nothing is changed then.
    pub fn mend_aside(&mut self, which: &str, set: &[(String, String)]) -> Result<RowMended, Fault> {
        let id = self.find_row(Some(EntityKind::Quarantined), which)?;
        let columns = self.found_aside(id)?.columns();
        let cells: Vec<CellText> = set
            .iter()
            .map(|(name, text)| {
                Ok(CellText { column: column_of(&columns, name)?, text: text.trim().to_owned() })
            })
            .collect::<Result<_, Fault>>()?;
        self.take_again(id, &cells)
    }

    /// Takes a row again with other texts in some of its cells.
    ///
    /// # Errors
    /// As [`Shelf::mend_aside`].
    pub fn take_again(&mut self, id: Uuid, cells: &[CellText]) -> Result<RowMended, Fault> {
        let found = self.found_aside(id)?;
        if found.entry.repaired.is_some() {
            return Err(Fault::new(Code::BadArgument, "this was mended already")
                .hint("Take the mending back first, if it is to be done again."));
        }
        let file_name = found.file.name.clone().unwrap_or_else(|| "file".into());
        let row = found.entry.row.unwrap_or_default();
        let mapping: Option<Mapping> =
            found.file.mapping.as_deref().and_then(|kept| serde_json::from_str(kept).ok());
        let correction = Correction {
            file_name: &file_name,
            workbook: &found.workbook,
            mapping: mapping.as_ref(),
            entry: &found.entry,
            before: &found.before,
            cells,
        };
        let mended = mend(&self.records()?, &correction).map_err(|why| {
            Fault::new(Code::NotTaken, format!("row {row} of {file_name}: {why}; nothing was changed"))
        })?;
        let mut all = found.before.clone();
        all.retain(|held| cells.iter().all(|cell| cell.column != held.column));
        all.extend_from_slice(cells);
        let all = serde_json::to_string(&all).map_err(|e| Fault::new(Code::Store, e.to_string()))?;
        let label = format!("mend row {row} of {file_name}");
        let outcome = self.store.write(&label, |w| {
            keep(w, &mended)?;
            for settled in &mended.settled {
                let record = mended.record.map_or(Value::Null, |(_, record)| Value::Id(record));
                w.edit::<Quarantined>(*settled, "repaired", record)?;
                w.edit::<Quarantined>(*settled, "mended", Value::Text(all.clone()))?;
            }
            Ok::<(), Fault>(())
        })?;
        let records = self.records()?;
        let names = Names::of(&records);
        let made = mended.record.map(|(kind, id)| called(&records, &names, kind, id));
        let said = match (&made, mended.is_empty()) {
            (Some(made), true) => format!("Row {row} of {file_name} is settled; {made} stays as it is."),
            (Some(made), false) => format!("Row {row} of {file_name} was taken: {made}."),
            (None, _) => format!("Row {row} of {file_name} was taken."),
        };
        let aside = mended.records.quarantined.iter().filter_map(|still| still.reason.clone());
        Ok(RowMended {
            id,
            change: outcome.transaction.map(|t| t.number),
            rows: outcome.changed.len(),
            record: mended.record.map(|(_, record)| record),
            kind: mended.record.map(|(kind, _)| kind.table().to_owned()),
            said,
            aside: aside.collect(),
        })
    }

    fn found_aside(&self, id: Uuid) -> Result<Found, Fault> {
        let gone = |what: &str| Fault::new(Code::NotFound, format!("{what} is not on this shelf any more"));
        let entry: Quarantined = self.store.get(id).map_err(store_fault)?.ok_or_else(|| gone("this row"))?;
        let table = entry.table.ok_or_else(|| gone("its table"))?;
        let table: SheetTable =
            self.store.get(table).map_err(store_fault)?.ok_or_else(|| gone("its table"))?;
        let file = table.file.ok_or_else(|| gone("its file"))?;
        let file: ImportFile = self.store.get(file).map_err(store_fault)?.ok_or_else(|| gone("its file"))?;
        let name = file.name.clone().unwrap_or_else(|| "file".into());
        let hash = file.sha256.as_deref().and_then(|hash| hash.try_into().ok());
        let hash = hash.ok_or_else(|| gone("the original of its file"))?;
        let bytes = self.store.blobs().get(&hash).map_err(store_fault)?.ok_or_else(|| {
            Fault::new(Code::NotFound, format!("the original of {name} is not on this device"))
                .hint("It comes with the next exchange with a device that has it.")
        })?;
        let workbook = read(&name, &bytes, &Limits::default())
            .map_err(|fault| Fault::new(Code::UnreadableFile, fault.to_string()))?;
        let beside: Vec<Quarantined> =
            self.store.find_by("table", &Value::Id(table.id)).map_err(store_fault)?;
        let before = beside
            .iter()
            .filter(|other| other.row == entry.row && other.repaired.is_some())
            .find_map(|other| serde_json::from_str(other.mended.as_deref()?).ok())
            .unwrap_or_default();
        Ok(Found { entry, table, file, workbook, before })
    }
}

impl Found {
    fn columns(&self) -> Vec<ColumnKept> {
        self.table.columns.as_deref().and_then(|kept| serde_json::from_str(kept).ok()).unwrap_or_default()
    }

    fn row(&self) -> Option<&airshelf_intake::reader::Row> {
        let sheet = self.workbook.sheets.iter().find(|sheet| sheet.name == self.table.sheet)?;
        sheet.row(u32::try_from(self.entry.row?).ok()?)
    }

    fn text(&self, column: usize) -> String {
        match self.before.iter().find(|cell| cell.column == column) {
            Some(cell) => cell.text.clone(),
            None => self.row().map_or("", |row| row.text(column)).trim().to_owned(),
        }
    }
}

fn letters(column: usize) -> String {
    column_name(u32::try_from(column).unwrap_or(u32::MAX))
}

/// The column of that header, or of those letters.
fn column_of(columns: &[ColumnKept], name: &str) -> Result<usize, Fault> {
    let headed: Vec<usize> =
        columns.iter().filter(|c| fold(&c.header) == fold(name)).map(|c| c.column).collect();
    match headed.as_slice() {
        [column] => return Ok(*column),
        [] => {}
        several => {
            let letters: Vec<String> = several.iter().map(|column| letters(*column)).collect();
            let what = format!("{} columns have the header `{name}`", several.len());
            return Err(Fault::new(Code::BadArgument, what)
                .hint(format!("Say which by its letters: {}.", letters.join(", "))));
        }
    }
    let upper = name.trim().to_ascii_uppercase();
    (0..16_384).find(|column| letters(*column) == upper).ok_or_else(|| {
        let known: Vec<String> =
            columns.iter().map(|c| format!("{} {}", letters(c.column), c.header)).collect();
        Fault::new(Code::BadArgument, format!("the sheet has no column `{name}`"))
            .hint(format!("Its columns are: {}.", known.join(", ")))
    })
}

/// Writes what a correction made.
fn keep(w: &mut Writer<'_>, mended: &Mended) -> Result<(), Fault> {
    mended.records.visit(&mut Put { w })?;
    for (struck, new) in &mended.replaced {
        w.strike(*struck, "mended from its sheet")?;
        w.create(new)?;
    }
    for one in &mended.completed {
        for (number, value) in &one.fields {
            edit(w, one.kind, one.row, *number, value.clone())?;
        }
    }
    Ok(())
}

fn edit(w: &mut Writer<'_>, kind: EntityKind, row: Uuid, number: u16, value: Value) -> Result<(), Fault> {
    fn of<E: Entity>(w: &mut Writer<'_>, row: Uuid, number: u16, value: Value) -> Result<(), Fault> {
        match E::FIELDS.iter().find(|field| field.number == number) {
            Some(field) => Ok(w.edit::<E>(row, field.name, value)?),
            None => Ok(()),
        }
    }
    match kind {
        EntityKind::Run => of::<Run>(w, row, number, value),
        EntityKind::Claim => of::<Claim>(w, row, number, value),
        EntityKind::Session => of::<Session>(w, row, number, value),
        EntityKind::Part => of::<Part>(w, row, number, value),
        EntityKind::Prediction => of::<Prediction>(w, row, number, value),
        EntityKind::Rating => of::<Rating>(w, row, number, value),
        _ => Ok(()),
    }
}

/// Puts rows down; one that was there and taken back says from now on what this one says.
struct Put<'w, 'c> {
    w: &'w mut Writer<'c>,
}

impl<'r> Visit<'r> for Put<'_, '_> {
    type Error = Fault;

    fn row<E: Entity>(&mut self, row: &'r E) -> Result<(), Fault> {
        if E::KIND == EntityKind::Reading && self.w.get::<E>(row.id())?.is_some() {
            // One that was struck out stays so.
            let mut again = row.clone();
            again.set_id(Uuid::nil());
            self.w.create(&again)?;
            return Ok(());
        }
        let id = self.w.create(row)?;
        if matches!(E::KIND, EntityKind::Reading | EntityKind::Assembly) {
            return Ok(());
        }
        for (index, field) in E::FIELDS.iter().enumerate() {
            self.w.edit::<E>(id, field.name, row.value(index).to_owned())?;
        }
        Ok(())
    }
}
