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

fn layers(assembly: &Assembly) -> Vec<Uuid> {
    let layers = assembly.layers.as_deref().and_then(unpack_layers).unwrap_or_default();
    layers.into_iter().map(|layer| layer.revision).collect()
}

const OF_LIST: &str = "WHERE id IN (SELECT value FROM json_each(?1)) ORDER BY id";

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
        records.assemblies = self.listed(&uuids, &hidden, &assemblies, OF_LIST)?;
        records.assemblies.sort_by_key(|assembly| assembly.id);
        let mut revisions: BTreeSet<Uuid> = records.assemblies.iter().flat_map(layers).collect();
        revisions.extend(records.runs.iter().flat_map(|run| [run.item, run.stud]).flatten());
        revisions.extend(records.sessions.iter().filter_map(|session| session.item));
        self.parts_of(&uuids, &hidden, &revisions, &mut records)?;
        Ok(records)
    }

    /// Adds an assembly that is not kept yet, with its parts, to records that lack it.
    ///
    /// # Errors
    /// [`StoreError`] if the file is busy or damaged.
    pub fn take_in(&self, records: &mut Records, assembly: Assembly) -> Result<(), StoreError> {
        let revisions: BTreeSet<Uuid> = layers(&assembly).into_iter().collect();
        records.assemblies.push(assembly);
        self.parts_of(&Uuids::one_by_one(&self.conn), &*self.hidden()?, &revisions, records)
    }

    fn parts_of(
        &self,
        uuids: &Uuids<'_>,
        hidden: &Hidden,
        revisions: &BTreeSet<Uuid>,
        records: &mut Records,
    ) -> Result<(), StoreError> {
        let held: BTreeSet<Uuid> = records.revisions.iter().map(|revision| revision.id).collect();
        let new: BTreeSet<Uuid> = revisions.difference(&held).copied().collect();
        let mut read: Vec<Revision> = self.listed(uuids, hidden, &new, OF_LIST)?;
        read.sort_by_key(|revision| revision.id);
        let of_list = "WHERE revision IN (SELECT value FROM json_each(?1)) ORDER BY id";
        let mut sizes: Vec<Measurement> = self.listed(uuids, hidden, &new, of_list)?;
        sizes.sort_by_key(|size| size.revision);
        let held: BTreeSet<Uuid> = records.parts.iter().map(|part| part.id).collect();
        let parts: BTreeSet<Uuid> = read.iter().filter_map(|r| r.part).collect();
        let mut parts: Vec<Part> =
            self.listed(uuids, hidden, &parts.difference(&held).copied().collect(), OF_LIST)?;
        parts.sort_by_key(|part| part.id);
        records.revisions.append(&mut read);
        records.measurements.append(&mut sizes);
        records.parts.append(&mut parts);
        Ok(())
    }

    /// The rows that a clause picks by a list of others, in one question.
    fn listed<E: Entity>(
        &self,
        uuids: &Uuids<'_>,
        hidden: &Hidden,
        of: &BTreeSet<Uuid>,
        clause: &str,
    ) -> Result<Vec<E>, StoreError> {
        let mut ids = Vec::new();
        for id in of {
            ids.extend(local::find(&self.conn, *id)?.map(|known| known.id.to_string()));
        }
        self.read(uuids, hidden, clause, Some(format!("[{}]", ids.join(",")).into()))
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
