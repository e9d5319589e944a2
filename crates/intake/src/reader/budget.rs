//! What a spreadsheet may still ask for while it is read.

use super::{Limits, ReadFault, column_name};

/// Counts cells and text, so that a small file that repeats one cell or one
/// shared string without end is refused before memory is gone.
pub(super) struct Budget<'a> {
    file: &'a str,
    limits: &'a Limits,
    cells: u64,
    text_bytes: u64,
}

impl<'a> Budget<'a> {
    pub(super) fn new(file: &'a str, limits: &'a Limits) -> Self {
        Budget { file, limits, cells: 0, text_bytes: 0 }
    }

    /// Takes `count` cells of `bytes` of text each, the last of them in
    /// `column` (from 0) of `row`.
    pub(super) fn take(
        &mut self,
        sheet: &str,
        row: u32,
        column: u32,
        count: u64,
        bytes: usize,
    ) -> Result<(), ReadFault> {
        if column >= self.limits.columns {
            return Err(ReadFault::TooWide {
                file: self.file.into(),
                sheet: Some(sheet.into()),
                row,
                limit: self.limits.columns,
            });
        }
        self.cells = self.cells.saturating_add(count);
        if self.cells > self.limits.sheet_cells {
            return Err(ReadFault::TooManyCells {
                file: self.file.into(),
                sheet: Some(sheet.into()),
                cell: format!("{}{row}", column_name(column)),
                limit: self.limits.sheet_cells,
            });
        }
        self.text_bytes = (self.text_bytes).saturating_add(count.saturating_mul(bytes as u64));
        if self.text_bytes > self.limits.unpacked_bytes {
            return Err(ReadFault::TooLarge {
                file: self.file.into(),
                what: format!("the text up to sheet {sheet:?}, {}{row}", column_name(column)),
                limit: self.limits.unpacked_bytes,
            });
        }
        Ok(())
    }
}
