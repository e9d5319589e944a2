//! Raw rows as they come, put down several hundred at a time.

use crate::reader::Row;
use crate::stage::raw;
use airshelf_catalog::ids::Derived;
use airshelf_catalog::{SheetRows, Uuid};

/// Keeps raw rows as they come and puts them down several hundred at a time.
pub(crate) struct RawRows {
    pub(super) plain: Vec<u8>,
    pub(super) first: i64,
    pub(super) before: i64,
    pub(super) count: usize,
}

impl RawRows {
    pub fn new() -> Self {
        RawRows { plain: Vec::new(), first: 0, before: 0, count: 0 }
    }

    pub fn keep(&mut self, row: &Row, table: Uuid, out: &mut Vec<SheetRows>) {
        let number = i64::from(row.number());
        if self.count == 0 {
            self.first = number;
            self.before = number;
        }
        raw::add(&mut self.plain, number, &row.raw(), &mut self.before);
        self.count += 1;
        if self.count >= raw::ROWS_TOGETHER {
            self.flush(table, out);
        }
    }

    pub fn flush(&mut self, table: Uuid, out: &mut Vec<SheetRows>) {
        if self.count == 0 {
            return;
        }
        out.push(SheetRows {
            id: Derived::new("sheet_rows").id(Some(table)).int(Some(self.first)).finish(),
            table: Some(table),
            first_row: Some(self.first),
            packed: Some(raw::compress(&self.plain)),
        });
        self.plain.clear();
        self.count = 0;
    }
}
