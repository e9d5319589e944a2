//! The host of a page in a browser: its clock and randomness, identities in a database of their own.

use crate::connection;
use crate::error::StoreError;
use crate::host::{Host, Identity, fresh_id};
use chrono::{DateTime, FixedOffset, SecondsFormat};
use rusqlite::OptionalExtension;
use std::io;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// The browser this program runs in.
#[derive(Clone, Debug)]
pub struct Browser {
    file: PathBuf,
    person: Option<Uuid>,
}

impl Browser {
    /// Keeps identities in `file`, which is in no backup and no export.
    pub fn new(file: impl Into<PathBuf>) -> Self {
        Browser { file: file.into(), person: None }
    }

    /// Says who is writing.
    #[must_use]
    pub fn with_person(mut self, person: Option<Uuid>) -> Self {
        self.person = person;
        self
    }

    fn open(&self) -> Result<rusqlite::Connection, StoreError> {
        let conn = connection::open_beside(&self.file)?;
        conn.execute_batch(
            "CREATE TABLE IF NOT EXISTS identity (place TEXT PRIMARY KEY, device BLOB NOT NULL, key BLOB NOT NULL) STRICT;
             CREATE TABLE IF NOT EXISTS kept (what TEXT PRIMARY KEY, text TEXT NOT NULL) STRICT;",
        )?;
        Ok(conn)
    }

    fn keep(&self, place: &Path, over: bool) -> Result<Identity, StoreError> {
        let conn = self.open()?;
        let place = place.to_string_lossy();
        let held: Option<([u8; 16], [u8; 32])> = conn
            .query_row("SELECT device, key FROM identity WHERE place = ?1", [&place], |row| {
                Ok((row.get(0)?, row.get(1)?))
            })
            .optional()?;
        if let (Some((device, key)), false) = (held, over) {
            return Ok(Identity { device: Uuid::from_bytes(device), key });
        }
        let mut key = [0; 32];
        self.random(&mut key);
        let identity = Identity { device: fresh_id(self), key };
        conn.execute(
            "INSERT OR REPLACE INTO identity (place, device, key) VALUES (?1, ?2, ?3)",
            (&place, identity.device.as_bytes(), identity.key),
        )?;
        Ok(identity)
    }
}

impl Host for Browser {
    fn now_ms(&self) -> u64 {
        js_sys::Date::now() as u64
    }

    fn wall(&self) -> String {
        let east_minutes = -js_sys::Date::new_0().get_timezone_offset() as i32;
        let offset = FixedOffset::east_opt(east_minutes * 60);
        let now = DateTime::from_timestamp_millis(js_sys::Date::now() as i64).unwrap_or_default();
        match offset {
            Some(offset) => now.with_timezone(&offset).to_rfc3339_opts(SecondsFormat::Secs, false),
            None => now.to_rfc3339_opts(SecondsFormat::Secs, true),
        }
    }

    fn random(&self, out: &mut [u8]) {
        getrandom::fill(out).expect("the browser gives random bytes");
    }

    fn identity(&self, place: &Path) -> io::Result<Identity> {
        self.keep(place, false).map_err(io::Error::other)
    }

    fn new_identity(&self, place: &Path) -> io::Result<Identity> {
        self.keep(place, true).map_err(io::Error::other)
    }

    fn recall(&self, what: &str) -> io::Result<Option<String>> {
        let read = || -> Result<Option<String>, StoreError> {
            let find = "SELECT text FROM kept WHERE what = ?1";
            Ok(self.open()?.query_row(find, [what], |row| row.get(0)).optional()?)
        };
        read().map_err(io::Error::other)
    }

    fn remember(&self, what: &str, text: &str) -> io::Result<()> {
        let keep = || -> Result<(), StoreError> {
            self.open()?.execute("INSERT OR REPLACE INTO kept (what, text) VALUES (?1, ?2)", (what, text))?;
            Ok(())
        };
        keep().map_err(io::Error::other)
    }

    fn person(&self) -> Option<Uuid> {
        self.person
    }
}
