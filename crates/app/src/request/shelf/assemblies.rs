//! Assemblies in a list, and one with everything.

use super::known::Known;
use super::photos::{PhotoShown, of_subjects};
use super::section::{self, Placed, Section, SectionDrawing};
use crate::code::{Code, Fault};
use crate::request::Amount;
use crate::shelf::Shelf;
use airshelf_catalog::ids::unpack_layers;
use airshelf_catalog::{Assembly, EntityKind, Uuid, Vehicle};
use serde::Serialize;
use ts_rs::TS;

/// An assembly in a list.
#[derive(Clone, Debug, Serialize, TS)]
pub struct AssemblyCard {
    /// Which.
    pub id: Uuid,
    /// Its own name, else its parts.
    pub name: String,
    /// Its parts' tags, from the item up.
    pub parts: String,
    /// Cut through the middle.
    pub drawing: SectionDrawing,
    /// How high it stands.
    pub stack_up: Option<Amount>,
    /// On how many evenings it was run.
    pub evenings: usize,
}

/// A stretch of the assemblies.
#[derive(Clone, Debug, Serialize, TS)]
pub struct AssemblyPage {
    /// How many there are in all.
    pub total: usize,
    /// The stretch.
    pub assemblies: Vec<AssemblyCard>,
}

/// An assembly with everything.
#[derive(Clone, Debug, Serialize, TS)]
pub struct AssemblySheet {
    /// Which.
    pub id: Uuid,
    /// Its own name, else its parts.
    pub title: String,
    /// The name that people gave it.
    pub name: Option<String>,
    /// Anything else.
    pub note: Option<String>,
    /// On how many evenings it was run.
    pub evenings: usize,
    /// Photos of it.
    pub photos: Vec<PhotoShown>,
    /// The drawing with its answers.
    pub section: Section,
}

/// A vehicle to fit an assembly to.
#[derive(Clone, Debug, Serialize, TS)]
pub struct VehicleShown {
    /// Which.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// From the register to the hood.
    pub hood_height: Option<Amount>,
    /// As written.
    pub hood_written: Option<String>,
    /// The clearance wanted.
    pub wanted_clearance: Option<Amount>,
    /// As written.
    pub wanted_written: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

/// Most hits of a search that are looked through.
const MOST: usize = 500;

pub(super) fn page(
    shelf: &Shelf,
    text: &str,
    with: Option<Uuid>,
    from: usize,
    count: usize,
) -> Result<AssemblyPage, Fault> {
    let (total, ids) = match text.trim() {
        "" => shelf.store().assemblies_in_order(with, from, count)?,
        text => {
            let hits = shelf.store().search(text, MOST)?;
            let all: Vec<Uuid> =
                hits.into_iter().filter(|hit| hit.kind == EntityKind::Assembly).map(|hit| hit.id).collect();
            (all.len(), all.into_iter().skip(from).take(count).collect())
        }
    };
    let mut assemblies = Vec::new();
    for id in ids {
        assemblies.extend(card(shelf, id)?);
    }
    Ok(AssemblyPage { total, assemblies })
}

fn card(shelf: &Shelf, id: Uuid) -> Result<Option<AssemblyCard>, Fault> {
    let Some(assembly) = shelf.store().get::<Assembly>(id)? else { return Ok(None) };
    let placed = placed(shelf, &assembly)?;
    let parts = tags(&placed);
    let section = section::section(&placed, None, None, shelf.system());
    Ok(Some(AssemblyCard {
        id,
        name: assembly.name.filter(|n| !n.trim().is_empty()).unwrap_or_else(|| parts.clone()),
        parts,
        drawing: section.drawing,
        stack_up: section.stack_up,
        evenings: shelf.store().sessions_with_assembly(id)?.len(),
    }))
}

fn placed(shelf: &Shelf, assembly: &Assembly) -> Result<Vec<Placed>, Fault> {
    let mut placed = Vec::new();
    for layer in assembly.layers.as_deref().and_then(unpack_layers).unwrap_or_default() {
        if let Some(known) = Known::load(shelf, layer.revision)? {
            placed.push(Placed { known, gap_m: layer.gap_m.unwrap_or(0.0) });
        }
    }
    Ok(placed)
}

fn tags(placed: &[Placed]) -> String {
    placed.iter().map(|p| p.known.name()).collect::<Vec<_>>().join(" + ")
}

pub(super) fn sheet(
    shelf: &Shelf,
    id: Uuid,
    item: Option<Uuid>,
    vehicle: Option<Uuid>,
) -> Result<AssemblySheet, Fault> {
    let assembly: Assembly = shelf
        .store()
        .get(id)?
        .ok_or_else(|| Fault::new(Code::NotFound, "this assembly is not on this device"))?;
    let section = section::of_assembly(shelf, id, item, vehicle)?;
    let parts = tags(&placed(shelf, &assembly)?);
    Ok(AssemblySheet {
        id,
        title: assembly.name.clone().filter(|n| !n.trim().is_empty()).unwrap_or(parts),
        name: assembly.name,
        note: assembly.note,
        evenings: shelf.store().sessions_with_assembly(id)?.len(),
        photos: of_subjects(shelf, &[id])?,
        section,
    })
}

pub(super) fn vehicles(shelf: &Shelf) -> Result<Vec<VehicleShown>, Fault> {
    let system = shelf.system();
    let mut vehicles: Vec<Vehicle> = shelf.store().load()?;
    vehicles.sort_by(|a, b| (&a.name, a.id).cmp(&(&b.name, b.id)));
    let shown = vehicles.into_iter().map(|v| VehicleShown {
        id: v.id,
        name: v.name.unwrap_or_else(|| "vehicle".into()),
        hood_height: v.hood_height.as_ref().map(|q| section::length(q.si, system)),
        hood_written: v.hood_height.as_ref().and_then(crate::names::as_written),
        wanted_clearance: v.wanted_clearance.as_ref().map(|q| section::length(q.si, system)),
        wanted_written: v.wanted_clearance.as_ref().and_then(crate::names::as_written),
        note: v.note,
    });
    Ok(shown.collect())
}
