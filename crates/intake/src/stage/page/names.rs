//! Dates, benches and carburetors in running text.

use super::{Hand, Page, PageValue};
use crate::map::Field;
use crate::reader::{CellKind, Row};
use crate::stage::civil;
use crate::stage::known::Known;
use crate::stage::terms::{plain, says};
use airshelf_units::Unit;

pub(super) fn find_date(
    text: &str,
    kind: &CellKind,
    row: u32,
    label: Option<Field>,
    hand: Hand,
    page: &mut Page,
) {
    if page.get(Field::Date).is_some() {
        return;
    }
    let whole = match kind {
        CellKind::Date(iso) => iso.as_str(),
        _ => text,
    };
    let mut tries: Vec<&str> = vec![whole];
    tries.extend(text.split([',', ';', '|']).map(str::trim));
    let tokens: Vec<&str> = text.split([' ', ',', ';', '(', ')']).filter(|t| !t.is_empty()).collect();
    tries.extend(tokens.iter().copied().filter(|t| t.len() >= 6 && t.contains(['/', '.', '-'])));
    tries.extend(word_spans(text, 3).into_iter().map(|span| span.trim_end_matches([':', ',', ';', '.'])));
    for piece in tries {
        // Plain eight digits are a date only behind a label.
        if piece.bytes().all(|b| b.is_ascii_digit()) && label != Some(Field::Date) {
            continue;
        }
        if let Some(civil) = civil::date(piece, hand.order, hand.guess) {
            page.ambiguous_date = civil.ambiguous;
            page.values.push(PageValue {
                field: Field::Date,
                row: Some(row),
                raw: piece.to_owned(),
                quantity: None,
                text: Some(civil.iso.get(..10).unwrap_or(&civil.iso).to_owned()),
                assumed: false,
            });
            return;
        }
    }
}

/// Runs of so many words, as slices.
fn word_spans(text: &str, count: usize) -> Vec<&str> {
    let mut starts = Vec::new();
    let mut inside = false;
    for (at, c) in text.char_indices() {
        if c.is_whitespace() {
            inside = false;
        } else if !inside {
            inside = true;
            starts.push(at);
        }
    }
    let end_of = |index: usize| -> usize {
        let from = starts[index];
        from + text[from..].find(char::is_whitespace).unwrap_or(text.len() - from)
    };
    (0..starts.len().saturating_sub(count - 1)).map(|i| &text[starts[i]..end_of(i + count - 1)]).collect()
}

/// `on the shed bench`, `shed bench, range 300 CFM`.
pub(super) fn bench_in_text(text: &str, row: u32, page: &mut Page) {
    for piece in text.split([',', ';', '|']) {
        let words: Vec<&str> = piece.split_whitespace().collect();
        let Some(at) = words.iter().position(|w| w.eq_ignore_ascii_case("bench")) else { continue };
        if at == 0
            || words.get(at + 1).is_some_and(|w| {
                ["notes", "log", "book", "range", "tests", "results"].contains(&w.to_lowercase().as_str())
            })
        {
            continue;
        }
        let article = words[..at]
            .iter()
            .rposition(|w| ["the", "our", "my", "a", "on", "this"].contains(&w.to_lowercase().as_str()));
        let from = match article {
            Some(article) if article + 1 < at && at - article <= 4 => article + 1,
            None if at <= 3 && at + 1 == words.len() => 0,
            _ => continue,
        };
        let name = words[from..=at].join(" ");
        page.put(PageValue {
            field: Field::Bench,
            row: Some(row),
            raw: name.clone(),
            quantity: None,
            text: Some(name),
            assumed: false,
        });
    }
}

/// A tag behind a word for what stands on the bench: `two-barrel C2-1`.
pub(super) fn item_in_text(text: &str, row: u32, page: &mut Page) {
    let words: Vec<&str> =
        text.split(|c: char| c.is_whitespace() || ",;|()".contains(c)).filter(|w| !w.is_empty()).collect();
    for pair in words.windows(2) {
        let before = plain(pair[0]);
        let of_items = ["carburetor", "carburettor", "carb", "barrel", "item", "body"]
            .iter()
            .any(|w| before.ends_with(w));
        let tag = pair[1].trim_end_matches(['.', ':']);
        let tag_like = tag.len() >= 2
            && tag.len() <= 12
            && tag.bytes().any(|b| b.is_ascii_digit())
            && tag.bytes().any(|b| b.is_ascii_uppercase())
            && !tag.bytes().any(|b| b.is_ascii_lowercase())
            && Unit::named(tag, None).is_err();
        if of_items && tag_like {
            page.put(PageValue {
                field: Field::Item,
                row: Some(row),
                raw: tag.to_owned(),
                quantity: None,
                text: Some(tag.to_owned()),
                assumed: false,
            });
        }
    }
}

/// A carburetor of the shelf that a title names: `Night of August 12, HB-4, 400 CFM range`.
pub(crate) fn item_of_shelf(rows: &[&Row], known: &Known, page: &mut Page) {
    if page.get(Field::Item).is_some() {
        return;
    }
    for row in rows {
        for cell in row.cells() {
            let text = plain(cell.raw);
            let named = known.carburetors().filter(|name| names(cell.raw, &text, name));
            // Two spellings of one name are told apart by the title's own.
            let Some(name) = named.max_by_key(|name| (cell.raw.contains(name), name.len())) else { continue };
            page.put(PageValue {
                field: Field::Item,
                row: Some(row.number()),
                raw: name.to_owned(),
                quantity: None,
                text: Some(name.to_owned()),
                assumed: false,
            });
            return;
        }
    }
}

/// Whether a text names a carburetor; a tag of two letters must stand apart as it is spelled.
fn names(raw: &str, text: &str, name: &str) -> bool {
    if name.len() > 2 {
        return says(text, &plain(name));
    }
    let upper = |b: u8| b.is_ascii_uppercase();
    let tagged = name.bytes().any(upper) && name.bytes().all(|b| upper(b) || b.is_ascii_digit());
    tagged && name.len() > 1 && raw.split([',', ';', ' ', ':', '(', ')']).any(|word| word == name)
}
