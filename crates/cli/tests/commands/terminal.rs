//! What a person sees: help, widths, units, and text that would steer a terminal.

use crate::{airshelf, airshelf_at, json, said, sheet};
use std::path::Path;
use tempfile::tempdir;

/// Every command and subcommand, as words.
fn commands(home: &Path, path: &[&str], found: &mut Vec<Vec<String>>) {
    let output = airshelf(home, &[path, &["--help"]].concat());
    let help = said(&output);
    found.push(path.iter().map(|word| (*word).to_owned()).collect());
    let Some((_, list)) = help.split_once("Commands:\n") else { return };
    for line in list.lines().take_while(|line| !line.trim().is_empty()) {
        let Some(name) = line.strip_prefix("  ").and_then(|l| l.split_whitespace().next()) else { continue };
        if line.starts_with("   ") || name == "help" {
            continue;
        }
        commands(home, &[path, &[name]].concat(), found);
    }
}

#[test]
fn every_command_s_help_has_an_example() {
    let home = tempdir().unwrap();
    let mut found = Vec::new();
    commands(home.path(), &[], &mut found);
    assert!(found.len() > 70, "{}", found.len());
    for path in found.iter().filter(|path| !path.is_empty()) {
        // What is done to a noun is shown by the noun's own example.
        let path: Vec<&str> = path.iter().map(String::as_str).collect();
        let own = path.len() == 1 || path[0] == "calc";
        let help = said(&airshelf(home.path(), &[&path[..], &["--help"]].concat()));
        assert!(!own || help.contains("Example: airshelf "), "{path:?}: {help}");
    }
}

/// A shelf with the samples of April and the shelf's parts, and an engine.
fn april(home: &Path) {
    for file in ["02-parts-shelf.csv", "01-runs-april.csv", "04-runs-may.csv"] {
        airshelf(home, &["--shelf", "s", "import", "--write", &sheet(file)]);
    }
    let engine = ["name=six", "displacement=250in3", "volumetric_efficiency=85%", "speed=4500"];
    airshelf(home, &[&["--shelf", "s", "engine", "add"], &engine[..]].concat());
}

#[test]
fn no_word_is_broken_and_no_column_is_lost_on_a_narrow_terminal() {
    let home = tempdir().unwrap();
    april(home.path());
    for command in [
        &["compare", "--session", "QL-0413", "--engine", "six"][..],
        &["explain", "QL-0413/7"],
        &["part", "list"],
        &["part", "show", "PF-1"],
        &["part", "add", "--fields"],
        &["run", "list", "--session", "QL-0413"],
        &["find", "PF-1"],
        &["undo"],
        &["audit"],
        &["calc", "air", "--pressure", "29.2inHg", "--temperature", "110F", "--humidity", "45%"],
    ] {
        let words = [&["--shelf", "s"], command].concat();
        let wide = said(&airshelf_at(home.path(), 200, &words));
        assert!(wide.len() > 40, "{command:?}: {wide}");
        let mut wanted: Vec<&str> = wide.split_whitespace().collect();
        for columns in [60, 80, 120] {
            let narrow = said(&airshelf_at(home.path(), columns, &words));
            let longest = narrow.lines().map(|line| line.chars().count()).max().unwrap_or(0);
            assert!(longest <= columns, "{command:?} at {columns}: {longest}\n{narrow}");
            // In a list of columns the header stands before every value, with a colon.
            let mut has: Vec<&str> =
                narrow.split_whitespace().map(|word| word.trim_end_matches(':')).collect();
            has.sort_unstable();
            wanted.sort_unstable();
            for word in &wanted {
                assert!(
                    has.binary_search(&word.trim_end_matches(':')).is_ok(),
                    "{command:?} at {columns} lost or broke {word}:\n{narrow}"
                );
            }
        }
    }
}

#[test]
fn sentences_are_in_the_units_of_the_person() {
    let home = tempdir().unwrap();
    let told = |words: &[&str]| {
        let output = airshelf(home.path(), words);
        let text = format!("{}{}", said(&output), String::from_utf8_lossy(&output.stderr));
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let scale = ["calc", "scale", "--flow", "574CFM", "--from", "28inH2O", "--to", "1.5inHg"];
    assert!(told(&scale).contains("Carried from 28 inH2O to 20.4 inH2O"), "{}", told(&scale));
    let si = [&["--units", "si"], &scale[..]].concat();
    assert!(told(&si).contains("Carried from 6.97 kPa to 5.08 kPa"), "{}", told(&si));
    let air = ["calc", "air", "--pressure", "29.2inHg", "--temperature", "110F", "--humidity", "45%"];
    let us = told(&air);
    assert!(us.contains("Air at 110 °F and 29.2 inHg is outside 59 °F to 80.6 °F"), "{us}");
    let swept = ["100CFM:1.2inH2O", "150CFM:2.4inH2O", "200CFM:4.1inH2O", "--predict", "900CFM"];
    let beyond = told(&[&["calc", "sweep"], &swept[..]].concat());
    assert!(beyond.contains("900 CFM is beyond 250 CFM"), "{beyond}");
    let beyond = told(&[&["--units", "si", "calc", "sweep"], &swept[..]].concat());
    assert!(beyond.contains("425 L/s is beyond 118 L/s"), "{beyond}");

    let runs = "session,date,bench,range (CFM),item,purpose,order,base,filter,lid,set pressure (inH2O),actual pressure (inH2O),flow (CFM)\n\
                N1,2024-05-18,shed bench,300,C-1,baseline,1,,,,20,20.0,277.4\n\
                N1,2024-05-18,shed bench,300,C-1,test,2,B-1,F-1,L-1,20,20.6,265.1\n\
                N1,2024-05-18,shed bench,300,C-1,baseline,3,,,,20,20.0,277.6\n";
    std::fs::write(home.path().join("runs.csv"), runs).unwrap();
    told(&["--shelf", "s", "import", "--write", "runs.csv"]);
    let us = told(&["--shelf", "s", "audit"]);
    assert!(us.contains("20.6 inH2O is 3 % above the set pressure of 20 inH2O"), "{us}");
    let si = told(&["--shelf", "s", "--units", "si", "audit"]);
    assert!(si.contains("5.131 kPa is 3 % above the set pressure of 4.982 kPa"), "{si}");
}

#[test]
fn a_shelf_of_a_metric_bench_speaks_metric() {
    let home = tempdir().unwrap();
    airshelf(home.path(), &["--shelf", "s", "import", "--write", &sheet("06-metric-evening.csv")]);
    let own = said(&airshelf(home.path(), &["--shelf", "s", "compare"]));
    assert!(own.contains(" L/s") && own.contains(" kPa") && !own.contains("CFM"), "{own}");
    let us = said(&airshelf(home.path(), &["--shelf", "s", "--units", "us", "compare"]));
    assert!(us.contains(" CFM") && us.contains(" inH2O") && !us.contains("L/s"), "{us}");
}

#[test]
fn nothing_on_a_sheet_steers_the_terminal() {
    let home = tempdir().unwrap();
    let steering = "\u{1b}[31mRED\u{1b}[0m\u{7}";
    let tag = format!("tag={steering}");
    airshelf(home.path(), &["--shelf", "s", "new"]);
    airshelf(home.path(), &["--shelf", "s", "part", "add", "kind=filter", &tag]);
    let sheet = format!("tag,kind,name,OD (in)\nX-1,filter,{steering},9\nX-2,{steering},other,{steering}\n");
    std::fs::write(home.path().join("parts.csv"), sheet).unwrap();
    let faulty = |code: u8| code < 0x20 && code != b'\n' || code == 0x7f;
    for words in [
        &["import", "--write", "parts.csv"][..],
        &["part", "list"],
        &["part", "show", steering],
        &["part", "show", "\u{1b}]0;title\u{7}"],
        &["find", "RED"],
        &["audit"],
        &["quarantine", "list"],
        &["part", "\u{1b}[2J"],
    ] {
        let output = airshelf(home.path(), &[&["--shelf", "s"], words].concat());
        for stream in [&output.stdout, &output.stderr] {
            let text = String::from_utf8_lossy(stream);
            assert!(!stream.iter().any(|code| faulty(*code)), "{words:?}: {text:?}");
        }
    }
    let list = airshelf(home.path(), &["--shelf", "s", "part", "list"]);
    assert!(said(&list).contains("\\u{1b}[31mRED"), "{}", said(&list));
    let shown = json(&airshelf(home.path(), &["--shelf", "s", "--json", "part", "show", steering]));
    assert_eq!(shown["tag"], steering, "scripts get it as it is, by the rules of JSON");
}

#[test]
fn an_import_tells_what_was_set_aside_and_where() {
    let home = tempdir().unwrap();
    let sheet = "tag,kind,name,OD (in)\nX-1,filter,tall paper,about nine\n,,,\n\ntag,kind,name,OD (in)\n";
    std::fs::write(home.path().join("parts.csv"), sheet).unwrap();
    let output = airshelf(home.path(), &["--shelf", "s", "import", "parts.csv"]);
    let text = said(&output);
    assert!(text.contains("1 cell set aside"), "{text}");
    assert!(text.contains("set aside: parts.csv, row 2, column OD (in) “about nine”: "), "{text}");
    let report = json(&airshelf(home.path(), &["--shelf", "s", "--json", "import", "parts.csv"]));
    let held = &report["files"][0]["quarantined"][0];
    assert_eq!((held["row"].as_i64(), held["column"].as_str()), (Some(2), Some("OD (in)")));
}

#[test]
fn an_engine_without_a_carburetor_has_no_depression() {
    let home = tempdir().unwrap();
    let asked = ["calc", "engine", "--displacement", "250in3", "--rpm", "4500", "--ve", "85%"];
    let bare = json(&airshelf(home.path(), &[&["--json"], &asked[..]].concat()));
    assert!(bare["result"]["depression_pa"].is_null(), "{bare}");
    let shown = said(&airshelf(home.path(), &asked));
    assert!(shown.lines().any(|line| line.starts_with("depression") && line.ends_with('–')), "{shown}");
    let with = [&["--json"], &asked[..], &["--item-flow", "278CFM", "--item-at", "20inH2O"]].concat();
    let with = json(&airshelf(home.path(), &with));
    assert!(with["result"]["depression_pa"].as_f64().unwrap() > 0.0, "{with}");
}
