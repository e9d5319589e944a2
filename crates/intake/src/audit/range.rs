//! Flow against the range in use.

use super::desk::Desk;
use super::fault::{Amount, Detail, Repair};
use super::misread::{median, one_slip};
use super::rule::Rule;
use airshelf_units::Unit;

/// Above this share of the range a meter is at its end.
const NEAR: f64 = 0.95;

pub(crate) fn check(desk: &mut Desk) {
    let rows = desk.rows();
    for (i, row) in rows.iter().enumerate() {
        let (Some(flow), Some(range)) = (row.flow(), row.range_m3_s.filter(|r| *r > 0.0)) else { continue };
        let share = flow.si / range;
        let shown = Amount::like(flow.si, Some(flow), Unit::CFM);
        let detail = Detail::Range { flow: shown, range: Amount::new(range, shown.unit) };
        if share > 1.0 + 1e-9 {
            let repeats: Vec<f64> = rows
                .iter()
                .enumerate()
                .filter(|(j, r)| *j != i && r.assembly == row.assembly && r.run.purpose == row.run.purpose)
                .filter_map(|(_, r)| r.flow_m3_s().filter(|f| *f <= range))
                .collect();
            // Without a repeat, what the session's other tests flow narrows it down, but less.
            let (near, tolerance) = match median(repeats) {
                Some(m) => (Some(m), 0.02),
                None => (
                    median(rows.iter().filter(|r| r.is_test()).filter_map(|r| r.flow_m3_s()).collect()),
                    0.08,
                ),
            };
            let slip = near.and_then(|m| one_slip(flow, m, tolerance)).filter(|s| s.si <= range);
            let fault = desk.report(i, Rule::OverRange, "flow", detail);
            if let Some(to) = slip {
                fault.repaired(Repair::Set { field: "flow".into(), to: vec![to] });
            }
        } else if share > NEAR + 1e-9 {
            desk.report(i, Rule::NearRange, "flow", detail);
        }
    }
}
