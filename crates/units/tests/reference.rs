//! Every reference case of the area "1 units", through the public functions. A case of an unknown form fails.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;

use airshelf_units::{Decimal, Dimension, ReadError, Unit, nearest_fraction, read};
use serde_json::Value;

fn cases(file: &str) -> Vec<Value> {
    let path = format!("{}/../../fixtures/reference/{file}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    let all: Vec<Value> = serde_json::from_str(&text).unwrap();
    all.into_iter().filter(|case| case["area"] == "1 units").collect()
}

/// The cases name a unit in words with short forms in brackets; every form that is known must mean the same unit.
fn unit(text: &str) -> Unit {
    if let Ok(unit) = Unit::named(text, None) {
        return unit;
    }
    let (before, bracketed) = text.split_once('(').unwrap_or_else(|| panic!("unit `{text}`"));
    let forms = bracketed
        .trim_end_matches(')')
        .split(", ")
        .chain([before, before.trim_end().trim_end_matches(" abs")]);
    let known: Vec<Unit> = forms.filter_map(|form| Unit::named(form, None).ok()).collect();
    let first = *known.first().unwrap_or_else(|| panic!("unit `{text}`"));
    assert!(known.iter().all(|unit| *unit == first), "`{text}` names {known:?}");
    first
}

fn assert_close(case: &Value, got: f64, expected: f64) {
    let limit =
        case["rel_tol"].as_f64().unwrap_or(0.0) * expected.abs() + case["abs_tol"].as_f64().unwrap_or(0.0);
    assert!((got - expected).abs() <= limit, "{}: got {got}, expected {expected} within {limit}", case["id"]);
}

/// Checks one case and says which form it has.
fn check(case: &Value) -> &'static str {
    let id = &case["id"];
    let quantity = case["quantity"].as_str().unwrap();
    let inputs = case["inputs"].as_object().unwrap();
    let names: Vec<&str> = inputs.keys().map(String::as_str).collect();
    let si_of = |name: &str| {
        let input = &inputs[name];
        unit(input["unit"].as_str().unwrap()).to_si(input["value"].as_f64().unwrap())
    };
    match (names.as_slice(), &case["expected"]) {
        (["text"], expected) => {
            let text = inputs["text"]["value"].as_str().unwrap();
            let style =
                if text.contains(',') && !expected.is_null() { Decimal::Comma } else { Decimal::Point };
            let result = read(text, Dimension::Length, Some(Unit::INCH), style);
            match expected {
                Value::Null => {
                    assert!(result.is_err(), "{id}: `{text}` must be refused, got {result:?}");
                    "refused"
                }
                expected => {
                    assert_eq!(case["unit"], "mm", "{id}");
                    let si = result.unwrap_or_else(|error| panic!("{id}: {error}")).si;
                    assert_close(case, Unit::MM.from_si(si), expected.as_f64().unwrap());
                    "read"
                }
            }
        }
        (["x"], Value::Array(expected)) if quantity.contains("nearest 1/64 in") => {
            let fraction = nearest_fraction(si_of("x"), 64);
            assert_eq!(Some(fraction.parts), expected[0].as_i64(), "{id}");
            // The cases write a space where this crate prints the joining dash.
            let sign = if fraction.parts < 0 { 1 } else { 0 };
            let printed = fraction.inches.to_string();
            let spaced = format!("{}{}", &printed[..sign], printed[sign..].replace('-', " "));
            assert_eq!(Some(spaced.as_str()), expected[1].as_str(), "{id}");
            assert_eq!(fraction.to_string(), format!("{printed} in"), "{id}");
            "nearest fraction"
        }
        (["x"], expected) => {
            let wanted = unit(case["unit"].as_str().unwrap());
            let from = unit(inputs["x"]["unit"].as_str().unwrap());
            assert_eq!(from.dimension(), wanted.dimension(), "{id}");
            assert_close(case, wanted.from_si(si_of("x")), expected.as_f64().unwrap());
            "converted"
        }
        (["t"], Value::Array(expected)) if quantity == "temperature" => {
            let units = case["unit"].as_array().unwrap();
            assert_eq!(units.len(), expected.len(), "{id}");
            for (wanted, expected) in units.iter().zip(expected) {
                let got = unit(wanted.as_str().unwrap()).from_si(si_of("t"));
                assert_close(case, got, expected.as_f64().unwrap());
            }
            "temperature"
        }
        (["ambient", "gauge"], expected) => {
            assert_eq!(case["unit"], "Pa abs", "{id}");
            assert_close(case, si_of("ambient") + si_of("gauge"), expected.as_f64().unwrap());
            "gauge to absolute"
        }
        _ => panic!("{id}: no check for a case of this form: {case}"),
    }
}

fn check_all(file: &str) -> BTreeMap<&'static str, usize> {
    let mut forms = BTreeMap::new();
    for case in &cases(file) {
        *forms.entry(check(case)).or_default() += 1;
    }
    forms
}

#[test]
fn every_reference_case_of_the_area_holds() {
    let forms = check_all("reference.json");
    for form in ["converted", "gauge to absolute", "nearest fraction", "read", "refused", "temperature"] {
        assert!(forms.contains_key(form), "no case was of the form `{form}`: {forms:?}");
    }
}

#[test]
fn every_further_case_holds() {
    let forms = check_all("units-extra.json");
    for form in ["converted", "nearest fraction", "read", "refused", "temperature"] {
        assert!(forms.contains_key(form), "no case was of the form `{form}`: {forms:?}");
    }
}

#[test]
fn a_wrong_expectation_fails() {
    let mut case = cases("reference.json").into_iter().find(|case| case["id"] == "u20").unwrap();
    case["expected"] = Value::from(case["expected"].as_f64().unwrap() * 1.000_001);
    assert!(std::panic::catch_unwind(|| check(&case)).is_err());
}

/// Case u800: the comma is a decimal mark only when the table says so.
#[test]
fn a_comma_that_may_group_is_refused_among_points() {
    let refused = read("28,575 mm", Dimension::Length, Some(Unit::INCH), Decimal::Point);
    assert!(matches!(refused, Err(ReadError::Ambiguous { .. })), "{refused:?}");
}
