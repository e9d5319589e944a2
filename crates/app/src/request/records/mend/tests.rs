//! Repairs that are more than another value, and values that a person types.

use super::super::{faults, files};
use super::*;
use crate::import::FileIn;
use airshelf_catalog::Part;
use airshelf_store::native::Native;
use std::sync::Arc;

fn shelf_with(sheets: &[(&str, &str)]) -> (tempfile::TempDir, Shelf) {
    let folder = tempfile::tempdir().unwrap();
    let host = Arc::new(Native::new(folder.path().join("config")));
    let mut shelf = Shelf::create(&folder.path().join("shelf"), host).unwrap();
    let given =
        sheets.iter().map(|(name, text)| FileIn { path: (*name).into(), bytes: text.as_bytes().to_vec() });
    let kept = files::keep(&mut shelf, given.collect(), &[], &mut |_, _, _| true).unwrap();
    assert!(kept.files.iter().all(|file| file.error.is_none()), "{kept:?}");
    (folder, shelf)
}

fn fault_of(shelf: &Shelf, rule: &str) -> faults::FaultRow {
    let wanted = faults::Wanted { severity: None, rule: Some(rule), from: 0, count: 100 };
    let list = faults::list(shelf, None, &wanted).unwrap();
    list.faults.first().unwrap_or_else(|| panic!("no {rule} among {:?}", list.rules)).clone()
}

fn is_gone(shelf: &Shelf, rule: &str) -> bool {
    let wanted = faults::Wanted { severity: None, rule: Some(rule), from: 0, count: 100 };
    faults::list(shelf, None, &wanted).unwrap().faults.is_empty()
}

/// What a repair wrote, taken back by one undo, leaves the shelf as it was.
fn undone(shelf: &mut Shelf, change: Changed, before: &Records) {
    let undone = shelf.undo(change.change.unwrap()).unwrap();
    assert!(undone.kept.is_empty(), "{:?}", undone.kept);
    let now = shelf.records().unwrap();
    assert_eq!(
        (&now.parts, &now.runs, &now.measurements),
        (&before.parts, &before.runs, &before.measurements)
    );
    let standing = |records: &Records| records.readings.iter().filter(|r| r.struck.is_none()).count();
    assert_eq!(standing(&now), standing(before));
    assert_eq!(now.assemblies.len(), before.assemblies.len());
    assert!(shelf.check().unwrap().sound);
}

const PARTS: &str = "tag;kind;OD (in);ID (in);height (in);price;filtration\n\
PF-1;filter;11;9;3;24;unknown\nPF-2;filter;8;10;2;-18.5;better than paper\nLD-1;lid;14;;;9;\n";

#[test]
fn two_dimensions_are_exchanged() {
    let (_folder, mut shelf) = shelf_with(&[("parts.csv", PARTS)]);
    let before = shelf.records().unwrap();
    let fault = fault_of(&shelf, "out-of-range");
    let with_swap =
        |fault: &faults::FaultRow| fault.choices.iter().position(|c| c.text == "Exchange OD and ID");
    let wanted = faults::Wanted { severity: None, rule: Some("out-of-range"), from: 0, count: 9 };
    let all = faults::list(&shelf, None, &wanted).unwrap().faults;
    let (swapped, at) =
        all.iter().find_map(|f| Some((f.clone(), with_swap(f)?))).unwrap_or_else(|| panic!("{fault:?}"));
    let done = repair(&mut shelf, swapped.subject, &swapped.rule, at).unwrap();
    let now = shelf.records().unwrap();
    let value = |records: &Records, name: &str| {
        let part = records.parts.iter().find(|p| p.tag.as_deref() == Some("PF-2")).unwrap();
        let revision = airshelf_catalog::ids::first_revision(part.id);
        let mut own = records.measurements.iter().filter(|m| m.revision == Some(revision));
        let one = own.rfind(|m| m.dimension.is_some_and(|d| d.name() == name)).unwrap();
        one.value.as_ref().unwrap().raw().unwrap().to_owned()
    };
    assert_eq!((value(&now, "OD"), value(&now, "ID")), ("10".into(), "8".into()));
    undone(&mut shelf, done, &before);
}

#[test]
fn words_and_prices_of_a_part_are_put_right_or_typed() {
    let (_folder, mut shelf) = shelf_with(&[("parts.csv", PARTS)]);
    let fault = fault_of(&shelf, "filtration-unproven");
    assert_eq!(fault.choices[0].text, "Make it unknown");
    repair(&mut shelf, fault.subject, &fault.rule, 0).unwrap();
    let part = |shelf: &Shelf| -> Part {
        let parts = shelf.records().unwrap().parts;
        parts.into_iter().find(|p| p.tag.as_deref() == Some("PF-2")).unwrap()
    };
    assert_eq!(part(&shelf).filtration.as_deref(), Some("unknown"));
    assert!(is_gone(&shelf, "filtration-unproven"));
    let wanted = faults::Wanted { severity: None, rule: Some("out-of-range"), from: 0, count: 9 };
    let all = faults::list(&shelf, None, &wanted).unwrap().faults;
    let price = all.iter().find(|f| f.change.as_ref().is_some_and(|c| c.field == "price")).unwrap();
    assert_eq!(price.choices[0].text, "Make it 18.50");
    repair_with(&mut shelf, price.subject, &price.rule, "19.25").unwrap();
    assert_eq!(part(&shelf).price.unwrap().amount, 19.25);
}

const RUNS: &str = "session;Loop night\nrange;300 CFM\n\
run;date;purpose;baseline of;filter;lid;set pressure (inH2O);actual pressure (inH2O);flow (CFM);restraint\n\
1;2024-05-18;baseline;bare;;;20;20.0;251.4;\n\
2;2024-05-18;test;;PF-1;LD-1;20;20.0;2463;fastened\n\
3;2024-05-18;test;;PF1;LD-1;20;20.0;246.1;fastened\n\
4;2024-05-18;test;;PF1;LD-1;20;20.0;246.1;fastened\n\
5;2024-05-18;baseline;bare;;;20;20.0;251.6;\n";

#[test]
fn a_reading_written_twice_counts_once() {
    let (_folder, mut shelf) = shelf_with(&[("loop.csv", RUNS)]);
    let before = shelf.records().unwrap();
    let fault = fault_of(&shelf, "copied-reading");
    assert_eq!(fault.choices[0].text, "One run: strike this reading out");
    let done = repair(&mut shelf, fault.subject, &fault.rule, 0).unwrap();
    let now = shelf.records().unwrap();
    let struck: Vec<_> = now.readings.iter().filter(|r| r.struck.is_some()).collect();
    assert_eq!((struck.len(), struck[0].run), (1, Some(fault.subject)));
    assert_eq!(struck[0].struck.as_deref(), Some("copied reading: the same as run 3"));
    let kept = now.runs.iter().find(|run| run.order_number == Some(3)).unwrap();
    let also = now.also_at.iter().find(|also| also.record == Some(kept.id)).unwrap();
    assert_eq!(also.row, Some(7), "both places stay known");
    assert!(is_gone(&shelf, "copied-reading"));
    undone(&mut shelf, done, &before);
}

#[test]
fn another_spelling_becomes_the_part_and_keeps_being_understood() {
    let (_folder, mut shelf) = shelf_with(&[("parts.csv", PARTS), ("loop.csv", RUNS)]);
    let before = shelf.records().unwrap();
    let fault = fault_of(&shelf, "part-alias");
    assert_eq!(fault.choices[0].text, "Same part as PF-1");
    let done = repair(&mut shelf, fault.subject, &fault.rule, 0).unwrap();
    let now = shelf.records().unwrap();
    assert!(now.parts.iter().all(|part| part.tag.as_deref() != Some("PF1")));
    let tests: Vec<_> = now.runs.iter().filter(|r| r.assembly.is_some()).collect();
    assert!(tests.windows(2).all(|two| two[0].assembly == two[1].assembly), "one assembly now");
    assert_eq!(now.aliases.len(), 1);
    assert!(is_gone(&shelf, "part-alias"));
    // A sheet with the other spelling means the same part from now on.
    let more = RUNS.replace("Loop night", "Second night").replace("PF-1", "PF1");
    let sheet = FileIn { path: "second.csv".into(), bytes: more.into_bytes() };
    files::keep(&mut shelf, vec![sheet], &[], &mut |_, _, _| true).unwrap();
    assert!(shelf.records().unwrap().parts.iter().all(|part| part.tag.as_deref() != Some("PF1")));
    let file = files::list(&shelf).unwrap().files.into_iter().find(|f| f.name == "second.csv").unwrap();
    shelf.take_back(file.id).unwrap();
    undone(&mut shelf, done, &before);
}

#[test]
fn a_typed_value_takes_the_place_of_the_reading_and_is_audited_itself() {
    let (_folder, mut shelf) = shelf_with(&[("loop.csv", RUNS)]);
    let fault = fault_of(&shelf, "over-range");
    let change = fault.change.clone().unwrap();
    assert_eq!((change.field.as_str(), change.text.as_str()), ("flow", "2463 CFM"));
    let refused = repair_with(&mut shelf, fault.subject, &fault.rule, "fast").unwrap_err();
    assert_eq!(refused.code, Code::BadQuantity);
    repair_with(&mut shelf, fault.subject, &fault.rule, "2400").unwrap();
    assert!(!is_gone(&shelf, "over-range"), "what was typed is no better");
    repair_with(&mut shelf, fault.subject, &fault.rule, "246.3 CFM").unwrap();
    assert!(is_gone(&shelf, "over-range"));
    let records = shelf.records().unwrap();
    let own: Vec<_> = records.readings.iter().filter(|r| r.run == Some(fault.subject)).collect();
    let standing: Vec<_> = own.iter().filter(|r| r.struck.is_none()).collect();
    assert_eq!((own.len(), standing.len()), (3, 1));
    assert_eq!(standing[0].flow.as_ref().unwrap().raw(), Some("246.3"));
}

#[test]
fn what_is_kept_out_is_struck_and_comes_back() {
    let text = RUNS.replace("filter;lid;set", "filter;lid;direction;set").replace(";20;20.0", ";in;20;20.0");
    let text = text.replace("PF1;LD-1;in;20;20.0;246.1", "PF-1;LD-1;exhaust;20;20.0;240.7");
    let (_folder, mut shelf) = shelf_with(&[("loop.csv", &text)]);
    let before = shelf.records().unwrap();
    let fault = fault_of(&shelf, "wrong-direction");
    assert_eq!(fault.choices[0].text, "Strike its reading out");
    let done = repair(&mut shelf, fault.subject, &fault.rule, 0).unwrap();
    let now = shelf.records().unwrap();
    let own = |r: &&airshelf_catalog::Reading| r.run == Some(fault.subject);
    assert!(now.readings.iter().filter(own).all(|r| r.struck.is_some()));
    undone(&mut shelf, done, &before);
}
