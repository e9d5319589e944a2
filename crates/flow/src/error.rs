//! Why a computation is refused.
//!
//! Every refusal follows from the inputs: trying again with the same ones
//! never helps, and each variant says what to change.

use std::fmt;

/// A limit of use set by a standard or by this project.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Limit {
    /// Bore of an orifice plate is too small.
    BoreTooSmall,
    /// Pipe is too narrow.
    PipeTooNarrow,
    /// Pipe is too wide.
    PipeTooWide,
    /// Bore is too small for its pipe (beta too low).
    BetaTooLow,
    /// Bore is too large for its pipe (beta too high).
    BetaTooHigh,
    /// Flow is too slow for the coefficient (pipe Reynolds number too low).
    ReynoldsTooLow,
    /// Pressure falls too far across the plate (p2/p1 too low).
    PressureRatioTooLow,
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::BoreTooSmall => "the plate's bore in meters must be at least",
            Self::PipeTooNarrow => "the pipe's diameter in meters must be at least",
            Self::PipeTooWide => "the pipe's diameter in meters must be at most",
            Self::BetaTooLow => "bore over pipe diameter must be at least",
            Self::BetaTooHigh => "bore over pipe diameter must be at most",
            Self::ReynoldsTooLow => "the pipe's Reynolds number must be at least",
            Self::PressureRatioTooLow => "downstream over upstream pressure must be at least",
        })
    }
}

/// Why a computation is refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FlowError {
    /// A quantity that must be finite and above zero is not; mend that input.
    #[error("{quantity} must be a number above zero, but is {value}")]
    NotPositive {
        /// What it is.
        quantity: &'static str,
        /// What was given.
        value: f64,
    },
    /// A quantity lies outside what the function can answer; mend that input.
    #[error("{quantity} is {value}, but must lie between {low} and {high}")]
    OutOfRange {
        /// What it is.
        quantity: &'static str,
        /// What was given.
        value: f64,
        /// Least value taken.
        low: f64,
        /// Greatest value taken.
        high: f64,
    },
    /// A standard's limit of use is passed; use another plate, pipe or flow.
    #[error("{limit} {bound}, but is {value} ({clause})")]
    OutsideLimit {
        /// Which limit.
        limit: Limit,
        /// What was given or found.
        value: f64,
        /// The limit's value.
        bound: f64,
        /// Where the limit stands.
        clause: &'static str,
    },
    /// The actual pressure is too far from the set pressure for the square-root
    /// law; test at the set pressure or take a sweep.
    #[error(
        "{actual_pa} Pa is more than {} % from the set {set_pa} Pa: a sweep is needed",
        100.0 * largest_fraction
    )]
    TooFarFromSetPressure {
        /// Pressure during the reading.
        actual_pa: f64,
        /// Pressure asked for.
        set_pa: f64,
        /// Greatest distance taken, as a fraction of the set pressure.
        largest_fraction: f64,
    },
    /// The flow lies too far above the sweep; sweep higher.
    #[error("{flow_m3_s} m3/s is beyond {limit_m3_s} m3/s, 1.25 times the highest swept flow")]
    BeyondSweep {
        /// Flow asked for.
        flow_m3_s: f64,
        /// Greatest flow that is answered.
        limit_m3_s: f64,
    },
    /// Leakage is as large as the flow it is taken from; look for the leak.
    #[error("leakage of {leakage_m3_s} m3/s is not below the flow of {flow_m3_s} m3/s")]
    LeakageExceedsFlow {
        /// Leakage at the actual pressure.
        leakage_m3_s: f64,
        /// Flow before subtraction.
        flow_m3_s: f64,
    },
    /// Too few readings or points; add some.
    #[error("{have} points are too few: at least {need} are needed")]
    TooFewPoints {
        /// How many were given.
        have: usize,
        /// How many are needed.
        need: usize,
    },
    /// Two lists that belong together differ in length; mend the lists.
    #[error("lists of {left} and {right} values do not belong together")]
    UnequalLists {
        /// Length of the first.
        left: usize,
        /// Length of the second.
        right: usize,
    },
    /// The points do not determine the answer; spread them.
    #[error("not determined: {what}")]
    Degenerate {
        /// What is wrong with them.
        what: &'static str,
    },
    /// No physical answer exists for these inputs.
    #[error("no answer: {what}")]
    NoSolution {
        /// What stands in the way.
        what: &'static str,
    },
    /// A quantity that this computation needs was not given; give it.
    #[error("{quantity} is needed and was not given")]
    Missing {
        /// What is missing.
        quantity: &'static str,
    },
}

/// Passes a finite value above zero.
pub(crate) fn positive(quantity: &'static str, value: f64) -> Result<f64, FlowError> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(FlowError::NotPositive { quantity, value }) }
}

/// Passes a finite value from `low` to `high`, both included.
pub(crate) fn within(quantity: &'static str, value: f64, low: f64, high: f64) -> Result<f64, FlowError> {
    if value.is_finite() && value >= low && value <= high {
        Ok(value)
    } else {
        Err(FlowError::OutOfRange { quantity, value, low, high })
    }
}
