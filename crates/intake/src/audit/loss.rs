//! Losses as a page states them: their sum with the flow, their sign, percent for flow.

use super::desk::Desk;
use super::fault::{Amount, Detail, Repair};
use super::misread::{median, number, step_si};
use super::rule::Rule;
use super::shelf::Row;
use airshelf_catalog::{PartKind, Purpose, Quantity, TableKind};
use airshelf_units::Unit;

/// Rounding in the chain from readings to a stated loss, in steps of the last digit of each number.
const STEPS: f64 = 1.5;

pub(crate) fn check(desk: &mut Desk) {
    if desk
        .rows()
        .iter()
        .all(|r| r.claim.is_none_or(|c| c.stated_loss.is_none() && c.stated_loss_percent.is_none()))
    {
        return;
    }
    with_flows(desk);
    percents(desk);
    signs_without_flows(desk);
}

fn baseline<'a>(desk: &Desk<'_, 'a>, row: &Row<'a>) -> Option<&'a Quantity> {
    let own = row.claim.and_then(|c| c.stated_baseline.as_ref());
    own.or(desk.evening.session.stated_baseline.as_ref()).filter(|b| b.si > 0.0)
}

/// The flows that a loss may have been taken from, the most reduced first.
fn flows<'a>(row: &Row<'a>) -> [Option<&'a Quantity>; 4] {
    let of = |pick: fn(&airshelf_catalog::Claim) -> Option<&Quantity>| row.claim.and_then(pick);
    [
        of(|c| c.flow_at_reference_air.as_ref()),
        of(|c| c.flow_at_set_pressure.as_ref()),
        of(|c| c.net_flow.as_ref()),
        row.flow(),
    ]
}

/// The finest step of the last digit that a field shows anywhere in the session: `260` beside `260.4` is `260.0`.
fn finest<'a>(rows: &[Row<'a>], pick: impl Fn(&Row<'a>) -> Option<&'a Quantity>) -> f64 {
    rows.iter().filter_map(|r| pick(r).and_then(step_si)).fold(f64::INFINITY, f64::min)
}

fn or_zero(step: f64) -> f64 {
    if step.is_finite() { step } else { 0.0 }
}

struct Checked<'a> {
    row: usize,
    loss: &'a Quantity,
    baseline_si: f64,
    flows: [Option<&'a Quantity>; 4],
}

fn with_flows(desk: &mut Desk) {
    let rows = desk.rows();
    let checked: Vec<Checked> = rows
        .iter()
        .enumerate()
        .filter(|(_, r)| !r.is(Purpose::Baseline) && !r.is_leakage() && r.flow().is_some())
        .filter_map(|(i, r)| {
            Some(Checked { row: i, loss: r.loss()?, baseline_si: baseline(desk, r)?.si, flows: flows(r) })
        })
        .collect();
    if checked.is_empty() {
        return own_baselines(desk);
    }
    let step = [finest(rows, |r| r.flow()), finest(rows, Row::loss), finest(rows, |r| baseline(desk, r))];
    let tolerance =
        (STEPS * step.into_iter().map(or_zero).sum::<f64>()).max(Unit::CFM.to_si(0.15)) * (1.0 + 1e-9);
    let differences = |c: &Checked| c.flows.map(|f| f.map(|f| c.baseline_si - f.si));
    let fits = |a: f64, b: f64| (a - b).abs() <= tolerance;

    // What the sheet as a whole writes for a loss decides the sign; what most rows fit decides the flow.
    let mut votes = 0_i64;
    let mut uses = [0_usize; 4];
    for c in &checked {
        for (k, d) in differences(c).iter().enumerate().filter_map(|(k, d)| Some((k, (*d)?))) {
            uses[k] += usize::from(fits(c.loss.si.abs(), d.abs()));
        }
        if let Some(d) = differences(c).into_iter().flatten().next().filter(|d| d.abs() > tolerance) {
            votes += if (c.loss.si > 0.0) == (d > 0.0) { 1 } else { -1 };
        }
    }
    let sign = if votes < 0 { -1.0 } else { 1.0 };
    for c in &checked {
        let loss = sign * c.loss.si;
        let each: Vec<f64> = differences(c).into_iter().flatten().collect();
        if each.iter().any(|d| fits(loss, *d)) || desk.has_any(c.row, &[Rule::OverRange, Rule::BlankAsZero]) {
            continue;
        }
        let used =
            (0..4).filter(|&k| c.flows[k].is_some()).max_by_key(|&k| uses[k]).expect("the row has a flow");
        let flow = c.flows[used].expect("chosen among the flows present");
        let right = c.baseline_si - flow.si;
        let shown = |si| Amount::like(si, Some(c.loss), Unit::CFM);
        let in_flow = |si| Amount::like(si, Some(flow), Unit::CFM);
        let written = number(c.loss).unwrap_or(0.0);
        let unit_step = step_si(c.loss).zip(c.loss.unit()).map_or(0.1, |(s, u)| s / u.factor());
        let percent = each
            .iter()
            .copied()
            .find(|d| (written.abs() - 100.0 * d.abs() / c.baseline_si).abs() <= 1.01 * unit_step);
        let repair = |to| Repair::Set { field: "stated_loss".into(), to: vec![to] };
        let field = "stated_loss";
        if let Some(d) = percent {
            let detail =
                Detail::Percent { number: written, loss: shown(d), baseline: in_flow(c.baseline_si) };
            desk.report(c.row, Rule::PercentAsFlow, field, detail).repaired(repair(shown(sign * d)));
        } else if each.iter().any(|d| {
            (loss < 0.0) != (*d < 0.0) && (loss.abs() - d.abs()).abs() <= tolerance.max(0.1 * d.abs())
        }) {
            let detail = Detail::Sign { loss: shown(c.loss.si), flow_below_baseline: Some(right > 0.0) };
            desk.report(c.row, Rule::SignMixed, field, detail).repaired(repair(shown(-c.loss.si)));
        } else if !desk
            .has_any(c.row, &[Rule::ThrottleLeakSubtracted, Rule::DoubleCorrection, Rule::LeakOneSided])
        {
            let detail = Detail::Sum {
                flow: in_flow(flow.si),
                loss: shown(c.loss.si),
                baseline: in_flow(c.baseline_si),
                right_loss: shown(sign * right),
            };
            desk.report(c.row, Rule::LossArithmetic, field, detail).repaired(repair(shown(sign * right)));
        }
    }
}

/// A page that states no baseline took its losses from its own baseline runs; only a loss far from all of them is wrong.
fn own_baselines(desk: &mut Desk) {
    let rows = desk.rows();
    let own: Vec<f64> = rows.iter().filter(|r| r.is(Purpose::Baseline)).filter_map(Row::flow_m3_s).collect();
    let (Some(middle), low, high) = (
        median(own.clone()),
        own.iter().copied().fold(f64::INFINITY, f64::min),
        own.iter().copied().fold(0.0, f64::max),
    ) else {
        return;
    };
    let all: Vec<f64> = rows.iter().filter_map(|r| r.loss()).map(|l| l.si).collect();
    let sign = if all.iter().filter(|l| **l < 0.0).count() * 2 > all.len() { -1.0 } else { 1.0 };
    for (i, row) in rows.iter().enumerate() {
        let (Some(loss), Some(flow)) = (row.loss(), row.flow()) else { continue };
        if row.is(Purpose::Baseline)
            || !desk.sound(i)
            || row.claim.is_some_and(|c| c.baseline_session.is_some())
        {
            continue;
        }
        let slack = 0.01 * middle;
        let right = middle - flow.si;
        let shown = |si| Amount::like(si, Some(loss), Unit::CFM);
        let written = number(loss).unwrap_or(0.0);
        if (low - flow.si - slack..=high - flow.si + slack).contains(&(sign * loss.si)) {
            // The page's loss is near the percentage only by chance when it is near the loss as well.
            continue;
        }
        let baseline = Amount::like(middle, Some(flow), Unit::CFM);
        let to = shown(sign * right);
        let repair = Repair::Set { field: "stated_loss".into(), to: vec![to] };
        let is_turned = (loss.si.abs() - right.abs()).abs() <= slack && sign * loss.si < 0.0 && right > slack;
        if is_turned {
            let detail = Detail::Sign { loss: shown(loss.si), flow_below_baseline: Some(true) };
            desk.report(i, Rule::SignMixed, "stated_loss", detail).repaired(repair);
        } else if (written.abs() - 100.0 * right.abs() / middle).abs() <= 0.25 {
            let detail = Detail::Percent { number: written, loss: shown(right), baseline };
            desk.report(i, Rule::PercentAsFlow, "stated_loss", detail).repaired(repair);
        } else {
            let flow = Amount::like(flow.si, Some(flow), Unit::CFM);
            let detail = Detail::Sum { flow, loss: shown(loss.si), baseline, right_loss: to };
            desk.report(i, Rule::LossArithmetic, "stated_loss", detail).repaired(repair);
        }
    }
}

fn percents(desk: &mut Desk) {
    let rows = desk.rows();
    let percent = |r: &Row<'_>| r.claim.and_then(|c| c.stated_loss_percent.as_ref()).map(|q| q.si);
    let signed: Vec<(usize, f64, f64, Vec<f64>)> = rows
        .iter()
        .enumerate()
        .filter(|(_, r)| !r.is(Purpose::Baseline) && !r.is_leakage())
        .filter_map(|(i, r)| {
            let base = baseline(desk, r)?.si;
            let each: Vec<f64> = flows(r).into_iter().flatten().map(|f| (base - f.si) / base).collect();
            (!each.is_empty()).then_some((i, percent(r)?, base, each))
        })
        .collect();
    let agree = signed.iter().filter(|(_, p, _, d)| (*p > 0.0) == (d[0] > 0.0)).count();
    let sign = if 2 * agree < signed.len() { -1.0 } else { 1.0 };
    for (i, stated, base, each) in signed {
        if desk.has_any(i, &[Rule::PercentAsFlow, Rule::SignMixed, Rule::LossArithmetic, Rule::OverRange]) {
            continue;
        }
        let quantity = rows[i].claim.and_then(|c| c.stated_loss_percent.as_ref());
        let step = quantity.and_then(step_si).unwrap_or(1e-3);
        let flow_step = or_zero(finest(&rows[i..=i], |r| r.flow()))
            + or_zero(finest(&rows[i..=i], |r| baseline(desk, r)));
        let tolerance = STEPS * (step + flow_step / base);
        if each.iter().any(|d| (sign * stated - d).abs() <= tolerance) {
            continue;
        }
        let field = "stated_loss_percent";
        let flip = each.iter().any(|d| (sign * stated + d).abs() <= tolerance);
        let last = *each.last().expect("the row has a flow");
        if flip {
            let loss = Amount::new(stated, Unit::PERCENT);
            let detail = Detail::Sign { loss, flow_below_baseline: Some(last > 0.0) };
            desk.report(i, Rule::SignMixed, field, detail);
        } else if !desk
            .has_any(i, &[Rule::ThrottleLeakSubtracted, Rule::DoubleCorrection, Rule::LeakOneSided])
        {
            let like = rows[i].flow();
            let detail = Detail::PercentSum {
                flow: Amount::like(base * (1.0 - last), like, Unit::CFM),
                percent: 100.0 * stated,
                baseline: Amount::like(base, like, Unit::CFM),
                right_percent: 100.0 * sign * last,
            };
            desk.report(i, Rule::LossArithmetic, field, detail);
        }
    }
}

/// Losses without flows: the one whose sign differs, where the other sign fits its neighbors.
fn signs_without_flows(desk: &mut Desk) {
    let rows = desk.rows();
    let bare: Vec<usize> = (0..rows.len())
        .filter(|&i| rows[i].flow().is_none() && rows[i].loss().is_some_and(|l| l.si != 0.0))
        .collect();
    let value = |i: usize| rows[i].loss().map_or(0.0, |l| l.si);
    let negative = bare.iter().filter(|&&i| value(i) < 0.0).count();
    if negative == 0 || negative == bare.len() || bare.len() < 3 {
        return;
    }
    let sign = if 2 * negative > bare.len() { -1.0 } else { 1.0 };
    let good: Vec<usize> = bare.iter().copied().filter(|&i| sign * value(i) > 0.0).collect();
    for &i in bare.iter().filter(|&&i| sign * value(i) < 0.0) {
        let flipped = -sign * value(i);
        let fits = match desk.evening.kind {
            Some(TableKind::Winners) => in_its_place(rows, &good, i, sign, flipped),
            Some(TableKind::Matrix) => expected(desk, &good, i, sign).is_some_and(|e| {
                (flipped - e).abs() <= 0.5 * e.abs() && (flipped - e).abs() < (flipped + e).abs()
            }),
            _ => in_its_place(rows, &good, i, sign, flipped),
        };
        if fits {
            let loss = Amount::like(value(i), rows[i].loss(), Unit::CFM);
            let right = Amount::new(-value(i), loss.unit);
            desk.report(i, Rule::SignMixed, "stated_loss", Detail::Sign { loss, flow_below_baseline: None })
                .repaired(Repair::Set { field: "stated_loss".into(), to: vec![right] });
        }
    }
}

/// Whether a loss without its sign stands where its place says, and with its sign does not.
fn in_its_place(rows: &[Row], good: &[usize], i: usize, sign: f64, flipped: f64) -> bool {
    let place = |i: usize| rows[i].claim.and_then(|c| c.place);
    let loss = |j: usize| sign * rows[j].loss().map_or(0.0, |l| l.si);
    let Some(own) = place(i) else {
        let least = good.iter().map(|&j| loss(j)).fold(f64::INFINITY, f64::min);
        let most = good.iter().map(|&j| loss(j)).fold(0.0, f64::max);
        return (0.7 * least..=1.3 * most).contains(&flipped);
    };
    let before =
        good.iter().filter(|&&j| place(j).is_some_and(|p| p < own)).map(|&j| loss(j)).reduce(f64::max);
    let after =
        good.iter().filter(|&&j| place(j).is_some_and(|p| p > own)).map(|&j| loss(j)).reduce(f64::min);
    let slack = 0.1 * flipped;
    before.is_some_and(|b| flipped >= b - slack) && after.is_none_or(|a| flipped <= a + slack)
}

/// What a cell should hold by its row and column: the other cells of its filter and of its lid.
fn expected(desk: &Desk, good: &[usize], i: usize, sign: f64) -> Option<f64> {
    let rows = desk.rows();
    let of = |kind| {
        let own = desk.shelf.layer(&rows[i], kind)?.part.id;
        let same = |j: &&usize| desk.shelf.layer(&rows[**j], kind).is_some_and(|p| p.part.id == own);
        median(good.iter().filter(same).map(|&j| sign * rows[j].loss().map_or(0.0, |l| l.si)).collect())
    };
    let all = median(good.iter().map(|&j| sign * rows[j].loss().map_or(0.0, |l| l.si)).collect())?;
    match (of(PartKind::Filter), of(PartKind::Lid)) {
        (Some(filter), Some(lid)) => Some((filter + lid - all).max(0.2 * all)),
        (one, other) => one.or(other).or(Some(all)),
    }
}
