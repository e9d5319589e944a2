//! Reading files of every kind into sheets of rows, exactly as written.

#![allow(clippy::unwrap_used)]

#[path = "reader/books.rs"]
mod books;
#[path = "reader/hostile.rs"]
mod hostile;
#[path = "reader/properties.rs"]
mod properties;
#[path = "reader/samples.rs"]
mod samples;
#[path = "reader/text.rs"]
mod text;
#[path = "reader/zipped.rs"]
mod zipped;

use airshelf_intake::reader::{Limits, ReadFault, Row, Workbook, read};

fn read_all(name: &str, bytes: &[u8]) -> Result<Workbook, ReadFault> {
    read(name, bytes, &Limits::default())
}

/// Reads a file that must be readable.
fn book(name: &str, bytes: &[u8]) -> Workbook {
    read_all(name, bytes).unwrap()
}

/// Reads a file that must be refused.
fn refused(name: &str, bytes: &[u8]) -> ReadFault {
    let fault = read_all(name, bytes).unwrap_err();
    assert!(fault.to_string().starts_with(name), "{fault} does not name the file");
    assert_eq!(fault.file(), name);
    fault
}

/// A row's cells as text.
fn texts(row: &Row) -> Vec<&str> {
    (0..row.len()).map(|column| row.text(column)).collect()
}

/// Number and cells of every row of a workbook's first sheet.
fn rows(book: &Workbook) -> Vec<(u32, Vec<&str>)> {
    let rows = book.sheets[0].rows.iter();
    rows.map(|row| (row.number(), texts(row))).collect()
}
