//! Evenings that parts and assemblies were in, with what came out: computed for those evenings only.

use crate::audited::blocked;
use crate::code::Fault;
use crate::compare::{self, Asked};
use crate::names::Names;
use crate::report::{AssemblyReport, GroupReport};
use crate::request::{Amount, Interval};
use crate::sentences;
use crate::shelf::Shelf;
use airshelf_catalog::{Records, Uuid};
use airshelf_intake::audit::{Scope as AuditScope, audit};
use airshelf_units::{Digits, Dimension, System, show, usual};
use serde::Serialize;
use std::collections::HashSet;
use ts_rs::TS;

/// An evening at the bench, as far as it concerns what was asked about.
#[derive(Clone, Debug, Serialize, TS)]
pub struct TestedEvening {
    /// Its session.
    pub session: Uuid,
    /// Its name.
    pub name: String,
    /// Its civil date.
    pub date: Option<String>,
    /// Its results.
    pub results: Vec<TestedResult>,
    /// What has no result, and why, in words.
    pub without: Vec<String>,
}

/// A result.
#[derive(Clone, Debug, Serialize, TS)]
pub struct TestedResult {
    /// The assembly.
    pub assembly: Uuid,
    /// Its parts, from the item up.
    pub parts: String,
    /// What stood on the bench.
    pub item: Option<String>,
    /// Under what: `20.0 inH2O, shed bench, 300 CFM`.
    pub under: String,
    /// How it was held and what state its element was in: `fastened, new, 3 fittings`.
    pub how: String,
    /// Loss against the baseline, in percent; none without a baseline.
    pub loss: Option<Interval>,
    /// The loss's interval in words, such as `1.9 to 2.7 %`.
    pub interval: Option<String>,
    /// Flow at the set pressure.
    pub flow: Amount,
    /// The loss as a flow: `5.8 CFM less`.
    pub loss_flow: Option<String>,
    /// Its place that evening, such as `2 of 8`.
    pub place: Option<String>,
    /// Why it has none, or what marks it, in words.
    pub mark: Option<&'static str>,
}

/// The evenings that a part was in, the latest first.
pub(super) fn with_part(shelf: &Shelf, part: Uuid) -> Result<Vec<TestedEvening>, Fault> {
    let mut evenings = Vec::new();
    for session in shelf.store().sessions_with_part(part)? {
        evenings.extend(evening(shelf, session, &|names, assembly| {
            names.layers(assembly).iter().any(|r| names.part_of(*r).is_some_and(|p| p.id == part))
        })?);
    }
    latest_first(&mut evenings);
    Ok(evenings)
}

/// The evenings that an assembly was in, the latest first.
pub(super) fn with_assembly(shelf: &Shelf, assembly: Uuid) -> Result<Vec<TestedEvening>, Fault> {
    let mut evenings = Vec::new();
    for session in shelf.store().sessions_with_assembly(assembly)? {
        evenings.extend(evening(shelf, session, &|_, id| id == assembly)?);
    }
    latest_first(&mut evenings);
    Ok(evenings)
}

fn latest_first(evenings: &mut [TestedEvening]) {
    evenings.sort_by(|a, b| (&b.date, &b.name, b.session).cmp(&(&a.date, &a.name, a.session)));
}

fn evening(
    shelf: &Shelf,
    session: Uuid,
    concerns: &dyn Fn(&Names, Uuid) -> bool,
) -> Result<Option<TestedEvening>, Fault> {
    let records = shelf.store().evening(session)?;
    let system = shelf.system();
    let faults = audit(&records, &AuditScope { tables: None, limits: shelf.limits() });
    let asked =
        Asked { sessions: Some(std::slice::from_ref(&session)), system: Some(system), ..Asked::default() };
    let compared = compare::compare(&records, &blocked(&faults), &asked)?;
    let Some(report) = compared.sessions.into_iter().next() else { return Ok(None) };
    let names = Names::of(&records);
    let mut results = Vec::new();
    for group in &report.groups {
        let of = group.assemblies.iter().filter(|a| a.placed).count();
        for assembly in group.assemblies.iter().filter(|a| concerns(&names, a.id)) {
            results.push(result(group, assembly, of, system));
        }
    }
    let without = left_out(&records, &names, session, &report, concerns);
    Ok(Some(TestedEvening { session, name: report.name, date: report.date, results, without }))
}

fn left_out(
    records: &Records,
    names: &Names,
    session: Uuid,
    report: &crate::report::SessionReport,
    concerns: &dyn Fn(&Names, Uuid) -> bool,
) -> Vec<String> {
    let ours: HashSet<Uuid> = records
        .runs
        .iter()
        .filter(|r| r.session == Some(session) && r.assembly.is_some_and(|a| concerns(names, a)))
        .map(|r| r.id)
        .collect();
    let left = report.left_out.iter().filter(|left| ours.contains(&left.run));
    left.map(|left| match left.order {
        Some(order) => format!("run {order}, {}: left out ({})", left.what, left.why),
        None => format!("{}: left out ({})", left.what, left.why),
    })
    .collect()
}

fn result(group: &GroupReport, of: &AssemblyReport, placed: usize, system: System) -> TestedResult {
    let percent = |x: f64| Amount::percent(x / 100.0, 1);
    let flow = |si: f64, digits| show(si, usual(Dimension::Flow, system), digits);
    let loss = of.loss_percent.map(|loss| Interval {
        value: percent(loss),
        low: of.loss_low_percent.map(percent),
        high: of.loss_high_percent.map(percent),
    });
    let interval = of
        .loss_low_percent
        .zip(of.loss_high_percent)
        .map(|(low, high)| format!("{low:.1} to {high:.1} %").replace('-', "−"));
    let pressure =
        group.set_pressure_pa.map(|pa| show(pa, usual(Dimension::Pressure, system), Digits::Significant(3)));
    let direction = (group.direction != "intake").then(|| group.direction.to_owned());
    let under = [pressure, group.range.clone(), direction].into_iter().flatten().collect::<Vec<_>>();
    let fittings = match of.fittings {
        1 => "1 fitting".to_owned(),
        n => format!("{n} fittings"),
    };
    let how = [of.restraint, of.service].into_iter().flatten().map(str::to_owned).chain([fittings]);
    let how: Vec<String> = how.collect();
    TestedResult {
        assembly: of.id,
        parts: of.parts.join(" + "),
        item: group.item.clone(),
        under: if under.is_empty() { "no test pressure stated".into() } else { under.join(", ") },
        how: how.join(", "),
        loss,
        interval,
        flow: Amount::of(of.flow_m3_s, Dimension::Flow, system, Digits::Significant(4)),
        loss_flow: of.loss_m3_s.map(|loss| {
            let word = if loss < 0.0 { "more" } else { "less" };
            format!("{} {word}", flow(loss.abs(), Digits::Significant(2)))
        }),
        place: of.place.filter(|_| of.placed).map(|place| format!("{place} of {placed}")),
        mark: of.why_not.map(sentences::why_not),
    }
}
