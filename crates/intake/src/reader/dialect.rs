//! What separates the cells of a text file, and whether it quotes them.

use super::fixed::Layout;
use super::lines::Rows;

/// How a text file uses quotation marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quoting {
    /// Cells are quoted where they need it.
    Minimal,
    /// Every cell with content is quoted.
    All,
    /// Marks are never quotes; a lone `"` is a ditto mark.
    None,
}

/// How to split a text file's lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Dialect {
    pub delimiter: Option<u8>,
    pub quoting: Quoting,
}

/// Delimiters looked for; the first of equals wins.
const DELIMITERS: [u8; 6] = [b'\t', b';', b'|', b',', b'^', b'~'];

/// How much of the file is looked at.
const SAMPLE_BYTES: usize = 256 * 1024;
const SAMPLE_ROWS: usize = 2000;

/// What a way to split lines is worth at least, to be taken for the file's own.
/// Common practice, no source.
const FITS: f64 = 0.5;

/// Tells the delimiter and the quoting from the beginning of the text.
///
/// The delimiter is the one that splits most rows as wide as a neighbor;
/// header lines above a table, prose and comments hardly count. A comma
/// almost always between two digits is a decimal comma if anything else
/// could be the delimiter. Where no delimiter fits, the columns of a printout
/// may stand under one another.
pub(super) fn detect(text: &str) -> (Dialect, Option<Layout>) {
    let sample = sample(text);
    if let Some(delimiter) = hint(sample) {
        return (with_quoting(sample, Some(delimiter)), None);
    }
    let mut best: Option<(f64, Dialect)> = None;
    for delimiter in DELIMITERS {
        if !sample.contains(char::from(delimiter)) {
            continue;
        }
        let dialect = with_quoting(sample, Some(delimiter));
        let mut worth = worth(sample, dialect);
        if delimiter == b',' && decimal_commas(sample) {
            worth /= 2.0;
        }
        if best.is_none_or(|(most, _)| worth > most) {
            best = Some((worth, dialect));
        }
    }
    let most = best.map_or(0.0, |(worth, _)| worth);
    // Commas that only part words of a cell: `pan, foam, lid` in a list that stands in columns.
    let of_words =
        best.is_some_and(|(_, dialect)| dialect.delimiter == Some(b',')) && commas_of_words(sample);
    if (most < FITS || of_words) && Layout::of(sample).worth(sample) > most.max(FITS) {
        let dialect = Dialect { delimiter: None, quoting: Quoting::None };
        return (dialect, Some(Layout::of(text)));
    }
    (best.map_or_else(|| with_quoting(sample, None), |(_, dialect)| dialect), None)
}

/// Whole lines from the beginning of the text.
fn sample(text: &str) -> &str {
    if text.len() <= SAMPLE_BYTES {
        return text;
    }
    let head = &text.as_bytes()[..SAMPLE_BYTES];
    match head.iter().rposition(|byte| matches!(byte, b'\n' | b'\r')) {
        Some(end) => &text[..end],
        None => &text[..text.floor_char_boundary(SAMPLE_BYTES)],
    }
}

/// The delimiter that a first line `sep=;` names, as spreadsheets write it.
fn hint(sample: &str) -> Option<u8> {
    let first = sample.lines().next()?;
    match *first.trim_end().as_bytes() {
        [b's', b'e', b'p', b'=', delimiter] if DELIMITERS.contains(&delimiter) => Some(delimiter),
        _ => None,
    }
}

/// Decides whether marks quote cells. They do not where a cell is a lone mark
/// and leaving all marks alone gives evener rows.
fn with_quoting(sample: &str, delimiter: Option<u8>) -> Dialect {
    let minimal = Dialect { delimiter, quoting: Quoting::Minimal };
    let none = Dialect { delimiter, quoting: Quoting::None };
    let lone = rows(sample, none).any(|row| row.cells().any(|cell| cell.raw == "\""));
    if lone && worth(sample, none) >= worth(sample, minimal) {
        return none;
    }
    let mut quoted = 0;
    for row in rows(sample, none) {
        for cell in row.cells().map(|cell| cell.raw).filter(|raw| !raw.is_empty()) {
            // A cell cut at a delimiter or line end within its quotes shows
            // only one of them.
            if !cell.starts_with('"') && !cell.ends_with('"') {
                return minimal;
            }
            quoted += 1;
        }
    }
    Dialect { delimiter, quoting: if quoted > 0 { Quoting::All } else { Quoting::Minimal } }
}

/// How well a dialect fits: the share of rows as wide as a neighbor, times
/// the root of the columns gained; with no such row, far less, by the
/// delimiters found.
fn worth(sample: &str, dialect: Dialect) -> f64 {
    let widths: Vec<usize> =
        rows(sample, dialect).filter(|row| !row.is_comment()).map(|row| row.len()).collect();
    let (mut even, mut gained) = (0usize, 0usize);
    for (i, &width) in widths.iter().enumerate() {
        let beside = [i.checked_sub(1), Some(i + 1)];
        let mut near = beside.into_iter().flatten().filter_map(|j| widths.get(j));
        if width > 1 && (widths.len() == 1 || near.any(|other| *other == width)) {
            even += 1;
            gained += width - 1;
        }
    }
    let rows = widths.len().max(1) as f64;
    if even == 0 {
        let found: usize = widths.iter().map(|width| width.saturating_sub(1)).sum();
        return 0.001 * (found as f64 / rows).min(100.0);
    }
    even as f64 / rows * (gained as f64 / even as f64).sqrt()
}

/// Whether nearly all commas stand between two digits.
fn decimal_commas(sample: &str) -> bool {
    let bytes = sample.as_bytes();
    let digit = |at: Option<usize>| at.and_then(|at| bytes.get(at)).is_some_and(u8::is_ascii_digit);
    let (mut all, mut decimal) = (0usize, 0usize);
    for (at, _) in sample.match_indices(',') {
        all += 1;
        decimal += usize::from(digit(at.checked_sub(1)) && digit(Some(at + 1)));
    }
    decimal * 5 >= all * 4
}

/// Whether nearly all commas have a blank behind them, as in a sentence.
fn commas_of_words(sample: &str) -> bool {
    let bytes = sample.as_bytes();
    let (mut all, mut blank) = (0usize, 0usize);
    for (at, _) in sample.match_indices(',') {
        all += 1;
        let next = bytes.get(at + 1);
        blank += usize::from(next == Some(&b' ') && bytes.get(at + 2) != Some(&b' '));
    }
    blank * 10 >= all * 9
}

fn rows(sample: &str, dialect: Dialect) -> impl Iterator<Item = super::Row> {
    Rows::new("", sample, dialect, None, u32::MAX).map_while(Result::ok).take(SAMPLE_ROWS)
}
