//! Guesses before a test, and rated flows.

use super::cells::{Columns, quantity, si_unit, whole};
use super::civil;
use super::draft::{At, Draft};
use super::runs::{RawRows, split_stack};
use super::table::Found;
use super::terms::{no_part, not_run, plain, says};
use super::{Conversion, Paper};
use crate::map::Field;
use crate::reader::Row;
use airshelf_catalog::ids::{Derived, fold};
use airshelf_catalog::{Prediction, Quantity, Rating, Uuid};
use airshelf_units::Unit;
use std::collections::HashMap;

/// A row's cells by field.
struct Line<'w> {
    texts: HashMap<Field, &'w str>,
    values: HashMap<Field, Quantity>,
    broken: Vec<(usize, String)>,
}

fn line<'w>(
    draft: &mut Draft<'_, '_>,
    paper: &Paper<'w>,
    row: &'w Row,
    columns: &mut Columns<'w>,
) -> Line<'w> {
    let mut line = Line { texts: HashMap::new(), values: HashMap::new(), broken: Vec::new() };
    let (decimal, literal) = (columns.decimal, columns.literal);
    for column in &mut columns.list {
        let text = Columns::text(column, row, literal);
        if text.is_empty() {
            continue;
        }
        if column.field.dimension().is_none() {
            line.texts.insert(column.field, text);
            continue;
        }
        match quantity(text, row.kind(column.index), column.field, column.unit, decimal) {
            Ok(value) => {
                draft.converted(Conversion {
                    sheet: paper.sheet.name.as_deref(),
                    row: row.number(),
                    column: &column.header,
                    field: &column.name,
                    raw: text,
                    si: value.si,
                    si_unit: si_unit(value.unit().unwrap_or(Unit::M3_S)),
                });
                line.values.insert(column.field, value);
            }
            Err(_) if not_run(text) => {}
            Err(error) => line.broken.push((column.index, column.reason(&error))),
        }
    }
    line
}

/// Reads the rows of a table of guesses.
pub(super) fn guesses<'w>(
    draft: &mut Draft<'_, '_>,
    paper: &Paper<'w>,
    found: &Found,
    columns: &mut Columns<'w>,
) {
    let mut kept = RawRows::new();
    for &index in &found.rows {
        let row = &paper.sheet.rows[index];
        let at = At { table: paper.table, row: row.number() };
        kept.keep(row, paper.table, &mut draft.records.sheet_rows);
        draft.staged.rows.read += 1;
        let mut line = line(draft, paper, row, columns);
        let text = |field: Field| line.texts.get(&field).copied();
        let mut layers = Vec::new();
        for field in [Field::Spacer, Field::Base, Field::VelocityStack, Field::Filter, Field::Lid] {
            if let (Some(tag), Some(kind)) = (text(field).filter(|t| !no_part(t)), field.layer()) {
                let revision = draft.revision(kind, tag, at);
                layers.push((draft.kind_of(&revision, kind), revision));
            }
        }
        if let Some(stack) = text(Field::Assembly) {
            for (kind, tag) in split_stack(stack, draft.known, &paper.stack) {
                let revision = draft.labelled(kind, tag, at);
                layers.push((draft.kind_of(&revision, kind), revision));
            }
        }
        let place = text(Field::Place).and_then(whole);
        let guessed = line.values.contains_key(&Field::StatedLoss) || line.values.contains_key(&Field::Flow);
        if layers.is_empty() || !(guessed || place.is_some() || line.values.contains_key(&Field::Low)) {
            draft.set_aside(at, &row.raw(), None, "the guess names no assembly or no number".to_owned());
            continue;
        }
        let said = text(Field::Session).map(str::to_owned);
        let session = said
            .as_deref()
            .and_then(|s| session_named(draft, s))
            .or_else(|| session_of_day(draft, &paper.page.words))
            .or_else(|| session_in(draft, &paper.page.words))
            .or_else(|| session_on(draft, paper.page.text(Field::Date)?));
        let session_note = match (&session, said) {
            (Some(_), _) => None,
            (None, said) => said.or_else(|| paper.page.lines.first().map(|l| l.1.clone())),
        };
        let person = text(Field::Who).map(str::to_owned).map(|who| draft.person(&who));
        let mut written = None;
        if let Some(when) = text(Field::Written) {
            match paper.dates.date(when, paper.hand.order, paper.hand.guess) {
                Some(date) => written = Some(date.iso),
                None => {
                    let column = columns.list.iter().find(|c| c.field == Field::Written).map(|c| c.index);
                    draft.set_aside(at, when, column, format!("`{when}` is no date known here"));
                }
            }
        }
        let note = text(Field::Note).map(str::to_owned);
        let assembly = draft.assembly(&mut layers);
        let loss = line.values.remove(&Field::StatedLoss);
        let flow = line.values.remove(&Field::Flow);
        let si = |q: &Option<Quantity>| q.as_ref().map(|q| q.si);
        let key = Derived::new("prediction")
            .id(person)
            .id(assembly)
            .id(session)
            .text(written.as_deref().unwrap_or(""))
            .real(si(&flow))
            .real(si(&loss))
            .int(place);
        let id = draft.free_id(&key);
        broken(draft, row, at, line.broken);
        if draft.known.others.contains(&id) {
            draft.also_at(id, at, None);
            draft.staged.rows.already += 1;
            continue;
        }
        draft.records.predictions.push(Prediction {
            id,
            person,
            assembly,
            session,
            flow,
            loss,
            place,
            low: line.values.remove(&Field::Low),
            high: line.values.remove(&Field::High),
            written,
            note,
            table: Some(at.table),
            row: Some(i64::from(at.row)),
            session_note,
            ..Prediction::default()
        });
        draft.staged.rows.taken += 1;
    }
    kept.flush(paper.table, &mut draft.records.sheet_rows);
}

fn broken(draft: &mut Draft<'_, '_>, row: &Row, at: At, cells: Vec<(usize, String)>) {
    for (column, reason) in cells {
        draft.set_aside(at, row.text(column), Some(column), reason);
    }
}

fn session_named(draft: &Draft<'_, '_>, name: &str) -> Option<Uuid> {
    let folded = fold(name);
    let own =
        draft.records.sessions.iter().find(|s| {
            s.name.as_deref().is_some_and(|n| fold(n) == folded) || s.date.as_deref() == Some(name)
        });
    own.map(|s| s.id).or_else(|| draft.known.session_names.get(&folded).copied())
}

/// The only session of a date.
fn session_on(draft: &Draft<'_, '_>, date: &str) -> Option<Uuid> {
    let own = draft.records.sessions.iter().filter(|s| s.date.as_deref() == Some(date)).map(|s| s.id);
    let known = draft.known.session_dates.get(date).into_iter().flatten().copied();
    let mut all: Vec<Uuid> = own.chain(known).collect();
    all.sort_unstable();
    all.dedup();
    (all.len() == 1).then(|| all[0])
}

/// The only session of the day that the title names without its year: `Guesses for 13 July`.
fn session_of_day(draft: &Draft<'_, '_>, words: &str) -> Option<Uuid> {
    let list: Vec<&str> = words.split(' ').collect();
    let day_of = |text: &str| {
        let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        digits.parse::<u32>().ok().filter(|day| (1..=31).contains(day))
    };
    let named = list.windows(2).find_map(|pair| {
        let (month, day) = match (civil::month_of(pair[0]), civil::month_of(pair[1])) {
            (Some(month), None) => (month, day_of(pair[1])?),
            (None, Some(month)) => (month, day_of(pair[0])?),
            _ => return None,
        };
        Some(format!("-{month:02}-{day:02}"))
    })?;
    let on_day = |date: &str| date.get(4..10) == Some(named.as_str());
    let own = &draft.records.sessions;
    let own = own.iter().filter(|s| s.date.as_deref().is_some_and(on_day)).map(|s| s.id);
    let known = draft.known.session_dates.iter().filter(|(date, _)| on_day(date));
    let mut all: Vec<Uuid> = own.chain(known.flat_map(|(_, ids)| ids.iter().copied())).collect();
    all.sort_unstable();
    all.dedup();
    (all.len() == 1).then(|| all[0])
}

/// The session whose name stands in the title: `WHO GUESSED WHAT FOR 10 AUGUST`.
fn session_in(draft: &Draft<'_, '_>, words: &str) -> Option<Uuid> {
    let named = |name: &str| {
        let name = plain(name);
        name.len() > 2 && says(words, &name)
    };
    let own = draft
        .records
        .sessions
        .iter()
        .filter(|s| s.name.as_deref().is_some_and(named))
        .max_by_key(|s| s.name.as_ref().map_or(0, String::len));
    own.map(|s| s.id).or_else(|| {
        let known = draft.known.session_names.iter().filter(|(name, _)| named(name));
        known.max_by_key(|(name, _)| name.len()).map(|(_, id)| *id)
    })
}

/// Reads the rows of a table of rated flows.
pub(super) fn ratings<'w>(
    draft: &mut Draft<'_, '_>,
    paper: &Paper<'w>,
    found: &Found,
    columns: &mut Columns<'w>,
) {
    let mut kept = RawRows::new();
    for &index in &found.rows {
        let row = &paper.sheet.rows[index];
        let at = At { table: paper.table, row: row.number() };
        kept.keep(row, paper.table, &mut draft.records.sheet_rows);
        draft.staged.rows.read += 1;
        let mut line = line(draft, paper, row, columns);
        let item = line.texts.get(&Field::Item).map(|t| (*t).to_owned());
        let (Some(item), Some(flow)) = (item, line.values.remove(&Field::Flow)) else {
            draft.set_aside(at, &row.raw(), None, "the rating names no item or no flow".to_owned());
            continue;
        };
        let rated_at =
            line.values.remove(&Field::RatedAt).or_else(|| paper.page.quantity(Field::SetPressure).cloned());
        let place = line.texts.get(&Field::Place).and_then(|t| whole(t));
        let key = Derived::new("rating")
            .folded(&item)
            .real(Some(flow.si))
            .real(rated_at.as_ref().map(|q| q.si))
            .int(place);
        let id = draft.free_id(&key);
        broken(draft, row, at, line.broken);
        if draft.known.others.contains(&id) {
            draft.also_at(id, at, None);
            draft.staged.rows.already += 1;
            continue;
        }
        draft.records.ratings.push(Rating {
            id,
            item: Some(item),
            flow: Some(flow),
            rated_at,
            place,
            against_first: line.values.remove(&Field::AgainstFirst),
            note: line.texts.get(&Field::Note).map(|t| (*t).to_owned()),
            table: Some(at.table),
            row: Some(i64::from(at.row)),
        });
        draft.staged.rows.taken += 1;
    }
    kept.flush(paper.table, &mut draft.records.sheet_rows);
}
