//! How high each part of an assembly stands over the register.
//!
//! What counts is what the audit counts: spacers, filter and lid add their height, a base takes its drop away; a base's own
//! thickness lies below its seat, and a velocity stack stands inside the ring.

use super::super::known::Known;
use super::{MissingSize, Placed};
use PartDimension::{Drop, Height, InsideDiameter, NeckBore, OutsideDiameter, Register, StudLength};
use airshelf_catalog::{PartDimension, PartKind};
use airshelf_flow::geometry::{stack_tolerance_m, stack_up_height_m};

/// Sizes that a part is drawn with where nobody measured it, m. Common practice, no source.
pub(super) const PLAUSIBLE_SPACER_M: f64 = 0.0127;
pub(super) const PLAUSIBLE_FILTER_M: f64 = 0.0635;
pub(super) const PLAUSIBLE_LID_M: f64 = 0.008;
pub(super) const PLAUSIBLE_VELOCITY_STACK_M: f64 = 0.038;
pub(super) const PLAUSIBLE_OTHER_M: f64 = 0.006;

/// Where a layer stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LayerStands {
    /// What it sits on.
    pub seat_m: f64,
    /// What the next one sits on.
    pub top_m: f64,
    /// By how much it raises the stack; none where it does not count or is not known.
    pub counts_m: Option<f64>,
}

/// How high an assembly stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Stand {
    pub layers: Vec<LayerStands>,
    /// The drawn top of the stack.
    pub top_m: f64,
    /// The height that is known; none where no part says any.
    pub stack_m: Option<f64>,
    /// Worst case of what is known about it.
    pub within_m: Option<f64>,
    /// Tags of parts whose height counts and is not known.
    pub without_height: Vec<String>,
    /// Tags of bases that do not say how far they drop.
    pub taken_as_flat: Vec<String>,
}

impl Stand {
    /// Whether every height that counts is known.
    pub fn is_whole(&self) -> bool {
        self.stack_m.is_some() && self.without_height.is_empty()
    }

    pub fn missing(&self, placed: &[Placed], item: Option<&Known>) -> Vec<MissingSize> {
        let mut all: Vec<(i32, &Known)> =
            placed.iter().enumerate().map(|(at, p)| (at as i32, &p.known)).collect();
        all.extend(item.map(|item| (-1, item)));
        let of = |(layer, known): (i32, &Known)| {
            missing_of(known)
                .into_iter()
                .map(move |dimension| (layer, dimension))
                .map(|(layer, dimension)| MissingSize {
                    layer,
                    revision: known.id(),
                    tag: known.name(),
                    dimension,
                })
                .collect::<Vec<_>>()
        };
        all.into_iter().flat_map(of).collect()
    }
}

/// The dimensions that a drawing of a part wants and that are not known.
pub(super) fn missing_of(known: &Known) -> Vec<PartDimension> {
    let wanted: &[PartDimension] = match known.kind() {
        Some(PartKind::Filter) => &[OutsideDiameter, InsideDiameter, Height],
        Some(PartKind::Lid) => &[OutsideDiameter, Height],
        Some(PartKind::Base) => &[OutsideDiameter, NeckBore, Drop],
        Some(PartKind::Spacer) => &[NeckBore, Height],
        Some(PartKind::VelocityStack) => &[NeckBore, Height],
        Some(PartKind::Stud) => &[StudLength],
        Some(PartKind::Carburetor) => &[Register],
        Some(PartKind::Other) | None => &[],
    };
    let has = |dimension: PartDimension| {
        known.si(dimension).is_some() || (dimension == Register && known.si(OutsideDiameter).is_some())
    };
    wanted.iter().copied().filter(|dimension| !has(*dimension)).collect()
}

pub(super) fn stand(placed: &[Placed]) -> Stand {
    let mut y = 0.0;
    let mut layers = Vec::new();
    let mut sizes = Vec::new();
    let mut errors = Vec::new();
    let (mut without_height, mut taken_as_flat) = (Vec::new(), Vec::new());
    for Placed { known, gap_m } in placed {
        let seat_m = y + gap_m;
        let height = known.si(Height);
        let plausible = match known.kind() {
            Some(PartKind::Spacer) => Some(PLAUSIBLE_SPACER_M),
            Some(PartKind::Filter) => Some(PLAUSIBLE_FILTER_M),
            Some(PartKind::Lid) => Some(PLAUSIBLE_LID_M),
            _ => None,
        };
        let counts_m = match (known.kind(), plausible) {
            (Some(PartKind::Base), _) => {
                let drop = known.si(Drop);
                match drop {
                    Some(drop) => {
                        sizes.push((0.0, drop - gap_m));
                        errors.push(known.error_m(Drop));
                    }
                    None => taken_as_flat.push(known.name()),
                }
                y = seat_m - drop.unwrap_or(0.0);
                drop.map(|drop| -drop)
            }
            (_, Some(plausible)) => {
                match height {
                    Some(height) => {
                        sizes.push((height, -gap_m));
                        errors.push(known.error_m(Height));
                    }
                    None => without_height.push(known.name()),
                }
                y = seat_m + height.unwrap_or(plausible);
                height
            }
            _ => None,
        };
        layers.push(LayerStands { seat_m, top_m: y, counts_m });
    }
    let stack_m = stack_up_height_m(&sizes).ok();
    let within_m = stack_m.and_then(|_| stack_tolerance_m(&errors).ok()).map(|t| t.worst_case_m);
    Stand { layers, top_m: y, stack_m, within_m, without_height, taken_as_flat }
}
