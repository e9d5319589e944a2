//! What a file is, told from its content: a zipped workbook, text, or
//! something that is no table whatever its name says.

use super::ReadFault;

/// What wraps the table.
pub(super) enum Container {
    Zip,
    Text,
}

/// First bytes that tell a file apart, and what the file then looks like.
const MARKS: &[(&[u8], &str)] = &[
    (b"%PDF-", "a PDF document"),
    (b"\x89PNG", "a PNG image"),
    (b"\xFF\xD8\xFF", "a JPEG image"),
    (b"GIF8", "a GIF image"),
    (b"II*\0", "a TIFF image"),
    (b"MM\0*", "a TIFF image"),
    (b"BM", "a BMP image"),
    (b"{\\rtf", "a rich-text document"),
    (b"%!PS", "a PostScript document"),
    (b"\x1F\x8B", "a gzip archive"),
    (b"7z\xBC\xAF", "a 7z archive"),
    (b"Rar!", "a RAR archive"),
    (b"\xFD7zXZ", "an XZ archive"),
    (b"BZh", "a bzip2 archive"),
    (b"SQLite format 3\0", "a database"),
    (b"\x7FELF", "a program"),
    (b"MZ", "a program"),
    (b"OggS", "a sound or video file"),
    (b"ID3", "a sound file"),
];

/// Beginnings of text that is no table, lower case.
const OPENINGS: &[(&str, &str)] = &[
    ("<!doctype html", "a web page"),
    ("<html", "a web page"),
    ("<head", "a web page"),
    ("<table", "a web page"),
    ("<?xml", "an XML document"),
    ("<svg", "an SVG image"),
    ("{\"", "a JSON document"),
    ("[{", "a JSON document"),
    ("-----begin ", "a key or certificate"),
];

/// A compound file's first bytes (old office documents, encrypted workbooks).
const COMPOUND: &[u8] = &[0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1];

/// Tells what wraps the table.
pub(super) fn container(name: &str, bytes: &[u8]) -> Result<Container, ReadFault> {
    let blank = |b: &u8| b.is_ascii_whitespace() || matches!(b, 0 | 0xEF | 0xBB | 0xBF | 0xFE | 0xFF);
    if bytes.iter().all(blank) {
        return Err(ReadFault::Empty { file: name.into() });
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return Ok(Container::Zip);
    }
    if bytes.starts_with(COMPOUND) {
        return Err(compound(name, bytes));
    }
    // A bare BIFF stream, as spreadsheets wrote before compound files.
    if matches!(bytes, [0x09, 0x00 | 0x02 | 0x04 | 0x08, 0x04 | 0x06 | 0x08 | 0x10, 0x00, ..]) {
        return Err(old_workbook(name));
    }
    let picture = match bytes {
        [b'R', b'I', b'F', b'F', _, _, _, _, kind, ..] => {
            Some(if *kind == b'W' { "a picture or sound file" } else { "a media file" })
        }
        [_, _, _, _, b'f', b't', b'y', b'p', ..] => Some("a picture or video file"),
        _ => None,
    };
    let binary = || bytes.iter().take(4096).any(|b| *b < 9 || (14..27).contains(b));
    let marked = MARKS
        .iter()
        // Two letters may begin a heading, unless binary bytes follow.
        .find(|(mark, _)| bytes.starts_with(mark) && (mark.len() > 3 || binary()))
        .map(|(_, what)| *what);
    match picture.or(marked) {
        Some(what) => Err(not_a_table(name, what)),
        None => Ok(Container::Text),
    }
}

/// Refuses decoded text that is no table.
pub(super) fn text(name: &str, text: &str) -> Result<(), ReadFault> {
    let start = text.trim_start();
    if start.is_empty() {
        return Err(ReadFault::Empty { file: name.into() });
    }
    for (opening, what) in OPENINGS {
        let begins = start
            .as_bytes()
            .get(..opening.len())
            .is_some_and(|head| head.eq_ignore_ascii_case(opening.as_bytes()));
        if begins {
            return Err(not_a_table(name, what));
        }
    }
    let mut controls = 0usize;
    for byte in text.bytes() {
        if byte == 0 {
            return Err(not_a_table(name, "binary data"));
        }
        // Tab, line ends, form feed, and the end-of-file mark of old systems.
        controls += usize::from(byte < b' ' && !matches!(byte, 9..=13 | 0x1A));
    }
    if controls > 0 && controls * 200 > text.len() {
        return Err(not_a_table(name, "binary data"));
    }
    Ok(())
}

/// Tells an encrypted workbook from an old one by the streams it names.
fn compound(name: &str, bytes: &[u8]) -> ReadFault {
    let names_stream = |stream: &str| {
        let wide: Vec<u8> = stream.encode_utf16().flat_map(u16::to_le_bytes).collect();
        bytes.windows(wide.len()).any(|window| window == wide)
    };
    if names_stream("EncryptedPackage") {
        return ReadFault::Encrypted { file: name.into() };
    }
    if names_stream("Workbook") || names_stream("Book\0") {
        return old_workbook(name);
    }
    not_a_table(name, "an old office document")
}

fn old_workbook(name: &str) -> ReadFault {
    ReadFault::OldFormat { file: name.into(), what: "an old binary workbook (.xls)".into() }
}

pub(super) fn not_a_table(name: &str, looks_like: &str) -> ReadFault {
    ReadFault::NotATable { file: name.into(), looks_like: looks_like.into() }
}
