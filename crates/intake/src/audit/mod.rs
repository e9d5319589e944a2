//! The audit: what is wrong with records, where it stands, why, and what would mend it.
//!
//! The same rules run over staged records together with the shelf's, over a whole shelf, and over one new run of an
//! evening. A fault is a code and quantities; [`sentence`] makes the words. Start reading at [`audit`]; [`shelf`]
//! is what the rules look at, [`desk`] how they put a fault down, and every other module is one subject.
//!
//! Where one cause trips several rules, the one that names the cause is reported: rules run causes first, and each
//! later rule asks what is already marked.
//!
//! Architecture invariant: rules read records and never change them; a repair is only offered.

mod ambient;
mod bounds;
mod bracket;
mod claim;
mod correction;
mod dates;
mod desk;
mod element;
mod evening;
mod fault;
mod fit;
mod leakage;
mod loss;
mod misread;
mod mixed;
mod names;
mod outside;
mod pressure;
mod range;
mod rating;
mod rule;
pub mod sentence;
mod shelf;
mod swap;
mod trend;
mod twice;
mod version;
mod written;

pub use fault::{Amount, Detail, Fault, Place, Repair, Side};
pub use rule::{Reach, Rule, Severity};

use airshelf_catalog::limits::Limits;
use airshelf_catalog::{DecisionKind, Records, Uuid};
use desk::Desk;
use shelf::Shelf;
use std::collections::{HashMap, HashSet};

/// What an audit reports on; it always looks at everything it is given.
#[derive(Clone, Debug, Default)]
pub struct Scope {
    /// Only faults of records from these tables; none: of every record.
    pub tables: Option<HashSet<Uuid>>,
    /// Limits with the shelf's own usual ones.
    pub limits: Limits,
}

/// Finds what is wrong with the records, in the order of files, tables and rows.
///
/// Faults that a person let stand or repaired (a [`airshelf_catalog::Decision`] with the rule and the subject) are left out.
pub fn audit(records: &Records, scope: &Scope) -> Vec<Fault> {
    let mut shelf = Shelf::of(records, &scope.limits, None);
    let mut faults = Vec::new();
    element::check(&mut shelf, &mut faults);
    let twice = recorded_twice(&shelf, &mut faults);
    for (at, _) in shelf.evenings.iter().enumerate() {
        check_evening(&shelf, at, &twice, &mut faults);
    }
    names::check(&shelf, &mut faults);
    rating::check(&shelf, &mut faults);
    dates::check_predictions(&shelf, &mut faults);
    dates::check_ambiguous(&shelf, &mut faults);
    mixed::check_foreign(&shelf, &mut faults);
    bounds::check_engines(&shelf, &mut faults);
    finish(&shelf, faults, |f| {
        scope.tables.as_ref().is_none_or(|t| f.place.table.is_some_and(|p| t.contains(&p)))
    })
}

/// Finds what is wrong with one run, seen in its session; for a reading that was just typed.
pub fn audit_run(records: &Records, run: Uuid, limits: &Limits) -> Vec<Fault> {
    let Some(session) = records.runs.iter().find(|r| r.id == run).and_then(|r| r.session) else {
        return Vec::new();
    };
    let mut shelf = Shelf::of(records, limits, Some(session));
    let mut faults = Vec::new();
    element::check(&mut shelf, &mut faults);
    faults.clear();
    let twice = recorded_twice(&shelf, &mut faults);
    for at in 0..shelf.evenings.len() {
        check_evening(&shelf, at, &twice, &mut faults);
    }
    finish(&shelf, faults, |f| f.subject == run || f.covers.contains(&run))
}

/// Runs that stand twice, so that one of them is left out of everything else.
fn recorded_twice(shelf: &Shelf, faults: &mut Vec<Fault>) -> twice::Twice {
    let mut twice = twice::Twice::new();
    version::corrected(shelf, &mut twice, faults);
    twice::duplicates(shelf, &mut twice, faults);
    twice
}

fn check_evening(shelf: &Shelf, at: usize, twice: &twice::Twice, faults: &mut Vec<Fault>) {
    let evening = &shelf.evenings[at];
    if evening.rows.is_empty() {
        return;
    }
    let mut marks = vec![0; evening.rows.len()];
    for &row in twice.get(&at).map_or(&[][..], Vec::as_slice) {
        marks[row] |= Rule::DuplicateRow.bit();
    }
    let mut desk = Desk { shelf, evening, marks, faults };
    pressure::check(&mut desk);
    range::check(&mut desk);
    ambient::check(&mut desk);
    dates::check(&mut desk);
    fit::check(&mut desk);
    claim::check_held(&mut desk);
    twice::check_copies(&mut desk);
    leakage::check(&mut desk);
    correction::check(&mut desk);
    loss::check(&mut desk);
    bounds::check(&mut desk);
    bracket::check(&mut desk);
    mixed::check(&mut desk);
    let model = evening::Model::of(&desk);
    bracket::check_drift(&mut desk, &model);
    outside::check(&mut desk, &model);
    swap::check(&mut desk, &model);
    trend::check(&mut desk, &model);
    claim::check_readings(&mut desk, &model);
}

fn finish(shelf: &Shelf, mut faults: Vec<Fault>, wanted: impl Fn(&Fault) -> bool) -> Vec<Fault> {
    let decided: HashSet<(Uuid, &str)> = shelf
        .records
        .decisions
        .iter()
        .filter(|d| matches!(d.kind, Some(DecisionKind::LetStand | DecisionKind::Repaired)))
        .filter_map(|d| Some((d.subject?, d.rule.as_deref()?)))
        .collect();
    faults.retain(|f| !decided.contains(&(f.subject, f.rule.code())) && wanted(f));
    faults.sort_by_key(|f| {
        (
            f.place.table.and_then(|t| shelf.table_at.get(&t).copied()).unwrap_or(usize::MAX),
            f.place.row,
            f.rule,
        )
    });
    faults
}

/// The records that blocking faults keep out, and out of what.
///
/// Runs, measurements, ratings and predictions stand here under their own identifiers.
pub fn blocking(faults: &[Fault]) -> HashMap<Uuid, Reach> {
    let mut out: HashMap<Uuid, Reach> = HashMap::new();
    for fault in faults {
        let reach = fault.reach();
        if reach.any() {
            for id in std::iter::once(fault.subject).chain(fault.covers.iter().copied()) {
                let held = out.entry(id).or_default();
                *held = held.and(reach);
            }
        }
    }
    out
}
