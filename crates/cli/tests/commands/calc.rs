//! `airshelf calc`.

use crate::{airshelf, json, shown};
use tempfile::tempdir;

#[track_caller]
fn value(words: &[&str], key: &str) -> f64 {
    let home = tempdir().unwrap();
    let output = airshelf(home.path(), &[&["--json", "calc"], words].concat());
    let document = json(&output);
    for part in ["inputs", "formula", "source", "range", "cautions"] {
        assert!(!document[part].is_null(), "{part} is missing");
    }
    document["result"][key].as_f64().unwrap_or_else(|| panic!("{key}: {document}"))
}

#[track_caller]
fn close(found: f64, wanted: f64, relative: f64) {
    assert!((found - wanted).abs() <= relative * wanted.abs(), "{found} is not {wanted}");
}

#[test]
fn a_600_cfm_bench_holds_574_cfm_up_to_6_01_inches_of_water() {
    // Common practice of the trade, no source.
    let words = ["pressure", "--flow", "574 CFM", "--at", "5.5inH2O", "--range", "600CFM"];
    close(value(&words, "highest_pressure_pa") / 249.08891, 6.01, 1e-3);
    close(value(&words, "range_used_ratio"), 0.957, 5e-4);
}

#[test]
fn a_loss_of_82_cfm_there_is_1_459_inches_of_water() {
    // Common practice of the trade, no source.
    let words = ["restriction", "--baseline", "574CFM", "--with-part", "492CFM", "--at", "5.5 inH2O"];
    close(value(&words, "pressure_drop_pa") / 249.08891, 1.459, 2e-4);
}

#[test]
fn a_deeper_pleat_has_more_media_at_equal_count_and_height() {
    let area = |depth| {
        value(&["media", "--pleats", "204", "--depth", depth, "--free-height", "1-7/8\""], "media_area_m2")
    };
    close(area("1-1/8\"") / area("1 in"), 1.125, 1e-12);
}

#[test]
fn two_barrels_are_rated_at_twice_the_pressure_of_four_barrels() {
    // 3.0 and 1.5 inHg, common practice; the square-root law, so a factor of √2.
    let words = ["scale", "--flow", "500CFM", "--from", "3.0inHg", "--to", "1.5inHg"];
    close(value(&words, "flow_m3_s") / 4.719474e-4, 500.0 / 2f64.sqrt(), 1e-6);
}

#[test]
fn moist_air_follows_cipm_2007() {
    // CIPM-2007 as restated in public library documentation; 20 °C, 101.325 kPa, 50 %.
    let words = ["air", "--pressure", "101325Pa", "--temperature", "20C", "--humidity", "50%"];
    close(value(&words, "density_kg_m3"), 1.1992, 1e-4);
}

#[test]
fn repeats_agree_with_the_two_sample_t_test() {
    // statsmodels TTestIndPower: effect 1, power 0.8, alpha 0.05 gives 16.7, so 17.
    let home = tempdir().unwrap();
    let words = ["--json", "calc", "repeats", "--resolve", "2CFM", "--scatter", "2CFM"];
    assert_eq!(json(&airshelf(home.path(), &words))["result"]["repeats"], 17);
}

#[test]
fn a_number_without_a_unit_is_refused_with_the_units_that_fit() {
    let home = tempdir().unwrap();
    let output =
        airshelf(home.path(), &["calc", "leakage", "--flow", "3", "--at", "5inH2O", "--to", "20inH2O"]);
    insta::assert_snapshot!(shown(&output));
}

#[test]
fn an_orifice_outside_the_standard_is_refused_with_the_limit() {
    let home = tempdir().unwrap();
    let output = airshelf(
        home.path(),
        &[
            "calc",
            "orifice",
            "--diameter",
            "38mm",
            "--pipe",
            "40mm",
            "--drop",
            "28inH2O",
            "--upstream",
            "29.2inHg",
            "--temperature",
            "78F",
        ],
    );
    insta::assert_snapshot!(shown(&output));
}

#[test]
fn a_sweep_prints_its_curve_and_a_prediction() {
    let home = tempdir().unwrap();
    let output = airshelf(
        home.path(),
        &[
            "calc",
            "sweep",
            "100CFM:1.2inH2O",
            "150CFM:2.4inH2O",
            "200CFM:4.1inH2O",
            "250CFM:6.1inH2O",
            "--predict",
            "180CFM",
        ],
    );
    insta::assert_snapshot!(shown(&output));
}

#[test]
fn every_example_in_the_help_works() {
    let home = tempdir().unwrap();
    for calculator in airshelf_app::calc::CALCULATORS {
        let words: Vec<&str> = calculator.example.split_whitespace().skip(1).collect();
        let output = airshelf(home.path(), &words);
        assert!(
            output.status.success(),
            "{}: {}",
            calculator.example,
            String::from_utf8_lossy(&output.stderr)
        );
    }
}
