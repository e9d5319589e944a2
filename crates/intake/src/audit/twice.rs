//! The same run recorded twice, and readings that only pose as repeats.

use super::desk::{Desk, run_place};
use super::fault::{Detail, Fault, Repair};
use super::misread::step_si;
use super::rule::Rule;
use super::shelf::{KeyMap, Row, Shelf};
use airshelf_catalog::{Purpose, Quantity, Refit, Uuid};
use std::collections::{HashMap, HashSet};
use std::hash::{DefaultHasher, Hash, Hasher};

/// Rows that repeat another one, by session.
pub(crate) type Twice = HashMap<usize, Vec<usize>>;

/// Flows of one run typed twice may differ by a slip of this much.
const NEARLY: f64 = 0.005;

fn key(parts: &[u64]) -> u64 {
    let mut hasher = DefaultHasher::new();
    for part in parts {
        hasher.write(&part.to_le_bytes());
    }
    hasher.finish()
}

fn id_bits(id: Option<Uuid>) -> u64 {
    id.map_or(0, |i| i.as_u64_pair().1)
}

fn text_bits(text: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    text.hash(&mut hasher);
    hasher.finish()
}

/// Nine significant digits decide whether two numbers are one.
fn same(a: Option<f64>, b: Option<f64>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() <= 1e-7 * a.abs().max(b.abs()),
        (None, None) => true,
        _ => false,
    }
}

/// Whether two quantities in different units are one, to half a unit of the last digits that both show.
fn same_shown(a: Option<&Quantity>, b: Option<&Quantity>) -> bool {
    let (Some(a), Some(b)) = (a, b) else { return false };
    let steps = step_si(a).zip(step_si(b)).map(|(a, b)| 0.5 * (a + b));
    a.unit() != b.unit() && steps.is_some_and(|steps| (a.si - b.si).abs() <= 1.05 * steps)
}

/// Finds runs recorded twice, in one file or in several, and puts down a fault for every later one.
pub(crate) fn duplicates(shelf: &Shelf, twice: &mut Twice, faults: &mut Vec<Fault>) {
    also_at(shelf, faults);
    let mut seen: KeyMap<u64, (usize, usize)> =
        HashMap::with_capacity_and_hasher(2 * shelf.records.runs.len(), Default::default());
    // A sheet that leaves out what stands on the bench may repeat one that tells it.
    let items = |named: bool| shelf.evenings.iter().flat_map(|e| &e.rows).any(|r| r.item.is_some() == named);
    let some_unnamed = items(true) && items(false);
    for (e, evening) in shelf.evenings.iter().enumerate() {
        let day =
            evening.session.date.as_deref().map_or_else(|| id_bits(Some(evening.session.id)), text_bits);
        let told: HashSet<usize> = twice.get(&e).into_iter().flatten().copied().collect();
        for (r, row) in evening.rows.iter().enumerate().filter(|(r, _)| !told.contains(r)) {
            let (Some(order), Some(flow)) = (row.run.order_number, row.flow_m3_s()) else { continue };
            let purpose = row.run.purpose.map_or(0, Purpose::code);
            let parts =
                key(&[day, order as u64, purpose as u64, id_bits(row.run.assembly), id_bits(row.item)]);
            // Parts may be spelled so differently that only the digits tell.
            let digits = row.actual().filter(|_| row.assembly.is_some()).map(|pressure| {
                key(&[day, order as u64, purpose as u64, digit_bits(flow), digit_bits(pressure.si)])
            });
            let unnamed = some_unnamed
                .then(|| key(&[day, order as u64, purpose as u64, id_bits(row.run.assembly), u64::MAX]));
            for k in std::iter::once(parts).chain(digits).chain(unnamed) {
                let Some(&(e0, r0)) = seen.get(&k) else {
                    seen.insert(k, (e, r));
                    continue;
                };
                let first = &shelf.evenings[e0].rows[r0];
                let one_day = evening.session.date == shelf.evenings[e0].session.date;
                if first.run.id == row.run.id || !one_day || !alike(shelf, first, row) {
                    continue;
                }
                let rank = |row: &Row| (row.table, row.run.row);
                let ((e1, r1), kept) = if rank(first) <= rank(row) {
                    ((e, r), first)
                } else {
                    seen.insert(k, (e, r));
                    ((e0, r0), row)
                };
                twice.entry(e1).or_default().push(r1);
                faults.push(duplicate(shelf, &shelf.evenings[e1].rows[r1], kept));
                break;
            }
        }
    }
}

/// A number to seven significant digits.
fn digit_bits(si: f64) -> u64 {
    u64::from((si as f32).to_bits())
}

/// Whether two assemblies are one, or may be: they differ only in parts that one side names and the shelf does not have.
fn one_assembly(shelf: &Shelf, a: &Row, b: &Row) -> Spelled {
    let unnamed = a.table != b.table && (a.item.is_none() || b.item.is_none());
    if a.run.assembly == b.run.assembly && (a.item == b.item || unnamed) {
        return Spelled::Alike;
    }
    let (la, lb) = (shelf.layers(a), shelf.layers(b));
    let only_named = |p: usize| shelf.parts[p].part.only_named == Some(true);
    let may_be = |&(x, y): &(usize, usize)| {
        x == y || (shelf.parts[x].kind() == shelf.parts[y].kind() && only_named(x) != only_named(y))
    };
    let layers = || la.iter().map(|l| l.1).zip(lb.iter().map(|l| l.1));
    let item = |r: &Row| r.item.and_then(|i| shelf.part_of.get(&i).copied());
    let items = match (item(a), item(b)) {
        (Some(x), Some(y)) => may_be(&(x, y)),
        _ => true,
    };
    if !la.is_empty() && la.len() == lb.len() && items && layers().all(|pair| may_be(&pair)) {
        Spelled::Otherwise
    } else {
        Spelled::Different
    }
}

#[derive(PartialEq)]
enum Spelled {
    Alike,
    Otherwise,
    Different,
}

/// Whether two rows with one date are one run.
fn alike(shelf: &Shelf, a: &Row, b: &Row) -> bool {
    let what = |r: &Row| (r.run.order_number, r.run.purpose);
    let spelled = one_assembly(shelf, a, b);
    // What the digits alone decide stands in another table; one table spells a part one way.
    if what(a) != what(b)
        || spelled == Spelled::Different
        || (spelled == Spelled::Otherwise && a.table == b.table)
    {
        return false;
    }
    let (Some(fa), Some(fb)) = (a.flow_m3_s(), b.flow_m3_s()) else { return false };
    let pressure = |r: &Row| r.actual().map(|q| q.si);
    let clocks = a.same_clock(b).unwrap_or(true);
    let exact = same(Some(fa), Some(fb))
        && (same(pressure(a), pressure(b)) || pressure(a).is_none() || pressure(b).is_none());
    // Another bench has another range.
    let ranges = a.range_m3_s.zip(b.range_m3_s).is_none_or(|(a, b)| (a / b - 1.0).abs() < 0.02);
    let nearly = (fa / fb - 1.0).abs() < NEARLY
        && ranges
        && pressure(a).is_some()
        && (same(pressure(a), pressure(b)) || same_shown(a.actual(), b.actual()));
    clocks && (exact || (nearly && spelled == Spelled::Alike))
}

fn same_as(shelf: &Shelf, kept: &Row, clock: bool) -> Detail {
    let at = run_place(shelf, kept, "order");
    Detail::SameAs { file: at.file, sheet: at.sheet, row: at.row, order: kept.run.order_number, clock }
}

fn duplicate(shelf: &Shelf, row: &Row, kept: &Row) -> Fault {
    Fault {
        rule: Rule::DuplicateRow,
        severity: Rule::DuplicateRow.severity(),
        place: run_place(shelf, row, "order"),
        rows: Vec::new(),
        value: row.run.order_number.map(|o| o.to_string()),
        subject: row.run.id,
        covers: Vec::new(),
        detail: same_as(shelf, kept, false),
        repair: Some(Repair::Merge { with: kept.run.id }),
    }
}

/// Further places that say the same as a run: already one record, told so that both sources are known.
fn also_at(shelf: &Shelf, faults: &mut Vec<Fault>) {
    if shelf.records.also_at.is_empty() {
        return;
    }
    let rows: super::shelf::IdMap<&Row> =
        shelf.evenings.iter().flat_map(|e| &e.rows).map(|r| (r.run.id, r)).collect();
    let mut told: KeyMap<u64, ()> = HashMap::default();
    for also in &shelf.records.also_at {
        let Some(row) = also.record.and_then(|r| rows.get(&r)) else { continue };
        if (also.table, also.row, also.column) == (row.run.table, row.run.row, row.run.column) {
            continue;
        }
        if versions(shelf, also.table, row.run.table) {
            continue;
        }
        let place_key =
            key(&[id_bits(also.table), also.row.unwrap_or(-1) as u64, also.column.unwrap_or(-1) as u64]);
        if told.insert(place_key, ()).is_some() {
            continue;
        }
        faults.push(Fault {
            rule: Rule::DuplicateRow,
            severity: Rule::DuplicateRow.severity(),
            place: super::dates::record_place(shelf, also.table, also.row, "order"),
            rows: Vec::new(),
            value: row.run.order_number.map(|o| o.to_string()),
            subject: also.id,
            covers: Vec::new(),
            detail: same_as(shelf, row, false),
            repair: Some(Repair::Merge { with: row.run.id }),
        });
    }
}

/// Whether two tables are one in two versions of a file, as [`super::version`] sees it.
fn versions(shelf: &Shelf, a: Option<Uuid>, b: Option<Uuid>) -> bool {
    let (Some(a), Some(b)) = (shelf.table(a), shelf.table(b)) else { return false };
    a.file.is_some()
        && a.file == b.file
        && (&a.record.sheet, a.record.header_row) == (&b.record.sheet, b.record.header_row)
}

/// Readings of one assembly in one session with the same digits, or the same clock.
pub(crate) fn check_copies(desk: &mut Desk) {
    let rows = desk.rows();
    let mut last: KeyMap<u64, Vec<usize>> = HashMap::default();
    for (i, row) in rows.iter().enumerate() {
        if desk.has(i, Rule::DuplicateRow) || row.is_leakage() || row.flow().is_none() {
            continue;
        }
        let purpose = row.run.purpose.map_or(0, Purpose::code) as u64;
        let k = key(&[id_bits(row.run.assembly), id_bits(row.item), purpose]);
        let earlier = last.entry(k).or_default();
        if row.run.refit != Some(Refit::No) {
            let of = earlier.iter().copied().find_map(|j| copied(&rows[j], row).map(|clock| (j, clock)));
            if let Some((j, clock)) = of {
                let detail = same_as(desk.shelf, &rows[j], clock);
                let field = if clock { "clock" } else { "flow" };
                let with = rows[j].run.id;
                desk.report(i, Rule::CopiedReading, field, detail).repaired(Repair::Merge { with });
                continue;
            }
        }
        earlier.push(i);
    }
}

/// Whether `b` poses as a repeat of `a`, and whether the clock shows it.
fn copied(a: &Row, b: &Row) -> Option<bool> {
    let digits = same(a.flow_m3_s(), b.flow_m3_s());
    let pressures = |r: &Row| r.actual().map(|q| q.si);
    let read_twice = pressures(a).is_some() && same(pressures(a), pressures(b));
    match a.same_clock(b) {
        Some(true) if (a.set.map(|q| q.si) == b.set.map(|q| q.si)) => Some(true),
        // Two bare readings alike are no wonder on a coarse meter; the same digits of an assembly with its pressure are.
        _ if digits && read_twice && b.run.assembly.is_some() => Some(false),
        _ => None,
    }
}
