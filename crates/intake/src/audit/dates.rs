//! Dates and clocks: runs before their parts arrived, predictions after the first reading, dates with two meanings.

use super::desk::{Desk, layer_field};
use super::fault::{Detail, Fault, Place, Repair};
use super::rule::Rule;
use super::shelf::{IdMap, PartSeen, Shelf};
use airshelf_catalog::{PartKind, Prediction, Uuid};

/// The civil day of an ISO date or date with time.
pub(crate) fn day(date: &str) -> Option<&str> {
    let day = date.get(..10)?;
    let b = day.as_bytes();
    (b[4] == b'-'
        && b[7] == b'-'
        && b.iter().enumerate().all(|(i, c)| i == 4 || i == 7 || c.is_ascii_digit()))
    .then_some(day)
}

pub(crate) fn check(desk: &mut Desk) {
    let shelf = desk.shelf;
    for (i, row) in desk.rows().iter().enumerate() {
        let date = row.run.date.as_deref().or(desk.evening.session.date.as_deref());
        let Some(run_day) = date.and_then(day) else { continue };
        let layers = shelf.layers(row).iter().map(|&(r, p)| (r, &shelf.parts[p]));
        let others = [row.run.stud, row.item].into_iter().flatten();
        let others = others.filter_map(|r| Some((r, shelf.part_of_revision(r)?)));
        let found = layers.chain(others).find_map(|(revision, part)| {
            let arrived =
                part.part.arrived.as_deref().and_then(day).filter(|d| run_day < *d).map(|d| (d, false));
            let revised =
                shelf.revised(revision, part).and_then(day).filter(|d| run_day < *d).map(|d| (d, true));
            arrived.or(revised).map(|(d, revision)| (part, d, revision))
        });
        if let Some((part, arrived, revision)) = found {
            let detail = Detail::Older {
                part: part.tag(),
                run: run_day.to_owned(),
                arrived: arrived.to_owned(),
                revision,
            };
            desk.report(i, Rule::BeforeArrival, layer_field(part.kind()), detail).repaired(Repair::Exclude);
        }
    }
}

/// `2024-08-10T19:05` of a civil date with or without time, in a form that sorts.
fn moment(civil: &str) -> Option<(String, bool)> {
    let date = day(civil)?;
    let time = civil.get(10..).and_then(|t| super::shelf::minutes(t.trim_start_matches(['T', ' '])));
    Some(match time {
        Some(m) => (format!("{date}T{:02}:{:02}", m / 60, m % 60), true),
        None => (date.to_owned(), false),
    })
}

pub(crate) fn check_predictions(shelf: &Shelf, faults: &mut Vec<Fault>) {
    if shelf.records.predictions.is_empty() {
        return;
    }
    let mut of_session: IdMap<(String, bool)> = IdMap::default();
    let mut of_assembly: IdMap<(String, bool)> = IdMap::default();
    for evening in &shelf.evenings {
        let Some(date) = evening.session.date.as_deref().and_then(day) else { continue };
        let clock = |c: Option<i64>| match c {
            Some(m) => (format!("{date}T{:02}:{:02}", m / 60, m % 60), true),
            None => (date.to_owned(), false),
        };
        let first = evening.rows.iter().find_map(super::shelf::Row::clock_min);
        if !evening.rows.is_empty() {
            of_session.insert(evening.session.id, clock(first));
        }
        for row in &evening.rows {
            let Some(assembly) = row.run.assembly else { continue };
            let at = clock(row.clock_min().or(first));
            let held = of_assembly.entry(assembly).or_insert_with(|| at.clone());
            if at < *held {
                *held = at;
            }
        }
    }
    for p in &shelf.records.predictions {
        let first = match (p.session, p.assembly) {
            (Some(s), _) => of_session.get(&s),
            (None, Some(a)) => of_assembly.get(&a),
            _ => None,
        };
        let (Some((first, first_clock)), Some(written)) = (first, p.written.as_deref()) else { continue };
        let Some((at, has_time)) = moment(written) else { continue };
        // Without a clock on one side, only the day decides.
        let late = if has_time && *first_clock { at > *first } else { at[..10] > first[..10] };
        if late {
            let detail = Detail::Late { written: at, first_reading: first.clone() };
            faults.push(prediction_fault(shelf, p, detail, written));
        }
    }
}

fn prediction_fault(shelf: &Shelf, p: &Prediction, detail: Detail, value: &str) -> Fault {
    Fault {
        rule: Rule::LatePrediction,
        severity: Rule::LatePrediction.severity(),
        place: record_place(shelf, p.table, p.row, "written"),
        rows: Vec::new(),
        value: Some(value.to_owned()),
        subject: p.id,
        covers: Vec::new(),
        detail,
        repair: Some(Repair::Exclude),
    }
}

/// The place of a record that knows its table and row.
pub(crate) fn record_place(shelf: &Shelf, table: Option<Uuid>, row: Option<i64>, field: &str) -> Place {
    let seen = shelf.table(table);
    Place {
        table,
        file: seen.and_then(|t| t.file).map(str::to_owned),
        sheet: seen.and_then(|t| t.record.sheet.clone()),
        row,
        field: field.to_owned(),
        column: seen.and_then(|t| t.header_of(field)).map(str::to_owned),
    }
}

/// Dates that reading could not decide: staging marks them on their table, and read them by the custom of the sheet.
pub(crate) fn check_ambiguous(shelf: &Shelf, faults: &mut Vec<Fault>) {
    for table in &shelf.tables {
        for entry in table.page.iter().filter(|e| e.field == "date_ambiguous") {
            let written = entry.raw.clone().unwrap_or_default();
            let numbers: Vec<&str> =
                written.split(|c: char| !c.is_ascii_digit()).filter(|n| !n.is_empty()).collect();
            let (first, second) = match numbers[..] {
                [a, b, year, ..] => (format!("{year}-{a:0>2}-{b:0>2}"), format!("{year}-{b:0>2}-{a:0>2}")),
                _ => continue,
            };
            faults.push(Fault {
                rule: Rule::DateAmbiguous,
                severity: Rule::DateAmbiguous.severity(),
                place: record_place(shelf, Some(table.record.id), entry.row, "date"),
                rows: Vec::new(),
                value: entry.raw.clone(),
                subject: table.record.id,
                covers: Vec::new(),
                detail: Detail::EitherDate { written, first, second },
                repair: None,
            });
        }
    }
}

/// The stud part that would be long enough, if the shelf has one.
pub(crate) fn longer_stud<'s, 'a>(
    shelf: &'s Shelf<'a>,
    least_m: f64,
    near: &str,
) -> Option<&'s PartSeen<'a>> {
    let prefix: String = near.chars().take_while(|c| !c.is_ascii_digit()).collect();
    shelf
        .parts
        .iter()
        .filter(|p| p.kind() == Some(PartKind::Stud))
        .filter_map(|p| Some((p, p.dimension(airshelf_catalog::PartDimension::StudLength)?)))
        .filter(|(_, l)| *l >= least_m)
        .min_by(|a, b| {
            let other = |p: &PartSeen| !p.tag().starts_with(&prefix);
            (other(a.0), a.1).partial_cmp(&(other(b.0), b.1)).unwrap_or(std::cmp::Ordering::Equal)
        })
        .map(|(p, _)| p)
}
