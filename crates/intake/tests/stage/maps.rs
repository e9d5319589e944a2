//! A map that cannot be followed says so.

use airshelf_intake::map::{MapFault, Mapping};
use airshelf_intake::reader::{Limits, read};

fn map(text: &str) -> Mapping {
    serde_json::from_str(text).unwrap()
}

#[test]
fn a_field_that_there_is_not_is_named_with_the_nearest() {
    let asked = map(r#"{"tables":[{"columns":[{"header":"Wert","field":"flowz"}]}]}"#);
    let fault = asked.check().unwrap_err();
    assert_eq!(fault, MapFault::Field { name: "flowz".into(), near: Some("flow".into()) });
}

#[test]
fn a_unit_of_another_kind_is_refused() {
    for (field, unit) in [("flow", "kPa"), ("set_pressure", "CFM"), ("flow", "banana"), ("filter", "mm")] {
        let asked = map(&format!(
            r#"{{"tables":[{{"columns":[{{"column":1,"field":"{field}","unit":"{unit}"}}]}}]}}"#
        ));
        assert!(asked.check().is_err(), "{field} {unit}");
    }
    assert!(map(r#"{"tables":[{"columns":[{"column":1,"field":"flow","unit":"L/s"}]}]}"#).check().is_ok());
}

#[test]
fn words_and_page_values_are_read_or_refused() {
    for table in [
        r#"{"kind":"bananas"}"#,
        r#"{"decimal":";"}"#,
        r#"{"page":{"set_pressurez":"20 inH2O"}}"#,
        r#"{"page":{"set_pressure":"banana"}}"#,
        r#"{"page":{"date":"someday"}}"#,
        r#"{"columns":[{"field":"flow"}]}"#,
    ] {
        assert!(map(&format!(r#"{{"tables":[{table}]}}"#)).check().is_err(), "{table}");
    }
    let fine = r#"{"tables":[{"kind":"runs","decimal":",","page":{"set_pressure":"20 inH2O","date":"2024-05-01",
        "restraint":"nut"}}]}"#;
    assert_eq!(map(fine).check(), Ok(()));
}

#[test]
fn a_header_that_no_row_has_is_told() {
    let book = read("s.csv", b"Lauf;Wert\n1;270\n", &Limits::default()).unwrap();
    let asked = map(
        r#"{"tables":[{"columns":[{"header":"wert","field":"flow"},{"header":"Dicke","field":"lid"}]}]}"#,
    );
    assert_eq!(asked.unmet(&book), [(0, 1)]);
    assert!(asked.unmet_fault((0, 1)).to_string().contains("Dicke"));
}
