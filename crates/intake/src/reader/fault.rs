//! Why a file cannot be read: which file, where in it, and what to do.

/// A file that cannot be read. Trying the same bytes again never helps; each
/// message says what does.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadFault {
    /// The file has no content.
    #[error("{file} is empty; pick the file that holds the records")]
    Empty {
        /// Name of the file.
        file: String,
    },
    /// The file, or a part of it once unpacked, is too large.
    #[error("{file}: {what} is larger than {limit} bytes; split the file and import the pieces")]
    TooLarge {
        /// Name of the file.
        file: String,
        /// The file or the part of it.
        what: String,
        /// Largest size taken, in bytes.
        limit: u64,
    },
    /// The file is something else than a table, whatever its name says.
    #[error(
        "{file} looks like {looks_like}, not a table; export the records as CSV, XLSX or ODS and import that"
    )]
    NotATable {
        /// Name of the file.
        file: String,
        /// What its content looks like, with an article.
        looks_like: String,
    },
    /// The workbook is protected by a password.
    #[error("{file} is encrypted; open it with its password, save it without one and import that")]
    Encrypted {
        /// Name of the file.
        file: String,
    },
    /// A spreadsheet in a format that is not read.
    #[error("{file} is {what}; open it in a spreadsheet program, save it as XLSX and import that")]
    OldFormat {
        /// Name of the file.
        file: String,
        /// The format, with an article.
        what: String,
    },
    /// The file is damaged.
    #[error(
        "{file} is damaged at {place}: {detail}; copy or download it again, or open and save it anew in a spreadsheet program"
    )]
    Corrupt {
        /// Name of the file.
        file: String,
        /// Sheet, row or part of the file.
        place: String,
        /// What is wrong there.
        detail: String,
    },
    /// A row has more columns than any table would.
    #[error(
        "{file}{}, row {row}: more than {limit} columns; check the delimiter, or remove the stray cells",
        on_sheet(sheet.as_deref())
    )]
    TooWide {
        /// Name of the file.
        file: String,
        /// The sheet, in a spreadsheet.
        sheet: Option<String>,
        /// The row, as the file numbers it.
        row: u32,
        /// Most columns taken.
        limit: u32,
    },
    /// The file has more cells than can be held.
    #[error(
        "{file}{} has more than {limit} cells by {cell}; clear repeated or stray cells, or split the file",
        on_sheet(sheet.as_deref())
    )]
    TooManyCells {
        /// Name of the file.
        file: String,
        /// The sheet, in a spreadsheet.
        sheet: Option<String>,
        /// The cell or row where the limit was passed.
        cell: String,
        /// Most cells taken.
        limit: u64,
    },
    /// Bytes that are no characters in the file's encoding.
    #[error(
        "{file}, line {line}: bytes that are no text in {encoding}; open the file in a text editor, save it as UTF-8 and import that"
    )]
    BadEncoding {
        /// Name of the file.
        file: String,
        /// The physical line, counted from 1.
        line: u32,
        /// The encoding that the rest of the file has.
        encoding: &'static str,
    },
}

fn on_sheet(sheet: Option<&str>) -> String {
    sheet.map_or_else(String::new, |name| format!(", sheet {name:?}"))
}

impl ReadFault {
    /// Names the file that cannot be read.
    pub fn file(&self) -> &str {
        match self {
            ReadFault::Empty { file }
            | ReadFault::TooLarge { file, .. }
            | ReadFault::NotATable { file, .. }
            | ReadFault::Encrypted { file }
            | ReadFault::OldFormat { file, .. }
            | ReadFault::Corrupt { file, .. }
            | ReadFault::TooWide { file, .. }
            | ReadFault::TooManyCells { file, .. }
            | ReadFault::BadEncoding { file, .. } => file,
        }
    }
}
