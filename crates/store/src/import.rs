//! A whole file of old records at once: several transactions of the log, one of SQLite, so all of it or nothing.

mod files;
mod scribe;

use self::scribe::{Recorded, Scribe, write_down};
use crate::connection;
use crate::error::StoreError;
use crate::hidden::OutOfSight;
use crate::host::{Host, dice};
use crate::local::Place;
use crate::log;
use crate::shelf::Store;
use crate::tables::{Birth, Tables};
use airshelf_catalog::change::cbor::Envelope;
use airshelf_catalog::change::{Act, Change, Clock, Head, Stamp};
use airshelf_catalog::model::{Claim, ImportFile, Reading, Run, SheetTable};
use airshelf_catalog::records::{Gather, Visit};
use airshelf_catalog::{Entity, EntityKind, RecordsPart, Value};
use std::collections::{BTreeMap, VecDeque};
use uuid::Uuid;

/// A transaction of an import is closed at this many changes, so that a receiver gets it in digestible pieces.
const MOST_CHANGES: usize = 2_000;
/// … or at this many bytes before compression.
const MOST_BYTES: usize = 1 << 20;

/// Whether to go on, asked now and then during an import.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// Go on.
    GoOn,
    /// Stop; nothing of the import stays.
    Stop,
}

/// Fields that a file states of a row that was there before it.
#[derive(Clone, Copy, Debug)]
pub struct Completing<'a> {
    /// What the row is.
    pub kind: EntityKind,
    /// Which.
    pub row: Uuid,
    /// Numbers of fields with their values.
    pub fields: &'a [(u16, Value)],
}

/// What an import added.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// New rows of each kind.
    pub new: BTreeMap<EntityKind, usize>,
    /// Rows that the shelf held already, in sight.
    pub already: usize,
    /// Rows that it held out of sight, since they were deleted or their import was taken back; they show again.
    pub shown_again: usize,
    /// Transactions written.
    pub transactions: usize,
    /// Whether a file that had been taken back was brought back.
    pub brought_back: bool,
}

impl Imported {
    /// How many rows are new in all, beside those that show again.
    pub fn total(&self) -> usize {
        self.new.values().sum()
    }
}

/// A transaction of which only the body is still to come.
struct Closed {
    txn: i64,
    stamp: Stamp,
    number: u64,
    changes: usize,
}

/// A row held out of sight, and what the file says of it.
struct Claimed {
    kind: EntityKind,
    row: Uuid,
    fields: Vec<(u16, Value)>,
}

impl Claimed {
    fn as_completing(&self) -> Completing<'_> {
        Completing { kind: self.kind, row: self.row, fields: &self.fields }
    }
}

struct Bulk<'r, 'c, 'p> {
    tables: Tables<'c>,
    clock: Clock,
    now_ms: u64,
    host: &'c dyn Host,
    device: Uuid,
    head: Vec<u8>,
    number: u64,
    txn: i64,
    /// Rows of the open transaction whose change is yet to be written down.
    rows: Vec<&'r dyn Recorded>,
    /// Changes of the open transaction that no row of the records is.
    body: Vec<u8>,
    /// About how many bytes the open transaction has.
    bytes: usize,
    /// Transactions whose bodies are being written down.
    under_way: VecDeque<Closed>,
    scribe: Option<Scribe<'r>>,
    changes: usize,
    /// Changes in all.
    written: usize,
    stamp: Stamp,
    done: usize,
    total: usize,
    imported: Imported,
    out_of_sight: OutOfSight,
    /// Rows to bring into sight once all others are there.
    claims: Vec<Claimed>,
    progress: &'p mut dyn FnMut(usize, usize) -> Pace,
}

impl<'r> Bulk<'r, '_, '_> {
    /// Starts the next transaction of the log.
    fn next(&mut self) {
        self.number += 1;
        self.txn += 1;
        self.stamp = Stamp { hlc: self.clock.tick(self.now_ms, dice(self.host)), device: self.device };
    }

    fn close(&mut self) -> Result<(), StoreError> {
        if self.changes == 0 {
            return Ok(());
        }
        let closed = Closed { txn: self.txn, stamp: self.stamp, number: self.number, changes: self.changes };
        let rows = std::mem::take(&mut self.rows);
        match &self.scribe {
            Some(scribe) if self.body.is_empty() => {
                scribe.rows.send(rows).expect("the scribe listens as long as the import lasts");
                self.under_way.push_back(closed);
                while let Some(body) = self.scribe.as_ref().and_then(|s| s.bodies.try_recv().ok()) {
                    self.append(&body)?;
                }
            }
            _ => {
                self.catch_up()?;
                let mut body = write_down(&rows);
                body.append(&mut self.body);
                self.under_way.push_back(closed);
                self.append(&log::compress(&body))?;
            }
        }
        self.bytes = 0;
        self.changes = 0;
        self.imported.transactions += 1;
        self.next();
        Ok(())
    }

    /// Waits until the log holds every closed transaction.
    fn catch_up(&mut self) -> Result<(), StoreError> {
        while !self.under_way.is_empty() {
            let scribe = self.scribe.as_ref().expect("only a scribe has work under way");
            let body = scribe.bodies.recv().expect("the scribe answers every call");
            self.append(&body)?;
        }
        Ok(())
    }

    /// Puts the oldest transaction under way into the log.
    fn append(&mut self, body: &[u8]) -> Result<(), StoreError> {
        let closed = self.under_way.pop_front().expect("a body belongs to a closed transaction");
        let envelope = Envelope { stamp: closed.stamp, number: closed.number, head: &self.head, body };
        log::append(self.tables.conn, closed.txn, &envelope, closed.changes)
    }

    fn add<E: Entity>(&mut self, row: &'r E) -> Result<(), StoreError> {
        let Some(birth) = self.place(row)? else { return Ok(()) };
        self.rows.push(row);
        self.bytes += row.about_bytes();
        self.settle(row, birth)
    }

    /// Adds a row that does not outlive the import.
    fn add_own<E: Entity>(&mut self, row: &E) -> Result<(), StoreError> {
        let Some(birth) = self.place(row)? else { return Ok(()) };
        row.write_down(&mut self.body);
        self.settle(row, birth)
    }

    /// Gives the row its line; none where it is held already.
    fn place<E: Entity>(&mut self, row: &E) -> Result<Option<Birth>, StoreError> {
        self.done += 1;
        if self.done.is_multiple_of(1024) && (self.progress)(self.done, self.total) == Pace::Stop {
            return Err(StoreError::Stopped);
        }
        let birth = self.tables.give_birth(row.id(), E::KIND.number(), self.txn)?;
        if let Birth::Held(known) = &birth
            && known.born.is_some()
        {
            match self.claim(row, known.id) {
                Some(claim) => self.claims.push(claim),
                None => self.imported.already += 1,
            }
            return Ok(None);
        }
        *self.imported.new.entry(E::KIND).or_insert(0) += 1;
        self.changes += 1;
        self.written += 1;
        Ok(Some(birth))
    }

    /// What brings a row into sight that is held out of it. One of an import that was taken back says from now on what
    /// this file says; what people had written of a deleted one stays.
    fn claim<E: Entity>(&mut self, row: &E, id: i64) -> Option<Claimed> {
        let fields = if self.out_of_sight.taken_back.remove(&id) {
            let fields = E::FIELDS.iter().enumerate();
            fields.map(|(index, field)| (field.number, row.value(index).to_owned())).collect()
        } else if self.out_of_sight.deleted.remove(&id) {
            Vec::new()
        } else {
            return None;
        };
        Some(Claimed { kind: E::KIND, row: row.id(), fields })
    }

    fn settle<E: Entity>(&mut self, row: &E, birth: Birth) -> Result<(), StoreError> {
        let id = match birth {
            Birth::New(id) => id,
            // Only edits of it had come so far; its state needs the log to hold the creation first.
            Birth::Held(known) => {
                self.close()?;
                self.catch_up()?;
                return self.tables.add_up(known.id);
            }
        };
        self.tables.insert(E::KIND, id, |index| row.value(index))?;
        if self.tables.any_dead() {
            let values = E::FIELDS
                .iter()
                .enumerate()
                .map(|(index, field)| (field.number, row.value(index).to_owned()));
            let act = Act::Create(values.collect());
            let change = Change { entity: E::KIND.number(), row: row.id(), act, strange: vec![] };
            let at = Place { txn: self.txn, stamp: self.stamp, number: self.number };
            self.tables.revive_by(at, &change)?;
        }
        self.close_if_full()
    }

    fn close_if_full(&mut self) -> Result<(), StoreError> {
        if self.changes >= MOST_CHANGES || self.bytes + self.body.len() >= MOST_BYTES {
            self.close()
        } else {
            Ok(())
        }
    }
}

impl<'r> Visit<'r> for Bulk<'r, '_, '_> {
    type Error = StoreError;

    fn row<E: Entity>(&mut self, row: &'r E) -> Result<(), StoreError> {
        // Files and tables stand first, readings and claims beside their run.
        match E::KIND {
            EntityKind::ImportFile | EntityKind::SheetTable | EntityKind::Reading | EntityKind::Claim => {
                Ok(())
            }
            EntityKind::Run => Ok(()),
            _ => self.add(row),
        }
    }
}

/// Rows of a list that belong to the run at hand, where they stand in the order of the runs.
struct Beside<'r, E> {
    rows: &'r [E],
    at: usize,
}

impl<'r, E: Gather> Beside<'r, E> {
    fn of(records: &RecordsPart<'r>) -> Self {
        Beside { rows: records.rows(), at: 0 }
    }

    fn take_for(
        &mut self,
        bulk: &mut Bulk<'r, '_, '_>,
        run: Option<Uuid>,
        of: fn(&E) -> Option<Uuid>,
    ) -> Result<(), StoreError> {
        while let Some(row) = self.rows.get(self.at)
            && (run.is_none() || of(row) == run)
        {
            bulk.add(row)?;
            self.at += 1;
        }
        Ok(())
    }
}

impl Store {
    /// Creates every row that is not held yet; all of them, or nothing.
    ///
    /// `progress` is called with rows done and rows in all; when all are done, a last time right before they are committed.
    /// A file that had been taken back is brought back.
    ///
    /// # Errors
    /// [`StoreError::Stopped`], [`StoreError::DiskFull`] and the like; nothing was changed then.
    pub fn import<'r>(
        &mut self,
        records: impl Into<RecordsPart<'r>>,
        label: &str,
        progress: &mut dyn FnMut(usize, usize) -> Pace,
    ) -> Result<Imported, StoreError> {
        self.import_completing(records, &[], label, progress)
    }

    /// As [`Store::import`], and what the file states of rows held before is written with it. It belongs to the import:
    /// taking that back takes both back.
    ///
    /// # Errors
    /// As [`Store::import`].
    pub fn import_completing<'r>(
        &mut self,
        records: impl Into<RecordsPart<'r>>,
        completing: &[Completing<'_>],
        label: &str,
        progress: &mut dyn FnMut(usize, usize) -> Pace,
    ) -> Result<Imported, StoreError> {
        self.must_write()?;
        let records: RecordsPart<'r> = records.into();
        #[cfg(target_family = "wasm")]
        return self.import_with(records, completing, label, progress, None);
        #[cfg(not(target_family = "wasm"))]
        {
            let plain = connection::write_plainly(&self.conn, records.len())?;
            let done = std::thread::scope(|scope| {
                self.import_with(records, completing, label, progress, Scribe::hire(scope))
            });
            if plain {
                connection::write_ahead(&self.conn);
            }
            done
        }
    }

    fn import_with<'r>(
        &mut self,
        records: RecordsPart<'r>,
        completing: &[Completing<'_>],
        label: &str,
        progress: &mut dyn FnMut(usize, usize) -> Pace,
        scribe: Option<Scribe<'r>>,
    ) -> Result<Imported, StoreError> {
        let tx = connection::begin(&self.conn)?;
        let host = &*self.host;
        let imports: Vec<Uuid> = records.rows::<ImportFile>().iter().map(|file| file.id).collect();
        let out_of_sight = self.out_of_sight(&imports)?;
        let head = Head {
            person: host.person(),
            wall: host.wall(),
            program: host.program(),
            label: label.to_owned(),
            imports: imports.clone(),
        };
        let mut bulk = Bulk {
            tables: Tables::open(&tx, host)?,
            clock: Clock(log::clock(&tx)?),
            now_ms: host.now_ms(),
            host,
            device: self.identity.device,
            head: head.pack(),
            number: log::count_of(&tx, self.identity.device)?,
            txn: log::next_txn(&tx)? - 1,
            rows: Vec::with_capacity(MOST_CHANGES),
            body: Vec::new(),
            bytes: 0,
            under_way: VecDeque::new(),
            scribe,
            changes: 0,
            written: 0,
            stamp: Stamp { hlc: 0, device: self.identity.device },
            done: 0,
            total: records.len(),
            imported: Imported::default(),
            out_of_sight,
            claims: Vec::new(),
            progress,
        };
        bulk.next();
        bulk.tables.expect_births(records.len())?;
        for table in records.rows::<SheetTable>() {
            bulk.add(table)?;
        }
        records.visit(&mut bulk)?;
        let (mut readings, mut claims) = (Beside::<Reading>::of(&records), Beside::<Claim>::of(&records));
        for run in records.rows::<Run>() {
            bulk.add(run)?;
            readings.take_for(&mut bulk, Some(run.id), |reading| reading.run)?;
            claims.take_for(&mut bulk, Some(run.id), |claim| claim.run)?;
        }
        readings.take_for(&mut bulk, None, |_| None)?;
        claims.take_for(&mut bulk, None, |_| None)?;
        bulk.tables.end_births()?;
        let claims = std::mem::take(&mut bulk.claims);
        let claimed: Vec<Completing<'_>> = claims.iter().map(Claimed::as_completing).collect();
        bulk.imported.shown_again = bulk.complete(&claimed, true)?;
        bulk.complete(completing, false)?;
        bulk.files(records.rows::<ImportFile>())?;
        bulk.close()?;
        bulk.catch_up()?;
        let imported = std::mem::take(&mut bulk.imported);
        let (done, total) = (bulk.total, bulk.total);
        if (bulk.progress)(done, total) == Pace::Stop {
            return Err(StoreError::Stopped);
        }
        drop(bulk);
        tx.commit()?;
        Ok(imported)
    }
}
