//! What refers to a row, to be asked before it is deleted.

use crate::error::StoreError;
use crate::layout::layout;
use crate::local::{self, Uuids};
use crate::shelf::Store;
use airshelf_catalog::{EntityKind, FieldKind};
use std::collections::BTreeSet;
use uuid::Uuid;

impl Store {
    /// Lists the rows in sight that link to a row, at most `limit` of them, in the order of [`EntityKind::ALL`].
    ///
    /// Only what links to it itself: a part is named by its revisions, a revision by assemblies that have it as a
    /// layer, an assembly by its runs. Another place in an imported sheet that says the same does not count. A row that
    /// is not held has none.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn references(&self, id: Uuid, limit: usize) -> Result<Vec<(EntityKind, Uuid)>, StoreError> {
        let _held = self.conn.unchecked_transaction()?;
        let Some(known) = local::find(&self.conn, id)? else { return Ok(Vec::new()) };
        let hidden = self.hidden()?;
        let uuids = Uuids::one_by_one(&self.conn);
        let mut found = Vec::new();
        for kind in EntityKind::ALL.iter().filter(|kind| **kind != EntityKind::AlsoAt) {
            let mut from: BTreeSet<i64> = BTreeSet::new();
            let mut ask = |sql: &str| -> Result<(), StoreError> {
                let mut read = self.conn.prepare_cached(sql)?;
                let mut rows = read.query([known.id])?;
                while let Some(row) = rows.next()? {
                    let row = row.get(0)?;
                    if row != known.id && !hidden.contains(row) {
                        from.insert(row);
                    }
                    if found.len() + from.len() >= limit {
                        break;
                    }
                }
                Ok(())
            };
            for (index, field) in kind.fields().iter().enumerate() {
                let fits = match field.kind {
                    FieldKind::Link(to) => to.number() == known.entity,
                    FieldKind::LinkAny => true,
                    _ => false,
                };
                if fits {
                    let column = &layout(*kind).columns[layout(*kind).first[index]].0;
                    ask(&format!("SELECT id FROM \"{}\" WHERE \"{column}\" = ?1", kind.table()))?;
                }
            }
            if *kind == EntityKind::Assembly && known.entity == EntityKind::Revision.number() {
                ask("SELECT assembly FROM layer WHERE revision = ?1")?;
            }
            for row in from {
                found.push((*kind, uuids.of(row)?));
            }
            if found.len() >= limit {
                found.truncate(limit);
                break;
            }
        }
        Ok(found)
    }
}
