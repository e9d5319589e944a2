//! Answers that are about what was asked, and files that are written where nothing of a person's own stands.

use crate::{airshelf, json};
use std::fs;
use std::path::Path;
use tempfile::{TempDir, tempdir};

const HEADERS: &str = "session,date,bench,range (CFM),item,purpose,order,filter,lid,restraint,service,\
set pressure (inH2O),actual pressure (inH2O),flow (CFM),air temperature (F),barometer (inHg),humidity (%)\n";

/// One session at two set pressures, the same assemblies at both.
fn two_pressures() -> TempDir {
    let home = tempdir().unwrap();
    let mut sheet = HEADERS.to_owned();
    let mut order = 0;
    for (pressure, scale) in [(20.0, 1.0_f64), (10.0, 0.5_f64.sqrt())] {
        for (purpose, filter, service, flow) in [
            ("baseline", "", "", 301.2),
            ("test", "F-1", "new", 281.2),
            ("test", "F-1", "oiled", 284.4),
            ("test", "F-1", "new", 281.0),
            ("test", "F-1", "oiled", 284.7),
            ("baseline", "", "", 301.4),
        ] {
            order += 1;
            let (lid, held) = if filter.is_empty() { ("", "") } else { ("L-1", "fastened") };
            let flow = flow * scale;
            sheet += &format!(
                "T1,2024-05-01,barn,400,HL-4,{purpose},{order},{filter},{lid},{held},{service},\
                 {pressure},{pressure},{flow:.1},70,29.4,45\n"
            );
        }
    }
    fs::write(home.path().join("two.csv"), sheet).unwrap();
    assert!(airshelf(home.path(), &["--shelf", "s", "import", "--write", "two.csv"]).status.success());
    home
}

#[test]
fn a_run_is_explained_by_the_group_that_it_is_in() {
    let home = two_pressures();
    let explained = json(&airshelf(home.path(), &["--shelf", "s", "--json", "explain", "T1/2"]));
    let steps = explained["steps"].as_array().unwrap();
    let flows: Vec<f64> = steps
        .iter()
        .filter(|step| step["unit"] == "m3/s" && step["name"].as_str().unwrap().contains("mean"))
        .map(|step| step["value"].as_f64().unwrap() / 4.719_474_432e-4)
        .collect();
    assert!(!flows.is_empty() && flows.iter().all(|cfm| (cfm - 281.1).abs() < 0.5), "{flows:?}: {explained}");
}

#[test]
fn two_assemblies_of_the_same_parts_are_called_by_what_sets_them_apart() {
    let home = two_pressures();
    let compared = json(&airshelf(home.path(), &["--shelf", "s", "--json", "compare"]));
    let sentence = compared["sessions"][0]["groups"][0]["pairs"][0]["sentence"].as_str().unwrap();
    assert!(sentence.contains("oiled") && sentence.contains("new"), "{sentence}");
}

#[test]
fn what_a_session_states_not_to_matter_is_kept_to() {
    let home = two_pressures();
    let said = |words: &[&str]| {
        let compared =
            json(&airshelf(home.path(), &[&["--shelf", "s", "--json", "compare"], words].concat()));
        compared["sessions"][0]["groups"][0]["pairs"][0]["sentence"].as_str().unwrap().to_owned()
    };
    let asked = said(&["--dont-care", "5%"]);
    assert!(asked.contains("stated not to matter") && asked != said(&[]), "{asked}");
    assert!(
        airshelf(home.path(), &["--shelf", "s", "session", "change", "T1", "dont_care=5%"]).status.success()
    );
    assert_eq!(said(&[]), asked);
}

#[test]
fn nothing_of_a_persons_own_is_written_over() {
    let home = two_pressures();
    let refused = |words: &[&str], file: &Path| {
        let before = fs::read(file).unwrap();
        let done = airshelf(home.path(), &[&["--shelf", "s"], words].concat());
        assert!(!done.status.success(), "{words:?}");
        assert!(fs::read(file).unwrap() == before, "{words:?}");
    };
    let at = |name: &str| home.path().join(name);
    refused(&["backup", "two.csv"], &at("two.csv"));
    refused(&["backup", "s/airshelf.db"], &at("s/airshelf.db"));
    refused(&["export", "parts", "--out", "two.csv"], &at("two.csv"));
    refused(&["export", "runs", "--out", "s/airshelf.db"], &at("s/airshelf.db"));
    // An earlier one of the same is replaced.
    for words in [&["backup", "b.zip"][..], &["export", "runs", "--out", "runs.csv"]] {
        for _ in 0..2 {
            assert!(
                airshelf(home.path(), &[&["--shelf", "s"], words].concat()).status.success(),
                "{words:?}"
            );
        }
    }
    // A backup of another shelf is none of them.
    let held = fs::read(at("b.zip")).unwrap();
    assert!(airshelf(home.path(), &["--shelf", "other", "new"]).status.success());
    assert!(!airshelf(home.path(), &["--shelf", "other", "backup", "b.zip"]).status.success());
    assert!(fs::read(at("b.zip")).unwrap() == held);
    assert_eq!(json(&airshelf(home.path(), &["--shelf", "s", "--json", "check"]))["sound"], true);
}
