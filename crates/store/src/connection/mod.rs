//! Connections and the schema: how the file is opened, recognized and brought up to date.
//!
//! Migrations only add. A file of a newer program is written by this one where that program said that only columns
//! were added (`writer_version`), and only read otherwise.

#[cfg(not(target_family = "wasm"))]
mod native;
#[cfg(target_family = "wasm")]
mod wasm;

#[cfg(all(test, not(target_family = "wasm")))]
pub(crate) use native::open_beside;
#[cfg(not(target_family = "wasm"))]
pub(crate) use native::{close_new, open, open_new, open_to_read, write_ahead, write_plainly};
#[cfg(target_family = "wasm")]
pub(crate) use wasm::{open, open_beside, open_existing, open_to_read};

use crate::error::StoreError;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, Transaction, TransactionBehavior};

/// Marks the file as a shelf of this program: `ASHF` in ASCII.
pub(crate) const APPLICATION_ID: i32 = 0x4153_4846;

/// Each released step of the schema; the length is the newest `user_version`.
const MIGRATIONS: &[&[&str]] = &[
    &[
        include_str!("../../migrations/0001_log.sql"),
        include_str!("../../migrations/0001_tables.sql"),
        include_str!("../../migrations/0001_indexes.sql"),
    ],
    &[include_str!("../../migrations/0002_mended.sql")],
];

/// The schema version of this program.
pub(crate) const VERSION: i64 = MIGRATIONS.len() as i64;
/// The oldest program that may write what this one writes; raised only by a step that does more than add columns.
pub(crate) const WRITER_VERSION: i64 = 1;

/// Keeps statements, each planned once: planned again for every value, short ones cost several times what they do.
fn plan_once(conn: &Connection) -> Result<(), StoreError> {
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true)?;
    conn.set_prepared_statement_cache_capacity(160);
    Ok(())
}

/// Starts a write: the only one at a time, and all or nothing.
pub(crate) fn begin(conn: &Connection) -> Result<Transaction<'_>, StoreError> {
    Ok(Transaction::new_unchecked(conn, TransactionBehavior::Immediate)?)
}

fn number(conn: &Connection, pragma: &str) -> Result<i64, StoreError> {
    Ok(conn.query_row(&format!("PRAGMA {pragma}"), [], |row| row.get(0))?)
}

/// Makes the tables of an empty file with what belongs in them from the beginning, all or nothing.
pub(crate) fn make(
    conn: &Connection,
    lay: impl FnOnce(&Connection) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let tx = begin(conn)?;
    tx.pragma_update(None, "application_id", APPLICATION_ID)?;
    step(&tx, 0)?;
    lay(&tx)?;
    tx.commit()?;
    Ok(())
}

fn step(conn: &Connection, from: i64) -> Result<(), StoreError> {
    for migration in &MIGRATIONS[usize::try_from(from).expect("versions count from 0")..] {
        for sql in *migration {
            conn.execute_batch(sql)?;
        }
    }
    conn.pragma_update(None, "user_version", VERSION)?;
    Ok(())
}

/// What an opened file is to this program.
pub(crate) enum Schema {
    /// Ours, or newer with only columns added.
    Writable,
    /// Of a program so much newer that this one only reads.
    Newer(i64),
    /// Of an older program, and to be brought up to date.
    Older,
    /// Not a shelf.
    Foreign,
}

/// Recognizes an opened file.
pub(crate) fn recognize(conn: &Connection) -> Result<Schema, StoreError> {
    if number(conn, "application_id")? != i64::from(APPLICATION_ID) {
        return Ok(Schema::Foreign);
    }
    let version = number(conn, "user_version")?;
    if version < 1 {
        return Ok(Schema::Foreign);
    }
    if version < VERSION {
        return Ok(Schema::Older);
    }
    if version > VERSION {
        let writer: i64 = conn.query_row("SELECT writer_version FROM shelf", [], |row| row.get(0))?;
        if writer > VERSION {
            return Ok(Schema::Newer(version));
        }
    }
    Ok(Schema::Writable)
}

/// Brings an older file up to date.
pub(crate) fn migrate(conn: &Connection) -> Result<(), StoreError> {
    let tx = begin(conn)?;
    step(&tx, number(&tx, "user_version")?)?;
    tx.execute("UPDATE shelf SET writer_version = max(writer_version, ?1)", [WRITER_VERSION])?;
    tx.commit()?;
    Ok(())
}

#[cfg(all(test, not(target_family = "wasm")))]
mod tests {
    use super::*;
    use rusqlite::StatementStatus;

    #[test]
    fn a_kept_statement_is_planned_once_whatever_it_is_asked_for() {
        let conn = Connection::open_in_memory().unwrap();
        make(&conn, |_| Ok(())).unwrap();
        plan_once(&conn).unwrap();
        for sql in [
            "SELECT r.id FROM row_of o JOIN row r ON r.id = o.row WHERE o.uuid = ?1",
            "SELECT id FROM part WHERE (?1 IS NULL OR kind = ?1) AND tag IS NOT NULL",
            "SELECT rowid FROM search WHERE search MATCH 'a' LIMIT ?1",
        ] {
            let mut find = conn.prepare(sql).unwrap();
            for sought in [1, 0, 1000] {
                find.query_map([sought], |_| Ok(())).unwrap().for_each(drop);
            }
            assert_eq!(find.get_status(StatementStatus::RePrepare), 0, "{sql}");
        }
    }
}
