//! Rated flows of carburetors, which mean nothing without the pressure they are rated at.

use super::dates::record_place;
use super::fault::{Amount, Detail, Fault, Repair};
use super::rule::Rule;
use super::shelf::Shelf;
use airshelf_catalog::{Quantity, Rating};
use airshelf_units::Unit;

/// Pressures further apart than this are two.
const APART: f64 = 0.02;

pub(crate) fn check(shelf: &Shelf, faults: &mut Vec<Fault>) {
    let mut tables: Vec<Vec<&Rating>> = Vec::new();
    for rating in &shelf.records.ratings {
        match tables.iter_mut().find(|t| t[0].table == rating.table) {
            Some(table) => table.push(rating),
            None => tables.push(vec![rating]),
        }
    }
    for table in tables {
        check_table(shelf, &table, faults);
    }
}

fn pressure(rating: &Rating) -> Option<&Quantity> {
    rating.rated_at.as_ref().filter(|p| p.si > 0.0)
}

fn check_table(shelf: &Shelf, table: &[&Rating], faults: &mut Vec<Fault>) {
    // Only what is placed, or set against the first, is compared.
    let set_against_first = table.iter().any(|r| r.against_first.is_some());
    let compared = |at: usize, r: &Rating| {
        r.place.is_some() || r.against_first.is_some() || (at == 0 && set_against_first)
    };
    let rated: Vec<&Rating> = table
        .iter()
        .enumerate()
        .filter(|(i, r)| compared(*i, r) && pressure(r).is_some())
        .map(|(_, r)| *r)
        .collect();
    let near = |a: &Rating, b: &Rating| match (pressure(a), pressure(b)) {
        (Some(a), Some(b)) => (a.si / b.si - 1.0).abs() <= APART,
        _ => true,
    };
    let Some(usual) = rated.iter().rev().max_by_key(|r| rated.iter().filter(|o| near(r, o)).count()) else {
        return;
    };
    for rating in rated.iter().filter(|r| !near(r, usual)) {
        let (Some(at), Some(others)) = (pressure(rating), pressure(usual)) else { continue };
        let Some(flow) = rating.flow.as_ref() else { continue };
        let carried = Amount::like(flow.si * (others.si / at.si).sqrt(), Some(flow), Unit::CFM);
        faults.push(Fault {
            rule: Rule::RatingMixed,
            severity: Rule::RatingMixed.severity(),
            place: record_place(shelf, rating.table, rating.row, "rated_at"),
            rows: rated.iter().filter(|r| r.id != rating.id).filter_map(|r| r.row).collect(),
            value: at.raw().map(str::to_owned),
            subject: rating.id,
            covers: Vec::new(),
            detail: Detail::Ratings {
                flow: Amount::like(flow.si, Some(flow), Unit::CFM),
                rated_at: Amount::like(at.si, Some(at), Unit::IN_HG),
                others_at: Amount::like(others.si, Some(others), Unit::IN_HG),
                at_others: carried,
            },
            repair: Some(Repair::Set { field: "flow".into(), to: vec![carried] }),
        });
    }
}
