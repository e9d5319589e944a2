//! Two entries that are one part: everything that speaks of the one speaks of the other from now on.

use crate::code::Fault;
use airshelf_catalog::ids::{assembly, first_revision, fold, pack_layers, unpack_layers};
use airshelf_catalog::records::Visit;
use airshelf_catalog::{
    Alias, Assembly, Entity, EntityKind, Measurement, Part, Records, Revision, Uuid, Value, ValueRef,
};
use airshelf_store::Writer;
use std::collections::HashMap;

/// Fields of a part that are its own, or say where it stands.
const ITS_OWN: [&str; 4] = ["tag", "only_named", "table", "row"];

/// Makes `from` a spelling of `to`.
pub(super) fn unite(w: &mut Writer<'_>, records: &Records, from: &Part, to: &Part) -> Result<(), Fault> {
    let mut instead = HashMap::from([(from.id, to.id)]);
    let revisions: Vec<&Revision> = records.revisions.iter().filter(|r| r.part == Some(from.id)).collect();
    for revision in &revisions {
        instead.insert(revision.id, revision_of(w, records, revision, to)?);
    }
    let mut old = Vec::new();
    for one in &records.assemblies {
        let Some(mut layers) = one.layers.as_deref().and_then(unpack_layers) else { continue };
        let mut any = false;
        for layer in &mut layers {
            if let Some(other) = instead.get(&layer.revision) {
                layer.revision = *other;
                any = true;
            }
        }
        if any {
            let id = assembly(&layers);
            w.create(&Assembly { id, layers: Some(pack_layers(&layers)), ..one.clone() })?;
            old.push((one.id, id));
        }
    }
    instead.extend(old.iter().copied());
    records.visit(&mut Instead { w, records, instead: &instead })?;
    for spelling in [&from.tag, &from.name].into_iter().flatten() {
        let own = [&to.tag, &to.name].into_iter().flatten().any(|name| fold(name) == fold(spelling));
        let known = records
            .aliases
            .iter()
            .any(|a| a.part == Some(to.id) && a.spelling.as_deref().map(fold) == Some(fold(spelling)));
        if !own && !known {
            w.create(&Alias { spelling: Some(spelling.clone()), part: Some(to.id), ..Alias::default() })?;
        }
    }
    for (index, field) in Part::FIELDS.iter().enumerate().filter(|(_, f)| !ITS_OWN.contains(&f.name)) {
        if to.value(index) == ValueRef::Null && from.value(index) != ValueRef::Null {
            w.edit::<Part>(to.id, field.name, from.value(index).to_owned())?;
        }
    }
    for (id, _) in old {
        w.delete::<Assembly>(id)?;
    }
    for revision in revisions {
        w.delete::<Revision>(revision.id)?;
    }
    w.delete::<Part>(from.id)?;
    Ok(())
}

/// The revision of the other part that takes the place of one: the first, or the one with its label.
fn revision_of(w: &mut Writer<'_>, records: &Records, revision: &Revision, to: &Part) -> Result<Uuid, Fault> {
    let first = first_revision(to.id);
    let Some(label) = &revision.label else { return Ok(first) };
    let same = |r: &&Revision| r.part == Some(to.id) && r.label.as_deref().map(fold) == Some(fold(label));
    match records.revisions.iter().find(same) {
        Some(held) => Ok(held.id),
        None => {
            let id = w.fresh_id();
            let new = Revision { id, part: Some(to.id), previous: Some(first), ..revision.clone() };
            Ok(w.create(&new)?)
        }
    }
}

/// Lets every link to one thing lead to the other.
struct Instead<'a, 'w, 'c> {
    w: &'w mut Writer<'c>,
    records: &'a Records,
    instead: &'a HashMap<Uuid, Uuid>,
}

impl<'r> Visit<'r> for Instead<'_, '_, '_> {
    type Error = Fault;

    fn row<E: Entity>(&mut self, row: &'r E) -> Result<(), Fault> {
        // What was decided of an entry was decided of that entry; its revisions go with it.
        if matches!(E::KIND, EntityKind::Decision | EntityKind::Revision) {
            return Ok(());
        }
        for (index, field) in E::FIELDS.iter().enumerate() {
            let ValueRef::Id(link) = row.value(index) else { continue };
            let Some(other) = self.instead.get(&link) else { continue };
            if E::KIND == EntityKind::Measurement && self.is_measured(row.id(), *other) {
                self.w.delete::<E>(row.id())?;
                return Ok(());
            }
            self.w.edit::<E>(row.id(), field.name, Value::Id(*other))?;
        }
        Ok(())
    }
}

impl Instead<'_, '_, '_> {
    /// Whether the other part has the same dimension with the same value.
    fn is_measured(&self, measurement: Uuid, revision: Uuid) -> bool {
        let all = &self.records.measurements;
        let Some(own) = all.iter().find(|m| m.id == measurement) else { return false };
        let si = |m: &Measurement| m.value.as_ref().map(|value| value.si);
        let same = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs(),
            _ => false,
        };
        all.iter()
            .any(|m| m.revision == Some(revision) && m.dimension == own.dimension && same(si(m), si(own)))
    }
}
