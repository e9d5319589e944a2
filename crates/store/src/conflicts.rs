//! Conflicts: what people wrote apart about one field, for a person to settle.

use crate::error::StoreError;
use crate::shelf::Store;
use crate::tables::Tables;
use crate::writer::{Outcome, Writer};
use airshelf_catalog::change::{Live, same};
use airshelf_catalog::{EntityKind, FieldDef, Value};
use uuid::Uuid;

/// A field with more than one standing value.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict {
    /// What the row is.
    pub kind: EntityKind,
    /// Which row.
    pub id: Uuid,
    /// The field.
    pub field: &'static FieldDef,
    /// The value that shows, the latest.
    pub shown: Live,
    /// The others, latest first.
    pub others: Vec<Live>,
}

/// Where a row was found is not for people to settle: two devices may import two sheets that say the same.
fn is_provenance(kind: EntityKind, field: &FieldDef) -> bool {
    matches!(
        kind,
        EntityKind::ImportFile
            | EntityKind::SheetTable
            | EntityKind::SheetRows
            | EntityKind::AlsoAt
            | EntityKind::Quarantined
    ) || matches!(field.name, "table" | "row" | "column" | "only_named")
}

impl Store {
    /// Lists the conflicts that stand.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn conflicts(&self) -> Result<Vec<Conflict>, StoreError> {
        let mut read = self.conn.prepare_cached("SELECT DISTINCT row FROM rival ORDER BY row")?;
        let rows: Vec<i64> = read.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        let mut tables = Tables::open(&self.conn, &*self.host)?;
        let mut found = Vec::new();
        for row in rows {
            found.append(&mut conflicts_of(&mut tables, row)?);
        }
        Ok(found)
    }

    /// Settles a conflict: the value stands alone from now on, for everything that this device has seen.
    ///
    /// # Errors
    /// As [`Writer::edit`].
    pub fn settle(&mut self, conflict: &Conflict, value: Value) -> Result<Outcome<()>, StoreError> {
        self.write("settle a conflict", |w| w.settle(conflict, value))
    }
}

/// The conflicts of one row.
pub(crate) fn conflicts_of(tables: &mut Tables<'_>, row: i64) -> Result<Vec<Conflict>, StoreError> {
    let (id, entity, _) = tables.told(row)?;
    let (state, _) = tables.state(row)?;
    let Some(kind) = EntityKind::from_number(entity) else { return Ok(vec![]) };
    let mut found = Vec::new();
    if state.born.is_none() || tables.is_dead(row)? {
        return Ok(found);
    }
    for field in kind.fields().iter().filter(|field| tables.knows(kind, field.number)) {
        let Some([shown, rest @ ..]) = state.fields.get(&field.number).map(|live| &live[..]) else {
            continue;
        };
        let mut others: Vec<Live> = Vec::new();
        for live in rest {
            if !same(&live.value, &shown.value) && !others.iter().any(|held| same(&held.value, &live.value)) {
                others.push(live.clone());
            }
        }
        if !others.is_empty() && !is_provenance(kind, field) {
            found.push(Conflict { kind, id, field, shown: shown.clone(), others });
        }
    }
    Ok(found)
}

impl Writer<'_> {
    /// Settles a conflict within a write; see [`Store::settle`].
    ///
    /// # Errors
    /// As [`Writer::edit`].
    pub fn settle(&mut self, conflict: &Conflict, value: Value) -> Result<(), StoreError> {
        crate::rows::fits(conflict.field, &value)
            .map_err(|e| StoreError::NotAField { entity: conflict.kind.table(), why: e.to_string() })?;
        self.set(conflict.kind, conflict.id, conflict.field.number, value, true)
    }
}
