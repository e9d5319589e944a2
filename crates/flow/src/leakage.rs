//! Fixture leakage, carried to another pressure.
//!
//! Only leakage of the fixture (adapter, gasket, clay) has a place here. What
//! passes a closed throttle is a condition of the carburetor: there is no
//! function that takes it off a flow.

use crate::FlowError;
use crate::error::{positive, within};

/// Exponent between a slot (0.5) and laminar seepage (1).
pub const USUAL_EXPONENT: f64 = 0.75;
/// Exponent of a sharp slot.
pub const LOWEST_EXPONENT: f64 = 0.5;
/// Exponent of laminar seepage.
pub const HIGHEST_EXPONENT: f64 = 1.0;

/// Leakage at another pressure, with its bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarriedLeakage {
    /// Leakage at the new pressure, m³/s.
    pub flow_m3_s: f64,
    /// The lesser of what exponents 0.5 and 1 give, m³/s.
    pub low_m3_s: f64,
    /// The greater of them, m³/s.
    pub high_m3_s: f64,
    /// Standard uncertainty from the exponent (rectangular), m³/s.
    pub standard_uncertainty_m3_s: f64,
}

/// Carries fixture leakage to another pressure.
///
/// `L₂ = L₁ (P₂/P₁)^n`, `n` 0.75 unless stated, 0.5 and 1 as bounds; `u = (high −
/// low)/√12`. `L` m³/s, `P` Pa.
///
/// Valid for any two pressures of one sign; the bounds show how little is known
/// far away. Errors when a pressure is not above zero, leakage is negative, or
/// `n` is outside 0.5 to 1. Source: power law of slots and seepage, common
/// practice, no source; rectangular distribution JCGM 100:2008, 4.3.7.
///
/// ```
/// let leak = airshelf_flow::leakage::carry(0.0014, 1245.0, 4980.0, None)?;
/// assert!((leak.low_m3_s - 0.0028).abs() < 1e-12); // twice, as a slot
/// assert!((leak.high_m3_s - 0.0056).abs() < 1e-12); // four times, as seepage
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn carry(
    flow_m3_s: f64,
    at_pa: f64,
    to_pa: f64,
    exponent: Option<f64>,
) -> Result<CarriedLeakage, FlowError> {
    within("leakage in m3/s", flow_m3_s, 0.0, f64::MAX)?;
    positive("pressure of the leakage reading", at_pa)?;
    positive("pressure to carry leakage to", to_pa)?;
    let exponent =
        within("leakage exponent", exponent.unwrap_or(USUAL_EXPONENT), LOWEST_EXPONENT, HIGHEST_EXPONENT)?;
    let ratio = to_pa / at_pa;
    let slot = flow_m3_s * libm::pow(ratio, LOWEST_EXPONENT);
    let seepage = flow_m3_s * libm::pow(ratio, HIGHEST_EXPONENT);
    let (low_m3_s, high_m3_s) = (slot.min(seepage), slot.max(seepage));
    Ok(CarriedLeakage {
        flow_m3_s: flow_m3_s * libm::pow(ratio, exponent),
        low_m3_s,
        high_m3_s,
        standard_uncertainty_m3_s: (high_m3_s - low_m3_s) / 12_f64.sqrt(),
    })
}
