//! Every noun is listed, shown, added, changed and removed, and says what was changed.

use crate::{airshelf, json};
use serde_json::Value;
use tempfile::tempdir;

#[test]
fn every_noun_goes_in_and_comes_out_by_its_si_keys() {
    let home = tempdir().unwrap();
    let run = |words: &[&str]| -> Value {
        let output = airshelf(home.path(), &[&["--shelf", "s", "--json"], words].concat());
        assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
        json(&output)
    };
    run(&["new"]);
    for part in [["kind=carburetor", "tag=C-1"], ["kind=filter", "tag=F-1"], ["kind=lid", "tag=L-1"]] {
        run(&["part", "add", part[0], part[1]]);
    }
    // Noun, what is added, key and value that come out, what is changed, key and value after it.
    type Case<'a> = (&'a str, &'a [&'a str], (&'a str, Value), &'a str, (&'a str, Value));
    let close = |value: f64| Value::from(value);
    let cases: &[Case] = &[
        (
            "bench",
            &["name=shed bench"],
            ("name", "shed bench".into()),
            "factor=1.01",
            ("factor", close(1.01)),
        ),
        (
            "range",
            &["bench=shed bench", "full_scale=300 L/s"],
            ("full_scale_m3_s", close(0.3)),
            "full_scale=250 L/s",
            ("full_scale_m3_s", close(0.25)),
        ),
        (
            "engine",
            &["name=six", "displacement=4100 cc", "speed=4500"],
            ("displacement_m3", close(0.0041)),
            "volumetric_efficiency=85%",
            ("volumetric_efficiency_ratio", close(0.85)),
        ),
        ("vehicle", &["name=half-ton"], ("name", "half-ton".into()), "note=blue", ("note", "blue".into())),
        ("person", &["name=Wren"], ("name", "Wren".into()), "name=Wrenna", ("name", "Wrenna".into())),
        (
            "session",
            &["name=T1", "date=2024-05-18", "set_pressure=5 kPa"],
            ("set_pressure_pa", close(5000.0)),
            "note=damp",
            ("note", "damp".into()),
        ),
        (
            "assembly",
            &["parts=F-1,L-1", "name=tall paper"],
            ("name", "tall paper".into()),
            "note=the usual",
            ("note", "the usual".into()),
        ),
        (
            "revision",
            &["part=L-1", "label=B"],
            ("label", "B".into()),
            "change=clay radius",
            ("change", "clay radius".into()),
        ),
        (
            "part",
            &["tag=X-1", "kind=base", "height=25 mm"],
            ("height_m", close(0.025)),
            "height=30 mm",
            ("height_m", close(0.03)),
        ),
    ];
    for (noun, add, (key, value), change, (changed_key, changed_value)) in cases {
        let fields = run(&[noun, "add", "--fields"]);
        assert!(fields.as_array().is_some_and(|f| !f.is_empty()), "{noun}: {fields}");
        let added = run(&[&[*noun, "add"], *add].concat());
        assert!(
            added["change"].as_u64().is_some() && added["rows"].as_u64().unwrap() >= 1,
            "{noun}: {added}"
        );
        let id = added["id"].as_str().unwrap();
        let same = |row: &Value, key: &str, value: &Value| match value.as_f64() {
            Some(wanted) => {
                row[key].as_f64().is_some_and(|x| (x - wanted).abs() < 1e-9 * wanted.abs().max(1e-3))
            }
            None => row[key] == *value,
        };
        let shown = run(&[noun, "show", id]);
        assert!(same(&shown, key, value), "{noun}: {key} of {shown:#}");
        let changed = run(&[noun, "change", id, change]);
        assert_eq!(
            (changed["id"].as_str(), changed["rows"].as_u64()),
            (Some(id), Some(1)),
            "{noun}: {changed}"
        );
        let shown = run(&[noun, "show", id]);
        assert!(same(&shown, changed_key, changed_value), "{noun}: {changed_key} of {shown:#}");
        let listed = run(&[noun, "list"]);
        let rows = listed.as_object().unwrap().values().next().unwrap().as_array().unwrap();
        assert!(rows.iter().any(|row| row["id"] == id), "{noun}: {listed:#}");
        run(&["undo", &changed["change"].to_string()]);
        let undone = run(&[noun, "show", id]);
        assert!(!same(&undone, changed_key, changed_value), "{noun}: {undone:#}");
    }
}

#[test]
fn what_is_named_outright_is_found_first() {
    let home = tempdir().unwrap();
    let run = |words: &[&str]| json(&airshelf(home.path(), &[&["--shelf", "s", "--json"], words].concat()));
    run(&["new"]);
    for tag in ["tag=PF-12", "tag=PF-1", "tag=PF-13"] {
        run(&["part", "add", "kind=filter", tag]);
    }
    run(&["assembly", "add", "parts=PF-1"]);
    run(&["assembly", "add", "parts=PF-13"]);
    let found = run(&["find", "pf-1"]);
    let names: Vec<&str> =
        found["hits"].as_array().unwrap().iter().map(|hit| hit["name"].as_str().unwrap()).collect();
    assert_eq!(names[..2], ["PF-1", "PF-1"], "the part, and the assembly that is nothing else: {found:#}");
    assert_eq!(names.len(), 5, "{found:#}");
    assert_eq!(found["hits"][0]["kind"], "part");
}

#[test]
fn exit_codes_tell_scripts_what_happened() {
    let home = tempdir().unwrap();
    let code = |words: &[&str]| airshelf(home.path(), &[&["--shelf", "s"], words].concat()).status.code();
    assert_eq!(code(&["new"]), Some(0));
    assert_eq!(code(&["new"]), Some(1), "there is one already");
    assert_eq!(code(&["part", "show", "NOBODY"]), Some(1));
    assert_eq!(code(&["part", "add", "OD=11"]), Some(2), "no unit");
    assert_eq!(code(&["part", "add", "colour=red"]), Some(2));
    assert_eq!(code(&["part", "add", "tag=F-8", "OD=1e9in"]), Some(2), "no part is that big");
    assert_eq!(code(&["part", "add", "tag=F-8", "height=-2in"]), Some(2));
    assert_eq!(code(&["part", "add", "tag=B-8", "kind=base", "drop=-0.5in"]), Some(0), "a raised base");
    assert_eq!(code(&["compare", "--dont-care=-1%"]), Some(2));
    assert_eq!(code(&["calc", "scale", "--flow", "1e300CFM", "--from", "1Pa", "--to", "1e300Pa"]), Some(1));
    assert_eq!(code(&["nonsense"]), Some(2));
    let unknown = airshelf(home.path(), &["--shelf", "s", "compare", "--engine", "none"]);
    assert_eq!(unknown.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&unknown.stderr).contains("airshelf engine list"));
    assert_eq!(code(&["import", "not-there.csv"]), Some(1));
    assert_eq!(code(&["audit"]), Some(0));
    assert_eq!(code(&["part", "add", "tag=F-1", "kind=filter", "OD=9in", "ID=11in"]), Some(0));
    assert_eq!(code(&["audit"]), Some(3));
}
