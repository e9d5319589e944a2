//! Choosing what goes on the bench: assemblies and parts, those used last first.

use crate::code::Fault;
use crate::names::Names;
use crate::shelf::Shelf;
use airshelf_catalog::ids::first_revision;
use airshelf_catalog::{
    EntityKind, Part, PartKind, PartStatus, Restraint, Revision, Run, Service, Session, Uuid, Value,
};
use serde::Serialize;
use std::collections::HashSet;
use ts_rs::TS;

/// What may be put on the bench.
#[derive(Clone, Debug, Serialize, TS)]
pub struct BenchChoices {
    /// Assemblies that were on it, the last first.
    pub before: Vec<ChosenBefore>,
    /// Parts, those used last first.
    pub parts: Vec<ChosenPart>,
    /// How many parts there are beyond these.
    pub left_off: usize,
}

/// An assembly that was on the bench.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ChosenBefore {
    /// Which.
    pub assembly: Uuid,
    /// What people call it.
    pub what: String,
    /// Its parts, from the carburetor up, with the stud.
    pub parts: Vec<ChosenPart>,
    /// How it was held.
    pub restraint: Option<Restraint>,
    /// The state of its element.
    pub service: Option<Service>,
    /// Runs with it this evening; none where it was another evening.
    pub tonight: usize,
}

/// A part as it can be put on.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct ChosenPart {
    /// The revision.
    pub id: Uuid,
    /// Its tag, with the revision's letter.
    pub name: String,
    /// What it is.
    pub kind: Option<PartKind>,
    /// What people call it, and who made it.
    pub about: String,
    /// The state it was last said to be in.
    pub service: Option<Service>,
}

/// Earlier evenings that are looked through.
const EARLIER: usize = 3;
/// Assemblies offered.
const ASSEMBLIES: usize = 12;
/// Parts offered at once.
const PARTS: usize = 60;
/// Hits of a search that are looked through.
const HITS: usize = 400;

pub(super) fn chosen(names: &Names, revision: Uuid) -> ChosenPart {
    let part = names.part_of(revision);
    ChosenPart { name: names.revision(revision), ..described(revision, None, part) }
}

fn described(revision: Uuid, label: Option<&str>, part: Option<&Part>) -> ChosenPart {
    let tag = part.and_then(|p| p.tag.as_deref().or(p.name.as_deref())).unwrap_or("?");
    let words = part.map(|p| [p.name.as_deref().filter(|n| *n != tag), p.maker.as_deref()]);
    ChosenPart {
        id: revision,
        name: label.map_or_else(|| tag.to_owned(), |label| format!("{tag} {label}")),
        kind: part.and_then(|p| p.kind),
        about: words.into_iter().flatten().flatten().collect::<Vec<_>>().join(", "),
        service: part.and_then(|p| p.service),
    }
}

pub(super) fn choices(
    shelf: &Shelf,
    session: Uuid,
    kind: Option<PartKind>,
    text: &str,
) -> Result<BenchChoices, Fault> {
    let mut evenings = vec![session];
    if let Some(bench) = shelf.store().get::<Session>(session)?.and_then(|session| session.bench) {
        let mut others: Vec<Session> = shelf.store().find_by("bench", &Value::Id(bench))?;
        others.retain(|other| other.id != session);
        others.sort_by_cached_key(|s| std::cmp::Reverse((s.date.clone(), s.id)));
        evenings.extend(others.iter().take(EARLIER).map(|s| s.id));
    }
    let records = shelf.store().evenings(&evenings)?;
    let names = Names::of(&records);
    let mut runs: Vec<&Run> = records.runs.iter().filter(|run| run.assembly.is_some()).collect();
    let nth = |run: &Run| evenings.iter().position(|id| run.session == Some(*id));
    runs.sort_by_key(|run| (nth(run), std::cmp::Reverse(run.order_number)));
    let before = before(&runs, &names, session, text);
    let mut recent: Vec<Uuid> = Vec::new();
    for run in &runs {
        let layers = run.assembly.map(|assembly| names.layers(assembly)).unwrap_or_default();
        for revision in layers.into_iter().chain(run.stud) {
            if !recent.contains(&revision) {
                recent.push(revision);
            }
        }
    }
    let mut parts: Vec<ChosenPart> = Vec::new();
    for part in fitting(shelf, kind, text)? {
        let revisions: Vec<Revision> = shelf.store().find_by("part", &Value::Id(part.id))?;
        let mut revisions: Vec<&Revision> = revisions.iter().collect();
        // The latest revision first: that is what the part is now.
        revisions.sort_by_key(|r| std::cmp::Reverse((r.id != first_revision(part.id), r.label.clone())));
        parts.extend(revisions.into_iter().map(|r| described(r.id, r.label.as_deref(), Some(&part))));
    }
    let used = |part: &ChosenPart| recent.iter().position(|id| *id == part.id).unwrap_or(usize::MAX);
    parts.sort_by_cached_key(used);
    let left_off = parts.len().saturating_sub(PARTS);
    parts.truncate(PARTS);
    Ok(BenchChoices { before, parts, left_off })
}

fn before(runs: &[&Run], names: &Names, session: Uuid, text: &str) -> Vec<ChosenBefore> {
    let wanted: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
    let mut seen: HashSet<(Uuid, Option<Restraint>, Option<Service>)> = HashSet::new();
    let mut before = Vec::new();
    for run in runs {
        let Some(assembly) = run.assembly else { continue };
        let what = names.assembly(Some(assembly));
        let told = what.to_lowercase();
        let fits = wanted.iter().all(|word| told.contains(word));
        if !fits || !seen.insert((assembly, run.restraint, run.service)) {
            continue;
        }
        let parts = names.layers(assembly).into_iter().chain(run.stud);
        let again = |r: &&&Run| {
            r.session == Some(session)
                && (r.assembly, r.restraint, r.service) == (run.assembly, run.restraint, run.service)
        };
        before.push(ChosenBefore {
            assembly,
            what,
            parts: parts.map(|revision| chosen(names, revision)).collect(),
            restraint: run.restraint,
            service: run.service,
            tonight: runs.iter().filter(again).count(),
        });
        if before.len() == ASSEMBLIES {
            break;
        }
    }
    before
}

/// The parts of that kind, or that the words find, that somebody could put on.
fn fitting(shelf: &Shelf, kind: Option<PartKind>, text: &str) -> Result<Vec<Part>, Fault> {
    let store = shelf.store();
    let mut parts: Vec<Part> = match (text.trim().is_empty(), kind) {
        (true, Some(kind)) => store.find_by("kind", &Value::Int(kind.code()))?,
        (true, None) => store.load()?,
        (false, _) => {
            let mut seen = HashSet::new();
            let mut found = Vec::new();
            for hit in store.search(text, HITS)? {
                let part = match hit.kind {
                    EntityKind::Part => Some(hit.id),
                    EntityKind::Revision => store.get::<Revision>(hit.id)?.and_then(|r| r.part),
                    _ => None,
                };
                if let Some(id) = part.filter(|id| seen.insert(*id)) {
                    found.extend(store.get::<Part>(id)?);
                }
            }
            found
        }
    };
    parts.retain(|part| {
        kind.is_none_or(|kind| part.kind == Some(kind))
            && part.kind != Some(PartKind::Carburetor)
            && !matches!(part.status, Some(PartStatus::Wanted | PartStatus::Sold | PartStatus::Scrapped))
    });
    parts.sort_by_cached_key(|part| part.tag.clone().or(part.name.clone()));
    Ok(parts)
}

/// The layers of chosen parts as assemblies hold them, from the carburetor up, and the stud.
///
/// # Errors
/// [`Fault`] if a part is not on the shelf.
pub(super) fn layers_of(shelf: &Shelf, chosen: &[Uuid]) -> Result<(Vec<Uuid>, Option<Uuid>), Fault> {
    /// As a sheet's columns are read, so that the same parts are the same assembly.
    const ORDER: [PartKind; 5] =
        [PartKind::Spacer, PartKind::Base, PartKind::VelocityStack, PartKind::Filter, PartKind::Lid];
    let mut stud = None;
    let mut layers = Vec::new();
    for id in chosen {
        let missing =
            || Fault::new(crate::code::Code::NotFound, "a chosen part is not on the shelf any more");
        let revision: Revision = shelf.store().get(*id)?.ok_or_else(missing)?;
        let part = revision.part.map(|part| shelf.store().get::<Part>(part)).transpose()?.flatten();
        match part.and_then(|part| part.kind) {
            Some(PartKind::Stud) => stud = Some(*id),
            kind => {
                let at = ORDER.iter().position(|one| Some(*one) == kind).unwrap_or(ORDER.len());
                layers.push((at, *id));
            }
        }
    }
    layers.sort_by_key(|(at, _)| *at);
    Ok((layers.into_iter().map(|(_, id)| id).collect(), stud))
}
