//! The main job on old sheets: import, audit, compare, export, keep.

use crate::{airshelf, json, sheet, shown};
use std::path::Path;
use tempfile::tempdir;

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
fn taking_an_import_back_takes_back_what_it_completed() {
    let home = tempdir().unwrap();
    let run = |words: &[&str]| json(&airshelf(home.path(), &[&["--shelf", "s", "--json"], words].concat()));
    run(&["import", "--write", &sheet("01-runs-april.csv")]);
    assert!(run(&["part", "show", "PF-1"])["maker"].is_null());
    run(&["import", "--write", &sheet("02-parts-shelf.csv")]);
    assert_eq!(run(&["part", "show", "PF-1"])["maker"], "Marlstone Paper");
    let last = run(&["undo"])["changes"][0].clone();
    assert!(last["label"].as_str().unwrap().contains("02-parts-shelf.csv"), "{last}");
    run(&["undo", &last["number"].to_string()]);
    assert!(run(&["part", "show", "PF-1"])["maker"].is_null());
    let compared = run(&["compare"]);
    assert_eq!(compared["sessions"].as_array().unwrap().len(), 2, "the runs stay");
    run(&["import", "--write", &sheet("02-parts-shelf.csv")]);
    assert_eq!(run(&["part", "show", "PF-1"])["maker"], "Marlstone Paper");
    assert_eq!(run(&["check"])["sound"], true);
}

#[test]
fn the_audit_of_a_session_tells_what_is_wrong_with_the_parts_it_uses() {
    let home = tempdir().unwrap();
    let run = typed(home.path());
    run(&["part", "change", "F-1", "OD=9 in", "ID=11 in"]);
    run(&["part", "add", "kind=filter", "tag=F-2", "OD=9 in", "ID=11 in"]);
    let faults = json(&run(&["--json", "audit", "--session", "T1"]));
    let about: Vec<&str> =
        faults["faults"].as_array().unwrap().iter().filter_map(|f| f["about"].as_str()).collect();
    assert!(about.contains(&"F-1"), "{faults:#}");
    assert!(!about.contains(&"F-2"), "no run of the session uses it: {faults:#}");
}

#[test]
fn explain_leaves_out_the_leakage_that_compare_leaves_out() {
    let home = tempdir().unwrap();
    let run = typed(home.path());
    let leak = ["run", "add", "session=T1", "purpose=fixture leakage", "set_pressure=20inH2O"];
    run(&[&leak[..], &["flow=3CFM"]].concat());
    let of = |words: &[&str]| json(&run(&[&["--json"], words].concat()));
    let compared = of(&["compare"]);
    let leakage = &compared["sessions"][0]["groups"][0]["leakage"];
    assert_eq!(
        (leakage["exponent"].as_f64(), leakage["exponent_low"].as_f64(), leakage["exponent_high"].as_f64()),
        (Some(0.75), Some(0.5), Some(1.0))
    );
    let explained = of(&["explain", "T1/2"]);
    let step = |name: &str| {
        explained["steps"].as_array().unwrap().iter().find(|s| s["name"] == name).cloned().unwrap()
    };
    let taken_off = step("fixture leakage at the actual pressure");
    assert!((taken_off["value"].as_f64().unwrap() - leakage["flow_m3_s"].as_f64().unwrap()).abs() < 1e-12);
    assert!(taken_off["source"].as_str().unwrap().contains("exponent 0.75, between 0.5"), "{taken_off}");
    let k = step("k of the parts");
    assert!(k["source"].as_str().unwrap().contains("0.8 to 1.25 times the tested flow"), "{k}");
}

#[test]
fn an_engine_beyond_the_tested_flow_gets_bounds_and_a_note() {
    let home = tempdir().unwrap();
    let run = typed(home.path());
    run(&["engine", "add", "name=small", "displacement=100in3", "volumetric_efficiency=80%", "speed=3000"]);
    run(&["engine", "add", "name=six", "displacement=250in3", "volumetric_efficiency=85%", "speed=4500"]);
    let group = |engine: &str| {
        let compared = json(&run(&["--json", "compare", "--engine", engine]));
        compared["sessions"][0]["groups"][0].clone()
    };
    let noted = |group: &serde_json::Value| {
        group["marks"].as_array().unwrap().contains(&serde_json::json!("beyond-tested-flow"))
    };
    let small = group("small");
    let of = |group: &serde_json::Value, key: &str| group["assemblies"][0][key].as_f64().unwrap();
    assert!(noted(&small), "{small:#}");
    assert!(of(&small, "engine_air_loss_low_percent") < of(&small, "engine_air_loss_high_percent"));
    let near = group("six");
    assert!(!noted(&near), "{near:#}");
    assert_eq!(of(&near, "engine_air_loss_low_percent"), of(&near, "engine_air_loss_high_percent"));
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

/// A shelf typed in by hand: two baselines, a test, and a test that names no parts.
fn typed(home: &Path) -> impl Fn(&[&str]) -> std::process::Output {
    let home = home.to_owned();
    let run = move |words: &[&str]| airshelf(&home, &[&["--shelf", "s"], words].concat());
    run(&["new"]);
    for part in [["kind=carburetor", "tag=C-1"], ["kind=filter", "tag=F-1"], ["kind=lid", "tag=L-1"]] {
        run(&["part", "add", part[0], part[1]]);
    }
    run(&["session", "add", "name=T1", "date=2024-05-18"]);
    run(&[
        "run",
        "add",
        "session=T1",
        "purpose=baseline",
        "baseline_kind=bare",
        "set_pressure=20inH2O",
        "flow=278.1CFM",
    ]);
    run(&[
        "run",
        "add",
        "session=T1",
        "purpose=test",
        "parts=F-1,L-1",
        "set_pressure=20inH2O",
        "flow=265.1CFM",
    ]);
    run
}

#[test]
fn a_test_that_names_no_parts_is_never_a_baseline() {
    let home = tempdir().unwrap();
    let run = typed(home.path());
    let refused = run(&["run", "add", "session=T1", "purpose=test", "set_pressure=20inH2O", "flow=240CFM"]);
    assert_eq!(refused.status.code(), Some(2));
    run(&["run", "add", "session=T1", "set_pressure=20inH2O", "flow=240CFM"]);
    run(&[
        "run",
        "add",
        "session=T1",
        "purpose=baseline",
        "baseline_kind=bare",
        "set_pressure=20inH2O",
        "flow=278.2CFM",
    ]);
    let compared = json(&run(&["--json", "compare"]));
    let session = &compared["sessions"][0];
    let loss = session["groups"][0]["assemblies"][0]["loss_percent"].as_f64().unwrap();
    assert!((loss - 4.69).abs() < 0.05, "{loss}");
    assert_eq!(session["left_out"][0]["why"], "no-parts");
}

#[test]
fn what_cannot_be_is_refused_and_what_is_used_is_not_removed() {
    let home = tempdir().unwrap();
    let run = typed(home.path());
    for words in [
        &["part", "change", "F-1", "tag=L-1"][..],
        &["part", "add", "tag="],
        &["session", "add", "name=T1"],
        &["engine", "add", "name=six", "displacement=-350in3"],
        &["engine", "add", "name=six", "volumetric_efficiency=900%"],
        &["run", "add", "session=T1", "purpose=test", "parts=F-1", "flow=1e9CFM"],
        &["run", "add", "session=T1", "purpose=test", "parts=F-1", "order_number=1", "flow=265CFM"],
        &["calc", "convert", "--", "-500C", "F"],
        &["part", "remove", "L-1"],
        &["session", "remove", "T1"],
    ] {
        let output = run(words);
        assert_eq!(output.status.code(), Some(2), "{words:?}: {}", String::from_utf8_lossy(&output.stdout));
    }
    assert!(run(&["check"]).status.success());
}

#[test]
fn photos_are_kept_by_tag_and_exported_without_writing_over_anything() {
    let home = tempdir().unwrap();
    let run = typed(home.path());
    let picture = b"\x89PNG\r\n\x1a\nfor the test";
    std::fs::create_dir(home.path().join("ph")).unwrap();
    std::fs::write(home.path().join("ph/F-1 pleats.png"), picture).unwrap();
    std::fs::write(home.path().join("ph/Z-9.png"), picture).unwrap();
    std::fs::write(home.path().join("ph/F-1.jpg"), b"no picture").unwrap();
    let added = run(&["--json", "photo", "add", "ph"]);
    assert_eq!(added.status.code(), Some(1));
    let added = json(&added);
    assert_eq!(added["photos"].as_array().unwrap().len(), 1);
    assert_eq!(added["refused"].as_array().unwrap().len(), 2);
    std::fs::create_dir(home.path().join("out")).unwrap();
    std::fs::write(home.path().join("out/F-1 pleats.png"), b"mine").unwrap();
    assert!(run(&["photo", "export", "out"]).status.success());
    assert_eq!(std::fs::read(home.path().join("out/F-1 pleats.png")).unwrap(), b"mine");
    assert_eq!(std::fs::read(home.path().join("out/F-1 pleats 2.png")).unwrap(), picture);
}

#[test]
fn the_same_photo_twice_is_kept_once() {
    let home = tempdir().unwrap();
    let run = typed(home.path());
    std::fs::create_dir(home.path().join("ph")).unwrap();
    for name in ["F-1.png", "F-1_2.png", "L-1 underside.png"] {
        std::fs::write(home.path().join("ph").join(name), b"\x89PNG\r\n\x1a\none picture").unwrap();
    }
    let added = json(&run(&["--json", "photo", "add", "ph"]));
    assert_eq!(added["photos"].as_array().unwrap().len(), 2, "one of each part: {added:#}");
    run(&["photo", "add", "ph"]);
    let listed = json(&run(&["--json", "photo", "list"]));
    assert_eq!(listed["photos"].as_array().unwrap().len(), 2);
    assert_eq!(listed["photos"][0]["sha256"], listed["photos"][1]["sha256"]);
    assert_eq!(json(&run(&["--json", "check"]))["blobs_here"], 1);
}

#[test]
fn an_answer_that_cannot_be_written_is_a_fault() {
    let home = tempdir().unwrap();
    airshelf(home.path(), &["--shelf", "s", "import", "--write", &sheet("01-runs-april.csv")]);
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_airshelf"))
        .args(["--shelf", "s", "--json", "compare"])
        .current_dir(home.path())
        .env("HOME", home.path())
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("could not be written"));
}

#[test]
fn a_usage_fault_is_a_document_for_scripts_too() {
    let home = tempdir().unwrap();
    let output = airshelf(home.path(), &["--json", "calc", "air"]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(json(&output)["fault"]["code"], "bad-argument");
}

#[test]
fn the_loss_of_a_table_is_explained_from_its_page() {
    let home = tempdir().unwrap();
    airshelf(home.path(), &["--shelf", "s", "import", "--write", &sheet("10-lid-by-filter.csv")]);
    let runs = json(&airshelf(home.path(), &["--json", "--shelf", "s", "run", "list"]));
    let id = runs["run"][0]["id"].as_str().unwrap().to_owned();
    let explained = json(&airshelf(home.path(), &["--json", "--shelf", "s", "explain", &id]));
    let names: Vec<&str> =
        explained["steps"].as_array().unwrap().iter().map(|s| s["name"].as_str().unwrap()).collect();
    assert_eq!(names[..3], ["stated baseline", "stated loss", "flow"]);
}

#[test]
fn a_part_that_runs_named_first_gets_what_its_sheet_says() {
    let home = tempdir().unwrap();
    let both = |shelf: &str, first: &str, second: &str| {
        for name in [first, second] {
            let output = airshelf(home.path(), &["--shelf", shelf, "import", "--write", &sheet(name)]);
            assert!(output.status.success());
        }
        let shown = json(&airshelf(home.path(), &["--json", "--shelf", shelf, "part", "show", "PF-1"]));
        let exported = airshelf(home.path(), &["--shelf", shelf, "export", "parts"]).stdout;
        assert_eq!(json(&airshelf(home.path(), &["--json", "--shelf", shelf, "check"]))["sound"], true);
        (shown, String::from_utf8(exported).unwrap())
    };
    let (runs_first, first) = both("s", "01-runs-april.csv", "02-parts-shelf.csv");
    let (_, second) = both("t", "02-parts-shelf.csv", "01-runs-april.csv");
    assert_eq!(runs_first["maker"], "Marlstone Paper");
    let sorted = |text: &str| {
        let mut lines: Vec<&str> = text.lines().collect();
        lines.sort_unstable();
        lines.join("\n")
    };
    assert_eq!(sorted(&first), sorted(&second));
}
