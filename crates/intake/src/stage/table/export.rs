//! Whether a header is that of a sheet that `export` writes.

use crate::map::{Field, Header};

/// Columns that every exported sheet of runs has, and every one of parts; a unit may follow.
const RUNS: [&str; 10] =
    ["session", "date", "purpose", "order", "base", "spacer", "filter", "lid", "set pressure", "flow"];
const PARTS: [&str; 9] = ["tag", "kind", "name", "maker", "price", "arrived", "od", "id", "height"];

/// Whether the headers are just the columns that `export` writes, of runs or of parts.
pub(super) fn is_header(headers: &[Header]) -> bool {
    let names: Vec<String> = headers.iter().map(|h| name(&h.text)).collect();
    let own =
        |name: &String| name == "loss percent" || Field::from_name(name).is_some() && !name.contains('_');
    let has = |list: &[&str]| list.iter().all(|own| names.iter().any(|name| name == own));
    (has(&RUNS) || has(&PARTS)) && names.iter().all(own)
}

/// A header in lower case, without its unit.
fn name(text: &str) -> String {
    let text = text.trim().to_lowercase();
    text.strip_suffix(')').and_then(|t| t.split_once(" (")).map_or(text.clone(), |(name, _)| name.to_owned())
}
