//! Whether the assembly can be put together, whether its stud reaches, which way the air went, what state it was in.

use super::dates::longer_stud;
use super::desk::Desk;
use super::fault::{Amount, Detail, Repair};
use super::rule::Rule;
use super::shelf::Row;
use airshelf_catalog::limits::{LOOSE_NECK_M, Limited, Standing};
use airshelf_catalog::{Direction, PartDimension, PartKind, Purpose, Restraint};
use airshelf_units::Unit;

/// Error of a diameter read with a rule, m. Common practice, no source.
const READING_M: f64 = 0.0008;

pub(crate) fn check(desk: &mut Desk) {
    for i in 0..desk.rows().len() {
        direction(desk, i);
        if desk.rows()[i].assembly.is_some() {
            assemble(desk, i);
            stud(desk, i);
        }
    }
    service(desk);
    loose_necks(desk);
}

fn direction(desk: &mut Desk, i: usize) {
    let row = &desk.rows()[i];
    let compared = row.is_test() || row.is(Purpose::Baseline);
    let with_intake = desk.rows().iter().any(|r| r.run.direction == Some(Direction::Intake));
    if row.run.direction == Some(Direction::Exhaust) && compared && (row.assembly.is_some() || with_intake) {
        desk.report(i, Rule::WrongDirection, "direction", Detail::Exhaust).repaired(Repair::Exclude);
    }
}

/// The register that everything sits on: the item's own, else a carburetor's outside diameter.
fn register_m(desk: &Desk, row: &Row) -> Option<f64> {
    let item = desk.shelf.part_of_revision(row.item?)?;
    item.dimension(PartDimension::Register).or_else(|| {
        (item.kind() == Some(PartKind::Carburetor))
            .then(|| item.dimension(PartDimension::OutsideDiameter))
            .flatten()
    })
}

fn adapted(desk: &Desk, row: &Row) -> bool {
    let says = |s: Option<&str>| s.is_some_and(|s| s.to_lowercase().contains("adapter"));
    says(row.run.note.as_deref())
        || desk.shelf.layers(row).iter().any(|&(_, p)| {
            desk.shelf.parts[p].words().contains("adapter")
                || desk.shelf.parts[p].kind() == Some(PartKind::Other)
        })
}

/// Neck less register of each part that has a neck, for parts that sit on the item or on one another.
fn necks(desk: &Desk, row: &Row) -> Vec<(&'static str, String, f64, f64, bool)> {
    let Some(register) = register_m(desk, row) else { return Vec::new() };
    let mut out = Vec::new();
    let mut lowest = true;
    for &(_, p) in desk.shelf.layers(row) {
        let part = &desk.shelf.parts[p];
        if !matches!(part.kind(), Some(PartKind::Base | PartKind::Spacer | PartKind::VelocityStack)) {
            continue;
        }
        if let Some(neck) = part.dimension(PartDimension::NeckBore) {
            out.push((super::desk::layer_field(part.kind()), part.tag(), neck, register, lowest));
        }
        lowest = false;
    }
    out
}

fn assemble(desk: &mut Desk, i: usize) {
    let row = &desk.rows()[i];
    let shelf = desk.shelf;
    for (field, part, neck, register, lowest) in necks(desk, row) {
        let small = neck < register - 1e-5;
        let loose = neck > register + LOOSE_NECK_M + 1e-5 && lowest && !adapted(desk, row);
        if small || loose {
            let detail = Detail::Neck {
                part,
                neck: Amount::new(neck, Unit::INCH),
                register: Amount::new(register, Unit::INCH),
            };
            desk.report(i, Rule::CannotAssemble, field, detail);
            return;
        }
    }
    let Some(element) = shelf.layer(row, PartKind::Filter) else { return };
    let Some(element_m) = element.dimension(PartDimension::OutsideDiameter) else { return };
    for (kind, field) in [(PartKind::Lid, "lid"), (PartKind::Base, "base")] {
        let Some(cover) = shelf.layer(row, kind) else { continue };
        let Some(cover_m) = cover.dimension(PartDimension::OutsideDiameter) else { continue };
        if cover_m < element_m - READING_M {
            let detail = Detail::Cover {
                part: cover.tag(),
                diameter: Amount::new(cover_m, Unit::INCH),
                element: element.tag(),
                element_diameter: Amount::new(element_m, Unit::INCH),
            };
            desk.report(i, Rule::CannotAssemble, field, detail);
            return;
        }
    }
}

fn stud(desk: &mut Desk, i: usize) {
    let row = &desk.rows()[i];
    let shelf = desk.shelf;
    if matches!(row.restraint, Some(Restraint::HandHeld | Restraint::Taped | Restraint::None)) {
        return;
    }
    let own = row.run.stud.and_then(|s| shelf.part_of_revision(s));
    let Some(stud) = own.or_else(|| shelf.layer(row, PartKind::Stud)) else { return };
    let Some(length) = stud.dimension(PartDimension::StudLength) else { return };
    // A base's own thickness is clamped below the seat of the stud's shoulder, so that only its drop counts.
    let mut stands = 0.0;
    for &(_, p) in shelf.layers(row) {
        let part = &shelf.parts[p];
        let height = part.dimension(PartDimension::Height);
        match part.kind() {
            Some(PartKind::Spacer | PartKind::Filter | PartKind::Lid) => stands += height.unwrap_or(0.0),
            Some(PartKind::Base) => stands -= part.dimension(PartDimension::Drop).unwrap_or(0.0),
            _ => {}
        }
    }
    if stands > length + 1e-5 {
        let detail = Detail::Stud {
            stands: Amount::new(stands, Unit::INCH),
            stud: stud.tag(),
            length: Amount::new(length, Unit::INCH),
        };
        let better = longer_stud(shelf, stands, &stud.tag());
        let fault = desk.report(i, Rule::StudShort, "stud", detail);
        if let Some(part) = better {
            fault.repaired(Repair::UsePart { field: "stud".into(), part: part.part.id, tag: part.tag() });
        }
    }
}

fn service(desk: &mut Desk) {
    let rows = desk.rows();
    let filtered: Vec<usize> = (0..rows.len())
        .filter(|&i| rows[i].is_test() && desk.shelf.layer(&rows[i], PartKind::Filter).is_some())
        .collect();
    let unstated: Vec<usize> =
        filtered.iter().copied().filter(|&i| !desk.shelf.service_stated(desk.evening, &rows[i])).collect();
    let detail = |whole_page| Detail::Absent { fields: vec!["state of the element"], whole_page };
    if unstated.len() > 2 && unstated.len() == filtered.len() {
        desk.report_over(&unstated, Rule::ServiceStateMissing, "service", detail(true));
        return;
    }
    for i in unstated {
        desk.report(i, Rule::ServiceStateMissing, "service", detail(false));
    }
}

/// A neck looser than usual is told once for each part of a session.
fn loose_necks(desk: &mut Desk) {
    let mut told: Vec<String> = Vec::new();
    for i in 0..desk.rows().len() {
        if desk.has(i, Rule::CannotAssemble) || desk.rows()[i].assembly.is_none() {
            continue;
        }
        for (field, part, neck, register, lowest) in necks(desk, &desk.rows()[i]) {
            let gap = neck - register;
            if !lowest || told.contains(&part) {
                continue;
            }
            if let Standing::Unusual(limit) = desk.shelf.limits.judge(Limited::RegisterGap, gap) {
                let detail = Detail::Limit {
                    value: Amount::new(gap, Unit::INCH),
                    limit: Amount::new(limit, Unit::INCH),
                    what: "gap between neck and register",
                };
                told.push(part);
                desk.report(i, Rule::Unusual, field, detail);
            }
        }
    }
}
