//! Numbers in running text, with the units behind them and the clauses around them.

use airshelf_units::{Decimal, Dimension, Read, Unit, read_any};

/// A number in a text, with its unit where one follows.
pub(crate) struct Figure<'t> {
    pub at: usize,
    pub raw: &'t str,
    pub read: Option<Read>,
    pub value: Option<f64>,
}

fn starts_figure(text: &str, at: usize) -> bool {
    let before = text[..at].chars().next_back();
    let free = |c: Option<char>| c.is_none_or(|c| c.is_whitespace() || "(,;:=~@<>≈\"“[".contains(c));
    match before {
        Some('-' | '−' | '–' | '+') => false,
        other => free(other),
    }
}

/// Finds the numbers of a text and the units behind them; the longest unit wins (`20 in. water`).
pub(crate) fn figures(text: &str, decimal: Option<Decimal>) -> Vec<Figure<'_>> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(step) = text[from..].find(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−' | '+')) {
        let at = from + step;
        let first = text[at..].chars().next().map_or(1, char::len_utf8);
        let signed = !text.as_bytes()[at].is_ascii_digit();
        let digit_follows = text[at + first..].starts_with(|c: char| c.is_ascii_digit());
        if (signed && !digit_follows) || !starts_figure(text, at) {
            // Skip the rest of the word: `C2-1` and `2024-01-27` hold no quantity.
            let rest = &text[at..];
            let word = if signed {
                first
            } else {
                rest.find(|c: char| !(c.is_alphanumeric() || c == '-')).unwrap_or(rest.len())
            };
            from = at + word.max(first);
            continue;
        }
        let rest = &text[at..];
        let stop = stop_of(rest);
        let ends: Vec<usize> = rest[..stop]
            .char_indices()
            .filter(|&(i, c)| i > 0 && (c.is_whitespace() || "/=".contains(c)))
            .map(|(i, _)| i)
            .chain([stop])
            .take(7)
            .collect();
        let whole = ends.iter().rev().find_map(|&end| {
            let raw = rest[..end].trim().trim_end_matches(['.', ',', ':', '"'].as_slice());
            let raw = if rest[..end].trim().ends_with('"') { rest[..end].trim() } else { raw };
            // `1 002,5 hPa`: a space between thousands.
            let spaced = || {
                let joined = crate::stage::cells::grouped(raw).filter(|j| j.contains(' '))?;
                let pressure = |read: &Read| read.unit.dimension() == Dimension::Pressure;
                read_any(&joined, decimal).ok().filter(|r| pressure(r) || joined.contains(['.', ',']))
            };
            read_any(raw, decimal).ok().or_else(spaced).map(|read| (end, raw, read))
        });
        match whole {
            Some((end, raw, read)) => {
                found.push(Figure { at, raw, value: Some(read.value), read: Some(read) });
                from = at + end.max(first);
            }
            None => {
                let end = rest
                    .find(|c: char| {
                        !(c.is_ascii_digit() || matches!(c, '.' | ',') || c == '-' && rest.starts_with('-'))
                    })
                    .unwrap_or(rest.len());
                let raw = rest[..end].trim_end_matches(['.', ',']);
                let next = rest[end..].chars().next();
                let plain_number = next.is_none_or(|c| !c.is_alphanumeric() && !"-/:x×".contains(c));
                let value = plain_number
                    .then(|| airshelf_units::read(raw, Dimension::Ratio, Some(Unit::RATIO), decimal).ok())
                    .flatten()
                    .map(|r| r.value);
                if value.is_some() {
                    found.push(Figure { at, raw, read: None, value });
                }
                let word = rest.find(|c: char| c.is_whitespace() || ",;".contains(c)).unwrap_or(rest.len());
                from = at + word.max(end).max(first);
            }
        }
    }
    found
}

/// Where the clause of a number ends: at a semicolon, a bracket, or a comma that is no decimal mark.
fn stop_of(text: &str) -> usize {
    let bytes = text.as_bytes();
    text.char_indices()
        .find(|&(at, c)| match c {
            ';' | '(' | ')' | '|' | '\n' => true,
            ',' => !bytes.get(at + 1).is_some_and(u8::is_ascii_digit),
            '-' | '–' | '—' | '/' => parted(text, at, c),
            '.' => sentence_ends(text, at),
            _ => false,
        })
        .map_or(text.len(), |(at, _)| at)
}

/// A dash between spaces parts what stands on its sides.
pub(super) fn parted(text: &str, at: usize, dash: char) -> bool {
    text[..at].ends_with(' ') && text[at + dash.len_utf8()..].starts_with(' ')
}

/// A point behind a word or a number, before a new sentence; `in. of water` and `approx. 20` go on.
pub(super) fn sentence_ends(text: &str, at: usize) -> bool {
    let next = text[at + 1..].strip_prefix(' ').and_then(|rest| rest.chars().next());
    let word = text[..at].rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or("");
    let unit = ["cfm", "mm", "cm", "kpa", "hpa", "rh", "lps", "nut", "new", "oil", "hum", "lid", "hg", "h2o"]
        .iter()
        .any(|w| word.eq_ignore_ascii_case(w));
    let whole = word.ends_with(|c: char| c.is_ascii_digit()) || word.len() > 3 || unit;
    let short = ["approx", "about", "circa", "temp", "baro", "barom", "press"]
        .iter()
        .any(|w| word.eq_ignore_ascii_case(w));
    match next {
        Some(c) if c.is_uppercase() => whole,
        Some(c) if c.is_ascii_digit() => whole && !short && !word.ends_with(|c: char| c.is_ascii_digit()),
        _ => false,
    }
}

/// The clause around a place of a text.
pub(super) fn clause(text: &str, at: usize) -> (usize, usize) {
    let start = text[..at]
        .char_indices()
        .rev()
        .find(|&(i, c)| match c {
            ';' | '|' => true,
            ',' => !text.as_bytes().get(i + 1).is_some_and(u8::is_ascii_digit),
            '-' | '–' | '—' | '/' => parted(text, i, c),
            '.' => sentence_ends(text, i),
            _ => false,
        })
        .map_or(0, |(i, c)| i + c.len_utf8());
    (start, at + stop_of(&text[at..]))
}
