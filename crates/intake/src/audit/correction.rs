//! Corrections that went in twice.

use super::desk::Desk;
use super::fault::{Amount, Detail, Repair};
use super::misread::{median, step_si};
use super::rule::Rule;
use super::shelf::Row;
use airshelf_catalog::{Claim, Quantity};
use airshelf_units::Unit;

pub(crate) fn check(desk: &mut Desk) {
    at_set_pressure(desk);
    at_reference_air(desk);
}

/// The flows that a correction may start from.
fn starts(row: &Row, more: Option<&Quantity>) -> Vec<f64> {
    let net = row.claim.and_then(|c| c.net_flow.as_ref());
    [row.flow(), net, more].into_iter().flatten().map(|q| q.si).collect()
}

/// The flow corrected once, where `stated` fits the factor squared and not the factor.
fn twice(stated: &Quantity, starts: &[f64], factor: f64) -> Option<f64> {
    let tolerance = 1.5 * step_si(stated).unwrap_or(Unit::CFM.to_si(0.1)) + 1e-4 * stated.si;
    let near = |x: f64| (stated.si - x).abs() <= tolerance;
    if starts.iter().any(|q| near(q * factor) || near(*q)) {
        return None;
    }
    starts
        .iter()
        .map(|q| (q * factor, q * factor * factor))
        .find(|(_, double)| near(*double))
        .map(|(once, _)| once)
}

fn report(desk: &mut Desk, i: usize, field: &'static str, stated: &Quantity, once: f64, factor: f64) {
    let shown = Amount::like(stated.si, Some(stated), Unit::CFM);
    let once = Amount::new(once, shown.unit);
    desk.report(i, Rule::DoubleCorrection, field, Detail::Twice { stated: shown, once, factor })
        .repaired(Repair::Set { field: field.into(), to: vec![once] });
}

fn at_set_pressure(desk: &mut Desk) {
    for (i, row) in desk.rows().iter().enumerate() {
        let Some(stated) = row.claim.and_then(|c| c.flow_at_set_pressure.as_ref()) else { continue };
        let (Some(set), Some(actual)) = (row.set, row.actual()) else { continue };
        if set.si <= 0.0 || actual.si <= 0.0 || desk.has(i, Rule::PressureUnit) {
            continue;
        }
        let factor = (set.si / actual.si).sqrt();
        if let Some(once) = twice(stated, &starts(row, None), factor) {
            report(desk, i, "flow_at_set_pressure", stated, once, factor);
        }
    }
}

fn at_reference_air(desk: &mut Desk) {
    let stated = |c: &Claim| c.flow_at_reference_air.is_some();
    if !desk.rows().iter().any(|r| r.claim.is_some_and(stated)) {
        return;
    }
    // Where no factor is written, what the other rows were multiplied by stands in for it.
    let ratios = desk
        .rows()
        .iter()
        .filter_map(|r| {
            Some(r.claim?.flow_at_reference_air.as_ref()?.si / r.flow_m3_s().filter(|f| *f > 0.0)?)
        })
        .collect();
    let usual = median(ratios);
    for (i, row) in desk.rows().iter().enumerate() {
        let Some(claim) = row.claim else { continue };
        let Some(stated) = claim.flow_at_reference_air.as_ref() else { continue };
        let Some(factor) = claim.air_factor.or(usual) else { continue };
        if let Some(once) = twice(stated, &starts(row, claim.flow_at_set_pressure.as_ref()), factor) {
            report(desk, i, "flow_at_reference_air", stated, once, factor);
        }
    }
}
