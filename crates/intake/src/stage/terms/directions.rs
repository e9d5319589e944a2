//! Which way the air went, and whether an assembly was refitted.

use super::term;
use airshelf_catalog::{Direction, Refit};

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
            "blows",
            "pushes",
            "pushed",
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
            "draws",
            "sucks",
            "pulls",
            "pulled",
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
