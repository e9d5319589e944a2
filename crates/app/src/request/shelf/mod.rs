//! Parts and assemblies: what is on the shelf, what was tested, what fits.
//!
//! [`parts`] lists and searches, [`part`] is one part with everything, [`section`] the drawing with its answers,
//! [`tested`] what came out on the evenings, [`written`] what screens write down.

mod assemblies;
mod known;
mod part;
mod parts;
mod photos;
mod pleats;
mod section;
mod sought;
mod tested;
#[cfg(test)]
mod tests;
mod written;

use crate::code::Fault;
use crate::entry::Changed;
use crate::shelf::Shelf;
use airshelf_catalog::ids::Layer;
use airshelf_catalog::{PartDimension, PartKind, PartStatus, PhotoRole, Uuid};
pub use assemblies::{AssemblyCard, AssemblyPage, AssemblySheet, VehicleShown};
pub use part::{ListingShown, PartSheet, RevisionShown, ServiceShown, SizeShown};
pub use parts::{PartCard, PartPage, SizeTyped};
pub use photos::{PhotoShown, PhotosKept};
pub use pleats::{MeanSize, PleatsCounted};
pub use section::{
    FitStanding, HoodFit, LayerShown, Mark, MarkKind, MissingSize, Piece, Pleats, RegisterFit, Section,
    SectionDrawing, StudFit,
};
use serde::{Deserialize, Serialize};
pub use tested::{TestedEvening, TestedResult};
use ts_rs::TS;
pub use written::{Editable, NewPart, NewRevision, NewService};

/// A question about parts and assemblies.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "ShelfAsked")]
pub enum Asked {
    /// A stretch of the parts.
    Parts {
        /// Words and sizes to look for, such as `paper 14 x 3, neck 5-1/8`; empty for all.
        text: String,
        /// Only of that kind.
        kind: Option<PartKind>,
        /// Only of that status.
        status: Option<PartStatus>,
        /// From which on.
        from: usize,
        /// How many.
        count: usize,
    },
    /// A part with everything but its results.
    Part {
        /// Which.
        id: Uuid,
    },
    /// The evenings that a part was in, with what came out.
    TestedPart {
        /// The part.
        id: Uuid,
    },
    /// The evenings that an assembly was in, with what came out.
    TestedAssembly {
        /// The assembly.
        id: Uuid,
    },
    /// The dimensions that a part of a kind has.
    Dimensions {
        /// The kind.
        kind: Option<PartKind>,
    },
    /// How a dimension is understood as it is typed.
    ReadSize {
        /// The dimension.
        size: SizeTyped,
    },
    /// Parts that have the sizes typed so far.
    Alike {
        /// Only of that kind.
        kind: Option<PartKind>,
        /// The sizes.
        sizes: Vec<SizeTyped>,
    },
    /// Pleats as counted so far.
    Pleats {
        /// How many there are in a quarter of the ring.
        quarter: u32,
        /// Their depth at a few places, as typed.
        depths: Vec<String>,
        /// Their free height at a few places, as typed.
        free_heights: Vec<String>,
    },
    /// A stretch of the assemblies, those made last first.
    Assemblies {
        /// Words to look for; empty for all.
        text: String,
        /// Only those with that part.
        with: Option<Uuid>,
        /// From which on.
        from: usize,
        /// How many.
        count: usize,
    },
    /// An assembly with its drawing and whether it fits.
    Assembly {
        /// Which.
        id: Uuid,
        /// The revision of the item that it sits on; none: none chosen.
        item: Option<Uuid>,
        /// The vehicle that it goes under.
        vehicle: Option<Uuid>,
    },
    /// The drawing of an assembly.
    Section {
        /// The assembly.
        assembly: Uuid,
        /// The revision of the item that it sits on.
        item: Option<Uuid>,
        /// The vehicle that it goes under.
        vehicle: Option<Uuid>,
    },
    /// The drawing of revisions that are no assembly yet, from the item up.
    SectionOf {
        /// The revisions.
        layers: Vec<Uuid>,
        /// The revision of the item that they sit on.
        item: Option<Uuid>,
        /// The vehicle that they go under.
        vehicle: Option<Uuid>,
    },
    /// The vehicles.
    Vehicles,
    /// Puts a part on the shelf.
    NewPart(NewPart),
    /// Sets a dimension of a revision; an empty text blanks it.
    Measure {
        /// The revision.
        revision: Uuid,
        /// The dimension.
        size: SizeTyped,
    },
    /// Makes a revision of a part.
    NewRevision(NewRevision),
    /// Writes down what happened to a part in use.
    NewService(NewService),
    /// Keeps an assembly of revisions, from the item up.
    NewAssembly {
        /// The revisions.
        layers: Vec<Uuid>,
        /// A name, where people give it one.
        name: String,
    },
    /// Adds a vehicle.
    NewVehicle {
        /// Fields and what was typed into them: `name`, `hood_height`, `wanted_clearance`, `note`.
        fields: Vec<(String, String)>,
    },
    /// Changes fields of a row.
    Edit {
        /// What it is.
        kind: Editable,
        /// Which.
        id: Uuid,
        /// Fields and what was typed into them.
        fields: Vec<(String, String)>,
    },
    /// Keeps the attached photos.
    AddPhotos {
        /// What they belong to: a revision, an assembly, a session, a run.
        subject: Uuid,
        /// What they show.
        role: Option<PhotoRole>,
        /// The names of the attached files, in their order.
        names: Vec<String>,
    },
    /// The photos of something.
    Photos {
        /// What they belong to.
        subject: Uuid,
    },
    /// The bytes of a photo, beside the answer.
    Photo {
        /// Its hash.
        sha256: String,
        /// Its small picture.
        small: bool,
    },
    /// Takes a photo from what it belongs to.
    RemovePhoto {
        /// Which.
        id: Uuid,
    },
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "ShelfAnswer")]
pub enum Answer {
    /// Parts.
    Parts(PartPage),
    /// The part.
    Part(Box<PartSheet>),
    /// Evenings, the latest first.
    TestedPart(Vec<TestedEvening>),
    /// Evenings, the latest first.
    TestedAssembly(Vec<TestedEvening>),
    /// Dimensions, those that identify a part first.
    Dimensions(Vec<PartDimension>),
    /// In both unit systems, such as `2 15/16 in = 74.6 mm`.
    ReadSize(String),
    /// Parts, nearest first.
    Alike(Vec<PartCard>),
    /// The pleats.
    Pleats(Box<PleatsCounted>),
    /// Assemblies.
    Assemblies(AssemblyPage),
    /// The assembly.
    Assembly(Box<AssemblySheet>),
    /// The drawing.
    Section(Box<Section>),
    /// The drawing.
    SectionOf(Box<Section>),
    /// Vehicles.
    Vehicles(Vec<VehicleShown>),
    /// The new part.
    NewPart(Changed),
    /// The revision.
    Measure(Changed),
    /// The new revision.
    NewRevision(Changed),
    /// The event.
    NewService(Changed),
    /// The assembly, new or held already.
    NewAssembly(Changed),
    /// The new vehicle.
    NewVehicle(Changed),
    /// The changed row.
    Edit(Changed),
    /// What was kept.
    AddPhotos(PhotosKept),
    /// Photos.
    Photos(Vec<PhotoShown>),
    /// Whether there are bytes here.
    Photo(bool),
    /// The removed photo.
    RemovePhoto(Changed),
}

pub(super) fn answer(
    shelf: &mut Shelf,
    asked: Asked,
    attached: Vec<Vec<u8>>,
    bytes: &mut Option<Vec<u8>>,
) -> Result<Answer, Fault> {
    Ok(match asked {
        Asked::Parts { text, kind, status, from, count } => {
            Answer::Parts(parts::page(shelf, &text, kind, status, from, count)?)
        }
        Asked::Part { id } => Answer::Part(Box::new(part::sheet(shelf, id)?)),
        Asked::TestedPart { id } => Answer::TestedPart(tested::with_part(shelf, id)?),
        Asked::TestedAssembly { id } => Answer::TestedAssembly(tested::with_assembly(shelf, id)?),
        Asked::Dimensions { kind } => Answer::Dimensions(part::dimensions_of(kind)),
        Asked::ReadSize { size } => Answer::ReadSize(written::echo(&size, shelf.system())?),
        Asked::Alike { kind, sizes } => Answer::Alike(part::alike(shelf, kind, &sizes)?),
        Asked::Pleats { quarter, depths, free_heights } => {
            Answer::Pleats(Box::new(pleats::counted(quarter, &depths, &free_heights, shelf.system())?))
        }
        Asked::Assemblies { text, with, from, count } => {
            Answer::Assemblies(assemblies::page(shelf, &text, with, from, count)?)
        }
        Asked::Assembly { id, item, vehicle } => {
            Answer::Assembly(Box::new(assemblies::sheet(shelf, id, item, vehicle)?))
        }
        Asked::Section { assembly, item, vehicle } => {
            Answer::Section(Box::new(section::of_assembly(shelf, assembly, item, vehicle)?))
        }
        Asked::SectionOf { layers, item, vehicle } => {
            let layers: Vec<Layer> = layers.into_iter().map(Layer::of).collect();
            Answer::SectionOf(Box::new(section::of_layers(shelf, &layers, item, vehicle)?))
        }
        Asked::Vehicles => Answer::Vehicles(assemblies::vehicles(shelf)?),
        Asked::NewPart(new) => Answer::NewPart(written::part(shelf, &new)?),
        Asked::Measure { revision, size } => Answer::Measure(written::dimension(shelf, revision, &size)?),
        Asked::NewRevision(new) => Answer::NewRevision(written::revision(shelf, &new)?),
        Asked::NewService(new) => Answer::NewService(written::service(shelf, &new)?),
        Asked::NewAssembly { layers, name } => {
            Answer::NewAssembly(written::assembled(shelf, &layers, &name)?)
        }
        Asked::NewVehicle { fields } => Answer::NewVehicle(written::vehicle(shelf, &fields)?),
        Asked::Edit { kind, id, fields } => Answer::Edit(written::edit(shelf, kind, id, &fields)?),
        Asked::AddPhotos { subject, role, names } => {
            Answer::AddPhotos(photos::add(shelf, subject, role, &names, attached)?)
        }
        Asked::Photos { subject } => Answer::Photos(photos::of_subjects(shelf, &[subject])?),
        Asked::Photo { sha256, small } => {
            *bytes = photos::bytes(shelf, &sha256, small)?;
            Answer::Photo(bytes.is_some())
        }
        Asked::RemovePhoto { id } => Answer::RemovePhoto(photos::remove(shelf, id)?),
    })
}
