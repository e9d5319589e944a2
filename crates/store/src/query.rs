//! Reading rows: one, all of a kind, or everything together.

use crate::error::StoreError;
use crate::hidden::Hidden;
use crate::layout::layout;
use crate::local::{self, Uuids};
use crate::rows::{self, Reader};
use crate::shelf::Store;
use airshelf_catalog::ids::fold;
use airshelf_catalog::model::*;
use airshelf_catalog::{Entity, Records, Value};
use rusqlite::params_from_iter;
use std::collections::HashSet;
use uuid::Uuid;

/// How much of a shelf to read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope<'a> {
    /// Everything, raw text of imported rows included.
    All,
    /// Everything but runs with their readings and claims, and imported rows' raw text.
    Shelf,
    /// [`Scope::Shelf`], and the runs of these sessions with their readings and claims.
    Sessions(&'a [Uuid]),
}

/// What reading rows of several kinds together shares.
pub(crate) struct Read<'r, 'c> {
    pub store: &'c Store,
    pub uuids: &'r Uuids<'c>,
    pub hidden: &'r Hidden,
}

impl Read<'_, '_> {
    /// Rows of a kind in sight that a clause with one parameter picks.
    pub fn rows<E: Entity>(
        &self,
        clause: &str,
        wanted: Option<rusqlite::types::Value>,
    ) -> Result<Vec<E>, StoreError> {
        self.store.read(self.uuids, self.hidden, clause, wanted)
    }
}

impl Store {
    /// Reads every row of a kind that is in sight.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn load<E: Entity>(&self) -> Result<Vec<E>, StoreError> {
        let uuids = Uuids::one_by_one(&self.conn);
        self.read(&uuids, &*self.hidden()?, "", None)
    }

    /// Reads every row of a kind, hidden ones too.
    pub(crate) fn load_all<E: Entity>(&self) -> Result<Vec<E>, StoreError> {
        self.read(&Uuids::one_by_one(&self.conn), &Hidden::default(), "", None)
    }

    /// Reads one row; none where it is not held or was deleted.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn get<E: Entity>(&self, id: Uuid) -> Result<Option<E>, StoreError> {
        let Some(known) = local::find(&self.conn, id)? else { return Ok(None) };
        let mut dead = self
            .conn
            .prepare_cached("SELECT 1 FROM tombstone WHERE row = ?1 AND revived_by IS NULL LIMIT 1")?;
        if known.entity != E::KIND.number() || dead.exists([known.id])? {
            return Ok(None);
        }
        let uuids = Uuids::one_by_one(&self.conn);
        Ok(self.read(&uuids, &Hidden::default(), "WHERE id = ?1", Some(known.id.into()))?.pop())
    }

    /// Reads the rows of a kind whose field holds a value; a quantity is looked for by its SI value.
    ///
    /// # Errors
    /// [`StoreError::NotAField`], a damaged or busy file.
    pub fn find_by<E: Entity>(&self, field: &str, value: &Value) -> Result<Vec<E>, StoreError> {
        let no_field = |why: String| StoreError::NotAField { entity: E::KIND.table(), why };
        let index = E::FIELDS
            .iter()
            .position(|def| def.name == field)
            .ok_or_else(|| no_field(format!("there is no field {field}")))?;
        rows::fits(&E::FIELDS[index], value).map_err(|e| no_field(e.to_string()))?;
        let layout = layout(E::KIND);
        let column = &layout.columns[layout.first[index]].0;
        let link = match value {
            Value::Id(to) => match local::find(&self.conn, *to)? {
                Some(known) => known.id,
                None => return Ok(Vec::new()),
            },
            _ => 0,
        };
        let uuids = Uuids::one_by_one(&self.conn);
        let (sql, wanted) = match value {
            Value::Null => (format!("WHERE \"{column}\" IS NULL"), None),
            value => (format!("WHERE \"{column}\" = ?1"), Some(parameter(value, link))),
        };
        self.read(&uuids, &*self.hidden()?, &sql, wanted)
    }

    /// Reads everything of a scope. Rows that are deleted or of an import that was taken back are left out.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn records(&self, scope: Scope<'_>) -> Result<Records, StoreError> {
        // One reading transaction, so that a write meanwhile is seen whole or not at all.
        let _held = self.conn.unchecked_transaction()?;
        let uuids = Uuids::one_by_one(&self.conn);
        if scope == Scope::All {
            uuids.read_all()?;
        }
        let hidden = self.hidden()?;
        let mut records = self.shelf_records(&uuids, &hidden)?;
        match scope {
            Scope::Shelf => {}
            Scope::All => {
                records.runs = self.read(&uuids, &hidden, "", None)?;
                records.readings = self.read(&uuids, &hidden, "", None)?;
                records.claims = self.read(&uuids, &hidden, "", None)?;
                records.sheet_rows = self.read(&uuids, &hidden, "", None)?;
            }
            Scope::Sessions(sessions) => {
                for session in sessions {
                    let Some(known) = local::find(&self.conn, *session)? else { continue };
                    let of_runs = "WHERE run IN (SELECT id FROM run WHERE session = ?1) ORDER BY id";
                    let own = || Some(known.id.into());
                    records.runs.append(&mut self.read(
                        &uuids,
                        &hidden,
                        "WHERE session = ?1 ORDER BY id",
                        own(),
                    )?);
                    records.readings.append(&mut self.read(&uuids, &hidden, of_runs, own())?);
                    records.claims.append(&mut self.read(&uuids, &hidden, of_runs, own())?);
                }
            }
        }
        Ok(records)
    }

    fn shelf_records(&self, uuids: &Uuids<'_>, hidden: &Hidden) -> Result<Records, StoreError> {
        Ok(Records {
            persons: self.read(uuids, hidden, "", None)?,
            parts: self.read(uuids, hidden, "", None)?,
            revisions: self.read(uuids, hidden, "", None)?,
            measurements: self.read(uuids, hidden, "", None)?,
            aliases: self.read(uuids, hidden, "", None)?,
            photos: self.read(uuids, hidden, "", None)?,
            listings: self.read(uuids, hidden, "", None)?,
            assemblies: self.read(uuids, hidden, "", None)?,
            benches: self.read(uuids, hidden, "", None)?,
            bench_ranges: self.read(uuids, hidden, "", None)?,
            sessions: self.read(uuids, hidden, "", None)?,
            ratings: self.read(uuids, hidden, "", None)?,
            predictions: self.read(uuids, hidden, "", None)?,
            service_events: self.read(uuids, hidden, "", None)?,
            engines: self.read(uuids, hidden, "", None)?,
            vehicles: self.read(uuids, hidden, "", None)?,
            decisions: self.read(uuids, hidden, "", None)?,
            import_files: self.read(uuids, hidden, "", None)?,
            sheet_tables: self.read(uuids, hidden, "", None)?,
            also_at: self.read(uuids, hidden, "", None)?,
            quarantined: self.read(uuids, hidden, "", None)?,
            ..Records::default()
        })
    }

    pub(crate) fn read<E: Entity>(
        &self,
        uuids: &Uuids<'_>,
        hidden: &Hidden,
        clause: &str,
        wanted: Option<rusqlite::types::Value>,
    ) -> Result<Vec<E>, StoreError> {
        let mut select = self.conn.prepare_cached(&format!("{} {clause}", layout(E::KIND).select))?;
        let mut rows = select.query(params_from_iter(wanted))?;
        let mut reader = Reader::of::<E>(uuids);
        let mut out = Vec::new();
        while let Some(row) = rows.next()? {
            if !hidden.contains(row.get(0)?) {
                out.push(reader.read(row)?);
            }
        }
        Ok(out)
    }

    /// Which of these rows are held already, so that importing them again adds nothing.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn held(&self, ids: impl IntoIterator<Item = Uuid>) -> Result<HashSet<Uuid>, StoreError> {
        // One reading transaction, so that the file is not locked and let go for every row.
        let _held = self.conn.unchecked_transaction()?;
        let mut find = self.conn.prepare_cached(
            "SELECT 1 FROM row_of o JOIN row r ON r.id = o.row WHERE o.uuid = ?1 AND r.born IS NOT NULL",
        )?;
        let mut held = HashSet::new();
        for id in ids {
            if find.exists([id.as_bytes()])? {
                held.insert(id);
            }
        }
        Ok(held)
    }

    /// Finds sessions by their name, whatever its case and spacing, or by their id.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn sessions_named(&self, text: &str) -> Result<Vec<Session>, StoreError> {
        if let Ok(id) = text.trim().parse::<Uuid>() {
            return Ok(self.get::<Session>(id)?.into_iter().collect());
        }
        let wanted = fold(text);
        let mut sessions: Vec<Session> = self.load()?;
        sessions.retain(|session| session.name.as_deref().is_some_and(|name| fold(name) == wanted));
        Ok(sessions)
    }
}

fn parameter(value: &Value, link: i64) -> rusqlite::types::Value {
    use rusqlite::types::Value as Sql;
    match value {
        Value::Null => Sql::Null,
        Value::Int(i) => Sql::Integer(*i),
        Value::Real(r) => Sql::Real(*r),
        Value::Text(t) => Sql::Text(t.clone()),
        Value::Bytes(b) => Sql::Blob(b.clone()),
        Value::Id(_) => Sql::Integer(link),
        Value::Quantity(q) => Sql::Real(q.si),
        Value::Price(p) => Sql::Real(p.amount),
    }
}
