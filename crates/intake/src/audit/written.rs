//! How a dimension was written: fractions typed as digits, inches for millimeters and back.

use super::element::measured_fault;
use super::fault::{Amount, Detail, Fault, Repair};
use super::rule::Rule;
use super::shelf::{PartSeen, Shelf};
use airshelf_catalog::{Measurement, PartDimension, PartKind, Quantity, Uuid};
use airshelf_units::{Decimal, Dimension, Unit, nearest_fraction, read};
use std::collections::HashMap;

/// A sibling in the same table, kind and dimension, written as a fraction.
pub(crate) struct Siblings(HashMap<(Option<Uuid>, Option<PartKind>, i64), Vec<f64>>);

impl Siblings {
    pub fn of(shelf: &Shelf) -> Self {
        let mut out: HashMap<_, Vec<f64>> = HashMap::new();
        for part in &shelf.parts {
            for m in &part.measured {
                let (Some(which), Some(value)) = (m.dimension, m.value.as_ref()) else { continue };
                if value.raw().is_some_and(|r| r.contains(['/', '¼', '½', '¾', '⅛', '⅜', '⅝', '⅞']))
                {
                    out.entry((m.table, part.kind(), which.code())).or_default().push(value.si);
                }
            }
        }
        Siblings(out)
    }
}

pub(crate) fn check(shelf: &Shelf, part: &PartSeen, m: &Measurement, siblings: &Siblings) -> Option<Fault> {
    let value = m.value.as_ref()?;
    let dimension = m.dimension?;
    if value.unit().is_none_or(|u| u.dimension() != Dimension::Length) {
        return None;
    }
    fraction(shelf, part, m, value, siblings).or_else(|| length(shelf, part, m, value, dimension))
}

fn fraction(
    shelf: &Shelf,
    part: &PartSeen,
    m: &Measurement,
    value: &Quantity,
    siblings: &Siblings,
) -> Option<Fault> {
    let inches = |value: &Quantity| value.unit() == Some(Unit::INCH);
    // A column of millimeters may have a part in inches, one of which lost its mark.
    let unmarked = !inches(value);
    if unmarked && !part.measured.iter().filter_map(|m| m.value.as_ref()).any(inches) {
        return None;
    }
    let raw = value.raw()?.trim();
    let mut beside = None;
    let candidates = if let Some(split) = split_improper(raw).filter(|_| !unmarked) {
        vec![split, value.unit()?.from_si(value.si)]
    } else {
        let meant = digits_as_fraction(raw)?;
        let told = noted(part.part.note.as_deref(), meant);
        let key = (m.table, part.kind(), m.dimension?.code());
        let alike = |si: &&f64| (Unit::INCH.from_si(**si) - meant).abs() < 1e-4;
        let sibling = siblings.0.get(&key).is_some_and(|s| s.iter().any(|si| alike(&si)));
        if let Some(note) = told {
            beside = Some(note);
        } else if unmarked || !sibling || looks_like_eighths(raw) {
            return None;
        }
        vec![meant]
    };
    let shown: Vec<(String, Amount)> = candidates
        .iter()
        .map(|inches| {
            let si = Unit::INCH.to_si(*inches);
            (nearest_fraction(si, 64).to_string(), Amount::new(si, Unit::INCH))
        })
        .collect();
    let to = shown.iter().map(|(_, a)| *a).collect();
    let detail = Detail::Fraction { written: raw.to_owned(), candidates: shown, beside };
    let mut fault = measured_fault(shelf, m, Rule::FractionMisread, detail);
    fault.repair = Some(Repair::Set { field: fault.place.field.clone(), to });
    Some(fault)
}

fn proper(numerator: u32, denominator: u32) -> Option<f64> {
    (matches!(denominator, 2 | 4 | 8 | 16 | 32 | 64) && numerator % 2 == 1 && numerator < denominator)
        .then(|| f64::from(numerator) / f64::from(denominator))
}

/// `11/8` without a whole number, read as `1-1/8`.
fn split_improper(raw: &str) -> Option<f64> {
    let raw = raw.trim_end_matches(['"', '″']).trim_end_matches("in").trim();
    let (top, bottom) = raw.split_once('/')?;
    let (top, bottom) = (top.trim(), bottom.trim());
    if !top.bytes().all(|b| b.is_ascii_digit()) || top.len() < 2 {
        return None;
    }
    let denominator: u32 = bottom.parse().ok()?;
    if top.parse::<u32>().ok()? < denominator {
        return None;
    }
    (1..top.len()).find_map(|at| {
        let (whole, numerator): (u32, u32) = (top[..at].parse().ok()?, top[at..].parse().ok()?);
        Some(f64::from(whole) + proper(numerator, denominator)?)
    })
}

/// `1.18`, read as `1-1/8`: the decimals are a numerator and its denominator.
fn digits_as_fraction(raw: &str) -> Option<f64> {
    let number = raw.trim_end_matches(['"', '″']).trim_end_matches("in").trim();
    let (whole, decimals) = number.split_once(['.', ','])?;
    let whole: u32 = whole.parse().ok()?;
    if !(2..=4).contains(&decimals.len()) || !decimals.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    (1..decimals.len()).rev().find_map(|at| {
        let (numerator, denominator) = decimals.split_at(at);
        if denominator.starts_with('0') || numerator.starts_with('0') {
            return None;
        }
        Some(f64::from(whole) + proper(numerator.parse().ok()?, denominator.parse().ok()?)?)
    })
}

/// `.12`, `.38`, `.62`, `.88` and the like are eighths shortened to two digits.
fn looks_like_eighths(raw: &str) -> bool {
    let decimals: String =
        raw.rsplit(['.', ',']).next().unwrap_or("").chars().take_while(char::is_ascii_digit).collect();
    matches!(decimals.as_str(), "12" | "13" | "37" | "38" | "62" | "63" | "87" | "88")
}

/// The words of a note that hold the value as a fraction.
fn noted(note: Option<&str>, inches: f64) -> Option<String> {
    let note = note?;
    let words: Vec<&str> = note.split([' ', ',', ';', '(', ')']).filter(|w| !w.is_empty()).collect();
    let holds = |text: &str| {
        text.contains(['/', '¼', '½', '¾', '⅛', '⅜', '⅝', '⅞'])
            && read(text.trim_end_matches('.'), Dimension::Length, Some(Unit::INCH), Decimal::Point)
                .is_ok_and(|r| (r.value - inches).abs() < 1e-6)
    };
    let single = words.iter().find(|w| holds(w)).map(|w| (*w).to_owned());
    single.or_else(|| words.windows(2).map(|w| w.join(" ")).find(|w| holds(w))).map(|_| note.to_owned())
}

/// Where lengths of each kind lie, in inches: wide enough for odd parts, narrower than 25.4 to 1 where it can be.
/// Common practice, no source.
fn window(kind: Option<PartKind>, which: PartDimension) -> Option<(f64, f64)> {
    use PartDimension as D;
    use PartKind as K;
    Some(match (kind?, which) {
        (K::Filter, D::OutsideDiameter) => (4.0, 20.0),
        (K::Filter, D::InsideDiameter) => (2.5, 18.0),
        (K::Filter, D::Height) => (0.75, 8.0),
        (_, D::PleatDepth) => (0.2, 3.0),
        (_, D::PleatFreeHeight) => (0.6, 8.0),
        (K::Lid | K::Base, D::OutsideDiameter) => (4.0, 20.0),
        (K::Lid, D::Height) => (0.02, 5.0),
        (K::Base, D::Height) => (0.02, 4.0),
        (K::Spacer, D::Height) => (0.1, 4.0),
        (K::Spacer | K::VelocityStack, D::OutsideDiameter) => (1.5, 10.0),
        (K::VelocityStack, D::Height) => (0.4, 9.0),
        (K::Carburetor, D::OutsideDiameter) => (1.5, 10.0),
        (_, D::StudLength) => (1.0, 15.0),
        (_, D::NeckBore | D::Register) => (1.5, 10.0),
        (_, D::Drop) => (0.1, 4.5),
        _ => return None,
    })
}

fn length(
    shelf: &Shelf,
    part: &PartSeen,
    m: &Measurement,
    value: &Quantity,
    which: PartDimension,
) -> Option<Fault> {
    let unit = value.unit()?;
    let other = match unit {
        Unit::INCH => Unit::MM,
        Unit::MM => Unit::INCH,
        _ => return None,
    };
    // A unit written in the cell itself was meant.
    if value.raw().is_some_and(|r| r.contains(['"', '″', 'm', 'i'])) || value.si <= 0.0 {
        return None;
    }
    let number = unit.from_si(value.si);
    let read_as = Amount::new(other.to_si(number), other);
    let near = |a: f64, b: f64| (a / b - 1.0).abs() < 0.03;
    let elsewhere = part
        .measured
        .iter()
        .filter(|o| o.id != m.id && o.dimension == Some(which))
        .filter_map(|o| o.value.as_ref())
        .map(|q| q.si)
        .next();
    let inches = |si: f64| Unit::INCH.from_si(si);
    let inside = |si: f64, (low, high): (f64, f64)| (low..=high).contains(&inches(si));
    let fits = match (elsewhere, window(part.kind(), which)) {
        // Beside another measurement of the part, the one outside the window is the wrong one.
        (Some(known), window) if near(known, read_as.si) => {
            window.is_none_or(|w| !inside(value.si, w) || inside(known, w))
        }
        (_, Some(window)) => {
            !inside(value.si, window) && inside(read_as.si, window) && usual(part.kind(), which, read_as.si)
        }
        _ => false,
    };
    if !fits {
        return None;
    }
    let detail = Detail::Length { value: Amount::new(value.si, unit), read_as, part: part.tag() };
    let mut fault = measured_fault(shelf, m, Rule::InchMm, detail);
    fault.repair = Some(Repair::Set { field: fault.place.field.clone(), to: vec![read_as] });
    Some(fault)
}

/// A converted length must not only be possible but like the others of its kind.
fn usual(kind: Option<PartKind>, which: PartDimension, si: f64) -> bool {
    let inches = Unit::INCH.from_si(si);
    match (kind, which) {
        (Some(PartKind::Filter), PartDimension::OutsideDiameter) => (5.0..=17.0).contains(&inches),
        (Some(PartKind::Filter), PartDimension::Height) => (1.4..=6.0).contains(&inches),
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_read_as_a_fraction_only_where_they_can_be_one() {
        assert_eq!(digits_as_fraction("1.18"), Some(1.125));
        assert_eq!(digits_as_fraction("2.1516"), Some(2.9375));
        assert_eq!(digits_as_fraction("3.116"), Some(3.0625));
        for plain in ["0.95", "1.85", "2.5", "3.0625", "1.00", "0.875"] {
            assert_eq!(digits_as_fraction(plain), None, "{plain}");
        }
    }

    #[test]
    fn an_improper_fraction_has_lost_its_dash_only_if_it_splits() {
        assert_eq!(split_improper("11/8"), Some(1.125));
        assert_eq!(split_improper("25/8"), Some(2.625));
        assert_eq!(split_improper("115/16\""), Some(1.9375));
        assert_eq!(split_improper("9/8"), None);
        assert_eq!(split_improper("15/16"), None);
        assert_eq!(split_improper("1-1/8"), None);
    }

    #[test]
    fn a_note_holds_a_fraction_in_any_spelling() {
        assert!(noted(Some("pleats 1-1/8 deep by the rule"), 1.125).is_some());
        assert!(noted(Some("pleats 1 1/8 deep"), 1.125).is_some());
        assert!(noted(Some("pleats 1-1/4 deep"), 1.125).is_none());
    }
}
