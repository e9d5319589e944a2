//! Which row a tag, a name or the beginning of an id means.

use super::fields::Resolve;
use crate::code::Fault;
use crate::names::{Names, as_written};
use crate::shelf::only;
use airshelf_catalog::ids::{first_revision, fold};
use airshelf_catalog::model::*;
use airshelf_catalog::records::Gather;
use airshelf_catalog::{Entity, PartDimension, Records, Uuid};

/// Runs the expression with `$entity` as the type of that kind.
macro_rules! of_kind {
    ($kind:expr, $entity:ident => $run:expr) => {
        of_kind!(@ $kind, $entity => $run; Person Part Revision Measurement Alias Photo Listing Assembly Bench BenchRange
            Session Run Reading Claim Rating Prediction ServiceEvent Engine Vehicle Decision ImportFile SheetTable
            SheetRows AlsoAt Quarantined)
    };
    (@ $kind:expr, $entity:ident => $run:expr; $($name:ident)+) => {
        match $kind { $( EntityKind::$name => { type $entity = $name; $run } )+ }
    };
}
pub(super) use of_kind;

/// The rows by which names are looked up.
pub(super) struct Lookup<'a> {
    pub records: &'a Records,
    pub names: Names<'a>,
}

impl Resolve for Lookup<'_> {
    fn row(&self, kind: Option<EntityKind>, text: &str) -> Result<Uuid, Fault> {
        find(self.records, &self.names, kind, text)
    }
}

/// What a row is and what people call it.
pub(crate) fn called(records: &Records, names: &Names, kind: EntityKind, id: Uuid) -> String {
    let what = kind.table().replace('_', " ");
    let of = |kind, id: Option<Uuid>| id.map(|id| called(records, names, kind, id)).unwrap_or_default();
    let named = match kind {
        EntityKind::Measurement => records.measurements.iter().find(|m| m.id == id).map(|m| {
            let dimension = m.dimension.map_or("dimension", PartDimension::name);
            format!("{dimension} of {}", names.revision(m.revision.unwrap_or_default()))
        }),
        EntityKind::Run => records.runs.iter().find(|r| r.id == id).map(|r| {
            let number = r.order_number.map_or(String::new(), |n| format!(" {n}"));
            format!("run{number} of {}", of(EntityKind::Session, r.session))
        }),
        EntityKind::Reading => {
            let reading = records.readings.iter().find(|r| r.id == id);
            reading.map(|r| format!("reading of {}", of(EntityKind::Run, r.run)))
        }
        _ => name_of(records, names, kind, id).map(|name| format!("{what} {name}")),
    };
    named.unwrap_or_else(|| format!("{what} {id}"))
}

/// The name by which people know a row.
pub(super) fn name_of(records: &Records, names: &Names, kind: EntityKind, id: Uuid) -> Option<String> {
    fn named<T>(rows: &[T], id: Uuid, of: impl Fn(&T) -> (Uuid, Option<String>)) -> Option<String> {
        rows.iter().map(of).find(|(row, _)| *row == id).and_then(|(_, name)| name)
    }
    match kind {
        EntityKind::Person => named(&records.persons, id, |r| (r.id, r.name.clone())),
        EntityKind::Part => named(&records.parts, id, |r| (r.id, r.tag.clone().or(r.name.clone()))),
        EntityKind::Revision => Some(names.revision(id)),
        EntityKind::Assembly => Some(names.assembly(Some(id))),
        EntityKind::Bench => named(&records.benches, id, |r| (r.id, r.name.clone())),
        EntityKind::BenchRange => named(&records.bench_ranges, id, |r| {
            let scale = r.full_scale.as_ref().and_then(as_written);
            (r.id, scale)
        }),
        EntityKind::Session => named(&records.sessions, id, |r| (r.id, r.name.clone())),
        EntityKind::Engine => named(&records.engines, id, |r| (r.id, r.name.clone())),
        EntityKind::Vehicle => named(&records.vehicles, id, |r| (r.id, r.name.clone())),
        EntityKind::ImportFile => named(&records.import_files, id, |r| (r.id, r.name.clone())),
        EntityKind::SheetTable => named(&records.sheet_tables, id, |r| {
            (r.id, r.file.and_then(|f| name_of(records, names, EntityKind::ImportFile, f)))
        }),
        _ => None,
    }
}

/// The row of a kind (or of any) that a tag, a name or the beginning of an id means.
pub(super) fn find(
    records: &Records,
    names: &Names,
    kind: Option<EntityKind>,
    text: &str,
) -> Result<Uuid, Fault> {
    let wanted = fold(text);
    let mut found = Vec::new();
    for kind in kind.map_or(EntityKind::ALL.to_vec(), |k| vec![k]) {
        let before = found.len();
        if kind == EntityKind::Revision {
            found.extend(
                records.revisions.iter().map(|r| r.id).filter(|id| fold(&names.revision(*id)) == wanted),
            );
            if found.len() == before {
                found.extend(alias(records, &wanted).map(first_revision));
            }
            if found.len() == before && wanted.len() >= 4 {
                let ids = records.revisions.iter().map(|r| r.id);
                found.extend(ids.filter(|id| id.to_string().starts_with(&wanted)));
            }
            continue;
        }
        let ids: Vec<Uuid> = of_kind!(kind, E => E::gather(records).iter().map(Entity::id).collect());
        found.extend(
            ids.iter().filter(|id| name_of(records, names, kind, **id).is_some_and(|n| fold(&n) == wanted)),
        );
        if found.len() == before && kind == EntityKind::Part {
            found.extend(alias(records, &wanted));
            if found.len() == before {
                let called = |p: &&Part| p.name.as_deref().map(fold).as_ref() == Some(&wanted);
                found.extend(records.parts.iter().filter(called).map(|p| p.id));
            }
        }
        if found.len() == before && wanted.len() >= 4 {
            found.extend(ids.iter().filter(|id| id.to_string().starts_with(&wanted)));
        }
    }
    found.sort();
    found.dedup();
    only(found, text)
}

fn alias(records: &Records, wanted: &str) -> Option<Uuid> {
    records
        .aliases
        .iter()
        .find(|a| a.spelling.as_deref().map(fold).as_deref() == Some(wanted))
        .and_then(|a| a.part)
}
