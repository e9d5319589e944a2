//! Finding parts, assemblies and results by words.

use crate::code::Fault;
use crate::names::{Names, as_written};
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::ids::fold;
use airshelf_catalog::{EntityKind, Records, Uuid};
use airshelf_store::Scope;
use serde::Serialize;
use std::collections::HashSet;

/// `airshelf find`.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Found {
    /// What matches, best first.
    pub hits: Vec<HitReport>,
}

/// Something that matches.
#[derive(Clone, Debug, Serialize)]
pub struct HitReport {
    /// What it is.
    pub kind: &'static str,
    /// Which.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// What else there is to say.
    pub about: String,
    /// The sessions in which it was tested.
    pub sessions: Vec<String>,
}

impl Shelf {
    /// Finds what matches all words, best first.
    ///
    /// # Errors
    /// [`Fault`] if the shelf cannot be read.
    pub fn find(&self, text: &str, limit: usize) -> Result<Found, Fault> {
        let hits = self.store.search(text, limit.max(LOOKED_THROUGH)).map_err(store_fault)?;
        if hits.is_empty() {
            return Ok(Found::default());
        }
        let records = self.store.records(Scope::All).map_err(store_fault)?;
        let names = Names::of(&records);
        let mut seen = HashSet::new();
        let reports = hits.iter().filter_map(|hit| report(&records, &names, hit.kind, hit.id));
        let mut hits: Vec<HitReport> = reports.filter(|hit| seen.insert((hit.kind, hit.id))).collect();
        // PF-1 is what was asked for, and PF-12 only begins like it.
        hits.sort_by_cached_key(|hit| apart(&hit.name, text));
        hits.truncate(limit);
        Ok(Found { hits })
    }
}

/// How many matches are looked through for what is named outright.
const LOOKED_THROUGH: usize = 500;

/// How far a name is from the words looked for: it is them, it has them as words, it has what begins with them.
fn apart(name: &str, text: &str) -> u8 {
    let (name, text) = (fold(name), fold(text));
    let has = |word: &str| name.split_whitespace().any(|own| own == word);
    match name == text {
        true => 0,
        false if text.split_whitespace().all(has) => 1,
        false => 2,
    }
}

fn report(records: &Records, names: &Names, kind: EntityKind, id: Uuid) -> Option<HitReport> {
    let (kind, id, name, about) = match kind {
        EntityKind::Part => part(records, id)?,
        EntityKind::Revision => part(records, records.revisions.iter().find(|r| r.id == id)?.part?)?,
        EntityKind::Measurement => {
            let revision = records.measurements.iter().find(|m| m.id == id)?.revision?;
            part(records, records.revisions.iter().find(|r| r.id == revision)?.part?)?
        }
        EntityKind::Alias => part(records, records.aliases.iter().find(|a| a.id == id)?.part?)?,
        EntityKind::Listing => part(records, records.listings.iter().find(|l| l.id == id)?.part?)?,
        EntityKind::Assembly => {
            let assembly = records.assemblies.iter().find(|a| a.id == id)?;
            ("assembly", id, names.assembly(Some(id)), assembly.note.clone().unwrap_or_default())
        }
        EntityKind::Session => {
            let session = records.sessions.iter().find(|s| s.id == id)?;
            ("session", id, session.name.clone()?, session.date.clone().unwrap_or_default())
        }
        EntityKind::Run => {
            let run = records.runs.iter().find(|r| r.id == id)?;
            let about = run.note.clone().unwrap_or_default();
            ("run", id, names.assembly(run.assembly), about)
        }
        EntityKind::Bench => {
            ("bench", id, records.benches.iter().find(|r| r.id == id)?.name.clone()?, String::new())
        }
        EntityKind::Engine => {
            ("engine", id, records.engines.iter().find(|r| r.id == id)?.name.clone()?, String::new())
        }
        EntityKind::Vehicle => {
            ("vehicle", id, records.vehicles.iter().find(|r| r.id == id)?.name.clone()?, String::new())
        }
        EntityKind::ImportFile => {
            ("file", id, records.import_files.iter().find(|r| r.id == id)?.name.clone()?, String::new())
        }
        EntityKind::Rating => {
            let rating = records.ratings.iter().find(|r| r.id == id)?;
            ("rating", id, rating.item.clone()?, rating.note.clone().unwrap_or_default())
        }
        _ => return None,
    };
    Some(HitReport { kind, id, sessions: sessions(records, names, kind, id), name, about })
}

fn part(records: &Records, id: Uuid) -> Option<(&'static str, Uuid, String, String)> {
    let part = records.parts.iter().find(|p| p.id == id)?;
    let kind = part.kind.map(|k| k.name().to_owned());
    let measured: Vec<String> = records
        .measurements
        .iter()
        .filter(|m| records.revisions.iter().any(|r| Some(r.id) == m.revision && r.part == Some(id)))
        .filter_map(|m| {
            let value = m.value.as_ref()?;
            Some(format!("{} {}", m.dimension?.name(), as_written(value)?))
        })
        .collect();
    let about: Vec<String> =
        [kind, part.name.clone(), part.maker.clone()].into_iter().flatten().chain(measured).collect();
    Some(("part", id, part.tag.clone().or(part.name.clone())?, about.join(", ")))
}

fn sessions(records: &Records, names: &Names, kind: &str, id: Uuid) -> Vec<String> {
    let in_run = |assembly: Uuid| match kind {
        "assembly" => assembly == id,
        "part" => names.layers(assembly).iter().any(|r| names.part_of(*r).is_some_and(|p| p.id == id)),
        _ => false,
    };
    if !matches!(kind, "assembly" | "part") {
        return Vec::new();
    }
    let with: HashSet<Uuid> = records.assemblies.iter().map(|a| a.id).filter(|a| in_run(*a)).collect();
    let mut ids: Vec<Uuid> = records
        .runs
        .iter()
        .filter(|r| r.assembly.is_some_and(|a| with.contains(&a)))
        .filter_map(|r| r.session)
        .collect();
    ids.sort();
    ids.dedup();
    let mut found: Vec<(Option<String>, String)> = ids
        .into_iter()
        .filter_map(|id| records.sessions.iter().find(|s| s.id == id))
        .map(|s| (s.date.clone(), s.name.clone().unwrap_or_default()))
        .collect();
    found.sort();
    found.into_iter().map(|(_, name)| name).collect()
}
