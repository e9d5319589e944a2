//! The main job on old sheets: import, audit, compare, export, keep.

use crate::{airshelf, json, shown};
use std::path::{Path, PathBuf};
use tempfile::tempdir;

fn sheet(name: &str) -> String {
    let path: PathBuf =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/sheets/visible").join(name);
    path.to_str().unwrap().to_owned()
}

#[test]
fn april_goes_from_sheet_to_verdict() {
    let home = tempdir().unwrap();
    let april = sheet("01-runs-april.csv");
    let before = std::fs::read(&april).unwrap();
    let dry = json(&airshelf(home.path(), &["--json", "--shelf", "s", "import", &april]));
    assert_eq!(dry["written"], false);
    assert_eq!(dry["files"][0]["runs"], 43);
    assert!(!home.path().join("s").exists(), "a dry run makes no shelf");

    let kept = json(&airshelf(home.path(), &["--json", "--shelf", "s", "import", "--write", &april]));
    assert_eq!(kept["files"][0]["rows"]["taken"], 43);
    assert_eq!(kept["files"][0]["faults"].as_array().unwrap().len(), 0, "{}", kept["files"][0]["faults"]);
    assert_eq!(std::fs::read(&april).unwrap(), before, "originals stay as they are");

    let again = json(&airshelf(home.path(), &["--json", "--shelf", "s", "import", "--write", &april]));
    assert_eq!(again["files"][0]["rows"]["already"], 43);
    assert_eq!(again["files"][0]["rows"]["taken"], 0);

    let audit = airshelf(home.path(), &["--shelf", "s", "audit"]);
    assert_eq!(audit.status.code(), Some(0));

    let compared =
        json(&airshelf(home.path(), &["--json", "--shelf", "s", "compare", "--session", "QL-0413"]));
    let group = &compared["sessions"][0]["groups"][0];
    assert_eq!(group["baseline"]["definition"], "bare");
    assert_eq!(group["repeatability"]["from"], "session");
    assert_eq!(group["assemblies"].as_array().unwrap().len(), 6);
    for assembly in group["assemblies"].as_array().unwrap() {
        let of = |key: &str| assembly[key].as_f64().unwrap();
        assert!(of("loss_low_percent") < of("loss_percent") && of("loss_percent") < of("loss_high_percent"));
        assert!(assembly["placed"].as_bool().unwrap());
    }
    assert_eq!(group["pairs"].as_array().unwrap().len(), 15);
    let best = &group["assemblies"][0];
    assert_eq!(best["parts"], serde_json::json!(["BS-2", "FF-1", "LD-2"]));
    assert_eq!(best["place"], 1);
}

#[test]
fn single_readings_without_history_give_the_break_even_and_no_verdict() {
    let home = tempdir().unwrap();
    airshelf(home.path(), &["--shelf", "s", "import", "--write", &sheet("10-lid-by-filter.csv")]);
    let compared = json(&airshelf(home.path(), &["--json", "--shelf", "s", "compare"]));
    let mut pairs = 0;
    for group in compared["sessions"].as_array().unwrap().iter().flat_map(|s| s["groups"].as_array().unwrap())
    {
        assert_eq!(group["repeatability"]["from"], "none");
        assert!(group["break_even_scatter_percent"].as_f64().unwrap() > 0.0);
        for pair in group["pairs"].as_array().unwrap() {
            assert!(pair["verdict"].is_null());
            assert!(
                pair["sentence"].as_str().unwrap().contains("Real only if")
                    || pair["difference_percent"] == 0.0
            );
            pairs += 1;
        }
    }
    assert!(pairs > 20, "{pairs}");
}

#[test]
fn a_blocking_fault_is_exit_code_3_and_names_its_place_and_repair() {
    let home = tempdir().unwrap();
    airshelf(
        home.path(),
        &["--shelf", "s", "import", "--write", &sheet("02-parts-shelf.csv"), &sheet("04-runs-may.csv")],
    );
    let output = airshelf(home.path(), &["--json", "--shelf", "s", "audit", "--session", "QL-0511"]);
    assert_eq!(output.status.code(), Some(3));
    let faults = json(&output);
    let wanted =
        faults["faults"].as_array().unwrap().iter().find(|f| f["rule"] == "pressure-unit").unwrap().clone();
    assert_eq!((wanted["row"].as_i64(), wanted["severity"].as_str()), (Some(8), Some("block")));
    assert_eq!(wanted["column"], "set pressure (inH2O)");
    assert_eq!(wanted["value"], "1.47");
    assert!(wanted["repair"].as_str().unwrap().contains("1.47 inHg"), "{wanted}");
}

#[test]
fn what_was_exported_imports_as_the_same_values() {
    let home = tempdir().unwrap();
    airshelf(
        home.path(),
        &["--shelf", "s", "import", "--write", &sheet("02-parts-shelf.csv"), &sheet("01-runs-april.csv")],
    );
    for what in ["runs", "parts"] {
        let out = format!("{what}.csv");
        assert!(airshelf(home.path(), &["--shelf", "s", "export", what, "--out", &out]).status.success());
    }
    airshelf(home.path(), &["--shelf", "t", "import", "--write", "parts.csv", "runs.csv"]);
    let of = |shelf: &str| {
        let compared = json(&airshelf(home.path(), &["--json", "--shelf", shelf, "compare"]));
        let losses: Vec<f64> = compared["sessions"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|s| s["groups"].as_array().unwrap())
            .flat_map(|g| g["assemblies"].as_array().unwrap())
            .map(|a| a["loss_percent"].as_f64().unwrap())
            .collect();
        losses
    };
    let (first, second) = (of("s"), of("t"));
    assert_eq!(first.len(), 10);
    assert_eq!(first, second);
}

#[test]
fn an_evening_is_typed_in_by_hand_struck_and_undone() {
    let home = tempdir().unwrap();
    let run = |words: &[&str]| {
        let output = airshelf(home.path(), &[&["--shelf", "s", "--json"], words].concat());
        assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
        json(&output)
    };
    run(&["new"]);
    for part in [["kind=carburetor", "tag=C-1"], ["kind=filter", "tag=F-1"], ["kind=lid", "tag=L-1"]] {
        run(&["part", "add", part[0], part[1]]);
    }
    run(&["part", "change", "F-1", "OD=11 in", "pleat depth=1-1/8\""]);
    let part = run(&["part", "show", "F-1"]);
    assert!((part["pleat_depth_m"].as_f64().unwrap() - 0.028575).abs() < 1e-12, "{part}");
    run(&["session", "add", "name=tonight", "date=2024-05-18"]);
    let flows = ["277.4 CFM", "261.0 CFM", "277.6 CFM"];
    run(&[
        "run",
        "add",
        "session=tonight",
        "purpose=baseline",
        "baseline_kind=bare",
        "item=C-1",
        "set_pressure=20 inH2O",
        &format!("flow={}", flows[0]),
    ]);
    let added = run(&[
        "run",
        "add",
        "session=tonight",
        "purpose=test",
        "parts=F-1,L-1",
        "item=C-1",
        "restraint=fastened",
        "set_pressure=20 inH2O",
        &format!("flow={}", flows[1]),
    ]);
    run(&[
        "run",
        "add",
        "session=tonight",
        "purpose=baseline",
        "baseline_kind=bare",
        "item=C-1",
        "set_pressure=20 inH2O",
        &format!("flow={}", flows[2]),
    ]);
    let explained = run(&["explain", "tonight/2"]);
    assert!(
        explained["steps"].as_array().unwrap().iter().any(|s| s["name"] == "flow at the set pressure"),
        "{explained}"
    );
    let struck = run(&["run", "strike", "tonight/2", "--reason", "the lid lifted"]);
    let shown = run(&["run", "show", added["id"].as_str().unwrap()]);
    assert_eq!(shown["readings"][0]["struck"], "the lid lifted");
    run(&["undo", &struck["change"].to_string()]);
    let shown = run(&["run", "show", added["id"].as_str().unwrap()]);
    assert!(shown["readings"][0]["struck"].is_null(), "{shown}");
    assert_eq!(run(&["find", "F-1"])["hits"][0]["name"], "F-1");
    assert_eq!(run(&["check"])["sound"], true);
    run(&["backup", "b.zip"]);
    let restored = airshelf(home.path(), &["--shelf", "r", "--json", "restore", "b.zip"]);
    assert_eq!(json(&restored)["sound"], true);
}

#[test]
fn files_that_are_no_sheets_are_refused_by_name_and_the_others_are_kept() {
    let home = tempdir().unwrap();
    std::fs::write(home.path().join("photo.csv"), b"\x89PNG\r\n\x1a\n\0\0\0").unwrap();
    std::fs::write(home.path().join("empty.csv"), b"").unwrap();
    std::fs::write(
        home.path().join("cut.xlsx"),
        &std::fs::read(sheet("08-season-book.xlsx")).unwrap()[..4000],
    )
    .unwrap();
    let april = sheet("01-runs-april.csv");
    let output = airshelf(
        home.path(),
        &["--json", "--shelf", "s", "import", "--write", "photo.csv", "empty.csv", "cut.xlsx", &april],
    );
    assert_eq!(output.status.code(), Some(1));
    let report = json(&output);
    for (index, name) in ["photo.csv", "empty.csv", "cut.xlsx"].iter().enumerate() {
        let error = report["files"][index]["error"]["message"].as_str().unwrap();
        assert!(error.contains(name), "{error}");
    }
    assert_eq!(report["files"][3]["rows"]["taken"], 43);
}

#[test]
fn there_is_help_for_a_shelf_that_is_not_there() {
    let home = tempdir().unwrap();
    insta::assert_snapshot!(shown(&airshelf(home.path(), &["--shelf", "s", "audit"])));
}

#[test]
fn a_file_without_a_table_says_what_it_holds() {
    let home = tempdir().unwrap();
    std::fs::write(home.path().join("list.csv"), "milk\nbread, two\n").unwrap();
    let report = json(&airshelf(home.path(), &["--json", "--shelf", "s", "import", "--write", "list.csv"]));
    let message = report["files"][0]["error"]["message"].as_str().unwrap();
    assert!(message.contains("list.csv") && message.contains("A1"), "{message}");
}
