//! An assembly cut through the middle, to scale, with what follows for stud, hood and register.
//!
//! [`stand`] says how high everything stands, [`draw`] makes the outlines, [`fit`] the answers. What was not measured is
//! drawn with a plausible size and named as missing; it never counts in an answer without being said.

mod draw;
mod fit;
mod stand;

use super::known::Known;
use crate::code::{Code, Fault};
use crate::request::Amount;
use crate::shelf::Shelf;
use airshelf_catalog::ids::{Layer, unpack_layers};
use airshelf_catalog::{Assembly, PartDimension, PartKind, Uuid, Vehicle};
use airshelf_units::{Digits, Dimension, System};
pub use fit::{FitStanding, HoodFit, RegisterFit, StudFit};
use serde::Serialize;
use ts_rs::TS;

/// One thing that is cut.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct Piece {
    /// The layer it belongs to, from the item up; the item itself is one below the first.
    pub layer: i32,
    /// What it is: `lid`, `filter`, `foam`, `base`, `spacer`, `stack`, `stud`, `nut`, `seal`, `carburetor`.
    pub kind: String,
    /// Its tag and name.
    pub label: String,
    /// Closed polygons: meters outward from the center axis, and up from the register.
    #[ts(type = "readonly (readonly (readonly [x_m: number, y_m: number])[])[]")]
    pub outline: Vec<Vec<[f64; 2]>>,
    /// The folds of its media, where it has any.
    #[ts(optional = nullable)]
    pub pleats: Option<Pleats>,
    /// A size that is drawn was judged by eye, or nobody chose the part.
    pub estimated: bool,
    /// The dimensions that are not known at all.
    pub missing: Vec<String>,
}

/// Folds of a ring.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, TS)]
pub struct Pleats {
    /// How many.
    pub count: u32,
}

/// What a line across the drawing marks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS)]
#[serde(rename_all = "lowercase")]
pub enum MarkKind {
    /// The underside of a hood.
    Hood,
    /// The highest point.
    Top,
    /// The end of a stud.
    Stud,
    /// The carburetor's register, from which heights count.
    Register,
}

/// A line across the drawing.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct Mark {
    /// What it marks.
    pub kind: MarkKind,
    /// Its height.
    pub y_m: f64,
    /// In words.
    pub text: String,
}

/// The drawing.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct SectionDrawing {
    /// Greatest width.
    pub width_m: f64,
    /// From the lowest to the highest point.
    pub height_m: f64,
    /// What is cut, from the bottom up.
    pub pieces: Vec<Piece>,
    /// Lines across.
    pub marks: Vec<Mark>,
}

/// A part of the assembly.
#[derive(Clone, Debug, Serialize, TS)]
pub struct LayerShown {
    /// Its part.
    pub part: Uuid,
    /// Its revision.
    pub revision: Uuid,
    /// Its tag, with the revision's letter.
    pub tag: String,
    /// What people call it.
    pub name: Option<String>,
    /// What it is.
    pub kind: Option<PartKind>,
    /// By how much it raises the stack; none where it does not count.
    pub counts: Option<Amount>,
}

/// A dimension that is not known.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct MissingSize {
    /// The layer.
    pub layer: i32,
    /// Its revision.
    pub revision: Uuid,
    /// Its tag.
    pub tag: String,
    /// Which.
    pub dimension: PartDimension,
}

/// An assembly as a drawing with its answers.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Section {
    /// The drawing.
    pub drawing: SectionDrawing,
    /// Its parts, from the item up.
    pub layers: Vec<LayerShown>,
    /// How high it stands over the register; none where nothing in it has a height.
    pub stack_up: Option<Amount>,
    /// By how much that may be off, every part at its limit at once.
    pub within: Option<Amount>,
    /// How high it stands, in words, with what was not known.
    pub stands: String,
    /// Whether the stud reaches.
    pub stud: Option<StudFit>,
    /// Whether the hood closes.
    pub hood: Option<HoodFit>,
    /// Whether it sits on the register.
    pub register: Option<RegisterFit>,
    /// What is not known and would be drawn better if it were.
    pub missing: Vec<MissingSize>,
    /// What to mind before running it; none where nothing of it can come off.
    pub caution: Option<&'static str>,
}

/// A layer that was looked up.
pub(super) struct Placed {
    pub known: Known,
    pub gap_m: f64,
}

pub(super) fn length(si: f64, system: System) -> Amount {
    Amount::of(si, Dimension::Length, system, Digits::Significant(3))
}

/// The section of an assembly on the shelf.
pub(super) fn of_assembly(
    shelf: &Shelf,
    assembly: Uuid,
    item: Option<Uuid>,
    vehicle: Option<Uuid>,
) -> Result<Section, Fault> {
    let held = shelf
        .store()
        .get::<Assembly>(assembly)?
        .ok_or_else(|| Fault::new(Code::NotFound, "this assembly is not on this device"))?;
    let layers = held.layers.as_deref().and_then(unpack_layers).unwrap_or_default();
    of_layers(shelf, &layers, item, vehicle)
}

/// The section of parts that are not yet an assembly.
pub(super) fn of_layers(
    shelf: &Shelf,
    layers: &[Layer],
    item: Option<Uuid>,
    vehicle: Option<Uuid>,
) -> Result<Section, Fault> {
    let mut placed = Vec::new();
    let mut below = None;
    for layer in layers {
        let known = Known::load(shelf, layer.revision)?
            .ok_or_else(|| Fault::new(Code::NotFound, "a part of this assembly is not on this device"))?;
        match known.kind() {
            Some(PartKind::Carburetor) => below = Some(known),
            _ => placed.push(Placed { known, gap_m: layer.gap_m.unwrap_or(0.0) }),
        }
    }
    let item = match item {
        Some(item) => Known::load(shelf, item)?,
        None => below,
    };
    let vehicle = match vehicle {
        Some(id) => shelf.store().get::<Vehicle>(id)?,
        None => None,
    };
    Ok(section(&placed, item.as_ref(), vehicle.as_ref(), shelf.system()))
}

/// The section of one part alone, without what would carry it.
pub(super) fn of_part(known: Known, system: System) -> SectionDrawing {
    match known.kind() {
        Some(PartKind::Carburetor) => section(&[], Some(&known), None, system).drawing,
        _ => {
            let placed = [Placed { known, gap_m: 0.0 }];
            let stand = stand::stand(&placed);
            draw::drawing(&placed, None, false, &stand, Vec::new(), system)
        }
    }
}

pub(super) fn section(
    placed: &[Placed],
    item: Option<&Known>,
    vehicle: Option<&Vehicle>,
    system: System,
) -> Section {
    let stand = stand::stand(placed);
    let stud = fit::stud(placed, &stand, system);
    let hood = vehicle.and_then(|vehicle| fit::hood(vehicle, placed, &stand, system));
    let register = fit::register(placed, item, system);
    let marks = draw::marks(placed, &stand, vehicle, hood.as_ref(), item, system);
    let held = |kind| placed.iter().any(|p| p.known.kind() == Some(kind));
    Section {
        drawing: draw::drawing(placed, item, true, &stand, marks, system),
        layers: placed
            .iter()
            .zip(&stand.layers)
            .map(|(p, stands)| LayerShown {
                part: p.known.part.id,
                revision: p.known.id(),
                tag: p.known.name(),
                name: p.known.part.name.clone().filter(|_| p.known.part.tag.is_some()),
                kind: p.known.kind(),
                counts: stands.counts_m.map(|m| length(m, system)),
            })
            .collect(),
        stack_up: stand.stack_m.map(|m| length(m, system)),
        within: stand.within_m.map(|m| length(m, system)),
        stands: crate::sentences::stands(&crate::sentences::Stands {
            stack_m: stand.stack_m,
            within_m: stand.within_m,
            without_height: &stand.without_height,
            taken_as_flat: &stand.taken_as_flat,
            system,
        }),
        stud,
        hood,
        register,
        missing: stand.missing(placed, item),
        caution: held(PartKind::Lid).then_some(crate::sentences::ASSEMBLY_CAUTION),
    }
}
