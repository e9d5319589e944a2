//! What people call things: tags of parts, names of assemblies, places in files.

use airshelf_catalog::{Assembly, Part, PartKind, Quantity, Records, Revision, Uuid, ids};
use airshelf_units::{Digits, System, in_system, show};
use std::collections::HashMap;

/// Looks names up in a set of records.
pub struct Names<'a> {
    parts: HashMap<Uuid, &'a Part>,
    revisions: HashMap<Uuid, &'a Revision>,
    assemblies: HashMap<Uuid, &'a Assembly>,
}

impl<'a> Names<'a> {
    /// Indexes the records.
    pub fn of(records: &'a Records) -> Self {
        Names {
            parts: records.parts.iter().map(|p| (p.id, p)).collect(),
            revisions: records.revisions.iter().map(|r| (r.id, r)).collect(),
            assemblies: records.assemblies.iter().map(|a| (a.id, a)).collect(),
        }
    }

    /// The part of a revision.
    pub fn part_of(&self, revision: Uuid) -> Option<&'a Part> {
        self.parts.get(&self.revisions.get(&revision)?.part?).copied()
    }

    /// The tag of a revision, with its letter where it is not the first; else its name.
    pub fn revision(&self, revision: Uuid) -> String {
        let Some(part) = self.part_of(revision) else { return "?".into() };
        let name = part.tag.as_deref().or(part.name.as_deref()).unwrap_or("?");
        match self.revisions.get(&revision).and_then(|r| r.label.as_deref()) {
            Some(label) => format!("{name} {label}"),
            None => name.to_owned(),
        }
    }

    /// The revisions of an assembly, from the item up.
    pub fn layers(&self, assembly: Uuid) -> Vec<Uuid> {
        self.assemblies
            .get(&assembly)
            .and_then(|a| ids::unpack_layers(a.layers.as_deref()?))
            .map(|layers| layers.into_iter().map(|l| l.revision).collect())
            .unwrap_or_default()
    }

    /// The tags of an assembly's parts, from the item up.
    pub fn parts(&self, assembly: Uuid) -> Vec<String> {
        self.layers(assembly).into_iter().map(|r| self.revision(r)).collect()
    }

    /// The assembly in one line: its own name, else its parts.
    pub fn assembly(&self, assembly: Option<Uuid>) -> String {
        let Some(id) = assembly else { return "bare".into() };
        if let Some(name) = self.assemblies.get(&id).and_then(|a| a.name.as_deref()) {
            return name.to_owned();
        }
        let parts = self.parts(id);
        if parts.is_empty() { "?".into() } else { parts.join(" + ") }
    }

    /// The revision of an assembly's layer of that kind.
    pub fn layer(&self, assembly: Uuid, kind: PartKind) -> Option<Uuid> {
        self.layers(assembly).into_iter().find(|r| self.part_of(*r).is_some_and(|p| p.kind == Some(kind)))
    }
}

/// A quantity as it was written, with its unit where the text has none of its own.
pub fn as_written(quantity: &Quantity) -> Option<String> {
    let written = quantity.written.as_ref()?;
    let raw = written.raw.trim();
    let bare = raw.chars().all(|c| c.is_numeric() || c.is_whitespace() || "+-.,/⁄−".contains(c));
    let unit = if bare { written.unit.shown() } else { "" };
    Some(format!("{raw} {unit}").trim_end().to_owned())
}

/// A quantity for a person: as written where that is in the person's units, else converted.
pub fn for_person(quantity: &Quantity, system: System) -> String {
    match (quantity.unit(), as_written(quantity)) {
        (Some(unit), Some(text)) if in_system(unit, system) == unit => text,
        (Some(unit), _) => show(quantity.si, in_system(unit, system), Digits::Significant(5)),
        (None, _) => quantity.si.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use airshelf_units::Unit;

    #[test]
    fn a_barometer_stays_one_in_either_system() {
        let read = |si, raw, unit| Quantity::read(si, raw, unit);
        let mercury = read(98_882.6, "29.2", Unit::IN_HG);
        assert_eq!(for_person(&mercury, System::Us), "29.2 inHg");
        assert_eq!(for_person(&mercury, System::Si), "988.83 hPa");
        let metric = read(98_800.0, "988", Unit::HPA);
        assert_eq!(for_person(&metric, System::Si), "988 hPa");
        assert_eq!(for_person(&metric, System::Us), "29.176 inHg");
        assert_eq!(for_person(&read(0.285_75, "11-1/4", Unit::INCH), System::Us), "11-1/4 in");
    }
}
