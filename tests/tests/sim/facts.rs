//! What must be there in the end: a plain list of what people were told is saved.
//!
//! It knows nothing of stamps, vectors or merging. It sees what a store shows before and after each deed on it: a text
//! that came is a fact, one that went was replaced by whoever looked at it. Every text is written only once, so that a
//! text names its fact. In the end every fact that nobody replaced shows or is listed as a conflict, every reading is
//! held, and every row stands that somebody wrote about without the deleter having seen it.

use crate::device::Device;
use crate::sheets;
use airshelf_catalog::model::{Part, Reading};
use airshelf_catalog::{EntityKind, Uuid, Value};
use airshelf_store::Store;
use std::collections::{BTreeMap, BTreeSet};

/// A field of a row.
pub type Place = (Uuid, &'static str);

/// The texts that a store holds of every part and reading: what shows, and what is listed beside it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Seen {
    pub alive: BTreeSet<Uuid>,
    pub standing: BTreeMap<Place, BTreeSet<String>>,
    pub shown: BTreeMap<Place, String>,
}

/// The fields that are followed.
pub const FIELDS: [&str; 4] = ["tag", "note", "place", "condition"];

impl Seen {
    /// Looks at a store.
    pub fn of(store: &Store) -> Seen {
        let mut seen = Seen::default();
        let mut put = |place: Place, text: &Option<String>| {
            if let Some(text) = text {
                seen.standing.entry(place).or_default().insert(text.clone());
                seen.shown.insert(place, text.clone());
            }
        };
        let parts = store.every::<Part>();
        for part in &parts {
            let texts = [&part.tag, &part.note, &part.place, &part.condition];
            for (field, text) in FIELDS.into_iter().zip(texts) {
                put((part.id, field), text);
            }
        }
        let readings = store.every::<Reading>();
        for reading in &readings {
            put((reading.id, "struck"), &reading.struck);
        }
        for conflict in store.conflicts().unwrap() {
            let field = FIELDS.into_iter().chain(["struck"]).find(|name| *name == conflict.field.name);
            let followed = matches!(conflict.kind, EntityKind::Part | EntityKind::Reading);
            if let (Some(field), true) = (field, followed) {
                for live in &conflict.others {
                    if let Value::Text(text) = &live.value {
                        seen.standing.entry((conflict.id, field)).or_default().insert(text.clone());
                    }
                }
            }
        }
        seen.alive.extend(parts.iter().map(|part| part.id));
        seen.alive.extend(readings.iter().map(|reading| reading.id));
        seen
    }

    fn texts(&self, row: Uuid) -> BTreeSet<String> {
        let of_row = self.standing.iter().filter(|((id, _), _)| *id == row);
        of_row.flat_map(|(_, texts)| texts.iter().cloned()).collect()
    }
}

/// Reading what is in sight or hidden, but not deleted.
trait Every {
    fn every<E: airshelf_catalog::Entity>(&self) -> Vec<E>;
}

impl Every for Store {
    fn every<E: airshelf_catalog::Entity>(&self) -> Vec<E> {
        self.load::<E>().unwrap()
    }
}

struct Fact {
    place: Place,
    /// What somebody wrote who had looked at it; none where they left a blank.
    replaced_by: Vec<Option<String>>,
    /// Written again under the same text, by an undo: no longer followed.
    again: bool,
}

struct Deleted {
    row: Uuid,
    /// What the deleter had seen of the row.
    seen: BTreeSet<String>,
    blind_to_condition: bool,
}

#[derive(Default)]
struct Imports {
    made: BTreeSet<String>,
    taken_back: BTreeSet<String>,
}

/// The list.
#[derive(Default)]
pub struct Facts {
    facts: BTreeMap<String, Fact>,
    deleted: Vec<Deleted>,
    readings: BTreeMap<Uuid, f64>,
    /// The imports of each sheet, and those that whoever took the sheet back had seen.
    imports: BTreeMap<u8, Imports>,
    blobs: BTreeMap<[u8; 32], Vec<u8>>,
}

impl Facts {
    /// Takes note of what a deed on a device came to. One that does not settle or undo replaces only what showed.
    pub fn note(&mut self, device: &Device, before: &Seen, after: &Seen, may_settle: bool) {
        for (place, texts) in &before.standing {
            if !after.alive.contains(&place.0) {
                continue;
            }
            let stand = after.standing.get(place).cloned().unwrap_or_default();
            let came: Vec<&String> = stand.difference(texts).collect();
            for gone in texts.difference(&stand) {
                let showed = before.shown.get(place) == Some(gone);
                assert!(showed || may_settle, "\"{gone}\" was listed beside what showed, and is gone");
                if let Some(fact) = self.facts.get_mut(gone) {
                    // What replaced it is what came, or what was there already and was settled upon.
                    let by = came.first().copied().or(stand.first());
                    fact.replaced_by.push(by.cloned());
                }
            }
        }
        let back: BTreeSet<Uuid> = after.alive.difference(&before.alive).copied().collect();
        for (text, fact) in &mut self.facts {
            // An undo that brought the row back may have put back what stood before this text.
            let shows = after.standing.get(&fact.place).is_some_and(|texts| texts.contains(text));
            fact.again |= back.contains(&fact.place.0) && !shows;
        }
        for (place, texts) in &after.standing {
            if back.contains(&place.0) && self.facts.values().any(|fact| fact.place.0 == place.0) {
                continue;
            }
            for text in texts {
                if before.standing.get(place).is_some_and(|held| held.contains(text)) {
                    continue;
                }
                let fresh = Fact { place: *place, replaced_by: vec![], again: false };
                let told = self.facts.contains_key(text);
                let fact = self.facts.entry(text.clone()).or_insert(fresh);
                fact.again |= told && !text.starts_with("sheet");
            }
        }
        for row in before.alive.difference(&after.alive) {
            let seen = before.texts(*row);
            let blind_to_condition = device.machine.is_old();
            self.deleted.push(Deleted { row: *row, seen, blind_to_condition });
        }
    }

    /// A reading was saved.
    pub fn reading(&mut self, id: Uuid, flow_m3_s: f64) {
        self.readings.insert(id, flow_m3_s);
    }

    /// A sheet was imported.
    pub fn imported(&mut self, sheet: u8, label: String) {
        self.imports.entry(sheet).or_default().made.insert(label);
    }

    /// A sheet was taken back by somebody who had seen these imports of it.
    pub fn taken_back(&mut self, sheet: u8, seen: BTreeSet<String>) {
        self.imports.entry(sheet).or_default().taken_back.extend(seen);
    }

    /// Whether a row may be out of sight, since everybody's import of it was taken back by somebody who had seen it.
    fn may_be_hidden(&self, row: Uuid) -> bool {
        if row == sheets::shared() {
            return self.imports.values().any(|imports| !imports.taken_back.is_empty());
        }
        let imports = sheets::only_on(row).and_then(|sheet| self.imports.get(&sheet));
        imports.is_some_and(|i| !i.taken_back.is_empty() && i.made.is_subset(&i.taken_back))
    }

    /// Somebody undid what their older program does not show: what stands of it now is not followed.
    pub fn undone_blindly(&mut self) {
        self.facts.values_mut().filter(|fact| fact.place.1 == "condition").for_each(|fact| fact.again = true);
    }

    /// A photo was saved.
    pub fn blob(&mut self, hash: [u8; 32], bytes: Vec<u8>) {
        self.blobs.insert(hash, bytes);
    }

    /// The photos saved.
    pub fn blobs(&self) -> &BTreeMap<[u8; 32], Vec<u8>> {
        &self.blobs
    }

    /// Whether the deleter knew of a fact, or of what replaced it; what a blank replaced is taken as known.
    fn was_seen(&self, text: &str, by: &Deleted) -> bool {
        let mut open = vec![text.to_owned()];
        let mut met = BTreeSet::new();
        while let Some(text) = open.pop() {
            if by.seen.contains(&text) {
                return true;
            }
            let Some(fact) = self.facts.get(&text) else { return true };
            if fact.again || (by.blind_to_condition && fact.place.1 == "condition") {
                return true;
            }
            for next in &fact.replaced_by {
                match next {
                    None => return true,
                    Some(next) if met.insert(next.clone()) => open.push(next.clone()),
                    Some(_) => {}
                }
            }
        }
        false
    }

    /// Whether a row must stand: against every delete, somebody wrote what its deleter had not seen.
    fn must_stand(&self, row: Uuid) -> bool {
        self.deleted.iter().filter(|deleted| deleted.row == row).all(|deleted| {
            let mut facts = self.facts.iter().filter(|(_, fact)| fact.place.0 == row);
            facts.any(|(text, _)| !self.was_seen(text, deleted))
        })
    }

    /// What is missing in a store that is up to date.
    pub fn missing(&self, store: &Store) -> Vec<String> {
        let seen = Seen::of(store);
        let mut missing = Vec::new();
        for (text, fact) in &self.facts {
            let (row, field) = fact.place;
            if self.may_be_hidden(row) || !self.must_stand(row) {
                continue;
            }
            if !seen.alive.contains(&row) {
                missing.push(format!("row {row} with {field} \"{text}\" is gone"));
            } else if fact.replaced_by.is_empty()
                && !fact.again
                && !seen.standing.get(&fact.place).is_some_and(|held| held.contains(text))
            {
                missing.push(format!("{field} \"{text}\" of {row} neither shows nor is listed"));
            }
        }
        for (id, flow) in &self.readings {
            match store.get::<Reading>(*id).unwrap() {
                None => missing.push(format!("reading {id} is gone")),
                Some(reading) if reading.flow.as_ref().map(|flow| flow.si) != Some(*flow) => {
                    missing.push(format!("reading {id} says another flow"));
                }
                Some(_) if !seen.alive.contains(id) && !self.may_be_hidden(*id) => {
                    missing.push(format!("reading {id} is out of sight"));
                }
                Some(_) => {}
            }
        }
        missing
    }
}
