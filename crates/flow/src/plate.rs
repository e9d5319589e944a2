//! A plain sharp-edged plate that draws from the room.
//!
//! Such a plate in the wall of a bench has no upstream pipe, so it is outside
//! ISO 5167: its coefficient is an assumption until it is calibrated.

use crate::error::{positive, within};
use crate::orifice::expansibility;
use crate::{Caution, FlowError};

/// Low end of the coefficient of sharp-edged plates (common practice, no source).
pub const LOWEST_COEFFICIENT: f64 = 0.60;
/// High end of the coefficient of sharp-edged plates (common practice, no source).
pub const HIGHEST_COEFFICIENT: f64 = 0.62;
/// Coefficient taken when none is stated: the middle of the two, beside
/// `π/(π+2) = 0.611` of a free-streamline slot.
pub const USUAL_COEFFICIENT: f64 = 0.61;

/// Flow through a plate from the room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateFlow {
    /// Mass flow, kg/s.
    pub flow_kg_s: f64,
    /// Volume flow at the room's density, m³/s.
    pub flow_m3_s: f64,
    /// Coefficient used.
    pub coefficient: f64,
    /// Expansibility factor at `β = 0`.
    pub expansibility: f64,
    /// Relative standard uncertainty of the flow from an assumed coefficient
    /// (rectangular over 0.60 to 0.62).
    pub relative_standard_uncertainty: f64,
    /// Always told: the coefficient is assumed.
    pub caution: Caution,
}

/// Gives the flow through a sharp-edged plate that draws from the room.
///
/// `Q = C_d ε π/4 d² (2 Δp/ρ)^½`, `ε` of ISO 5167-2 at `β = 0`; `d` diameter
/// (m), `Δp` drop (Pa), `p₁` room pressure (Pa), `ρ` room density (kg/m³), `C_d`
/// assumed 0.60 to 0.62 (common practice, no source). A sharp plate does not
/// choke hard, and an isentropic nozzle's factor would be 2 % off at 28 inH₂O.
///
/// Valid for `p₂/p₁ ≥ 0.75`; errors outside, or with a coefficient outside 0.5
/// to 1. Source: Bernoulli; expansibility ISO 5167-2:2003, 5.3.2.2, used
/// outside its range of `β`.
///
/// ```
/// use airshelf_flow::plate;
/// let plate = plate::flow(0.0508, 6974.489, 101_325.0, 1.2, Some(0.60))?;
/// // 277.8 CFM without expansion of the air, 273.0 with it
/// assert!((plate.flow_m3_s / 4.719_474e-4 - 272.97).abs() < 0.01);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn flow(
    diameter_m: f64,
    drop_pa: f64,
    upstream_pa: f64,
    density_kg_m3: f64,
    coefficient: Option<f64>,
) -> Result<PlateFlow, FlowError> {
    positive("plate diameter", diameter_m)?;
    positive("plate pressure drop", drop_pa)?;
    positive("density", density_kg_m3)?;
    let coefficient = within("plate coefficient", coefficient.unwrap_or(USUAL_COEFFICIENT), 0.5, 1.0)?;
    let epsilon = expansibility(0.0, drop_pa, upstream_pa, crate::air::ISENTROPIC_EXPONENT)?;
    let flow_m3_s = coefficient
        * epsilon
        * std::f64::consts::FRAC_PI_4
        * diameter_m
        * diameter_m
        * (2.0 * drop_pa / density_kg_m3).sqrt();
    Ok(PlateFlow {
        flow_kg_s: flow_m3_s * density_kg_m3,
        flow_m3_s,
        coefficient,
        expansibility: epsilon,
        relative_standard_uncertainty: (HIGHEST_COEFFICIENT - LOWEST_COEFFICIENT)
            / 12_f64.sqrt()
            / coefficient,
        caution: Caution::CoefficientAssumed {
            coefficient,
            low: LOWEST_COEFFICIENT,
            high: HIGHEST_COEFFICIENT,
        },
    })
}
