//! Parts as a list shows them: a few questions for the whole stretch, not a few for each part.

use crate::error::StoreError;
use crate::local::{self, Uuids, uuid_of};
use crate::query::Read;
use crate::shelf::Store;
use airshelf_catalog::model::*;
use std::collections::{HashMap, HashSet};
use uuid::Uuid;

/// What a stretch of a list is made of.
#[derive(Clone, Debug, Default)]
pub struct PartRows {
    /// The parts, in no order.
    pub parts: Vec<Part>,
    /// All their revisions.
    pub revisions: Vec<Revision>,
    /// All sizes of those, the first kept first.
    pub measurements: Vec<Measurement>,
    /// On how many evenings each was in an assembly that was run; none where on none.
    pub evenings: HashMap<Uuid, usize>,
}

impl Store {
    /// Reads parts with their revisions, their sizes and how often they were run.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn part_rows(&self, parts: &[Uuid]) -> Result<PartRows, StoreError> {
        // One reading transaction, so that the file is not locked and let go for every question.
        let _held = self.conn.unchecked_transaction()?;
        let mut ids = Vec::new();
        for part in parts {
            ids.extend(local::find(&self.conn, *part)?.map(|known| known.id.to_string()));
        }
        let list = format!("[{}]", ids.join(","));
        let (uuids, hidden) = (Uuids::one_by_one(&self.conn), self.hidden()?);
        let read = Read { store: self, uuids: &uuids, hidden: &hidden };
        let of = || Some(list.clone().into());
        let rows = PartRows {
            parts: read.rows("WHERE id IN (SELECT value FROM json_each(?1))", of())?,
            revisions: read.rows("WHERE part IN (SELECT value FROM json_each(?1)) ORDER BY id", of())?,
            measurements: read.rows(
                "WHERE revision IN (SELECT id FROM revision WHERE part IN (SELECT value FROM json_each(?1)))
                 ORDER BY id",
                of(),
            )?,
            evenings: HashMap::new(),
        };
        let mut run = self.conn.prepare_cached(
            "SELECT DISTINCT r.part, run.id, run.session FROM revision r JOIN layer l ON l.revision = r.id
             JOIN run ON run.assembly = l.assembly
             WHERE r.part IN (SELECT value FROM json_each(?1)) AND run.session IS NOT NULL",
        )?;
        let mut sessions: HashMap<i64, HashSet<i64>> = HashMap::new();
        let mut found = run.query([&list])?;
        while let Some(row) = found.next()? {
            let (part, run, session): (i64, i64, i64) = (row.get(0)?, row.get(1)?, row.get(2)?);
            if !hidden.contains(run) && !hidden.contains(session) {
                sessions.entry(part).or_default().insert(session);
            }
        }
        let evenings = sessions.into_iter().map(|(part, of)| Ok((uuids.of(part)?, of.len())));
        let evenings = evenings.collect::<Result<_, StoreError>>()?;
        Ok(PartRows { evenings, ..rows })
    }
}

/// The parts that words pick of the first so many rows that have them, each with its local integer.
pub(crate) const BY_WORDS: &str = "
    SELECT p.id, w.uuid FROM (SELECT rowid AS id FROM search WHERE search MATCH ?1 LIMIT ?2) s
    LEFT JOIN part q ON q.id = s.id
    LEFT JOIN revision r ON r.id = s.id
    LEFT JOIN measurement m ON m.id = s.id
    LEFT JOIN revision m_r ON m_r.id = m.revision
    LEFT JOIN alias a ON a.id = s.id
    LEFT JOIN listing l ON l.id = s.id
    JOIN part p ON p.id = coalesce(q.id, r.part, m_r.part, a.part, l.part)
    JOIN row w ON w.id = p.id
    WHERE (?3 IS NULL OR p.kind = ?3) AND (?4 IS NULL OR p.status = ?4)";

/// A part's local integer and identifier.
pub(crate) fn picked(row: &rusqlite::Row<'_>) -> Result<(i64, Uuid), StoreError> {
    Ok((row.get(0)?, uuid_of(row.get_ref(1)?)?))
}
