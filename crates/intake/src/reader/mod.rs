//! The first stage of reading old records: a file's bytes become sheets of
//! rows of cells, exactly as written; nothing is interpreted yet.
//!
//! Start at [`read`] for a whole [`Workbook`], or at [`open`] for a
//! [`Source`]: the rows of a text file then come one at a time, so that
//! memory grows no faster than the file.
//!
//! - What a file is, its content decides; the name is only repeated in faults.
//! - Row numbers are the file's own: physical lines from 1 in text files
//!   (headers, comments, blank lines and the inner lines of a quoted cell
//!   count), spreadsheet rows otherwise. Rows without any content are left
//!   out and show as a gap in the numbers.
//! - Columns count from 0 (`A`).
//!
//! This module never touches files or clock, and a hostile file
//! gives a [`ReadFault`], never a panic or unbounded memory.

mod archive;
mod budget;
mod civil;
mod decode;
mod dialect;
mod fault;
mod fixed;
mod lines;
mod ods;
mod parts;
mod row;
mod sniff;
mod xlsx;

pub use dialect::Quoting;
pub use fault::ReadFault;
pub use lines::{Rows, TextFile};
pub use row::{Cell, CellKind, Row, column_name};

use sha2::{Digest, Sha256};

/// What a file holds, as its content says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Format {
    /// Text with delimited cells (comma, semicolon, tab, pipe or none), or a printout in columns.
    Csv,
    /// Office Open XML workbook (ECMA-376).
    Xlsx,
    /// OpenDocument spreadsheet (OASIS ODF 1.2).
    Ods,
}

/// A file read: every sheet with every row that has content.
#[derive(Debug, Clone, PartialEq)]
pub struct Workbook {
    /// What the file holds.
    pub format: Format,
    /// Character encoding of a text file: `utf-8`, `utf-8-sig` (with a byte
    /// order mark), `utf-16`, `utf-16le`, `utf-16be`, `cp1252` or another
    /// encoding's lower-case name.
    pub encoding: Option<&'static str>,
    /// What separates the cells of a text file; `None` where nothing does.
    pub delimiter: Option<char>,
    /// How a text file uses quotation marks.
    pub quoting: Option<Quoting>,
    /// SHA-256 of the file's bytes.
    pub sha256: [u8; 32],
    /// The sheets in the file's order; a text file has one without a name.
    pub sheets: Vec<Sheet>,
}

/// One sheet of a workbook, or the whole of a text file.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The sheet's name; `None` for text files.
    pub name: Option<String>,
    /// Whether the workbook hides the sheet.
    pub hidden: bool,
    /// Rows with content, in the order of their numbers.
    pub rows: Vec<Row>,
    /// Cells shown as one.
    pub merged: Vec<Merged>,
}

impl Sheet {
    /// Finds a row by the file's own number.
    pub fn row(&self, number: u32) -> Option<&Row> {
        let at = self.rows.binary_search_by_key(&number, Row::number).ok()?;
        self.rows.get(at)
    }
}

/// A block of cells shown as one; its content stands in the first cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Merged {
    /// First row, as the file numbers it.
    pub first_row: u32,
    /// Last row, included.
    pub last_row: u32,
    /// First column, from 0.
    pub first_column: u32,
    /// Last column, included.
    pub last_column: u32,
}

/// How much a file may ask for before it is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file itself; more than 2 GiB is never read.
    pub file_bytes: u64,
    /// Bytes of one member of a zipped workbook, unpacked.
    pub member_bytes: u64,
    /// Bytes of all members of a zipped workbook, unpacked.
    pub unpacked_bytes: u64,
    /// Columns of a row.
    pub columns: u32,
    /// Cells of a text file read as a whole by [`read`]; rows taken one at a
    /// time from a [`Source`] have no such limit.
    pub text_cells: u64,
    /// Cells of a spreadsheet, over all its sheets.
    pub sheet_cells: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Limits {
            file_bytes: 1 << 30,
            member_bytes: 256 << 20,
            unpacked_bytes: 512 << 20,
            columns: 16_384,
            text_cells: 30_000_000,
            sheet_cells: 5_000_000,
        }
    }
}

/// A file opened: text not yet split into rows, or a spreadsheet already read.
#[derive(Debug)]
pub enum Source<'a> {
    /// A text file; [`TextFile::rows`] gives its rows one at a time.
    Text(TextFile<'a>),
    /// A spreadsheet, bounded by [`Limits::sheet_cells`].
    Book(Workbook),
}

/// Tells what a file is and decodes it, without splitting text into rows.
///
/// A UTF-8 file is borrowed, not copied.
///
/// # Errors
/// Any [`ReadFault`] that says why the file is no table or cannot be read.
pub fn open<'a>(name: &str, bytes: &'a [u8], limits: &Limits) -> Result<Source<'a>, ReadFault> {
    let size_limit = limits.file_bytes.min(1 << 31);
    if bytes.len() as u64 > size_limit {
        return Err(ReadFault::TooLarge { file: name.into(), what: "the file".into(), limit: size_limit });
    }
    match sniff::container(name, bytes)? {
        sniff::Container::Zip => {
            let mut archive = archive::open(name, bytes)?;
            let format = archive::format(name, &mut archive)?;
            archive::check_sizes(name, &mut archive, limits)?;
            let sheets = match format {
                Format::Ods => ods::sheets(name, &mut archive, limits)?,
                _ => xlsx::sheets(name, bytes, &mut archive, limits)?,
            };
            if sheets.iter().all(|sheet| sheet.rows.is_empty()) {
                return Err(ReadFault::Empty { file: name.into() });
            }
            Ok(Source::Book(Workbook {
                format,
                encoding: None,
                delimiter: None,
                quoting: None,
                sha256: Sha256::digest(bytes).into(),
                sheets,
            }))
        }
        sniff::Container::Text => {
            let decoded = decode::decode(name, bytes)?;
            sniff::text(name, &decoded.text)?;
            let (dialect, layout) = dialect::detect(&decoded.text);
            Ok(Source::Text(TextFile {
                file: name.to_owned(),
                encoding: decoded.encoding,
                dialect,
                layout,
                sha256: Sha256::digest(bytes).into(),
                columns: limits.columns,
                text: decoded.text,
            }))
        }
    }
}

/// Reads a whole file into a [`Workbook`].
///
/// `name` only names the file in faults; what the file is, `bytes` decide.
///
/// # Errors
/// Any [`ReadFault`]; each names the file, the place where known, and what
/// to do.
///
/// ```
/// use airshelf_intake::reader::{Format, Limits, read};
/// let book = read("loss.csv", b"lid;loss\nsolid;17,0\n", &Limits::default())?;
/// assert_eq!((book.format, book.delimiter), (Format::Csv, Some(';')));
/// assert_eq!(book.sheets[0].rows[1].text(1), "17,0");
/// # Ok::<(), airshelf_intake::reader::ReadFault>(())
/// ```
pub fn read(name: &str, bytes: &[u8], limits: &Limits) -> Result<Workbook, ReadFault> {
    let text = match open(name, bytes, limits)? {
        Source::Book(book) => return Ok(book),
        Source::Text(text) => text,
    };
    let rows = text.all_rows(limits.text_cells)?;
    Ok(Workbook {
        format: Format::Csv,
        encoding: Some(text.encoding),
        delimiter: text.delimiter(),
        quoting: Some(text.quoting()),
        sha256: text.sha256,
        sheets: vec![Sheet { name: None, hidden: false, rows, merged: Vec::new() }],
    })
}
