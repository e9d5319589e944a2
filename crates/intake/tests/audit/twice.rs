//! Runs recorded twice, readings that only pose as repeats, and later versions of a file.

use crate::sheet::{PARTS, Sheet, not, only, records, told};
use airshelf_intake::audit::{Repair, Rule, Scope, Severity, audit, blocking, sentence};

#[test]
fn the_same_run_twice_is_one_run() {
    let fault = only(&Sheet::clean().again(6), Rule::DuplicateRow, 12);
    assert!(matches!(fault.repair, Some(Repair::Merge { .. })));
    let text = Sheet::clean().csv();
    let other = text.replace("QS-0601", "Saturday");
    let all = records(&[("parts.csv", PARTS), ("a.csv", &text), ("b.csv", &other)]);
    let twice = audit(&all, &Scope::default()).iter().filter(|f| f.rule == Rule::DuplicateRow).count();
    assert_eq!(twice, 10);
    not(
        &Sheet::clean().again(6).put(12, "order", "11").put(12, "flow", "260.3").put(12, "clock", "18:55"),
        Rule::DuplicateRow,
    );
}

#[test]
fn the_same_digits_or_the_same_clock_are_no_repeat() {
    only(&Sheet::clean().put(6, "flow", "260.4").put(6, "actual pressure", "20.03"), Rule::CopiedReading, 6);
    only(&Sheet::clean().put(6, "clock", "18:42"), Rule::CopiedReading, 6);
    not(&Sheet::clean().put(6, "flow", "260.4"), Rule::CopiedReading);
}

#[test]
fn two_readings_of_one_minute_with_their_seconds_are_two() {
    let within = |second: &str| Sheet::clean().put(4, "clock", "18:42:10").put(6, "clock", second);
    not(&within("18:42:55"), Rule::CopiedReading);
    only(&within("18:42:10"), Rule::CopiedReading, 6);
}

#[test]
fn a_newer_version_of_a_file_repeats_nothing_but_the_cell_that_changed() {
    let old = Sheet::clean().csv();
    let new = Sheet::clean().put(5, "flow", "266.9").csv();
    let twice = |second: &str| -> Vec<Option<i64>> {
        let shelf = records(&[("parts.csv", PARTS), ("runs.csv", &old), (second, &new)]);
        let found = audit(&shelf, &Scope::default());
        found.iter().filter(|f| f.rule == Rule::DuplicateRow).map(|f| f.place.row).collect()
    };
    assert_eq!(twice("runs.csv"), [Some(5)]);
    assert_eq!(twice("copy.csv").len(), Sheet::clean().csv().lines().count() - 1);
}

#[test]
fn a_run_typed_again_in_other_units_and_without_its_item_is_the_same_run() {
    let again = |flow: &str| {
        let other = format!(
            "Date;Session;Run;Type;Filter;Top;Bottom;Flow (m3/h);Set (mbar);Held (mbar)\n\
             2024-06-01;QS-0601;4;test;QF-2;QL-1;QB-1;{flow};49,82;49,77\n\
             2024-06-01;QS-0601;7;baseline;;;bare;473,3;49,82;49,87\n"
        );
        let files = [("parts.csv", PARTS), ("runs.csv", &Sheet::clean().csv()), ("again.csv", &other)];
        let faults = audit(&records(&files), &Scope::default());
        let twice = faults
            .iter()
            .filter(|f| f.rule == Rule::DuplicateRow && f.place.file.as_deref() == Some("again.csv"));
        twice.map(|f| f.place.row.unwrap()).collect::<Vec<_>>()
    };
    assert_eq!(again("452,1"), [2, 3]);
    assert_eq!(again("441,0"), [3]);
}

#[test]
fn guests_who_ran_the_same_evening_on_another_bench_repeat_nothing() {
    let guests = |range: &str| {
        let other = format!(
            "Date;Session;Run;Type;Filter;Top;Bottom;Flow (m3/h);Range (CFM);Set (mbar);Held (mbar)\n\
             2024-06-01;QS-0601;7;baseline;;;bare;473,3;{range};49,82;49,87\n"
        );
        let files = [("parts.csv", PARTS), ("runs.csv", &Sheet::clean().csv()), ("guests.csv", &other)];
        let faults = audit(&records(&files), &Scope::default());
        faults.iter().filter(|f| f.rule == Rule::DuplicateRow).count()
    };
    assert_eq!((guests("300"), guests("520")), (1, 0));
}

#[test]
fn what_stands_twice_counts_once() {
    let copied = only(&Sheet::clean().put(6, "clock", "18:42"), Rule::CopiedReading, 6);
    assert!(copied.reach().comparison);
    let twice = only(&Sheet::clean().again(6), Rule::DuplicateRow, 12);
    assert!(twice.reach().comparison && twice.severity == Severity::Warn);
}

#[test]
fn a_run_counts_as_the_latest_version_of_its_file_has_it() {
    let first = Sheet::clean();
    let mended = Sheet::clean().put(5, "flow", "267.1");
    // A slip of one digit is as much a correction as a wrong row.
    for (text, flow) in [("267.1", "267.1"), ("265.9", "265.9")] {
        let mended = Sheet::clean().put(5, "flow", text);
        let all = records(&[("parts.csv", PARTS), ("runs.csv", &first.csv()), ("runs.csv", &mended.csv())]);
        let found = audit(&all, &Scope::default());
        assert_eq!(told(&found), [("duplicate-row", Some(5))]);
        assert_eq!(found[0].value.as_deref(), Some(flow));
        let reading = all.readings.iter().find(|r| r.run == Some(found[0].subject)).unwrap();
        assert_eq!(reading.flow.as_ref().unwrap().raw(), Some("266.1"));
        assert!(blocking(&found)[&found[0].subject].comparison);
    }
    let why = |files: &[(&str, &str)]| {
        let found = audit(&records(files), &Scope::default());
        found.iter().filter(|f| f.rule == Rule::DuplicateRow).map(sentence::why).collect::<Vec<_>>()
    };
    let (one, two) = (first.csv(), mended.csv());
    let said = why(&[("parts.csv", PARTS), ("runs.csv", &one), ("runs.csv", &two)]);
    assert_eq!(
        said,
        ["row 5 of an earlier version of this file has this run with 266.1 CFM; here it is 267.1 CFM; \
          the later version counts"]
    );
    // A third version that says again what the first said; it has bytes of its own.
    let back = format!("{one}\n");
    let said = why(&[("parts.csv", PARTS), ("runs.csv", &one), ("runs.csv", &two), ("runs.csv", &back)]);
    assert_eq!(said.len(), 1);
    assert!(said[0].contains("with 267.1 CFM; here it is 266.1 CFM"), "{said:?}");
    // Another file is no version of this one.
    let said = why(&[("parts.csv", PARTS), ("runs.csv", &one), ("other.csv", &two)]);
    assert!(!said.iter().any(|why| why.contains("version")), "{said:?}");
}
