//! Which field each column of a header row holds, and how sure that is.

use super::evidence::by_unit;
use super::field::Field;
use super::group::Group;
use super::header::{BROUGHT, Header};
use super::likeness::{LEAST, score};
use super::vocabulary::{DIMENSION_WORDS, KIND_WORDS, Spelling, spellings};
use airshelf_catalog::{PartDimension, PartKind};
use airshelf_units::{Dimension, Unit};

/// A column with its field.
#[derive(Clone, Debug, PartialEq)]
pub struct Assigned {
    /// The header.
    pub header: Header,
    /// What the column holds; none where nothing fits.
    pub field: Option<Field>,
    /// The unit of its numbers, where the header says.
    pub unit: Option<Unit>,
    /// From 0 (a guess) to 1 (the field's own name).
    pub confidence: f64,
    /// Whether a person said so.
    pub told: bool,
}

impl Assigned {
    /// A column that nothing is known of.
    pub(crate) fn open(header: Header) -> Assigned {
        Assigned { header, field: None, unit: None, confidence: 0.0, told: false }
    }
}

/// A dimension of a part within a table of runs: `Filter height (mm)`.
fn part_dimension(header: &Header) -> Option<Field> {
    let has = |words: &[&str]| header.words.iter().any(|w| words.contains(&w.as_str()));
    let kind = KIND_WORDS.iter().find(|k| has(k.1))?.0;
    let mut dimension = DIMENSION_WORDS.iter().find(|d| has(d.1))?.0;
    if dimension == PartDimension::StudLength && kind != PartKind::Stud {
        return None;
    }
    if dimension == PartDimension::Height && kind == PartKind::Stud {
        dimension = PartDimension::StudLength;
    }
    let field = Field::PartOf(kind, dimension);
    match (header.unit, field.dimension()) {
        (Some(unit), Some(measured)) if unit.dimension() != measured => None,
        _ => Some(field),
    }
}

/// Two dimensions and a sign between them: `Ø × height`, `across by high`.
fn by_by(text: &str) -> bool {
    let lower = text.to_lowercase();
    let split = ["×", " x ", " by ", "*"].iter().find_map(|mark| lower.split_once(mark));
    let Some((before, after)) = split else { return false };
    let names = |side: &str| {
        super::header::words_of(side).iter().any(|word| {
            matches!(word.as_str(), "ø" | "across" | "o" | "h" | "d")
                || DIMENSION_WORDS.iter().any(|d| d.1.contains(&word.as_str()))
        })
    };
    names(before) && names(after)
}

/// `Net at 25 inH2O`, `Corrected to 28"`: what was read, brought to a pressure that the header tells.
fn at_a_pressure(header: &Header) -> bool {
    header.unit.is_none_or(|u| u.dimension() == Dimension::Flow)
        && header.words.iter().any(|w| BROUGHT.contains(&w.as_str()))
        && header.words.iter().any(|w| w == "at" || w == "to")
        && header.words.iter().any(|w| w.starts_with(|c: char| c.is_ascii_digit()))
}

/// `Against the van's, CFM`: what a flow is more than that of one named.
fn against_another(header: &Header) -> bool {
    header.unit.is_some_and(|u| u.dimension() == Dimension::Flow)
        && header.words.len() > 1
        && header.words.first().is_some_and(|w| matches!(w.as_str(), "against" | "versus" | "vs"))
}

/// `Air, % RH`: relative humidity, whatever stands before it.
fn is_humidity(header: &Header) -> bool {
    header.unit.is_none_or(|u| u.dimension() == Dimension::Ratio)
        && super::header::words_of(&header.text).iter().any(|w| w == "rh")
}

/// An `I.D.` that is no diameter: its cells are none, or another column to its right has the inside diameters.
fn is_mark(headers: &[Header], at: usize, not: &[(usize, Field)]) -> bool {
    let inside = Field::Of(PartDimension::InsideDiameter);
    let of_inside = |header: &Header| {
        let has = |words: &[&str]| header.words.iter().any(|w| words.contains(&w.as_str()));
        has(&["id", "inside", "inner"])
    };
    let header = &headers[at];
    header.words == ["id"]
        && header.unit.is_none()
        && (not.contains(&(header.column, inside)) || headers[at + 1..].iter().any(of_inside))
}

/// Fields that more than one column may hold.
fn may_repeat(field: Field) -> bool {
    matches!(field, Field::Note)
}

/// What stands in brackets and is no unit: `Spigot it sits on (register), cm`.
fn bracketed(header: &Header) -> Option<Header> {
    let inner = header.text.split_once('(')?.1.split_once(')')?.0;
    let named = Header::of(header.column, inner);
    let fits = named.unit.is_none() && (1..=3).contains(&named.words.len());
    fits.then_some(Header { unit: header.unit, ..named })
}

/// How well a header names a field with all its words; what only half fits stands for nothing here.
fn whole(header: &Header, field: Field, spellings: &[Spelling]) -> f64 {
    let joined = header.words.join(" ");
    let own = spellings.iter().any(|spelling| spelling.text == joined);
    if own { score(header, field, spellings) } else { 0.0 }
}

/// A column that only half names a pressure and has no unit of one is none where another one with its unit may be.
fn with_its_unit(headers: &[Header], pairs: &mut Vec<(f64, usize, Field)>) {
    for field in [Field::SetPressure, Field::ActualPressure] {
        let has = |at: usize| headers[at].unit_for(Dimension::Pressure, false).is_some();
        if pairs.iter().any(|p| p.2 == field && has(p.1)) {
            pairs.retain(|p| p.2 != field || has(p.1) || p.0 >= 0.8);
        }
    }
}

/// Gives each header the field that it names best within a group of tables; a field goes to one column only.
///
/// Source of the spellings and weights: common practice, no source.
pub fn assign(headers: &[Header], group: Group) -> Vec<Assigned> {
    assign_but(headers, group, &[])
}

/// As [`assign`], but leaves out fields that a column of that number cannot hold.
pub(crate) fn assign_but(headers: &[Header], group: Group, not: &[(usize, Field)]) -> Vec<Assigned> {
    let mut pairs: Vec<(f64, usize, Field)> = Vec::new();
    for (at, header) in headers.iter().enumerate() {
        let named = bracketed(header);
        if group == Group::Runs
            && let Some(field) = part_dimension(header)
        {
            pairs.push((0.96, at, field));
        }
        if group == Group::Runs && is_humidity(header) && !not.contains(&(header.column, Field::Humidity)) {
            pairs.push((0.97, at, Field::Humidity));
        }
        if group == Group::Parts && is_mark(headers, at, not) && !not.contains(&(header.column, Field::Tag)) {
            pairs.push((1.0, at, Field::Tag));
        }
        let is_size =
            header.words.first().is_some_and(|w| w == "size" || w == "sizes") || by_by(&header.text);
        if group == Group::Runs && at_a_pressure(header) {
            pairs.push((0.93, at, Field::FlowAtSetPressure));
        }
        if group == Group::Parts && header.words.is_empty() && header.text.contains(['$', '€', '£', '¥'])
        {
            pairs.push((0.9, at, Field::Price));
        }
        if group == Group::Ratings && against_another(header) {
            pairs.push((0.91, at, Field::AgainstFirst));
        }
        for (field, spellings) in spellings(group) {
            let score = match *field {
                Field::Size if is_size => 0.98,
                field => score(header, field, spellings)
                    .max(named.as_ref().map_or(0.0, |named| 0.95 * whole(named, field, spellings))),
            };
            if score >= LEAST && !not.contains(&(header.column, *field)) {
                pairs.push((score, at, *field));
            }
        }
    }
    with_its_unit(headers, &mut pairs);
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut out: Vec<Assigned> = headers.iter().cloned().map(Assigned::open).collect();
    let mut taken: Vec<Field> = Vec::new();
    for (score, at, field) in pairs {
        if out[at].field.is_some() || (taken.contains(&field) && !may_repeat(field)) {
            continue;
        }
        taken.push(field);
        out[at].field = Some(field);
        out[at].confidence = (score * 100.0).round() / 100.0;
        out[at].unit =
            field.dimension().and_then(|d| headers[at].unit_for(d, matches!(field, Field::Barometer)));
    }
    by_unit(&mut out, group);
    if group == Group::Runs {
        of_the_part_beside(&mut out, not);
    }
    out
}

/// `Its height (mm)`, `Tall, in` in a table of runs: a dimension of the part named to the left of it, else of the filter.
fn of_the_part_beside(columns: &mut [Assigned], not: &[(usize, Field)]) {
    for at in 0..columns.len() {
        let header = &columns[at].header;
        if columns[at].field.is_some() || header.unit.is_some_and(|u| u.dimension() != Dimension::Length) {
            continue;
        }
        let has = |words: &[&str]| header.words.iter().any(|w| words.contains(&w.as_str()));
        let sized = DIMENSION_WORDS.iter().find(|d| has(d.1)).map(|d| d.0);
        let Some(dimension) =
            sized.or_else(|| has(&["ø", "across"]).then_some(PartDimension::OutsideDiameter))
        else {
            continue;
        };
        // A drop in inches may be one of water; a length says of what.
        if matches!(dimension, PartDimension::Drop | PartDimension::StudLength) {
            continue;
        }
        let left = columns[..at].iter().rev().take(4).find_map(|c| c.field.and_then(Field::layer));
        let filter = columns.iter().any(|c| c.field == Some(Field::Filter)).then_some(PartKind::Filter);
        let Some(field) = left.or(filter).map(|kind| Field::PartOf(kind, dimension)) else { continue };
        let taken = columns.iter().any(|c| c.field == Some(field)) || not.contains(&(header.column, field));
        if !taken {
            columns[at].field = Some(field);
            columns[at].confidence = 0.72;
            columns[at].unit = columns[at].header.unit_for(Dimension::Length, false);
        }
    }
}
