//! Finds a unit by any of its spellings.
//!
//! A spelling is reduced before it is compared: spaces, full stops and brackets go, long words become short
//! (`inches of water column` → `inh2o`), primes become `in` and `ft`, superscripts plain digits. Case is forgiven unless
//! it tells two units apart.

use std::collections::HashMap;
use std::sync::OnceLock;

use crate::{Dimension, Unit, UnitError};

impl Unit {
    /// Finds the unit that a person means by a name.
    ///
    /// Any spelling goes: `in. w.c.`, `"H2O`, `inches of water` are all `inH2O`, which means the conventional inch of
    /// water; `inH2O (4 °C)` and `inH2O@60F` select the others. With a dimension only its units are looked at, so that
    /// `F` is a temperature or a difference of temperatures as asked; without, a temperature.
    ///
    /// Errors: [`UnitError::Ambiguous`] where a shortened name leaves a choice (`in` or `"` as a pressure: inches of
    /// water or of mercury), [`UnitError::WrongDimension`], [`UnitError::Unknown`].
    ///
    /// ```
    /// use airshelf_units::{Dimension, Unit};
    /// assert_eq!(Unit::named("in. w.c.", Some(Dimension::Pressure)), Ok(Unit::IN_H2O));
    /// assert_eq!(Unit::named("cu ft/min", None), Ok(Unit::CFM));
    /// assert!(Unit::named("in", Some(Dimension::Pressure)).is_err());
    /// ```
    pub fn named(text: &str, dimension: Option<Dimension>) -> Result<Unit, UnitError> {
        let fits = || dimension.map(Dimension::symbols).unwrap_or_default();
        let written = reduced(text);
        let lower = written.to_lowercase();
        let spellings = Spellings::get();
        let found = spellings.exact.get(&written).or_else(|| spellings.any_case.get(&lower));
        let found = found.map(Vec::as_slice).unwrap_or_default();

        let chosen = match dimension {
            Some(wanted) => found.iter().find(|unit| unit.dimension() == wanted),
            // A bare F, C or K is a temperature; a difference has to be asked for or spelled out.
            None => found
                .iter()
                .find(|unit| unit.dimension() != Dimension::TemperatureDifference)
                .or(found.first()),
        };
        if let Some(unit) = chosen {
            return Ok(*unit);
        }
        for (what, shortened, candidates) in SHORTENED {
            if dimension.is_none_or(|wanted| wanted == *what) && shortened.contains(&lower.as_str()) {
                let candidates = candidates.iter().map(|unit| unit.symbol()).collect();
                return Err(UnitError::Ambiguous { text: text.trim().to_owned(), candidates });
            }
        }
        match (dimension, found.first()) {
            (Some(wanted), Some(unit)) => Err(UnitError::WrongDimension {
                text: text.trim().to_owned(),
                found: unit.dimension(),
                wanted,
                fits: fits(),
            }),
            _ => Err(UnitError::Unknown { text: text.trim().to_owned(), fits: fits() }),
        }
    }
}

/// Names that people shorten until they fit several units of one dimension.
static SHORTENED: &[(Dimension, &[&str], &[Unit])] = &[
    (Dimension::Pressure, &["in"], &[Unit::IN_H2O, Unit::IN_HG]),
    (Dimension::Pressure, &["mm"], &[Unit::MM_H2O, Unit::MM_HG]),
    (Dimension::Pressure, &["cm"], &[Unit::CM_H2O]),
    (Dimension::Pressure, &["oz"], &[Unit::OZ_IN2]),
    (Dimension::Pressure, &["lb"], &[Unit::PSI]),
    (Dimension::Pressure, &["h2o", "wc", "wg"], &[Unit::IN_H2O, Unit::MM_H2O, Unit::CM_H2O]),
    (Dimension::Pressure, &["hg"], &[Unit::IN_HG, Unit::MM_HG]),
    (Dimension::Temperature, &["deg"], &[Unit::FAHRENHEIT, Unit::CELSIUS]),
    (Dimension::TemperatureDifference, &["deg"], &[Unit::DELTA_F, Unit::DELTA_C]),
    (Dimension::Flow, &["l"], &[Unit::L_S, Unit::L_MIN]),
    (Dimension::Flow, &["m3"], &[Unit::M3_H, Unit::M3_MIN, Unit::M3_S]),
    (Dimension::Flow, &["ft3", "cuft", "cf"], &[Unit::CFM, Unit::CFS, Unit::CFH]),
    // A flow at standard conditions is a mass flow in disguise, and the conditions are not stated.
    (Dimension::Flow, &["scfm"], &[Unit::CFM, Unit::LB_MIN]),
    (Dimension::MassFlow, &["scfm"], &[Unit::LB_MIN, Unit::KG_H]),
    (Dimension::MassFlow, &["lb"], &[Unit::LB_MIN, Unit::LB_H]),
    (Dimension::MassFlow, &["kg"], &[Unit::KG_H, Unit::KG_S, Unit::KG_MIN]),
    (Dimension::MassFlow, &["g"], &[Unit::G_S]),
];

struct Spellings {
    exact: HashMap<String, Vec<Unit>>,
    any_case: HashMap<String, Vec<Unit>>,
}

impl Spellings {
    fn get() -> &'static Spellings {
        static SPELLINGS: OnceLock<Spellings> = OnceLock::new();
        SPELLINGS.get_or_init(|| {
            let mut made = Spellings { exact: HashMap::new(), any_case: HashMap::new() };
            for unit in Unit::all() {
                let row = unit.row();
                for spelling in [row.symbol, row.shown].into_iter().chain(row.spellings.iter().copied()) {
                    // "°F" is also how a difference is shown; the row's own spellings say what may be read.
                    let reduced = reduced(spelling);
                    if reduced.is_empty() {
                        continue;
                    }
                    // "mpa" is as likely a slip for millipascal: off by 10^9, so its case counts.
                    if unit != Unit::MPA {
                        add(&mut made.any_case, reduced.to_lowercase(), unit);
                    }
                    add(&mut made.exact, reduced, unit);
                }
            }
            // An exact match must not hide the same letters in another dimension.
            for (spelling, units) in &mut made.exact {
                for unit in made.any_case.get(&spelling.to_lowercase()).into_iter().flatten() {
                    if !units.contains(unit)
                        && units.iter().all(|known| known.dimension() != unit.dimension())
                    {
                        units.push(*unit);
                    }
                }
            }
            made
        })
    }
}

fn add(map: &mut HashMap<String, Vec<Unit>>, spelling: String, unit: Unit) {
    let units = map.entry(spelling).or_default();
    if !units.contains(&unit) {
        units.push(unit);
    }
}

/// Reduces a spelling to its comparable form, keeping case.
fn reduced(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut word = String::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        if c.is_ascii_alphabetic() {
            let camel = c.is_ascii_uppercase() && word.ends_with(|last: char| last.is_ascii_lowercase());
            if camel {
                end_word(&mut word, &mut out);
            }
            word.push(c);
            continue;
        }
        end_word(&mut word, &mut out);
        match c {
            '"' | '″' | '”' | '“' | '„' => out.push_str("in"),
            '\'' | '′' | '’' | '‘' => {
                if matches!(chars.peek(), Some('\'' | '′' | '’' | '‘')) {
                    chars.next();
                    out.push_str("in");
                } else {
                    out.push_str("ft");
                }
            }
            '°' | 'º' | '˚' => out.push_str("deg"),
            '℃' => out.push_str("degC"),
            '℉' => out.push_str("degF"),
            'µ' | 'μ' => out.push('u'),
            'Δ' | '∆' => out.push_str("delta"),
            '²' | '₂' => out.push('2'),
            '³' => out.push('3'),
            '∕' | '⁄' => out.push('/'),
            '.' | '_' | '^' | '·' | '⋅' | '*' | '(' | ')' | '[' | ']' | '@' | ',' | '-' | '−' | '–' => {
            }
            c if c.is_whitespace() || is_invisible(c) => {}
            c => out.push(c),
        }
    }
    end_word(&mut word, &mut out);
    out
}

pub(crate) fn is_invisible(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{feff}' | '\u{ad}')
}

fn end_word(word: &mut String, out: &mut String) {
    if word.is_empty() {
        return;
    }
    let short = match word.to_ascii_lowercase().as_str() {
        "inch" | "inches" => "in",
        "foot" | "feet" => "ft",
        "millimeter" | "millimeters" | "millimetre" | "millimetres" => "mm",
        "centimeter" | "centimeters" | "centimetre" | "centimetres" => "cm",
        "meter" | "meters" | "metre" | "metres" => "m",
        "liter" | "liters" | "litre" | "litres" => "L",
        "square" => "sq",
        "cubic" => "cu",
        "water" => "H2O",
        "mercury" => "Hg",
        "gram" | "grams" | "gramme" | "grammes" => "g",
        "kilogram" | "kilograms" => "kg",
        "pound" | "pounds" | "lbs" | "lbm" => "lb",
        "ounce" | "ounces" => "oz",
        "second" | "seconds" | "sec" | "secs" => "s",
        "minute" | "minutes" => "min",
        "hour" | "hours" | "hr" | "hrs" => "h",
        "degree" | "degrees" => "deg",
        "celsius" => "C",
        "fahrenheit" => "F",
        "kelvin" | "kelvins" => "K",
        "percent" => "%",
        "per" => "/",
        "of" | "column" | "gauge" | "gage" | "conventional" => "",
        _ => word.as_str(),
    };
    out.push_str(short);
    word.clear();
}
