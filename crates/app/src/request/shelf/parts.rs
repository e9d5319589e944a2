//! Parts in a list.

use crate::code::Fault;
use crate::names::for_person;
use crate::shelf::Shelf;
use airshelf_catalog::{EntityKind, Measurement, Part, PartKind, PartStatus, Revision, Uuid, Value};
use serde::Serialize;
use std::collections::HashSet;
use ts_rs::TS;

/// A part in a list.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PartCard {
    /// Which.
    pub id: Uuid,
    /// Its tag, else its name.
    pub tag: String,
    /// What it is.
    pub kind: Option<PartKind>,
    /// What people call it.
    pub name: Option<String>,
    /// Who made it.
    pub maker: Option<String>,
    /// Whose it is.
    pub status: Option<PartStatus>,
    /// Where it lies.
    pub place: Option<String>,
    /// Its dimensions with their names, such as `OD 11-1/4 in`.
    pub dimensions: Vec<String>,
}

/// A stretch of the parts that were asked for.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PartPage {
    /// How many there are in all.
    pub total: usize,
    /// The stretch.
    pub parts: Vec<PartCard>,
}

/// Most hits of a search that are looked through.
const MOST: usize = 2_000;

pub(super) fn page(
    shelf: &Shelf,
    text: &str,
    kind: Option<PartKind>,
    status: Option<PartStatus>,
    from: usize,
    count: usize,
) -> Result<PartPage, Fault> {
    let mut parts = if text.trim().is_empty() { all(shelf)? } else { found(shelf, text)? };
    parts.retain(|part| {
        kind.is_none_or(|kind| part.kind == Some(kind))
            && status.is_none_or(|status| part.status == Some(status))
    });
    let total = parts.len();
    let parts = parts.into_iter().skip(from).take(count).map(|part| card(shelf, part));
    Ok(PartPage { total, parts: parts.collect::<Result<_, _>>()? })
}

fn all(shelf: &Shelf) -> Result<Vec<Part>, Fault> {
    let mut parts: Vec<Part> = shelf.store().load()?;
    parts.sort_by_cached_key(|part| part.tag.clone().or(part.name.clone()));
    Ok(parts)
}

fn found(shelf: &Shelf, text: &str) -> Result<Vec<Part>, Fault> {
    let mut seen = HashSet::new();
    let mut parts = Vec::new();
    for hit in shelf.store().search(text, MOST)? {
        let part = match hit.kind {
            EntityKind::Part => Some(hit.id),
            EntityKind::Revision => shelf.store().get::<Revision>(hit.id)?.and_then(|r| r.part),
            EntityKind::Measurement => {
                let revision = shelf.store().get::<Measurement>(hit.id)?.and_then(|m| m.revision);
                revision.map(|r| shelf.store().get::<Revision>(r)).transpose()?.flatten().and_then(|r| r.part)
            }
            _ => None,
        };
        if let Some(id) = part.filter(|id| seen.insert(*id))
            && let Some(part) = shelf.store().get::<Part>(id)?
        {
            parts.push(part);
        }
    }
    Ok(parts)
}

fn card(shelf: &Shelf, part: Part) -> Result<PartCard, Fault> {
    Ok(PartCard {
        dimensions: dimensions(shelf, part.id)?,
        tag: part.tag.or(part.name.clone()).unwrap_or_default(),
        id: part.id,
        kind: part.kind,
        name: part.name,
        maker: part.maker,
        status: part.status,
        place: part.place,
    })
}

fn dimensions(shelf: &Shelf, part: Uuid) -> Result<Vec<String>, Fault> {
    let system = shelf.system();
    let revision = Value::Id(airshelf_catalog::ids::first_revision(part));
    let measured: Vec<Measurement> = shelf.store().find_by("revision", &revision)?;
    let said = measured
        .iter()
        .filter_map(|m| Some(format!("{} {}", m.dimension?.name(), for_person(m.value.as_ref()?, system))));
    Ok(said.collect())
}
