//! What can go wrong with a store, what was kept, and whether trying again helps.

use airshelf_catalog::change::cbor::Malformed;
use std::path::PathBuf;
use uuid::Uuid;

/// A fault of the store. A write that fails has changed nothing.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// There is no shelf; trying again does not help, making one does.
    #[error("there is no shelf in {}", dir.display())]
    NoShelf {
        /// The folder.
        dir: PathBuf,
    },
    /// There is a shelf already; trying again does not help.
    #[error("there is a shelf in {} already; it was left as it is", dir.display())]
    AlreadyShelf {
        /// The folder.
        dir: PathBuf,
    },
    /// The file is of another program; trying again does not help.
    #[error("{} is not a shelf of this program; it was left as it is", file.display())]
    NotAShelf {
        /// The file.
        file: PathBuf,
    },
    /// Another program is writing; trying again helps.
    #[error("another program is writing to this shelf; nothing was changed, try again")]
    Busy,
    /// The shelf can only be read here; trying again does not help until that is mended.
    #[error("this shelf can only be read: {why}; nothing was changed")]
    ReadOnly {
        /// Why.
        why: String,
    },
    /// The file may not be read; trying again does not help until that is mended.
    #[error(
        "{} may not be read by this user; it was left as it is. Give yourself the right to read and write the shelf's \
             folder and the files in it, or open it as the user who owns them",
        file.display()
    )]
    MayNotRead {
        /// The file.
        file: PathBuf,
    },
    /// No room; trying again helps once there is room.
    #[error(
        "the disk is full; nothing was changed, and everything written before is kept. Make room and try again"
    )]
    DiskFull,
    /// The file is damaged; trying again does not help.
    #[error(
        "the shelf's file is damaged ({what}). It was not touched: copy the folder away, then restore a backup, \
             or make a new shelf and sync it with another device that holds the same shelf"
    )]
    Damaged {
        /// What SQLite or the log says.
        what: String,
    },
    /// The file system refused; trying again may help.
    #[error("{what}: {source}")]
    Io {
        /// What was being done.
        what: String,
        /// Why it failed.
        source: std::io::Error,
    },
    /// A row that is not on the shelf; trying again does not help.
    #[error("there is no {entity} {id} on this shelf")]
    NoSuchRow {
        /// The entity's name.
        entity: &'static str,
        /// The row.
        id: Uuid,
    },
    /// A field that the entity does not have or cannot hold that value; trying again does not help.
    #[error("{entity}: {why}")]
    NotAField {
        /// The entity's name.
        entity: &'static str,
        /// Why.
        why: String,
    },
    /// Readings are never edited; trying again does not help, striking it out does.
    #[error("a reading is never edited: strike it out with a reason and add another")]
    ReadingsStay,
    /// An assembly's layers are what it is; trying again does not help, building another does.
    #[error("an assembly's layers never change: build another assembly")]
    LayersStay,
    /// A transaction that is not in the log, or an undo of what cannot be undone; trying again does not help.
    #[error("there is no transaction {number} of device {device} here")]
    NoSuchTransaction {
        /// The device.
        device: Uuid,
        /// Its number.
        number: u64,
    },
    /// The caller stopped it; nothing was changed, and trying again starts afresh.
    #[error("stopped; nothing was changed")]
    Stopped,
    /// What came from elsewhere is no transaction; trying again does not help.
    #[error(transparent)]
    Malformed(#[from] Malformed),
    /// Transactions came with a gap before them; syncing again helps.
    #[error(
        "transactions of device {device} are missing before number {number}; nothing was taken, sync again"
    )]
    Gap {
        /// The device.
        device: Uuid,
        /// The number that came.
        number: u64,
    },
    /// Two copies of a device wrote apart, and which branch keeps its name is not settled; syncing again helps.
    #[error(
        "two copies of device {device} wrote different things under number {number}; nothing was taken, sync again"
    )]
    Forked {
        /// The device.
        device: Uuid,
        /// The first number that differs.
        number: u64,
    },
    /// The other store belongs to another shelf; trying again does not help.
    #[error("the other device holds another shelf ({theirs}, not {ours}); only an empty store can join it")]
    OtherShelf {
        /// This shelf.
        ours: Uuid,
        /// The other.
        theirs: Uuid,
    },
    /// A stored file is not what its name says; trying again does not help.
    #[error("{} is damaged: its contents do not match its name", file.display())]
    BlobDamaged {
        /// The file.
        file: PathBuf,
    },
    /// The shelf is not sound, and a backup of it would not be either; trying again does not help.
    #[error(
        "this shelf is damaged ({what}), so no backup was made, and {} was left as it was. Copy the shelf's folder \
             away, then restore an earlier backup into another folder, or sync with another device that holds this shelf",
        file.display()
    )]
    NotBackedUp {
        /// Where the backup would have gone.
        file: PathBuf,
        /// What is wrong with the shelf.
        what: String,
    },
    /// A file that is no backup, or a damaged one; trying again does not help, another backup may.
    #[error("{} is no sound backup: {why}; nothing was restored", file.display())]
    NoBackup {
        /// The file.
        file: PathBuf,
        /// Why.
        why: String,
    },
    /// SQLite refused for another reason; trying again does not help.
    #[error("the database refused: {0}")]
    Sql(rusqlite::Error),
}

impl StoreError {
    /// Whether trying the same again may help.
    pub fn trying_again_helps(&self) -> bool {
        matches!(
            self,
            StoreError::Busy
                | StoreError::DiskFull
                | StoreError::Io { .. }
                | StoreError::Gap { .. }
                | StoreError::Forked { .. }
                | StoreError::Stopped
        )
    }

    pub(crate) fn io(what: impl Into<String>) -> impl FnOnce(std::io::Error) -> StoreError {
        let what = what.into();
        move |source| {
            if source.kind() == std::io::ErrorKind::StorageFull {
                StoreError::DiskFull
            } else {
                StoreError::Io { what, source }
            }
        }
    }

    pub(crate) fn damaged(what: impl Into<String>) -> StoreError {
        StoreError::Damaged { what: what.into() }
    }
}

/// Whether what SQLite calls an input or output error is a full disk: the index of the log could not be made bigger, or a
/// browser's private file system, which refuses a write only where the room that the browser gives is used up.
fn is_no_room(error: &rusqlite::Error) -> bool {
    use rusqlite::ffi::{SQLITE_IOERR_SHMSIZE, SQLITE_IOERR_TRUNCATE, SQLITE_IOERR_WRITE};
    match error.sqlite_error().map(|error| error.extended_code) {
        Some(SQLITE_IOERR_SHMSIZE) => true,
        Some(SQLITE_IOERR_WRITE | SQLITE_IOERR_TRUNCATE) => cfg!(target_family = "wasm"),
        _ => false,
    }
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        match error.sqlite_error_code() {
            Some(Code::DatabaseBusy | Code::DatabaseLocked) => StoreError::Busy,
            Some(Code::DiskFull) => StoreError::DiskFull,
            Some(Code::ReadOnly) => {
                StoreError::ReadOnly { why: "its folder or file does not allow writing".into() }
            }
            Some(Code::SystemIoFailure) if is_no_room(&error) => StoreError::DiskFull,
            Some(Code::SystemIoFailure | Code::CannotOpen) => {
                StoreError::io("reading or writing the shelf's file")(std::io::Error::other(error))
            }
            Some(Code::DatabaseCorrupt | Code::NotADatabase) => {
                StoreError::Damaged { what: error.to_string() }
            }
            _ => StoreError::Sql(error),
        }
    }
}
