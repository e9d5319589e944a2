//! A revision with its part and its sizes, as drawings and answers about fit need them.

use crate::code::Fault;
use crate::names::for_person;
use crate::shelf::Shelf;
use airshelf_catalog::{Measurement, Part, PartDimension, PartKind, Quantity, Revision, Source, Uuid, Value};
use airshelf_store::PartRows;
use airshelf_units::System;
use std::collections::{BTreeMap, HashSet};

/// Error of a length read with a rule or a caliper by hand, half-width, m. Common practice, no source.
pub(super) const READ_M: f64 = 0.0008;
/// Of one that a seller states. Common practice, no source.
const STATED_M: f64 = 0.0016;
/// Of one that somebody judged by eye. Common practice, no source.
const ESTIMATED_M: f64 = 0.006;
/// Earlier revisions that are asked for what a revision does not say.
const MOST_EARLIER: usize = 20;

/// The revision that no other was made from; of several the last.
pub(super) fn last_of(mut revisions: Vec<Revision>) -> Option<Revision> {
    let made_from: HashSet<Uuid> = revisions.iter().filter_map(|r| r.previous).collect();
    revisions.sort_by(|a, b| (&a.revised, a.id).cmp(&(&b.revised, b.id)));
    revisions.iter().rev().find(|r| !made_from.contains(&r.id)).or(revisions.last()).cloned()
}

/// A size with the revision that it was taken of.
#[derive(Clone, Debug)]
pub(super) struct Size {
    /// The revision that it was taken of.
    pub revision: Uuid,
    /// The value.
    pub value: Quantity,
}

impl Size {
    /// Half-width of what is known about a length, m.
    pub fn error_m(&self) -> f64 {
        let stated = self.value.written.as_ref().and_then(|w| w.details.as_ref()?.standard_uncertainty_si);
        stated.map(|u| 2.0 * u).unwrap_or(match self.value.source() {
            Some(Source::Stated) => STATED_M,
            Some(Source::Estimated) => ESTIMATED_M,
            _ => READ_M,
        })
    }
}

/// A revision with what is known of it.
#[derive(Clone, Debug)]
pub(super) struct Known {
    pub revision: Revision,
    pub part: Part,
    pub sizes: BTreeMap<PartDimension, Size>,
}

impl Known {
    /// Reads a revision; what it does not say itself is taken from the revision that it was made from.
    pub fn load(shelf: &Shelf, revision: Uuid) -> Result<Option<Known>, Fault> {
        let Some(own) = shelf.store().get::<Revision>(revision)? else { return Ok(None) };
        let part = match own.part {
            Some(part) => shelf.store().get::<Part>(part)?.unwrap_or_default(),
            None => Part::default(),
        };
        let mut sizes: BTreeMap<PartDimension, Size> = BTreeMap::new();
        let mut at = Some(revision);
        for _ in 0..MOST_EARLIER {
            let Some(id) = at else { break };
            for measured in shelf.store().find_by::<Measurement>("revision", &Value::Id(id))? {
                if let (Some(dimension), Some(value)) = (measured.dimension, measured.value) {
                    // Several files may have measured it; the first that was kept is the part's own.
                    sizes.entry(dimension).or_insert(Size { revision: id, value });
                }
            }
            at = match id == revision {
                true => own.previous,
                false => shelf.store().get::<Revision>(id)?.and_then(|r| r.previous),
            };
        }
        Ok(Some(Known { revision: own, part, sizes }))
    }

    /// The revision that a part stands at, out of rows that were read together.
    pub fn latest(shelf: &Shelf, part: &Part, rows: &PartRows) -> Result<Option<Known>, Fault> {
        let of_part = || rows.revisions.iter().filter(|r| r.part == Some(part.id));
        let Some(own) = last_of(of_part().cloned().collect()) else { return Ok(None) };
        let mut sizes: BTreeMap<PartDimension, Size> = BTreeMap::new();
        let mut at = Some(own.id);
        for _ in 0..MOST_EARLIER {
            let Some(id) = at else { break };
            let Some(revision) = of_part().find(|r| r.id == id) else {
                // It was made from another part's, or from one that is out of sight.
                return Known::load(shelf, own.id);
            };
            for measured in rows.measurements.iter().filter(|m| m.revision == Some(id)) {
                if let (Some(dimension), Some(value)) = (measured.dimension, &measured.value) {
                    sizes.entry(dimension).or_insert_with(|| Size { revision: id, value: value.clone() });
                }
            }
            at = revision.previous;
        }
        Ok(Some(Known { revision: own, part: part.clone(), sizes }))
    }

    pub fn id(&self) -> Uuid {
        self.revision.id
    }

    pub fn kind(&self) -> Option<PartKind> {
        self.part.kind
    }

    /// A size above zero, SI; a drop may be of either sign.
    pub fn si(&self, dimension: PartDimension) -> Option<f64> {
        let si = self.sizes.get(&dimension)?.value.si;
        (si.is_finite() && (si > 0.0 || dimension == PartDimension::Drop)).then_some(si)
    }

    /// Half-width of what is known about a size, m.
    pub fn error_m(&self, dimension: PartDimension) -> f64 {
        self.sizes.get(&dimension).map_or(ESTIMATED_M, Size::error_m)
    }

    /// Its tag, with the revision's letter where it is not the first.
    pub fn name(&self) -> String {
        let name = self.part.tag.as_deref().or(self.part.name.as_deref()).unwrap_or("?");
        match &self.revision.label {
            Some(label) => format!("{name} {label}"),
            None => name.to_owned(),
        }
    }

    /// What people call it, with its tag.
    pub fn label(&self) -> String {
        let name = self.name();
        match self.part.name.as_deref().filter(|_| self.part.tag.is_some()) {
            Some(called) => format!("{name}, {called}"),
            None => name,
        }
    }

    /// A size as a person of that system reads it.
    pub fn said(&self, dimension: PartDimension, system: System) -> Option<String> {
        Some(for_person(&self.sizes.get(&dimension)?.value, system))
    }

    /// Area of the media from its pleats, m²; none where a size is missing or cannot be.
    pub fn media_area_m2(&self) -> Option<f64> {
        let count = self.si(PartDimension::PleatCount).filter(|n| (3.0..=10_000.0).contains(n))?;
        let free = self.si(PartDimension::PleatFreeHeight).or(self.si(PartDimension::Height))?;
        airshelf_flow::geometry::media_area_m2(
            count.round() as u32,
            self.si(PartDimension::PleatDepth)?,
            free,
        )
        .ok()
    }
}
