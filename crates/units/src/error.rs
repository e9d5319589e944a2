//! Why a text is not a quantity; every message says what to write instead.
//!
//! Trying the same text again never helps: each of these is settled by writing the text differently or by saying which
//! unit or decimal style is meant.

use crate::Dimension;

/// Why a name is not a unit. Trying again with the same name does not help.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum UnitError {
    /// No unit has this name.
    #[error("`{text}` is not a unit known here; write {}", offer(.fits))]
    Unknown {
        /// The name as given.
        text: String,
        /// Symbols of the units that would fit.
        fits: Vec<&'static str>,
    },
    /// The name is a unit, but of something else.
    #[error("`{text}` is a unit of {}, where a unit of {} is asked for; write {}", .found.name(), .wanted.name(), offer(.fits))]
    WrongDimension {
        /// The name as given.
        text: String,
        /// What the named unit measures.
        found: Dimension,
        /// What was asked for.
        wanted: Dimension,
        /// Symbols of the units that would fit.
        fits: Vec<&'static str>,
    },
    /// The name may mean several units.
    #[error("`{text}` may mean more than one unit; write {}", offer(.candidates))]
    Ambiguous {
        /// The name as given.
        text: String,
        /// Symbols of the units it may mean.
        candidates: Vec<&'static str>,
    },
}

/// Why a text is not a quantity. Trying again with the same text does not help.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// There is no text.
    #[error("nothing is written here; write a number and its unit, such as 5.5 inH2O")]
    Empty,
    /// The text does not begin with a number.
    #[error("`{text}` does not begin with a number; write the number first, such as 265.8 or 1-1/8")]
    NotANumber {
        /// The text as given.
        text: String,
    },
    /// There is a number and neither a unit in the text nor a default.
    #[error("`{text}` has no unit; write it after the number: {}", offer(.fits))]
    NoUnit {
        /// The text as given.
        text: String,
        /// Symbols of the units that would fit; empty where any unit would.
        fits: Vec<&'static str>,
    },
    /// What follows the number is no unit.
    #[error("`{text}` is not a unit known here; write {}", offer(.fits))]
    UnknownUnit {
        /// What follows the number.
        text: String,
        /// Symbols of the units that would fit; empty where any unit would.
        fits: Vec<&'static str>,
    },
    /// The unit measures something else.
    #[error("`{text}` is a unit of {}, where a unit of {} is asked for; write {}", .found.name(), .wanted.name(), offer(.fits))]
    WrongDimension {
        /// The unit as written.
        text: String,
        /// What the written unit measures.
        found: Dimension,
        /// What was asked for.
        wanted: Dimension,
        /// Symbols of the units that would fit.
        fits: Vec<&'static str>,
    },
    /// The text can be read in more than one way.
    #[error("`{text}` can be read in more than one way; write {}", offer(.candidates))]
    Ambiguous {
        /// The text as given.
        text: String,
        /// Each reading, written so that it is read in one way only.
        candidates: Vec<String>,
    },
    /// The number is put together in a way that means nothing.
    #[error("`{text}` cannot be read: {why}")]
    Malformed {
        /// The text as given.
        text: String,
        /// What is wrong and what to write instead.
        why: &'static str,
    },
}

impl From<UnitError> for ReadError {
    fn from(error: UnitError) -> ReadError {
        match error {
            UnitError::Unknown { text, fits } => ReadError::UnknownUnit { text, fits },
            UnitError::WrongDimension { text, found, wanted, fits } => {
                ReadError::WrongDimension { text, found, wanted, fits }
            }
            UnitError::Ambiguous { text, candidates } => {
                ReadError::Ambiguous { text, candidates: candidates.into_iter().map(String::from).collect() }
            }
        }
    }
}

/// The longest list that a sentence still carries.
const OFFERED: usize = 7;

fn offer(choices: &[impl AsRef<str>]) -> String {
    match choices {
        [] => "a unit such as inH2O, mm or CFM".to_owned(),
        [only] => only.as_ref().to_owned(),
        _ => {
            let shown: Vec<&str> = choices.iter().take(OFFERED).map(AsRef::as_ref).collect();
            let more = if choices.len() > OFFERED { ", …" } else { "" };
            format!("one of {}{more}", shown.join(", "))
        }
    }
}
