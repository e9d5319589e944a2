//! Baselines: what they consist of, whether they enclose the runs, how far they drift.

use super::desk::Desk;
use super::evening::Model;
use super::fault::{Amount, Detail, Repair, Side};
use super::rule::{Rule, Severity};
use super::shelf::Row;
use airshelf_catalog::{BaselineKind, Purpose, Uuid};
use airshelf_units::Unit;

/// Baselines further apart than this, or than so many times the scatter between fittings, have drifted …
const DRIFT: (f64, f64) = (0.005, 3.3);
/// … and further than this, so much that nothing can be compared.
const DRIFT_BLOCKS: (f64, f64) = (0.015, 5.0);

pub(crate) fn check(desk: &mut Desk) {
    undefined(desk);
    unbracketed(desk);
}

fn is_undefined(row: &Row) -> bool {
    match row.run.baseline_kind {
        Some(BaselineKind::Bare) => false,
        Some(BaselineKind::WithBase) | None => row.assembly.is_none(),
        Some(BaselineKind::Unknown) => true,
    }
}

fn undefined(desk: &mut Desk) {
    let rows = desk.rows();
    let baselines: Vec<usize> = (0..rows.len()).filter(|&i| rows[i].is(Purpose::Baseline)).collect();
    for &i in &baselines {
        if is_undefined(&rows[i]) {
            let detail = Detail::Undefined { baseline: None };
            desk.report(i, Rule::BaselineUndefined, "base", detail);
        }
    }
    // Losses alone need to know what they were lost against.
    let session = desk.evening.session;
    let claims =
        |r: &Row| r.claim.is_some_and(|c| c.stated_loss.is_some() || c.stated_loss_percent.is_some());
    let said = matches!(session.stated_baseline_kind, Some(BaselineKind::Bare | BaselineKind::WithBase));
    let losing: Vec<usize> = (0..rows.len()).filter(|&i| claims(&rows[i])).collect();
    if !baselines.is_empty() || said || losing.is_empty() {
        return;
    }
    let stated = session.stated_baseline.as_ref().or_else(|| rows[losing[0]].claim?.stated_baseline.as_ref());
    let baseline = stated.map(|q| Amount::like(q.si, Some(q), Unit::CFM));
    let shelf = desk.shelf;
    let page = shelf.table(rows[losing[0]].run.table).and_then(|t| t.page_entry("stated_baseline"));
    let fault =
        desk.report_over(&losing, Rule::BaselineUndefined, "stated_baseline", Detail::Undefined { baseline });
    if let Some(entry) = page {
        fault.place.row = entry.row.or(fault.place.row);
        fault.place.column = None;
        fault.value = entry.raw.clone();
    }
}

fn unbracketed(desk: &mut Desk) {
    let rows = desk.rows();
    let in_order =
        rows.iter().all(|r| r.run.order_number.is_some()) || rows.iter().all(|r| r.clock_min().is_some());
    if desk.evening.unordered || !in_order {
        return;
    }
    let near = |a: &Row, b: &Row| match (a.set, b.set) {
        (Some(x), Some(y)) => (x.si / y.si - 1.0).abs() <= 0.05,
        _ => true,
    };
    let on_one = |a: &Row, b: &Row| a.item.is_none() || b.item.is_none() || a.item == b.item;
    let baselines: Vec<&Row> = rows.iter().filter(|r| r.is(Purpose::Baseline)).collect();
    let tests: Vec<usize> = (0..rows.len())
        .filter(|&i| rows[i].run.purpose == Some(Purpose::Test) && rows[i].assembly.is_some())
        .filter(|&i| !desk.has(i, Rule::DuplicateRow))
        .collect();
    if baselines.is_empty() {
        // A page that states its baseline, or losses only, has its own rule.
        let stated = desk.evening.session.stated_baseline.is_some()
            || tests.iter().any(|&i| rows[i].claim.is_some_and(|c| c.stated_baseline.is_some()));
        if !stated && !tests.is_empty() && desk.evening.closed {
            desk.report_over(&tests, Rule::Unbracketed, "order", Detail::NoBaseline { side: Side::Both });
        }
        return;
    }
    let mut lacking: [Vec<usize>; 2] = [Vec::new(), Vec::new()];
    for i in tests {
        let row = &rows[i];
        // Runs at a pressure of their own, or on another item, have a rule of their own.
        let mut own = baselines.iter().filter(|b| near(b, row) && on_one(b, row)).peekable();
        if own.peek().is_none() {
            continue;
        }
        let (mut before, mut after) = (false, false);
        for b in own {
            before |= b.t < row.t;
            after |= b.t > row.t;
        }
        if !before {
            lacking[0].push(i);
        }
        if !after && desk.evening.closed {
            lacking[1].push(i);
        }
    }
    for (rows, side) in lacking.iter().zip([Side::Before, Side::After]) {
        if !rows.is_empty() {
            desk.report_over(rows, Rule::Unbracketed, "order", Detail::NoBaseline { side });
        }
    }
}

pub(crate) fn check_drift(desk: &mut Desk, model: &Model) {
    let rows = desk.rows();
    type Key = (Option<Uuid>, Option<Uuid>, Option<Uuid>, i64);
    let mut groups: Vec<(Key, Vec<(usize, f64)>)> = Vec::new();
    for (i, row) in rows.iter().enumerate() {
        if !desk.is_baseline(i) || !desk.sound(i) || desk.has(i, Rule::BaselineUndefined) {
            continue;
        }
        let Some(flow) = row.flow_at_set_m3_s().filter(|f| *f > 0.0) else { continue };
        let base = if row.run.baseline_kind == Some(BaselineKind::Bare) { None } else { row.run.assembly };
        // A twentieth of a decade of pressure is near enough to be one setting.
        let setting = row.set.map_or(0, |s| (libm::log(s.si.max(1.0)) * 20.0).round() as i64);
        let key = (base, row.item, row.range, setting);
        match groups.iter_mut().find(|(k, _)| *k == key) {
            Some((_, at)) => at.push((i, flow)),
            None => groups.push((key, vec![(i, flow)])),
        }
    }
    let scatter = model.scatter.map_or(0.0, |(s, _)| s);
    for (_, at) in groups {
        let Some(&least) = at.iter().min_by(|a, b| a.1.total_cmp(&b.1)) else { continue };
        let Some(&most) = at.iter().max_by(|a, b| a.1.total_cmp(&b.1)) else { continue };
        let spread = most.1 / least.1 - 1.0;
        let allowed = |(share, times): (f64, f64)| share.max(times * scatter);
        if spread <= allowed(DRIFT) {
            continue;
        }
        let blocks = spread > allowed(DRIFT_BLOCKS);
        // The later of the two extremes is where it shows.
        let (shows, _) = if least.0 > most.0 { least } else { most };
        let mut covered: Vec<usize> =
            (0..rows.len()).filter(|&i| !rows[i].is_leakage() && i != shows).collect();
        covered.insert(0, shows);
        let like = rows[shows].flow();
        let detail = Detail::Spread {
            smallest: Amount::like(least.1, like, Unit::CFM),
            largest: Amount::like(most.1, like, Unit::CFM),
            spread,
            allowed: allowed(if blocks { DRIFT_BLOCKS } else { DRIFT }),
        };
        let fault = desk.report_over(&covered, Rule::BaselineDrift, "flow", detail);
        if blocks {
            fault.at(Severity::Block).repaired(Repair::Exclude);
        }
    }
}
