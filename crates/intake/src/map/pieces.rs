//! Units at the end of a name in one piece, and before a bracket that only adds something.

use super::header::{split, unit_of, words_of};
use airshelf_units::{Dimension, Unit};

/// A unit of several pieces at the end of a name in one: `q_l_s`, `air_m3_h`, `baro_in_hg`.
pub(super) fn underscored(text: &str) -> Option<(&str, Unit)> {
    let marks: Vec<usize> = text.match_indices('_').map(|mark| mark.0).collect();
    if marks.len() < 2 || text.contains(char::is_whitespace) {
        return None;
    }
    [3, 2].into_iter().find_map(|pieces| {
        let at = *marks.get(marks.len().checked_sub(pieces)?)?;
        let (name, tail) = (&text[..at], &text[at + 1..]);
        let (of, per) = tail.rsplit_once('_')?;
        let rate = unit_of(&format!("{of}/{per}"), true).filter(|u| u.dimension() == Dimension::Flow);
        let named = || unit_of(tail, true).filter(|u| u.dimension() != Dimension::Ratio);
        rate.or_else(named).filter(|_| !name.is_empty()).map(|unit| (name, unit))
    })
}

/// What a bracket behind the unit adds: `Control CFM (from Tuesday)`; where its words begin with one for a source, they
/// say nothing of what stands below.
pub(super) fn before_remark(text: &str) -> Option<(String, Unit)> {
    let (head, remark) = text.trim().strip_suffix(')')?.rsplit_once('(')?;
    let (name, unit) = split(head);
    let source = ["from", "of", "by", "on", "as", "see"];
    let first = words_of(remark).into_iter().next()?;
    let name = if source.contains(&first.as_str()) { name.to_owned() } else { format!("{name} {remark}") };
    Some((name, unit?))
}
