//! Sheets before they are kept, what is kept of them, and what a person decides about their faults.

use super::*;
use crate::code::Code;
use airshelf_catalog::EntityKind;
use airshelf_store::native::Native;
use std::sync::Arc;

fn begun(demo: bool) -> (tempfile::TempDir, Shelf) {
    let folder = tempfile::tempdir().unwrap();
    let host = Arc::new(Native::new(folder.path().join("config")));
    let dir = folder.path().join("shelf");
    let shelf = match demo {
        false => Shelf::create(&dir, host).unwrap(),
        true => {
            Shelf::make_demo(&dir, host.clone(), &mut |_, _, _| true).unwrap();
            Shelf::open(&dir, host).unwrap()
        }
    };
    (folder, shelf)
}

/// One reading above the range that the page states, one date that is none.
const SHEET: &str = "\
session;Loop night\nrange;300 CFM\n\
run;date;purpose;baseline of;filter;lid;set pressure (inH2O);actual pressure (inH2O);flow (CFM);restraint\n\
1;2024-05-18;baseline;bare;;;20;20.0;251.4;\n\
2;2024-05-18;test;;PF-1;LD-1;20;20.0;2463;fastened\n\
3;2024-05-18;test;;PF-1;LD-1;20;20.0;246.1;fastened\n\
4;2024-05-18;baseline;bare;;;20;20.0;251.6;\n";

fn file(name: &str, text: &str) -> FileIn {
    FileIn { path: name.into(), bytes: text.as_bytes().to_vec() }
}

fn faults_of(shelf: &Shelf, severity: Option<&str>) -> FaultList {
    faults::list(shelf, None, &faults::Wanted { severity, rule: None, from: 0, count: 1000 }).unwrap()
}

#[test]
fn a_dry_run_shows_each_cell_beside_its_reading_and_keeps_nothing() {
    let (_folder, mut shelf) = begun(false);
    let mut told = Vec::new();
    let said = sheet::dry_run(&mut shelf, vec![file("loop.csv", SHEET)], &[], &mut |what, _, _| {
        told.push(what.to_owned());
        true
    })
    .unwrap();
    assert!(told.contains(&"reading".to_owned()) && told.contains(&"auditing".to_owned()));
    let table = &said.files[0].tables[0];
    assert_eq!(table.rows.len(), 4);
    let at = table.columns.iter().position(|c| c.header.starts_with("flow")).unwrap();
    assert_eq!(table.columns[at].sure, "sure");
    let row = &table.rows[1];
    assert_eq!(row.cells[at].raw, "2463");
    assert!(row.cells[at].read.as_ref().unwrap().text.ends_with("CFM"));
    assert!(!row.faults.is_empty() && row.cells[at].faulty, "{:?}", said.files[0].faults);
    assert!(table.rows[2].cells[at].read.as_ref().unwrap().other.as_ref().unwrap().ends_with("L/s"));
    assert!(shelf.is_empty().unwrap());
}

#[test]
fn a_dry_run_that_is_stopped_says_so() {
    let (_folder, mut shelf) = begun(false);
    let fault =
        sheet::dry_run(&mut shelf, vec![file("loop.csv", SHEET)], &[], &mut |_, _, _| false).unwrap_err();
    assert_eq!(fault.code, Code::Stopped);
}

#[test]
fn further_rows_are_read_by_page() {
    let (_folder, mut shelf) = begun(false);
    let more = sheet::rows(&mut shelf, &file("loop.csv", SHEET), &[], 0, (2, 1)).unwrap();
    assert_eq!((more.total, more.rows.len(), more.rows[0].row), (4, 1, 6));
}

#[test]
fn a_file_that_cannot_be_read_says_why_and_the_others_are_shown() {
    let (_folder, mut shelf) = begun(false);
    let files = vec![file("notes.csv", "only words here\n"), file("loop.csv", SHEET)];
    let said = sheet::dry_run(&mut shelf, files, &[], &mut |_, _, _| true).unwrap();
    assert!(said.files[0].error.is_some() && said.files[1].error.is_none());
    assert!(!said.files[0].error.as_ref().unwrap().hint.as_ref().unwrap().contains("--"));
    assert!(said.said.contains("could not be read"), "{}", said.said);
}

#[test]
fn what_was_kept_is_listed_and_can_be_taken_back_and_brought_back() {
    let (_folder, mut shelf) = begun(false);
    files::keep(&mut shelf, vec![file("loop.csv", SHEET)], &[], &mut |_, _, _| true).unwrap();
    let listed = files::list(&shelf).unwrap().files;
    assert_eq!((listed.len(), listed[0].name.as_str(), listed[0].taken_back), (1, "loop.csv", false));
    assert!(listed[0].tables[0].contains("rows 4 to 7"), "{:?}", listed[0].tables);
    let runs = |shelf: &Shelf| shelf.records().unwrap().runs.len();
    assert_eq!(runs(&shelf), 4);
    let history = shelf.history(9).unwrap();
    assert_eq!(history.iter().filter(|h| h.label == "import loop.csv").count(), 1, "{history:?}");
    let back = shelf.take_back(listed[0].id).unwrap();
    let change = back.change.unwrap();
    assert_eq!(runs(&shelf), 0);
    assert!(back.rows > 4 && back.stay == 0 && back.kept.is_empty(), "{back:?}");
    assert!(files::list(&shelf).unwrap().files[0].taken_back);
    assert!(shelf.take_back(listed[0].id).is_err());
    shelf.undo(change).unwrap();
    assert_eq!(runs(&shelf), 4);
    // What another file has too stays, and is told.
    files::keep(&mut shelf, vec![file("again.csv", &format!("{SHEET}\n"))], &[], &mut |_, _, _| true)
        .unwrap();
    let back = shelf.take_back(listed[0].id).unwrap();
    assert!(back.stay > 0, "{back:?}");
    let import = history.iter().find(|h| h.label == "import loop.csv").unwrap().number;
    assert_eq!(shelf.undo(import).unwrap_err().code, Code::BadArgument, "it is taken back already");
}

#[test]
fn of_a_sheet_that_is_taken_back_only_what_a_person_changed_stays() {
    let (_folder, mut shelf) = begun(false);
    let sheet = "tag,kind,OD (in),height (in)\nPF-1,filter,11,2.25\nPF-2,filter,12,3\nLD-1,lid,11,0.3\n";
    files::keep(&mut shelf, vec![file("parts.csv", sheet)], &[], &mut |_, _, _| true).unwrap();
    shelf.change(EntityKind::Part, "PF-2", &[("place".into(), "top board".into())]).unwrap();
    let file = files::list(&shelf).unwrap().files[0].id;
    let back = shelf.take_back(file).unwrap();
    assert_eq!(back.kept, ["part PF-2"]);
    let records = shelf.records().unwrap();
    let tags: Vec<_> = records.parts.iter().filter_map(|part| part.tag.as_deref()).collect();
    assert_eq!((tags, records.measurements.len()), (vec!["PF-2"], 2), "with its own sizes");
}

#[test]
fn a_lost_original_is_kept_again_with_the_same_file() {
    let (folder, mut shelf) = begun(false);
    files::keep(&mut shelf, vec![file("loop.csv", SHEET)], &[], &mut |_, _, _| true).unwrap();
    let lost = |shelf: &Shelf| shelf.check().unwrap().blobs_lost.len();
    assert_eq!(lost(&shelf), 0);
    let blobs = walk(folder.path()).into_iter().filter(|path| path.to_string_lossy().contains("blobs"));
    blobs.for_each(|path| std::fs::remove_file(path).unwrap());
    assert_eq!(lost(&shelf), 1);
    files::keep(&mut shelf, vec![file("loop.csv", SHEET)], &[], &mut |_, _, _| true).unwrap();
    assert_eq!(lost(&shelf), 0);
}

/// Every file below a folder.
fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let inside = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    inside.flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] }).collect()
}

#[test]
fn a_fault_that_is_let_stand_is_gone_until_that_is_undone() {
    let (_folder, mut shelf) = begun(false);
    files::keep(&mut shelf, vec![file("loop.csv", SHEET)], &[], &mut |_, _, _| true).unwrap();
    let before = faults_of(&shelf, None);
    let first = before.faults[0].clone();
    assert!(mend::let_stand(&mut shelf, first.subject, &first.rule, " ").is_err(), "without a reason");
    let done = mend::let_stand(&mut shelf, first.subject, &first.rule, "read twice, it is so").unwrap();
    let still =
        |list: &FaultList| list.faults.iter().any(|f| (f.subject, &f.rule) == (first.subject, &first.rule));
    assert!(!still(&faults_of(&shelf, None)));
    shelf.undo(done.change.unwrap()).unwrap();
    assert!(still(&faults_of(&shelf, None)));
}

#[test]
fn an_accepted_repair_strikes_the_reading_and_puts_another_in_its_place() {
    let (_folder, mut shelf) = begun(false);
    files::keep(&mut shelf, vec![file("loop.csv", SHEET)], &[], &mut |_, _, _| true).unwrap();
    let list = faults_of(&shelf, Some("block"));
    let fault = list.faults.iter().find(|f| f.rule == "over-range").expect("2463 CFM on a 300 CFM range");
    assert!(fault.choices[0].text.contains("246 CFM"), "{:?}", fault.choices);
    mend::repair(&mut shelf, fault.subject, &fault.rule, 0).unwrap();
    let records = shelf.records().unwrap();
    let readings: Vec<_> = records.readings.iter().filter(|r| r.run == Some(fault.subject)).collect();
    let struck = readings.iter().find(|r| r.struck.is_some()).unwrap();
    let mended = readings.iter().find(|r| r.struck.is_none()).unwrap();
    assert_eq!(mended.repairs, Some(struck.id));
    assert_eq!(struck.flow.as_ref().unwrap().raw(), Some("2463"));
    assert_eq!(mended.flow.as_ref().unwrap().raw(), Some("246"));
    assert!(faults_of(&shelf, Some("block")).faults.iter().all(|f| f.rule != "over-range"));
}

#[test]
fn the_audit_counts_by_severity_and_rule_whatever_is_shown() {
    let (_folder, mut shelf) = begun(true);
    let names = files::notebook(&shelf, None, &mut None).unwrap();
    assert_eq!(names.len(), 6);
    let mut notebook = Vec::new();
    for (at, name) in names.iter().enumerate() {
        let mut bytes = None;
        files::notebook(&shelf, Some(at), &mut bytes).unwrap();
        notebook.push(FileIn { path: name.clone(), bytes: bytes.unwrap() });
    }
    files::keep(&mut shelf, notebook, &[], &mut |_, _, _| true).unwrap();
    let all = faults_of(&shelf, None);
    assert_eq!(all.total, all.blocks + all.warns + all.informs);
    assert!(all.faults.windows(2).all(|two| two[0].severity >= two[1].severity));
    let blocking = faults_of(&shelf, Some("block"));
    assert_eq!((blocking.total, blocking.warns), (all.blocks, all.warns));
    assert_eq!(blocking.rules.iter().map(|rule| rule.count).sum::<usize>(), all.blocks);
    assert!(all.faults.iter().all(|fault| !fault.place.is_empty() && fault.why.contains(' ')));
}

#[test]
fn a_shelf_of_ones_own_has_no_notebook() {
    let (_folder, shelf) = begun(false);
    assert!(files::notebook(&shelf, None, &mut None).unwrap().is_empty());
}

#[test]
fn what_could_not_be_taken_is_listed_with_its_place_and_can_be_put_away() {
    let (_folder, mut shelf) = begun(false);
    let text = SHEET.replace("3;2024-05-18", "3;the day after").replace(";246.1;", ";about the same;");
    files::keep(&mut shelf, vec![file("loop.csv", &text)], &[], &mut |_, _, _| true).unwrap();
    let list = aside::list(&shelf, 0, 10).unwrap();
    assert!(list.total > 0, "a flow in words cannot be taken");
    let row = &list.rows[0];
    assert!(row.place.starts_with("loop.csv, row 6"), "{}", row.place);
    assert!(!row.reason.is_empty());
    let done = aside::dismiss(&mut shelf, row.id).unwrap();
    assert_eq!(aside::list(&shelf, 0, 10).unwrap().total, list.total - 1);
    shelf.undo(done.change.unwrap()).unwrap();
    assert_eq!(aside::list(&shelf, 0, 10).unwrap().total, list.total);
}

/// As [`SHEET`], with a flow in words and a restraint that nobody knows.
fn with_aside() -> String {
    SHEET.replace(";246.1;fastened", ";about the same;fastened").replace(";251.6;", ";251.6;somehow")
}

fn aside_of(shelf: &Shelf, row: usize) -> AsideRow {
    let list = aside::list(shelf, 0, 10).unwrap();
    let of_row = |one: &&AsideRow| one.place.contains(&format!("row {row}"));
    list.rows.iter().find(of_row).unwrap_or_else(|| panic!("{:?}", list.rows)).clone()
}

#[test]
fn a_row_that_was_mended_is_taken_and_undo_brings_it_back_aside() {
    let (_folder, mut shelf) = begun(false);
    files::keep(&mut shelf, vec![file("loop.csv", &with_aside())], &[], &mut |_, _, _| true).unwrap();
    let row = aside_of(&shelf, 6);
    let cells = shelf.aside_cells(&row.id.to_string()).unwrap();
    let flow = cells.cells.iter().find(|cell| cell.header.starts_with("flow")).unwrap();
    assert_eq!((flow.text.as_str(), flow.letters.as_str()), ("about the same", "I"));
    assert_eq!(flow.field.as_deref(), Some("flow"));

    let refused = shelf.mend_aside(&row.id.to_string(), &[("I".into(), "lots".into())]).unwrap_err();
    assert_eq!(refused.code, Code::NotTaken);
    assert!(refused.message.contains("row 6 of loop.csv") && refused.message.contains("lots"), "{refused}");
    let missing = shelf.mend_aside(&row.id.to_string(), &[("fluff".into(), "1".into())]).unwrap_err();
    assert_eq!(missing.code, Code::BadArgument);

    for text in ["246.1", "246.4"] {
        let done = shelf.mend_aside(&row.id.to_string(), &[("flow (CFM)".into(), text.into())]).unwrap();
        assert!(done.said.contains("run 3 of"), "{}", done.said);
        let records = shelf.records().unwrap();
        assert_eq!(records.runs.len(), 4);
        let run = records.runs.iter().find(|run| Some(run.id) == done.record).unwrap();
        assert_eq!((run.row, run.order_number), (Some(6), Some(3)));
        let standing: Vec<_> = records
            .readings
            .iter()
            .filter(|reading| reading.run == Some(run.id) && reading.struck.is_none())
            .map(|reading| reading.flow.as_ref().unwrap().raw().unwrap())
            .collect();
        assert_eq!(standing, [text]);
        assert_eq!(aside::list(&shelf, 0, 10).unwrap().total, 1);
        assert!(shelf.history(1).unwrap()[0].label == "mend row 6 of loop.csv");
        let undone = shelf.undo(done.change.unwrap()).unwrap();
        assert!(undone.kept.is_empty(), "{:?}", undone.kept);
        assert_eq!(shelf.records().unwrap().runs.len(), 3);
        assert_eq!(aside::list(&shelf, 0, 10).unwrap().total, 2);
        // The same text again, after it was taken back.
        let again = shelf.mend_aside(&row.id.to_string(), &[("I".into(), text.into())]).unwrap();
        let records = shelf.records().unwrap();
        let of_run = records.readings.iter().filter(|r| r.run == again.record && r.struck.is_none());
        assert_eq!((of_run.count(), records.runs.len()), (1, 4));
        shelf.undo(again.change.unwrap()).unwrap();
    }
    assert!(shelf.check().unwrap().sound);
}

#[test]
fn a_cell_that_was_mended_is_filled_in_and_importing_again_adds_nothing() {
    let (_folder, mut shelf) = begun(false);
    let sheet = file("loop.csv", &with_aside());
    files::keep(&mut shelf, vec![sheet.clone()], &[], &mut |_, _, _| true).unwrap();
    let row = aside_of(&shelf, 7);
    let done = shelf.mend_aside(&row.id.to_string(), &[("restraint".into(), "fastened".into())]).unwrap();
    let records = shelf.records().unwrap();
    let run = records.runs.iter().find(|run| Some(run.id) == done.record).unwrap();
    assert_eq!((run.row, run.restraint.map(|r| r.name())), (Some(7), Some("fastened")));
    assert_eq!(records.runs.len(), 3);
    assert!(shelf.mend_aside(&row.id.to_string(), &[("restraint".into(), "held".into())]).is_err());
    let kept = files::keep(&mut shelf, vec![sheet], &[], &mut |_, _, _| true).unwrap();
    assert_eq!(kept.files[0].said, "all of it was on the shelf already");
    let file = files::list(&shelf).unwrap().files[0].id;
    shelf.take_back(file).unwrap();
    assert_eq!(aside::list(&shelf, 0, 10).unwrap().total, 0, "nothing of a file that was taken back");
}

fn said(row: u32, heads: bool, columns: &[(usize, Option<&str>, Option<&str>)]) -> TableSaid {
    let column = |(column, field, unit): &(usize, Option<&str>, Option<&str>)| ColumnSaid {
        column: *column,
        field: field.map(str::to_owned),
        unit: unit.map(str::to_owned),
    };
    TableSaid { file: 0, sheet: None, row, heads, columns: columns.iter().map(column).collect() }
}

const ODD: &str =
    "Loop night at 20 inches of water\norder,filter,lid,Wert,flow\n1,F-1,L-1,131.9,9\n2,F-2,L-1,125.1,9\n";

#[test]
fn a_person_says_what_a_column_holds_and_the_import_keeps_it_so() {
    let (_folder, mut shelf) = begun(false);
    let sheet = file("odd.csv", ODD);
    let guessed = sheet::dry_run(&mut shelf, vec![sheet.clone()], &[], &mut |_, _, _| true).unwrap();
    let table = &guessed.files[0].tables[0];
    assert!(table.can_say && table.header_row == 2);
    assert_eq!(table.columns[4].name.as_deref(), Some("flow"));
    let of_runs = guessed.offered.iter().find(|offered| offered.kind == table.kind).unwrap();
    let flow = of_runs.fields.iter().find(|field| field.name == "flow").unwrap();
    assert!(flow.units.iter().any(|unit| unit.symbol == "L/s"), "{:?}", flow.units);
    assert!(of_runs.fields.iter().any(|field| field.text == "filter height"));

    let told = [said(2, true, &[(3, Some("flow"), Some("L/s")), (4, None, None)])];
    let again = sheet::dry_run(&mut shelf, vec![sheet.clone()], &told, &mut |_, _, _| true).unwrap();
    let table = &again.files[0].tables[0];
    assert_eq!((table.columns[3].name.as_deref(), table.columns[3].sure), (Some("flow"), "as you said"));
    assert_eq!((table.columns[4].name.as_deref(), table.columns[4].sure), (None, "as you said"));
    assert!(table.rows[0].cells[3].read.as_ref().unwrap().other.as_ref().unwrap().contains("131.9"));
    let more = sheet::rows(&mut shelf, &sheet, &told, 0, (1, 1)).unwrap();
    assert!(more.rows[0].cells[3].read.is_some() && more.rows[0].cells[4].read.is_none());

    files::keep(&mut shelf, vec![sheet], &told, &mut |_, _, _| true).unwrap();
    let flows: Vec<f64> =
        shelf.records().unwrap().readings.iter().map(|r| r.flow.as_ref().unwrap().si).collect();
    assert!(flows.iter().any(|si| (si - 0.1319).abs() < 1e-9), "{flows:?}");
    let wrong = [said(2, true, &[(3, Some("flow"), Some("kPa"))])];
    let refused = sheet::dry_run(&mut shelf, vec![file("odd.csv", ODD)], &wrong, &mut |_, _, _| true);
    assert_eq!(refused.unwrap_err().code, Code::BadArgument);
}

#[test]
fn a_person_says_which_row_is_the_header() {
    let (_folder, mut shelf) = begun(false);
    let text = "alpha,beta,gamma\n1,F-1,131.9\n2,F-2,125.1\n";
    let none = sheet::dry_run(&mut shelf, vec![file("plain.csv", text)], &[], &mut |_, _, _| true).unwrap();
    assert!(none.files[0].error.is_some());
    assert_eq!(none.files[0].heads[0].text, "alpha · beta · gamma");
    let fields = [(0, Some("order"), None), (1, Some("filter"), None), (2, Some("flow"), Some("CFM"))];
    let told = [said(1, true, &fields)];
    let read = sheet::dry_run(&mut shelf, vec![file("plain.csv", text)], &told, &mut |_, _, _| true).unwrap();
    assert_eq!(
        (read.files[0].taken, read.files[0].tables[0].header_row),
        (2, 1),
        "{:?}",
        read.files[0].error
    );

    // A first row that only looks like a header.
    let text = "run,filter,flow\nrun,filter,flow (L/s)\n1,F-1,131.9\n2,F-2,125.1\n";
    let told = [said(1, false, &[]), said(2, true, &[])];
    let read = sheet::dry_run(&mut shelf, vec![file("two.csv", text)], &told, &mut |_, _, _| true).unwrap();
    let tables: Vec<u32> = read.files[0].tables.iter().map(|table| table.header_row).collect();
    assert_eq!(tables, [2]);
}
