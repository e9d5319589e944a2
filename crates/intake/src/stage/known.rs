//! What the shelf already has, so that importing again adds nothing.

use super::complete::{Completed, HeldRun};
use airshelf_catalog::ids::{first_revision, fold};
use airshelf_catalog::{EntityKind, Part, PartDimension, PartKind, Records, Session, Uuid};
use std::collections::{HashMap, HashSet};

/// Parts, sessions, runs and files that the shelf holds, found by name and identifier.
#[derive(Clone, Debug, Default)]
pub struct Known {
    pub(crate) parts: HashMap<Uuid, Part>,
    /// Folded tags, names and other spellings.
    names: HashMap<String, Vec<Spelled>>,
    /// Values of a revision's dimensions, SI.
    pub(crate) measured: HashMap<(Uuid, PartDimension), Vec<f64>>,
    pub(crate) revisions: HashMap<Uuid, Vec<(String, Uuid)>>,
    pub(crate) benches: HashMap<String, Uuid>,
    pub(crate) people: HashMap<String, Uuid>,
    pub(crate) sessions: HashMap<Uuid, Session>,
    /// Sessions by folded name, the latest one last.
    pub(crate) session_names: HashMap<String, Uuid>,
    pub(crate) session_dates: HashMap<String, Vec<Uuid>>,
    /// Identifiers of ranges, assemblies, revisions, predictions and ratings.
    pub(crate) others: HashSet<Uuid>,
    pub(crate) runs: rustc_hash::FxHashMap<Uuid, HeldRun>,
    pub(crate) files: HashSet<Vec<u8>>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Spelled {
    part: Uuid,
    kind: Option<PartKind>,
    /// A tag or an alias; else only a name, which several parts may share.
    certain: bool,
}

impl Known {
    /// Gathers what records say.
    pub fn of(records: &Records) -> Known {
        let mut known = Known::default();
        known.add(records);
        known
    }

    /// Takes in what was staged, so that the next file of the same import knows it.
    pub fn remember(&mut self, staged: &super::Staged) {
        self.add(&staged.records);
        self.complete(&staged.completed);
    }

    /// Takes in what a file completed of records that are known.
    pub fn complete(&mut self, completed: &[Completed]) {
        for one in completed {
            match one.kind {
                EntityKind::Part => {
                    let Some(part) = self.parts.get_mut(&one.row) else { continue };
                    // What staging made are fields of a part; others would be passed over.
                    let _ = one.put(part);
                    let part = part.clone();
                    self.name(&part);
                }
                EntityKind::Session => {
                    if let Some(session) = self.sessions.get_mut(&one.row) {
                        let _ = one.put(session);
                    }
                }
                EntityKind::Run => {
                    if let Some(run) = self.runs.get_mut(&one.row) {
                        run.fill(one);
                    }
                }
                _ => {}
            }
        }
    }

    /// Whether a file with this hash was imported.
    pub fn has_file(&self, sha256: &[u8]) -> bool {
        self.files.contains(sha256)
    }

    /// Forgets a file and what was made of its rows, as if it had yet to come; parts and sessions stay.
    pub(super) fn forget(&mut self, sha256: &[u8], records: impl IntoIterator<Item = Uuid>) {
        self.files.remove(sha256);
        for id in records {
            self.runs.remove(&id);
            self.others.remove(&id);
        }
    }

    /// Adds records to what is known.
    pub fn add(&mut self, records: &Records) {
        for part in &records.parts {
            self.name(part);
            let better = |held: &Part| held.only_named == Some(true) || part.only_named != Some(true);
            if self.parts.get(&part.id).is_none_or(better) {
                self.parts.insert(part.id, part.clone());
            }
        }
        for alias in &records.aliases {
            if let (Some(spelling), Some(part)) = (&alias.spelling, alias.part) {
                let kind = self.parts.get(&part).and_then(|p| p.kind);
                self.spell(spelling, Spelled { part, kind, certain: true });
            }
        }
        for revision in &records.revisions {
            self.others.insert(revision.id);
            if let (Some(part), Some(label)) = (revision.part, &revision.label) {
                self.revisions.entry(part).or_default().push((fold(label), revision.id));
            }
        }
        for measurement in &records.measurements {
            if let (Some(revision), Some(dimension), Some(value)) =
                (measurement.revision, measurement.dimension, &measurement.value)
            {
                self.measured.entry((revision, dimension)).or_default().push(value.si);
            }
        }
        for bench in &records.benches {
            if let Some(name) = &bench.name {
                self.benches.insert(fold(name), bench.id);
            }
        }
        for person in &records.persons {
            if let Some(name) = &person.name {
                self.people.insert(fold(name), person.id);
            }
        }
        for session in &records.sessions {
            self.sessions.entry(session.id).or_insert_with(|| session.clone());
            if let Some(date) = &session.date {
                self.session_dates.entry(date.clone()).or_default().push(session.id);
            }
            if let Some(name) = &session.name {
                self.session_names.insert(fold(name), session.id);
            }
        }
        self.others.extend(records.bench_ranges.iter().map(|r| r.id));
        self.others.extend(records.assemblies.iter().map(|r| r.id));
        self.others.extend(records.predictions.iter().map(|r| r.id));
        self.others.extend(records.ratings.iter().map(|r| r.id));
        self.runs.extend(records.runs.iter().map(|r| (r.id, HeldRun::of(r))));
        self.files.extend(
            records.import_files.iter().filter(|f| f.undone != Some(true)).filter_map(|f| f.sha256.clone()),
        );
    }

    fn name(&mut self, part: &Part) {
        for (text, certain) in [(&part.tag, true), (&part.name, part.tag.is_none())] {
            if let Some(text) = text {
                self.spell(text, Spelled { part: part.id, kind: part.kind, certain });
            }
        }
    }

    fn spell(&mut self, text: &str, spelled: Spelled) {
        let held = self.names.entry(fold(text)).or_default();
        if !held.contains(&spelled) {
            held.push(spelled);
        }
    }

    /// Finds the part that a text names: by tag or alias, of this kind first, else by a name that only one part has.
    pub(crate) fn part(&self, kind: Option<PartKind>, text: &str) -> Option<Uuid> {
        self.named(kind, &fold(text))
    }

    /// The only part of a kind whose name has all the words of a description with a size: `paper 10x2.5`.
    pub(crate) fn described(&self, kind: PartKind, text: &str) -> Option<Uuid> {
        let wanted = words_of_name(text);
        let worded = wanted.iter().any(|w| w.chars().filter(|c| c.is_alphabetic()).count() > 2);
        let sizes = wanted.iter().filter(|w| w.starts_with(|c: char| c.is_ascii_digit())).count();
        if !worded || sizes < 2 || wanted.len() > 6 {
            return None;
        }
        let fits = |part: &&Part| {
            let own = part.name.as_deref().filter(|_| part.only_named != Some(true)).map(words_of_name);
            part.kind == Some(kind) && own.is_some_and(|own| wanted.iter().all(|word| own.contains(word)))
        };
        let mut fits = self.parts.values().filter(fits);
        let one = fits.next()?;
        fits.next().is_none().then_some(one.id)
    }

    pub(crate) fn named(&self, kind: Option<PartKind>, folded: &str) -> Option<Uuid> {
        let found = self.names.get(folded)?;
        let one = |certain: bool, of_kind: bool| {
            let mut fits = found
                .iter()
                .filter(|s| s.certain == certain && (!of_kind || kind.is_none() || s.kind == kind))
                .map(|s| s.part);
            let first = fits.next()?;
            fits.all(|other| other == first).then_some(first)
        };
        one(true, true).or_else(|| one(true, false)).or_else(|| one(false, true))
    }

    /// Tags and names of the carburetors.
    pub(crate) fn carburetors(&self) -> impl Iterator<Item = &str> {
        let items = self.parts.values().filter(|p| p.kind == Some(PartKind::Carburetor));
        items.flat_map(|p| [p.tag.as_deref(), p.name.as_deref()]).flatten().filter(|name| name.len() > 1)
    }

    /// The revision that a label of a part means; the first where there is none.
    pub(crate) fn revision(&self, part: Uuid, label: Option<&str>) -> Option<Uuid> {
        match label {
            None => Some(first_revision(part)),
            Some(label) => {
                let label = fold(label);
                self.revisions.get(&part)?.iter().find(|r| r.0 == label).map(|r| r.1)
            }
        }
    }
}

/// The words of a name, with the numbers of a size apart: `10x2.5` and `10 × 2.5` are the same.
fn words_of_name(text: &str) -> Vec<String> {
    let mut apart = String::with_capacity(text.len() + 4);
    let all: Vec<char> = text.chars().collect();
    for (at, &c) in all.iter().enumerate() {
        let digit = |at: Option<usize>| at.and_then(|at| all.get(at)).is_some_and(char::is_ascii_digit);
        match c {
            '×' | 'x' | 'X' if digit(at.checked_sub(1)) || digit(Some(at + 1)) => apart.push(' '),
            '.' | ',' if digit(at.checked_sub(1)) && digit(Some(at + 1)) => apart.push('.'),
            c if c.is_alphanumeric() => apart.extend(c.to_lowercase()),
            _ => apart.push(' '),
        }
    }
    apart.split(' ').filter(|w| !w.is_empty() && *w != "x" && *w != "by").map(str::to_owned).collect()
}
