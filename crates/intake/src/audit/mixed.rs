//! Comparisons across bench ranges, items and sessions.

use super::desk::Desk;
use super::fault::{Amount, Detail, Fault, Repair};
use super::misread::median;
use super::rule::Rule;
use super::shelf::{IdMap, Row, Shelf};
use airshelf_catalog::{Purpose, Uuid};
use airshelf_units::Unit;

pub(crate) fn check(desk: &mut Desk) {
    ranges(desk);
    items(desk);
}

fn compared(row: &Row) -> bool {
    row.is_test() || row.is(Purpose::Baseline)
}

/// The value that most of the rows have.
fn usual<T: PartialEq + Copy>(values: impl Iterator<Item = T>) -> Option<T> {
    let mut counts: Vec<(T, usize)> = Vec::new();
    for value in values {
        match counts.iter_mut().find(|(v, _)| *v == value) {
            Some((_, n)) => *n += 1,
            None => counts.push((value, 1)),
        }
    }
    counts.into_iter().max_by_key(|(_, n)| *n).map(|(v, _)| v)
}

fn ranges(desk: &mut Desk) {
    let rows = desk.rows();
    let Some(main) = usual(rows.iter().filter(|r| compared(r)).filter_map(|r| r.range)) else { return };
    let full_scale = |id: Uuid| rows.iter().find(|r| r.range == Some(id)).and_then(|r| r.range_m3_s);
    let mut others: Vec<Uuid> = Vec::new();
    for row in rows.iter().filter(|r| compared(r)) {
        if let Some(range) = row.range
            && range != main
            && !others.contains(&range)
        {
            others.push(range);
        }
    }
    for other in others {
        let plate = |id| rows.iter().any(|r| r.is(Purpose::CheckPlate) && r.range == Some(id));
        let on = |purpose| rows.iter().any(|r| r.is(purpose) && r.range == Some(other));
        let joined = (plate(main) && plate(other)) || desk.shelf.joined(main, other);
        // Tests on a second range with baselines of its own are a second group.
        if joined || (on(Purpose::Baseline) && on(Purpose::Test)) {
            continue;
        }
        let at: Vec<usize> =
            (0..rows.len()).filter(|&i| compared(&rows[i]) && rows[i].range == Some(other)).collect();
        let shown = |id| {
            full_scale(id)
                .map_or_else(String::new, |f| Amount::like(f, rows[at[0]].flow(), Unit::CFM).to_string())
        };
        let detail = Detail::Across { this: shown(other), others: shown(main) };
        desk.report_over(&at, Rule::RangeMixed, "range", detail);
    }
}

fn items(desk: &mut Desk) {
    let rows = desk.rows();
    let Some(main) = usual(rows.iter().filter(|r| compared(r)).filter_map(|r| r.item)) else { return };
    let name = |id: Uuid| desk.shelf.part_of_revision(id).map(|p| p.tag()).unwrap_or_default();
    for (i, row) in rows.iter().enumerate() {
        let Some(item) = row.item.filter(|it| *it != main && compared(row)) else { continue };
        let own = |purpose| rows.iter().any(|r| r.is(purpose) && r.item == Some(item));
        if own(Purpose::Baseline) && own(Purpose::Test) {
            continue;
        }
        let detail = Detail::Across { this: name(item), others: name(main) };
        desk.report(i, Rule::ItemMixed, "item", detail).repaired(Repair::Exclude);
    }
}

/// Losses against a baseline that another session read.
pub(crate) fn check_foreign(shelf: &Shelf, faults: &mut Vec<Fault>) {
    let claims =
        |r: &Row| r.claim.is_some_and(|c| c.stated_loss.is_some() || c.stated_loss_percent.is_some());
    if !shelf.evenings.iter().any(|e| e.rows.iter().any(claims)) {
        return;
    }
    let mut own: IdMap<(f64, f64, f64)> = IdMap::default();
    for evening in &shelf.evenings {
        let flows: Vec<f64> =
            evening.rows.iter().filter(|r| r.is(Purpose::Baseline)).filter_map(Row::flow_m3_s).collect();
        let low = flows.iter().copied().fold(f64::INFINITY, f64::min);
        let high = flows.iter().copied().fold(0.0, f64::max);
        if let Some(m) = median(flows) {
            own.insert(evening.session.id, (low, m, high));
        }
    }
    for evening in &shelf.evenings {
        let name = evening.session.name.as_deref().unwrap_or_default();
        let mut at: Vec<usize> = Vec::new();
        let mut named = String::new();
        for (i, row) in evening.rows.iter().enumerate().filter(|(_, r)| claims(r)) {
            if let Some(other) = row.claim.and_then(|c| c.baseline_session.as_deref())
                && !other.trim().eq_ignore_ascii_case(name.trim())
                && !other.trim().is_empty()
            {
                at.push(i);
                named = other.to_owned();
            }
        }
        let stated = evening.session.stated_baseline.as_ref();
        let stated_at =
            |r: &Row| r.claim.and_then(|c| c.stated_baseline.as_ref()).map(|q| q.si).or(stated.map(|q| q.si));
        if at.is_empty()
            && let Some(&(low, _, high)) = own.get(&evening.session.id)
        {
            // Far from its own baselines and equal to those of exactly another session.
            let outside = |b: f64| b < 0.99 * low || b > 1.01 * high;
            let far: Vec<usize> = (0..evening.rows.len())
                .filter(|&i| claims(&evening.rows[i]) && stated_at(&evening.rows[i]).is_some_and(outside))
                .collect();
            if let Some(b) = far.first().and_then(|&i| stated_at(&evening.rows[i]))
                && let Some(other) = shelf.evenings.iter().find(|e| {
                    e.session.id != evening.session.id
                        && own.get(&e.session.id).is_some_and(|(l, _, h)| b >= 0.9995 * l && b <= 1.0005 * h)
                })
            {
                named = other.session.name.clone().unwrap_or_default();
                at = far;
            }
        }
        let Some(&first) = at.first() else { continue };
        let baseline = stated_at(&evening.rows[first]).unwrap_or_default();
        let like = evening.rows[first].flow();
        let detail = Detail::Foreign {
            baseline: Amount::like(baseline, like, Unit::CFM),
            session: named,
            own: own.get(&evening.session.id).map(|(_, m, _)| Amount::like(*m, like, Unit::CFM)),
        };
        let marks = vec![0; evening.rows.len()];
        Desk { shelf, evening, marks, faults }.report_over(
            &at,
            Rule::BaselineForeign,
            "stated_baseline",
            detail,
        );
    }
}
