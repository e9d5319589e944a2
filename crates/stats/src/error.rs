//! Why a statistic cannot be had. None of these goes away by trying again
//! with the same numbers.

/// A refusal.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum StatsError {
    /// Fewer values than the statistic needs. More of them would help.
    #[error("{need} values are needed, {have} are there")]
    TooFew {
        /// How many there are.
        have: usize,
        /// How many it takes.
        need: usize,
    },
    /// Two lists that belong together differ in length.
    #[error("lists of {left} and {right} values do not belong together")]
    Unequal {
        /// Length of the first list.
        left: usize,
        /// Length of the second list.
        right: usize,
    },
    /// A number outside where the statistic is defined.
    #[error("{name} = {value} is outside its range")]
    OutOfRange {
        /// What the number is.
        name: &'static str,
        /// The number.
        value: f64,
    },
    /// All values are equal, so that the statistic divides by nothing.
    #[error("the values do not vary")]
    Constant,
    /// The columns of a model cannot be told apart by these rows.
    #[error("the rows cannot tell the {columns} columns of the model apart")]
    Inseparable {
        /// Columns in the model.
        columns: usize,
    },
    /// A run outside its bracketing baselines.
    #[error("the run lies outside its bracketing baselines")]
    Unbracketed,
}

/// A result of this crate.
pub type Result<T> = std::result::Result<T, StatsError>;

/// Refuses a number that is not finite or not above zero.
pub(crate) fn positive(name: &'static str, value: f64) -> Result<f64> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(StatsError::OutOfRange { name, value }) }
}

/// Refuses a probability outside (0, 1).
pub(crate) fn probability(name: &'static str, value: f64) -> Result<f64> {
    if value > 0.0 && value < 1.0 { Ok(value) } else { Err(StatsError::OutOfRange { name, value }) }
}

/// Refuses a list shorter than `need`.
pub(crate) fn at_least(have: usize, need: usize) -> Result<()> {
    if have < need { Err(StatsError::TooFew { have, need }) } else { Ok(()) }
}
