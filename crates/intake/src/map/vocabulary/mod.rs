//! The spellings of every field, by the kind of table in which they mean it, in the languages of the trade's old books:
//! mostly English, with the German, French and Spanish words for the plain things.
//!
//! Common practice, no source. A word may be shortened to three letters or more (`temp`, `baro`, `press`); order of
//! words and small slips are forgiven by the score in `columns.rs`, so only truly different spellings stand here. The
//! first of a field is its own name.

mod others;
mod parts;
mod runs;

use super::field::Field;
use super::group::Group;
use airshelf_catalog::{PartDimension as D, PartKind};
use std::collections::HashSet;
use std::sync::LazyLock;

/// One way to write a field's name.
pub(crate) struct Spelling {
    pub text: &'static str,
    pub words: Vec<&'static str>,
}

/// Fields with their spellings.
pub(crate) type Vocabulary = Vec<(Field, Vec<Spelling>)>;

/// Takes lists of spellings apart, once for all headers.
pub(crate) fn vocabulary(list: &[(Field, &'static str)]) -> Vocabulary {
    let spelling = |text: &'static str| Spelling { text, words: text.split(' ').collect() };
    list.iter().map(|(field, spellings)| (*field, spellings.split("; ").map(spelling).collect())).collect()
}

static RUNS: LazyLock<Vocabulary> = LazyLock::new(|| vocabulary(runs::RUNS));
static PARTS: LazyLock<Vocabulary> = LazyLock::new(|| vocabulary(parts::PARTS));
static GUESSES: LazyLock<Vocabulary> = LazyLock::new(|| vocabulary(others::GUESSES));
static RATINGS: LazyLock<Vocabulary> = LazyLock::new(|| vocabulary(others::RATINGS));

/// Words that name a field only beside a unit.
pub(crate) static WITH_UNIT: LazyLock<Vocabulary> = LazyLock::new(|| vocabulary(others::WITH_UNIT));

static WORDS: LazyLock<HashSet<&'static str>> = LazyLock::new(|| {
    let groups = [&RUNS, &PARTS, &GUESSES, &RATINGS, &WITH_UNIT].into_iter().flat_map(|v| v.iter());
    let spelled = groups.flat_map(|(_, spellings)| spellings).flat_map(|s| s.words.iter().copied());
    let kinds = KIND_WORDS.iter().flat_map(|k| k.1.iter().copied());
    let dimensions = DIMENSION_WORDS.iter().flat_map(|d| d.1.iter().copied());
    let small = [FILLERS, NAMING_WORDS, SMALL_WORDS, WHOLE_WORDS].into_iter().flatten().copied();
    spelled.chain(kinds).chain(dimensions).chain(small).chain(super::header::BROUGHT).collect()
});

/// Whether some header uses a word, whole or shortened to three letters or more.
pub(crate) fn is_word(word: &str) -> bool {
    WORDS.contains(word) || word.len() >= 3 && WORDS.iter().any(|own| own.starts_with(word))
}

/// The spellings that a kind of table uses.
pub(crate) fn spellings(group: Group) -> &'static Vocabulary {
    match group {
        Group::Runs => &RUNS,
        Group::Parts => &PARTS,
        Group::Guesses => &GUESSES,
        Group::Ratings => &RATINGS,
    }
}

/// Words for kinds of parts within a longer header.
pub(crate) const KIND_WORDS: &[(PartKind, &[&str])] = &[
    (PartKind::Filter, &["filter", "element", "cleaner", "cartridge"]),
    (PartKind::Lid, &["lid", "top", "cover", "faceplate"]),
    (PartKind::Base, &["base", "pan", "bottom", "backplate"]),
    (PartKind::Spacer, &["spacer", "riser", "ring", "packer", "collar"]),
    (PartKind::VelocityStack, &["stack", "horn", "trumpet"]),
    (PartKind::Stud, &["stud", "bolt"]),
];

/// Words for dimensions within a longer header.
pub(crate) const DIMENSION_WORDS: &[(D, &[&str])] = &[
    (D::PleatFreeHeight, &["free"]),
    (D::PleatDepth, &["depth", "deep"]),
    (D::Height, &["height", "high", "tall", "thickness", "thick", "ht", "hgt"]),
    (D::OutsideDiameter, &["od", "diameter", "dia", "outside"]),
    (D::InsideDiameter, &["id", "inside"]),
    (D::StudLength, &["length", "long"]),
    (D::NeckBore, &["bore", "neck"]),
    (D::Drop, &["drop"]),
];

/// Words that say nothing about a field.
pub(crate) const FILLERS: &[&str] = &[
    "the", "of", "a", "an", "value", "in", "our", "and", "is", "its", "it", "then", "now", "that", "this",
    "my", "your", "their", "we", "there", "here", "just", "exactly",
];

/// Words beside the kind of a part that say that its name stands below.
pub(crate) const NAMING_WORDS: &[&str] =
    &["tag", "tags", "no", "nr", "number", "used", "fitted", "on", "name", "code", "which", "part", "label"];

/// Words that name a field when nothing else stands with them, and nothing among others: `on` is a date, `nut on` none.
pub(crate) const SMALL_WORDS: &[&str] = &[
    "on", "at", "in", "of", "to", "from", "for", "by", "as", "with", "than", "not", "was", "is", "it",
    "what", "when", "who", "which", "how", "whose", "de", "a", "à", "von", "bis", "bei", "desde", "hasta",
    "no more", "and", "also",
];

/// Words of their own that only look like the beginning of another: `not` is no `note`, `try` no `tray`.
pub(crate) const WHOLE_WORDS: &[&str] = &[
    "not", "the", "for", "was", "has", "had", "how", "why", "who", "our", "its", "one", "two", "per", "out",
    "off", "try", "now", "did", "can", "all", "any", "and", "are", "say", "says", "low", "car", "sat", "put",
    "top",
];
