//! Rows of a big import: their lines many at a time, their UUIDs at the end and in order.
//!
//! UUIDs come in no order, so that one by one each would go to another page of their index.

use crate::error::StoreError;
use crate::local::uuid_of;
use rusqlite::{Connection, Statement};
use uuid::Uuid;

/// Rows from which it is worth the while.
const MANY: usize = 1_000;
/// Lines laid down at a time.
const TOGETHER: usize = 32;

struct Line {
    id: i64,
    uuid: Uuid,
    entity: u8,
    born: Option<i64>,
}

/// UUIDs with their rows.
pub(crate) type Held = Vec<(Uuid, i64)>;

/// New rows on their way into `row` and `row_of`.
pub(crate) struct Births<'c> {
    conn: &'c Connection,
    many: Statement<'c>,
    next: i64,
    lines: Vec<Line>,
    made: Held,
}

/// A statement that inserts that many lines; all are taken back on any fault, so that none alone has to be.
fn insert(into: &str, columns: usize, lines: usize) -> String {
    let line = format!("({})", vec!["?"; columns].join(", "));
    format!("INSERT OR FAIL INTO {into} VALUES {}", vec![line; lines].join(", "))
}

fn insert_lines(lines: usize) -> String {
    insert("row (id, uuid, entity, born)", 4, lines)
}

fn insert_uuids(lines: usize) -> String {
    insert("row_of (uuid, row)", 2, lines)
}

fn bind_lines(statement: &mut Statement<'_>, lines: &[Line]) -> Result<(), StoreError> {
    for (at, line) in lines.iter().enumerate() {
        let first = at * 4 + 1;
        statement.raw_bind_parameter(first, line.id)?;
        statement.raw_bind_parameter(first + 1, line.uuid.as_bytes())?;
        statement.raw_bind_parameter(first + 2, line.entity)?;
        statement.raw_bind_parameter(first + 3, line.born)?;
    }
    statement.raw_execute()?;
    Ok(())
}

fn bind_uuids(statement: &mut Statement<'_>, lines: &[(Uuid, i64)]) -> Result<(), StoreError> {
    for (at, (uuid, id)) in lines.iter().enumerate() {
        statement.raw_bind_parameter(at * 2 + 1, uuid.as_bytes())?;
        statement.raw_bind_parameter(at * 2 + 2, *id)?;
    }
    statement.raw_execute()?;
    Ok(())
}

impl<'c> Births<'c> {
    /// Where `rows` are many and at least as many as the shelf has, prepares for them, and reads the rows held.
    pub(crate) fn expect(conn: &'c Connection, rows: usize) -> Result<Option<(Self, Held)>, StoreError> {
        let held: i64 = conn.query_row("SELECT coalesce(max(id), 0) FROM row", [], |row| row.get(0))?;
        if rows < MANY || rows < usize::try_from(held).unwrap_or(usize::MAX) {
            return Ok(None);
        }
        let mut ids = Vec::new();
        let mut read = conn.prepare("SELECT uuid, row FROM row_of")?;
        let mut lines = read.query([])?;
        while let Some(line) = lines.next()? {
            ids.push((uuid_of(line.get_ref(0)?)?, line.get(1)?));
        }
        let many = conn.prepare(&insert_lines(TOGETHER))?;
        let made = Vec::with_capacity(rows);
        let lines = Vec::with_capacity(TOGETHER);
        Ok(Some((Births { conn, many, next: held + 1, lines, made }, ids)))
    }

    /// Makes the line of a row that has none.
    pub(crate) fn make(&mut self, uuid: Uuid, entity: u8, born: Option<i64>) -> Result<i64, StoreError> {
        let id = self.next;
        self.next += 1;
        self.made.push((uuid, id));
        self.lines.push(Line { id, uuid, entity, born });
        if self.lines.len() == TOGETHER {
            bind_lines(&mut self.many, &self.lines)?;
            self.lines.clear();
        }
        Ok(id)
    }

    /// Lays down the lines made so far.
    pub(crate) fn lay_down(&mut self) -> Result<(), StoreError> {
        if !self.lines.is_empty() {
            bind_lines(&mut self.conn.prepare(&insert_lines(self.lines.len()))?, &self.lines)?;
            self.lines.clear();
        }
        Ok(())
    }

    /// Lays down the rest, and the UUIDs of all.
    pub(crate) fn end(mut self) -> Result<(), StoreError> {
        self.lay_down()?;
        self.made.sort_unstable();
        let (pieces, rest) = self.made.as_chunks::<TOGETHER>();
        let mut many = self.conn.prepare(&insert_uuids(TOGETHER))?;
        for piece in pieces {
            bind_uuids(&mut many, piece)?;
        }
        if !rest.is_empty() {
            bind_uuids(&mut self.conn.prepare(&insert_uuids(rest.len()))?, rest)?;
        }
        Ok(())
    }
}
