//! Flow at another pressure, and the pressure that a range holds.

use crate::error::{positive, within};
use crate::orifice::expansibility;
use crate::{Caution, FlowError};

/// Exponent of the square-root law.
pub const SQUARE_ROOT: f64 = 0.5;
/// Greatest distance from the set pressure for a correction without a sweep, as
/// a fraction of the set pressure (rule of this project).
pub const LARGEST_CORRECTION: f64 = 0.05;
/// Margin of a suggested test pressure below the end of the range (rule of this
/// project).
pub const USUAL_MARGIN: f64 = 0.05;
/// Share of flow from which a change of expansibility is worth a caution.
const NOTABLE_EXPANSION: f64 = 0.005;
/// Fraction of a range from which a reading is close to its end.
const NEAR_RANGE: f64 = 0.95;

/// A flow carried to another pressure, with what to know about it.
#[derive(Debug, Clone, PartialEq)]
pub struct ScaledFlow {
    /// Flow at the new pressure, m³/s.
    pub flow_m3_s: f64,
    /// What to know: expansion of the air, distance.
    pub cautions: Vec<Caution>,
}

/// Carries a flow to another test pressure.
///
/// `Q₂ = Q₁ (P₂/P₁)^n`, `n` 0.5 for sharp edges and free paths, 1 for laminar
/// media; `Q` m³/s, `P` Pa. Cautions when the pressures are more than 5 % apart,
/// and when expansion of the air changes by more than 0.5 % of flow.
///
/// Errors when a pressure is not above zero, the flow is not finite, or `n` is
/// outside 0.5 to 1. Source: Bernoulli's equation; common practice for `n`.
///
/// ```
/// use airshelf_flow::scale::{to_pressure, SQUARE_ROOT};
/// let scaled = to_pressure(500.0, 10.0, 28.0, SQUARE_ROOT)?; // any units cancel
/// assert!((scaled.flow_m3_s - 836.660).abs() < 1e-3);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn to_pressure(flow_m3_s: f64, from_pa: f64, to_pa: f64, exponent: f64) -> Result<ScaledFlow, FlowError> {
    within("flow in m3/s", flow_m3_s, 0.0, f64::MAX)?;
    positive("pressure measured at", from_pa)?;
    positive("pressure to scale to", to_pa)?;
    within("exponent", exponent, 0.5, 1.0)?;
    let mut cautions = Vec::new();
    if (from_pa / to_pa - 1.0).abs() > LARGEST_CORRECTION {
        cautions.push(Caution::FarFromMeasured { from_pa, to_pa });
    }
    if let Some(change) = expansibility_change(from_pa, to_pa)
        && change.abs() > NOTABLE_EXPANSION
    {
        cautions.push(Caution::Expansibility { from_pa, to_pa, change });
    }
    Ok(ScaledFlow { flow_m3_s: flow_m3_s * libm::pow(to_pa / from_pa, exponent), cautions })
}

/// Carries a reading to the set pressure, only from nearby.
///
/// `Q_set = Q (P_set/P)^n` for `|P/P_set − 1| ≤ 5 %`; units and source as
/// [`to_pressure`]. Errors beyond with
/// [`FlowError::TooFarFromSetPressure`]: a sweep is needed.
///
/// ```
/// use airshelf_flow::scale::to_set_pressure;
/// assert!(to_set_pressure(0.27, 1340.0, 1370.0, 0.5)? > 0.27);
/// assert!(to_set_pressure(0.27, 1250.0, 1370.0, 0.5).is_err());
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn to_set_pressure(flow_m3_s: f64, actual_pa: f64, set_pa: f64, exponent: f64) -> Result<f64, FlowError> {
    let scaled = to_pressure(flow_m3_s, actual_pa, set_pa, exponent)?;
    // The last bits of a pressure typed exactly on the limit do not decide.
    if (actual_pa / set_pa - 1.0).abs() > LARGEST_CORRECTION + 1e-9 {
        return Err(FlowError::TooFarFromSetPressure {
            actual_pa,
            set_pa,
            largest_fraction: LARGEST_CORRECTION,
        });
    }
    Ok(scaled.flow_m3_s)
}

/// Gives the relative standard uncertainty of a flow carried to another
/// pressure.
///
/// `u² = u²(Q)/Q² + n² [u²(P₁)/P₁² + u²(P₂)/P₂²] + [ln(P₂/P₁) (n_hi − n_lo)]²/12`,
/// uncorrelated, all relative and standard; the last term is a rectangular
/// exponent from `n_lo` to `n_hi`. Valid for small uncertainties. Errors when a
/// pressure is not above zero. Source: JCGM 100:2008 (GUM), 5.1.2 and 4.3.7.
#[must_use = "the uncertainty is the result"]
pub fn relative_standard_uncertainty(
    flow: f64,
    from: f64,
    to: f64,
    exponent: f64,
    exponent_spread: f64,
    pressure_ratio: f64,
) -> Result<f64, FlowError> {
    positive("pressure ratio", pressure_ratio)?;
    let by_exponent = libm::log(pressure_ratio) * exponent_spread / 12_f64.sqrt();
    Ok((flow * flow + exponent * exponent * (from * from + to * to) + by_exponent * by_exponent).sqrt())
}

/// Gives the change of flow that expansion of the air adds between two pressure
/// drops from the room, as a fraction; `None` below `p₂/p₁ = 0.75`.
///
/// `ε(P₂)/ε(P₁) − 1` at `β = 0`, room pressure 101.325 kPa. At 5.5 against 28
/// inH₂O it is −1.4 %; for an orifice with `β` of 0.6 to 0.65 about −1.7 %. Source: ISO
/// 5167-2:2003, 5.3.2.2.
#[must_use]
pub fn expansibility_change(from_pa: f64, to_pa: f64) -> Option<f64> {
    let epsilon = |drop_pa| expansibility(0.0, drop_pa, 101_325.0, crate::air::ISENTROPIC_EXPONENT).ok();
    Some(epsilon(to_pa)? / epsilon(from_pa)? - 1.0)
}

/// What pressure a range can hold for an item.
#[derive(Debug, Clone, PartialEq)]
pub struct RangePressure {
    /// Flow now as a fraction of the range.
    pub fraction_of_range: f64,
    /// Pressure at which the flow fills the range, Pa.
    pub highest_pressure_pa: f64,
    /// Pressure that leaves the margin, Pa.
    pub suggested_pressure_pa: f64,
    /// What to know: near the end of the range, expansion, distance.
    pub cautions: Vec<Caution>,
}

/// Gives the highest test pressure that a range holds for an item.
///
/// `P_max = P (Q_range/Q)²`, suggested `P (Q_range (1 − margin)/Q)²`; `Q` m³/s,
/// `P` Pa, margin 0 to below 1. Valid where the square-root law is. Errors when
/// an input is not above zero, or the margin is outside. Source: square-root
/// law; common practice, no source.
///
/// ```
/// let p = airshelf_flow::scale::highest_pressure(574.0, 5.5, 600.0, 0.05)?;
/// assert!((p.fraction_of_range - 0.957).abs() < 5e-4);
/// assert!((p.highest_pressure_pa - 6.01).abs() < 5e-3); // inH2O in, inH2O out
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn highest_pressure(
    flow_m3_s: f64,
    at_pa: f64,
    range_m3_s: f64,
    margin: f64,
) -> Result<RangePressure, FlowError> {
    positive("flow", flow_m3_s)?;
    positive("pressure", at_pa)?;
    positive("range", range_m3_s)?;
    within("margin", margin, 0.0, 0.9)?;
    let room = range_m3_s / flow_m3_s;
    let suggested_pressure_pa = at_pa * (room * (1.0 - margin)).powi(2);
    let mut cautions = to_pressure(flow_m3_s, at_pa, suggested_pressure_pa, SQUARE_ROOT)?.cautions;
    if 1.0 / room > NEAR_RANGE {
        cautions.push(Caution::NearRange { fraction: 1.0 / room });
    }
    Ok(RangePressure {
        fraction_of_range: 1.0 / room,
        highest_pressure_pa: at_pa * room * room,
        suggested_pressure_pa,
        cautions,
    })
}
