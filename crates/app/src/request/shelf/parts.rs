//! Parts in a list: all, by words, by sizes.

use super::known::Known;
use super::sought::Sought;
use crate::code::Fault;
use crate::names::for_person;
use crate::shelf::Shelf;
use airshelf_catalog::{Part, PartDimension, PartKind, PartStatus, Revision, Uuid, Value};
use airshelf_store::PartFilter;
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
        let parts = ids.into_iter().map(|id| card(shelf, id, None)).collect::<Result<Vec<_>, _>>()?;
        return Ok(PartPage { total, and_more: false, understood: Vec::new(), parts: flat(parts) });
    }
    let found = found(shelf, text, &sought, only)?;
    let total = found.len();
    let stretch = found.into_iter().skip(from).take(count);
    let parts = stretch.map(|(id, near)| card(shelf, id, near)).collect::<Result<Vec<_>, _>>()?;
    Ok(PartPage { total, and_more: total >= MOST, understood: sought.understood, parts: flat(parts) })
}

fn flat(parts: Vec<Option<PartCard>>) -> Vec<PartCard> {
    parts.into_iter().flatten().collect()
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
    let mut revisions: Vec<Revision> = shelf.store().find_by("part", &Value::Id(part))?;
    let made_from: HashSet<Uuid> = revisions.iter().filter_map(|r| r.previous).collect();
    revisions.sort_by(|a, b| (&a.revised, a.id).cmp(&(&b.revised, b.id)));
    let last = revisions.iter().rev().find(|r| !made_from.contains(&r.id)).or(revisions.last());
    Ok(last.cloned())
}

pub(super) fn card(shelf: &Shelf, id: Uuid, near: Option<String>) -> Result<Option<PartCard>, Fault> {
    let Some(part) = shelf.store().get::<Part>(id)? else { return Ok(None) };
    let system = shelf.system();
    let known = match latest(shelf, id)? {
        Some(revision) => Known::load(shelf, revision.id)?,
        None => None,
    };
    let said = |known: &Known| -> Vec<String> {
        let all = known.sizes.iter();
        all.map(|(dimension, size)| format!("{} {}", dimension.name(), for_person(&size.value, system)))
            .collect()
    };
    Ok(Some(PartCard {
        id,
        revision: known.as_ref().map_or_else(|| airshelf_catalog::ids::first_revision(id), Known::id),
        tag: known
            .as_ref()
            .map_or_else(|| part.tag.clone().or(part.name.clone()).unwrap_or_default(), Known::name),
        dimensions: known.as_ref().map(said).unwrap_or_default(),
        kind: part.kind,
        name: part.name.filter(|_| part.tag.is_some()),
        maker: part.maker,
        status: part.status,
        place: part.place,
        near,
        evenings: shelf.store().evenings_of_part(id)?,
    }))
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
