//! How well the words of a header name a field: whole, shortened, without vowels, among others, or with a slip.

use super::field::Field;
use super::header::Header;
use super::vocabulary::{FILLERS, NAMING_WORDS, SMALL_WORDS, Spelling, WHOLE_WORDS, WITH_UNIT};
use airshelf_catalog::PartDimension;
use airshelf_units::{Dimension, Unit};

/// Less than this is no match.
pub(crate) const LEAST: f64 = 0.62;

/// A word of a header stands for a word of a spelling: the same, or shortened to three letters or more.
fn same_word(written: &str, word: &str) -> Option<f64> {
    if written == word {
        return Some(1.0);
    }
    let singular = |w: &str| w.strip_suffix('s').is_some_and(|s| s.len() > 2 && s == word);
    if singular(written) {
        return Some(0.97);
    }
    if WHOLE_WORDS.contains(&written) {
        return None;
    }
    if written.len() >= 3 && word.starts_with(written) {
        return Some(0.94);
    }
    // Written without its vowels: `fltr`, `tmp`.
    let vowel = |c: char| "aeiou".contains(c);
    let bare = written.len() >= 3 && !written.contains(vowel) && written.starts_with(|c| word.starts_with(c));
    let consonants = if bare && word.contains(vowel) { word.replace(vowel, "") } else { return None };
    if consonants == written { Some(0.92) } else { consonants.starts_with(written).then_some(0.89) }
}

fn phrase(words: &[&str], joined: &str, spelling: &Spelling) -> f64 {
    let wanted = &spelling.words;
    if words.len() == wanted.len() {
        let matched =
            words.iter().zip(wanted).try_fold(1.0, |least: f64, (a, b)| Some(least.min(same_word(a, b)?)));
        if let Some(matched) = matched {
            return matched;
        }
    }
    // All words of the spelling, in any order, among others.
    if wanted.len() <= words.len() && !wanted.iter().all(|w| SMALL_WORDS.contains(w)) {
        let found = |want: &str| words.iter().filter_map(|w| same_word(w, want)).reduce(f64::max);
        let weakest = wanted.iter().try_fold(1.0, |least: f64, want| Some(least.min(found(want)?)));
        if let Some(weakest) = weakest {
            let share = wanted.len() as f64 / words.len() as f64;
            return weakest * if share >= 1.0 { 0.95 } else { 0.5 + 0.4 * share };
        }
    }
    let (shorter, longer) = (joined.len().min(spelling.text.len()), joined.len().max(spelling.text.len()));
    // A slip in a word of five letters makes another word as often (`plate`, `place`).
    if shorter < 4 || (longer - shorter) as f64 > 0.19 * longer as f64 {
        return 0.0;
    }
    let near = strsim::normalized_damerau_levenshtein(joined, spelling.text);
    if near > 0.81 { 0.9 * near } else { 0.0 }
}

/// How well a header names a field: 1 for its own name, 0 for no likeness.
pub(crate) fn score(header: &Header, field: Field, spellings: &[Spelling]) -> f64 {
    let all: Vec<&str> = header.words.iter().map(String::as_str).collect();
    let fewer: Vec<&str> = all.iter().copied().filter(|w| !FILLERS.contains(w)).collect();
    let (joined, joined_fewer) = (all.join(" "), fewer.join(" "));
    let mut best: f64 = 0.0;
    for spelling in spellings {
        best = best.max(phrase(&all, &joined, spelling));
        if fewer.len() < all.len() && !fewer.is_empty() {
            best = best.max(0.97 * phrase(&fewer, &joined_fewer, spelling));
        }
    }
    // `Base tag`, `which lid`: a part and a word for what names it.
    if field.layer().is_some() || field == Field::Stud {
        let bare: Vec<&str> = fewer.iter().copied().filter(|w| !NAMING_WORDS.contains(w)).collect();
        if bare.len() < fewer.len() && !bare.is_empty() {
            let joined = bare.join(" ");
            for spelling in spellings {
                best = best.max(0.95 * phrase(&bare, &joined, spelling));
            }
        }
    }
    // The first spelling is the field's own name; a tie with somebody else's name for it is its own.
    if best > 0.0 && spellings.first().is_none_or(|own| own.text != joined) {
        best -= 0.005;
    }
    match (header.unit, field.dimension()) {
        (None, _) => best,
        (Some(_), None) => best * 0.3,
        (Some(unit), Some(dimension)) => {
            if header.unit_for(dimension, field == Field::Barometer).is_none() {
                // Sizes and counts may stand under a header whose last word only looks like a unit.
                best * 0.2
            } else if all.is_empty() {
                unit_alone(unit, field)
            } else {
                best.max(with_unit(&all, &joined, field))
            }
        }
    }
}

/// How well words name a field that only the unit beside them tells: `Read, inH2O` is a pressure, `Read, CFM` a flow.
fn with_unit(words: &[&str], joined: &str, field: Field) -> f64 {
    let lists = WITH_UNIT.iter().filter(|w| w.0 == field);
    let best = lists.flat_map(|w| &w.1).map(|spelling| phrase(words, joined, spelling)).fold(0.0, f64::max);
    0.92 * best
}

/// A header that is only a unit.
fn unit_alone(unit: Unit, field: Field) -> f64 {
    let barometer = [Unit::IN_HG, Unit::HPA, Unit::MBAR, Unit::MM_HG].contains(&unit);
    match (unit.dimension(), field) {
        (Dimension::Flow, Field::Flow) => 0.95,
        (Dimension::Flow, Field::Guess) => 0.9,
        (Dimension::Temperature, Field::AirTemperature) => 0.95,
        (Dimension::Ratio, Field::Humidity) => 0.7,
        (Dimension::Pressure, Field::Barometer) if barometer => 0.9,
        (Dimension::Pressure, Field::RatedAt) => 0.9,
        (Dimension::Pressure, Field::ActualPressure) if !barometer => 0.8,
        (Dimension::Pressure, Field::SetPressure) if !barometer => 0.79,
        (Dimension::Area, Field::Of(PartDimension::MediaArea)) => 0.9,
        (Dimension::Mass, Field::Of(PartDimension::Mass)) => 0.9,
        _ => 0.0,
    }
}
