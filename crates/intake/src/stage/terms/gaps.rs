//! Cells and rows that hold no data of their own: nothing fitted, nothing run, as above, a mean.

use super::kinds::KINDS;
use super::plain;

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
                | "not read"
                | "not noted"
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
    if text == ".." {
        return true;
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
    marks > 0 || (commas == 2 && dashes == 0) || text.chars().all(|c| c == '~')
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
