//! Canonical sheets of a shelf.

use crate::code::{Code, Fault};
use crate::shelf::Shelf;
use airshelf_catalog::EntityKind;
use airshelf_intake::export;
use serde_json::{Map, Value};
use std::collections::BTreeSet;

impl Shelf {
    /// Everything in one ZIP file: the database, photos and originals, canonical sheets, and every table as CSV. Restoring
    /// takes it as it takes a backup. Gives a name for the file with its bytes.
    ///
    /// # Errors
    /// [`Fault`] if the shelf is damaged.
    pub fn export_everything(&mut self) -> Result<(String, Vec<u8>), Fault> {
        let mut sheets = vec![
            ("runs.csv".to_owned(), self.export_runs()?),
            ("parts.csv".to_owned(), self.export_parts()?),
        ];
        let packed = |kind: &EntityKind| !matches!(kind, EntityKind::SheetRows);
        for kind in EntityKind::ALL.iter().copied().filter(packed) {
            sheets.push((format!("tables/{}.csv", kind.table()), self.table(kind)?));
        }
        let name = format!("airshelf-{}.zip", self.store.today());
        Ok((name, self.store.pack(&sheets)?))
    }

    /// The rows of a kind, SI values with keys that end in their unit.
    fn table(&self, kind: EntityKind) -> Result<Vec<u8>, Fault> {
        let rows: Vec<Map<String, Value>> =
            self.list(kind, None, self.system(), |rows| rows.map(|row| row.json).collect())?;
        let columns: BTreeSet<&String> = rows.iter().flat_map(Map::keys).collect();
        let mut out = csv::Writer::from_writer(Vec::new());
        let cell = |value: Option<&Value>| match value {
            None | Some(Value::Null) => String::new(),
            Some(Value::String(text)) => text.clone(),
            Some(value) => value.to_string(),
        };
        let cannot = |e: csv::Error| Fault::new(Code::Store, e.to_string());
        if !columns.is_empty() {
            out.write_record(columns.iter().map(|name| name.as_str())).map_err(cannot)?;
        }
        for row in &rows {
            out.write_record(columns.iter().map(|name| cell(row.get(*name)))).map_err(cannot)?;
        }
        out.into_inner().map_err(|e| Fault::new(Code::Store, e.to_string()))
    }

    /// Makes a shelf of an export's or a backup's bytes where there is none.
    ///
    /// # Errors
    /// [`Fault`] if there is a shelf already, or the bytes are no sound backup.
    pub fn unpack(
        bytes: &[u8],
        dir: &std::path::Path,
        host: std::sync::Arc<dyn airshelf_store::Host>,
    ) -> Result<Shelf, Fault> {
        Ok(Shelf { store: airshelf_store::Store::unpack(bytes, dir, host)? })
    }

    /// The runs as a canonical sheet; importing it into an empty shelf gives the same values.
    ///
    /// # Errors
    /// [`Fault`] if the shelf cannot be read.
    pub fn export_runs(&self) -> Result<Vec<u8>, Fault> {
        let mut out = Vec::new();
        export::runs(&self.records()?, &mut out).map_err(|e| Fault::new(Code::Store, e.to_string()))?;
        Ok(out)
    }

    /// The parts as a canonical sheet.
    ///
    /// # Errors
    /// As [`Shelf::export_runs`].
    pub fn export_parts(&self) -> Result<Vec<u8>, Fault> {
        let mut out = Vec::new();
        export::parts(&self.records()?, &mut out).map_err(|e| Fault::new(Code::Store, e.to_string()))?;
        Ok(out)
    }
}
