//! Kinds of parts and whose they are.

use super::{plain, term};
use crate::map::vocabulary::spellings;
use crate::map::{Field, Group};
use airshelf_catalog::{PartKind, PartStatus};

pub(super) const KINDS: &[(PartKind, &[&str])] = &[
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
    (
        PartKind::Lid,
        &[
            "lid",
            "top",
            "cover",
            "cap",
            "top plate",
            "hat",
            "faceplate",
            "face plate",
            "front plate",
            "front",
            "end plate",
            "bonnet",
            "deckel",
            "couvercle",
            "tapa",
        ],
    ),
    (
        PartKind::Spacer,
        &[
            "spacer",
            "riser",
            "ring",
            "spacer ring",
            "packer",
            "packing piece",
            "distance piece",
            "collar",
            "shim",
            "distanzring",
            "zwischenring",
            "entretoise",
            "separador",
        ],
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
            "backplate",
            "back plate",
            "rear plate",
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
            "through bolt",
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

/// Reads a kind that a title or a cell names in one or two words and nothing else, by any word that columns of runs have
/// for it: `ROOFS`, `packers`.
pub(crate) fn kind_named(text: &str) -> Option<PartKind> {
    let words = plain(text);
    let one = words.strip_suffix("es").filter(|w| w.ends_with('x') || w.ends_with("ch"));
    let one = one.or(words.strip_suffix('s')).filter(|w| w.len() > 2).unwrap_or(&words);
    let named = |own: &str| own == words || own == one;
    let listed = KINDS.iter().find(|k| k.1.iter().any(|own| named(own))).map(|k| k.0);
    let kind = |field: Field| match field {
        Field::Stud => Some(PartKind::Stud),
        Field::Item => Some(PartKind::Carburetor),
        field => field.layer(),
    };
    let columns = || {
        let all = spellings(Group::Runs).iter().filter(|s| s.1.iter().any(|spelling| named(spelling.text)));
        all.filter_map(|s| kind(s.0)).next()
    };
    listed.filter(|kind| *kind != PartKind::Other).or_else(columns)
}

/// Reads a kind of part of which only one word is known, the last first: `lifting block`.
pub(crate) fn kind_among(text: &str) -> Option<PartKind> {
    let words = plain(text);
    words.split(' ').rev().filter(|word| word.len() > 3).find_map(kind_named)
}

/// Words for a kind of part that people put behind a name or leave out.
fn kind_words(kind: PartKind) -> &'static [&'static str] {
    match kind {
        PartKind::Base => {
            &[" base", " pan", " bottom", " backplate", " back plate", " plate", " lower part", " part"]
        }
        PartKind::Lid => &[" lid", " top", " cover", " faceplate", " face plate", " hat"],
        PartKind::Spacer => &[" spacer", " riser", " ring", " packer", " collar"],
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
