//! Test pressure: missing, in another unit, other than the session's, off its setting.

use super::desk::Desk;
use super::fault::{Amount, Detail, Repair};
use super::misread::{median, number};
use super::rule::Rule;
use super::shelf::{Evening, Row, Shelf};
use airshelf_catalog::{Purpose, Quantity, Uuid};
use airshelf_units::Unit;

/// Further from the session's pressure than this, a run is at another pressure.
const MIXED: f64 = 0.05;
/// A pressure fits a unit when it comes this near.
const FITS: f64 = 0.02;
/// An actual pressure further from the set pressure than this is off.
const OFF: f64 = 0.01;

const UNITS: [Unit; 7] =
    [Unit::IN_H2O, Unit::IN_HG, Unit::KPA, Unit::MM_H2O, Unit::HPA, Unit::CM_H2O, Unit::PSI];

pub(crate) fn check(desk: &mut Desk) {
    missing(desk);
    if !whole_session_unit(desk) {
        unit(desk);
        mixed(desk);
        off(desk);
    }
}

fn missing(desk: &mut Desk) {
    let rows = desk.rows();
    let without = |r: &Row| r.set.is_none() && r.actual().is_none();
    let asked: Vec<usize> = (0..rows.len()).filter(|&i| !rows[i].is(Purpose::FixtureLeakage)).collect();
    let lacking: Vec<usize> = asked.iter().copied().filter(|&i| without(&rows[i])).collect();
    if lacking.len() > 1 && lacking.len() == asked.len() {
        let detail = Detail::Absent { fields: vec!["test pressure"], whole_page: true };
        desk.report_over(&lacking, Rule::PressureMissing, "", detail);
        return;
    }
    let offered = desk.evening.set.map(|q| Amount::like(q.si, Some(q), Unit::IN_H2O));
    for i in lacking {
        let detail = Detail::Absent { fields: vec!["test pressure"], whole_page: false };
        let fault = desk.report(i, Rule::PressureMissing, "set_pressure", detail);
        if let Some(set) = offered {
            fault.repaired(Repair::Set { field: "set_pressure".into(), to: vec![set] });
        }
    }
}

/// The value of the number in another unit, where that comes within 2 % of `target_pa`.
fn refitted(quantity: &Quantity, target_pa: f64, fits: f64) -> Option<Amount> {
    let (value, unit) = (number(quantity)?, quantity.unit()?);
    UNITS
        .iter()
        .filter(|u| (u.factor() / unit.factor() - 1.0).abs() > MIXED)
        .map(|u| Amount::new(u.to_si(value), *u))
        .filter(|a| (a.si / target_pa - 1.0).abs() <= fits)
        .min_by(|a, b| (a.si - target_pa).abs().total_cmp(&(b.si - target_pa).abs()))
}

fn apart(pressure: Option<&Quantity>, from_pa: f64) -> bool {
    pressure.is_some_and(|p| p.si > 0.0 && (p.si / from_pa - 1.0).abs() > MIXED)
}

fn unit(desk: &mut Desk) {
    let Some(session_pa) = desk.evening.set_pa else { return };
    let session = Amount::like(session_pa, desk.evening.set, Unit::IN_H2O);
    for (i, row) in desk.rows().iter().enumerate() {
        if row.is(Purpose::Sweep) || row.is_leakage() {
            continue;
        }
        let own = row.run.set_pressure.as_ref();
        let found =
            [("set_pressure", own), ("actual_pressure", row.actual())].into_iter().find_map(|(field, q)| {
                let q = q.filter(|q| apart(Some(q), session_pa))?;
                Some((field, q, refitted(q, session_pa, FITS)?))
            });
        let Some((field, quantity, read_as)) = found else { continue };
        let value = Amount::like(quantity.si, Some(quantity), Unit::IN_H2O);
        desk.report(i, Rule::PressureUnit, field, Detail::OtherUnit { value, read_as, fits: session })
            .repaired(Repair::Set { field: field.into(), to: vec![read_as] });
    }
}

/// A whole session written in another unit shows only beside other sessions of the same item: its baseline would need
/// another `k = P/Q²`.
fn whole_session_unit(desk: &mut Desk) -> bool {
    let Some((item, k, _)) = conductance(desk.evening) else { return false };
    // Sorted by k: the middle one, leaving this session out.
    let known = desk.shelf.usual_k.get(&item).map_or(&[][..], Vec::as_slice);
    let first = known.partition_point(|(_, other)| *other < k);
    let own = (first..known.len()).find(|&at| known[at].0 == desk.evening.session.id).unwrap_or(known.len());
    let middle = known.len().saturating_sub(1) / 2;
    let Some(&(_, usual)) = known.get(if middle < own { middle } else { middle + 1 }) else { return false };
    if (k / usual - 1.0).abs() <= 0.25 {
        return false;
    }
    let Some(set) = desk.evening.set else { return false };
    let target_pa = set.si * usual / k;
    let Some(read_as) = refitted(set, target_pa, 2.0 * FITS) else { return false };
    let all: Vec<usize> = (0..desk.rows().len()).filter(|&i| !desk.rows()[i].is_leakage()).collect();
    let value = Amount::like(set.si, Some(set), Unit::IN_H2O);
    let fits = Amount::new(target_pa, read_as.unit);
    desk.report_over(&all, Rule::PressureUnit, "set_pressure", Detail::OtherUnit { value, read_as, fits })
        .repaired(Repair::Set { field: "set_pressure".into(), to: vec![read_as] });
    true
}

/// `k = P/Q²` of a session's bare baselines, with the item and the number of baselines.
pub(crate) fn conductance(evening: &Evening) -> Option<(Uuid, f64, usize)> {
    let set_pa = evening.set_pa?;
    let mut item = None;
    let mut flows = Vec::new();
    for row in evening.rows.iter().filter(|r| r.is(Purpose::Baseline) && r.assembly.is_none()) {
        let near = row.set.is_some_and(|s| (s.si / set_pa - 1.0).abs() <= MIXED);
        if let (true, Some(flow), Some(on)) = (near, row.flow_m3_s().filter(|f| *f > 0.0), row.item) {
            item = Some(on);
            flows.push(flow);
        }
    }
    let n = flows.len();
    Some((item?, set_pa / median(flows)?.powi(2), n))
}

fn mixed(desk: &mut Desk) {
    let Some(session_pa) = desk.evening.set_pa else { return };
    let session = Amount::like(session_pa, desk.evening.set, Unit::IN_H2O);
    let rows = desk.rows();
    // Runs at a second pressure with baselines of their own are a second group, not a mixture.
    let own_group = |pa: f64| {
        let near = |r: &Row| r.set.is_some_and(|s| (s.si / pa - 1.0).abs() <= MIXED);
        rows.iter().any(|r| r.is(Purpose::Baseline) && near(r)) && rows.iter().any(|r| r.is_test() && near(r))
    };
    for (i, row) in rows.iter().enumerate() {
        if row.is(Purpose::Sweep) || row.is_leakage() || desk.has(i, Rule::PressureUnit) {
            continue;
        }
        let (field, pressure) = if apart(row.set, session_pa) {
            if row.set.is_some_and(|s| own_group(s.si)) {
                continue;
            }
            ("set_pressure", row.set)
        } else if apart(row.actual(), session_pa) {
            ("actual_pressure", row.actual())
        } else {
            continue;
        };
        let pressure = Amount::like(pressure.map_or(0.0, |p| p.si), pressure, Unit::IN_H2O);
        desk.report(i, Rule::PressureMixed, field, Detail::OtherPressure { pressure, session })
            .repaired(Repair::Exclude);
    }
}

fn off(desk: &mut Desk) {
    for (i, row) in desk.rows().iter().enumerate() {
        let (Some(set), Some(actual)) = (row.set, row.actual()) else { continue };
        if set.si <= 0.0 || actual.si <= 0.0 || desk.has(i, Rule::PressureUnit) {
            continue;
        }
        let off = actual.si / set.si - 1.0;
        let told = desk.has(i, Rule::PressureMixed) && off.abs() > MIXED;
        if off.abs() > OFF + 1e-6 && !told {
            let detail = Detail::OffSet {
                actual: Amount::like(actual.si, Some(actual), Unit::IN_H2O),
                set: Amount::like(set.si, Some(set), Unit::IN_H2O),
                off,
            };
            desk.report(i, Rule::OffPressure, "actual_pressure", detail);
        }
    }
}

/// `k` of every session by item, for [`whole_session_unit`].
pub(crate) fn usual_k(shelf: &mut Shelf) {
    for evening in &shelf.evenings {
        if let Some((item, k, _)) = conductance(evening) {
            shelf.usual_k.entry(item).or_default().push((evening.session.id, k));
        }
    }
    for known in shelf.usual_k.values_mut() {
        known.sort_unstable_by(|a, b| a.1.total_cmp(&b.1));
    }
}
