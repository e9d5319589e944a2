//! The words people use for purposes, restraints, service states and directions, in one table each.
//!
//! Common practice, no source.

mod restraint;

use airshelf_catalog::{Direction, PartKind, PartStatus, Purpose, Refit, Service};
pub(crate) use restraint::{only_restraint, restraint, restraint_under};

/// Lower case, marks to spaces, single spaces.
pub(crate) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_alphanumeric() {
            out.extend(c.to_lowercase());
        } else if !out.is_empty() && !out.ends_with(' ') {
            out.push(' ');
        }
    }
    out.truncate(out.trim_end().len());
    out
}

/// Whether `phrase` stands in `text` as whole words; both plain.
pub(crate) fn says(text: &str, phrase: &str) -> bool {
    let mut from = 0;
    while let Some(found) = text[from..].find(phrase) {
        let (start, end) = (from + found, from + found + phrase.len());
        let before = start == 0 || text.as_bytes()[start - 1] == b' ';
        let after = end == text.len() || text.as_bytes()[end] == b' ';
        if before && after {
            return true;
        }
        from = start + phrase.chars().next().map_or(1, char::len_utf8);
    }
    false
}

fn term<T: Copy>(text: &str, terms: &[(T, &[&str])]) -> Option<T> {
    let text = plain(text);
    if text.is_empty() {
        return None;
    }
    if let Some(found) = terms.iter().find(|t| t.1.contains(&text.as_str())) {
        return Some(found.0);
    }
    terms.iter().find(|t| t.1.iter().any(|phrase| phrase.len() > 2 && says(&text, phrase))).map(|t| t.0)
}

const PURPOSES: &[(Purpose, &[&str])] = &[
    (
        Purpose::ClosedThrottleLeakage,
        &[
            "closed throttle leakage",
            "closed throttle",
            "throttle closed",
            "throttle leak",
            "throttle leakage",
            "throttle shut",
            "shut throttle",
            "blades closed",
            "butterflies closed",
            "throttles shut",
            "throttles closed",
            "shut throttles",
            "flap closed",
            "flaps closed",
            "flap shut",
            "flaps shut",
            "butterfly closed",
            "butterfly shut",
            "butterflies shut",
            "blades shut",
            "closed flap",
            "klappe zu",
            "klappe geschlossen",
            "drosselklappe zu",
            "papillon fermé",
            "papillon ferme",
            "mariposa cerrada",
            "closed blades",
            "plates closed",
            "plates shut",
            "valves shut",
            "valves closed",
            "idle leak",
            "past the blades",
            "past the butterflies",
            "shut butterflies",
            "closed butterflies",
        ],
    ),
    (
        Purpose::FixtureLeakage,
        &[
            "fixture leakage",
            "fixture leak",
            "leak",
            "leakage",
            "leak check",
            "leak test",
            "blanked",
            "blanked off",
            "blank off",
            "blank",
            "fixture blanked",
            "bench leakage",
            "adapter leak",
            "tightness",
            "tightness test",
            "leak down",
            "capped",
            "capped off",
            "plugged",
            "stopped off",
            "blanking plate",
            "blind plate",
            "shut off at the top",
            "dichtheit",
            "leckage",
            "undichtigkeit",
            "fuite",
            "fuites",
            "étanchéité",
            "fuga",
            "fugas",
            "estanqueidad",
            "plate over",
            "tape over the hole",
            "hole covered",
            "hole taped",
            "leaks",
            "dead plate",
            "blind flange",
            "covered over",
            "blank flange",
            "sealed",
        ],
    ),
    (
        Purpose::CheckPlate,
        &[
            "check plate",
            "plate",
            "cal plate",
            "calibration plate",
            "calibration",
            "test plate",
            "reference plate",
            "orifice plate",
            "standard orifice",
            "known orifice",
            "messblende",
            "prüfblende",
            "master plate",
            "plate check",
            "known hole",
            "reference orifice",
            "master orifice",
            "test hole",
            "gauge plate",
            "checking plate",
        ],
    ),
    (
        Purpose::Sweep,
        &["sweep", "pressure sweep", "swept", "curve", "step", "steps", "stepped", "ladder", "sweeping"],
    ),
    (
        Purpose::Baseline,
        &[
            "baseline",
            "base line",
            "baselines",
            "bare",
            "reference",
            "ref",
            "bl",
            "bare carb",
            "bare carburetor",
            "zero run",
            "open carb",
            "nothing on",
            "naked",
            "bare run",
            "baseline run",
            "start",
            "base run",
            "zero",
            "carb alone",
            "carburetor alone",
            "carb only",
            "without anything",
            "without filter",
            "no filter",
            "nothing fitted",
            "without cleaner",
            "without lid",
            "without the lid",
            "carby alone",
            "carby only",
            "on its own",
            "by itself",
            "just the carb",
            "just the carby",
            "without air cleaner",
            "no cleaner",
            "no air cleaner",
            "referenz",
            "referenzlauf",
            "nullmessung",
            "ohne filter",
            "ohne alles",
            "nackt",
            "référence",
            "à vide",
            "sans filtre",
            "sans rien",
            "referencia",
            "sin filtro",
            "desnudo",
            "no parts",
        ],
    ),
    (
        Purpose::Test,
        &[
            "test",
            "t",
            "tests",
            "run",
            "trial",
            "part",
            "assembly",
            "stack",
            "repeat",
            "filter",
            "with filter",
            "compare",
            "lid",
            "combo",
            "element",
            "try",
            "attempt",
            "experiment",
            "measurement",
            "measurements",
            "measuring",
            "pull",
            "pulls",
            "retest",
            "rerun",
            "comparison",
            "flow test",
            "flow run",
            "messung",
            "versuch",
            "messlauf",
            "essai",
            "mesure",
            "prueba",
            "medición",
            "medicion",
            "ensayo",
            "measured run",
            "cleaner",
            "cleaner on",
            "lid on",
            "parts on",
            "housing",
            "assembled",
            "complete",
            "fitted",
            "everything on",
        ],
    ),
];

/// Words that mean a purpose only when nothing else stands beside them: `flat base` is no baseline.
const WHOLE_PURPOSES: &[(Purpose, &[&str])] = &[
    (Purpose::ClosedThrottleLeakage, &["shut", "closed", "throttle", "throttles", "flap", "ctl"]),
    (Purpose::FixtureLeakage, &["tight", "blind", "leck", "cap", "lk"]),
    (Purpose::CheckPlate, &["orifice", "cal", "blende", "cp"]),
    (
        Purpose::Baseline,
        &[
            "base", "b", "carb", "open", "control", "leer", "nu", "empty", "nothing", "datum", "without",
            "stripped", "alone",
        ],
    ),
    (
        Purpose::Test,
        &[
            "flow",
            "measured",
            "measure",
            "reading",
            "m",
            "lauf",
            "parts",
            "full",
            "with parts",
            "go",
            "all on",
            "full house",
            "dressed",
            "covered",
            "closed up",
        ],
    ),
];

/// Reads a purpose.
pub(crate) fn purpose(text: &str) -> Option<Purpose> {
    let whole = plain(text);
    let whole = WHOLE_PURPOSES.iter().find(|p| p.1.contains(&whole.as_str())).map(|p| p.0);
    // `1. Messung`-like numbering and a repeat's number do not matter.
    whole.or_else(|| term(text, PURPOSES))
}

const SERVICES: &[(Service, &[&str])] = &[
    (
        Service::Dirty,
        &["not clean", "unwashed", "not washed", "needs a wash", "needs washing", "to be washed"],
    ),
    (
        Service::Washed,
        &[
            "washed",
            "cleaned",
            "clean",
            "rinsed",
            "wash",
            "after washing",
            "washed and dried",
            "blown out",
            "cleaned out",
            "laundered",
            "gewaschen",
            "gereinigt",
            "lavé",
            "lave",
            "nettoyé",
            "lavado",
            "limpio",
            "degreased",
            "hosed",
            "hosed out",
            "shampooed",
            "scrubbed",
            "soaped",
            "knocked out",
            "shaken out",
            "tapped out",
            "brushed out",
        ],
    ),
    (
        Service::Oiled,
        &[
            "oiled",
            "oil",
            "re oiled",
            "reoiled",
            "oil on",
            "freshly oiled",
            "wet",
            "wetted",
            "with oil",
            "o",
            "oily",
            "tacky",
            "sticky",
            "greased",
            "soaked",
            "geölt",
            "mit öl",
            "huilé",
            "huile",
            "aceitado",
        ],
    ),
    (
        Service::Dirty,
        &[
            "dirty",
            "used",
            "dusty",
            "worn",
            "loaded",
            "old",
            "as run",
            "clogged",
            "driven",
            "soiled",
            "d",
            "as found",
            "as removed",
            "grimy",
            "full of dust",
            "after a season",
            "one season",
            "muddy",
            "filthy",
            "grubby",
            "caked",
            "off the car",
            "off the truck",
            "as it came off",
            "off the engine",
            "schmutzig",
            "gebraucht",
            "alt",
            "sale",
            "usagé",
            "sucio",
            "usado",
        ],
    ),
    (
        Service::New,
        &[
            "new",
            "as new",
            "fresh",
            "unused",
            "as bought",
            "out of the box",
            "n",
            "mint",
            "brand new",
            "virgin",
            "out of box",
            "newly bought",
            "never used",
            "never run",
            "from the box",
            "just unwrapped",
            "unwrapped",
            "from the packet",
            "boxed",
            "first use",
            "unopened",
            "not used yet",
            "unworn",
            "neu",
            "neuf",
            "neuve",
            "nuevo",
            "dry new",
        ],
    ),
];

/// Reads the state of an element.
pub(crate) fn service(text: &str) -> Option<Service> {
    let found = term(text, SERVICES)?;
    if matches!(found, Service::Washed | Service::Oiled) {
        let words = plain(text);
        let dry =
            ["not oiled", "no oil", "without oil", "unoiled", "not re oiled", "oil off", "before oiling"];
        let dry = dry.iter().any(|w| says(&words, w));
        let oiled = ["oiled", "re oiled", "reoiled", "oil on"].iter().any(|w| says(&words, w));
        // `Clean and new` was not washed.
        if found == Service::Washed && !says(&words, "washed") && says(&words, "new") {
            return Some(Service::New);
        }
        // What was washed and then oiled is an oiled element.
        return match (found, oiled && !dry) {
            (Service::Washed, true) => Some(Service::Oiled),
            (Service::Oiled, _) if dry => None,
            _ => Some(found),
        };
    }
    Some(found)
}

/// Whether a text is a state of an element and nothing else.
pub(crate) fn only_service(text: &str) -> bool {
    let text = plain(text);
    SERVICES.iter().any(|s| s.1.contains(&text.as_str()))
}

/// Reads what a page says once of all its elements, such as `paper new, foam oiled`, for the element of that name.
///
/// ```
/// use airshelf_catalog::Service;
/// use airshelf_intake::stage::service_in;
/// assert_eq!(service_in("paper new, foam oiled", "M-foam 9.5x3.5"), Some(Service::Oiled));
/// assert_eq!(service_in("new", "PF-1"), Some(Service::New));
/// ```
pub fn service_in(note: &str, element: &str) -> Option<Service> {
    let element = plain(element);
    let pieces: Vec<&str> = note.split([',', ';']).map(str::trim).filter(|p| !p.is_empty()).collect();
    let of_it = pieces.iter().find(|piece| {
        let words = plain(piece);
        words.split(' ').any(|word| word.len() > 2 && service(word).is_none() && says(&element, word))
    });
    match (of_it, pieces.as_slice()) {
        (Some(piece), _) => service(piece),
        (None, [one]) => service(one),
        _ => None,
    }
}

const DIRECTIONS: &[(Direction, &[&str])] = &[
    (
        Direction::Exhaust,
        &[
            "exhaust",
            "out",
            "blow",
            "blowing",
            "reverse",
            "reversed",
            "exh",
            "pressure",
            "outward",
            "blown",
            "push",
            "backward",
            "outwards",
            "blown through",
            "blow through",
            "e",
            "pushing",
            "wrong way",
            "blasen",
            "soufflage",
            "escape",
            "backwards",
        ],
    ),
    (
        Direction::Intake,
        &[
            "intake",
            "in",
            "suck",
            "sucking",
            "suction",
            "normal",
            "int",
            "inlet",
            "induction",
            "vacuum",
            "inward",
            "forward",
            "pull",
            "drawing",
            "drawn",
            "sucked",
            "sucked in",
            "i",
            "inwards",
            "right way",
            "pulling",
            "saugen",
            "ansaugen",
            "aspiration",
            "admission",
            "admisión",
            "draw",
        ],
    ),
];

/// Reads which way the air went.
pub(crate) fn direction(text: &str) -> Option<Direction> {
    term(text, DIRECTIONS)
}

/// Reads whether an assembly was refitted.
pub(crate) fn refit(text: &str) -> Option<Refit> {
    term(
        text,
        &[
            (Refit::No, &["no", "n", "same", "same fitting", "left on", "0", "not touched", "false"]),
            (Refit::Yes, &["yes", "y", "refit", "refitted", "again", "x", "1", "new", "true", "taken off"]),
        ],
    )
}

const KINDS: &[(PartKind, &[&str])] = &[
    (
        PartKind::VelocityStack,
        &[
            "velocity stack",
            "stack",
            "horn",
            "trumpet",
            "radius",
            "bellmouth",
            "vel stack",
            "air horn",
            "funnel",
            "bell",
            "ansaugtrichter",
            "trichter",
            "cornet",
            "trompeta",
        ],
    ),
    (
        PartKind::Filter,
        &[
            "filter",
            "element",
            "air filter",
            "cleaner",
            "paper",
            "foam",
            "cartridge",
            "filter element",
            "gauze",
            "air cleaner",
            "pleated",
            "luftfilter",
            "filtereinsatz",
            "filtre",
            "filtro",
            "cotton",
        ],
    ),
    (PartKind::Lid, &["lid", "top", "cover", "cap", "top plate", "hat", "deckel", "couvercle", "tapa"]),
    (
        PartKind::Spacer,
        &["spacer", "riser", "ring", "spacer ring", "distanzring", "zwischenring", "entretoise", "separador"],
    ),
    (
        PartKind::Base,
        &[
            "base",
            "pan",
            "bottom",
            "base plate",
            "baseplate",
            "base pan",
            "tray",
            "drop base",
            "dropped base",
            "lower part",
            "lower plate",
            "lower",
            "floor",
            "dish",
            "bodenplatte",
            "grundplatte",
            "unterteil",
            "boden",
            "embase",
            "bottom plate",
        ],
    ),
    (
        PartKind::Stud,
        &[
            "stud",
            "bolt",
            "center stud",
            "rod",
            "centre stud",
            "threaded rod",
            "bolzen",
            "goujon",
            "espárrago",
        ],
    ),
    (
        PartKind::Carburetor,
        &[
            "carburetor",
            "carburettor",
            "carb",
            "throttle body",
            "two barrel",
            "four barrel",
            "item",
            "vergaser",
            "carburateur",
            "carburador",
        ],
    ),
    (PartKind::Other, &["other", "misc", "adapter", "gasket", "tool", "plate"]),
];

/// Reads a kind of part.
pub(crate) fn kind(text: &str) -> Option<PartKind> {
    term(text, KINDS)
}

/// Words for a kind of part that people put behind a name or leave out.
fn kind_words(kind: PartKind) -> &'static [&'static str] {
    match kind {
        PartKind::Base => &[" base", " pan", " bottom", " plate", " lower part", " part"],
        PartKind::Lid => &[" lid", " top", " cover"],
        PartKind::Spacer => &[" spacer", " riser", " ring"],
        PartKind::Filter => &[" filter", " element"],
        PartKind::Stud => &[" stud", " rod"],
        PartKind::VelocityStack => &[" stack", " velocity stack"],
        _ => &[],
    }
}

/// `flat base` among bases is called `flat`; a name that is only the kind stays.
pub(crate) fn own_name(kind: PartKind, text: &str) -> &str {
    let lower = text.to_ascii_lowercase();
    let cut = |word: &&str| lower.ends_with(*word).then(|| text[..text.len() - word.len()].trim());
    kind_words(kind).iter().find_map(cut).filter(|t| !t.is_empty()).unwrap_or(text)
}

const STATUSES: &[(PartStatus, &[&str])] = &[
    (PartStatus::Wanted, &["wanted", "want", "wish", "to buy"]),
    (PartStatus::Lent, &["lent", "lent out", "on loan", "borrowed by"]),
    (PartStatus::Sold, &["sold", "gone", "given away"]),
    (PartStatus::Scrapped, &["scrapped", "binned", "scrap", "thrown away", "broken up"]),
    (PartStatus::Owned, &["owned", "own", "have", "mine", "here", "on the shelf"]),
];

/// Reads whose a part is.
pub(crate) fn status(text: &str) -> Option<PartStatus> {
    term(text, STATUSES)
}

/// Whether a cell for a part says that there was none.
pub(crate) fn no_part(text: &str) -> bool {
    let trimmed = text.trim();
    if trimmed.chars().all(|c| "-–—−./".contains(c)) {
        return true;
    }
    let words = plain(trimmed);
    none_of_it(&words)
        || matches!(
            words.as_str(),
            "none"
                | "no"
                | "n a"
                | "na"
                | "nil"
                | "off"
                | "without"
                | "nothing"
                | "not used"
                | "not fitted"
                | "left off"
                | "taken off"
                | "no filter"
                | "no lid"
                | "no spacer"
                | "no base"
                | "bare"
                | "naked"
                | "empty"
                | "carb only"
                | "ohne"
                | "kein"
                | "keine"
                | "keiner"
                | "nackt"
                | "leer"
                | "sans"
                | "rien"
                | "nu"
                | "aucun"
                | "sin"
                | "nada"
                | "ninguno"
                | "w o"
        )
}

/// `none (bare)`, `without any filter`, `nothing on`: a word for none, and nothing but kinds of parts and small words.
fn none_of_it(words: &str) -> bool {
    const NONE: [&str; 7] = ["none", "no", "without", "nothing", "not", "w", "bare"];
    const SMALL: [&str; 24] = [
        "o",
        "any",
        "anything",
        "a",
        "an",
        "the",
        "on",
        "at",
        "all",
        "bare",
        "fitted",
        "used",
        "there",
        "here",
        "carb",
        "carburetor",
        "carburettor",
        "alone",
        "only",
        "whatever",
        "one",
        "it",
        "or",
        "and",
    ];
    let mut list = words.split(' ');
    list.next().is_some_and(|first| NONE.contains(&first))
        && list.all(|w| SMALL.contains(&w) || KINDS.iter().any(|k| k.1.contains(&w)))
}

/// Whether a cell of a table of results says that nothing was run there.
pub(crate) fn not_run(text: &str) -> bool {
    let trimmed = text.trim();
    trimmed.chars().all(|c| "-–—−./*·…?".contains(c))
        || matches!(
            plain(trimmed).as_str(),
            "n t"
                | "nt"
                | "not tested"
                | "not run"
                | "n r"
                | "nr"
                | "n a"
                | "na"
                | "x"
                | "none"
                | "untested"
                | "no run"
                | "nil"
                | "tbd"
                | "later"
                | "not measured"
                | "not taken"
                | "not done"
                | "not flowed"
                | "no reading"
                | "no data"
                | "skipped"
                | "missing"
                | "dnr"
                | "nm"
                | "n m"
                | "nicht gemessen"
                | "pas mesuré"
                | "no medido"
        )
}

/// Whether a cell repeats the cell above it.
pub(crate) fn ditto(text: &str) -> bool {
    let text = text.trim();
    if text.is_empty() || text.len() > 24 {
        return false;
    }
    let mut marks = 0;
    let mut dashes = 0;
    let mut commas = 0;
    for c in text.chars() {
        match c {
            '"' | '″' | '”' | '“' | '„' | '〃' | '\'' | '’' | '′' | '‟' | '«' | '»' => {
                marks += 1
            }
            '-' | '–' | '—' | '−' | ' ' | '.' | '_' | '~' => dashes += 1,
            ',' => commas += 1,
            '^' | '↑' => marks += 1,
            _ => {
                return matches!(
                    plain(text).as_str(),
                    "do" | "ditto"
                        | "same"
                        | "idem"
                        | "id"
                        | "as above"
                        | "same as above"
                        | "dto"
                        | "see above"
                        | "dito"
                        | "dtto"
                );
            }
        }
    }
    marks > 0 || (commas == 2 && dashes == 0)
}

/// Whether a text begins a line of summary rather than data.
pub(crate) fn summary(text: &str) -> bool {
    const WORDS: [&str; 26] = [
        "average",
        "averages",
        "avg",
        "ave",
        "mean",
        "means",
        "total",
        "totals",
        "sum",
        "median",
        "std",
        "stdev",
        "sd",
        "spread",
        "max",
        "min",
        "maximum",
        "minimum",
        "subtotal",
        "scatter",
        "mittel",
        "mittelwert",
        "durchschnitt",
        "summe",
        "moyenne",
        "promedio",
    ];
    let text = text.trim_start();
    let end = text.find(|c: char| !c.is_alphabetic()).unwrap_or(text.len());
    let first = &text[..end];
    // `spread bore` and `total seal` are names.
    let next = text[end..].trim_start().split(|c: char| !c.is_alphabetic()).next().unwrap_or("");
    let named = ["spread", "scatter", "sum", "total"].iter().any(|w| w.eq_ignore_ascii_case(first))
        && !next.is_empty()
        && !["of", "in", "between", "for", "all", "over", "from", "is", "the", "flow", "loss", "runs"]
            .iter()
            .any(|w| w.eq_ignore_ascii_case(next));
    // `Sum-2` is a tag, `mean of three` is not.
    !named && !text[end..].starts_with('-') && WORDS.iter().any(|w| w.eq_ignore_ascii_case(first))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn purposes_are_read_with_their_remarks() {
        assert_eq!(purpose("baseline ??"), Some(Purpose::Baseline));
        assert_eq!(purpose("Baseline, bare"), Some(Purpose::Baseline));
        assert_eq!(purpose("closed-throttle leakage"), Some(Purpose::ClosedThrottleLeakage));
        assert_eq!(purpose("Fixture leak"), Some(Purpose::FixtureLeakage));
        assert_eq!(purpose("banana"), None);
        for (text, purpose_of) in [
            ("measurement", Purpose::Test),
            ("pull 3", Purpose::Test),
            ("Messung", Purpose::Test),
            ("base", Purpose::Baseline),
            ("Référence", Purpose::Baseline),
            ("no air cleaner", Purpose::Baseline),
            ("throttles shut", Purpose::ClosedThrottleLeakage),
            ("flap closed", Purpose::ClosedThrottleLeakage),
            ("tightness", Purpose::FixtureLeakage),
            ("leak, capped", Purpose::FixtureLeakage),
        ] {
            assert_eq!(purpose(text), Some(purpose_of), "{text}");
        }
        assert_eq!(purpose("flat base"), None);
    }

    #[test]
    fn states_have_many_names() {
        assert_eq!(service("clean and new"), Some(Service::New));
        assert_eq!(service("washed & oiled"), Some(Service::Oiled));
        assert_eq!(service("washed, not oiled"), Some(Service::Washed));
        assert_eq!(service("just washed"), Some(Service::Washed));
        assert_eq!(service("geölt"), Some(Service::Oiled));
        assert_eq!(service("as new"), Some(Service::New));
        assert_eq!(service("re-oiled"), Some(Service::Oiled));
    }

    #[test]
    fn other_people_have_other_words() {
        for (text, meant) in [
            ("just the carb", Purpose::Baseline),
            ("without lid or filter", Purpose::Baseline),
            ("stripped", Purpose::Baseline),
            ("dressed", Purpose::Test),
            ("cleaner on", Purpose::Test),
            ("shut butterflies", Purpose::ClosedThrottleLeakage),
            ("past the blades", Purpose::ClosedThrottleLeakage),
            ("dead plate", Purpose::FixtureLeakage),
            ("hole taped", Purpose::FixtureLeakage),
            ("reference orifice", Purpose::CheckPlate),
            ("ladder", Purpose::Sweep),
        ] {
            assert_eq!(purpose(text), Some(meant), "{text}");
        }
        for (text, state) in [
            ("straight from the box", Service::New),
            ("never run", Service::New),
            ("needs a wash", Service::Dirty),
            ("not clean", Service::Dirty),
            ("off the truck", Service::Dirty),
            ("hosed out", Service::Washed),
            ("sticky", Service::Oiled),
            ("washed Monday", Service::Washed),
        ] {
            assert_eq!(service(text), Some(state), "{text}");
        }
        assert_eq!(direction("wrong way"), Some(Direction::Exhaust));
    }

    #[test]
    fn ditto_marks_of_every_shop() {
        for mark in ["\"", "do.", "Ditto", "″", "-\"-", "– ” –", "〃", ",,", "'' ''", "\"\"", "do"] {
            assert!(ditto(mark), "{mark}");
        }
        for other in ["", "-", "—", "5", "do it again, please", "LD-1", "11\"", "n/t"] {
            assert!(!ditto(other), "{other}");
        }
    }
}
