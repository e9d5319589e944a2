//! Columns whose cells cannot be what their header was taken for.

use super::{Book, SURE};
use crate::map::columns::{Assigned, assign_but};
use crate::map::group::suffices;
use crate::map::{DateOrder, Field, Group, Header};
use crate::stage::civil;
use crate::stage::table::Found;
use crate::stage::terms::{direction, purpose, restraint, service};

/// Where the cells of a column cannot be what its header was taken for, the header is read again without that.
pub(super) fn unfit(found: &mut Found, group: Group, book: &Book<'_>) -> Vec<Assigned> {
    let mut not: Vec<(usize, Field)> = Vec::new();
    let mut unfit: Vec<Assigned> = Vec::new();
    for _ in 0..4 {
        let before = not.len();
        for at in 0..found.columns.len() {
            let column = &found.columns[at];
            if let Some(field) = column.field.filter(|_| !column.told)
                && cannot_be(found, book, at, field)
            {
                not.push((column.header.column, field));
                if unfit.iter().all(|u| u.header.column != column.header.column) {
                    unfit.push(column.clone());
                }
            }
        }
        if not.len() == before {
            break;
        }
        let headers: Vec<Header> = found.columns.iter().map(|c| c.header.clone()).collect();
        let mut again = assign_but(&headers, group, &not);
        for (new, own) in again.iter_mut().zip(&found.columns) {
            if own.told {
                *new = own.clone();
            } else if found.columns.iter().any(|c| c.told && c.field.is_some() && c.field == new.field) {
                *new = Assigned::open(own.header.clone());
            }
        }
        if !suffices(&again, group) {
            break;
        }
        found.columns = again;
    }
    unfit
}

/// Whether hardly any cell of a column can be read as a field that needs numbers, dates or known words.
fn cannot_be(found: &Found, book: &Book<'_>, at: usize, field: Field) -> bool {
    let texts = book.texts(found, at);
    if texts.len() < 2 {
        return false;
    }
    let share =
        |fits: &dyn Fn(&str) -> bool| texts.iter().filter(|t| fits(t)).count() as f64 / texts.len() as f64;
    let numeric = |text: &str| {
        let body = text.trim_start_matches(|c: char| !c.is_alphanumeric());
        body.starts_with(|c: char| c.is_numeric())
    };
    let day = |text: &str| {
        numeric(text)
            || civil::date(text, None, DateOrder::DayFirst).is_some()
            || text.split(|c: char| !c.is_alphanumeric()).any(|word| civil::month_of(word).is_some())
    };
    let clock = |text: &str| text.contains(':') && civil::clock(text).is_some();
    let unsure = found.columns[at].confidence < SURE;
    match field {
        Field::Date if share(&clock) > 0.8 => true,
        Field::Clock if share(&|t| t.len() > 5 && day(t) && !t.contains(':')) > 0.8 => true,
        field if field.dimension().is_some() && field != Field::Size => {
            share(&|t| numeric(t) || t.contains(|c: char| c.is_ascii_digit()) && t.contains(['~', '<', '=']))
                < 0.3
        }
        Field::Order | Field::Place | Field::Readings => {
            share(&|t| t.len() <= 2 || t.contains(|c: char| c.is_ascii_digit())) < 0.3
        }
        Field::Date | Field::Arrived | Field::Revised | Field::Written if unsure => share(&day) < 0.2,
        Field::Clock => share(&|t| t.contains(|c: char| c.is_ascii_digit())) < 0.3,
        // Numbers are no words for these, whatever the header.
        Field::Service | Field::Direction if share(&numeric) > 0.8 => {
            texts.len() > 2 && share(&|t| book.reads(t, service) || book.reads(t, direction)) == 0.0
        }
        Field::Purpose if unsure => share(&|t| book.reads(t, purpose)) == 0.0,
        Field::Restraint if unsure => share(&|t| book.reads(t, restraint) || numeric(t)) == 0.0,
        Field::Service if unsure => share(&|t| book.reads(t, service)) == 0.0,
        Field::Direction if unsure => share(&|t| book.reads(t, direction)) == 0.0,
        _ => false,
    }
}
