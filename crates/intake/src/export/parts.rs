//! The canonical sheet of parts.

use super::{Cells, Column, ExportError, write};
use airshelf_catalog::ids::first_revision;
use airshelf_catalog::{Measurement, Part, PartDimension, PartKind, Records, Service, Uuid};
use airshelf_units::Unit;
use std::collections::HashMap;
use std::io::Write;

/// Writes parts as a canonical sheet, with the dimensions of their first revision.
///
/// Where a dimension was measured twice, the value from the part's own table is written. Parts that only runs name
/// stand here where something was measured of them.
///
/// # Errors
/// [`ExportError`] if `out` cannot be written to.
pub fn parts<W: Write>(records: &Records, out: W) -> Result<(), ExportError> {
    let mut measured: HashMap<(Uuid, PartDimension), &Measurement> = HashMap::new();
    let tables: HashMap<Uuid, Option<Uuid>> =
        records.parts.iter().map(|p| (first_revision(p.id), p.table)).collect();
    for measurement in &records.measurements {
        let (Some(revision), Some(dimension)) = (measurement.revision, measurement.dimension) else {
            continue;
        };
        let own = tables.get(&revision).is_some_and(|t| t.is_some() && *t == measurement.table);
        let held = measured.entry((revision, dimension)).or_insert(measurement);
        let held_own = tables.get(&revision).is_some_and(|t| t.is_some() && *t == held.table);
        if own && !held_own {
            *held = measurement;
        }
    }
    let any_measured = |part: &Part| {
        PartDimension::ALL.iter().any(|d| measured.contains_key(&(first_revision(part.id), *d)))
    };
    let list: Vec<&Part> =
        records.parts.iter().filter(|p| p.only_named != Some(true) || any_measured(p)).collect();

    let text = |name, optional, of: &dyn Fn(&Part) -> Option<&str>| Column {
        name,
        optional,
        cells: Cells::Text(list.iter().map(|p| of(p).unwrap_or_default().to_owned()).collect()),
    };
    let value = |part: &Part, dimension| {
        measured.get(&(first_revision(part.id), dimension)).and_then(|m| m.value.as_ref())
    };
    let size = |name, optional, dimension: PartDimension, unit: Unit| Column {
        name,
        optional,
        cells: Cells::Measured(
            unit.dimension(),
            unit,
            list.iter()
                .map(|p| match (dimension, p.kind) {
                    // A carburetor's OD is its register.
                    (PartDimension::OutsideDiameter, Some(PartKind::Carburetor)) => {
                        value(p, PartDimension::Register).or_else(|| value(p, dimension))
                    }
                    (PartDimension::Register, Some(PartKind::Carburetor)) => None,
                    _ => value(p, dimension),
                })
                .collect(),
        ),
    };
    let columns = vec![
        text("tag", false, &|p| p.tag.as_deref()),
        text("kind", false, &|p| p.kind.map(PartKind::name)),
        text("name", false, &|p| p.name.as_deref()),
        text("maker", false, &|p| p.maker.as_deref()),
        Column {
            name: "price",
            optional: false,
            cells: Cells::Text(list.iter().map(|p| price(p)).collect()),
        },
        text("arrived", false, &|p| p.arrived.as_deref()),
        size("OD", false, PartDimension::OutsideDiameter, Unit::INCH),
        size("ID", false, PartDimension::InsideDiameter, Unit::INCH),
        size("height", false, PartDimension::Height, Unit::INCH),
        size("pleat count", false, PartDimension::PleatCount, Unit::COUNT),
        size("pleat depth", false, PartDimension::PleatDepth, Unit::INCH),
        size("pleat free height", false, PartDimension::PleatFreeHeight, Unit::INCH),
        size("neck bore", false, PartDimension::NeckBore, Unit::INCH),
        size("drop", false, PartDimension::Drop, Unit::INCH),
        size("stud length", false, PartDimension::StudLength, Unit::INCH),
        size("register", true, PartDimension::Register, Unit::INCH),
        size("media area", true, PartDimension::MediaArea, Unit::SQ_IN),
        size("mass", true, PartDimension::Mass, Unit::GRAM),
        text("filtration", false, &|p| p.filtration.as_deref()),
        text("service", false, &|p| p.service.map(Service::name)),
        text("revision", true, &|p| p.revision_label.as_deref()),
        text("revised", true, &|p| p.revised.as_deref()),
        text("status", true, &|p| p.status.map(|s| s.name())),
        text("place", true, &|p| p.place.as_deref()),
        text("source", true, &|p| p.source_note.as_deref()),
        text("photo", true, &|p| p.photo_note.as_deref()),
        text("note", false, &|p| p.note.as_deref()),
    ];
    write(columns, list.len(), out)
}

fn price(part: &Part) -> String {
    let Some(price) = &part.price else { return String::new() };
    if !price.raw.is_empty() && !price.raw.contains(',') {
        return price.raw.clone();
    }
    format!("{} {}", price.amount, price.currency).trim().to_owned()
}
