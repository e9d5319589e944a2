//! What holds for every unit and every number.
#![allow(clippy::unwrap_used)]

use std::collections::HashSet;

use airshelf_units::{
    Decimal, Digits, Dimension, System, Unit, nearest_fraction, read, read_any, show, to_resolution, usual,
};
use proptest::prelude::*;

fn any_unit() -> impl Strategy<Value = Unit> {
    proptest::sample::select(Unit::all().collect::<Vec<_>>())
}

#[test]
fn symbols_are_unique_and_lead_back_to_their_unit() {
    let mut seen = HashSet::new();
    for unit in Unit::all() {
        assert!(seen.insert(unit.symbol()), "{} stands twice", unit.symbol());
        assert_eq!(Unit::from_symbol(unit.symbol()), Some(unit));
        assert_eq!(Unit::named(unit.symbol(), Some(unit.dimension())), Ok(unit));
        if unit.shown() != "" {
            assert_eq!(Unit::named(unit.shown(), Some(unit.dimension())), Ok(unit), "{}", unit.shown());
        }
        assert!(!unit.source().is_empty());
    }
}

#[test]
fn a_symbol_means_one_dimension_unless_it_is_asked_for() {
    for unit in Unit::all() {
        assert_eq!(Unit::named(unit.symbol(), None), Ok(unit), "{}", unit.symbol());
    }
}

#[test]
fn every_dimension_has_its_si_unit_and_its_usual_units() {
    for dimension in Dimension::ALL {
        let si = dimension.si_unit();
        assert_eq!((si.dimension(), si.factor(), si.to_si(7.5)), (dimension, 1.0, 7.5));
        for system in [System::Us, System::Si] {
            assert_eq!(usual(dimension, system).dimension(), dimension);
        }
        assert!(!dimension.symbols().is_empty() && !dimension.name().is_empty());
    }
}

proptest! {
    #[test]
    fn every_unit_converts_there_and_back(unit in any_unit(), value in -1e6..1e6_f64) {
        let back = unit.from_si(unit.to_si(value));
        prop_assert!((back - value).abs() <= 1e-12 * value.abs() + 1e-9, "{value} came back as {back}");
    }

    #[test]
    fn what_is_shown_reads_back(unit in any_unit(), value in -1e5..1e5_f64, decimals in 0_u32..7) {
        let shown = show(unit.to_si(value), unit, Digits::Decimals(decimals));
        let back = read(&shown, unit.dimension(), Some(unit), Decimal::Point).unwrap();
        prop_assert_eq!(back.unit, unit);
        let half = 0.5 * 10_f64.powi(-(decimals as i32));
        prop_assert!((back.value - value).abs() <= half * 1.0001 + 1e-9, "{} reads as {}", shown, back.value);
        prop_assert_eq!(back.resolution.unwrap(), 2.0 * half);
    }

    #[test]
    fn significant_digits_keep_the_value(value in -1e12..1e12_f64, significant in 1_u32..12) {
        let shown = show(value, Unit::PASCAL, Digits::Significant(significant));
        let back = read_any(&shown, Decimal::Point).unwrap().value;
        let limit = 0.5001 * 10_f64.powi(1 - significant as i32) * value.abs() + f64::MIN_POSITIVE;
        prop_assert!((back - value).abs() <= limit, "{value} shows as {shown}");
    }

    #[test]
    fn a_plain_number_reads_like_the_standard_library(whole in 0_u64..10_000_000, places in 0_usize..8, minus: bool) {
        let text = format!("{}{:.*}", if minus { "-" } else { "" }, places, whole as f64 / 1000.0);
        let read = read(&text, Dimension::Flow, Some(Unit::CFM), Decimal::Point).unwrap();
        prop_assert_eq!(read.value, text.parse::<f64>().unwrap());
        let comma = text.replace('.', ",");
        prop_assert_eq!(airshelf_units::read(&comma, Dimension::Flow, Some(Unit::CFM), Decimal::Comma).unwrap(), read);
    }

    #[test]
    fn the_dash_in_a_fraction_joins(whole in 0_u32..500, top in 0_u32..64, minus: bool) {
        let bottom = 64.0;
        let sign = if minus { "-" } else { "" };
        let expected = (f64::from(whole) + f64::from(top) / bottom) * if minus { -1.0 } else { 1.0 };
        for joint in ["-", " ", " - ", "\u{2013}", "\u{a0}"] {
            let text = format!("{sign}{whole}{joint}{top}/64");
            let read = read(&text, Dimension::Length, Some(Unit::INCH), Decimal::Point).unwrap();
            prop_assert_eq!(read.value, expected, "{}", text);
            prop_assert_eq!(read.resolution, Some(1.0 / 64.0));
        }
    }

    #[test]
    fn fractions_of_an_inch_are_exact(parts in -100_000_i64..100_000, power in 0_u32..8) {
        let denominator = 1_u32 << power;
        let inches = parts as f64 / f64::from(denominator);
        let fraction = nearest_fraction(Unit::INCH.to_si(inches), denominator);
        prop_assert_eq!(fraction.parts, parts);
        prop_assert_eq!(fraction.inches.value(), inches);
        let back = read(&fraction.to_string(), Dimension::Length, None, Decimal::Point).unwrap();
        prop_assert_eq!(back.value, inches);
    }

    #[test]
    fn the_nearest_fraction_is_within_half_a_part(length_m in -10.0..10.0_f64, denominator in 1_u32..200) {
        let fraction = nearest_fraction(length_m, denominator);
        let off = (Unit::INCH.to_si(fraction.inches.value()) - length_m).abs();
        prop_assert!(off <= 0.0254 / f64::from(denominator) / 2.0 * 1.000_001);
    }

    #[test]
    fn rounding_to_the_uncertainty_moves_a_value_less_than_it(
        unit in any_unit(), value in -1e5..1e5_f64, uncertainty in 1e-6..1e4_f64,
    ) {
        let rounded = to_resolution(unit.to_si(value), uncertainty * unit.factor(), unit);
        prop_assert!((rounded.value - value).abs() <= 0.0501 * uncertainty + 1e-9);
        prop_assert!((rounded.standard_uncertainty / uncertainty - 1.0).abs() <= 0.0501);
    }

    #[test]
    fn no_text_breaks_the_reader(text in "\\PC{0,24}", comma: bool) {
        let style = if comma { Decimal::Comma } else { Decimal::Point };
        for dimension in [Dimension::Length, Dimension::Pressure, Dimension::Mass] {
            let _ = read(&text, dimension, Some(dimension.si_unit()), style).map(|read| read.echo());
        }
        let _ = airshelf_units::read_sizes(&text, Unit::INCH, style);
        let _ = airshelf_units::decimal_of([text.as_str()].into_iter());
    }

    #[test]
    fn no_near_number_breaks_the_reader(text in "[-+0-9., /x'\"½⅛²¹⁄₂×eE%a-z°\u{a0}–]{0,16}") {
        for style in [None, Some(Decimal::Comma), Some(Decimal::Point)] {
            if let Ok(read) = read(&text, Dimension::Length, Some(Unit::INCH), style) {
                prop_assert!(read.si.is_finite());
                // What the echo says is itself read as the same quantity.
                let echo = read.echo();
                let written = echo.split(" = ").next().unwrap();
                let again = airshelf_units::read(written, Dimension::Length, None, Decimal::Point).unwrap();
                prop_assert!((again.si - read.si).abs() <= 1e-9 * read.si.abs(), "{} echoes as {}", text, echo);
            }
        }
    }
}
