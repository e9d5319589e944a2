//! A row of cells as written, the same to its readers whether it came from a
//! line of text or from a spreadsheet.

use std::borrow::Cow;
use std::collections::BTreeMap;

/// What kind of value the file says a cell holds. Cells of text files are
/// always text.
#[derive(Debug, Clone, PartialEq)]
pub enum CellKind {
    /// Text, or a clock time or duration shown as `HH:MM`.
    Text,
    /// A number; the cell's text shows at most 15 significant digits of it,
    /// and a percent format shows as `48%` for 0.48.
    Number(f64),
    /// A civil date `YYYY-MM-DD` or `YYYY-MM-DDTHH:MM:SS`, in no time zone.
    Date(String),
    /// A truth value.
    Bool(bool),
    /// An error such as `#DIV/0!`.
    Error,
}

/// One cell of a row, borrowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell<'r> {
    /// Column, from 0.
    pub column: u32,
    /// The text exactly as written or shown.
    pub raw: &'r str,
    /// What the file says the value is.
    pub kind: &'r CellKind,
}

/// A cell of a spreadsheet row, owned.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Held {
    pub column: u32,
    pub raw: Box<str>,
    pub kind: CellKind,
}

/// One row with content.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    number: u32,
    body: Body,
}

#[derive(Debug, Clone, PartialEq)]
enum Body {
    /// The line as written in `buffer[..written]`, then the text of those
    /// cells that doubled quotes keep from standing in it; `spans` are the
    /// cells' ranges in `buffer`.
    Line { buffer: Box<str>, written: u32, spans: Box<[(u32, u32)]> },
    /// Cells by ascending column, empty ones left out.
    Cells(Box<[Held]>),
}

static TEXT: CellKind = CellKind::Text;

impl Row {
    pub(super) fn line(number: u32, buffer: String, written: usize, spans: Box<[(u32, u32)]>) -> Row {
        let written = written as u32;
        let buffer = buffer.into_boxed_str();
        Row { number, body: Body::Line { buffer, written, spans } }
    }

    /// The row with so many lines more above it.
    pub(super) fn further_down(mut self, lines: u32) -> Row {
        self.number += lines;
        self
    }

    /// The row with other texts in some of its cells, by column.
    pub fn corrected<'t>(&self, texts: impl IntoIterator<Item = (usize, &'t str)>) -> Row {
        let mut cells: BTreeMap<u32, Held> = self
            .cells()
            .filter(|cell| !cell.raw.is_empty())
            .map(|cell| {
                (cell.column, Held { column: cell.column, raw: cell.raw.into(), kind: cell.kind.clone() })
            })
            .collect();
        for (column, text) in texts {
            let Ok(column) = u32::try_from(column) else { continue };
            cells.insert(column, Held { column, raw: text.into(), kind: CellKind::Text });
        }
        cells.retain(|_, cell| !cell.raw.is_empty());
        Row::cells_of(self.number, cells.into_values().collect())
    }

    pub(super) fn cells_of(number: u32, mut cells: Vec<Held>) -> Row {
        if !cells.is_sorted_by(|a, b| a.column < b.column) {
            cells.sort_by_key(|cell| cell.column);
            cells.dedup_by_key(|cell| cell.column);
        }
        Row { number, body: Body::Cells(cells.into_boxed_slice()) }
    }

    /// The file's own number of the row: the physical line it begins on, from
    /// 1, or the spreadsheet row.
    pub fn number(&self) -> u32 {
        self.number
    }

    /// How many columns the row reaches: the last cell's column and one.
    pub fn len(&self) -> usize {
        match &self.body {
            Body::Line { spans, .. } => spans.len(),
            Body::Cells(cells) => cells.last().map_or(0, |cell| cell.column as usize + 1),
        }
    }

    /// Whether the row has no cell at all; see [`Row::is_blank`].
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Gives a cell's text exactly as written or shown; empty where the row
    /// has no such cell.
    pub fn text(&self, column: usize) -> &str {
        match &self.body {
            Body::Line { buffer, spans, .. } => {
                spans.get(column).map_or("", |&(start, end)| &buffer[start as usize..end as usize])
            }
            Body::Cells(_) => self.held(column).map_or("", |cell| &cell.raw),
        }
    }

    /// Gives what the file says a cell holds; text where the row has no such
    /// cell.
    pub fn kind(&self, column: usize) -> &CellKind {
        self.held(column).map_or(&TEXT, |cell| &cell.kind)
    }

    /// Gives a cell.
    pub fn cell(&self, column: usize) -> Option<Cell<'_>> {
        (column < self.len()).then(|| Cell {
            column: column as u32,
            raw: self.text(column),
            kind: self.kind(column),
        })
    }

    /// Goes through the cells by column. A line of text gives every cell, a
    /// spreadsheet row only those with content.
    pub fn cells(&self) -> impl Iterator<Item = Cell<'_>> {
        let (line, held) = match &self.body {
            Body::Line { buffer, spans, .. } => (Some((buffer, spans)), None),
            Body::Cells(cells) => (None, Some(cells)),
        };
        let written = line.into_iter().flat_map(|(buffer, spans)| {
            spans.iter().enumerate().map(move |(column, &(start, end))| Cell {
                column: column as u32,
                raw: &buffer[start as usize..end as usize],
                kind: &TEXT,
            })
        });
        let shown = held.into_iter().flatten().map(|cell| Cell {
            column: cell.column,
            raw: &cell.raw,
            kind: &cell.kind,
        });
        written.chain(shown)
    }

    /// Whether every cell is empty or white space.
    pub fn is_blank(&self) -> bool {
        self.cells().all(|cell| cell.raw.trim().is_empty())
    }

    /// Whether the row is a comment: its first cell begins with `#`.
    pub fn is_comment(&self) -> bool {
        self.text(0).trim_start().starts_with('#')
    }

    /// Gives the row as written: the line with its quotes and delimiters, or
    /// a spreadsheet's cells joined by tabs.
    pub fn raw(&self) -> Cow<'_, str> {
        match &self.body {
            Body::Line { buffer, written, .. } => Cow::Borrowed(&buffer[..*written as usize]),
            Body::Cells(cells) => {
                let mut joined = String::new();
                let mut at = 0;
                for cell in cells {
                    while at < cell.column {
                        joined.push('\t');
                        at += 1;
                    }
                    joined.push_str(&cell.raw);
                }
                Cow::Owned(joined)
            }
        }
    }

    fn held(&self, column: usize) -> Option<&Held> {
        let Body::Cells(cells) = &self.body else {
            return None;
        };
        let column = u32::try_from(column).ok()?;
        let at = cells.binary_search_by_key(&column, |cell| cell.column).ok()?;
        cells.get(at)
    }
}

/// Names a column as spreadsheets do: 0 is `A`, 26 is `AA`.
///
/// ```
/// use airshelf_intake::reader::column_name;
/// assert_eq!((column_name(0), column_name(16_383)), ("A".into(), "XFD".into()));
/// ```
pub fn column_name(column: u32) -> String {
    let mut letters = Vec::new();
    let mut left = u64::from(column) + 1;
    while left > 0 {
        letters.push(b'A' + ((left - 1) % 26) as u8);
        left = (left - 1) / 26;
    }
    letters.iter().rev().map(|&letter| letter as char).collect()
}

#[cfg(test)]
mod tests {
    use crate::reader::{Limits, read};

    #[test]
    fn a_corrected_row_keeps_its_number_and_its_other_cells() {
        let book = read("t.csv", b"a;b;c\n1;\"x;y\";3\n", &Limits::default()).unwrap();
        let row = book.sheets[0].rows[1].corrected([(2, "4"), (4, "far"), (0, "")]);
        assert_eq!(row.number(), 2);
        let texts: Vec<&str> = (0..6).map(|column| row.text(column)).collect();
        assert_eq!(texts, ["", "x;y", "4", "", "far", ""]);
    }
}
