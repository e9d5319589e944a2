//! A look through an Office Open XML workbook before it is read, for what the
//! library that reads it takes on trust: how many shared strings to make room
//! for, and that every address stands on a sheet.

use std::io::BufReader;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::archive::{Archive, attribute, corrupt};
use super::{Limits, ReadFault};

/// Checks every part; says whether any merges cells.
pub(super) fn check(name: &str, archive: &mut Archive<'_>, limits: &Limits) -> Result<bool, ReadFault> {
    let mut merges = false;
    for index in 0..archive.len() {
        let member = archive.by_index(index).map_err(|error| corrupt(name, "the zip directory", error))?;
        let part = String::from_utf8_lossy(member.name_raw()).into_owned();
        let mut xml = Reader::from_reader(BufReader::new(member));
        let config = xml.config_mut();
        config.check_end_names = false;
        config.check_comments = false;
        let mut buffer = Vec::new();
        loop {
            buffer.clear();
            let element = match xml.read_event_into(&mut buffer) {
                Ok(Event::Start(element) | Event::Empty(element)) => element,
                // Pictures are no XML; damage shows when the part is read.
                Ok(Event::Eof) | Err(_) => break,
                Ok(_) => continue,
            };
            let addressed = match element.local_name().as_ref() {
                "c" => misplaced(&element, "r", is_cell),
                "row" => misplaced(&element, "r", is_row),
                "dimension" => misplaced(&element, "ref", is_block),
                "mergeCell" => {
                    merges = true;
                    misplaced(&element, "ref", is_block)
                }
                "sst" => {
                    let count = attribute(&element, "uniqueCount");
                    let count = count.and_then(|count| count.parse::<u128>().ok());
                    if count.unwrap_or(0) > limits.sheet_cells.into() {
                        return Err(ReadFault::TooManyCells {
                            file: name.into(),
                            sheet: None,
                            cell: format!("the count in {part}"),
                            limit: limits.sheet_cells,
                        });
                    }
                    None
                }
                _ => None,
            };
            if let Some(address) = addressed {
                return Err(corrupt(name, &part, format!("no such address: {address:?}")));
            }
        }
    }
    Ok(merges)
}

/// An address that `fits` does not hold for.
fn misplaced(element: &BytesStart<'_>, key: &str, fits: fn(&str) -> bool) -> Option<String> {
    let found = element.try_get_attribute(key).ok()??;
    (!fits(&found.value)).then(|| found.value.into_owned())
}

/// Column and row, both from 1, of an address within three letters and seven
/// digits (`XFD1048576` is the last cell of a sheet).
fn position(address: &str) -> Option<(u32, u32)> {
    let letters = address.bytes().take_while(u8::is_ascii_alphabetic).count();
    let (column, row) = address.split_at(letters);
    if !(1..=3).contains(&letters) || !is_row(row) {
        return None;
    }
    let column =
        column.bytes().fold(0, |sum, letter| sum * 26 + u32::from(letter.to_ascii_uppercase() - b'A') + 1);
    Some((column, row.parse().ok()?))
}

fn is_row(row: &str) -> bool {
    (1..=7).contains(&row.len())
        && row.bytes().all(|digit| digit.is_ascii_digit())
        && row.bytes().any(|digit| digit != b'0')
}

fn is_cell(address: &str) -> bool {
    position(address).is_some()
}

fn is_block(block: &str) -> bool {
    let (first, last) = block.split_once(':').unwrap_or((block, block));
    match (position(first), position(last)) {
        (Some(first), Some(last)) => first.0 <= last.0 && first.1 <= last.1,
        _ => false,
    }
}
