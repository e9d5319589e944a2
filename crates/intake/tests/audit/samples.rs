//! The sample sheets, imported in order into one shelf: every planted fault is found, and hardly anything else.

use airshelf_catalog::Records;
use airshelf_intake::audit::{Scope, audit};
use airshelf_intake::reader::{Limits, read};
use airshelf_intake::stage::{Known, complete, stage};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// What `expected-faults.json` holds.
#[derive(Deserialize)]
struct Expected {
    /// Rows of data in all files together.
    rows_of_data: usize,
    /// Files without any fault.
    clean: Vec<String>,
    /// Planted faults; a finding on any of the rows finds one.
    planted: Vec<Planted>,
    /// What may be told beside them: rules by file, sheet and row.
    tolerated: Vec<Tolerated>,
}

#[derive(Deserialize)]
struct Planted {
    file: String,
    sheet: Option<String>,
    rule: String,
    rows: Vec<i64>,
}

#[derive(Deserialize)]
struct Tolerated {
    file: String,
    sheet: Option<String>,
    rules: Vec<String>,
    rows: Vec<i64>,
}

/// File, sheet and row.
type Row = (String, Option<String>, Option<i64>);

#[test]
fn every_planted_fault_is_found_and_clean_files_stay_clean() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/sheets");
    let text = std::fs::read_to_string(folder.join("expected-faults.json")).unwrap();
    let expected: Expected = serde_json::from_str(&text).unwrap();
    let mut names: Vec<String> = std::fs::read_dir(folder.join("visible"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| !n.ends_with(".json"))
        .collect();
    names.sort();
    assert_eq!(names.len(), 16);
    let mut all = Records::default();
    for name in &names {
        let bytes = std::fs::read(folder.join("visible").join(name)).unwrap();
        let book = read(name, &bytes, &Limits::default()).unwrap();
        let staged = stage(name, &book, &Known::of(&all), None, &mut |_| {});
        all.append(staged.records);
        complete(&mut all, &staged.completed).unwrap();
    }
    let planted_rules: BTreeSet<&str> = expected.planted.iter().map(|p| p.rule.as_str()).collect();
    let mut found = vec![false; expected.planted.len()];
    let mut alarms: BTreeMap<Row, Vec<&str>> = BTreeMap::new();
    for fault in audit(&all, &Scope::default()) {
        let (rule, file) = (fault.rule.code(), fault.place.file.clone().unwrap_or_default());
        let (sheet, row) = (fault.place.sheet.clone(), fault.place.row);
        if !planted_rules.contains(rule) {
            continue;
        }
        let on = |f: &str, s: &Option<String>, rows: &[i64]| {
            f == file && *s == sheet && row.is_some_and(|r| rows.contains(&r))
        };
        let mut hit = false;
        for (seen, p) in found.iter_mut().zip(&expected.planted) {
            if p.rule == rule && on(&p.file, &p.sheet, &p.rows) {
                (*seen, hit) = (true, true);
            }
        }
        let tolerated = |t: &Tolerated| t.rules.iter().any(|r| r == rule) && on(&t.file, &t.sheet, &t.rows);
        if !hit && !expected.tolerated.iter().any(tolerated) {
            alarms.entry((file, sheet, row)).or_default().push(rule);
        }
    }
    let missed: Vec<String> = found
        .iter()
        .zip(&expected.planted)
        .filter(|(seen, _)| !**seen)
        .map(|(_, p)| format!("{} in {} at {:?}", p.rule, p.file, p.rows))
        .collect();
    assert!(missed.is_empty(), "missed: {missed:#?}");
    assert!(alarms.keys().all(|(file, ..)| !expected.clean.contains(file)), "in clean files: {alarms:#?}");
    assert!(alarms.len() * 50 <= expected.rows_of_data, "false alarms: {alarms:#?}");
}
