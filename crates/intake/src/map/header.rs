//! Takes a header apart: the words that name a field, and the unit.

use super::pieces::{before_remark, underscored};
use airshelf_units::{Dimension, Unit};

/// One header cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// Column, from 0.
    pub column: usize,
    /// The text as spelled in the file.
    pub text: String,
    /// The words that name the field, in lower case, without the unit.
    pub words: Vec<String>,
    /// The unit.
    pub unit: Option<Unit>,
    /// What stands where a unit should, and is none known here.
    pub unknown: Option<String>,
    /// Whether the header, or the fluid it names, makes an inch one of mercury rather than water.
    pub mercury: bool,
    /// Whether it names water.
    pub water: bool,
}

/// Splits a text into lower-case words; marks separate, `#` and `%` are words.
pub(crate) fn words_of(text: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut word = String::new();
    let mut last = ' ';
    let mut initials = false;
    for c in text.chars() {
        // `R.H.` and `O.D.` are words of initials.
        if c == '.'
            && word.chars().count() <= 2
            && last.is_alphabetic()
            && (word.chars().count() == 1 || initials)
        {
            initials = true;
            last = c;
            continue;
        }
        initials &= last == '.' && c.is_alphabetic();
        let camel = c.is_uppercase() && last.is_lowercase() && word.len() > 2;
        if camel || c == '#' || !c.is_alphanumeric() {
            if !word.is_empty() {
                out.push(std::mem::take(&mut word));
            }
            if c == '#' || c == '%' {
                out.push(c.to_string());
            } else if camel {
                word.extend(c.to_lowercase());
            }
        } else {
            word.extend(c.to_lowercase());
        }
        last = c;
    }
    if !word.is_empty() {
        out.push(word);
    }
    out
}

/// Dimensions that a header's unit can have.
const MEASURED: [Dimension; 8] = [
    Dimension::Length,
    Dimension::Area,
    Dimension::Pressure,
    Dimension::Flow,
    Dimension::Temperature,
    Dimension::Ratio,
    Dimension::Mass,
    Dimension::Count,
];

/// Words that are a unit's spelling somewhere but a name in a header.
const NO_UNITS: [&str; 19] = [
    "foot", "feet", "x", "off", "each", "ea", "day", "days", "ratio", "fraction", "pleats", "pleat",
    "pieces", "piece", "rh", "r", "1", "k", "pc",
];

/// Words for a flow that was brought to another pressure.
pub(crate) const BROUGHT: [&str; 6] = ["net", "corrected", "scaled", "brought", "converted", "calculated"];

/// Reads a unit as a header writes it; a whole bracket may be anything, a trailing word may not be a usual word.
pub(super) fn unit_of(text: &str, bracketed: bool) -> Option<Unit> {
    let text = text.trim().trim_end_matches(['.', ':']).trim();
    if text.is_empty() || text.chars().all(|c| c.is_ascii_digit()) {
        return None;
    }
    if !bracketed && NO_UNITS.contains(&text.to_lowercase().replace('.', "").as_str()) {
        return None;
    }
    let found = Unit::named(text, None).ok().filter(|u| MEASURED.contains(&u.dimension()));
    // `No. of pleats` counts, but is a name.
    let found = found.filter(|u| bracketed || u.dimension() != Dimension::Count);
    // A single small letter is no unit: `c` and `f` head columns of their own.
    found.filter(|_| {
        bracketed || text.chars().count() > 1 || matches!(text, "F" | "C" | "%" | "\"" | "″" | "g")
    })
}

/// Reads a cell that is nothing but a unit, such as a line of units below the headers has; with or without brackets.
pub(crate) fn unit_cell(text: &str) -> Option<Unit> {
    let inner = text.trim().trim_start_matches(['(', '[']).trim_end_matches([')', ']']);
    unit_of(inner, true).filter(|u| u.dimension() != Dimension::Count)
}

/// What is longer, in bytes, is prose that names no column.
const LONGEST: usize = 400;

impl Header {
    /// Takes a header cell apart.
    ///
    /// ```
    /// use airshelf_intake::map::Header;
    /// use airshelf_units::Unit;
    /// let held = Header::of(3, "Press. held (in H2O)");
    /// assert_eq!(held.words, ["press", "held"]);
    /// assert_eq!(held.unit, Some(Unit::IN_H2O));
    /// assert_eq!(Header::of(0, "Flow as read CFM").words, ["flow", "as", "read"]);
    /// ```
    pub fn of(column: usize, text: &str) -> Header {
        if text.len() > LONGEST {
            let text = text.to_owned();
            let (words, unit, unknown) = (Vec::new(), None, None);
            return Header { column, text, words, unit, unknown, mercury: false, water: false };
        }
        let (mut name, mut unit) = split(text);
        if unit.is_none()
            && let Some((joined, inner)) = split_within(text)
        {
            let words = words_of(&joined);
            let (mercury, water) = fluids(text);
            let (text, unit) = (text.to_owned(), Some(inner));
            return Header { column, text, words, unit, unknown: None, mercury, water };
        }
        if unit.is_none()
            && let Some((joined, inner)) = before_remark(text)
        {
            let words = words_of(&joined);
            let (mercury, water) = fluids(text);
            let (text, unit) = (text.to_owned(), Some(inner));
            return Header { column, text, words, unit, unknown: None, mercury, water };
        }
        let unknown = unknown_unit(text).filter(|_| unit.is_none()).map(|(own, unknown)| {
            name = own;
            unknown.to_owned()
        });
        // `Flow at 25 inH2O`: the pressure is what the flow stands at, not the unit of the numbers.
        if unit.is_some_and(|u| u.dimension() == Dimension::Pressure)
            && let Some(head) = before_number(name)
        {
            let (own, of_flow) = split(head);
            unit = of_flow;
            let brought = words_of(own).iter().any(|w| BROUGHT.contains(&w.as_str()));
            name = if brought { name } else { own };
        }
        let (mercury, water) = fluids(text);
        let mut words = words_of(name);
        while unit.is_some() && words.len() > 1 && words.last().is_some_and(|w| w == "in") {
            words.pop();
        }
        // `of m³/h` is what a meter can show, beside what it showed; `of water` belongs to a unit.
        let of_flow = unit.is_some_and(|u| u.dimension() == Dimension::Flow);
        if words.is_empty() && of_flow && text.trim_start().to_lowercase().starts_with("of ") {
            words.push("of".to_owned());
        }
        Header { column, text: text.to_owned(), words, unit, unknown, mercury, water }
    }

    /// The unit as the header spells it, where it is none in which the field could stand.
    pub(crate) fn unclear_unit(&self, dimension: Dimension) -> Option<String> {
        if dimension == Dimension::Count {
            return None;
        }
        let other = |unit: &Unit| !matches!(unit.dimension(), Dimension::Count | Dimension::Ratio);
        self.unknown.clone().or(self.unit.filter(other).map(|unit| unit.symbol().to_owned()))
    }

    /// The unit in which a field of that dimension stands under this header; an inch or a millimeter under a pressure
    /// is one of water or mercury.
    pub(crate) fn unit_for(&self, dimension: Dimension, of_mercury: bool) -> Option<Unit> {
        let unit = self.unit?;
        if unit.dimension() == dimension {
            return Some(unit);
        }
        let mercury = (self.mercury || of_mercury) && !self.water;
        match (dimension, unit) {
            (Dimension::Pressure, Unit::INCH) => Some(if mercury { Unit::IN_HG } else { Unit::IN_H2O }),
            (Dimension::Pressure, Unit::MM) => Some(if mercury { Unit::MM_HG } else { Unit::MM_H2O }),
            (Dimension::Pressure, Unit::CM) => Some(Unit::CM_H2O),
            _ => None,
        }
    }
}

/// What stands before `at 25`, where a text ends so.
fn before_number(text: &str) -> Option<&str> {
    let (head, number) = text.trim().rsplit_once(|c: char| c.is_whitespace() || c == '@')?;
    let number = number.trim();
    let numeric = number.starts_with(|c: char| c.is_ascii_digit())
        && number.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
    let head = head.trim_end();
    let at = [" at", " to", "@"].iter().find_map(|mark| head.strip_suffix(mark));
    let head = at.or_else(|| text.contains('@').then_some(head))?.trim();
    (numeric && !head.is_empty()).then_some(head)
}

/// Whether a header names mercury or what is read in it, and whether it names water.
fn fluids(text: &str) -> (bool, bool) {
    let all = words_of(text);
    let has = |words: &[&str]| all.iter().any(|w| words.contains(&w.as_str()));
    (has(&["mercury", "hg", "baro", "barometer", "barometric"]), has(&["water", "h2o", "wc", "wg"]))
}

/// A unit within a header: `Says, L/s lost`, `Set (kPa) wanted`; what stands around it is the name.
fn split_within(text: &str) -> Option<(String, Unit)> {
    let text = text.trim();
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some(from) = text.find(open)
            && let Some(length) = text[from..].find(close)
        {
            let inner = text[from + open.len_utf8()..from + length].trim();
            let after = text[from + length + close.len_utf8()..].trim();
            // `Guess (L/s lost)`, `Loss (in CFM)`: a unit among words.
            let found = match unit_of(inner, true) {
                Some(unit) => Some(("", unit)),
                None => leading(inner).or_else(|| match split(inner) {
                    (name, Some(unit)) => Some((name, unit)),
                    _ => None,
                }),
            };
            if let Some((words, unit)) = found.filter(|f| f.1.dimension() != Dimension::Count) {
                return Some((format!("{} {words} {after}", text[..from].trim()), unit));
            }
        }
    }
    [", ", ": ", " - ", " – "].into_iter().find_map(|mark| {
        let (name, tail) = text.split_once(mark)?;
        let (rest, unit) = leading(tail.trim())?;
        Some((format!("{name} {rest}"), unit))
    })
}

/// A unit that a text begins with: `inH2O held`, `mm of water read`, `°C in the shop`.
fn leading(text: &str) -> Option<(&str, Unit)> {
    let starts: Vec<usize> = text.match_indices(' ').map(|(at, _)| at).take(4).collect();
    starts.iter().rev().find_map(|&at| {
        let head = text[..at].trim();
        let unit = unit_of(head, false)?;
        let several = head.contains(' ');
        let fits = match unit.dimension() {
            Dimension::Flow => true,
            // `Atm. pressure` is a name.
            Dimension::Pressure => several || at > 3 && !head.starts_with(['a', 'A']),
            Dimension::Temperature => head.starts_with(['°', 'º']) || several,
            Dimension::Length => matches!(head.to_lowercase().as_str(), "mm" | "cm" | "inch" | "inches"),
            _ => false,
        };
        fits.then(|| (text[at..].trim(), unit))
    })
}

/// Flows of air brought to some standard state; of which one the unit does not say.
const STANDARD: [&str; 7] = ["scfm", "slpm", "slm", "sccm", "nlpm", "nm3/h", "sm3/h"];

/// Words in brackets that say how something was measured, and are no unit.
const REMARKS: &str = "about approx approximately average averaged avg bench by calc calculated caliper calipers claimed \
    clean each est estimate estimated eye gemessen hand inner largest last lowest max maximum mean means measured \
    median mesuré min minimum mittel mittelwert naked new nominal normal nude old only outer overall rated \
    rounded rough roughly ruler seller shown smallest stated steady steel typ typical wide widest worst";

/// Something in a time, whatever it is: `kg/h`.
pub(crate) fn is_rate(text: &str) -> bool {
    let time = ["h", "hr", "hour", "min", "s", "sec", "m"];
    text.split_once('/').is_some_and(|(of, per)| !of.trim().is_empty() && time.contains(&per.trim()))
}

/// What stands where a unit should and is none: `flow (lb/min)`, `Flow, gpm`, `Flow kg/h`; with the name before it.
fn unknown_unit(text: &str) -> Option<(&str, &str)> {
    let text = text.trim().trim_end_matches(':').trim();
    let bracketed = [('(', ')'), ('[', ']'), ('{', '}')].into_iter().find_map(|(open, close)| {
        let (name, inner) = text.strip_suffix(close)?.rsplit_once(open)?;
        Some((name.trim(), inner.trim()))
    });
    let behind = || {
        let (name, tail) = text.rsplit_once([',', ';', ':'])?;
        Some((name.trim(), tail.trim())).filter(|(_, tail)| !tail.contains(char::is_whitespace))
    };
    let last = || text.rsplit_once(' ').filter(|(_, word)| word.contains('/'));
    let (name, unit) = bracketed.or_else(behind).or_else(last)?;
    let words = words_of(unit);
    let lower = unit.to_lowercase();
    let remark = |word: &String| {
        word.chars().all(|c| c.is_ascii_digit())
            || REMARKS.split(' ').any(|own| own == word)
            || Unit::named(word, None).is_ok_and(|u| u.dimension() != Dimension::Mass && word.len() > 1)
            || super::vocabulary::is_word(word)
    };
    let none =
        STANDARD.contains(&lower.as_str()) || is_rate(&lower) || words.iter().any(|word| !remark(word));
    let short = unit.chars().count() <= 16 && words.len() <= 3;
    (!name.is_empty() && short && unit.contains(char::is_alphabetic) && none).then_some((name, unit))
}

pub(super) fn split(text: &str) -> (&str, Option<Unit>) {
    let text = text.trim().trim_end_matches(':').trim();
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        if let (Some(from), true) = (text.rfind(open), text.ends_with(close)) {
            let inner = &text[from + open.len_utf8()..text.len() - close.len_utf8()];
            if let Some(unit) = unit_of(inner, true) {
                return (text[..from].trim(), Some(unit));
            }
        }
    }
    if let Some(found) = underscored(text) {
        return (found.0, Some(found.1));
    }
    for mark in [", ", ",", " / ", " - ", ": ", "; ", "_"] {
        if let Some((name, unit)) = text.rsplit_once(mark)
            && let Some(unit) = unit_of(unit, true)
        {
            return (name.trim(), Some(unit));
        }
    }
    // A whole header may be a unit: `CFM`, `in. H2O`.
    if let Some(unit) = unit_of(text, false)
        && !matches!(text, "g" | "\"")
    {
        return ("", Some(unit));
    }
    let starts: Vec<usize> =
        text.char_indices().filter(|&(at, c)| at > 0 && c.is_whitespace()).map(|(at, _)| at).collect();
    for &at in starts.iter().rev().take(4).rev() {
        // A unit may end with such a word, and a name too: `on the gauge inH2O`.
        let first = text[at..].split_whitespace().next().unwrap_or("").to_lowercase();
        if matches!(first.as_str(), "gauge" | "gage" | "column" | "of") {
            continue;
        }
        // `Came in`, `put in` are dates and remarks, no inches.
        let verb = [
            "came", "put", "brought", "taken", "in", "fitted", "since", "is", "was", "it", "were", "handed",
            "turned", "date", "day", "sent", "moved", "went", "got", "comes", "coming", "goes", "finished",
            "placed", "ran",
        ];
        let after_verb = text[..at]
            .split_whitespace()
            .next_back()
            .is_some_and(|w| verb.contains(&w.to_lowercase().as_str()));
        if let Some(unit) = unit_of(&text[at..], false)
            .filter(|_| !(after_verb && text[at..].trim().eq_ignore_ascii_case("in")))
        {
            return (text[..at].trim(), Some(unit));
        }
    }
    match leading(text) {
        Some((name, unit)) => (name, Some(unit)),
        None => (text, None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_stand_in_brackets_after_commas_or_last() {
        for (text, words, unit) in [
            ("set pressure (inH2O)", "set pressure", Some(Unit::IN_H2O)),
            ("Range, CFM", "range", Some(Unit::CFM)),
            ("Air F", "air", Some(Unit::FAHRENHEIT)),
            ("Air, °F", "air", Some(Unit::FAHRENHEIT)),
            ("Baro inHg", "baro", Some(Unit::IN_HG)),
            ("Flow [L/s]", "flow", Some(Unit::L_S)),
            ("Media, sq in", "media", Some(Unit::SQ_IN)),
            ("RH, %", "rh", Some(Unit::PERCENT)),
            ("CFM", "", Some(Unit::CFM)),
            ("Run no.", "run no", None),
            ("inH2O held", "held", Some(Unit::IN_H2O)),
            ("mbar set", "set", Some(Unit::MBAR)),
            ("CFM lost", "lost", Some(Unit::CFM)),
            ("Foot", "foot", None),
            ("Pleats", "pleats", None),
            ("Size, OD x high", "size od x high", None),
            ("flow in CFM", "flow", Some(Unit::CFM)),
            ("CFM at 25 inH2O", "", Some(Unit::CFM)),
            ("Flow @ 28 in H2O", "flow", None),
            ("Net at 25 inH2O", "net at 25", None),
            ("Held at, inH2O", "held at", Some(Unit::IN_H2O)),
            ("airTemperature_F", "air temperature", Some(Unit::FAHRENHEIT)),
            ("mm of water shown", "shown", Some(Unit::MM_H2O)),
            ("in. w.g. wanted", "wanted", Some(Unit::IN_H2O)),
            ("inches of mercury outside", "outside", Some(Unit::IN_HG)),
            ("°C in the shop", "in the shop", Some(Unit::CELSIUS)),
            ("mm tall", "tall", Some(Unit::MM)),
            ("Bets, CFM down", "bets down", Some(Unit::CFM)),
            ("Aim (kPa) of the night", "aim of the night", Some(Unit::KPA)),
            ("Atm. pressure", "atm pressure", None),
            ("q_top_l_s", "q top", Some(Unit::L_S)),
            ("air_m3_h", "air", Some(Unit::M3_H)),
            ("glass_mm_hg", "glass", Some(Unit::MM_HG)),
            ("neck_in", "neck", Some(Unit::INCH)),
            ("day_no_2", "day no 2", None),
            ("Datum CFM (from Tuesday)", "datum", Some(Unit::CFM)),
            ("Flow L/s (less leak)", "flow less leak", Some(Unit::L_S)),
            ("In since", "in since", None),
            ("F on top", "f on top", None),
        ] {
            let header = Header::of(0, text);
            assert_eq!((header.words.join(" ").as_str(), header.unit), (words, unit), "{text}");
        }
        // Prose of any length is looked at no further.
        let prose = "flow ".repeat(400_000);
        assert_eq!(Header::of(0, &prose).words, Vec::<String>::new());
        assert_eq!(Header::of(0, "Water, in.").unit_for(Dimension::Pressure, false), Some(Unit::IN_H2O));
    }
}
