//! How a number may have been misread: one digit, two exchanged, one too many, a slipped point.

use super::fault::Amount;
use airshelf_catalog::Quantity;

/// The number as written, in its own unit.
pub(crate) fn number(quantity: &Quantity) -> Option<f64> {
    Some(quantity.unit()?.from_si(quantity.si))
}

/// One unit of the last digit shown, in SI; nothing for a fraction or a value that nobody typed.
pub(crate) fn step_si(quantity: &Quantity) -> Option<f64> {
    let unit = quantity.unit()?;
    Some(step(quantity.raw()?, unit.from_si(quantity.si))? * unit.factor())
}

/// The power of ten by which the digits of `raw`, read as one whole number, exceed `value`.
fn step(raw: &str, value: f64) -> Option<f64> {
    let start = raw.find(|c: char| c.is_ascii_digit())?;
    let token: &str =
        raw[start..].split(|c: char| !(c.is_ascii_digit() || ".,'\u{a0}\u{202f}".contains(c))).next()?;
    if raw[start + token.len()..].starts_with('/') {
        return None;
    }
    let digits: String = token.chars().filter(char::is_ascii_digit).collect();
    let whole: f64 = digits.parse().ok()?;
    if whole == 0.0 || value == 0.0 {
        let decimals = token.rsplit_once(['.', ',']).map_or(0, |(_, d)| d.len());
        return Some(10f64.powi(-(decimals as i32)));
    }
    let power = libm::log10(whole / value.abs()).round();
    ((whole / value.abs() / libm::pow(10f64, power) - 1.0).abs() < 1e-6).then(|| libm::pow(10f64, -power))
}

/// Readings that one slip (or two digits next to each other) could have turned into `quantity`, nearest to `target_si` first; only those within
/// `tolerance` (relative) of it.
pub(crate) fn one_slip(quantity: &Quantity, target_si: f64, tolerance: f64) -> Option<Amount> {
    let unit = quantity.unit()?;
    let value = unit.from_si(quantity.si);
    let step = quantity.raw().and_then(|r| step(r, value)).unwrap_or(0.1);
    let digits = (value.abs() / step).round();
    if !(digits.is_finite() && digits < 1e12) {
        return None;
    }
    let digits = format!("{digits:.0}");
    let mut candidates = vec![value * 10.0, value / 10.0, value * 100.0, value / 100.0, -value];
    let mut neighbors = Vec::new();
    let mut add = |bytes: &[u8]| {
        if let Some(n) = std::str::from_utf8(bytes).ok().and_then(|s| s.parse::<f64>().ok()) {
            candidates.push(n * step);
        }
    };
    let bytes = digits.as_bytes();
    for at in 1..bytes.len() {
        let mut two = bytes.to_vec();
        for pair in 0..100_u8 {
            (two[at - 1], two[at]) = (b'0' + pair / 10, b'0' + pair % 10);
            neighbors
                .extend(std::str::from_utf8(&two).ok().and_then(|s| s.parse::<f64>().ok()).map(|n| n * step));
        }
    }
    for at in 0..bytes.len() {
        let mut one = bytes.to_vec();
        for digit in b'0'..=b'9' {
            one[at] = digit;
            add(&one);
        }
        let mut fewer = bytes.to_vec();
        fewer.remove(at);
        add(&fewer);
        if at > 0 {
            let mut swapped = bytes.to_vec();
            swapped.swap(at, at - 1);
            add(&swapped);
        }
    }
    let nearest = |candidates: Vec<f64>| {
        candidates
            .into_iter()
            .filter(|c| (c - value).abs() > step / 2.0)
            .map(|c| unit.to_si(c))
            .filter(|si| (si - target_si).abs() <= tolerance * target_si.abs())
            .min_by(|a, b| (a - target_si).abs().total_cmp(&(b - target_si).abs()))
    };
    // One digit explains more than two next to each other.
    nearest(candidates).or_else(|| nearest(neighbors)).map(|si| Amount::new(si, unit))
}

/// The middle value; the mean of the two middle ones of an even number.
pub(crate) fn median(mut values: Vec<f64>) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    Some(if values.len() % 2 == 1 { values[half] } else { (values[half - 1] + values[half]) / 2.0 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use airshelf_units::Unit;

    fn cfm(value: f64, raw: &str) -> Quantity {
        Quantity::read(Unit::CFM.to_si(value), raw, Unit::CFM)
    }

    #[test]
    fn misread_digits_are_found_beside_their_repeats() {
        let found = one_slip(&cfm(315.8, "315.8"), Unit::CFM.to_si(265.4), 0.01).unwrap();
        assert!((found.unit.from_si(found.si) - 265.8).abs() < 1e-9);
        assert_eq!(one_slip(&cfm(315.8, "315.8"), Unit::CFM.to_si(200.0), 0.001), None);
    }

    #[test]
    fn the_last_digit_shown_decides_the_step() {
        let step = |value, raw: &str| step_si(&cfm(value, raw)).map(|s| s / Unit::CFM.factor());
        assert!((step(277.5, "277.5").unwrap() - 0.1).abs() < 1e-12);
        assert!((step(277.5, "277.50").unwrap() - 0.01).abs() < 1e-12);
        assert!((step(1004.4, "1.004,4").unwrap() - 0.1).abs() < 1e-12);
        assert!((step(0.0, "0.0").unwrap() - 0.1).abs() < 1e-12);
        assert_eq!(step(1.125, "1-1/8"), None);
    }
}
