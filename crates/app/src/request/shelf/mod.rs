//! Parts and assemblies: what is on the shelf, what was tested, what fits.

mod parts;

use crate::code::Fault;
use crate::shelf::Shelf;
use airshelf_catalog::{PartKind, PartStatus};
pub use parts::{PartCard, PartPage};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A question about parts and assemblies.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "ShelfAsked")]
pub enum Asked {
    /// A stretch of the parts.
    Parts {
        /// Words to look for; empty for all.
        text: String,
        /// Only of that kind.
        kind: Option<PartKind>,
        /// Only of that status.
        status: Option<PartStatus>,
        /// From which on.
        from: usize,
        /// How many.
        count: usize,
    },
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "ShelfAnswer")]
pub enum Answer {
    /// Parts.
    Parts(PartPage),
}

pub(super) fn answer(
    shelf: &mut Shelf,
    asked: Asked,
    _attached: Vec<Vec<u8>>,
    _bytes: &mut Option<Vec<u8>>,
) -> Result<Answer, Fault> {
    Ok(match asked {
        Asked::Parts { text, kind, status, from, count } => {
            Answer::Parts(parts::page(shelf, &text, kind, status, from, count)?)
        }
    })
}
