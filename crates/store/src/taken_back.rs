//! Whether an import that somebody took back stays so.
//!
//! It does unless the file was imported by somebody whose import the one who took it back had not seen, as with a
//! delete. The change that takes a file back therefore names among the stamps that it replaces every transaction of
//! the file's imports that its writer held; one that names none was written before that, and means all with an
//! earlier stamp.

use crate::error::StoreError;
use crate::local;
use crate::log;
use crate::tables::{Tables, Told};
use airshelf_catalog::change::branch::means;
use airshelf_catalog::change::{Act, RowState, Stamp};
use airshelf_catalog::model::ImportFile;
use airshelf_catalog::{Entity, EntityKind, Value};
use rusqlite::Connection;
use uuid::Uuid;

/// The number of the field that says that an import was taken back.
pub(crate) fn undone() -> u16 {
    let field = ImportFile::FIELDS.iter().find(|field| field.name == "undone");
    field.expect("a field of the catalog").number
}

/// The transactions held that imported a file, in their order: what is written of them is the same on every machine.
pub(crate) fn imports_of(conn: &Connection, file: Uuid) -> Result<Vec<Stamp>, StoreError> {
    let found = log::transactions_of(conn, |files| files.contains(&file))?;
    let stamps = found.into_iter().map(|txn| Ok(local::place(conn, txn)?.stamp));
    let mut stamps = stamps.collect::<Result<Vec<_>, StoreError>>()?;
    stamps.sort_unstable();
    Ok(stamps)
}

/// Whether the file was taken back, and yet stands, since it was imported by somebody apart from that.
pub(crate) fn stands(
    conn: &Connection,
    file: Uuid,
    state: &RowState,
    told: &Told,
) -> Result<bool, StoreError> {
    let live = state.fields.get(&undone()).map_or(&[][..], |live| live);
    if live.first().is_none_or(|live| live.value != Value::Int(1)) {
        return Ok(false);
    }
    let imports = imports_of(conn, file)?;
    let taken_back: Vec<(Stamp, &[Stamp])> = told
        .iter()
        .filter_map(|(place, change)| {
            let Act::Edit(edits) = &change.act else { return None };
            let edit = edits.iter().find(|edit| edit.field == undone() && edit.value == Value::Int(1))?;
            let counts = live.iter().any(|live| live.stamp == place.stamp);
            counts.then_some((place.stamp, &edit.replaces[..]))
        })
        .collect();
    Ok(imports.iter().any(|import| {
        !taken_back.iter().any(|(by, named)| {
            match named.iter().any(|name| imports.iter().any(|held| held.hlc == name.hlc)) {
                true => means(named, *by, *import, imports.iter()),
                false => import <= by,
            }
        })
    }))
}

impl Tables<'_> {
    /// Looks again whether files stay taken back, after transactions of their imports came.
    pub(crate) fn imported_apart(&mut self, files: &[Uuid]) -> Result<(), StoreError> {
        for file in files {
            if let Some(known) = local::find(self.conn, *file)?
                && self.is_touched(known.id)?
            {
                self.add_up(known.id)?;
            }
        }
        Ok(())
    }

    /// Looks again whether every file stays taken back that was.
    pub(crate) fn take_back_again(&mut self) -> Result<(), StoreError> {
        let files: Vec<i64> = self
            .conn
            .prepare_cached(
                "SELECT DISTINCT t.row FROM touch t JOIN row r ON r.id = t.row WHERE r.entity = ?1",
            )?
            .query_map([EntityKind::ImportFile.number()], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        files.into_iter().try_for_each(|file| self.add_up(file))
    }

    /// Whether a file shows as taken back.
    pub(crate) fn is_taken_back(&self, id: i64) -> Result<bool, StoreError> {
        let mut find = self.conn.prepare_cached("SELECT 1 FROM import_file WHERE id = ?1 AND undone = 1")?;
        Ok(find.exists([id])?)
    }
}
