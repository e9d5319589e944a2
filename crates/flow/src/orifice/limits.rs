//! Limits of use of ISO 5167-2:2003, 5.3.1.

use super::{Orifice, Taps};
use crate::error::positive;
use crate::{FlowError, Limit};

const CLAUSE: &str = "ISO 5167-2:2003, 5.3.1";
/// A size typed in inches may miss a limit by a rounding in the last bits.
const ROUNDING: f64 = 1e-9;

fn at_least(limit: Limit, value: f64, bound: f64, clause: &'static str) -> Result<(), FlowError> {
    if value >= bound * (1.0 - ROUNDING) {
        Ok(())
    } else {
        Err(FlowError::OutsideLimit { limit, value, bound, clause })
    }
}

fn at_most(limit: Limit, value: f64, bound: f64) -> Result<(), FlowError> {
    if value <= bound * (1.0 + ROUNDING) {
        Ok(())
    } else {
        Err(FlowError::OutsideLimit { limit, value, bound, clause: CLAUSE })
    }
}

/// Gives the least ratio of downstream to upstream pressure, 0.75.
///
/// Source: ISO 5167-2:2003, 5.3.2.2.
#[must_use]
pub const fn lowest_pressure_ratio() -> f64 {
    0.75
}

/// Gives the least Reynolds number (pipe) for an orifice.
///
/// Corner and D–D/2 taps: 5000 up to `β = 0.56`, `16000 β²` above; flange taps:
/// the greater of 5000 and `170 β² D`, `D` in mm. Valid for a shape that
/// [`check_shape`] passes; errors never. Source: ISO 5167-2:2003, 5.3.1.
#[must_use]
pub fn lowest_reynolds(orifice: &Orifice) -> f64 {
    let beta = orifice.beta();
    match orifice.taps {
        Taps::Corner | Taps::Radius if beta <= 0.56 => 5000.0,
        Taps::Corner | Taps::Radius => 16_000.0 * beta * beta,
        Taps::Flange => (170.0 * beta * beta * orifice.pipe_m * 1e3).max(5000.0),
    }
}

/// Refuses an orifice whose sizes are outside the standard.
///
/// `d ≥ 12.5 mm`, `50 ≤ D ≤ 1000 mm`, `0.1 ≤ β ≤ 0.75`. Errors with the limit
/// passed. Source: ISO 5167-2:2003, 5.3.1.
///
/// ```
/// use airshelf_flow::{orifice::{check_shape, Orifice, Taps}, FlowError, Limit};
/// let narrow = Orifice { bore_m: 0.025, pipe_m: 0.049, taps: Taps::Corner };
/// assert!(matches!(
///     check_shape(&narrow),
///     Err(FlowError::OutsideLimit { limit: Limit::PipeTooNarrow, .. })
/// ));
/// ```
pub fn check_shape(orifice: &Orifice) -> Result<(), FlowError> {
    positive("orifice bore", orifice.bore_m)?;
    positive("pipe diameter", orifice.pipe_m)?;
    at_least(Limit::PipeTooNarrow, orifice.pipe_m, 0.05, CLAUSE)?;
    at_most(Limit::PipeTooWide, orifice.pipe_m, 1.0)?;
    at_least(Limit::BetaTooLow, orifice.beta(), 0.1, CLAUSE)?;
    at_most(Limit::BetaTooHigh, orifice.beta(), 0.75)?;
    at_least(Limit::BoreTooSmall, orifice.bore_m, 0.0125, CLAUSE)
}

/// Refuses a flow that is outside the standard for this orifice.
///
/// `Re_D` at least [`lowest_reynolds`], `p₂/p₁` at least
/// [`lowest_pressure_ratio`], and the sizes of [`check_shape`]. Errors with the
/// limit passed. Source: ISO 5167-2:2003, 5.3.1 and 5.3.2.2.
pub fn check_flow(orifice: &Orifice, reynolds: f64, pressure_ratio: f64) -> Result<(), FlowError> {
    check_shape(orifice)?;
    at_least(Limit::ReynoldsTooLow, reynolds, lowest_reynolds(orifice), CLAUSE)?;
    check_pressure_ratio(pressure_ratio)
}

pub(crate) fn check_pressure_ratio(pressure_ratio: f64) -> Result<(), FlowError> {
    at_least(Limit::PressureRatioTooLow, pressure_ratio, lowest_pressure_ratio(), "ISO 5167-2:2003, 5.3.2.2")
}
