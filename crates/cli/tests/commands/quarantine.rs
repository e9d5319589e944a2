//! Rows of old sheets that could not be taken: seen with their cells, mended, and taken back again.

use crate::{airshelf, json, said};
use tempfile::tempdir;

const SHEET: &str = "session;Loop night\nrange;300 CFM\n\
run;date;purpose;baseline of;filter;lid;set pressure (inH2O);flow (CFM);restraint\n\
1;2024-05-18;baseline;bare;;;20;251.4;\n\
2;2024-05-18;test;;PF-1;LD-1;20;about the same;fastened\n\
3;2024-05-18;baseline;bare;;;20;251.6;\n";

#[test]
fn a_row_that_could_not_be_taken_is_mended_where_it_stands() {
    let home = tempdir().unwrap();
    std::fs::write(home.path().join("loop.csv"), SHEET).unwrap();
    let run = |words: &[&str]| airshelf(home.path(), &[&["--shelf", "s"], words].concat());
    let of = |words: &[&str]| json(&airshelf(home.path(), &[&["--shelf", "s", "--json"], words].concat()));
    run(&["import", "--write", "loop.csv"]);
    // The file itself is not needed any more.
    std::fs::remove_file(home.path().join("loop.csv")).unwrap();
    let id = of(&["quarantine", "list"])["quarantined"][0]["id"].as_str().unwrap().to_owned();

    let shown = said(&run(&["quarantine", "show", &id[..13]]));
    assert!(shown.contains("flow (CFM)") && shown.contains("about the same"), "{shown}");
    assert!(shown.contains("quarantine mend"), "{shown}");
    let shown = of(&["quarantine", "show", &id]);
    let cells = shown["cells"].as_array().unwrap();
    let flow = cells.iter().find(|cell| cell["header"] == "flow (CFM)").unwrap();
    assert_eq!((&flow["letters"], &flow["text"]), (&"H".into(), &"about the same".into()));
    assert_eq!(shown["row"], 5);

    let refused = run(&["quarantine", "mend", &id, "flow (CFM)=lots"]);
    assert_eq!(refused.status.code(), Some(1), "it still cannot be taken");
    assert!(String::from_utf8_lossy(&refused.stderr).contains("lots"));
    assert_eq!(run(&["quarantine", "mend", &id, "fluff=1"]).status.code(), Some(2), "no such column");
    assert_eq!(run(&["quarantine", "mend", &id, "246.1"]).status.code(), Some(2), "no column at all");
    assert_eq!(of(&["run", "list", "--session", "Loop night"])["run"].as_array().unwrap().len(), 2);

    let done = of(&["quarantine", "mend", &id, "H=246.1"]);
    assert_eq!((&done["kind"], done["rows"].as_u64() > Some(2)), (&"run".into(), true), "{done:#}");
    let made = of(&["run", "show", done["record"].as_str().unwrap()]);
    assert_eq!(made["row"], 5);
    assert_eq!(of(&["run", "list", "--session", "Loop night"])["run"].as_array().unwrap().len(), 3);
    assert_eq!(of(&["quarantine", "show", &id])["repaired"], done["record"]);

    assert_eq!(run(&["undo", &done["change"].to_string()]).status.code(), Some(0));
    assert_eq!(of(&["run", "list", "--session", "Loop night"])["run"].as_array().unwrap().len(), 2);
    assert!(of(&["quarantine", "show", &id])["repaired"].is_null());
    assert_eq!(of(&["check"])["sound"], true);
}
