//! Rows taken again as a person corrects them.

use super::*;
use crate::reader::{Limits, read};
use airshelf_catalog::{Entity, PartDimension, Restraint};

const RUNS: &str = "\
session;Loop night\nrange;300 CFM\n\
run;date;purpose;baseline of;filter;lid;set pressure (inH2O);air (F);flow (CFM);restraint\n\
1;2024-05-18;baseline;bare;;;20;71;251.4;\n\
2;2024-05-18;test;;PF-1;LD-1;20;71;about the same;fastened\n\
3;2024-05-18;test;;PF-1;LD-1;20;warm;246.1;fastened\n\
4;2024-05-18;test;;PF-1;LD-1;20;71;246.3;somehow\n\
5;2024-05-18;baseline;bare;;;20;71;251.6;\n";

fn staged(text: &str, mapping: Option<&Mapping>) -> (Workbook, Records) {
    let book = read("loop.csv", text.as_bytes(), &Limits::default()).unwrap();
    let staged = stage("loop.csv", &book, &Known::default(), mapping, &mut |_| {});
    (book, staged.records)
}

fn said(cells: &[(usize, &str)]) -> Vec<CellText> {
    cells.iter().map(|(column, text)| CellText { column: *column, text: (*text).into() }).collect()
}

fn mended(
    (book, shelf): &(Workbook, Records),
    row: i64,
    column: Option<i64>,
    cells: &[(usize, &str)],
) -> Result<Mended, NotMended> {
    let entry = shelf
        .quarantined
        .iter()
        .find(|q| q.row == Some(row) && q.column == column)
        .unwrap_or_else(|| panic!("{:?}", shelf.quarantined));
    let cells = said(cells);
    let correction = Correction {
        file_name: "loop.csv",
        workbook: book,
        mapping: None,
        entry,
        before: &[],
        cells: &cells,
    };
    mend(shelf, &correction)
}

#[test]
fn a_row_set_aside_becomes_the_run_that_a_right_sheet_gives() {
    let file = staged(RUNS, None);
    let taken = mended(&file, 5, None, &[(8, "245.9")]).unwrap();
    let right = staged(&RUNS.replace("about the same", "245.9"), None).1;
    let wanted = right.runs.iter().find(|run| run.row == Some(5)).unwrap();
    let run = &taken.records.runs[0];
    assert_eq!((taken.records.runs.len(), run.id, run.order_number), (1, wanted.id, Some(2)));
    assert_eq!(run.table, file.1.runs[0].table, "it stands in the table of the file that was imported");
    assert_eq!(taken.records.readings[0].flow.as_ref().unwrap().raw(), Some("245.9"));
    assert_eq!(taken.record, Some((EntityKind::Run, run.id)));
    assert_eq!(taken.settled.len(), 1);
    assert!(taken.completed.is_empty() && taken.replaced.is_empty());
    assert!(taken.records.sessions.is_empty() && taken.records.parts.is_empty(), "the shelf has them");
}

#[test]
fn what_a_new_row_needs_comes_with_it() {
    let file = staged(RUNS, None);
    let taken = mended(&file, 5, None, &[(8, "245.9"), (5, "LD-9"), (1, "2024-06-01")]).unwrap();
    assert_eq!(taken.records.sessions.len(), 1);
    assert_eq!(taken.records.parts[0].tag.as_deref(), Some("LD-9"));
    assert_eq!((taken.records.revisions.len(), taken.records.assemblies.len()), (1, 1));
}

#[test]
fn a_cell_of_a_reading_strikes_it_and_makes_another() {
    let file = staged(RUNS, None);
    let taken = mended(&file, 6, Some(7), &[(7, "71")]).unwrap();
    let (struck, new) = &taken.replaced[0];
    let old = file.1.readings.iter().find(|r| r.id == *struck).unwrap();
    assert_eq!((new.repairs, new.run, &new.flow), (Some(*struck), old.run, &old.flow));
    assert!(old.air_temperature.is_none() && new.air_temperature.is_some());
    assert!(taken.records.runs.is_empty() && taken.completed.is_empty());
}

#[test]
fn a_cell_of_a_run_is_filled_in_where_it_is() {
    let file = staged(RUNS, None);
    let taken = mended(&file, 7, Some(9), &[(9, "fastened")]).unwrap();
    let run = file.1.runs.iter().find(|run| run.row == Some(7)).unwrap();
    assert_eq!((taken.completed.len(), taken.completed[0].row), (1, run.id));
    let mut now = run.clone();
    taken.completed[0].put(&mut now).unwrap();
    assert_eq!(now.restraint, Some(Restraint::Fastened));
    assert!(taken.records.is_empty() && taken.replaced.is_empty(), "{:?}", taken.records);
}

#[test]
fn what_still_cannot_be_read_is_refused_with_its_reason() {
    let file = staged(RUNS, None);
    let refused = |row, column, cells: &[(usize, &str)]| mended(&file, row, column, cells).unwrap_err();
    assert!(matches!(refused(5, None, &[(8, "much")]), NotMended::Aside(why) if why.contains("much")));
    assert!(matches!(refused(7, Some(9), &[(9, "by luck")]), NotMended::Aside(_)));
    assert!(matches!(refused(7, Some(9), &[(4, "PF-2")]), NotMended::Aside(_)), "another cell mends nothing");
}

#[test]
fn a_cell_may_be_left_out() {
    let file = staged(RUNS, None);
    let taken = mended(&file, 7, Some(9), &[(9, "")]).unwrap();
    assert!(taken.is_empty());
    assert_eq!((taken.settled.len(), taken.record.is_some()), (1, true));
}

#[test]
fn a_second_correction_of_a_row_keeps_the_first() {
    let text = RUNS.replace("about the same;fastened", "about the same;somehow");
    let (book, mut shelf) = staged(&text, None);
    let first = mended(&(book.clone(), shelf.clone()), 5, None, &[(8, "245.9")]).unwrap();
    let aside = first.records.quarantined[0].clone();
    assert_eq!(aside.column, Some(9), "the row is taken, and another cell of it stands aside now");
    shelf.append(first.records);
    let correction = Correction {
        file_name: "loop.csv",
        workbook: &book,
        mapping: None,
        entry: &aside,
        before: &said(&[(8, "245.9")]),
        cells: &said(&[(9, "fastened")]),
    };
    let second = mend(&shelf, &correction).unwrap();
    assert_eq!((second.records.runs.len(), second.completed.len()), (0, 1));
}

#[test]
fn a_row_that_says_what_another_says_is_a_run_of_its_own() {
    let text = "filter;lid;set pressure (inH2O);flow (CFM)\nPF-1;LD-1;20;2x4.1\nPF-1;LD-1;20;246.1\nPF-2;LD-1;20;240\n";
    let file = staged(text, None);
    let taken = mended(&file, 2, None, &[(3, "246.1")]).unwrap();
    let run = &taken.records.runs[0];
    assert_eq!(run.row, Some(2));
    assert!(file.1.runs.iter().all(|held| held.id != run.id));
    assert_eq!(taken.records.readings[0].run, Some(run.id));
}

#[test]
fn a_cell_of_a_grid_is_a_run_of_its_own() {
    let text = "losses in CFM, 20 inches of water\nflat base: lid \\ filter,A 10x2,B 11x2\nsolid,20.9,=B3*2\nvented,14.6,12.1\n";
    let file = staged(text, None);
    let taken = mended(&file, 3, Some(2), &[(2, "18.8")]).unwrap();
    assert_eq!((taken.records.runs.len(), taken.records.claims.len()), (1, 1));
    assert_eq!((taken.records.runs[0].row, taken.records.runs[0].column), (Some(3), Some(2)));
}

#[test]
fn a_cell_of_a_part_is_measured() {
    let text = "tag;kind;OD (in);height (in);price\nPF-1;filter;11;about three;24\nPF-2;filter;10;2;a few\n";
    let file = staged(text, None);
    let taken = mended(&file, 2, Some(3), &[(3, "3")]).unwrap();
    let measured = &taken.records.measurements[0];
    assert_eq!(measured.dimension, Some(PartDimension::Height));
    let part = file.1.parts.iter().find(|part| part.tag.as_deref() == Some("PF-1")).unwrap();
    assert_eq!(taken.record, Some((EntityKind::Part, part.id())));
    let taken = mended(&file, 3, Some(4), &[(4, "22.50")]).unwrap();
    assert_eq!((taken.completed.len(), taken.completed[0].kind), (1, EntityKind::Part));
}

#[test]
fn what_a_person_said_of_the_columns_holds_again() {
    let text = "order,filter,lid,Wert\n1,F-1,L-1,270\n2,F-2,L-1,much\n3,F-3,L-1,265\n";
    let map = r#"{"tables":[{"columns":[{"header":"Wert","field":"flow","unit":"CFM"}]}]}"#;
    let mapping: Mapping = serde_json::from_str(map).unwrap();
    let (book, shelf) = staged(text, Some(&mapping));
    let kept: Mapping = serde_json::from_str(shelf.import_files[0].mapping.as_deref().unwrap()).unwrap();
    assert_eq!(kept, mapping);
    let entry = shelf.quarantined.iter().find(|q| q.row == Some(3)).unwrap();
    let cells = said(&[(3, "268")]);
    let correction = Correction {
        file_name: "loop.csv",
        workbook: &book,
        mapping: Some(&kept),
        entry,
        before: &[],
        cells: &cells,
    };
    let taken = mend(&shelf, &correction).unwrap();
    assert_eq!(taken.records.readings[0].flow.as_ref().unwrap().raw(), Some("268"));
}
