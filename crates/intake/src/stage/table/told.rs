//! What a person says of a header and its columns.

use super::Span;
use super::headers::headers_of;
use crate::map::columns::Assigned;
use crate::map::group::best_group;
use crate::map::{Field, Group, Header};
use crate::reader::Row;
use crate::stage::terms::plain;

pub(super) fn told_header(row: &Row, entry: &crate::map::TableMapping) -> (Group, Vec<Assigned>) {
    let headers = headers_of(row);
    let group = match entry.kind.as_deref().map(plain).as_deref() {
        Some("parts") => Group::Parts,
        Some("predictions") => Group::Guesses,
        Some("ratings") => Group::Ratings,
        Some(_) => Group::Runs,
        None => best_group(&headers).map_or(Group::Runs, |b| b.0),
    };
    let mut columns = crate::map::columns::assign(&headers, group);
    override_columns(&mut columns, entry, Span::ALL);
    (group, columns)
}

pub(super) fn override_columns(columns: &mut Vec<Assigned>, entry: &crate::map::TableMapping, span: Span) {
    for told in &entry.columns {
        if let Some(column) = told.column
            && u32::try_from(column).is_ok_and(|column| span.has(column))
            && columns.iter().all(|c| c.header.column != column)
        {
            let header = Header::of(column, told.header.as_deref().unwrap_or(""));
            columns.push(Assigned::open(header));
        }
    }
    for at in 0..columns.len() {
        let Some(told) = entry.column(columns[at].header.column, &columns[at].header.text) else { continue };
        let field = told.field.as_deref().and_then(Field::from_name);
        if field.is_some() {
            for other in columns.iter_mut().filter(|c| c.field == field) {
                other.field = None;
                other.unit = None;
            }
        }
        let column = &mut columns[at];
        column.field = field;
        column.confidence = 1.0;
        column.told = true;
        column.unit = field.and_then(Field::dimension).and_then(|d| {
            let told = told.unit.as_deref().and_then(|u| airshelf_units::Unit::named(u, Some(d)).ok());
            told.or_else(|| column.header.unit_for(d, field == Some(Field::Barometer)))
        });
    }
}
