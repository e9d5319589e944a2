//! A line of units below the headers.

use super::Span;
use crate::map::Header;
use crate::map::columns::Assigned;
use crate::map::group::best_group;
use crate::map::header::{is_rate, unit_cell, words_of};
use crate::map::vocabulary::is_word;
use crate::reader::Sheet;
use crate::stage::terms::plain;

/// A line of nothing but units below the headers belongs to them; a unit may have a word that parts two columns under
/// one header, and may stand under none.
pub(super) fn units_below(
    sheet: &Sheet,
    at: usize,
    columns: &[Assigned],
    span: Span,
) -> Option<(Vec<Assigned>, usize)> {
    let row = sheet.rows.get(at + 1)?;
    let mut headers: Vec<Header> = columns.iter().map(|c| c.header.clone()).collect();
    let (mut units, mut worded, mut unknown, mut named) = (0, 0, 0, 0);
    for cell in row.cells().filter(|c| span.has(c.column) && !c.raw.trim().is_empty()) {
        let text = cell.raw.trim();
        let below = match unit_cell(text) {
            Some(unit) => Header { words: Vec::new(), unit: Some(unit), ..Header::of(0, text) },
            None if no_unit(text) => continue,
            None => match worded_unit(text) {
                Some(worded_unit) => {
                    worded += 1;
                    worded_unit
                }
                None => match unknown_unit(text) {
                    Some(header) => {
                        unknown += 1;
                        header
                    }
                    None => {
                        named += 1;
                        words_only(cell.column as usize, text)?
                    }
                },
            },
        };
        let place = headers.partition_point(|h| h.column < cell.column as usize);
        // A column that only the second line names.
        if below.unit.is_none() && below.unknown.is_none() {
            if headers.get(place).is_some_and(|h| h.column == cell.column as usize) {
                headers[place].words.extend(below.words);
            } else {
                headers.insert(place, below);
            }
            continue;
        }
        if headers.get(place).is_none_or(|h| h.column != cell.column as usize) {
            // Under a header that stands over several columns.
            let over = &headers[place.checked_sub(1)?];
            let whole = Header { column: cell.column as usize, text: text.to_owned(), ..over.clone() };
            headers.insert(place, whole);
        }
        let header = &mut headers[place];
        header.words.extend(below.words);
        header.unit = below.unit;
        header.unknown = below.unknown;
        header.mercury |= below.mercury;
        header.water |= below.water;
        units += 1;
    }
    if units < 2 || worded * 2 > units || unknown * 2 > units || named > units {
        return None;
    }
    let (_, columns, _) = best_group(&headers)?;
    Some((columns, at + 1))
}

/// One short word where a unit should stand: `kg/h`, `gpm`.
fn unknown_unit(text: &str) -> Option<Header> {
    let inner = text.trim_start_matches(['(', '[']).trim_end_matches([')', ']']);
    let word = inner.starts_with(char::is_alphabetic)
        && inner.chars().count() <= 8
        && !inner.contains(char::is_whitespace)
        && (inner.contains('/') || inner.chars().all(char::is_alphabetic));
    let words = words_of(inner);
    let known = !is_rate(&inner.to_lowercase()) && words.iter().all(|word| is_word(word));
    let header = || Header { words: Vec::new(), unknown: Some(inner.to_owned()), ..Header::of(0, text) };
    (word && !known).then(header)
}

/// A word or two that headers use, where the line above leaves the column without a name.
fn words_only(column: usize, text: &str) -> Option<Header> {
    let header = Header::of(column, text);
    let fits = header.unit.is_none()
        && (1..=2).contains(&header.words.len())
        && header.words.iter().all(|word| is_word(word) && word.chars().all(char::is_alphabetic));
    fits.then_some(header)
}

/// A unit with a word or two before or behind it: `asked mmH2O`, `inHg outside`.
fn worded_unit(text: &str) -> Option<Header> {
    let header = Header::of(0, text);
    let words = &header.words;
    let fits = header.unit.is_some()
        && (1..=2).contains(&words.len())
        && words.iter().all(|w| w.chars().all(char::is_alphabetic));
    if fits {
        return Some(header);
    }
    // `in tall`: an inch, which is a small word elsewhere.
    let (unit, rest) = text.split_once(' ')?;
    let words = words_of(rest);
    let named = (1..=2).contains(&words.len()) && words.iter().all(|word| is_word(word));
    unit_cell(unit).filter(|_| named).map(|unit| Header { words, unit: Some(unit), ..Header::of(0, text) })
}

/// What stands in a line of units under a column that has none: a stroke, the form of a clock or a date.
fn no_unit(text: &str) -> bool {
    let form = |c: char| "-–—:/. ".contains(c) || "hmsdyHMSDY".contains(c);
    let inner = text.trim_matches(['(', ')', '[', ']']);
    (inner.chars().count() <= 10 && inner.chars().all(form))
        || matches!(
            plain(inner).as_str(),
            "min" | "h min" | "hr" | "no" | "nr" | "text" | "yes no" | "y n" | "tag"
        )
}
