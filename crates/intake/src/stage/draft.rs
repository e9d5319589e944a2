//! What one file has become so far: records, and the names already met in it.

use super::complete::Completed;
use super::known::Known;
use super::terms::own_name;
use super::{Conversion, Convert, Staged};
use airshelf_catalog::ids::{Derived, Layer, assembly, first_revision, fold, named_part, pack_layers};
use airshelf_catalog::{
    AlsoAt, Assembly, Bench, BenchRange, Measurement, Part, PartDimension, PartKind, Person, Quantity,
    Quarantined, Records, Revision, Uuid,
};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};

/// A place in the file.
#[derive(Clone, Copy, Debug)]
pub(crate) struct At {
    pub table: Uuid,
    pub row: u32,
}

pub(crate) struct Draft<'k, 'c> {
    pub known: &'k Known,
    pub records: Records,
    pub staged: Staged,
    /// Hears of every measured cell; lent to who reads the cells of runs.
    pub convert: Option<&'c mut Convert<'c>>,
    /// Revisions by kind and the text that named them.
    named: HashMap<PartKind, HashMap<String, Uuid>>,
    assemblies: FxHashMap<Vec<Uuid>, Uuid>,
    /// The layers last looked for.
    stack: Vec<Uuid>,
    /// Parts put down, with their place in the records.
    parts: HashMap<Uuid, usize>,
    /// Those of them that a table of this file lists.
    listed: HashSet<Uuid>,
    kinds: HashMap<Uuid, PartKind>,
    /// Sessions put down, with their bench.
    pub sessions: HashMap<Uuid, Option<Uuid>>,
    /// Item and range that a page says of its own rows in a session of the shelf that has none.
    pub paged: HashMap<Uuid, (Option<Uuid>, Option<Uuid>)>,
    /// Lists of the shelf that turned out to have an order.
    pub ordered: HashSet<Uuid>,
    benches: HashMap<String, Uuid>,
    ranges: HashMap<(Option<Uuid>, u64), Uuid>,
    benchless: HashMap<Uuid, Uuid>,
    people: HashMap<String, Uuid>,
    measured: HashSet<Uuid>,
    ids: FxHashSet<Uuid>,
    revisions: HashSet<Uuid>,
}

impl<'k, 'c> Draft<'k, 'c> {
    pub fn new(known: &'k Known, convert: &'c mut Convert<'c>) -> Self {
        Draft {
            known,
            records: Records::default(),
            staged: Staged::default(),
            convert: Some(convert),
            named: HashMap::new(),
            assemblies: HashMap::default(),
            stack: Vec::new(),
            parts: HashMap::new(),
            listed: HashSet::new(),
            kinds: HashMap::new(),
            sessions: HashMap::new(),
            paged: HashMap::new(),
            ordered: HashSet::new(),
            benches: HashMap::new(),
            ranges: HashMap::new(),
            benchless: HashMap::new(),
            people: HashMap::new(),
            measured: HashSet::new(),
            ids: HashSet::default(),
            revisions: HashSet::new(),
        }
    }

    /// Tells of a measured cell.
    pub fn converted(&mut self, conversion: Conversion<'_>) {
        if let Some(convert) = &mut self.convert {
            convert(conversion);
        }
    }

    /// The revision that a text in a column of such parts names; a part that nobody listed gets a row of its own.
    pub fn revision(&mut self, kind: PartKind, text: &str, at: At) -> Uuid {
        if let Some(&revision) = self.named.get(&kind).and_then(|names| names.get(text)) {
            return revision;
        }
        let revision = self.find_revision(kind, text, at);
        self.named.entry(kind).or_default().insert(text.to_owned(), revision);
        revision
    }

    /// The revision of a part that a label names: under the whole text (`solid lid`) where a part is called so, else
    /// without the word for its kind.
    pub fn labelled(&mut self, kind: PartKind, text: &str, at: At) -> Uuid {
        let whole = self.known.part(Some(kind), text).is_some() || self.own_part(kind, text).is_some();
        self.revision(kind, if whole { text } else { own_name(kind, text) }, at)
    }

    fn find_revision(&mut self, kind: PartKind, text: &str, at: At) -> Uuid {
        let text = text.trim();
        let (name, label) = split_revision(text);
        if let Some(part) = self.known.part(Some(kind), text) {
            self.note_kind(part, kind);
            return first_revision(part);
        }
        let part = match self.known.part(Some(kind), name) {
            Some(part) => {
                self.note_kind(part, kind);
                part
            }
            None => {
                let own = self.own_part(kind, name);
                let described = || self.known.described(kind, name);
                match own.or_else(|| described().inspect(|part| self.note_kind(*part, kind))) {
                    Some(part) => part,
                    None => {
                        let part = named_part(kind, name);
                        self.name_part(part, kind, name, at);
                        part
                    }
                }
            }
        };
        self.revision_of(part, label)
    }

    fn note_kind(&mut self, part: Uuid, kind: PartKind) {
        let kind = self.known.parts.get(&part).and_then(|p| p.kind).unwrap_or(kind);
        self.kinds.insert(first_revision(part), kind);
    }

    /// A part that this file lists, by its tag; of another kind where only that exists.
    fn own_part(&self, kind: PartKind, name: &str) -> Option<Uuid> {
        let part = named_part(kind, name);
        if self.parts.contains_key(&part) {
            return Some(part);
        }
        PartKind::ALL.iter().map(|k| named_part(*k, name)).find(|p| self.listed.contains(p))
    }

    fn name_part(&mut self, part: Uuid, kind: PartKind, name: &str, at: At) {
        self.parts.insert(part, self.records.parts.len());
        self.kinds.insert(first_revision(part), kind);
        self.records.parts.push(Part {
            id: part,
            tag: Some(name.to_owned()),
            kind: Some(kind),
            only_named: Some(true),
            table: Some(at.table),
            row: Some(i64::from(at.row)),
            ..Part::default()
        });
        self.first_revision(part);
    }

    /// Puts down the revision that comes with a part.
    pub fn first_revision(&mut self, part: Uuid) {
        let id = first_revision(part);
        if self.revisions.insert(id) && !self.known.others.contains(&id) {
            self.records.revisions.push(Revision { id, part: Some(part), ..Revision::default() });
        }
    }

    fn revision_of(&mut self, part: Uuid, label: Option<&str>) -> Uuid {
        let first = first_revision(part);
        let Some(label) = label else { return first };
        if let Some(known) = self.known.revision(part, Some(label)) {
            return known;
        }
        let id = Derived::new("revision").id(Some(part)).folded(label).finish();
        if self.revisions.insert(id) {
            self.records.revisions.push(Revision {
                id,
                part: Some(part),
                label: Some(label.to_owned()),
                previous: Some(first),
                ..Revision::default()
            });
        }
        if let Some(&kind) = self.kinds.get(&first) {
            self.kinds.insert(id, kind);
        }
        id
    }

    /// Takes in a part that a table lists.
    pub fn list_part(&mut self, part: Part) {
        let kind = part.kind.unwrap_or(PartKind::Other);
        self.kinds.insert(first_revision(part.id), kind);
        self.listed.insert(part.id);
        if let Entry::Vacant(place) = self.parts.entry(part.id) {
            let id = part.id;
            place.insert(self.records.parts.len());
            self.records.parts.push(part);
            self.first_revision(id);
        }
    }

    /// Whether a table of this file lists the part.
    pub fn is_listed(&self, part: &Uuid) -> bool {
        self.listed.contains(part)
    }

    /// The part as this file has it so far.
    pub fn part(&mut self, part: &Uuid) -> Option<&mut Part> {
        self.parts.get(part).map(|at| &mut self.records.parts[*at])
    }

    /// Notes what this file says of a record that the shelf has.
    pub fn complete(&mut self, completed: Completed) {
        if !completed.is_empty() {
            self.staged.completed.push(completed);
        }
    }

    /// A part that the shelf has, and that a table of this file now lists.
    pub fn list_known(&mut self, part: Uuid, kind: PartKind) {
        self.kinds.insert(first_revision(part), kind);
        self.listed.insert(part);
    }

    /// The kind of the part behind a revision, where it is not the one that its column says.
    pub fn kind_of(&self, revision: &Uuid, column: PartKind) -> PartKind {
        self.kinds.get(revision).copied().unwrap_or(column)
    }

    /// The assembly of those revisions, in the order from the item up.
    pub fn assembly(&mut self, layers: &mut [(PartKind, Uuid)]) -> Option<Uuid> {
        if layers.is_empty() {
            return None;
        }
        layers.sort_by_key(|l| rank(l.0));
        self.stack.clear();
        self.stack.extend(layers.iter().map(|l| l.1));
        if let Some(&id) = self.assemblies.get(&self.stack) {
            return Some(id);
        }
        let key = self.stack.clone();
        let stacked: Vec<Layer> = key.iter().map(|r| Layer::of(*r)).collect();
        let id = assembly(&stacked);
        if !self.known.others.contains(&id) {
            self.records.assemblies.push(Assembly {
                id,
                layers: Some(pack_layers(&stacked)),
                ..Assembly::default()
            });
        }
        self.assemblies.insert(key, id);
        Some(id)
    }

    pub fn bench(&mut self, name: &str) -> Uuid {
        if let Some(&id) = self.benches.get(name) {
            return id;
        }
        let folded = fold(name);
        let known = self.known.benches.get(&folded).copied();
        let id = known.unwrap_or_else(|| Derived::new("bench").folded(name).finish());
        if known.is_none() && self.ids.insert(id) {
            self.records.benches.push(Bench { id, name: Some(name.to_owned()), ..Bench::default() });
        }
        self.benches.insert(name.to_owned(), id);
        id
    }

    pub fn range(&mut self, bench: Option<Uuid>, full_scale: &Quantity) -> Uuid {
        let key = (bench, full_scale.si.to_bits());
        if let Some(&id) = self.ranges.get(&key) {
            return id;
        }
        let id = Derived::new("bench_range").id(bench).real(Some(full_scale.si)).finish();
        if !self.known.others.contains(&id) && self.ids.insert(id) {
            self.records.bench_ranges.push(BenchRange {
                id,
                bench,
                full_scale: Some(full_scale.clone()),
                ..BenchRange::default()
            });
        }
        self.ranges.insert(key, id);
        if bench.is_some() {
            let benchless = Derived::new("bench_range").id(None).real(Some(full_scale.si)).finish();
            self.benchless.insert(id, benchless);
        }
        id
    }

    /// The range of as much that belongs to no bench, for one of this file that belongs to one.
    pub fn benchless(&self, range: Uuid) -> Option<Uuid> {
        self.benchless.get(&range).copied()
    }

    pub fn person(&mut self, name: &str) -> Uuid {
        let name = name.trim();
        if let Some(&id) = self.people.get(name) {
            return id;
        }
        let known = self.known.people.get(&fold(name)).copied();
        let id = known.unwrap_or_else(|| Derived::new("person").folded(name).finish());
        if known.is_none() && self.ids.insert(id) {
            self.records.persons.push(Person { id, name: Some(name.to_owned()) });
        }
        self.people.insert(name.to_owned(), id);
        id
    }

    /// Puts down a dimension of a revision; the same value of one revision is put down once.
    pub fn measure(
        &mut self,
        revision: Uuid,
        dimension: PartDimension,
        value: Quantity,
        at: At,
        column: usize,
    ) {
        let id = Derived::new("measurement")
            .id(Some(revision))
            .int(Some(dimension.code()))
            .real(Some(value.si))
            .finish();
        let same = |held: &f64| (held - value.si).abs() <= 1e-9 * value.si.abs();
        let known = self.known.measured.get(&(revision, dimension)).is_some_and(|v| v.iter().any(same));
        if known || !self.measured.insert(id) {
            return;
        }
        self.records.measurements.push(Measurement {
            id,
            revision: Some(revision),
            dimension: Some(dimension),
            value: Some(value),
            table: Some(at.table),
            row: Some(i64::from(at.row)),
            column: Some(column as i64),
        });
    }

    /// An identifier that no other row of this file has: the first free occurrence.
    pub fn free_id(&mut self, key: &Derived) -> Uuid {
        let mut occurrence = 1;
        loop {
            let id = key.clone().int(Some(occurrence)).finish();
            if self.ids.insert(id) {
                return id;
            }
            occurrence += 1;
        }
    }

    /// Takes an identifier that no other row of this file has; gives whether it was free.
    pub fn take_id(&mut self, id: Uuid) -> bool {
        self.ids.insert(id)
    }

    /// Makes room for as many records.
    pub fn expect_runs(&mut self, count: usize) {
        self.ids.reserve(count);
        self.records.runs.reserve(count);
        self.records.readings.reserve(count);
    }

    pub fn also_at(&mut self, record: Uuid, at: At, column: Option<usize>) {
        let column = column.map(|c| c as i64);
        let id = Derived::new("also_at")
            .id(Some(record))
            .id(Some(at.table))
            .int(Some(i64::from(at.row)))
            .int(column)
            .finish();
        self.records.also_at.push(AlsoAt {
            id,
            record: Some(record),
            table: Some(at.table),
            row: Some(i64::from(at.row)),
            column,
        });
    }

    /// Sets one cell of a row aside with the reason, or the row whole, and counts it.
    pub fn set_aside(&mut self, at: At, raw: &str, column: Option<usize>, reason: String) {
        let id = Derived::new("quarantined")
            .id(Some(at.table))
            .int(Some(i64::from(at.row)))
            .int(column.map(|c| c as i64))
            .text(&reason)
            .finish();
        if !self.ids.insert(id) {
            return;
        }
        match column {
            Some(_) => self.staged.rows.cells += 1,
            None => self.staged.rows.quarantined += 1,
        }
        self.records.quarantined.push(Quarantined {
            id,
            table: Some(at.table),
            row: Some(i64::from(at.row)),
            raw: Some(raw.to_owned()),
            reason: Some(reason),
            column: column.map(|c| c as i64),
            ..Quarantined::default()
        });
    }
}

/// Where a kind of part sits, from the item up.
pub(crate) fn rank(kind: PartKind) -> u8 {
    match kind {
        PartKind::Spacer => 0,
        PartKind::Base => 1,
        PartKind::VelocityStack => 2,
        PartKind::Filter => 3,
        PartKind::Lid => 4,
        PartKind::Stud | PartKind::Carburetor | PartKind::Other => 5,
    }
}

/// `SP-2 rev B` names a revision of SP-2.
fn split_revision(text: &str) -> (&str, Option<&str>) {
    let lower = text.to_ascii_lowercase();
    for mark in [" rev. ", " rev ", " revision "] {
        if let Some(at) = lower.rfind(mark) {
            let label = text[at + mark.len()..].trim();
            if !label.is_empty() && label.len() <= 6 && !label.contains(' ') {
                return (text[..at].trim(), Some(label));
            }
        }
    }
    (text, None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_revision_behind_a_tag_is_told_apart() {
        assert_eq!(split_revision("SP-2 rev B"), ("SP-2", Some("B")));
        assert_eq!(split_revision("foam rev up kit"), ("foam rev up kit", None));
        assert_eq!(split_revision("PF-1"), ("PF-1", None));
    }
}
