//! The audit of the shelf as a list: by severity and rule, with place, sentence and repair.

use super::mend::{self, ChangeOffered};
use crate::audited::{FaultReport, about, report};
use crate::code::Fault;
use crate::names::Names;
use crate::shelf::Shelf;
use airshelf_intake::audit::{Fault as Found, Scope, Severity, audit};
use serde::Serialize;
use std::collections::{BTreeMap, HashSet};
use ts_rs::TS;
use uuid::Uuid;

/// A page of the audit.
#[derive(Clone, Debug, Serialize, TS)]
pub struct FaultList {
    /// How many there are of these severities and rules.
    pub total: usize,
    /// How many keep a record out of comparisons.
    pub blocks: usize,
    /// How many widen or mark.
    pub warns: usize,
    /// How many only tell.
    pub informs: usize,
    /// The rules that found something, with how often.
    pub rules: Vec<RuleCount>,
    /// The faults, the gravest first.
    pub faults: Vec<FaultRow>,
}

/// How often a rule found something.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS)]
pub struct RuleCount {
    /// Its code.
    pub rule: String,
    /// In words.
    pub name: String,
    /// How often.
    pub count: usize,
}

/// A fault with its place and what can be done about it.
#[derive(Clone, Debug, Serialize, TS)]
pub struct FaultRow {
    /// The rule.
    pub rule: String,
    /// The rule in words.
    pub name: String,
    /// How much it matters.
    #[ts(type = "\"block\" | \"warn\" | \"inform\"")]
    pub severity: Severity,
    /// File, sheet, row and column, or what people call the record.
    pub place: String,
    /// The file's own row.
    pub row: Option<i64>,
    /// The value as written.
    pub value: Option<String>,
    /// Why it is wrong, in a sentence.
    pub why: String,
    /// What would mend it.
    pub repair: Option<String>,
    /// Repairs that a touch carries out; empty where only a person can mend it.
    pub choices: Vec<Choice>,
    /// The value that can be typed there instead; none where there is no single one.
    pub change: Option<ChangeOffered>,
    /// The record at fault.
    pub subject: Uuid,
}

/// A repair that can be accepted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS)]
#[ts(rename = "RepairChoice")]
pub struct Choice {
    /// What it does, as on a button.
    pub text: String,
}

impl FaultRow {
    /// A fault of a file that nothing was kept of: there is no record to mend yet.
    pub(super) fn not_kept(fault: &FaultReport) -> FaultRow {
        FaultRow {
            rule: fault.rule.into(),
            name: name(fault.rule),
            severity: fault.severity,
            place: place(None, fault.sheet.as_deref(), fault.row, fault.column.as_deref()),
            row: fault.row,
            value: fault.value.clone(),
            why: fault.why.clone(),
            repair: fault.repair.clone(),
            choices: Vec::new(),
            change: None,
            subject: fault.subject,
        }
    }
}

/// What is asked of the audit.
pub(super) struct Wanted<'a> {
    pub severity: Option<&'a str>,
    pub rule: Option<&'a str>,
    pub from: usize,
    pub count: usize,
}

/// A rule's code as words.
fn name(rule: &str) -> String {
    rule.replace('-', " ")
}

/// Where something stands in a file, in words.
pub(super) fn place(
    file: Option<&str>,
    sheet: Option<&str>,
    row: Option<i64>,
    column: Option<&str>,
) -> String {
    let words = [
        file.map(str::to_owned),
        sheet.map(|sheet| format!("sheet {sheet}")),
        row.map(|row| format!("row {row}")),
        column.filter(|column| !column.trim().is_empty()).map(|column| format!("column {column}")),
    ];
    words.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

pub(super) fn list(shelf: &Shelf, session: Option<&str>, wanted: &Wanted) -> Result<FaultList, Fault> {
    let records = shelf.records()?;
    let names = Names::of(&records);
    let system = shelf.system();
    let mut faults = audit(&records, &Scope { tables: None, limits: shelf.limits() });
    if let Some(text) = session {
        let sessions: HashSet<Uuid> = shelf.sessions(text)?.into_iter().map(|s| s.id).collect();
        let belonging = crate::shelf::belonging(&records, &names, &sessions);
        faults.retain(|f| belonging.contains(&f.subject) || f.covers.iter().any(|c| belonging.contains(c)));
    }
    let of = |severity: Severity| faults.iter().filter(|f| f.severity == severity).count();
    let (blocks, warns, informs) = (of(Severity::Block), of(Severity::Warn), of(Severity::Inform));
    if let Some(severity) = wanted.severity {
        faults.retain(|f| word(f.severity) == severity);
    }
    let mut rules: BTreeMap<&'static str, usize> = BTreeMap::new();
    for fault in &faults {
        *rules.entry(fault.rule.code()).or_default() += 1;
    }
    if let Some(rule) = wanted.rule {
        faults.retain(|f| f.rule.code() == rule);
    }
    // Stable: within a severity they stay in the order of files and rows.
    faults.sort_by_key(|f| std::cmp::Reverse(f.severity));
    let rows = faults.iter().skip(wanted.from).take(wanted.count).map(|fault| {
        let told = report(fault, fault.place.file.clone(), system);
        let at = place(
            told.file.as_deref(),
            told.sheet.as_deref(),
            told.row,
            told.column.as_deref().filter(|_| told.row.is_some()),
        );
        let called = || about(&records, &names, fault.subject).unwrap_or_else(|| "this shelf".into());
        FaultRow {
            place: if told.row.is_none() { called() } else { at },
            choices: mend::choices(&records, &names, fault),
            change: mend::change(&records, fault),
            ..FaultRow::not_kept(&told)
        }
    });
    Ok(FaultList {
        total: faults.len(),
        blocks,
        warns,
        informs,
        faults: rows.collect(),
        rules: rules
            .into_iter()
            .map(|(rule, count)| RuleCount { rule: rule.into(), name: name(rule), count })
            .collect(),
    })
}

fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Block => "block",
        Severity::Warn => "warn",
        Severity::Inform => "inform",
    }
}

/// The fault of a rule on a record, as the audit sees it now.
pub(super) fn the_one<'a>(faults: &'a [Found], subject: Uuid, rule: &str) -> Option<&'a Found> {
    faults.iter().find(|fault| fault.subject == subject && fault.rule.code() == rule)
}
