//! Whether a baseline is bare or with a base.

use crate::stage::terms::says;
use airshelf_catalog::BaselineKind;

/// What a baseline's words say it consists of.
pub(crate) fn baseline_kind(words: &str) -> BaselineKind {
    let says_any = |phrases: &[&str]| phrases.iter().any(|p| says(words, p));
    if says_any(&[
        "bare",
        "no base",
        "without base",
        "nothing on",
        "carburetor alone",
        "carb only",
        "carb alone",
        "carburetor only",
        "carburettor alone",
        "naked",
        "without anything",
        "without any parts",
        "without parts",
        "nothing fitted",
        "nothing mounted",
        "no parts",
        "none on",
        "on its own",
        "by itself",
        "nothing under",
    ]) || base_is_off(words)
    {
        BaselineKind::Bare
    } else if says_any(&[
        "with base",
        "with the base",
        "with bare base",
        "on the base",
        "base on",
        "with flat base",
        "with dropped base",
        "base fitted",
        "incl base",
        "base only",
    ]) {
        BaselineKind::WithBase
    } else {
        BaselineKind::Unknown
    }
}

/// What people call the part under the filter.
const BASES: [&str; 7] = ["base", "dish", "pan", "tray", "bottom", "plate", "backplate"];

/// `no dish`, `without the pan`, `tray also off`.
fn base_is_off(words: &str) -> bool {
    let list: Vec<&str> =
        words.split(' ').filter(|w| !["the", "is", "was", "also", "any", "too"].contains(w)).collect();
    list.windows(2).any(|pair| {
        BASES.contains(&pair[1]) && matches!(pair[0], "no" | "without")
            || BASES.contains(&pair[0]) && matches!(pair[1], "off" | "removed" | "away")
    })
}
