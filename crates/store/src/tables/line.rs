//! The typed line of a row, and what is derived from it.

use super::Tables;
use crate::error::StoreError;
use crate::layout::layout;
use crate::{rows, search};
use airshelf_catalog::ids::unpack_layers;
use airshelf_catalog::{EntityKind, FieldKind, ValueRef};
use rusqlite::CachedStatement;

impl Tables<'_> {
    /// Writes the typed line of a row that has none yet.
    pub(crate) fn insert<'v>(
        &mut self,
        kind: EntityKind,
        id: i64,
        value: impl Fn(usize) -> ValueRef<'v>,
    ) -> Result<(), StoreError> {
        let slot = usize::from(kind.number());
        let mut statement = match self.inserts[slot].take() {
            Some(statement) => statement,
            None => self.conn.prepare_cached(&layout(kind).insert)?,
        };
        let done = self.bind_and_run(&mut statement, kind, id, &value);
        self.inserts[slot] = Some(statement);
        done?;
        self.beside(kind, id, &value, false)
    }

    pub(super) fn bind_and_run<'v>(
        &mut self,
        statement: &mut CachedStatement<'_>,
        kind: EntityKind,
        id: i64,
        value: &impl Fn(usize) -> ValueRef<'v>,
    ) -> Result<(), StoreError> {
        let layout = layout(kind);
        statement.clear_bindings();
        statement.raw_bind_parameter(1, id)?;
        for (index, field) in kind.fields().iter().enumerate() {
            let value = value(index);
            let link = match (value, field.kind) {
                (ValueRef::Id(to), FieldKind::Link(kind)) => self.id_of(to, kind.number())?,
                (ValueRef::Id(to), _) => self.id_of(to, 0)?,
                _ => 0,
            };
            rows::bind(statement, layout.first[index] + 2, value, link, &mut self.scratch)?;
        }
        statement.raw_execute()?;
        Ok(())
    }

    /// Writes what is derived from a line: an assembly's layers, the words to find it by.
    pub(super) fn beside<'v>(
        &mut self,
        kind: EntityKind,
        id: i64,
        value: &impl Fn(usize) -> ValueRef<'v>,
        again: bool,
    ) -> Result<(), StoreError> {
        if kind == EntityKind::Assembly {
            if again {
                self.conn.prepare_cached("DELETE FROM layer WHERE assembly = ?1")?.execute([id])?;
            }
            if let ValueRef::Bytes(packed) = value(0) {
                self.layers(id, packed)?;
            }
        }
        search::index(self.conn, kind, id, value, again)
    }

    fn layers(&mut self, assembly: i64, packed: &[u8]) -> Result<(), StoreError> {
        let mut insert = match self.new_layer.take() {
            Some(insert) => insert,
            None => self.conn.prepare_cached(
                "INSERT INTO layer (assembly, position, revision, orientation, gap_m) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?,
        };
        for (position, layer) in unpack_layers(packed).unwrap_or_default().iter().enumerate() {
            let revision = self.id_of(layer.revision, EntityKind::Revision.number())?;
            let orientation = Some(&layer.orientation).filter(|o| !o.is_empty());
            insert.execute((assembly, position as i64, revision, orientation, layer.gap_m))?;
        }
        self.new_layer = Some(insert);
        Ok(())
    }
}
