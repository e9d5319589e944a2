//! Leakage: its pressure, whose it is, and which side it was taken off.

use super::desk::Desk;
use super::fault::{Amount, Detail, Repair};
use super::misread::{median, step_si};
use super::rule::Rule;
use super::shelf::Row;
use airshelf_catalog::{Purpose, Quantity};
use airshelf_units::Unit;

pub(crate) fn check(desk: &mut Desk) {
    pressure(desk);
    throttle(desk);
    one_sided(desk);
}

fn read_of(desk: &Desk, purpose: Purpose) -> Option<f64> {
    median(desk.rows().iter().filter(|r| r.is(purpose)).filter_map(Row::flow_m3_s).collect())
}

fn pressure(desk: &mut Desk) {
    let runs_pa = desk.evening.set_pa;
    let runs = runs_pa.map(|p| Amount::like(p, desk.evening.set, Unit::IN_H2O));
    for (i, row) in desk.rows().iter().enumerate() {
        let Some(flow) = row.flow().filter(|_| row.is(Purpose::FixtureLeakage)) else { continue };
        let at = row.set.or(row.actual()).filter(|p| p.si > 0.0);
        let leakage = Amount::like(flow.si, Some(flow), Unit::CFM);
        let away = match (at, runs_pa) {
            (None, _) => !desk.has(i, Rule::BlankAsZero),
            (Some(at), Some(runs)) => (at.si / runs - 1.0).abs() > 0.05,
            _ => false,
        };
        if away {
            let carried = at.zip(runs_pa).map(|(at, runs)| {
                let ratio = runs / at.si;
                (
                    Amount::new(flow.si * ratio, leakage.unit),
                    Amount::new(flow.si * ratio.sqrt(), leakage.unit),
                )
            });
            let at = at.map(|q| Amount::like(q.si, Some(q), Unit::IN_H2O));
            desk.report(i, Rule::LeakPressure, "set_pressure", Detail::Leak { leakage, at, runs, carried });
        }
    }
}

/// What was taken off a reading: the leakage written beside it, else flow less net.
fn taken_off(row: &Row) -> Option<f64> {
    let claim = row.claim?;
    let net = row.flow_m3_s().zip(claim.net_flow.as_ref()).map(|(f, n)| f - n.si);
    claim.leakage.as_ref().map(|l| l.si).or(net)
}

fn written_step(quantity: Option<&Quantity>) -> f64 {
    quantity.and_then(step_si).unwrap_or(Unit::CFM.to_si(0.1))
}

fn throttle(desk: &mut Desk) {
    let Some(throttle) = read_of(desk, Purpose::ClosedThrottleLeakage).or_else(|| shelf_throttle(desk))
    else {
        return;
    };
    let fixture = read_of(desk, Purpose::FixtureLeakage);
    for (i, row) in desk.rows().iter().enumerate() {
        if row.is_leakage() {
            continue;
        }
        let Some(off) = taken_off(row) else { continue };
        let step = written_step(row.claim.and_then(|c| c.leakage.as_ref()).or(row.flow()));
        let near = |x: f64| (off - x).abs() <= 1.5 * step;
        if !near(throttle) || fixture.is_some_and(near) || throttle < 2.0 * step {
            continue;
        }
        let unit = row.flow().and_then(Quantity::unit).unwrap_or(Unit::CFM);
        let right_net = fixture.zip(row.flow_m3_s()).map(|(l, f)| Amount::new(f - l, unit));
        let detail = Detail::ThrottleLeak {
            leakage: Amount::new(off, unit),
            throttle: Amount::new(throttle, unit),
            fixture: fixture.map(|f| Amount::new(f, unit)),
            right_net,
        };
        let field = if row.claim.is_some_and(|c| c.leakage.is_some()) { "leakage" } else { "net_flow" };
        let fault = desk.report(i, Rule::ThrottleLeakSubtracted, field, detail);
        if let Some(to) = right_net {
            fault.repaired(Repair::Set { field: "net_flow".into(), to: vec![to] });
        }
    }
}

/// The item's closed-throttle leakage from other sessions, for a session that read none.
fn shelf_throttle(desk: &Desk) -> Option<f64> {
    let has_leakage =
        desk.rows().iter().any(|r| r.claim.is_some_and(|c| c.leakage.is_some() || c.net_flow.is_some()));
    if !has_leakage {
        return None;
    }
    let item = desk.rows().iter().find_map(|r| r.item)?;
    let pa = desk.evening.set_pa?;
    desk.shelf.throttles.get(&item)?.iter().find(|(p, _)| (p / pa - 1.0).abs() <= 0.05).map(|(_, q)| *q)
}

fn one_sided(desk: &mut Desk) {
    let rows = desk.rows();
    let fixture = read_of(desk, Purpose::FixtureLeakage).or_else(|| {
        median(rows.iter().filter_map(|r| Some(r.claim?.leakage.as_ref()?.si)).filter(|l| *l > 0.0).collect())
    });
    let Some(leak) = fixture.filter(|l| *l > 0.0) else { return };
    let used = |i: &usize| !desk.has(*i, Rule::ThrottleLeakSubtracted);
    let tests: Vec<usize> = (0..rows.len()).filter(|&i| rows[i].is_test()).filter(used).collect();
    let baselines: Vec<usize> =
        (0..rows.len()).filter(|&i| rows[i].is(Purpose::Baseline)).filter(used).collect();
    let (Some(off_tests), Some(off_baselines)) = (side(rows, &tests, leak), side(rows, &baselines, leak))
    else {
        return;
    };
    let detail = |off_tests| Detail::OneSided {
        off_tests,
        leakage: Some(Amount::like(leak, rows.iter().find_map(|r| r.flow()), Unit::CFM)),
    };
    if off_tests != off_baselines {
        let mut both: Vec<usize> = tests.iter().chain(&baselines).copied().collect();
        both.sort_unstable();
        let lacking = if off_tests { &baselines } else { &tests };
        both.retain(|i| *i != lacking[0]);
        both.insert(0, lacking[0]);
        desk.report_over(&both, Rule::LeakOneSided, "net_flow", detail(off_tests));
        return;
    }
    // One row treated unlike all the others of the session.
    for i in tests.into_iter().chain(baselines) {
        if row_side(&rows[i], leak).is_some_and(|s| s != off_tests) {
            desk.report(i, Rule::LeakOneSided, "net_flow", detail(rows[i].is_test() != off_tests));
        }
    }
}

/// Whether leakage was taken off a row; nothing where the row does not say.
fn row_side(row: &Row, leak: f64) -> Option<bool> {
    let claim = row.claim?;
    match (row.flow_m3_s(), claim.net_flow.as_ref()) {
        (Some(flow), Some(net)) => Some(flow - net.si > 0.3 * leak),
        _ => claim.leakage.as_ref().map(|l| l.si > 0.3 * leak),
    }
}

/// Whether leakage was taken off most rows of a side. A side that is blank throughout was left as read, provided that
/// the sheet has a column for it, which the other side shows.
fn side(rows: &[Row], of: &[usize], leak: f64) -> Option<bool> {
    let said: Vec<bool> = of.iter().filter_map(|&i| row_side(&rows[i], leak)).collect();
    if of.is_empty() {
        return None;
    }
    Some(2 * said.iter().filter(|s| **s).count() > said.len())
}
