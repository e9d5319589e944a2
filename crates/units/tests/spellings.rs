//! What people write, in every style met on sheets and notebooks.
#![allow(clippy::unwrap_used)]

use airshelf_units::{
    Decimal, Dimension, ReadError, Unit, UnitError, decimal_of, read, read_any, read_sizes,
};

fn value(text: &str, dimension: Dimension, default: Option<Unit>, decimal: Decimal) -> (f64, Unit) {
    let read = read(text, dimension, default, decimal).unwrap_or_else(|error| panic!("{text:?}: {error}"));
    (read.value, read.unit)
}

#[test]
fn lengths_are_read_in_every_style() {
    for (text, number, unit) in [
        ("1-1/8", 1.125, Unit::INCH),
        ("1 1/8\"", 1.125, Unit::INCH),
        ("2 15/16 in", 2.9375, Unit::INCH),
        ("3.5\"", 3.5, Unit::INCH),
        ("11\"", 11.0, Unit::INCH),
        ("57mm", 57.0, Unit::MM),
        ("57 mm", 57.0, Unit::MM),
        ("57\u{a0}MM", 57.0, Unit::MM),
        ("Ø57 mm", 57.0, Unit::MM),
        ("1⅛", 1.125, Unit::INCH),
        ("9½", 9.5, Unit::INCH),
        ("9\u{202f}½ inches", 9.5, Unit::INCH),
        ("½ in.", 0.5, Unit::INCH),
        ("1′ 2″", 14.0, Unit::INCH),
        ("1' 2''", 14.0, Unit::INCH),
        ("1 ft 2-1/2 in", 14.5, Unit::INCH),
        ("1'2½\"", 14.5, Unit::INCH),
        ("1'-2\"", 14.0, Unit::INCH),
        ("-1' 2\"", -14.0, Unit::INCH),
        ("2 ft", 2.0, Unit::FOOT),
        ("2-7/8-in", 2.875, Unit::INCH),
        ("1⁄8 in", 0.125, Unit::INCH),
        ("1–1/8", 1.125, Unit::INCH),
        ("−3.2 mm", -3.2, Unit::MM),
        ("-1-1/8", -1.125, Unit::INCH),
        ("11/8", 1.375, Unit::INCH),
        ("20.", 20.0, Unit::INCH),
        (".5", 0.5, Unit::INCH),
        ("0,125", 0.125, Unit::INCH),
        ("5.7 cm", 5.7, Unit::CM),
        ("10 thou", 10.0, Unit::THOU),
        ("1.2e1 mm", 12.0, Unit::MM),
    ] {
        assert_eq!(
            value(text, Dimension::Length, Some(Unit::INCH), Decimal::Point),
            (number, unit),
            "{text:?}"
        );
    }
}

#[test]
fn pressures_are_read_in_every_style() {
    for (text, number, unit) in [
        ("5.5 \"H2O", 5.5, Unit::IN_H2O),
        ("5.5\" H2O", 5.5, Unit::IN_H2O),
        ("5.5″ H₂O", 5.5, Unit::IN_H2O),
        ("20 in. water", 20.0, Unit::IN_H2O),
        ("20 inches of water column", 20.0, Unit::IN_H2O),
        ("20 in H2O", 20.0, Unit::IN_H2O),
        ("20 INH2O", 20.0, Unit::IN_H2O),
        ("20 in. w.c.", 20.0, Unit::IN_H2O),
        ("20 in wc", 20.0, Unit::IN_H2O),
        ("20 inWC", 20.0, Unit::IN_H2O),
        ("20 \" w.g.", 20.0, Unit::IN_H2O),
        ("5.5inH2O", 5.5, Unit::IN_H2O),
        ("5.5 inH2O (4 °C)", 5.5, Unit::IN_H2O_4C),
        ("5.5 inH2O (39.2 °F)", 5.5, Unit::IN_H2O_4C),
        ("5.5 inH2O@60F", 5.5, Unit::IN_H2O_60F),
        ("5.5 in H2O (60 °F)", 5.5, Unit::IN_H2O_60F),
        ("3,5 kPa", 3.5, Unit::KPA),
        ("0,85 kPa", 0.85, Unit::KPA),
        ("29.31 inHg", 29.31, Unit::IN_HG),
        ("29.2inHg", 29.2, Unit::IN_HG),
        ("29.2 \"Hg", 29.2, Unit::IN_HG),
        ("29.2 in. mercury", 29.2, Unit::IN_HG),
        ("1,004.4 hPa", 1004.4, Unit::HPA),
        ("1013 mb", 1013.0, Unit::MBAR),
        ("508 mm w.c.", 508.0, Unit::MM_H2O),
        ("760 mm Hg", 760.0, Unit::MM_HG),
        ("1 psi", 1.0, Unit::PSI),
        ("2 oz/in²", 2.0, Unit::OZ_IN2),
        ("0.1 MPa", 0.1, Unit::MPA),
    ] {
        assert_eq!(value(text, Dimension::Pressure, None, Decimal::Point), (number, unit), "{text:?}");
        assert_eq!(value(text, Dimension::Pressure, Some(Unit::KPA), Decimal::Point).1, unit, "{text:?}");
    }
}

#[test]
fn a_comma_table_reads_its_commas() {
    for (text, dimension, default, number) in [
        ("1.004,4", Dimension::Pressure, Unit::HPA, 1004.4),
        ("1.004", Dimension::Pressure, Unit::HPA, 1004.0),
        ("5,012", Dimension::Pressure, Unit::KPA, 5.012),
        ("141,58 L/s", Dimension::Flow, Unit::CFM, 141.58),
        ("23,3", Dimension::Temperature, Unit::CELSIUS, 23.3),
        ("28,575 mm", Dimension::Length, Unit::INCH, 28.575),
        ("57", Dimension::Length, Unit::MM, 57.0),
        ("265.8", Dimension::Flow, Unit::CFM, 265.8),
        ("-0,5", Dimension::Flow, Unit::L_S, -0.5),
    ] {
        assert_eq!(value(text, dimension, Some(default), Decimal::Comma).0, number, "{text:?}");
    }
}

#[test]
fn other_quantities_are_read_by_their_unit() {
    for (text, number, unit) in [
        ("1,008 sq in", 1008.0, Unit::SQ_IN),
        ("1\u{2009}008 sq. in.", 1008.0, Unit::SQ_IN),
        ("12.5 in²", 12.5, Unit::SQ_IN),
        ("12.5 square inches", 12.5, Unit::SQ_IN),
        ("574 CFM", 574.0, Unit::CFM),
        ("574 cu. ft./min", 574.0, Unit::CFM),
        ("574 ft³/min", 574.0, Unit::CFM),
        ("574 cubic feet per minute", 574.0, Unit::CFM),
        ("78F", 78.0, Unit::FAHRENHEIT),
        ("74 °F", 74.0, Unit::FAHRENHEIT),
        ("74 deg. F", 74.0, Unit::FAHRENHEIT),
        ("20℃", 20.0, Unit::CELSIUS),
        ("45%", 45.0, Unit::PERCENT),
        ("52 % RH", 52.0, Unit::PERCENT),
        ("52 % r.h.", 52.0, Unit::PERCENT),
        ("141.58 L/s", 141.58, Unit::L_S),
        ("300 m³/h", 300.0, Unit::M3_H),
        ("250 in³", 250.0, Unit::CUBIC_INCH),
        ("250-in³", 250.0, Unit::CUBIC_INCH),
        ("250 cu. in.", 250.0, Unit::CUBIC_INCH),
        ("4.1 L", 4.1, Unit::LITER),
        ("4100 cc", 4100.0, Unit::CC),
        ("5,000 rpm", 5000.0, Unit::RPM),
        ("12 lb/min", 12.0, Unit::LB_MIN),
        ("10 ft3/min", 10.0, Unit::CFM),
        ("10 ft2", 10.0, Unit::SQ_FT),
        ("1 lb 3 oz", 19.0, Unit::OUNCE),
        ("15°", 15.0, Unit::DEGREE),
        ("150 PS", 150.0, Unit::HP_METRIC),
        ("11\"", 11.0, Unit::INCH),
        ("5.5inH2O", 5.5, Unit::IN_H2O),
    ] {
        let read = read_any(text, Decimal::Point).unwrap_or_else(|error| panic!("{text:?}: {error}"));
        assert_eq!((read.value, read.unit), (number, unit), "{text:?}");
    }
    assert_eq!(read_any("52 %", Decimal::Point).unwrap().si, 0.52);
}

#[test]
fn a_unit_in_the_cell_wins_over_the_default() {
    let read = read("57mm", Dimension::Length, Some(Unit::INCH), Decimal::Point).unwrap();
    assert_eq!((read.unit, read.si), (Unit::MM, 0.057));
}

#[test]
fn a_difference_of_temperatures_has_no_offset() {
    let warmer = read("9 °F", Dimension::TemperatureDifference, None, Decimal::Point).unwrap();
    assert_eq!(warmer.unit, Unit::DELTA_F);
    assert!((warmer.si - 5.0).abs() < 1e-12);
}

#[test]
fn a_choice_of_units_is_offered_and_not_made() {
    for text in ["20 in", "20\"", "20 in."] {
        let error = read(text, Dimension::Pressure, Some(Unit::IN_H2O), Decimal::Point).unwrap_err();
        let ReadError::Ambiguous { candidates, .. } = &error else { panic!("{text}: {error:?}") };
        assert_eq!(candidates, &["inH2O", "inHg"], "{text}");
        assert!(error.to_string().contains("inH2O, inHg"), "{error}");
    }
    let named = |text, dimension| Unit::named(text, Some(dimension)).unwrap_err();
    for (text, dimension, offered) in [
        ("oz", Dimension::Pressure, vec!["oz/in2"]),
        ("lb", Dimension::Pressure, vec!["psi"]),
        ("mm", Dimension::Pressure, vec!["mmH2O", "mmHg"]),
        ("°", Dimension::Temperature, vec!["degF", "degC"]),
        ("L", Dimension::Flow, vec!["L/s", "L/min"]),
        ("SCFM", Dimension::Flow, vec!["CFM", "lb/min"]),
    ] {
        let UnitError::Ambiguous { candidates, .. } = named(text, dimension) else { panic!("{text}") };
        assert_eq!(candidates, offered, "{text}");
    }
}

#[test]
fn case_is_forgiven_only_where_it_tells_no_units_apart() {
    assert_eq!(Unit::named("KPA", None), Ok(Unit::KPA));
    assert_eq!(Unit::named("cfm", None), Ok(Unit::CFM));
    assert_eq!(Unit::named("INHG", Some(Dimension::Pressure)), Ok(Unit::IN_HG));
    // Millipascal is no unit of the table, and megapascal is 10^9 times as much.
    assert!(Unit::named("mPa", None).is_err());
}

#[test]
fn what_is_no_quantity_is_refused_with_its_reason() {
    let length = |text| read(text, Dimension::Length, Some(Unit::INCH), Decimal::Point);
    for text in ["", "  ", "\u{a0}"] {
        assert_eq!(length(text), Err(ReadError::Empty));
    }
    for text in ["abc", "-", "n/a", "mm", "NaN", "inf", "~57 mm"] {
        assert!(matches!(length(text), Err(ReadError::NotANumber { .. })), "{text}: {:?}", length(text));
    }
    for text in [
        "1/0",
        "1 1/8 1/8",
        "1.5/8",
        "1.5 1/8",
        "1--1/8",
        "1 1/",
        "1/2/24",
        "10-12",
        "10 - 12 mm",
        "57 ± 1 mm",
        "11x2",
        "11 × 2¼",
        "300 277",
        "1.2.3",
        "1,2,3",
        "12:30",
        "1' 2",
        "1 9/8",
        "0x1F",
    ] {
        assert!(matches!(length(text), Err(ReadError::Malformed { .. })), "{text}: {:?}", length(text));
    }
    assert!(matches!(length("12 furlongs"), Err(ReadError::UnknownUnit { .. })));
    assert!(matches!(length("12 inH2O"), Err(ReadError::WrongDimension { found: Dimension::Pressure, .. })));
    assert!(matches!(
        read("12", Dimension::Length, Some(Unit::KPA), Decimal::Point),
        Err(ReadError::WrongDimension { found: Dimension::Pressure, wanted: Dimension::Length, .. })
    ));
    let ReadError::Ambiguous { candidates, .. } = length("1,125").unwrap_err() else { panic!() };
    assert_eq!(candidates, ["1.125", "1125"]);
}

#[test]
fn a_number_without_a_unit_is_refused_with_the_units_that_fit() {
    let error = read("20", Dimension::Pressure, None, Decimal::Point).unwrap_err();
    let ReadError::NoUnit { fits, .. } = &error else { panic!("{error:?}") };
    assert_eq!(fits[..3], ["inH2O", "inHg", "kPa"]);
    assert!(error.to_string().contains("inH2O"), "{error}");
    assert!(matches!(read_any("20", Decimal::Point), Err(ReadError::NoUnit { .. })));
}

#[test]
fn every_message_says_what_to_write() {
    for text in
        ["", "abc", "1/0", "1 1/", "1,125", "12 furlongs", "12 CFM", "10-12", "1.5/8", "11x2", "300 277"]
    {
        let message =
            read(text, Dimension::Length, Some(Unit::INCH), Decimal::Point).unwrap_err().to_string();
        assert!(
            ["write", "such as", "as in"].iter().any(|hint| message.contains(hint)),
            "{text:?} says only: {message}"
        );
    }
}

#[test]
fn with_no_known_style_a_comma_that_may_group_is_refused() {
    let read_as = |text: &str, dimension, unit| read(text, dimension, Some(unit), None);
    assert!(matches!(read_as("5,012", Dimension::Pressure, Unit::KPA), Err(ReadError::Ambiguous { .. })));
    assert_eq!(read_as("5,000", Dimension::RotationalSpeed, Unit::RPM).unwrap().value, 5000.0);
    assert_eq!(read_as("5,01", Dimension::Pressure, Unit::KPA).unwrap().value, 5.01);
    assert_eq!(read_as("5.012", Dimension::Pressure, Unit::KPA).unwrap().value, 5.012);
}

#[test]
fn the_decimal_style_of_a_table_comes_from_its_cells() {
    let style = |cells: &[&str]| decimal_of(cells.iter().copied());
    assert_eq!(style(&["0,94", "5", "5,012", "1.004,4", "50"]), Some(Decimal::Comma));
    assert_eq!(style(&["5,012", "141,58"]), Some(Decimal::Comma));
    assert_eq!(style(&["265.8", "1,008"]), Some(Decimal::Point));
    assert_eq!(style(&["1,004.4 hPa"]), Some(Decimal::Point));
    assert_eq!(style(&["1,008"]), None);
    assert_eq!(style(&["22.06.2024", "6/15/2024", "1-1/8", "12:30", "BS-1", "", "14-Sep-2024"]), None);
    assert_eq!(style(&["3,5", "3.5"]), None);
    assert_eq!(style(&["20.1", "20.2", "3,5"]), Some(Decimal::Point));
}

#[test]
fn two_sizes_in_one_cell_are_read() {
    for (text, sizes) in [
        ("11x2¼", vec![11.0, 2.25]),
        ("11\" x 3\"", vec![11.0, 3.0]),
        ("10 x 2 1/4", vec![10.0, 2.25]),
        ("9½×3½", vec![9.5, 3.5]),
        ("14 x 3", vec![14.0, 3.0]),
        ("9.5X3.5", vec![9.5, 3.5]),
        ("14 by 3", vec![14.0, 3.0]),
    ] {
        let read = read_sizes(text, Unit::INCH, Decimal::Point).unwrap_or_else(|| panic!("{text}"));
        assert_eq!(read.iter().map(|size| size.value).collect::<Vec<_>>(), sizes, "{text}");
        assert!(read.iter().all(|size| size.unit == Unit::INCH), "{text}");
    }
    let metric = read_sizes("250 x 57 mm", Unit::INCH, Decimal::Point).unwrap();
    assert!(metric.iter().all(|size| size.unit == Unit::MM));
    for text in ["11", "", "x", "11 x", "paper 11x3", "1x2x3x4"] {
        assert_eq!(read_sizes(text, Unit::INCH, Decimal::Point), None, "{text}");
    }
}

#[test]
fn the_echo_says_how_it_was_read() {
    for (text, echo) in [
        ("1 1/8\"", "1-1/8 in = 28.575 mm"),
        ("57mm", "57 mm = 2.24409 in"),
        ("5.50inH2O", "5.50 inH2O = 1.36999 kPa"),
        ("29.92 inHg", "29.92 inHg = 1013.21 hPa"),
        ("45%", "45 %"),
        ("5,000 rpm", "5000 rpm"),
        ("100 L/s", "100 L/s = 211.888 CFM"),
        ("68F", "68 °F = 20 °C"),
        ("11/8 in", "11/8 in = 34.925 mm"),
    ] {
        assert_eq!(read_any(text, Decimal::Point).unwrap().echo(), echo);
    }
}

#[test]
fn an_improper_fraction_keeps_its_form() {
    let depth = read("11/8", Dimension::Length, Some(Unit::INCH), Decimal::Point).unwrap();
    let fraction = depth.fraction.unwrap();
    assert_eq!((depth.value, fraction.whole, depth.resolution), (1.375, None, Some(0.125)));
    assert!(fraction.is_improper());
    let depth = read("1-1/8", Dimension::Length, Some(Unit::INCH), Decimal::Point).unwrap();
    assert_eq!(depth.fraction.unwrap().whole, Some(1));
}

#[test]
fn the_last_digit_shown_is_the_resolution() {
    for (text, resolution) in
        [("20.09", 0.01), ("265", 1.0), ("12.0", 0.1), ("2-15/16", 0.0625), ("1.50e1", 0.1), ("1,008.5", 0.1)]
    {
        let read = read(text, Dimension::Flow, Some(Unit::CFM), Decimal::Point).unwrap();
        assert!(
            (read.resolution.unwrap() - resolution).abs() < 1e-12 * resolution,
            "{text}: {:?}",
            read.resolution
        );
    }
}

#[test]
fn an_apostrophe_may_part_thousands() {
    let hpa = |text, decimal| value(text, Dimension::Pressure, Some(Unit::HPA), decimal).0;
    assert_eq!(hpa("1'013.5", Decimal::Point), 1013.5);
    assert_eq!(hpa("1’013,5", Decimal::Comma), 1013.5);
    assert_eq!(value("1'013'250 Pa", Dimension::Pressure, None, Decimal::Point).0, 1_013_250.0);
    assert_eq!(decimal_of(["1'013.5", "1'011.0"].into_iter()), Some(Decimal::Point));
    assert_eq!(decimal_of(["1'013,5"].into_iter()), Some(Decimal::Comma));
    // Before anything but three digits it is a foot.
    assert_eq!(value("1'2\"", Dimension::Length, None, Decimal::Point), (14.0, Unit::INCH));
}
