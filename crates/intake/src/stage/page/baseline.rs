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
    ]) {
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
