//! Rows that are held but not shown: deleted ones, and those of imports that were taken back.
//!
//! A row of such an import stays in sight while something else needs it: another import that says the same, a person's
//! own change to it, or a row in sight that refers to it.

use crate::error::StoreError;
use crate::layout::layout;
use crate::shelf::Store;
use crate::{local, log};
use airshelf_catalog::{EntityKind, FieldKind, Uuid};
use std::cell::RefCell;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// Local integers of hidden rows.
#[derive(Default)]
pub(crate) struct Hidden(HashSet<i64>);

/// Local integers of hidden rows, by why they are hidden.
#[derive(Default)]
pub(crate) struct OutOfSight {
    pub deleted: HashSet<i64>,
    pub taken_back: HashSet<i64>,
}

impl Hidden {
    pub(crate) fn contains(&self, id: i64) -> bool {
        !self.0.is_empty() && self.0.contains(&id)
    }

    pub(crate) fn ids(&self) -> impl Iterator<Item = i64> {
        self.0.iter().copied()
    }
}

/// What is hidden, and of which state of the file: who else's, by `PRAGMA data_version`, and how many changes of one's own.
#[derive(Default)]
pub(crate) struct Remembered(RefCell<Option<(i64, u64, Arc<Hidden>)>>);

impl Store {
    /// The hidden rows, looked for again only where something was written since: once an import is taken back they
    /// are known from every row and link of the shelf.
    pub(crate) fn hidden(&self) -> Result<Arc<Hidden>, StoreError> {
        let state = (self.data_version()?, self.conn.total_changes());
        // What a transaction under way sees may be rolled back.
        let whole = self.conn.is_autocommit();
        if whole
            && let Some((others, own, hidden)) = &*self.hidden.0.borrow()
            && (*others, *own) == state
        {
            return Ok(Arc::clone(hidden));
        }
        let OutOfSight { mut deleted, taken_back } = self.out_of_sight(&[])?;
        deleted.extend(taken_back);
        let hidden = Arc::new(Hidden(deleted));
        if whole {
            *self.hidden.0.borrow_mut() = Some((state.0, state.1, Arc::clone(&hidden)));
        }
        Ok(hidden)
    }

    /// Rows out of sight while these files are on their way in again.
    pub(crate) fn out_of_sight(&self, coming: &[Uuid]) -> Result<OutOfSight, StoreError> {
        let deleted = self.ids("SELECT row FROM tombstone WHERE revived_by IS NULL")?;
        let mut undone = self.ids("SELECT id FROM import_file WHERE undone = 1")?;
        for file in coming {
            if let Some(known) = local::find(&self.conn, *file)? {
                undone.remove(&known.id);
            }
        }
        let taken_back = match undone.is_empty() {
            true => HashSet::new(),
            false => self.taken_back(&undone, &deleted)?,
        };
        Ok(OutOfSight { deleted, taken_back })
    }

    /// How many rows in sight an import of these files made.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn rows_of_imports(&self, files: &[Uuid]) -> Result<usize, StoreError> {
        if files.is_empty() {
            return Ok(0);
        }
        let own =
            log::transactions_of(&self.conn, |of| !of.is_empty() && of.iter().all(|f| files.contains(f)))?;
        let hidden = self.hidden()?;
        let mut read = self.conn.prepare_cached("SELECT id, entity, born FROM row WHERE born IS NOT NULL")?;
        let mut rows = read.query([])?;
        let mut shown = 0;
        while let Some(row) = rows.next()? {
            let entity: u8 = row.get(1)?;
            let made = own.contains(&row.get(2)?) && entity != EntityKind::ImportFile.number();
            shown += usize::from(made && !hidden.contains(row.get(0)?));
        }
        Ok(shown)
    }

    fn ids(&self, sql: &str) -> Result<HashSet<i64>, StoreError> {
        let mut read = self.conn.prepare_cached(sql)?;
        let ids = read.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        Ok(ids)
    }

    /// Transactions of imports that are taken back.
    pub(crate) fn taken_back_transactions(&self) -> Result<HashSet<i64>, StoreError> {
        let undone = self.ids("SELECT id FROM import_file WHERE undone = 1")?;
        if undone.is_empty() { Ok(undone) } else { self.transactions_of(&undone) }
    }

    /// Transactions of which every file was taken back.
    fn transactions_of(&self, undone: &HashSet<i64>) -> Result<HashSet<i64>, StoreError> {
        let uuids = local::Uuids::one_by_one(&self.conn);
        let files: HashSet<Uuid> = undone.iter().map(|id| uuids.of(*id)).collect::<Result<_, _>>()?;
        let mut found =
            log::transactions_of(&self.conn, |of| !of.is_empty() && of.iter().all(|f| files.contains(f)))?;
        // What took such a file back is no change of a person's own to the rows that it completed.
        found.extend(local::transactions_touching(&self.conn, undone)?);
        Ok(found)
    }

    fn taken_back(&self, undone: &HashSet<i64>, dead: &HashSet<i64>) -> Result<HashSet<i64>, StoreError> {
        let transactions = self.transactions_of(undone)?;
        let mut out: HashSet<i64> = HashSet::new();
        let mut read = self.conn.prepare_cached("SELECT id, entity, born FROM row WHERE born IS NOT NULL")?;
        let mut rows = read.query([])?;
        while let Some(row) = rows.next()? {
            let entity: u8 = row.get(1)?;
            if transactions.contains(&row.get(2)?) && entity != EntityKind::ImportFile.number() {
                out.insert(row.get(0)?);
            }
        }
        // Who needs whom: a row in sight needs what it links to; a run in sight needs its readings.
        let mut needs: HashMap<i64, Vec<i64>> = HashMap::new();
        for kind in EntityKind::ALL.iter().filter(|kind| **kind != EntityKind::Decision) {
            for (index, field) in kind.fields().iter().enumerate() {
                if !matches!(field.kind, FieldKind::Link(_) | FieldKind::LinkAny) {
                    continue;
                }
                let with_its_owner = matches!(
                    (kind, field.kind),
                    (EntityKind::Reading | EntityKind::Claim, FieldKind::Link(EntityKind::Run))
                        | (EntityKind::Measurement, FieldKind::Link(EntityKind::Revision))
                        | (EntityKind::Revision, FieldKind::Link(EntityKind::Part))
                );
                let column = &layout(*kind).columns[layout(*kind).first[index]].0;
                let sql = format!(
                    "SELECT id, \"{column}\" FROM \"{}\" WHERE \"{column}\" IS NOT NULL",
                    kind.table()
                );
                self.each_pair(&sql, |from, to| {
                    if out.contains(&to) {
                        needs.entry(from).or_default().push(to);
                    }
                    if with_its_owner && out.contains(&from) {
                        needs.entry(to).or_default().push(from);
                    }
                })?;
            }
        }
        self.each_pair("SELECT assembly, revision FROM layer", |from, to| {
            if out.contains(&to) {
                needs.entry(from).or_default().push(to);
            }
        })?;
        let mut in_sight: Vec<i64> =
            needs.keys().filter(|id| !out.contains(id) && !dead.contains(id)).copied().collect();
        self.each_pair("SELECT row, txn FROM touch", |row, txn| {
            if out.contains(&row) && !transactions.contains(&txn) {
                in_sight.push(row);
            }
        })?;
        while let Some(id) = in_sight.pop() {
            out.remove(&id);
            if let Some(needed) = needs.remove(&id) {
                in_sight.extend(needed.into_iter().filter(|to| out.contains(to)));
            }
        }
        Ok(out)
    }

    fn each_pair(&self, sql: &str, mut see: impl FnMut(i64, i64)) -> Result<(), StoreError> {
        let mut read = self.conn.prepare(sql)?;
        let mut rows = read.query([])?;
        while let Some(row) = rows.next()? {
            see(row.get(0)?, row.get(1)?);
        }
        Ok(())
    }
}
