//! What a line states once for all rows: restraint, state of the elements, readings each, the page itself.

use super::baseline::baseline_kind;
use super::figures::{parted, sentence_ends};
use super::{Page, PageValue};
use crate::map::Field;
use crate::stage::terms::{only_restraint, only_service, plain, restraint, says, service};
use airshelf_catalog::BaselineKind;
use airshelf_units::{Dimension, Unit};

/// `pressures in kPa`, `pressure kPa`: a unit behind the word, and no number.
fn pressure_unit(piece: &str) -> Option<Unit> {
    let lower = piece.to_lowercase();
    let words = ["pressures", "pressure", "depressions", "depression", "suction", "vacuum"];
    let behind = words.iter().find_map(|word| Some(lower.find(word)? + word.len()))?;
    let rest = piece.get(behind..)?.trim_start_matches([':', '=', ' ']);
    let rest = ["all in ", "in ", "are ", "is "]
        .iter()
        .fold(rest, |rest, word| rest.strip_prefix(word).unwrap_or(rest));
    Unit::named(rest.trim().trim_end_matches('.'), Some(Dimension::Pressure)).ok()
}

/// Takes in what the words of a line say at large.
pub(super) fn note_words(text: &str, row: u32, page: &mut Page) {
    let words = plain(text);
    page.legend.hear(text);
    if !page.words.is_empty() {
        page.words.push(' ');
    }
    page.words.push_str(&words);
    page.losses |=
        ["loss", "losses", "lost", "down from", "cost", "drop in flow"].iter().any(|w| says(&words, w));
    page.flows |= ["flow", "flows", "flowed"].iter().any(|w| says(&words, w));
    page.percent |= says(&words, "percent")
        || text.contains("loss %")
        || text.contains("% loss")
        || text.contains("in %")
        || text.contains("losses %");
    for token in text.split([' ', ',', ';', '|', '(', ')']).filter(|t| t.len() > 1) {
        if page.flow_unit.is_none()
            && let Ok(unit) = Unit::named(token.trim_end_matches(['.', ':']), Some(Dimension::Flow))
        {
            page.flow_unit = Some(unit);
        }
    }
    if page.pressure_unit.is_none() {
        page.pressure_unit = text.split([',', ';', '|', '(', ')']).find_map(pressure_unit);
    }
    let of_baselines = ["baselines", "baseline runs", "zero runs", "reference runs", "references"];
    if page.baseline_kind.is_none()
        && (of_baselines.iter().any(|w| says(&words, w)) || of_baseline(&words) && !text.contains('?'))
        && let kind @ (BaselineKind::Bare | BaselineKind::WithBase) = baseline_kind(&words)
    {
        page.baseline_kind = Some(kind);
    }
    if page.readings_each.is_none() {
        page.readings_each = readings_each(&words).map(|n| (n, row, text.to_owned()));
    }
    for part in sentences(text) {
        for piece in part.split(", ") {
            let piece_words = plain(piece);
            if explains(piece) {
                continue;
            }
            let all = ["everything", "all", "every", "each", "throughout", "always", "lids", "both"];
            let of_all = all.iter().any(|w| says(&piece_words, w)) && piece_words.split(' ').count() <= 6;
            if page.restraint.is_none()
                && (of_all || only_restraint(piece))
                && let Some(held) = restraint(piece)
            {
                page.restraint = Some((held, row, piece.trim().to_owned()));
            }
        }
        if page.service_note.is_none() {
            let pieces = part.split(", ").flat_map(states_apart).map(|p| p.trim().trim_end_matches('.'));
            let stated: Vec<&str> = pieces.filter(|p| !explains(p) && states_service(p)).collect();
            if !stated.is_empty() {
                page.service_note = Some((stated.join(", "), row));
            }
        }
    }
    if page.get(Field::Session).is_none()
        && let Some(name) = page_number(text)
    {
        page.put(PageValue {
            field: Field::Session,
            row: Some(row),
            raw: name.clone(),
            quantity: None,
            text: Some(name),
            assumed: false,
        });
    }
}

/// `bolt = the stud through it all` says what a word means, and nothing of how anything was held.
fn explains(piece: &str) -> bool {
    piece.split_once('=').is_some_and(|(word, _)| word.split_whitespace().count() <= 3)
}

/// Whether words say of the baseline what it consists of, right beside it: `baseline bare`, `bare baseline`.
fn of_baseline(words: &str) -> bool {
    const SMALL: [&str; 11] =
        ["is", "was", "the", "run", "taken", "all", "always", "means", "with", "of", "a"];
    let list: Vec<&str> = words.split(' ').filter(|w| !SMALL.contains(w)).collect();
    list.windows(2).any(|pair| {
        let beside = if pair[0] == "baseline" { pair[1] } else { pair[0] };
        pair.contains(&"baseline") && matches!(beside, "bare" | "naked" | "base")
    })
}

/// The sentences of a line.
fn sentences(text: &str) -> Vec<&str> {
    let mut out = Vec::new();
    let mut from = 0;
    for (at, c) in text.char_indices() {
        let ends = match c {
            ';' | '|' | '·' | '•' | '∙' | '/' if c != '/' || parted(text, at, c) => true,
            '-' | '–' | '—' => parted(text, at, c),
            // What a page of another encoding had for such a mark.
            '\u{fffd}' => parted(text, at, c),
            '.' => sentence_ends(text, at),
            _ => false,
        };
        if ends {
            out.push(text[from..at].trim());
            from = at + c.len_utf8();
        }
    }
    out.push(text[from..].trim());
    out
}

/// `paper unused and foam oiled` are two states.
fn states_apart(piece: &str) -> Vec<&str> {
    let both: Vec<&str> = piece.split(" and ").collect();
    if both.len() > 1 && both.iter().all(|one| states_service(one)) { both } else { vec![piece] }
}

/// `paper new`, `all elements as new`: a state together with what it is the state of; not `new or oiled, as said`.
fn states_service(piece: &str) -> bool {
    let words = plain(piece);
    let state = [
        "new",
        "oiled",
        "dirty",
        "washed",
        "as new",
        "unused",
        "cleaned",
        "clean",
        "with oil",
        "fresh oil",
        "re oiled",
        "freshly oiled",
        "brand new",
        "out of the box",
        "used",
    ]
    .iter()
    .any(|w| says(&words, w))
        // Whatever else is a state by itself: `foam soaped`.
        || words.split_once(' ').is_some_and(|(_, rest)| only_service(rest));
    let of = [
        "paper",
        "papers",
        "foam",
        "foams",
        "filter",
        "filters",
        "element",
        "elements",
        "gauze",
        "cotton",
        "all",
        "everything",
        "media",
        "cleaner",
        "cleaners",
        "cartridges",
    ];
    // `Old`, `used` may be part of a name; what else is a state is one.
    let told = service(piece).is_some();
    told && state
        && words.split(' ').count() <= 6
        && of.iter().any(|w| says(&words, w))
        && !left_to_the_rows(&words)
}

/// Whether a statement only says where it is said: `oiled or new, as noted`.
pub(super) fn left_to_the_rows(words: &str) -> bool {
    [
        "or",
        "as said",
        "as noted",
        "as marked",
        "as stated",
        "as written",
        "as listed",
        "see",
        "below",
        "unless",
        "said in",
        "bench",
        "not",
    ]
    .iter()
    .any(|w| says(words, w))
}

pub(super) fn readings_each(words: &str) -> Option<i64> {
    const NUMBERS: [&str; 10] =
        ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"];
    let told = ["mean", "means", "average", "averages", "avg", "each", "per"].iter().any(|w| says(words, w));
    if !told {
        return None;
    }
    let list: Vec<&str> = words.split(' ').collect();
    list.windows(2).find_map(|pair| {
        if !matches!(pair[1], "readings" | "reading" | "pulls" | "repeats" | "reads" | "tries" | "runs") {
            return None;
        }
        let number = pair[0].parse::<i64>().ok();
        number
            .or_else(|| NUMBERS.iter().position(|n| *n == pair[0]).map(|n| n as i64 + 1))
            .filter(|n| (1..=50).contains(n))
    })
}

/// `page 31` as a title.
fn page_number(text: &str) -> Option<String> {
    let lower = text.to_lowercase();
    let at = lower.find("page ")?;
    if !lower.is_char_boundary(at) || (at > 0 && lower.as_bytes()[at - 1].is_ascii_alphanumeric()) {
        return None;
    }
    let digits: String = lower[at + 5..].chars().take_while(char::is_ascii_digit).collect();
    (!digits.is_empty()).then(|| format!("page {digits}"))
}
