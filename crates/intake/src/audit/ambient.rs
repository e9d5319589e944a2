//! The air: what is missing, and what was stored as zero instead of blank.

use super::desk::Desk;
use super::fault::{Amount, Detail, Repair};
use super::misread::median;
use super::rule::Rule;
use super::shelf::Row;
use airshelf_catalog::{Quantity, Session, TableKind};
use airshelf_units::Unit;
use std::collections::HashMap;

type Own = for<'a> fn(&Row<'a>) -> Option<&'a Quantity>;
type Paged = for<'a> fn(&'a Session) -> Option<&'a Quantity>;

struct Air {
    field: &'static str,
    name: &'static str,
    own: Own,
    page: Paged,
    unit: Unit,
}

const AIR: [Air; 3] = [
    Air {
        field: "barometer",
        name: "barometer",
        own: |r| r.reading?.barometer.as_ref(),
        page: |s| s.barometer.as_ref(),
        unit: Unit::IN_HG,
    },
    Air {
        field: "air_temperature",
        name: "air temperature",
        own: |r| r.reading?.air_temperature.as_ref(),
        page: |s| s.air_temperature.as_ref(),
        unit: Unit::FAHRENHEIT,
    },
    Air {
        field: "humidity",
        name: "humidity",
        own: |r| r.reading?.humidity.as_ref(),
        page: |s| s.humidity.as_ref(),
        unit: Unit::PERCENT,
    },
];

pub(crate) fn check(desk: &mut Desk) {
    zeros(desk);
    zero_losses(desk);
    missing(desk);
}

fn is_zero(quantity: &Quantity) -> bool {
    quantity.unit().map_or(quantity.si, |u| u.from_si(quantity.si)) == 0.0
}

fn zero(desk: &mut Desk, row: usize, field: &'static str, others: Option<Amount>) {
    desk.report(row, Rule::BlankAsZero, field, Detail::Zero { others })
        .repaired(Repair::Blank { field: field.into() });
}

fn zeros(desk: &mut Desk) {
    let rows = desk.rows();
    for air in &AIR {
        let at: Vec<usize> = (0..rows.len()).filter(|&i| (air.own)(&rows[i]).is_some_and(is_zero)).collect();
        let on_page = (air.page)(desk.evening.session).is_some_and(is_zero) && !rows.is_empty();
        if at.is_empty() && !on_page {
            continue;
        }
        let others =
            median(rows.iter().filter_map(|r| (air.own)(r)).filter(|q| !is_zero(q)).map(|q| q.si).collect());
        let impossible = match air.field {
            "barometer" => true,
            // Dry air does not exist; 0 % is a blank unless everything around it is dry as well.
            "humidity" => others.is_none_or(|m| m > 0.15),
            // A cold evening may read 0; one cold reading between warm ones was not read.
            _ => others.is_some_and(|m| (m - 264.0).abs() > 15.0 && m > 278.0),
        };
        if !impossible {
            continue;
        }
        let shown = others.map(|m| {
            let like = rows.iter().filter_map(|r| (air.own)(r)).find(|q| !is_zero(q));
            Amount::like(m, like, air.unit)
        });
        for i in at {
            zero(desk, i, air.field, shown);
        }
        if on_page {
            let all: Vec<usize> = (0..rows.len()).collect();
            desk.report_over(&all, Rule::BlankAsZero, air.field, Detail::Zero { others: None })
                .repaired(Repair::Blank { field: air.field.into() });
        }
    }
    for (i, row) in rows.iter().enumerate() {
        if row.run.set_pressure.as_ref().is_some_and(is_zero) {
            zero(desk, i, "set_pressure", None);
        } else if row.actual().is_some_and(is_zero) {
            zero(desk, i, "actual_pressure", None);
        }
        if !row.is_leakage() && row.flow().is_some_and(is_zero) {
            zero(desk, i, "flow", None);
        }
    }
}

/// A loss of nothing between real losses, in a table or list without flows.
fn zero_losses(desk: &mut Desk) {
    let evening = desk.evening;
    if !evening.unordered {
        return;
    }
    let rows = desk.rows();
    let mut others: HashMap<usize, Vec<f64>> = HashMap::new();
    for row in rows.iter().filter(|r| r.flow().is_none()) {
        if let Some(loss) = row.loss().map(|l| l.si.abs()).filter(|l| *l > 0.0) {
            others.entry(row.table).or_default().push(loss);
        }
    }
    let usual: HashMap<usize, (f64, f64)> = others
        .into_iter()
        .filter_map(|(table, list)| {
            let least = list.iter().copied().fold(f64::INFINITY, f64::min);
            Some((table, (least, median(list)?)))
        })
        .collect();
    for (i, row) in rows.iter().enumerate() {
        let Some(loss) = row.loss().filter(|l| is_zero(l) && row.flow().is_none()) else { continue };
        let Some(&(least, middle)) = usual.get(&row.table) else { continue };
        let first = evening.kind != Some(TableKind::Matrix) && row.claim.and_then(|c| c.place) == Some(1);
        if !first && least > 0.2 * middle {
            zero(desk, i, "stated_loss", Some(Amount::like(middle, Some(loss), Unit::CFM)));
        }
    }
}

fn missing(desk: &mut Desk) {
    let rows = desk.rows();
    let all: Vec<usize> = (0..rows.len()).collect();
    let mut lacking: Vec<Vec<&'static Air>> = vec![Vec::new(); rows.len()];
    let mut page: Vec<&'static str> = Vec::new();
    for air in &AIR {
        if (air.page)(desk.evening.session).is_some() {
            continue;
        }
        let at: Vec<usize> = all.iter().copied().filter(|&i| (air.own)(&rows[i]).is_none()).collect();
        if at.len() == all.len() && all.len() > 1 {
            page.push(air.name);
        } else if at.len() >= 3 && 2 * at.len() > all.len() {
            let detail = Detail::Absent { fields: vec![air.name], whole_page: false };
            desk.report_over(&at, Rule::AmbientMissing, air.field, detail);
        } else {
            for i in at {
                lacking[i].push(air);
            }
        }
    }
    if !page.is_empty() {
        let detail = Detail::Absent { fields: page, whole_page: true };
        desk.report_over(&all, Rule::AmbientMissing, "", detail);
    }
    for (i, airs) in lacking.iter().enumerate() {
        if let Some(first) = airs.first() {
            let fields = airs.iter().map(|a| a.name).collect();
            desk.report(i, Rule::AmbientMissing, first.field, Detail::Absent { fields, whole_page: false });
        }
    }
}
