//! Parts as names: named but not on the shelf, spelled twice, entered twice, never looked at.

use super::dates::record_place;
use super::fault::{Amount, Detail, Fault, Repair};
use super::rule::Rule;
use super::shelf::{IdMap, PartSeen, Shelf};
use airshelf_catalog::{Measurement, PartDimension, PartKind, PartStatus, Quantity, TableKind, Uuid};
use airshelf_units::Unit;
use std::collections::{HashMap, HashSet};

/// Two readings of one length may differ by this, m. Common practice, no source.
const READING_M: f64 = 0.0008;

pub(crate) fn check(shelf: &Shelf, faults: &mut Vec<Fault>) {
    let aliased = alias(shelf, faults);
    unknown(shelf, &aliased, faults);
    duplicate(shelf, faults);
    two_sizes(shelf, faults);
    bare(shelf, faults);
}

fn fault(shelf: &Shelf, part: &PartSeen, rule: Rule, detail: Detail) -> Fault {
    Fault {
        rule,
        severity: rule.severity(),
        place: record_place(shelf, part.part.table, part.part.row, "tag"),
        rows: Vec::new(),
        value: Some(part.tag()),
        subject: part.part.id,
        covers: Vec::new(),
        detail,
        repair: None,
    }
}

/// A tag without case, spaces, dashes, and without telling O from 0 or I from 1.
fn squashed(tag: &str) -> String {
    tag.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_uppercase)
        .map(|c| match c {
            'O' => '0',
            'I' | 'L' => '1',
            c => c,
        })
        .collect()
}

fn alias(shelf: &Shelf, faults: &mut Vec<Fault>) -> HashSet<Uuid> {
    let known: HashSet<Uuid> = shelf.records.aliases.iter().filter_map(|a| a.part).collect();
    type Spelled = HashMap<(Option<PartKind>, String), Vec<usize>>;
    let (mut by_name, mut by_title): (Spelled, Spelled) = Default::default();
    for (i, part) in shelf.parts.iter().enumerate() {
        let key = squashed(&part.tag());
        if key.len() > 1 {
            by_name.entry((part.kind(), key)).or_default().push(i);
        }
        // A run may call a part by its name what the shelf lists under a tag.
        let name = part.part.name.as_deref().filter(|_| part.part.only_named != Some(true)).map(squashed);
        if let Some(name) = name.filter(|n| n.len() > 1 && *n != squashed(&part.tag())) {
            by_title.entry((part.kind(), name)).or_default().push(i);
        }
    }
    for (key, named) in &mut by_name {
        // Only a name that one part has; two solid lids are told apart by their tags.
        if let Some(&[listed]) = by_title.get(key).map(Vec::as_slice)
            && named.iter().all(|&i| shelf.parts[i].part.only_named == Some(true))
        {
            named.push(listed);
        }
    }
    let mut out = HashSet::new();
    let mut groups: Vec<Vec<usize>> = by_name.into_values().filter(|g| g.len() > 1).collect();
    groups.sort_unstable();
    for mut group in groups {
        // The shelf's own entry is the part; the others are spellings.
        group.sort_by_key(|&i| (shelf.parts[i].part.only_named == Some(true), i));
        let main = &shelf.parts[group[0]];
        for &i in &group[1..] {
            let part = &shelf.parts[i];
            if known.contains(&part.part.id) {
                continue;
            }
            out.insert(part.part.id);
            let detail = Detail::Names { name: part.tag(), nearest: vec![main.tag()] };
            let mut f = fault(shelf, part, Rule::PartAlias, detail);
            f.repair = Some(Repair::SamePart { with: vec![main.part.id] });
            faults.push(f);
        }
    }
    out
}

fn unknown(shelf: &Shelf, aliased: &HashSet<Uuid>, faults: &mut Vec<Fault>) {
    if !shelf.has_parts {
        return;
    }
    let mut own: HashMap<Option<PartKind>, Vec<(String, String, Uuid)>> = HashMap::new();
    for part in shelf.parts.iter().filter(|p| p.part.only_named != Some(true)) {
        let called = [&part.part.tag, &part.part.name].into_iter().flatten();
        own.entry(part.kind())
            .or_default()
            .extend(called.map(|name| (name.to_lowercase(), part.tag(), part.part.id)));
    }
    for part in shelf.parts.iter().filter(|p| p.part.only_named == Some(true)) {
        if aliased.contains(&part.part.id) {
            continue;
        }
        let tag = part.tag();
        let folded = tag.to_lowercase();
        let mut near: Vec<(f64, &str, Uuid)> = own
            .get(&part.kind())
            .map_or(&[][..], Vec::as_slice)
            .iter()
            .map(|(f, t, id)| (strsim::jaro_winkler(&folded, f), t.as_str(), *id))
            .filter(|(s, ..)| *s >= 0.8)
            .collect();
        near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
        let mut offered = HashSet::new();
        near.retain(|n| offered.insert(n.2));
        near.truncate(3);
        let nearest = near.iter().map(|(_, t, _)| (*t).to_owned()).collect();
        let mut f = fault(shelf, part, Rule::PartUnknown, Detail::Names { name: tag, nearest });
        if !near.is_empty() {
            f.repair = Some(Repair::SamePart { with: near.iter().map(|n| n.2).collect() });
        }
        faults.push(f);
    }
}

const COMPARED: [PartDimension; 8] = [
    PartDimension::OutsideDiameter,
    PartDimension::InsideDiameter,
    PartDimension::Height,
    PartDimension::PleatCount,
    PartDimension::PleatDepth,
    PartDimension::NeckBore,
    PartDimension::Drop,
    PartDimension::StudLength,
];

fn duplicate(shelf: &Shelf, faults: &mut Vec<Fault>) {
    let mut makers: HashMap<(Option<PartKind>, String), Vec<usize>> = HashMap::new();
    for (i, part) in shelf.parts.iter().enumerate() {
        let Some(maker) = part.part.maker.as_deref().filter(|_| part.part.only_named != Some(true)) else {
            continue;
        };
        makers.entry((part.kind(), maker.trim().to_lowercase())).or_default().push(i);
    }
    let mut groups: Vec<Vec<usize>> = makers.into_values().filter(|g| g.len() > 1).collect();
    groups.sort_unstable();
    for mut group in groups {
        let first =
            |i: usize| COMPARED.iter().find_map(|&d| shelf.parts[i].dimension(d)).unwrap_or(f64::INFINITY);
        // Sorted by their first dimension, twins stand next to each other.
        group.sort_by(|&a, &b| first(a).total_cmp(&first(b)).then(a.cmp(&b)));
        for (k, &a) in group.iter().enumerate() {
            for &b in group[k + 1..].iter().take_while(|&&b| first(b) - first(a) <= READING_M).take(50) {
                let (early, late) = (a.min(b), a.max(b));
                if twins(&shelf.parts[early], &shelf.parts[late]) {
                    let (one, other) = (&shelf.parts[early], &shelf.parts[late]);
                    let detail = Detail::Names { name: other.tag(), nearest: vec![one.tag()] };
                    let mut f = fault(shelf, other, Rule::PartDuplicate, detail);
                    f.repair = Some(Repair::SamePart { with: vec![one.part.id] });
                    faults.push(f);
                }
            }
        }
    }
}

/// One tag in two rows of a table, whose sizes differ by more than reading does: two parts that became one.
fn two_sizes(shelf: &Shelf, faults: &mut Vec<Fault>) {
    for part in &shelf.parts {
        let listed = |m: &&Measurement| {
            let kind = shelf.table(m.table).and_then(|t| t.record.kind);
            kind == Some(TableKind::Parts) && m.value.is_some()
        };
        let measured: Vec<&Measurement> = part.measured.iter().copied().filter(listed).collect();
        let pair = measured.iter().enumerate().find_map(|(at, later)| {
            let earlier = measured[..at].iter().find(|m| {
                let same = m.dimension == later.dimension && m.table == later.table && m.row != later.row;
                same && m.revision == later.revision && differ(m, later)
            });
            earlier.map(|earlier| (*earlier, *later))
        });
        let Some((earlier, later)) = pair else { continue };
        let (Some(one), Some(other)) = (&earlier.value, &later.value) else { continue };
        let dimension = later.dimension.map_or("size", PartDimension::name);
        let shown = |q: &Quantity| Amount::like(q.si, Some(q), q.unit().unwrap_or(Unit::INCH));
        let detail = Detail::TwoSizes {
            part: part.tag(),
            dimension: dimension.to_owned(),
            row: earlier.row,
            one: shown(one),
            other: shown(other),
        };
        let mut f = fault(shelf, part, Rule::PartDuplicate, detail);
        f.place = record_place(shelf, later.table, later.row, "tag");
        faults.push(f);
    }
}

fn differ(a: &Measurement, b: &Measurement) -> bool {
    let error = if a.dimension == Some(PartDimension::PleatCount) { 1.0 } else { READING_M };
    let si = |m: &Measurement| m.value.as_ref().map(|q| q.si);
    si(a).zip(si(b)).is_some_and(|(a, b)| (a - b).abs() > error)
}

fn twins(a: &PartSeen, b: &PartSeen) -> bool {
    let mut shared = 0;
    for which in COMPARED {
        let (Some(x), Some(y)) = (a.dimension(which), b.dimension(which)) else { continue };
        let error = if which == PartDimension::PleatCount { 1.0 } else { READING_M };
        if (x - y).abs() > error {
            return false;
        }
        shared += 1;
    }
    let name = |p: &PartSeen| p.part.name.as_deref().map(airshelf_catalog::ids::fold).map(|n| unpainted(&n));
    let named_alike = match (name(a), name(b)) {
        (Some(x), Some(y)) => x == y,
        _ => true,
    };
    shared >= 2 && named_alike
}

/// A name without its colors, which make no other part.
fn unpainted(name: &str) -> String {
    const PAINT: [&str; 24] = [
        "painted", "paint", "red", "blue", "green", "yellow", "black", "white", "grey", "gray", "orange",
        "brown", "purple", "pink", "silver", "gold", "chrome", "chromed", "polished", "light", "dark",
        "bright", "color", "colour",
    ];
    let words = name.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty() && !PAINT.contains(w));
    words.collect::<Vec<_>>().join(" ")
}

fn bare(shelf: &Shelf, faults: &mut Vec<Fault>) {
    let photographed: IdMap<()> =
        shelf.records.photos.iter().filter_map(|p| Some((p.subject?, ()))).collect();
    let used: IdMap<()> = shelf.records.runs.iter().filter_map(|r| Some((r.stud?, ()))).collect();
    let mut revisions: HashMap<Uuid, Vec<Uuid>> = HashMap::new();
    for r in &shelf.records.revisions {
        if let Some(part) = r.part {
            revisions.entry(part).or_default().push(r.id);
        }
    }
    for part in &shelf.parts {
        let p = part.part;
        let wanted = matches!(p.status, Some(PartStatus::Wanted | PartStatus::Sold | PartStatus::Scrapped));
        if p.only_named == Some(true)
            || wanted
            || part.runs > 0
            || !part.measured.is_empty()
            || p.photo_note.is_some()
        {
            continue;
        }
        let own = revisions.get(&p.id).map_or(&[][..], Vec::as_slice);
        let first = airshelf_catalog::ids::first_revision(p.id);
        let seen = |map: &IdMap<()>| own.iter().chain([&p.id, &first]).any(|id| map.contains_key(id));
        if !seen(&photographed) && !seen(&used) {
            let detail = Detail::Absent { fields: vec!["photo", "measurement", "run"], whole_page: false };
            faults.push(fault(shelf, part, Rule::PartBare, detail));
        }
    }
}
