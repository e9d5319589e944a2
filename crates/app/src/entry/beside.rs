//! What is shown with a row: a part's dimensions, a run's readings.

use super::row::{Shown, shown};
use crate::names::{Names, as_written, for_person};
use airshelf_catalog::ids::fold;
use airshelf_catalog::model::*;
use airshelf_catalog::quantity::si_suffix;
use airshelf_catalog::{Records, Source, Uuid};
use airshelf_units::System;
use std::collections::HashMap;

/// What is shown with a row: a part's dimensions, a run's readings.
pub(super) struct Beside<'a> {
    measurements: HashMap<Uuid, Vec<&'a Measurement>>,
    readings: HashMap<Uuid, Vec<&'a Reading>>,
    kind: EntityKind,
}

impl<'a> Beside<'a> {
    pub(super) fn of(kind: EntityKind, records: &'a Records) -> Self {
        let mut beside = Beside { measurements: HashMap::new(), readings: HashMap::new(), kind };
        if kind == EntityKind::Part {
            let part: HashMap<Uuid, Uuid> =
                records.revisions.iter().filter_map(|r| Some((r.id, r.part?))).collect();
            for measured in &records.measurements {
                if let Some(part) = measured.revision.and_then(|r| part.get(&r)) {
                    beside.measurements.entry(*part).or_default().push(measured);
                }
            }
        }
        if kind == EntityKind::Run {
            for reading in &records.readings {
                beside.readings.entry(reading.run.unwrap_or_default()).or_default().push(reading);
            }
        }
        beside
    }

    pub(super) fn with(&self, mut row: Shown, names: &Names, id: Uuid, system: System) -> Shown {
        if self.kind == EntityKind::Part {
            let mut measurements = Vec::new();
            for measured in self.measurements.get(&id).into_iter().flatten() {
                let (Some(dimension), Some(value)) = (measured.dimension, &measured.value) else { continue };
                let unit_of = value.unit().map(airshelf_units::Unit::dimension);
                let key = format!(
                    "{}_{}",
                    fold(dimension.name()).replace(' ', "_"),
                    unit_of.map_or("si", si_suffix)
                );
                // Several files may have measured it; the first that was kept is the part's own, and all are listed.
                row.json.entry(key.clone()).or_insert_with(|| serde_json::json!(value.si));
                measurements.push(serde_json::json!({
                    "id": measured.id, "dimension": dimension.name(), key: value.si,
                    "written": as_written(value), "source": value.source(),
                }));
                let text = for_person(value, system);
                let source = match value.source() {
                    Some(Source::Stated) => " (stated)",
                    Some(Source::Estimated) => " (estimated)",
                    _ => "",
                };
                row.lines.push((dimension.name().to_owned(), text + source));
            }
            row.json.insert("measurements".into(), measurements.into());
        }
        if self.kind == EntityKind::Run {
            let none = |_, _| None;
            let readings: Vec<Shown> = self
                .readings
                .get(&id)
                .into_iter()
                .flatten()
                .map(|reading| shown(*reading, names, &none, system))
                .collect();
            for reading in &readings {
                row.lines.extend(reading.lines.iter().filter(|(name, _)| name != "run").cloned());
            }
            let list: Vec<_> = readings.into_iter().map(|r| serde_json::Value::Object(r.json)).collect();
            row.json.insert("readings".into(), list.into());
        }
        row
    }
}
