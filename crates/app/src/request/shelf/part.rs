//! One part with everything that is known of it.

use super::known::{Known, Size};
use super::parts::{self, latest};
use super::photos::{PhotoShown, of_subjects};
use super::section::{self, SectionDrawing};
use crate::code::{Code, Fault};
use crate::entry::measures;
use crate::names::as_written;
use crate::request::Amount;
use crate::shelf::Shelf;
use airshelf_catalog::{
    Listing, Part, PartDimension, PartKind, PartStatus, Price, Revision, ServiceEvent, ServiceKind, Source,
    Uuid, Value, Vehicle,
};
use airshelf_units::{Digits, Dimension, System, in_system};
use serde::Serialize;
use ts_rs::TS;

/// A part.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PartSheet {
    /// Which.
    pub id: Uuid,
    /// The revision it stands at.
    pub revision: Uuid,
    /// Its tag.
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
    /// What shape it is in.
    pub condition: Option<String>,
    /// What was paid, as written.
    pub price: Option<String>,
    /// When it arrived.
    pub arrived: Option<String>,
    /// What is claimed of its filtration.
    pub filtration: Option<String>,
    /// Anything else.
    pub note: Option<String>,
    /// Cut through the middle.
    pub drawing: SectionDrawing,
    /// Its revisions, the one it stands at first.
    pub revisions: Vec<RevisionShown>,
    /// The dimensions that a part of its kind has, for the form.
    pub dimensions: Vec<PartDimension>,
    /// Photos, of any revision.
    pub photos: Vec<PhotoShown>,
    /// Where it was offered.
    pub listings: Vec<ListingShown>,
    /// What happened to it, the latest first.
    pub service: Vec<ServiceShown>,
    /// How many assemblies hold it.
    pub assemblies: usize,
    /// On how many evenings it was run in one.
    pub evenings: usize,
}

/// A revision.
#[derive(Clone, Debug, Serialize, TS)]
pub struct RevisionShown {
    /// Which.
    pub id: Uuid,
    /// The one it was made from.
    pub previous: Option<Uuid>,
    /// Its letter; none for the first.
    pub label: Option<String>,
    /// What was changed.
    pub change: Option<String>,
    /// When.
    pub revised: Option<String>,
    /// What is known of its size.
    pub sizes: Vec<SizeShown>,
    /// The media area, where it can be computed.
    pub media_area: Option<Amount>,
}

/// A dimension.
#[derive(Clone, Debug, Serialize, TS)]
pub struct SizeShown {
    /// Which.
    pub dimension: PartDimension,
    /// Its value.
    pub value: Amount,
    /// As it was written.
    pub written: Option<String>,
    /// Where it comes from.
    pub source: Option<Source>,
    /// How far it was found to vary.
    pub give_or_take: Option<Amount>,
    /// It was measured of an earlier revision.
    pub earlier: bool,
}

/// An offer.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ListingShown {
    /// Which.
    pub id: Uuid,
    /// Who.
    pub seller: Option<String>,
    /// For how much, as written.
    pub price: Option<String>,
    /// When it was seen.
    pub seen: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

/// Something that happened to it.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ServiceShown {
    /// Which.
    pub id: Uuid,
    /// What.
    pub kind: Option<ServiceKind>,
    /// When.
    pub date: Option<String>,
    /// Nights of running since the event before.
    #[ts(type = "number | null")]
    pub nights: Option<i64>,
    /// On what.
    pub vehicle: Option<String>,
    /// To which revision, where it was not the first.
    pub revision: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

/// The dimensions that a part of a kind has, those that identify it first.
pub(super) fn dimensions_of(kind: Option<PartKind>) -> Vec<PartDimension> {
    use PartDimension::*;
    match kind {
        Some(PartKind::Filter) => {
            vec![OutsideDiameter, InsideDiameter, Height, PleatCount, PleatDepth, PleatFreeHeight, MediaArea]
        }
        Some(PartKind::Lid) => vec![OutsideDiameter, Height],
        Some(PartKind::Base) => vec![OutsideDiameter, NeckBore, Drop, Height],
        Some(PartKind::Spacer) => vec![NeckBore, Height, OutsideDiameter],
        Some(PartKind::VelocityStack) => vec![NeckBore, Height, OutsideDiameter],
        Some(PartKind::Stud) => vec![StudLength],
        Some(PartKind::Carburetor) => vec![Register],
        Some(PartKind::Other) | None => vec![OutsideDiameter, InsideDiameter, Height, Mass],
    }
}

pub(super) fn sheet(shelf: &Shelf, id: Uuid) -> Result<PartSheet, Fault> {
    let gone = || Fault::new(Code::NotFound, "this part is not on this device, or was removed");
    let part: Part = shelf.store().get(id)?.ok_or_else(gone)?;
    let system = shelf.system();
    let now = latest(shelf, id)?.ok_or_else(gone)?;
    let mut revisions: Vec<Revision> = shelf.store().find_by("part", &Value::Id(id))?;
    revisions.sort_by(|a, b| (b.id == now.id, &b.revised, b.id).cmp(&(a.id == now.id, &a.revised, a.id)));
    let mut shown = Vec::new();
    let mut drawing = None;
    for revision in &revisions {
        let Some(known) = Known::load(shelf, revision.id)? else { continue };
        shown.push(revision_shown(&known, system));
        if revision.id == now.id {
            drawing = Some(section::of_part(known, system));
        }
    }
    let mut subjects: Vec<Uuid> = revisions.iter().map(|r| r.id).collect();
    subjects.push(id);
    let (assemblies, _) = shelf.store().assemblies_in_order(Some(id), 0, 0)?;
    let mut dimensions = dimensions_of(part.kind);
    let known = shown.iter().flat_map(|r| r.sizes.iter().map(|s| s.dimension));
    for dimension in known.collect::<Vec<_>>() {
        if !dimensions.contains(&dimension) {
            dimensions.push(dimension);
        }
    }
    Ok(PartSheet {
        id,
        revision: now.id,
        tag: part.tag.clone().or(part.name.clone()).unwrap_or_default(),
        kind: part.kind,
        name: part.name.filter(|_| part.tag.is_some()),
        maker: part.maker,
        status: part.status,
        place: part.place,
        condition: part.condition,
        price: part.price.as_ref().map(price),
        arrived: part.arrived,
        filtration: part.filtration,
        note: part.note,
        drawing: drawing.ok_or_else(gone)?,
        dimensions,
        photos: of_subjects(shelf, &subjects)?,
        listings: listings(shelf, id)?,
        service: service(shelf, &revisions)?,
        revisions: shown,
        assemblies,
        evenings: shelf.store().evenings_of_part(id)?,
    })
}

fn price(price: &Price) -> String {
    match price.currency.as_str() {
        "" => price.raw.trim().to_owned(),
        currency if price.raw.contains(currency) => price.raw.trim().to_owned(),
        currency => format!("{:.2} {currency}", price.amount),
    }
}

fn revision_shown(known: &Known, system: System) -> RevisionShown {
    let own = known.id();
    let mut sizes: Vec<SizeShown> =
        known.sizes.iter().map(|(dimension, size)| size_shown(*dimension, size, own, system)).collect();
    let order = dimensions_of(known.kind());
    sizes.sort_by_key(|s| order.iter().position(|d| *d == s.dimension).unwrap_or(order.len()));
    RevisionShown {
        id: own,
        previous: known.revision.previous,
        label: known.revision.label.clone(),
        change: known.revision.change.clone(),
        revised: known.revision.revised.clone(),
        sizes,
        media_area: known
            .media_area_m2()
            .map(|si| Amount::of(si, Dimension::Area, system, Digits::Significant(3))),
    }
}

fn size_shown(dimension: PartDimension, size: &Size, own: Uuid, system: System) -> SizeShown {
    let of = measures(dimension);
    let value = &size.value;
    let unit = value.unit().unwrap_or_else(|| airshelf_units::usual(of, system));
    let (us, si) = (in_system(unit, System::Us), in_system(unit, System::Si));
    let (own_unit, other) = if system == System::Us { (us, si) } else { (si, us) };
    let mut amount = Amount::in_units(value.si, own_unit, other, Digits::Significant(4));
    if of == Dimension::Count {
        amount = Amount { si: value.si, text: format!("{}", value.si), other: None };
    } else {
        // As it was written says more than a decimal, where that is in the person's units.
        amount.text = crate::names::for_person(value, system);
    }
    let u = value.written.as_ref().and_then(|w| w.details.as_ref()?.standard_uncertainty_si);
    SizeShown {
        dimension,
        value: amount,
        written: as_written(value),
        source: value.source(),
        give_or_take: u.map(|u| Amount::of(2.0 * u, of, system, Digits::Significant(2))),
        earlier: size.revision != own,
    }
}

fn listings(shelf: &Shelf, part: Uuid) -> Result<Vec<ListingShown>, Fault> {
    let mut listings: Vec<Listing> = shelf.store().find_by("part", &Value::Id(part))?;
    listings.sort_by(|a, b| (&b.seen, b.id).cmp(&(&a.seen, a.id)));
    let shown = listings.into_iter().map(|l| ListingShown {
        id: l.id,
        seller: l.seller,
        price: l.price.as_ref().map(price),
        seen: l.seen,
        note: l.note,
    });
    Ok(shown.collect())
}

fn service(shelf: &Shelf, revisions: &[Revision]) -> Result<Vec<ServiceShown>, Fault> {
    let mut events = Vec::new();
    for revision in revisions {
        for event in shelf.store().find_by::<ServiceEvent>("revision", &Value::Id(revision.id))? {
            let vehicle = match event.vehicle {
                Some(id) => shelf.store().get::<Vehicle>(id)?.and_then(|v| v.name),
                None => None,
            };
            events.push(ServiceShown {
                id: event.id,
                kind: event.kind,
                date: event.date,
                nights: event.nights,
                vehicle,
                revision: revision.label.clone(),
                note: event.note,
            });
        }
    }
    events.sort_by(|a, b| (&b.date, b.id).cmp(&(&a.date, a.id)));
    Ok(events)
}

/// Parts that have the sizes typed so far, nearest first: the same thing may be on the shelf already.
pub(super) fn alike(
    shelf: &Shelf,
    kind: Option<PartKind>,
    typed: &[parts::SizeTyped],
) -> Result<Vec<parts::PartCard>, Fault> {
    let system = shelf.system();
    let sought: Vec<airshelf_store::SizeSought> = typed
        .iter()
        .filter_map(|one| {
            // What cannot be read yet is still being typed.
            let value = super::written::size(one, system).ok()?;
            let count = one.dimension == PartDimension::PleatCount;
            let reading_si = if count { 2.0 } else { 2.0 * super::known::READ_M };
            Some(airshelf_store::SizeSought {
                dimensions: vec![one.dimension],
                si: value.si,
                reach_si: if count { 8.0 } else { (0.01 * value.si).max(3.0 * super::known::READ_M) },
                reading_si,
            })
        })
        .collect();
    if sought.len() < 2 {
        return Ok(Vec::new());
    }
    let only = airshelf_store::PartFilter { kind, status: None };
    let near = shelf.store().parts_by_sizes(&sought, only, MOST_ALIKE)?;
    let alike = near.into_iter().filter(|near| 2 * near.sizes > sought.len() && near.sizes >= 2);
    let found = alike.map(|near| (near.part, Some(parts::how_near(&near, sought.len()))));
    parts::cards(shelf, found, system)
}

/// More than these are no help while typing.
const MOST_ALIKE: usize = 5;
