//! What new records need beside them that the shelf does not have: sessions, parts, benches, assemblies.

use airshelf_catalog::ids::unpack_layers;
use airshelf_catalog::records::Gather;
use airshelf_catalog::{
    Assembly, Bench, BenchRange, Entity, EntityKind, Part, Person, Records, Revision, Session, Uuid, Value,
    ValueRef,
};
use std::collections::HashSet;

/// Rows that a row links to.
pub(super) fn links<E: Entity>(row: &E) -> Vec<Uuid> {
    let mut out = Vec::new();
    for index in 0..E::FIELDS.len() {
        match row.value(index) {
            ValueRef::Id(id) => out.push(id),
            ValueRef::Bytes(layers) if E::KIND == EntityKind::Assembly => {
                out.extend(unpack_layers(layers).unwrap_or_default().iter().map(|layer| layer.revision));
            }
            _ => {}
        }
    }
    out
}

/// Gathers what is linked to, link by link.
pub(super) struct Needed<'a> {
    /// What the shelf holds.
    pub shelf: &'a Records,
    /// What was staged.
    pub staged: &'a Records,
    seen: HashSet<Uuid>,
}

impl<'a> Needed<'a> {
    pub fn new(shelf: &'a Records, staged: &'a Records) -> Self {
        Needed { shelf, staged, seen: HashSet::new() }
    }

    /// Puts into `into` what these rows need, and what that needs.
    pub fn gather(&mut self, mut open: Vec<Uuid>, into: &mut Records) {
        while let Some(id) = open.pop() {
            if !self.seen.insert(id) {
                continue;
            }
            self.one::<Session>(id, &mut open, into);
            self.one::<Assembly>(id, &mut open, into);
            self.one::<Revision>(id, &mut open, into);
            self.one::<Part>(id, &mut open, into);
            self.one::<Bench>(id, &mut open, into);
            self.one::<BenchRange>(id, &mut open, into);
            self.one::<Person>(id, &mut open, into);
        }
    }

    fn one<E: Gather>(&self, id: Uuid, open: &mut Vec<Uuid>, into: &mut Records) {
        let held = |rows: &[E]| rows.iter().any(|row| row.id() == id);
        if held(E::gather(self.shelf)) || held(E::gather(into)) {
            return;
        }
        let Some(row) = E::gather(self.staged).iter().find(|row| row.id() == id) else { return };
        open.extend(links(row));
        if E::KIND == EntityKind::Part {
            // A part comes with its revisions.
            let own = self.staged.revisions.iter().filter(|revision| revision.part == Some(id));
            open.extend(own.map(|revision| revision.id));
        }
        E::gather_mut(into).push(row.clone());
    }
}

/// The rows that fields link to.
pub(super) fn linked(fields: &[(u16, Value)]) -> impl Iterator<Item = Uuid> {
    fields.iter().filter_map(|(_, value)| match value {
        Value::Id(id) => Some(*id),
        _ => None,
    })
}
