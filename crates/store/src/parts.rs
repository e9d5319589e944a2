//! Parts and assemblies as lists ask for them: a stretch at a time, by words, by sizes, with the evenings they were in.

use crate::error::StoreError;
use crate::hidden::Hidden;
use crate::local;
use crate::part_rows::{BY_WORDS, picked};
use crate::shelf::Store;
use airshelf_catalog::{PartDimension, PartKind, PartStatus};
use rusqlite::{OptionalExtension, params_from_iter};
use std::collections::{BTreeSet, HashMap, HashSet};
use uuid::Uuid;

/// Which parts a list shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PartFilter {
    /// Only of that kind.
    pub kind: Option<PartKind>,
    /// Only of that status.
    pub status: Option<PartStatus>,
}

/// A size that somebody looks for.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeSought {
    /// Which dimensions it may be.
    pub dimensions: Vec<PartDimension>,
    /// The size, SI.
    pub si: f64,
    /// How far a size may be off and still be listed.
    pub reach_si: f64,
    /// How far two readings of one size may be apart.
    pub reading_si: f64,
}

/// A part near to the sizes sought.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NearPart {
    /// Which.
    pub part: Uuid,
    /// How many of the sizes it has within reach.
    pub sizes: usize,
    /// How far it is from them, in reading errors: the root of the sum of squares.
    pub distance: f64,
}

/// How many rows of words are looked through.
const MOST_WORDS: usize = 600;

impl Store {
    /// A stretch of the parts in the order of their tags, those without one last, and how many there are.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn parts_in_order(
        &self,
        only: PartFilter,
        from: usize,
        count: usize,
    ) -> Result<(usize, Vec<Uuid>), StoreError> {
        let hidden = self.hidden()?;
        let (clause, values) = clause_of(only);
        let total: i64 = self
            .conn
            .prepare_cached(&format!("SELECT count(*) FROM part WHERE {clause}"))?
            .query_row(params_from_iter(values.iter()), |row| row.get(0))?;
        let hidden_parts = self.hidden_parts(&hidden, only)?;
        let mut left_over = from;
        let mut found = Vec::new();
        for order in ["tag IS NOT NULL ORDER BY tag, id", "tag IS NULL ORDER BY name, id"] {
            let mut read =
                self.conn.prepare_cached(&format!("SELECT id FROM part WHERE {clause} AND {order}"))?;
            let mut rows = read.query(params_from_iter(values.iter()))?;
            while found.len() < count {
                let Some(row) = rows.next()? else { break };
                let id: i64 = row.get(0)?;
                if hidden_parts.contains(&id) {
                    continue;
                }
                if left_over > 0 {
                    left_over -= 1;
                    continue;
                }
                found.push(self.uuid_of(id)?);
            }
        }
        Ok((usize::try_from(total).unwrap_or(0).saturating_sub(hidden_parts.len()), found))
    }

    fn hidden_parts(&self, hidden: &Hidden, only: PartFilter) -> Result<HashSet<i64>, StoreError> {
        let mut parts = HashSet::new();
        for id in hidden.ids() {
            if self.is_such_a_part(id, only)? {
                parts.insert(id);
            }
        }
        Ok(parts)
    }

    fn is_such_a_part(&self, id: i64, only: PartFilter) -> Result<bool, StoreError> {
        let mut find = self.conn.prepare_cached("SELECT kind, status FROM part WHERE id = ?1")?;
        let found: Option<(Option<i64>, Option<i64>)> =
            find.query_row([id], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
        Ok(found.is_some_and(|(kind, status)| {
            only.kind.is_none_or(|k| kind == Some(k.code()))
                && only.status.is_none_or(|s| status == Some(s.code()))
        }))
    }

    /// Parts that words name, those whose tag begins with them first. Every word must be found.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn parts_by_words(
        &self,
        text: &str,
        only: PartFilter,
        limit: usize,
    ) -> Result<Vec<Uuid>, StoreError> {
        let words: Vec<String> = text
            .split_whitespace()
            .filter(|word| word.chars().any(char::is_alphanumeric))
            .map(|word| format!("\"{}\"*", word.replace('"', "\"\"")))
            .collect();
        if words.is_empty() {
            return Ok(Vec::new());
        }
        let hidden = self.hidden()?;
        let all = words.join(" ");
        let mut seen = BTreeSet::new();
        let mut found = Vec::new();
        let (kind, status) = (only.kind.map(PartKind::code), only.status.map(PartStatus::code));
        let mut read = self.conn.prepare_cached(BY_WORDS)?;
        for query in [format!("tag : ({all})"), all] {
            let mut rows = read.query((query, MOST_WORDS as i64, kind, status))?;
            while let Some(row) = rows.next()?
                && found.len() < limit
            {
                let (id, part) = picked(row)?;
                if !hidden.contains(id) && seen.insert(id) {
                    found.push(part);
                }
            }
        }
        Ok(found)
    }

    /// Parts by their sizes, nearest first; those that have more of the sizes come before others.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn parts_by_sizes(
        &self,
        sought: &[SizeSought],
        only: PartFilter,
        limit: usize,
    ) -> Result<Vec<NearPart>, StoreError> {
        let hidden = self.hidden()?;
        let mut near: HashMap<i64, Vec<Option<f64>>> = HashMap::new();
        let mut read = self.conn.prepare_cached(
            "SELECT m.id, r.part, m.value_si FROM measurement m JOIN revision r ON r.id = m.revision
             WHERE m.dimension = ?1 AND m.value_si BETWEEN ?2 AND ?3",
        )?;
        for (at, size) in sought.iter().enumerate() {
            for dimension in &size.dimensions {
                let mut rows =
                    read.query((dimension.code(), size.si - size.reach_si, size.si + size.reach_si))?;
                while let Some(row) = rows.next()? {
                    let (id, part, si): (i64, Option<i64>, f64) = (row.get(0)?, row.get(1)?, row.get(2)?);
                    let Some(part) = part.filter(|part| !hidden.contains(id) && !hidden.contains(*part))
                    else {
                        continue;
                    };
                    let off = (si - size.si).abs() / size.reading_si;
                    let of_part = near.entry(part).or_insert_with(|| vec![None; sought.len()]);
                    of_part[at] = Some(of_part[at].map_or(off, |held| held.min(off)));
                }
            }
        }
        let mut order: Vec<(usize, f64, i64)> = near
            .into_iter()
            .map(|(part, off)| {
                let sizes = off.iter().flatten().count();
                (sizes, off.iter().flatten().map(|off| off * off).sum::<f64>().sqrt(), part)
            })
            .collect();
        order.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
        let mut found = Vec::new();
        for (sizes, distance, id) in order {
            if found.len() == limit {
                break;
            }
            if only == PartFilter::default() || self.is_such_a_part(id, only)? {
                found.push(NearPart { part: self.uuid_of(id)?, sizes, distance });
            }
        }
        Ok(found)
    }

    /// The sessions whose runs have a part in their assembly, as their item or as their stud; in no order.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn sessions_with_part(&self, part: Uuid) -> Result<Vec<Uuid>, StoreError> {
        let Some(known) = local::find(&self.conn, part)? else { return Ok(Vec::new()) };
        self.sessions_of(
            "SELECT DISTINCT run.id, run.session FROM revision r JOIN layer l ON l.revision = r.id
             JOIN run ON run.assembly = l.assembly WHERE r.part = ?1
             UNION SELECT run.id, run.session FROM run JOIN revision r ON r.id = run.item WHERE r.part = ?1
             UNION SELECT run.id, run.session FROM run JOIN revision r ON r.id = run.stud WHERE r.part = ?1",
            known.id,
        )
    }

    /// On how many evenings a part was in an assembly that was run.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn evenings_of_part(&self, part: Uuid) -> Result<usize, StoreError> {
        let Some(known) = local::find(&self.conn, part)? else { return Ok(0) };
        let sessions = self.sessions_of(
            "SELECT DISTINCT run.id, run.session FROM revision r JOIN layer l ON l.revision = r.id
             JOIN run ON run.assembly = l.assembly WHERE r.part = ?1",
            known.id,
        )?;
        Ok(sessions.len())
    }

    /// The sessions in which an assembly was run; in no order.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn sessions_with_assembly(&self, assembly: Uuid) -> Result<Vec<Uuid>, StoreError> {
        let Some(known) = local::find(&self.conn, assembly)? else { return Ok(Vec::new()) };
        self.sessions_of("SELECT id, session FROM run WHERE assembly = ?1", known.id)
    }

    fn sessions_of(&self, sql: &str, id: i64) -> Result<Vec<Uuid>, StoreError> {
        let hidden = self.hidden()?;
        let mut sessions = BTreeSet::new();
        let mut read = self.conn.prepare_cached(sql)?;
        let mut rows = read.query([id])?;
        while let Some(row) = rows.next()? {
            let (run, session): (i64, Option<i64>) = (row.get(0)?, row.get(1)?);
            if let Some(session) = session.filter(|s| !hidden.contains(run) && !hidden.contains(*s)) {
                sessions.insert(session);
            }
        }
        sessions.into_iter().map(|id| self.uuid_of(id)).collect()
    }

    /// A stretch of the assemblies, those made last first, and how many there are; only those that hold a part, where
    /// one is given.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn assemblies_in_order(
        &self,
        with: Option<Uuid>,
        from: usize,
        count: usize,
    ) -> Result<(usize, Vec<Uuid>), StoreError> {
        let hidden = self.hidden()?;
        let with = match with {
            None => None,
            Some(part) => match local::find(&self.conn, part)? {
                None => return Ok((0, Vec::new())),
                known => known.map(|known| known.id),
            },
        };
        let sql = match with {
            None => "SELECT id FROM assembly ORDER BY id DESC",
            Some(_) => {
                "SELECT DISTINCT l.assembly FROM revision r JOIN layer l ON l.revision = r.id WHERE r.part = ?1
                 ORDER BY l.assembly DESC"
            }
        };
        let mut read = self.conn.prepare_cached(sql)?;
        let ids: Vec<i64> = read
            .query_map(params_from_iter(with), |row| row.get(0))?
            .collect::<Result<_, rusqlite::Error>>()?;
        let ids: Vec<i64> = ids.into_iter().filter(|id| !hidden.contains(*id)).collect();
        let found = ids.iter().skip(from).take(count).map(|id| self.uuid_of(*id));
        Ok((ids.len(), found.collect::<Result<_, _>>()?))
    }

    fn uuid_of(&self, id: i64) -> Result<Uuid, StoreError> {
        let mut find = self.conn.prepare_cached("SELECT uuid FROM row WHERE id = ?1")?;
        Ok(Uuid::from_bytes(find.query_row([id], |row| row.get(0))?))
    }
}

fn clause_of(only: PartFilter) -> (&'static str, Vec<i64>) {
    match (only.kind, only.status) {
        (None, None) => ("1", vec![]),
        (Some(kind), None) => ("kind = ?1", vec![kind.code()]),
        (None, Some(status)) => ("status = ?1", vec![status.code()]),
        (Some(kind), Some(status)) => ("kind = ?1 AND status = ?2", vec![kind.code(), status.code()]),
    }
}
