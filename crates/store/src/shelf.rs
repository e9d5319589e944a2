//! A shelf: creating, opening, and what it says of itself.

use crate::blobs::Blobs;
use crate::connection::{self, Schema};
use crate::error::StoreError;
use crate::hidden::Remembered;
use crate::host::{Host, Identity, fresh_id};
use crate::local;
use crate::place;
use crate::tables::Tables;
use airshelf_catalog::EntityKind;
use rusqlite::Connection;
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use uuid::Uuid;

/// The database's name within the shelf's folder.
pub(crate) const FILE: &str = "airshelf.db";

/// Why a shelf can only be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadOnly {
    /// A newer program wrote it in a form that this one cannot write.
    NewerProgram {
        /// Its schema version.
        version: i64,
    },
    /// The folder or the file does not allow writing.
    NotAllowed,
}

impl std::fmt::Display for ReadOnly {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            ReadOnly::NewerProgram { version } => {
                write!(f, "a newer program wrote it (schema {version}); install that program to write here")
            }
            ReadOnly::NotAllowed => f.write_str("its folder or file does not allow writing"),
        }
    }
}

/// An open shelf.
pub struct Store {
    pub(crate) conn: Connection,
    pub(crate) host: Arc<dyn Host>,
    pub(crate) identity: Identity,
    dir: PathBuf,
    id: Uuid,
    demo: bool,
    read_only: Option<ReadOnly>,
    blobs: Blobs,
    pub(crate) hidden: Remembered,
}

impl std::fmt::Debug for Store {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Store").field("dir", &self.dir).field("id", &self.id).finish_non_exhaustive()
    }
}

impl Store {
    /// Makes an empty shelf in a folder, which may exist.
    ///
    /// # Errors
    /// [`StoreError::AlreadyShelf`], or what the file system says.
    pub fn create(dir: &Path, host: Arc<dyn Host>) -> Result<Store, StoreError> {
        Store::make(dir, host, false)
    }

    /// Makes an empty shelf that is marked as the demonstration; it never syncs with a real one.
    ///
    /// # Errors
    /// As [`Store::create`].
    pub fn create_demo(dir: &Path, host: Arc<dyn Host>) -> Result<Store, StoreError> {
        Store::make(dir, host, true)
    }

    fn make(dir: &Path, host: Arc<dyn Host>, demo: bool) -> Result<Store, StoreError> {
        place::make(dir, &*host, |conn| lay(conn, fresh_id(&*host), demo))?;
        Store::open(dir, host)
    }

    /// Makes a store in memory for the same shelf, to replay a log into.
    pub(crate) fn in_memory(id: Uuid, demo: bool, host: Arc<dyn Host>) -> Result<Store, StoreError> {
        let conn = Connection::open_in_memory()?;
        connection::make(&conn, |conn| lay(conn, id, demo))?;
        let identity = Identity { device: Uuid::nil(), key: [0; 32] };
        let dir = PathBuf::new();
        let blobs = Blobs::at(&dir, Arc::clone(&host));
        Ok(Store {
            conn,
            host,
            identity,
            blobs,
            dir,
            id,
            demo,
            read_only: None,
            hidden: Remembered::default(),
        })
    }

    /// The same shelf as another file has it, to be read only.
    #[cfg(not(target_family = "wasm"))]
    pub(crate) fn beside(&self, conn: Connection) -> Store {
        Store {
            conn,
            host: Arc::clone(&self.host),
            identity: Identity { device: Uuid::nil(), key: [0; 32] },
            blobs: self.blobs.clone(),
            dir: self.dir.clone(),
            id: self.id,
            demo: self.demo,
            read_only: Some(ReadOnly::NotAllowed),
            hidden: Remembered::default(),
        }
    }

    /// Opens the shelf in a folder.
    ///
    /// A file that cannot be written, or that a newer program wrote in a form this one cannot write, opens to be read:
    /// see [`Store::read_only`].
    ///
    /// # Errors
    /// [`StoreError::NoShelf`], [`StoreError::NotAShelf`], [`StoreError::Damaged`], [`StoreError::Busy`].
    pub fn open(dir: &Path, host: Arc<dyn Host>) -> Result<Store, StoreError> {
        let file = dir.join(FILE);
        place::look(dir, &file)?;
        Store::open_file(dir, &file, host)
    }

    fn open_file(dir: &Path, file: &Path, host: Arc<dyn Host>) -> Result<Store, StoreError> {
        let mut read_only = None;
        let looked_at = connection::open_to_read(file)?;
        let schema = connection::recognize(&looked_at)?;
        if let Schema::Foreign = schema {
            return Err(StoreError::NotAShelf { file: file.to_owned() });
        }
        if let Schema::Newer(version) = schema {
            read_only = Some(ReadOnly::NewerProgram { version });
        } else if !place::can_write(dir, file) {
            read_only = Some(ReadOnly::NotAllowed);
        }
        let conn = if read_only.is_some() { looked_at } else { connection::open(file)? };
        if let (Schema::Older, None) = (&schema, &read_only) {
            connection::migrate(&conn)?;
        }
        let (id, demo): ([u8; 16], bool) =
            conn.query_row("SELECT id, demo FROM shelf", [], |row| Ok((row.get(0)?, row.get(1)?)))?;
        let identity = match &read_only {
            None => host.identity(dir).map_err(StoreError::io("reading this device's identity"))?,
            Some(_) => Identity { device: Uuid::nil(), key: [0; 32] },
        };
        let blobs = Blobs::at(dir, Arc::clone(&host));
        let store = Store {
            conn,
            host,
            identity,
            blobs,
            dir: dir.to_owned(),
            id: Uuid::from_bytes(id),
            demo,
            read_only,
            hidden: Remembered::default(),
        };
        if store.read_only.is_none() {
            place::clear(file);
            store.try_parked_again()?;
        }
        Ok(store)
    }

    /// Whether there is a shelf in a folder.
    pub fn is_there(dir: &Path) -> bool {
        place::look(dir, &dir.join(FILE)).is_ok()
    }

    /// The shelf's folder.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// The shelf's identifier, the same on every device that holds it.
    pub fn shelf_id(&self) -> Uuid {
        self.id
    }

    /// Whether it is the demonstration.
    pub fn is_demo(&self) -> bool {
        self.demo
    }

    /// Why the shelf can only be read here, if so.
    pub fn read_only(&self) -> Option<&ReadOnly> {
        self.read_only.as_ref()
    }

    /// This device, as stamps name it.
    pub fn device(&self) -> Uuid {
        self.identity.device
    }

    /// This device's identity with its key, for pairing.
    pub fn identity(&self) -> &Identity {
        &self.identity
    }

    /// Photos and originals.
    pub fn blobs(&self) -> &Blobs {
        &self.blobs
    }

    /// The program and its version, as transactions name it.
    pub fn program(&self) -> String {
        self.host.program()
    }

    /// This device's clock, milliseconds since 1970.
    pub fn now_ms(&self) -> u64 {
        self.host.now_ms()
    }

    /// The civil date on this device.
    pub fn today(&self) -> String {
        self.host.wall().chars().take(10).collect()
    }

    /// A new row's identifier.
    pub fn fresh_id(&self) -> Uuid {
        fresh_id(&*self.host)
    }

    /// Whether nothing was ever written.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn is_empty(&self) -> Result<bool, StoreError> {
        Ok(!self.conn.prepare_cached("SELECT 1 FROM txn LIMIT 1")?.exists([])?)
    }

    /// A number that is another once another program, or another connection, has written; one's own writes leave it.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn data_version(&self) -> Result<i64, StoreError> {
        Ok(self.conn.query_row("PRAGMA data_version", [], |row| row.get(0))?)
    }

    /// Reads again which shelf this is: another program may have made this empty store part of one.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn look_again(&mut self) -> Result<(), StoreError> {
        let (id, demo): ([u8; 16], bool) =
            self.conn.query_row("SELECT id, demo FROM shelf", [], |row| Ok((row.get(0)?, row.get(1)?)))?;
        (self.id, self.demo) = (Uuid::from_bytes(id), demo);
        Ok(())
    }

    /// Makes this empty store part of another shelf.
    pub(crate) fn join(&mut self, shelf: Uuid, demo: bool) -> Result<(), StoreError> {
        self.conn.execute("UPDATE shelf SET id = ?1, demo = ?2", (shelf.as_bytes(), demo))?;
        (self.id, self.demo) = (shelf, demo);
        Ok(())
    }

    pub(crate) fn must_write(&self) -> Result<(), StoreError> {
        match &self.read_only {
            Some(why) => Err(StoreError::ReadOnly { why: why.to_string() }),
            None => Ok(()),
        }
    }

    /// Tries what was parked again, once the program knows other things than the last that opened the shelf.
    fn try_parked_again(&self) -> Result<(), StoreError> {
        let known = what_is_known(&*self.host);
        let before: String = self.conn.query_row("SELECT known FROM shelf", [], |row| row.get(0))?;
        if before == known {
            return Ok(());
        }
        let tx = connection::begin(&self.conn)?;
        let rows: Vec<i64> = tx
            .prepare("SELECT DISTINCT row FROM parked ORDER BY row")?
            .query_map([], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let mut tables = Tables::open(&tx, &*self.host)?;
        for row in rows {
            tables.add_up(row)?;
        }
        drop(tables);
        tx.execute("UPDATE shelf SET known = ?1", [known])?;
        tx.commit()?;
        Ok(())
    }

    /// Whether a row is held, and not deleted.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn holds(&self, id: Uuid) -> Result<bool, StoreError> {
        Ok(local::find(&self.conn, id)?.is_some_and(|known| known.born.is_some()))
    }
}

fn lay(conn: &Connection, id: Uuid, demo: bool) -> Result<(), StoreError> {
    conn.execute(
        "INSERT INTO shelf (one, id, demo, writer_version, clock, known) VALUES (1, ?1, ?2, ?3, 0, '')",
        (id.as_bytes(), demo, connection::WRITER_VERSION),
    )?;
    Ok(())
}

/// A short name for everything that this program knows of entities, fields and codes.
fn what_is_known(host: &dyn Host) -> String {
    let mut hash = Sha256::new();
    for kind in EntityKind::ALL.iter().filter(|kind| host.knows(kind.number(), 0)) {
        hash.update([kind.number()]);
        for field in kind.fields().iter().filter(|field| host.knows(kind.number(), field.number)) {
            hash.update(format!("{} {:?}", field.number, field.kind));
        }
    }
    for unit in airshelf_units::Unit::all() {
        hash.update(unit.symbol());
    }
    hash.finalize()[..8].iter().map(|b| format!("{b:02x}")).collect()
}
