//! One quantity as the text of a cell.

use airshelf_catalog::Quantity;
use airshelf_units::{Decimal, Unit, read};

/// Writes a quantity under a column of that unit: as typed where that reads back the same, else as a number.
pub(super) fn cell(quantity: &Quantity, unit: Unit) -> String {
    let same = |text: &str| {
        read(text, unit.dimension(), Some(unit), Decimal::Point).is_ok_and(|r| near(r.si, quantity.si, 1e-13))
    };
    let Some(written) = &quantity.written else { return number(quantity.si, unit) };
    // A comma would speak for the other decimal style.
    if !written.raw.contains(',') && same(&written.raw) {
        return written.raw.trim().to_owned();
    }
    // The digits after the mark say how finely it was read; they stay.
    if written.unit == unit {
        let decimals = written
            .raw
            .rsplit_once([',', '.'])
            .map_or(0, |(_, d)| d.bytes().take_while(u8::is_ascii_digit).count());
        let text = format!("{:.*}", decimals.min(12), unit.from_si(quantity.si));
        if same(&text) {
            return text;
        }
    }
    // A cell in another unit than its column's names it.
    if written.unit != unit && written.unit.dimension() == unit.dimension() {
        let typed = written.raw.trim().trim_end_matches(|c: char| !c.is_ascii_digit()).replace(',', ".");
        let text = format!("{typed} {}", super::unit_name(written.unit));
        if same(&text) {
            return text;
        }
    }
    number(quantity.si, unit)
}

/// The shortest number that gives the value back.
fn number(si: f64, unit: Unit) -> String {
    let value = unit.from_si(si);
    for decimals in 0..=15 {
        let text = format!("{value:.decimals$}");
        if text.parse().is_ok_and(|v| near(unit.to_si(v), si, 1e-12)) {
            return text;
        }
    }
    format!("{value}")
}

fn near(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * b.abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typed_texts_stay_where_they_mean_the_same() {
        let typed = |raw: &str, unit: Unit, value: f64| Quantity::read(unit.to_si(value), raw, unit);
        assert_eq!(cell(&typed("277.90", Unit::CFM, 277.9), Unit::CFM), "277.90");
        assert_eq!(cell(&typed("8-5/8", Unit::INCH, 8.625), Unit::INCH), "8-5/8");
        assert_eq!(cell(&typed("57mm", Unit::MM, 57.0), Unit::INCH), "57mm");
        assert_eq!(cell(&typed("131,90", Unit::L_S, 131.9), Unit::L_S), "131.90");
        assert_eq!(cell(&typed("1.004,4", Unit::HPA, 1004.4), Unit::HPA), "1004.4");
        assert_eq!(cell(&typed("11x2.25", Unit::INCH, 2.25), Unit::INCH), "2.25");
        assert_eq!(cell(&typed("5", Unit::KPA, 5.0), Unit::PASCAL), "5 kPa");
        assert_eq!(cell(&typed("141,58 L/s", Unit::L_S, 141.58), Unit::CFM), "141.58 L/s");
        assert_eq!(cell(&typed("2-1/4", Unit::INCH, 2.25), Unit::MM), "2-1/4 in");
        assert_eq!(cell(&typed("0", Unit::INCH, 0.0), Unit::INCH), "0");
    }

    #[test]
    fn other_units_keep_the_value() {
        let flow = Quantity { si: Unit::L_S.to_si(125.16), written: None };
        let text = cell(&flow, Unit::CFM);
        let back = Unit::CFM.to_si(text.parse().unwrap());
        assert!((back - flow.si).abs() <= 1e-12 * flow.si, "{text}");
    }
}
