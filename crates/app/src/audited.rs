//! Faults as scripts and screens get them, and what they keep out of comparisons.

use crate::fittings::Blocked;
use crate::names::Names;
use airshelf_catalog::{Records, Uuid};
use airshelf_intake::audit::{Fault as Found, Severity, blocking, sentence};
use airshelf_units::System;
use serde::Serialize;
use std::collections::HashMap;
use ts_rs::TS;

/// `airshelf audit`.
#[derive(Clone, Debug, Default, Serialize, TS)]
pub struct AuditReport {
    /// Every fault, in the order of files, tables and rows.
    pub faults: Vec<FaultReport>,
}

impl AuditReport {
    /// Whether any fault keeps a row out of comparisons.
    pub fn blocks(&self) -> bool {
        self.faults.iter().any(|f| f.severity == Severity::Block)
    }
}

/// One fault: what is wrong, where, why, and what would mend it.
#[derive(Clone, Debug, Serialize, TS)]
pub struct FaultReport {
    /// The rule's code.
    pub rule: &'static str,
    /// `block`, `warn` or `inform`.
    #[ts(type = "\"block\" | \"warn\" | \"inform\"")]
    pub severity: Severity,
    /// The file; none for what was typed on the shelf.
    pub file: Option<String>,
    /// The sheet; none in text files.
    pub sheet: Option<String>,
    /// The file's own row.
    pub row: Option<i64>,
    /// Further rows that it covers.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rows: Vec<i64>,
    /// The column as spelled in the file.
    pub column: Option<String>,
    /// The value as written.
    pub value: Option<String>,
    /// Why it is wrong, in a sentence.
    pub why: String,
    /// What would mend it.
    pub repair: Option<String>,
    /// The record at fault.
    pub subject: Uuid,
    /// What people call it, where no row of a file says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub about: Option<String>,
}

/// Words a fault for a person of that system. `file` is how its file is to be called.
pub(crate) fn report(fault: &Found, file: Option<String>, system: System) -> FaultReport {
    let told = fault.in_system(system);
    let (why, repair) = (sentence::why(&told), sentence::repair(&told));
    FaultReport {
        rule: fault.rule.code(),
        severity: fault.severity,
        file,
        sheet: fault.place.sheet.clone(),
        row: fault.place.row,
        rows: fault.rows.clone(),
        column: fault.place.column.clone(),
        value: fault.value.clone(),
        why,
        repair,
        subject: fault.subject,
        about: None,
    }
}

/// What people call a record that no file has.
pub(crate) fn about(records: &Records, names: &Names, id: Uuid) -> Option<String> {
    let session = |id: Option<Uuid>| records.sessions.iter().find(|s| Some(s.id) == id)?.name.clone();
    if let Some(run) = records.runs.iter().find(|r| r.id == id) {
        let number = run.order_number.map_or_else(String::new, |n| format!(" {n}"));
        return Some(format!("{} run{number}", session(run.session).unwrap_or_default()).trim().to_owned());
    }
    let measured = records.measurements.iter().find(|m| m.id == id).and_then(|m| m.revision);
    let of_measured = measured.and_then(|revision| names.part_of(revision));
    let part = of_measured.or_else(|| records.parts.iter().find(|p| p.id == id));
    session(Some(id)).or_else(|| part.and_then(|p| p.tag.clone().or_else(|| p.name.clone())))
}

/// Which runs the faults keep out of comparisons, each with a rule that does.
pub(crate) fn blocked(faults: &[Found]) -> HashMap<Uuid, Blocked> {
    let reach = blocking(faults);
    let mut out: HashMap<Uuid, Blocked> = HashMap::new();
    for fault in faults {
        let own = fault.reach();
        for id in std::iter::once(&fault.subject).chain(&fault.covers) {
            let Some(whole) = reach.get(id).filter(|r| r.comparison || r.loss) else { continue };
            // The rule that keeps most out names it.
            if own.comparison || (own.loss && !whole.comparison) {
                let why = fault.rule.code().into();
                out.entry(*id).or_insert(Blocked { why, claims_only: !whole.comparison });
            }
        }
    }
    out
}
