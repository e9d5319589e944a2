//! The rows of a text file, split cell by cell with the file's own line
//! numbers (RFC 4180, with ragged rows and any line end).

use std::borrow::Cow;

use memchr::{memchr, memchr_iter, memchr2, memchr3};

use super::dialect::{Dialect, Quoting};
use super::{ReadFault, Row};

/// A text file decoded but not yet split into rows.
#[derive(Debug)]
pub struct TextFile<'a> {
    pub(super) file: String,
    /// The encoding's name, as in [`Workbook::encoding`](super::Workbook).
    pub encoding: &'static str,
    /// SHA-256 of the file's bytes.
    pub sha256: [u8; 32],
    pub(super) dialect: Dialect,
    pub(super) columns: u32,
    pub(super) text: Cow<'a, str>,
}

impl TextFile<'_> {
    /// What separates the cells; `None` where nothing does.
    pub fn delimiter(&self) -> Option<char> {
        self.dialect.delimiter.map(char::from)
    }

    /// How the file uses quotation marks.
    pub fn quoting(&self) -> Quoting {
        self.dialect.quoting
    }

    /// Goes through the rows; none of them is kept. A row that is too wide
    /// ends them with a fault.
    pub fn rows(&self) -> Rows<'_> {
        Rows::new(&self.file, &self.text, self.dialect, self.columns)
    }
}

/// Longest quoted cell, in bytes: a quotation mark that is not closed by then
/// is taken for a sign of its own (inches, ditto), so that one stray mark
/// cannot swallow the rest of the file.
const LONGEST_QUOTED: usize = 64 * 1024;

/// After so many unclosed marks, they are no quotes in this file.
const UNCLOSED_MARKS: u32 = 64;

/// Rows of a text file in order; blank lines are left out but counted.
#[derive(Debug)]
pub struct Rows<'t> {
    file: &'t str,
    text: &'t str,
    at: usize,
    line: u32,
    delimiter: Option<u8>,
    quoted: bool,
    unclosed: u32,
    columns: u32,
    spans: Vec<(u32, u32)>,
    failed: bool,
}

impl<'t> Rows<'t> {
    pub(super) fn new(file: &'t str, text: &'t str, dialect: Dialect, columns: u32) -> Rows<'t> {
        Rows {
            file,
            text,
            at: 0,
            line: 1,
            delimiter: dialect.delimiter,
            quoted: dialect.quoting != Quoting::None,
            unclosed: 0,
            columns,
            spans: Vec::new(),
            failed: false,
        }
    }

    /// Splits the row at `start` whose first line ends at `line_end`; gives
    /// its text with the appended cells, and where it ends.
    fn split(&mut self, start: usize, line_end: usize) -> (String, usize) {
        let bytes = self.text.as_bytes();
        let line = &bytes[start..line_end];
        self.spans.clear();
        if !self.quoted || memchr(b'"', line).is_none() {
            let mut from = 0;
            if let Some(delimiter) = self.delimiter {
                for at in memchr_iter(delimiter, line) {
                    self.spans.push((from, at as u32));
                    from = at as u32 + 1;
                }
            }
            self.spans.push((from, line.len() as u32));
            return (self.text[start..line_end].to_owned(), line_end);
        }
        // Cells whose doubled quotes are undone: index of the span, its text.
        let mut undone: Vec<(usize, String)> = Vec::new();
        let mut at = start;
        let end = loop {
            let cell_end = match self.quoted_cell(at) {
                Some((close, doubled)) => {
                    let inner = (at + 1, close);
                    if doubled {
                        let text = self.text[inner.0..inner.1].replace("\"\"", "\"");
                        undone.push((self.spans.len(), text));
                    }
                    self.spans.push(((inner.0 - start) as u32, (inner.1 - start) as u32));
                    close + 1
                }
                None => {
                    let rest = &bytes[at..];
                    let length = match self.delimiter {
                        Some(delimiter) => memchr3(delimiter, b'\n', b'\r', rest),
                        None => memchr2(b'\n', b'\r', rest),
                    };
                    let end = at + length.unwrap_or(rest.len());
                    self.spans.push(((at - start) as u32, (end - start) as u32));
                    end
                }
            };
            match bytes.get(cell_end) {
                Some(byte) if Some(*byte) == self.delimiter => at = cell_end + 1,
                _ => break cell_end,
            }
        };
        let mut buffer = self.text[start..end].to_owned();
        for (index, text) in undone {
            let from = buffer.len() as u32;
            buffer.push_str(&text);
            self.spans[index] = (from, buffer.len() as u32);
        }
        (buffer, end)
    }

    /// Finds the closing mark of a quoted cell that begins at `at`, and
    /// whether marks are doubled in it. `None` where the cell is not quoted,
    /// or what looks like a quote is no pair around a whole cell.
    fn quoted_cell(&mut self, at: usize) -> Option<(usize, bool)> {
        let bytes = self.text.as_bytes();
        if !self.quoted || bytes.get(at) != Some(&b'"') {
            return None;
        }
        let window = &bytes[..bytes.len().min(at + 1 + LONGEST_QUOTED)];
        let mut from = at + 1;
        let mut doubled = false;
        while let Some(found) = window.get(from..).and_then(|rest| memchr(b'"', rest)) {
            let close = from + found;
            match bytes.get(close + 1) {
                Some(b'"') => {
                    doubled = true;
                    from = close + 2;
                }
                None | Some(b'\n' | b'\r') => return Some((close, doubled)),
                Some(byte) if Some(*byte) == self.delimiter => return Some((close, doubled)),
                Some(_) => return None,
            }
        }
        self.unclosed += 1;
        self.quoted = self.unclosed < UNCLOSED_MARKS;
        None
    }
}

impl Iterator for Rows<'_> {
    type Item = Result<Row, ReadFault>;

    fn next(&mut self) -> Option<Self::Item> {
        let bytes = self.text.as_bytes();
        loop {
            let start = self.at;
            if self.failed || start >= bytes.len() {
                return None;
            }
            let rest = &bytes[start..];
            let line_end = start + memchr2(b'\n', b'\r', rest).unwrap_or(rest.len());
            if line_end == start {
                self.at = after_line_end(bytes, start);
                self.line += 1;
                continue;
            }
            let number = self.line;
            let (buffer, end) = self.split(start, line_end);
            if self.spans.len() > self.columns as usize {
                self.failed = true;
                return Some(Err(ReadFault::TooWide {
                    file: self.file.to_owned(),
                    sheet: None,
                    row: number,
                    limit: self.columns,
                }));
            }
            if end > line_end {
                self.line += line_ends(&bytes[start..end]);
            }
            self.line += 1;
            self.at = after_line_end(bytes, end);
            let spans = self.spans.as_slice().into();
            return Some(Ok(Row::line(number, buffer, end - start, spans)));
        }
    }
}

/// The place after the line end at `at`: CR LF, LF or CR.
fn after_line_end(bytes: &[u8], at: usize) -> usize {
    match (bytes.get(at), bytes.get(at + 1)) {
        (Some(b'\r'), Some(b'\n')) => at + 2,
        (Some(_), _) => at + 1,
        (None, _) => at,
    }
}

/// Counts line ends: CR LF, LF or CR.
pub(super) fn line_ends(bytes: &[u8]) -> u32 {
    let mut count = 0;
    let mut at = 0;
    while let Some(found) = memchr2(b'\n', b'\r', &bytes[at..]) {
        at = after_line_end(bytes, at + found);
        count += 1;
    }
    count
}
