//! The rows of a text file with the file's own line numbers (RFC 4180, with
//! ragged rows and any line end). `csv-core` splits them; what is added here
//! is that a mark which is no quotation mark loses no text.

use std::borrow::Cow;

use csv_core::{ReadFieldResult, ReadRecordResult, Reader, ReaderBuilder};

use super::dialect::{Dialect, Quoting};
use super::fixed::Layout;
use super::{ReadFault, Row};
use crate::threads::beside;

/// A text file decoded but not yet split into rows.
#[derive(Debug)]
pub struct TextFile<'a> {
    pub(super) file: String,
    /// The encoding's name, as in [`Workbook::encoding`](super::Workbook).
    pub encoding: &'static str,
    /// SHA-256 of the file's bytes.
    pub sha256: [u8; 32],
    pub(super) dialect: Dialect,
    /// Where the columns of a printout are, that nothing but blanks separates.
    pub(super) layout: Option<Layout>,
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
        Rows::new(&self.file, &self.text, self.dialect, self.layout.as_ref(), self.columns)
    }

    /// Gives all rows, at most so many cells.
    ///
    /// The two halves of a long text are split at once. Where a row begins, the second half does not know for sure: a
    /// quoted cell may go on over the line at which it begins. So it counts only if the first half ends exactly there.
    pub(super) fn all_rows(&self, most_cells: u64) -> Result<Vec<Row>, ReadFault> {
        let mut first = self.rows();
        let mut taken = Taken { file: &self.file, most_cells, cells: 0, rows: Vec::new() };
        if let Some(middle) = middle_line(self.text.as_bytes()) {
            let mut second = Rows { at: middle, ..self.rows() };
            let (upper, lower) = beside(
                || taken.until(&mut first, middle),
                || {
                    let mut taken = Taken { file: &self.file, most_cells, cells: 0, rows: Vec::new() };
                    taken.until(&mut second, usize::MAX).map(|()| taken)
                },
            );
            upper?;
            if first.at == middle
                && let Ok(lower) = lower
                && taken.cells + lower.cells <= most_cells
            {
                taken.rows.reserve_exact(lower.rows.len());
                taken.rows.extend(lower.rows.into_iter().map(|row| row.further_down(first.line - 1)));
                return Ok(taken.rows);
            }
        }
        taken.until(&mut first, usize::MAX)?;
        Ok(taken.rows)
    }
}

/// Rows read, and how many cells they have.
struct Taken<'t> {
    file: &'t str,
    most_cells: u64,
    cells: u64,
    rows: Vec<Row>,
}

impl Taken<'_> {
    /// Takes the rows that begin before `end`.
    fn until(&mut self, rows: &mut Rows<'_>, end: usize) -> Result<(), ReadFault> {
        while rows.start() < end
            && let Some(row) = rows.next()
        {
            let row = row?;
            self.cells += row.len() as u64;
            if self.cells > self.most_cells {
                return Err(ReadFault::TooManyCells {
                    file: self.file.into(),
                    sheet: None,
                    cell: format!("row {}", row.number()),
                    limit: self.most_cells,
                });
            }
            self.rows.push(row);
        }
        Ok(())
    }
}

/// Text from which the halves are split at once.
const LONG: usize = if cfg!(test) { 64 } else { 1 << 18 };

/// Where the first line with content in the second half of a long text begins.
fn middle_line(bytes: &[u8]) -> Option<usize> {
    let half = bytes.len() / 2;
    if bytes.len() < LONG {
        return None;
    }
    let end = half + bytes[half..].iter().position(|byte| *byte == b'\n')?;
    let blank = bytes[end..].iter().take_while(|byte| matches!(byte, b'\n' | b'\r')).count();
    Some(end + blank)
}

/// Longest quoted cell, in bytes and in line ends: a quotation mark that is not
/// closed by then is taken for a sign of its own (inches, ditto), so that one
/// stray mark cannot swallow the rest of the file. Common practice, no source.
const LONGEST_QUOTED: usize = 64 * 1024;
const MOST_LINE_ENDS: u32 = 100;

/// A byte that no UTF-8 text holds, for text that nothing separates.
const NO_DELIMITER: u8 = 0xFF;

/// Rows of a text file in order; blank lines are left out but counted.
#[derive(Debug)]
pub struct Rows<'t> {
    file: &'t str,
    text: &'t str,
    at: usize,
    line: u32,
    delimiter: u8,
    layout: Option<&'t Layout>,
    quoted: bool,
    columns: u32,
    /// Splits at every delimiter and line end.
    plain: Reader,
    /// Undoes the quotes of one cell.
    quotes: Reader,
    output: Vec<u8>,
    ends: Vec<usize>,
    spans: Vec<(u32, u32)>,
    failed: bool,
}

/// A row's cells would be more than any table has.
struct TooWide;

impl<'t> Rows<'t> {
    pub(super) fn new(
        file: &'t str,
        text: &'t str,
        dialect: Dialect,
        layout: Option<&'t Layout>,
        columns: u32,
    ) -> Rows<'t> {
        let delimiter = dialect.delimiter.unwrap_or(NO_DELIMITER);
        let reader = |quoting| ReaderBuilder::new().delimiter(delimiter).quoting(quoting).build();
        let mut plain = reader(false);
        // The reader drops a byte order mark where it begins; one that still
        // stands in the decoded text is text.
        plain.read_record(b"\n", &mut [0], &mut [0]);
        Rows {
            file,
            text,
            at: 0,
            line: 1,
            delimiter,
            layout,
            quoted: dialect.quoting != Quoting::None,
            columns,
            plain,
            quotes: reader(true),
            output: vec![0; 1024],
            ends: vec![0; 64],
            spans: Vec::new(),
            failed: false,
        }
    }

    /// Splits the row at `start`; gives its text with the appended cells, and
    /// where it ends.
    fn split(&mut self, start: usize) -> Result<(String, usize), TooWide> {
        if let Some(layout) = self.layout {
            return self.split_columns(layout, start);
        }
        let text = self.text;
        // Cells whose doubled quotes are undone: index of the span, its text.
        let mut undone: Vec<(usize, String)> = Vec::new();
        let mut at = start;
        self.spans.clear();
        let end = loop {
            let cells = self.cells_of_line(at)?;
            let line_end = at + self.ends[cells - 1] + cells - 1;
            let marked = self.quoted && text[at..line_end].contains('"');
            let mut from = at;
            for cell in 0..cells {
                // The reader's positions leave out the delimiters before.
                let mut to = at + self.ends[cell] + cell;
                if to < from {
                    // Within the quoted cell before.
                    continue;
                }
                let mut span = (from, to);
                if marked && let Some((end, doubled)) = self.quoted_cell(from) {
                    to = end;
                    span = (from + 1, end - 1);
                    undone.extend(doubled.map(|cell| (self.spans.len(), cell)));
                }
                self.spans.push(((span.0 - start) as u32, (span.1 - start) as u32));
                from = to + 1;
            }
            if self.spans.len() > self.columns as usize {
                return Err(TooWide);
            }
            if text.as_bytes().get(from - 1) != Some(&self.delimiter) {
                break from - 1;
            }
            // The last cell ended on a later line, where more cells follow.
            at = from;
            if matches!(text.as_bytes().get(at), None | Some(b'\n' | b'\r')) {
                self.spans.push(((at - start) as u32, (at - start) as u32));
                break at;
            }
        };
        let mut buffer = text[start..end].to_owned();
        for (index, cell) in undone {
            let from = buffer.len() as u32;
            buffer.push_str(&cell);
            self.spans[index] = (from, buffer.len() as u32);
        }
        Ok((buffer, end))
    }

    /// Splits the line at `start` of a printout.
    fn split_columns(&mut self, layout: &Layout, start: usize) -> Result<(String, usize), TooWide> {
        let rest = &self.text[start..];
        let end = rest.find(['\n', '\r']).unwrap_or(rest.len());
        let line = &rest[..end];
        let cells = layout.cells(start, line);
        self.spans.clear();
        self.spans.extend(cells.into_iter().map(|cell| (cell.start as u32, cell.end as u32)));
        if self.spans.len() > self.columns as usize {
            return Err(TooWide);
        }
        Ok((line.to_owned(), start + end))
    }

    /// Splits the line at `at`, which is not blank, at every delimiter; gives
    /// the number of cells, whose ends the reader leaves in `ends`.
    fn cells_of_line(&mut self, at: usize) -> Result<usize, TooWide> {
        // Quoted cells may still join some of these.
        let most = (self.columns as usize).saturating_add(LONGEST_QUOTED);
        let (mut read, mut written, mut cells) = (at, 0, 0);
        loop {
            let (result, taken, put, ended) = self.plain.read_record(
                &self.text.as_bytes()[read..],
                &mut self.output[written..],
                &mut self.ends[cells..],
            );
            read += taken;
            written += put;
            cells += ended;
            match result {
                ReadRecordResult::Record | ReadRecordResult::End => return Ok(cells),
                // Asked again with nothing left, the reader ends the row.
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull => self.output.resize(written * 2, 0),
                ReadRecordResult::OutputEndsFull if cells <= most => self.ends.resize(cells * 2, 0),
                ReadRecordResult::OutputEndsFull => return Err(TooWide),
            }
        }
    }

    /// Reads the quoted cell that begins at `at`; gives where it ends and, if
    /// marks are doubled in it, its text. `None` where the cell is not quoted,
    /// or what looks like a quote is no pair around a whole cell.
    ///
    /// Marks that are no quotes cost no second look: a mark that would open a
    /// cell closes one that is still open, and the reader stops there.
    fn quoted_cell(&mut self, at: usize) -> Option<(usize, Option<String>)> {
        let bytes = self.text.as_bytes();
        if bytes.get(at) != Some(&b'"') {
            return None;
        }
        let window = &bytes[at..bytes.len().min(at + LONGEST_QUOTED)];
        if self.output.len() < window.len() {
            self.output.resize(window.len(), 0);
        }
        self.quotes.reset();
        let (result, taken, put) = self.quotes.read_field(window, &mut self.output);
        let end = match result {
            // The delimiter or line end is taken too.
            ReadFieldResult::Field { .. } => at + taken - 1,
            _ if at + taken == bytes.len() => bytes.len(),
            _ => return None,
        };
        // The reader makes some cell of any text; it was quoted if quoting the
        // cell again gives what stands in the file.
        let inner = self.text[at..end].strip_prefix('"')?.strip_suffix('"')?;
        let cell = &self.output[..put];
        if line_ends(inner.as_bytes()) > MOST_LINE_ENDS {
            None
        } else if !cell.contains(&b'"') {
            (inner.as_bytes() == cell).then_some((end, None))
        } else {
            let cell = std::str::from_utf8(cell).ok()?;
            (inner == cell.replace('"', "\"\"")).then(|| (end, Some(cell.to_owned())))
        }
    }
}

impl Rows<'_> {
    /// Goes over blank lines to where the next row begins.
    fn start(&mut self) -> usize {
        let bytes = self.text.as_bytes();
        while matches!(bytes.get(self.at), Some(b'\n' | b'\r')) {
            self.at = after_line_end(bytes, self.at);
            self.line += 1;
        }
        self.at
    }
}

impl Iterator for Rows<'_> {
    type Item = Result<Row, ReadFault>;

    fn next(&mut self) -> Option<Self::Item> {
        let bytes = self.text.as_bytes();
        if self.failed {
            return None;
        }
        let start = self.start();
        if start >= bytes.len() {
            return None;
        }
        let number = self.line;
        let Ok((buffer, end)) = self.split(start) else {
            self.failed = true;
            return Some(Err(ReadFault::TooWide {
                file: self.file.to_owned(),
                sheet: None,
                row: number,
                limit: self.columns,
            }));
        };
        self.line += line_ends(&bytes[start..end]) + 1;
        self.at = after_line_end(bytes, end);
        let spans = self.spans.as_slice().into();
        Some(Ok(Row::line(number, buffer, end - start, spans)))
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
    let returns = bytes.iter().filter(|byte| **byte == b'\r').count();
    let feeds = bytes.iter().filter(|byte| **byte == b'\n').count();
    let both = if returns > 0 { bytes.windows(2).filter(|pair| pair == b"\r\n").count() } else { 0 };
    (returns + feeds - both) as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reader::{Limits, Source, open};

    /// Rows one after the other, and all at once by halves.
    fn both(text: &str, most_cells: u64) -> (Result<Vec<Row>, String>, Result<Vec<Row>, String>) {
        let Source::Text(file) = open("t.csv", text.as_bytes(), &Limits::default()).unwrap() else {
            panic!("no text")
        };
        let one_by_one = file.rows().collect::<Result<Vec<_>, _>>();
        (one_by_one.map_err(|e| e.to_string()), file.all_rows(most_cells).map_err(|e| e.to_string()))
    }

    #[test]
    fn halves_have_the_rows_of_the_whole_wherever_a_quoted_cell_crosses_the_middle() {
        let plain = "n;flow;note\n".to_owned() + &"1;260,5;a note\n".repeat(9);
        for at in 0..plain.len() {
            for cell in
                ["\"over\nthree\n\nlines\"", "\"said \"\"so\"\"\n;\n\"", "\"open\n", "\n\n\r\n", "5\"", "\r"]
            {
                let text = format!("{}{cell}{}", &plain[..at], &plain[at..]);
                let (one_by_one, halves) = both(&text, 1000);
                assert_eq!(one_by_one, halves, "{text:?}");
            }
        }
    }

    #[test]
    fn too_many_cells_in_two_halves_are_too_many() {
        let text = "1;2\n".repeat(40);
        assert_eq!(both(&text, 80).1.unwrap().len(), 40);
        assert!(both(&text, 79).1.unwrap_err().contains("row 40"));
    }
}
