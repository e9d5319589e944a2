//! Everything of a few evenings, and nothing else: quick however large the shelf is.

use crate::error::StoreError;
use crate::hidden::Hidden;
use crate::local::{self, Uuids};
use crate::shelf::Store;
use airshelf_catalog::ids::unpack_layers;
use airshelf_catalog::model::*;
use airshelf_catalog::records::Gather;
use airshelf_catalog::{Entity, Records};
use std::collections::BTreeSet;
use uuid::Uuid;

impl Store {
    /// Reads sessions with their runs, readings, claims and predictions, the assemblies and parts that these name with
    /// their dimensions, and every bench and range. A session that is not there adds nothing.
    ///
    /// # Errors
    /// [`StoreError`] if the file is busy or damaged.
    pub fn evenings(&self, sessions: &[Uuid]) -> Result<Records, StoreError> {
        // One reading transaction, so that a write meanwhile is seen whole or not at all.
        let _held = self.conn.unchecked_transaction()?;
        let uuids = Uuids::one_by_one(&self.conn);
        let hidden = self.hidden()?;
        let mut records = Records {
            benches: self.read(&uuids, &hidden, "", None)?,
            bench_ranges: self.read(&uuids, &hidden, "", None)?,
            decisions: self.read(&uuids, &hidden, "", None)?,
            sheet_tables: self.read(&uuids, &hidden, "", None)?,
            import_files: self.read(&uuids, &hidden, "", None)?,
            ..Records::default()
        };
        for session in sessions {
            let of_runs = "WHERE run IN (SELECT id FROM run WHERE session = ?1) ORDER BY id";
            self.gather::<Session>(&uuids, &hidden, *session, "WHERE id = ?1", &mut records)?;
            self.gather::<Run>(&uuids, &hidden, *session, "WHERE session = ?1 ORDER BY id", &mut records)?;
            self.gather::<Prediction>(&uuids, &hidden, *session, "WHERE session = ?1", &mut records)?;
            self.gather::<Reading>(&uuids, &hidden, *session, of_runs, &mut records)?;
            self.gather::<Claim>(&uuids, &hidden, *session, of_runs, &mut records)?;
        }
        let assemblies: BTreeSet<Uuid> = records.runs.iter().filter_map(|run| run.assembly).collect();
        for assembly in assemblies {
            self.gather::<Assembly>(&uuids, &hidden, assembly, "WHERE id = ?1", &mut records)?;
        }
        let layers = records.assemblies.iter().filter_map(|a| unpack_layers(a.layers.as_deref()?));
        let mut revisions: BTreeSet<Uuid> = layers.flatten().map(|layer| layer.revision).collect();
        revisions.extend(records.runs.iter().flat_map(|run| [run.item, run.stud]).flatten());
        revisions.extend(records.sessions.iter().filter_map(|session| session.item));
        for revision in &revisions {
            self.gather::<Revision>(&uuids, &hidden, *revision, "WHERE id = ?1", &mut records)?;
            self.gather::<Measurement>(&uuids, &hidden, *revision, "WHERE revision = ?1", &mut records)?;
        }
        let parts: BTreeSet<Uuid> = records.revisions.iter().filter_map(|revision| revision.part).collect();
        for part in parts {
            self.gather::<Part>(&uuids, &hidden, part, "WHERE id = ?1", &mut records)?;
        }
        Ok(records)
    }

    fn gather<E: Entity + Gather>(
        &self,
        uuids: &Uuids<'_>,
        hidden: &Hidden,
        of: Uuid,
        clause: &str,
        records: &mut Records,
    ) -> Result<(), StoreError> {
        if let Some(known) = local::find(&self.conn, of)? {
            let mut rows: Vec<E> = self.read(uuids, hidden, clause, Some(known.id.into()))?;
            E::gather_mut(records).append(&mut rows);
        }
        Ok(())
    }

    /// What the wall clock of this device shows, with its offset.
    pub fn wall(&self) -> String {
        self.host.wall()
    }
}
