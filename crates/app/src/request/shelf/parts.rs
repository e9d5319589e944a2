//! Parts in a list: all, by words, by sizes.

use super::known::{Known, last_of};
use super::sought::Sought;
use crate::code::Fault;
use crate::names::for_person;
use crate::shelf::Shelf;
use airshelf_catalog::{Part, PartDimension, PartKind, PartStatus, Revision, Uuid, Value};
use airshelf_store::PartFilter;
use airshelf_units::System;
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use ts_rs::TS;

/// A part in a list.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PartCard {
    /// Which.
    pub id: Uuid,
    /// The revision it stands at.
    pub revision: Uuid,
    /// Its tag, else its name, with the revision's letter.
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
    /// How near it is to the sizes looked for.
    pub near: Option<String>,
    /// On how many evenings it was run in an assembly.
    pub evenings: usize,
}

/// A stretch of the parts that were asked for.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PartPage {
    /// How many there are in all.
    pub total: usize,
    /// There are more than were looked through.
    pub and_more: bool,
    /// The sizes that were looked for, such as `OD 14 in`.
    pub understood: Vec<String>,
    /// The stretch.
    pub parts: Vec<PartCard>,
}

/// Most hits of a search that are looked through.
const MOST: usize = 300;

pub(super) fn page(
    shelf: &Shelf,
    text: &str,
    kind: Option<PartKind>,
    status: Option<PartStatus>,
    from: usize,
    count: usize,
) -> Result<PartPage, Fault> {
    let only = PartFilter { kind, status };
    let count = count.min(MOST);
    let system = shelf.system();
    let sought = Sought::read(text, system);
    if sought.words.is_empty() && sought.sizes.is_empty() {
        let (total, ids) = shelf.store().parts_in_order(only, from, count)?;
        let parts = cards(shelf, ids.into_iter().map(|id| (id, None)), system)?;
        return Ok(PartPage { total, and_more: false, understood: Vec::new(), parts });
    }
    let found = found(shelf, text, &sought, only)?;
    let total = found.len();
    let parts = cards(shelf, found.into_iter().skip(from).take(count), system)?;
    Ok(PartPage { total, and_more: total >= MOST, understood: sought.understood, parts })
}

/// What words and sizes both say comes alone; where nothing does, a lone number may be part of a tag.
fn found(
    shelf: &Shelf,
    text: &str,
    sought: &Sought,
    only: PartFilter,
) -> Result<Vec<(Uuid, Option<String>)>, Fault> {
    let store = shelf.store();
    let by_words = match (&*sought.words, sought.sizes.len()) {
        ("", 1) => store.parts_by_words(text, only, MOST)?,
        ("", _) => Vec::new(),
        (words, _) => store.parts_by_words(words, only, MOST)?,
    };
    let by_sizes = match sought.sizes.is_empty() {
        true => Vec::new(),
        false => store.parts_by_sizes(&sought.sizes, only, MOST)?,
    };
    let near: HashMap<Uuid, String> =
        by_sizes.iter().map(|part| (part.part, how_near(part, sought.sizes.len()))).collect();
    let named: HashSet<Uuid> = by_words.iter().copied().collect();
    if !sought.words.is_empty() && !sought.sizes.is_empty() {
        let both: Vec<_> = by_sizes.iter().filter(|part| named.contains(&part.part)).collect();
        if !both.is_empty() {
            return Ok(both.into_iter().map(|p| (p.part, near.get(&p.part).cloned())).collect());
        }
    }
    let mut seen = HashSet::new();
    // A tag that begins with what was typed stands before what is only as big.
    let ids = by_words.into_iter().chain(by_sizes.iter().map(|part| part.part));
    let all = ids.filter(|id| seen.insert(*id)).map(|id| (id, near.get(&id).cloned()));
    Ok(all.take(MOST).collect())
}

/// How near a part is, in words.
pub(super) fn how_near(part: &airshelf_store::NearPart, of: usize) -> String {
    let sizes = match (part.sizes, of) {
        (has, of) if has == of => String::new(),
        (has, of) => format!(", {has} of {of} sizes"),
    };
    // The distance is a root of a sum: two readings of one size each are twice 1.
    let near = match part.distance / (part.sizes as f64).sqrt().max(1.0) {
        d if d <= 0.05 => "the same",
        d if d <= 2.0 => "within reading error",
        d if d <= 6.0 => "near",
        _ => "not far",
    };
    format!("{near}{sizes}")
}

/// The revision that a part stands at: the one that no other was made from.
pub(super) fn latest(shelf: &Shelf, part: Uuid) -> Result<Option<Revision>, Fault> {
    Ok(last_of(shelf.store().find_by("part", &Value::Id(part))?))
}

/// Parts as a list shows them, in the order given, each with how near it is.
pub(super) fn cards(
    shelf: &Shelf,
    found: impl Iterator<Item = (Uuid, Option<String>)>,
    system: System,
) -> Result<Vec<PartCard>, Fault> {
    let found: Vec<(Uuid, Option<String>)> = found.collect();
    let ids: Vec<Uuid> = found.iter().map(|(id, _)| *id).collect();
    let mut rows = shelf.store().part_rows(&ids)?;
    let mut parts: HashMap<Uuid, Part> = rows.parts.drain(..).map(|part| (part.id, part)).collect();
    let mut cards = Vec::new();
    for (id, near) in found {
        let Some(part) = parts.remove(&id) else { continue };
        let known = Known::latest(shelf, &part, &rows)?;
        let evenings = rows.evenings.get(&id).copied().unwrap_or(0);
        cards.push(card(part, known.as_ref(), near, evenings, system));
    }
    Ok(cards)
}

fn card(
    part: Part,
    known: Option<&Known>,
    near: Option<String>,
    evenings: usize,
    system: System,
) -> PartCard {
    let said = |known: &Known| -> Vec<String> {
        let all = known.sizes.iter();
        all.map(|(dimension, size)| format!("{} {}", dimension.name(), for_person(&size.value, system)))
            .collect()
    };
    PartCard {
        id: part.id,
        revision: known.map_or_else(|| airshelf_catalog::ids::first_revision(part.id), Known::id),
        tag: known.map_or_else(|| part.tag.clone().or(part.name.clone()).unwrap_or_default(), Known::name),
        dimensions: known.map(said).unwrap_or_default(),
        kind: part.kind,
        name: part.name.filter(|_| part.tag.is_some()),
        maker: part.maker,
        status: part.status,
        place: part.place,
        near,
        evenings,
    }
}

/// A dimension that was typed.
#[derive(Clone, Debug, serde::Deserialize, TS)]
pub struct SizeTyped {
    /// Which.
    pub dimension: PartDimension,
    /// What was typed.
    pub text: String,
    /// Where it comes from; none: measured.
    pub source: Option<airshelf_catalog::Source>,
    /// Its standard uncertainty in SI units, where several places were measured.
    pub uncertainty_si: Option<f64>,
}
