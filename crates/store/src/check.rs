//! Checking a shelf: the file, the log replayed against the tables, the blobs, what has not all arrived.

use crate::blobs::{BlobState, hex};
use crate::error::StoreError;
use crate::shelf::Store;
use crate::sync::VersionVector;
use airshelf_catalog::change::Head;
use airshelf_catalog::records::Gather;
use airshelf_catalog::{EntityKind, Records};
use rusqlite::types::Value as Sql;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;
use uuid::Uuid;

/// Bytes of transactions replayed at a time.
const PIECE: usize = 8 << 20;

const LOG_DIFFERS: &str = "the log: its transactions differ from the hashes kept of them";

/// An imported file of which changes are missing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Incomplete {
    /// The file; none where not even its record is here.
    pub file: Option<Uuid>,
    /// Changes that are here.
    pub here: usize,
    /// Changes that its import made; none where that is not known yet.
    pub made: Option<usize>,
}

/// Something that this program does not know and keeps.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Parked {
    /// The row.
    pub row: Uuid,
    /// The field's number; 0 for the whole change.
    pub field: u16,
    /// What is not known.
    pub why: String,
}

/// What a check found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Checked {
    /// What SQLite says is wrong with the file.
    pub file_faults: Vec<String>,
    /// Where the tables differ from the replayed log.
    pub table_faults: Vec<String>,
    /// Transactions replayed.
    pub transactions: usize,
    /// Rows compared.
    pub rows: usize,
    /// Blobs that are here and sound.
    pub blobs_here: usize,
    /// Blobs that only other devices have, by hash.
    pub blobs_elsewhere: Vec<String>,
    /// Blobs that nobody is known to have.
    pub blobs_lost: Vec<String>,
    /// Blobs whose bytes are not what their name says.
    pub blobs_damaged: Vec<String>,
    /// Imports that have not all arrived.
    pub incomplete: Vec<Incomplete>,
    /// What a newer program wrote.
    pub parked: Vec<Parked>,
}

impl Checked {
    /// Whether nothing is broken. What is elsewhere, parked or still to arrive is not.
    pub fn is_sound(&self) -> bool {
        self.file_faults.is_empty()
            && self.table_faults.is_empty()
            && self.blobs_lost.is_empty()
            && self.blobs_damaged.is_empty()
    }
}

impl Store {
    /// Checks everything that can be checked; reads the whole shelf.
    ///
    /// # Errors
    /// A file too damaged to be read, or a busy one.
    pub fn check(&self) -> Result<Checked, StoreError> {
        // One reading transaction, so that a write meanwhile is no difference.
        let _held = self.conn.unchecked_transaction()?;
        let mut checked = Checked { file_faults: self.file_faults()?, ..Checked::default() };
        if checked.file_faults.is_empty() {
            self.compare_with_log(&mut checked)?;
        }
        for hash in self.wanted_blobs()? {
            match self.blob_state(&hash)? {
                BlobState::Here if self.blobs().is_sound(&hash)? => checked.blobs_here += 1,
                BlobState::Here => checked.blobs_damaged.push(hex(&hash)),
                BlobState::Elsewhere => checked.blobs_elsewhere.push(hex(&hash)),
                BlobState::Lost => checked.blobs_lost.push(hex(&hash)),
            }
        }
        checked.incomplete = self.incomplete_imports()?;
        checked.parked = self.parked()?;
        Ok(checked)
    }

    /// What SQLite finds wrong with the file.
    pub(crate) fn file_faults(&self) -> Result<Vec<String>, StoreError> {
        let mut read = self.conn.prepare("PRAGMA integrity_check(20)")?;
        let mut faults: Vec<String> = read.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        faults.retain(|fault| fault != "ok");
        let mut differ = self.conn.prepare(
            "SELECT (SELECT count(*) FROM row) <> (SELECT count(*) FROM row_of) OR EXISTS
             (SELECT 1 FROM row_of o LEFT JOIN row r ON r.id = o.row WHERE r.uuid IS NOT o.uuid)",
        )?;
        if faults.is_empty() && differ.query_row([], |row| row.get(0))? {
            faults.push("the rows and their index differ".into());
        }
        Ok(faults)
    }

    /// Where the log is damaged, or the tables are not what it adds up to.
    #[cfg(not(target_family = "wasm"))]
    pub(crate) fn log_faults(&self) -> Result<Vec<String>, StoreError> {
        let mut checked = Checked::default();
        self.compare_with_log(&mut checked)?;
        Ok(checked.table_faults)
    }

    /// How far each device's transactions are held, and the hash over them.
    fn chains(&self) -> Result<Vec<Vec<Sql>>, StoreError> {
        self.lines("SELECT d.uuid, d.number, t.number, t.chain FROM txn t JOIN device d ON d.id = t.device ORDER BY 1, 3")
    }

    fn lines(&self, sql: &str) -> Result<Vec<Vec<Sql>>, StoreError> {
        let mut all = Vec::new();
        let mut read = self.conn.prepare(sql)?;
        let columns = read.column_count();
        let mut rows = read.query([])?;
        while let Some(row) = rows.next()? {
            all.push((0..columns).map(|at| row.get(at)).collect::<Result<_, _>>()?);
        }
        Ok(all)
    }

    /// Replays the log into an empty store and compares every table by value.
    fn compare_with_log(&self, checked: &mut Checked) -> Result<(), StoreError> {
        let mut replayed = Store::in_memory(self.shelf_id(), self.is_demo(), Arc::clone(&self.host))?;
        loop {
            let held: VersionVector = replayed.version_vector()?;
            let piece = self.transactions_since(&held, PIECE)?;
            if piece.is_empty() {
                break;
            }
            let new = replayed.apply(&piece)?.new;
            if new == 0 {
                // Whoever has other hashes of a device is sent everything of it: the same piece would come forever.
                checked.table_faults.push(LOG_DIFFERS.into());
                return Ok(());
            }
            checked.transactions += new;
        }
        if self.chains()? != replayed.chains()? {
            checked.table_faults.push(LOG_DIFFERS.into());
        }
        let (ours, theirs) = (self.everything()?, replayed.everything()?);
        checked.rows = ours.len();
        compare_all(&ours, &theirs, &mut checked.table_faults);
        if self.merged()? != replayed.merged()? {
            checked
                .table_faults
                .push("conflicts, deletes or parked changes differ from the replayed log".into());
        }
        Ok(())
    }

    /// What merging left beside the typed tables, in terms that every store shares.
    pub(crate) fn merged(&self) -> Result<Vec<Vec<Sql>>, StoreError> {
        let mut all = Vec::new();
        for sql in [
            "SELECT 'rival', r.uuid, v.field, d.uuid, t.clock, v.value FROM rival v JOIN row r ON r.id = v.row
             JOIN txn t ON t.id = v.txn JOIN device d ON d.id = t.device ORDER BY 2, 3, 4, 5",
            "SELECT 'dead', r.uuid, d.uuid, t.number, s.revived_by IS NULL FROM tombstone s JOIN row r ON r.id = s.row
             JOIN txn t ON t.id = s.txn JOIN device d ON d.id = t.device ORDER BY 2, 3, 4",
            "SELECT 'parked', r.uuid, p.field, d.uuid, t.number FROM parked p JOIN row r ON r.id = p.row
             JOIN txn t ON t.id = p.txn JOIN device d ON d.id = t.device ORDER BY 2, 3, 4, 5",
            "SELECT 'layer', a.uuid, l.position, r.uuid, l.orientation, l.gap_m FROM layer l
             JOIN row a ON a.id = l.assembly JOIN row r ON r.id = l.revision ORDER BY 2, 3",
            "SELECT 'born', r.uuid, d.uuid, t.number, r.entity FROM row r JOIN txn t ON t.id = r.born
             JOIN device d ON d.id = t.device ORDER BY 2",
        ] {
            all.append(&mut self.lines(sql)?);
        }
        Ok(all)
    }

    /// Imports of which not everything has arrived.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn incomplete_imports(&self) -> Result<Vec<Incomplete>, StoreError> {
        let mut here: BTreeMap<Uuid, usize> = BTreeMap::new();
        let mut read = self.conn.prepare("SELECT head, changes FROM txn")?;
        let mut rows = read.query([])?;
        while let Some(row) = rows.next()? {
            let head = Head::unpack(row.get_ref(0)?.as_blob().map_err(rusqlite::Error::from)?)?;
            for file in head.imports {
                *here.entry(file).or_insert(0) += row.get::<_, i64>(1)? as usize;
            }
        }
        let mut found = Vec::new();
        for (file, here) in here {
            let made = self.get::<airshelf_catalog::ImportFile>(file)?.and_then(|file| file.changes);
            let made = made.and_then(|made| usize::try_from(made).ok());
            if made.is_none_or(|made| here < made) {
                found.push(Incomplete { file: Some(file), here, made });
            }
        }
        Ok(found)
    }

    /// Lists what a newer program wrote and this one keeps without understanding it.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn parked(&self) -> Result<Vec<Parked>, StoreError> {
        let mut read = self.conn.prepare_cached(
            "SELECT r.uuid, p.field, p.why FROM parked p JOIN row r ON r.id = p.row ORDER BY p.row, p.txn, p.field",
        )?;
        let parked = read.query_map([], |row| {
            Ok(Parked { row: Uuid::from_bytes(row.get(0)?), field: row.get(1)?, why: row.get(2)? })
        })?;
        Ok(parked.collect::<Result<_, _>>()?)
    }
}

fn compare<E: Gather>(a: &Records, b: &Records, faults: &mut Vec<String>) {
    let (a, b) = (E::gather(a), E::gather(b));
    let ids = |rows: &[E]| rows.iter().map(|row| row.id()).collect::<Vec<Uuid>>();
    let (both, alone) = paired(&ids(a), &ids(b));
    let differing = alone + both.iter().filter(|(here, there)| a[*here] != b[*there]).count();
    if differing > 0 {
        faults.push(format!("{}: {differing} rows differ from the replayed log", E::KIND.table()));
    }
}

/// Where the same identifier stands in both, and how many stand in one only.
fn paired(a: &[Uuid], b: &[Uuid]) -> (Vec<(usize, usize)>, usize) {
    let there: HashMap<Uuid, usize> = b.iter().enumerate().map(|(at, id)| (*id, at)).collect();
    let both: Vec<_> = a.iter().enumerate().filter_map(|(at, id)| Some((at, *there.get(id)?))).collect();
    let alone = a.len() + b.len() - 2 * both.len();
    (both, alone)
}

macro_rules! every_entity {
    ($($entity:ident $plural:ident),+ $(,)?) => {
        impl Store {
            /// Every row held, hidden ones too.
            pub(crate) fn everything(&self) -> Result<Records, StoreError> {
                Ok(Records { $( $plural: self.load_all()?, )+ })
            }
        }

        fn compare_all(a: &Records, b: &Records, faults: &mut Vec<String>) {
            $( compare::<airshelf_catalog::$entity>(a, b, faults); )+
            debug_assert_eq!(EntityKind::ALL.len(), [$( stringify!($entity) ),+].len());
        }
    };
}

every_entity! {
    Person persons, Part parts, Revision revisions, Measurement measurements, Alias aliases, Photo photos,
    Listing listings, Assembly assemblies, Bench benches, BenchRange bench_ranges, Session sessions, Run runs,
    Reading readings, Claim claims, Rating ratings, Prediction predictions, ServiceEvent service_events,
    Engine engines, Vehicle vehicles, Decision decisions, ImportFile import_files, SheetTable sheet_tables,
    SheetRows sheet_rows, AlsoAt also_at, Quarantined quarantined,
}
