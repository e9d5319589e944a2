//! One session with what it is compared by, and nothing else of the shelf.

use crate::error::StoreError;
use crate::local::{self, Uuids};
use crate::query::Read;
use crate::shelf::Store;
use airshelf_catalog::Records;
use uuid::Uuid;

/// How much a session holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SessionCount {
    /// The session.
    pub session: Uuid,
    /// Its runs.
    pub runs: usize,
    /// Different assemblies that its runs tested.
    pub assemblies: usize,
    /// What stood on the bench, where all its runs say the same.
    pub item: Option<Uuid>,
}

/// Sessions that a session is compared with or may repeat: its own day's, and earlier ones on one of its ranges.
const BESIDE: &str = "
    WITH own AS (SELECT id, date, range FROM session WHERE id = ?1),
    ranges AS (
        SELECT coalesce(r.range, own.range) AS range FROM own JOIN run r ON r.session = own.id
        UNION SELECT range FROM own)
    SELECT s.id FROM session s, own
    WHERE s.id = own.id OR s.date = own.date
       OR ((s.date IS NULL OR s.date <= own.date)
           AND EXISTS (SELECT 1 FROM run r, ranges
                       WHERE r.session = s.id AND coalesce(r.range, s.range) IS ranges.range))";

const OF_RUNS: &str =
    "WHERE run IN (SELECT id FROM run WHERE session IN (SELECT value FROM json_each(?1))) ORDER BY id";
const ASSEMBLIES: &str =
    "WHERE id IN (SELECT assembly FROM run WHERE session IN (SELECT value FROM json_each(?1)))";
/// The revisions in those assemblies, under them and on the studs, with the other revisions of the same parts.
const REVISIONS: &str = "
    SELECT id FROM revision WHERE part IN (SELECT part FROM revision WHERE id IN (
        SELECT l.revision FROM run r JOIN layer l ON l.assembly = r.assembly
            WHERE r.session IN (SELECT value FROM json_each(?1))
        UNION SELECT item FROM run WHERE session IN (SELECT value FROM json_each(?1))
        UNION SELECT stud FROM run WHERE session IN (SELECT value FROM json_each(?1))
        UNION SELECT item FROM session WHERE id IN (SELECT value FROM json_each(?1))))";

impl Store {
    /// Reads a session with its runs, the sessions that teach the bench's scatter or may hold the same runs, and the
    /// parts, benches and decisions that they name.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn evening(&self, session: Uuid) -> Result<Records, StoreError> {
        let _held = self.conn.unchecked_transaction()?;
        let Some(known) = local::find(&self.conn, session)? else { return Ok(Records::default()) };
        let hidden = self.hidden()?;
        let uuids = Uuids::one_by_one(&self.conn);
        let sessions = self.list(BESIDE, known.id.into())?;
        let revisions = self.list(REVISIONS, sessions.clone().into())?;
        let of = |list: &str| Some(list.to_owned().into());
        let read = Read { store: self, uuids: &uuids, hidden: &hidden };
        let listed = "WHERE id IN (SELECT value FROM json_each(?1)) ORDER BY id";
        Ok(Records {
            sessions: read.rows(listed, of(&sessions))?,
            runs: read
                .rows("WHERE session IN (SELECT value FROM json_each(?1)) ORDER BY id", of(&sessions))?,
            readings: read.rows(OF_RUNS, of(&sessions))?,
            claims: read.rows(OF_RUNS, of(&sessions))?,
            assemblies: read.rows(ASSEMBLIES, of(&sessions))?,
            revisions: read.rows(listed, of(&revisions))?,
            parts: read.rows(
                "WHERE id IN (SELECT part FROM revision WHERE id IN (SELECT value FROM json_each(?1)))",
                of(&revisions),
            )?,
            measurements: read
                .rows("WHERE revision IN (SELECT value FROM json_each(?1)) ORDER BY id", of(&revisions))?,
            benches: read.rows("", None)?,
            bench_ranges: read.rows("", None)?,
            engines: read.rows("", None)?,
            vehicles: read.rows("", None)?,
            service_events: read.rows("", None)?,
            decisions: read.rows("", None)?,
            import_files: read.rows("", None)?,
            sheet_tables: read.rows("", None)?,
            also_at: read.rows("", None)?,
            ..Records::default()
        })
    }

    /// How much each session holds.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn session_counts(&self) -> Result<Vec<SessionCount>, StoreError> {
        let uuids = Uuids::one_by_one(&self.conn);
        let mut select = self.conn.prepare_cached(
            "SELECT session, count(*), count(DISTINCT assembly), min(item), max(item) FROM run
             WHERE session IS NOT NULL GROUP BY session",
        )?;
        let mut rows = select.query([])?;
        let mut counts = Vec::new();
        while let Some(row) = rows.next()? {
            let (first, last): (Option<i64>, Option<i64>) = (row.get(3)?, row.get(4)?);
            let item = first.filter(|first| Some(*first) == last).map(|item| uuids.of(item)).transpose()?;
            let (runs, assemblies): (i64, i64) = (row.get(1)?, row.get(2)?);
            counts.push(SessionCount {
                session: uuids.of(row.get(0)?)?,
                runs: runs as usize,
                assemblies: assemblies as usize,
                item,
            });
        }
        Ok(counts)
    }

    /// Local integers as a JSON list, to be given to another question.
    fn list(&self, sql: &str, wanted: rusqlite::types::Value) -> Result<String, StoreError> {
        let mut select = self.conn.prepare_cached(sql)?;
        let mut rows = select.query([wanted])?;
        let mut list = String::from("[");
        while let Some(row) = rows.next()? {
            if list.len() > 1 {
                list.push(',');
            }
            list.push_str(&row.get::<_, i64>(0)?.to_string());
        }
        list.push(']');
        Ok(list)
    }
}
