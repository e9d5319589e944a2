//! Reads the cells of a table's columns: ditto marks and repeats resolved, quantities in the column's unit.

use super::terms::{ditto, plain, says};
use crate::map::Field;
use crate::map::columns::Assigned;
use crate::reader::{CellKind, Merged, Row};
use airshelf_catalog::{Quantity, Source};
use airshelf_units::{Decimal, Dimension, ReadError, Unit, read};

/// A column as the rows are read.
pub(crate) struct Column<'w> {
    pub index: usize,
    pub header: String,
    pub field: Field,
    pub name: String,
    pub unit: Option<Unit>,
    /// The header's unit, where it is none of the field.
    pub unclear: Option<String>,
    /// A blank repeats the cell above.
    pub repeats: bool,
    /// Rows of cells merged downward; the covered ones repeat the first.
    merged: Vec<(u32, u32)>,
    /// Marks that the page says repeat the cell above, beside the usual ones.
    marks: Vec<String>,
    /// The last text that stood in it, ditto marks resolved.
    above: &'w str,
}

pub(crate) struct Columns<'w> {
    pub list: Vec<Column<'w>>,
    pub decimal: Option<Decimal>,
    /// Cells are what they say, and none repeats another.
    pub literal: bool,
}

impl Column<'_> {
    /// Why a cell could not be read, where the unit of its header is the reason.
    pub fn reason(&self, error: &ReadError) -> String {
        match (&self.unclear, error) {
            (Some(unit), ReadError::NoUnit { .. }) => {
                format!("the header's unit `{unit}` is none known here for this column")
            }
            _ => error.to_string(),
        }
    }
}

impl<'w> Columns<'w> {
    pub fn of(assigned: &[Assigned], decimal: Option<Decimal>) -> Self {
        let list = assigned
            .iter()
            .filter_map(|a| {
                let field = a.field?;
                Some(Column {
                    index: a.header.column,
                    header: a.header.text.clone(),
                    field,
                    name: field.name().into_owned(),
                    unit: a.unit,
                    unclear: field
                        .dimension()
                        .filter(|_| a.unit.is_none())
                        .and_then(|d| a.header.unclear_unit(d)),
                    repeats: false,
                    marks: Vec::new(),
                    merged: Vec::new(),
                    above: "",
                })
            })
            .collect();
        Columns { list, decimal, literal: false }
    }

    /// Marks the columns whose blanks repeat what stands above: those that the page says, session and date where
    /// they begin filled and go on blank, and what is written only where it changes; in a canonical sheet a blank is a
    /// blank.
    pub fn mark_repeats(&mut self, page_text: &[&str], rows: &[&'w Row], merged: &[Merged], canonical: bool) {
        let mut told: Vec<Field> = Vec::new();
        let mut all = false;
        for text in page_text {
            if let Some(fields) = blanks_repeat(text, &self.list) {
                all |= fields.is_empty();
                told.extend(fields);
            }
        }
        let marks: Vec<String> = page_text.iter().flat_map(|text| repeating_marks(text)).collect();
        for column in &mut self.list {
            column.marks.clone_from(&marks);
            let keeps = !canonical && matches!(column.field, Field::Session | Field::Date | Field::Bench);
            let ambient = matches!(
                column.field,
                Field::AirTemperature
                    | Field::MeterTemperature
                    | Field::Barometer
                    | Field::Humidity
                    | Field::Range
                    | Field::SetPressure
                    | Field::Item
            );
            let begins = rows.first().is_some_and(|r| !r.text(column.index).trim().is_empty());
            let here = |m: &&Merged| m.first_column as usize == column.index && m.last_row > m.first_row;
            column.merged = merged.iter().filter(here).map(|m| (m.first_row, m.last_row)).collect();
            column.repeats = told.contains(&column.field)
                || (all && (keeps || ambient))
                || (keeps && begins)
                || (!canonical && ambient && begins && only_changes(column.index, column.field, rows));
        }
    }

    /// The text of a column in a row, ditto marks and repeats resolved. Rows must come in order.
    #[inline]
    pub fn text(column: &mut Column<'w>, row: &'w Row, literal: bool) -> &'w str {
        let text = row.text(column.index).trim();
        let first = match text.as_bytes().first() {
            None => {
                let covered = column.merged.iter().any(|m| (m.0 + 1..=m.1).contains(&row.number()));
                return if column.repeats || covered { column.above } else { "" };
            }
            Some(first) => *first,
        };
        // Few letters begin a word for a ditto mark.
        let may_be = !literal
            && match first {
                b'0'..=b'9' => false,
                b'a'..=b'z' | b'A'..=b'Z' => matches!(first.to_ascii_lowercase(), b'd' | b's' | b'i' | b'a'),
                _ => true,
            };
        if may_be && (ditto(text) || column.marks.iter().any(|mark| mark == text)) {
            return column.above;
        }
        column.above = text;
        text
    }
}

/// Whether a column of the weather, or of what was set, is filled in few rows, and there always with something new.
fn only_changes(column: usize, field: Field, rows: &[&Row]) -> bool {
    let filled: Vec<&str> = rows.iter().map(|r| r.text(column).trim()).filter(|t| !t.is_empty()).collect();
    let weather =
        matches!(field, Field::AirTemperature | Field::MeterTemperature | Field::Barometer | Field::Humidity);
    let few = if weather { 2 } else { 4 };
    rows.len() >= 6
        && filled.len() * few <= rows.len()
        && filled.windows(2).all(|pair| pair[0] != pair[1])
        && filled.iter().all(|t| !ditto(t))
}

/// The marks of `a dash = the same again`, `-//- means ditto`.
fn repeating_marks(text: &str) -> Vec<String> {
    const SAME: [&str; 6] = ["same", "ditto", "as above", "as before", "repeat", "repeats"];
    const NAMED: [(&str, &[&str]); 6] = [
        ("dash", &["-", "–", "—"]),
        ("stroke", &["-", "–", "—", "/", "|"]),
        ("dots", &["..", "...", "…"]),
        ("tick", &["'", "`", "√", "✓"]),
        ("arrow", &["↓", "|", "v"]),
        ("star", &["*"]),
    ];
    let mut out = Vec::new();
    for clause in text.split([';', ',']).flat_map(|part| part.split(". ")) {
        let split = clause.split_once('=').or_else(|| clause.split_once(" means "));
        let Some((mark, meaning)) = split.map(|(mark, meaning)| (mark.trim(), plain(meaning))) else {
            continue;
        };
        if !SAME.iter().any(|w| says(&meaning, w)) || meaning.split(' ').count() > 6 {
            continue;
        }
        let words = plain(mark);
        let sign = mark.rsplit(' ').next().unwrap_or("");
        if !sign.is_empty() && sign.chars().count() <= 4 && !sign.contains(char::is_alphanumeric) {
            out.push(sign.to_owned());
        } else if words.split(' ').count() <= 3 {
            let named = |name: &str| says(&words, name) || says(&words, &format!("{name}s"));
            let own = NAMED.iter().filter(|n| named(n.0)).flat_map(|n| n.1.iter());
            out.extend(own.map(|mark| (*mark).to_owned()));
        }
    }
    out
}

/// `blank date, air, baro, RH: as the line above` names columns whose blanks repeat; an empty list means all.
fn blanks_repeat(text: &str, columns: &[Column<'_>]) -> Option<Vec<Field>> {
    let words = plain(text);
    let blank = ["blank", "blanks", "empty", "left out", "where nothing"].iter().any(|w| says(&words, w));
    let above = ["above", "before", "previous", "repeat", "repeats", "ditto", "same", "unchanged", "carried"]
        .iter()
        .any(|w| says(&words, w));
    if !(blank && above) {
        return None;
    }
    let fields = columns
        .iter()
        .filter(|column| {
            let mut names: Vec<String> = vec![column.name.replace('_', " ").to_lowercase()];
            names.push(crate::map::Header::of(0, &column.header).words.join(" "));
            names.push(plain(&column.header));
            match column.field {
                Field::AirTemperature => {
                    names.extend(["air", "temperature", "temp", "ambient", "weather"].map(str::to_owned))
                }
                Field::Barometer => names.extend(
                    ["baro", "barometer", "pressure of the day", "ambient", "weather"].map(str::to_owned),
                ),
                Field::Humidity => names.extend(["rh", "humidity", "ambient", "weather"].map(str::to_owned)),
                Field::Date => names.extend(["date", "day"].map(str::to_owned)),
                _ => {}
            }
            names.iter().any(|name| !name.is_empty() && name.len() > 1 && says(&words, name))
        })
        .map(|c| c.field)
        .collect();
    Some(fields)
}

/// Reads a cell that holds a quantity.
pub(crate) fn quantity(
    text: &str,
    kind: &CellKind,
    field: Field,
    unit: Option<Unit>,
    decimal: Option<Decimal>,
) -> Result<Quantity, ReadError> {
    let dimension = field.dimension().expect("only columns of quantities are read as such");
    // A spreadsheet's own number is shown with a point, whatever the texts beside it use.
    let decimal = if matches!(kind, CellKind::Number(_)) { Some(Decimal::Point) } else { decimal };
    let found = read(text, dimension, unit, decimal).or_else(|error| match &error {
        ReadError::NotANumber { .. }
        | ReadError::UnknownUnit { .. }
        | ReadError::Malformed { .. }
        | ReadError::WrongDimension { .. } => {
            let trimmed = text
                .trim_start_matches(['~', '≈', '=', '<', '>', '(', '+', '¢', ' '])
                .trim_end_matches([')', '?', '!', '*', ' ']);
            if trimmed == text { Err(error) } else { read(trimmed, dimension, unit, decimal) }
        }
        _ => Err(error),
    });
    // A space may part the thousands where commas are decimal marks (`1 013,25`), elsewhere before a point: `1 013.2`.
    let spaced = decimal == Some(Decimal::Comma) || dimension != Dimension::Length && text.contains('.');
    let found = match found {
        Err(error) if spaced => match grouped(text) {
            Some(joined) => read(&joined, dimension, unit, decimal),
            None => Err(error),
        },
        found => found,
    };
    let value = found.map(|r| Quantity::read(r.si, text, r.unit))?;
    // What was written as unsure stays so.
    let unsure = text.starts_with(['~', '≈']) || text.ends_with('?');
    Ok(if unsure { value.from_source(Source::Estimated) } else { value })
}

/// A number without the spaces between its thousands.
pub(super) fn grouped(text: &str) -> Option<String> {
    let mut parts = text.split(' ');
    let first = parts.next().filter(|p| (1..=3).contains(&p.trim_start_matches(['-', '+']).len()))?;
    if !first.trim_start_matches(['-', '+']).bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let mut joined = first.to_owned();
    let mut groups = 0;
    let mut rest: Vec<&str> = Vec::new();
    for part in parts {
        let digits = part.bytes().take_while(u8::is_ascii_digit).count();
        if rest.is_empty() && digits == 3 && (part.len() == 3 || matches!(part.as_bytes()[3], b',' | b'.')) {
            joined.push_str(part);
            groups += 1;
        } else {
            rest.push(part);
        }
    }
    (groups > 0).then(|| if rest.is_empty() { joined } else { format!("{joined} {}", rest.join(" ")) })
}

/// Reads a whole number as people number things: `3`, `3.`, `#3`, `3rd`, `3=`.
pub(crate) fn whole(text: &str) -> Option<i64> {
    let body = text.trim().trim_start_matches(|c: char| !c.is_ascii_digit());
    let digits = body.find(|c: char| !c.is_ascii_digit()).unwrap_or(body.len());
    let rest = &body[digits..];
    let pointed = rest.strip_prefix('.').is_some_and(|z| z.bytes().all(|b| b == b'0'));
    if !(rest.is_empty() || pointed || rest.starts_with([')', '=', 's', 'n', 'r', 't', 'x', ' ', '×', '*']))
    {
        return None;
    }
    body[..digits].parse().ok()
}

/// The SI unit's symbol of a quantity, as conversions name it.
pub(crate) fn si_unit(unit: Unit) -> &'static str {
    match unit.dimension().si_unit().symbol() {
        "count" => "1",
        symbol => symbol,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spaces_part_thousands() {
        assert_eq!(grouped("1 013,25 hPa").as_deref(), Some("1013,25 hPa"));
        assert_eq!(grouped("12 345 678").as_deref(), Some("12345678"));
        assert_eq!((grouped("1 13,25"), grouped("11 x 250"), grouped("hPa")), (None, None, None));
    }

    #[test]
    fn numbers_of_runs_and_places() {
        for (text, number) in [
            ("3", Some(3)),
            ("3.", Some(3)),
            ("#12", Some(12)),
            ("1st", Some(1)),
            ("2=", Some(2)),
            ("4.0", Some(4)),
            ("", None),
            ("4.5", None),
        ] {
            assert_eq!(whole(text), number, "{text}");
        }
    }
}
