//! Will it fit: stud, hood and register, each as amounts and a sentence.

use super::super::known::Known;
use super::stand::Stand;
use super::{Placed, length};
use crate::request::Amount;
use crate::sentences;
use airshelf_catalog::{PartDimension, PartKind, Vehicle};
use airshelf_flow::geometry::{Register, StudPath, hood_clearance_m, register_fit, stud_length_m};
use airshelf_units::System;
use serde::Serialize;
use ts_rs::TS;

/// Height of a 1/4 in hexagon nut, 7/32 in, m. ASME B18.2.2, from memory.
pub(super) const NUT_M: f64 = 7.0 / 32.0 * 0.0254;
/// How much larger than its register a neck may be without an adapter, as the audit takes it.
const LOOSE_M: f64 = airshelf_catalog::limits::LOOSE_NECK_M;

/// How an answer about fit came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS)]
#[serde(rename_all = "kebab-case")]
pub enum FitStanding {
    /// It does.
    Fits,
    /// It depends on sizes that are not known well enough, or leaves less room than wanted.
    Close,
    /// It does not.
    DoesNotFit,
    /// Something that it depends on is not known.
    Unknown,
}

/// Whether the stud reaches.
#[derive(Clone, Debug, Serialize, TS)]
pub struct StudFit {
    /// Its length over the register.
    pub has: Option<Amount>,
    /// What the stack needs, the nut included.
    pub needs: Option<Amount>,
    /// How it came out.
    pub standing: FitStanding,
    /// In words.
    pub sentence: String,
}

/// Whether the hood closes.
#[derive(Clone, Debug, Serialize, TS)]
pub struct HoodFit {
    /// The vehicle.
    pub vehicle: String,
    /// Between register and hood.
    pub room: Amount,
    /// Between the highest point and the hood; below zero it hits.
    pub clearance: Option<Amount>,
    /// What was wanted.
    pub wanted: Option<Amount>,
    /// How it came out.
    pub standing: FitStanding,
    /// In words.
    pub sentence: String,
}

/// Whether it sits on the register.
#[derive(Clone, Debug, Serialize, TS)]
pub struct RegisterFit {
    /// The neck that sits on it.
    pub neck: Option<Amount>,
    /// The register.
    pub register: Option<Amount>,
    /// How it came out.
    pub standing: FitStanding,
    /// In words.
    pub sentence: String,
}

pub(super) fn stud_of(placed: &[Placed]) -> Option<&Known> {
    placed.iter().map(|p| &p.known).find(|k| k.kind() == Some(PartKind::Stud))
}

pub(super) fn lid_of(placed: &[Placed]) -> Option<&Known> {
    placed.iter().map(|p| &p.known).find(|k| k.kind() == Some(PartKind::Lid))
}

/// None where nothing has to be held down.
pub(super) fn stud(placed: &[Placed], stand: &Stand, system: System) -> Option<StudFit> {
    let lid = lid_of(placed)?;
    let stack_m = stand.stack_m?;
    let lid_m = lid.si(PartDimension::Height).unwrap_or(0.0);
    let path = StudPath {
        engagement_m: 0.0,
        seat_to_lid_m: (stack_m - lid_m).max(0.0),
        lid_m,
        nut_m: NUT_M,
        spare_m: 0.0,
    };
    let needs_m = stud_length_m(&path).ok()?;
    let stud = stud_of(placed);
    let has_m = stud.and_then(|stud| stud.si(PartDimension::StudLength));
    let error = stud.map_or(0.0, |s| s.error_m(PartDimension::StudLength)) + stand.within_m.unwrap_or(0.0);
    let standing = match has_m {
        _ if !stand.is_whole() => FitStanding::Unknown,
        None => FitStanding::Unknown,
        Some(has_m) if has_m < needs_m - NUT_M => FitStanding::DoesNotFit,
        Some(has_m) if has_m < needs_m + error => FitStanding::Close,
        Some(_) => FitStanding::Fits,
    };
    let told = sentences::StudTold {
        stud: stud.map(Known::name),
        has_m,
        needs_m,
        nut_m: NUT_M,
        whole: stand.is_whole(),
        standing: word(standing),
        system,
    };
    Some(StudFit {
        has: has_m.map(|m| length(m, system)),
        needs: Some(length(needs_m, system)),
        standing,
        sentence: sentences::stud(&told),
    })
}

/// The highest point that is known of: the lid, the nut on it, or a stud that stands out of both.
pub(super) fn highest_m(placed: &[Placed], stand: &Stand) -> (f64, &'static str) {
    let stack_m = stand.stack_m.unwrap_or(stand.top_m);
    let stud = stud_of(placed).filter(|_| lid_of(placed).is_some());
    match stud.map(|stud| stud.si(PartDimension::StudLength)) {
        Some(Some(end_m)) if end_m > stack_m + NUT_M => (end_m, "the end of the stud"),
        Some(_) => (stack_m + NUT_M, "the top of the nut"),
        None => (stack_m, "the top of the stack"),
    }
}

/// None where the vehicle does not say how high its hood is.
pub(super) fn hood(vehicle: &Vehicle, placed: &[Placed], stand: &Stand, system: System) -> Option<HoodFit> {
    let room_m = vehicle.hood_height.as_ref()?.si;
    let wanted_m = vehicle.wanted_clearance.as_ref().map(|q| q.si);
    let (highest_m, point) = highest_m(placed, stand);
    let clearance_m = hood_clearance_m(room_m, highest_m).ok()?;
    let error = stand.within_m.unwrap_or(0.0);
    let standing = match (stand.is_whole(), clearance_m) {
        (false, clear) if clear < 0.0 && stand.stack_m.is_some() => FitStanding::DoesNotFit,
        (false, _) => FitStanding::Unknown,
        (true, clear) if clear + error < 0.0 => FitStanding::DoesNotFit,
        (true, clear) if clear - error < wanted_m.unwrap_or(0.0) => FitStanding::Close,
        (true, _) => FitStanding::Fits,
    };
    let told = sentences::HoodTold {
        vehicle: vehicle.name.as_deref().unwrap_or("the vehicle"),
        point,
        clearance_m,
        wanted_m,
        whole: stand.is_whole(),
        standing: word(standing),
        system,
    };
    Some(HoodFit {
        vehicle: vehicle.name.clone().unwrap_or_default(),
        room: length(room_m, system),
        clearance: stand.stack_m.map(|_| length(clearance_m, system)),
        wanted: wanted_m.map(|m| length(m, system)),
        standing,
        sentence: sentences::hood(&told),
    })
}

/// The register of an item: its own, else its outside diameter.
pub(super) fn register_of(item: &Known) -> Option<(PartDimension, f64)> {
    [PartDimension::Register, PartDimension::OutsideDiameter]
        .into_iter()
        .find_map(|dimension| Some((dimension, item.si(dimension)?)))
}

/// The lowest part that sits on the item by a neck.
pub(super) fn lowest(placed: &[Placed]) -> Option<&Known> {
    let sits =
        |k: &&Known| matches!(k.kind(), Some(PartKind::Base | PartKind::Spacer | PartKind::VelocityStack));
    placed.iter().map(|p| &p.known).find(sits)
}

/// None where nothing sits on a register, or no item was chosen.
pub(super) fn register(placed: &[Placed], item: Option<&Known>, system: System) -> Option<RegisterFit> {
    let (lowest, item) = (lowest(placed)?, item?);
    let neck_m = lowest.si(PartDimension::NeckBore);
    let rim = register_of(item);
    let fit = neck_m.zip(rim).and_then(|(hole_m, (of, rim_m))| {
        register_fit(&Register {
            hole_m,
            hole_tolerance_m: lowest.error_m(PartDimension::NeckBore),
            rim_m,
            rim_tolerance_m: item.error_m(of),
        })
        .ok()
    });
    let loose = neck_m.zip(rim).is_some_and(|(neck, (_, rim))| neck > rim + LOOSE_M + 1e-5);
    use airshelf_flow::geometry::RegisterFit as How;
    let standing = match fit {
        None => FitStanding::Unknown,
        Some(_) if loose => FitStanding::DoesNotFit,
        Some(How::Clears { .. }) => FitStanding::Fits,
        Some(How::Unsure { .. }) => FitStanding::Close,
        Some(How::Interferes { .. }) => FitStanding::DoesNotFit,
    };
    let told = sentences::RegisterTold {
        part: &lowest.name(),
        item: &item.name(),
        neck_m,
        register_m: rim.map(|(_, m)| m),
        fit,
        loose,
        system,
    };
    Some(RegisterFit {
        neck: neck_m.map(|m| length(m, system)),
        register: rim.map(|(_, m)| length(m, system)),
        standing,
        sentence: sentences::register(&told),
    })
}

fn word(standing: FitStanding) -> sentences::FitWord {
    match standing {
        FitStanding::Fits => sentences::FitWord::Fits,
        FitStanding::Close => sentences::FitWord::Close,
        FitStanding::DoesNotFit => sentences::FitWord::DoesNotFit,
        FitStanding::Unknown => sentences::FitWord::Unknown,
    }
}
