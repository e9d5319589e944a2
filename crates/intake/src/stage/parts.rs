//! Rows of parts.

use super::cells::{Columns, quantity, si_unit};
use super::complete::of_part;
use super::draft::{At, Draft};
use super::runs::{RawRows, sized};
use super::table::Found;
use super::terms::{self, kind, kind_among, kind_named, no_part, not_run, plain, says};
use super::{Conversion, Paper};
use crate::map::Field;
use crate::reader::Row;
use airshelf_catalog::ids::{first_revision, named_part};
use airshelf_catalog::{Part, PartDimension, PartKind, Price, Quantity, Source, Uuid};
use airshelf_units::{Decimal, Dimension, Unit, read_sizes};

/// Reads the rows of a table of parts.
pub(super) fn stage<'w>(
    draft: &mut Draft<'_, '_>,
    paper: &Paper<'w>,
    found: &Found,
    columns: &mut Columns<'w>,
) {
    let mut kept = RawRows::new();
    for &index in &found.rows {
        let row = &paper.sheet.rows[index];
        kept.keep(row, paper.table, &mut draft.records.sheet_rows);
        one(draft, paper, row, columns);
    }
    kept.flush(paper.table, &mut draft.records.sheet_rows);
}

/// One part before it is put down.
#[derive(Default)]
struct Line<'w> {
    tag: &'w str,
    kind: &'w str,
    part: Part,
    sizes: Vec<(PartDimension, Quantity, usize)>,
    /// Columns of what is compared with the shelf.
    columns: Vec<(Field, usize)>,
    broken: Vec<(usize, String)>,
}

fn one<'w>(draft: &mut Draft<'_, '_>, paper: &Paper<'w>, row: &'w Row, columns: &mut Columns<'w>) {
    let at = At { table: paper.table, row: row.number() };
    draft.staged.rows.read += 1;
    draft.staged.parts += 1;
    let mut line = Line::default();
    let (decimal, literal) = (columns.decimal, columns.literal);
    for column in &mut columns.list {
        let text = Columns::text(column, row, literal);
        let dash = || text.chars().all(|c| "-–—−./".contains(c));
        if text.is_empty() || column.field.dimension().is_none() && dash() {
            continue;
        }
        let owned = || Some(text.to_owned());
        line.columns.push((column.field, column.index));
        let mut tell = |field: &str, si: f64, unit: Unit| {
            draft.converted(Conversion {
                sheet: paper.sheet.name.as_deref(),
                row: row.number(),
                column: &column.header,
                field,
                raw: text,
                si,
                si_unit: si_unit(unit),
            });
        };
        match column.field {
            Field::Size if column.unclear.is_some() => {
                line.broken.push((
                    column.index,
                    column.reason(&airshelf_units::ReadError::NoUnit {
                        text: text.to_owned(),
                        fits: Vec::new(),
                    }),
                ));
            }
            Field::Size => match read_sizes(text, column.unit.unwrap_or(Unit::INCH), decimal) {
                Some(sizes) => {
                    for (dimension, size) in sized(&sizes) {
                        let name = crate::map::field::dimension_key(dimension);
                        tell(
                            if dimension == PartDimension::OutsideDiameter { "size" } else { name },
                            size.si,
                            size.unit,
                        );
                        line.sizes.push((dimension, Quantity::read(size.si, text, size.unit), column.index));
                    }
                }
                None if not_run(text) => {}
                None => {
                    line.broken.push((column.index, format!("`{text}` is no size of diameter and height")))
                }
            },
            Field::Of(dimension) => {
                match quantity(text, row.kind(column.index), column.field, column.unit, decimal) {
                    Ok(value) => {
                        tell(&column.name, value.si, value.unit().unwrap_or(Unit::INCH));
                        line.sizes.push((dimension, value, column.index));
                    }
                    Err(_) if not_run(text) => {}
                    Err(error) => line.broken.push((column.index, column.reason(&error))),
                }
            }
            Field::Tag => line.tag = text,
            Field::Kind => line.kind = text,
            Field::Name => line.part.name = owned(),
            Field::Maker => line.part.maker = owned(),
            Field::Price => match price(text, &column.header, decimal) {
                Some(price) => line.part.price = Some(price),
                None if not_run(text) => {}
                None => line.broken.push((column.index, format!("`{text}` is no price"))),
            },
            Field::Arrived | Field::Revised => {
                match paper.dates.date(text, paper.hand.order, paper.hand.guess) {
                    Some(date) => {
                        if date.ambiguous {
                            draft.staged.ambiguous(at, text);
                        }
                        let day = Some(date.iso.get(..10).unwrap_or(&date.iso).to_owned());
                        let place = if column.field == Field::Arrived {
                            &mut line.part.arrived
                        } else {
                            &mut line.part.revised
                        };
                        *place = day;
                    }
                    None if not_run(text) => {}
                    None => line.broken.push((column.index, format!("`{text}` is no date known here"))),
                }
            }
            Field::Filtration if not_run(text) && !text.contains('?') => {}
            Field::Filtration => line.part.filtration = owned(),
            Field::Service => {
                line.part.service = terms::service(text);
                if line.part.service.is_none() && !not_run(text) {
                    line.broken.push((column.index, format!("`{text}` is no service state known here")));
                }
            }
            Field::Note => match &mut line.part.note {
                Some(note) => {
                    note.push_str("; ");
                    note.push_str(text);
                }
                None => line.part.note = owned(),
            },
            Field::Revision => line.part.revision_label = owned(),
            Field::Status => line.part.status = terms::status(text),
            Field::Place => line.part.place = owned(),
            Field::Source => line.part.source_note = owned(),
            Field::Photo => line.part.photo_note = owned(),
            _ => {}
        }
    }
    // Where cells are what they say, `none` may be a tag.
    if !literal && no_part(line.tag) {
        line.tag = "";
    }
    put(draft, paper, row, at, line);
}

fn put(draft: &mut Draft<'_, '_>, paper: &Paper<'_>, row: &Row, at: At, mut line: Line<'_>) {
    let name = line.part.name.clone().unwrap_or_default();
    let tag = if line.tag.is_empty() { name.as_str() } else { line.tag };
    if tag.is_empty() {
        draft.set_aside(at, &row.raw(), None, "the part has neither a tag nor a name".to_owned());
        return;
    }
    let legend = &paper.page.legend;
    let told = legend
        .read(line.kind, |text| kind(text).or_else(|| kind_named(text)).or_else(|| kind_among(text)))
        .or(paper.titled);
    let kind = told
        .or_else(|| super::settle::kind_in(&plain(&name)))
        .or_else(|| kind(&name))
        .or_else(|| by_dimensions(&line.sizes))
        .unwrap_or(PartKind::Other);
    let id = draft
        .known
        .part(Some(kind), tag)
        .filter(|p| draft.known.parts.get(p).is_some_and(|k| k.kind == Some(kind)))
        .or_else(|| {
            // A part that runs named before anybody listed it.
            let only_named = |p: &Uuid| {
                !draft.is_listed(p)
                    && draft
                        .known
                        .parts
                        .get(p)
                        .is_some_and(|k| k.kind == Some(kind) && k.only_named == Some(true))
            };
            draft.known.part(Some(kind), &name).filter(only_named)
        })
        .unwrap_or_else(|| named_part(kind, tag));
    let revision = first_revision(id);
    let source = source_of(line.part.source_note.as_deref().unwrap_or(&paper.page.words));
    line.part = Part {
        id,
        tag: (!line.tag.is_empty()).then(|| line.tag.to_owned()),
        kind: Some(kind),
        table: Some(at.table),
        row: Some(i64::from(at.row)),
        ..line.part
    };
    for (column, reason) in std::mem::take(&mut line.broken) {
        draft.set_aside(at, row.text(column), Some(column), reason);
    }
    let before = draft.records.measurements.len();
    for (dimension, value, column) in std::mem::take(&mut line.sizes) {
        let note = line.part.note.as_deref().map(plain).unwrap_or_default();
        let dimension = match dimension {
            // What one measures across a carburetor is the flange that a neck sits on.
            PartDimension::OutsideDiameter
                if kind == PartKind::Carburetor || says(&note, "od is the register") =>
            {
                PartDimension::Register
            }
            other => other,
        };
        let value = match source {
            Some(source) => value.from_source(source),
            None => value,
        };
        draft.measure(revision, dimension, value, at, column);
    }
    let measured = draft.records.measurements.len() > before;
    let known = draft.known.parts.get(&id);
    let Some(held) = draft.part(&id).map(|p| &*p).or(known) else {
        draft.list_part(line.part);
        draft.staged.rows.taken += 1;
        return;
    };
    let differing = differences(held, &line.part);
    let completed = of_part(held, &line.part);
    let named_only = held.only_named == Some(true);
    if !named_only && held.table.is_some() && (held.table, held.row) != (line.part.table, line.part.row) {
        draft.also_at(id, at, None);
    }
    // Nothing is overwritten in silence.
    for (field, what, held, told) in differing {
        let column = line.columns.iter().find(|c| c.0 == field).map(|c| c.1);
        let reason = format!("the shelf has {what} `{held}` for this part, the row says `{told}`");
        draft.set_aside(at, column.map_or("", |c| row.text(c)), column, reason);
    }
    let described = !completed.is_empty();
    if let Some(own) = draft.part(&id) {
        completed.put(own).expect("the fields are those of a part");
    } else {
        if named_only {
            draft.list_known(id, kind);
        }
        draft.complete(completed);
    }
    if measured || described {
        draft.staged.rows.taken += 1;
    } else {
        draft.staged.rows.already += 1;
    }
}

/// What the row says otherwise than the shelf.
fn differences(held: &Part, told: &Part) -> Vec<(Field, &'static str, String, String)> {
    let texts = [
        (Field::Name, "the name", &held.name, &told.name),
        (Field::Maker, "the maker", &held.maker, &told.maker),
        (Field::Arrived, "the arrival", &held.arrived, &told.arrived),
        (Field::Revision, "the revision", &held.revision_label, &told.revision_label),
        (Field::Filtration, "the filtration", &held.filtration, &told.filtration),
    ];
    let mut out = Vec::new();
    for (field, what, held, told) in texts {
        if let (Some(held), Some(told)) = (held, told)
            && plain(held) != plain(told)
        {
            out.push((field, what, held.clone(), told.clone()));
        }
    }
    if let (Some(held), Some(told)) = (&held.price, &told.price)
        && held.amount != told.amount
    {
        out.push((Field::Price, "the price", held.raw.clone(), told.raw.clone()));
    }
    if let (Some(held), Some(told)) = (held.service, told.service)
        && held != told
    {
        out.push((Field::Service, "the state", held.to_string(), told.to_string()));
    }
    out
}

/// What a part without a kind must be, by what was measured of it.
fn by_dimensions(sizes: &[(PartDimension, Quantity, usize)]) -> Option<PartKind> {
    let has = |d: PartDimension| sizes.iter().any(|s| s.0 == d);
    if has(PartDimension::StudLength) {
        Some(PartKind::Stud)
    } else if has(PartDimension::Register) {
        Some(PartKind::Carburetor)
    } else if has(PartDimension::PleatCount)
        || has(PartDimension::PleatDepth)
        || has(PartDimension::MediaArea)
    {
        Some(PartKind::Filter)
    } else if has(PartDimension::Drop) || has(PartDimension::NeckBore) {
        Some(PartKind::Base)
    } else {
        None
    }
}

fn source_of(text: &str) -> Option<Source> {
    let words = plain(text);
    let any = |list: &[&str]| list.iter().any(|w| says(&words, w));
    if any(&["estimated", "estimate", "by eye", "guessed", "roughly"]) {
        Some(Source::Estimated)
    } else if any(&["stated", "seller", "label", "catalog", "advertised", "claimed", "from the listing"]) {
        Some(Source::Stated)
    } else if any(&["measured", "caliper", "calipers", "rule", "steel rule", "micrometer", "tape measure"]) {
        Some(Source::Measured)
    } else {
        None
    }
}

/// Currency signs and their ISO 4217 codes.
const CURRENCIES: &[(&str, &str)] = &[
    ("US$", "USD"),
    ("C$", "CAD"),
    ("A$", "AUD"),
    ("$", "USD"),
    ("€", "EUR"),
    ("£", "GBP"),
    ("¥", "JPY"),
    ("USD", "USD"),
    ("EUR", "EUR"),
    ("GBP", "GBP"),
    ("CAD", "CAD"),
    ("AUD", "AUD"),
    ("CHF", "CHF"),
    ("SEK", "SEK"),
    ("NOK", "NOK"),
    ("DKK", "DKK"),
    ("JPY", "JPY"),
];

/// Reads an amount of money, with or without its currency.
fn price(text: &str, header: &str, decimal: Option<Decimal>) -> Option<Price> {
    let currency_in = |text: &str| CURRENCIES.iter().find(|c| text.contains(c.0)).map(|c| c.1);
    let currency = currency_in(text).or_else(|| currency_in(header)).unwrap_or("");
    let mut number = text.to_owned();
    for (sign, _) in CURRENCIES {
        number = number.replace(sign, "");
    }
    let number = number.trim().trim_end_matches([',', '.', '-', '–', ' ']).trim();
    let bare = number.replace("- ", "-");
    let decimal =
        decimal.or_else(|| airshelf_units::decimal_of([bare.as_str()].into_iter())).unwrap_or(Decimal::Point);
    let read = airshelf_units::read(&bare, Dimension::Ratio, Some(Unit::RATIO), decimal).ok()?;
    (read.unit == Unit::RATIO).then(|| Price {
        amount: read.value,
        currency: currency.to_owned(),
        raw: text.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_with_and_without_a_sign() {
        let read = |text| price(text, "price", Some(Decimal::Point)).map(|p| (p.amount, p.currency));
        assert_eq!(read("24.50"), Some((24.5, String::new())));
        assert_eq!(read("$ 1,024.50"), Some((1024.5, "USD".to_owned())));
        assert_eq!(read("-12.00"), Some((-12.0, String::new())));
        assert_eq!(price("24,50 €", "Preis", Some(Decimal::Comma)).map(|p| p.amount), Some(24.5));
        assert_eq!(read("a swap"), None);
    }
}
