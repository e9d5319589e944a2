//! Coefficients of ISO 5167-2:2003 and their uncertainties.

use super::limits::{check_flow, check_pressure_ratio};
use super::{Orifice, Taps};
use crate::FlowError;
use crate::error::{positive, within};

/// Pipes below 71.12 mm carry extra terms.
const SMALL_PIPE_M: f64 = 0.071_12;

/// Evaluates the Reader-Harris/Gallagher equation, limits unchecked.
///
/// `C = 0.5961 + 0.0261β² − 0.216β⁸ + 0.000521(10⁶β/Re)^0.7 + (0.0188 +
/// 0.0063A)β^3.5 (10⁶/Re)^0.3 + (0.043 + 0.080e^(−10L₁) − 0.123e^(−7L₁))(1 −
/// 0.11A)β⁴/(1−β⁴) − 0.031(M₂ − 0.8M₂^1.1)β^1.3`, and below 71.12 mm `+
/// 0.011(0.75−β)(2.8 − D/25.4 mm)`; `A = (19000β/Re)^0.8`, `M₂ = 2L₂/(1−β)`;
/// corner taps `L₁ = L₂ = 0`, D–D/2 `1` and `0.47`, flange `25.4 mm/D`.
///
/// `β` diameter ratio, `D` pipe (m), `Re` pipe Reynolds number. This is the bare
/// equation; [`discharge_coefficient`] refuses where it does not hold. Source:
/// ISO 5167-2:2003, 5.3.2.1, equation (4), by open transcriptions.
#[must_use]
pub fn reader_harris_gallagher(beta: f64, pipe_m: f64, reynolds: f64, taps: Taps) -> f64 {
    let (upstream, downstream) = match taps {
        Taps::Corner => (0.0, 0.0),
        Taps::Radius => (1.0, 0.47),
        Taps::Flange => (0.0254 / pipe_m, 0.0254 / pipe_m),
    };
    let a = libm::pow(19_000.0 * beta / reynolds, 0.8);
    let m = 2.0 * downstream / (1.0 - beta);
    let fourth = beta.powi(4);
    let small_pipe =
        if pipe_m < SMALL_PIPE_M { 0.011 * (0.75 - beta) * (2.8 - pipe_m / 0.0254) } else { 0.0 };
    0.5961 + 0.0261 * beta * beta - 0.216 * beta.powi(8)
        + 0.000_521 * libm::pow(1e6 * beta / reynolds, 0.7)
        + (0.0188 + 0.0063 * a) * libm::pow(beta, 3.5) * libm::pow(1e6 / reynolds, 0.3)
        + (0.043 + 0.080 * libm::exp(-10.0 * upstream) - 0.123 * libm::exp(-7.0 * upstream))
            * (1.0 - 0.11 * a)
            * fourth
            / (1.0 - fourth)
        - 0.031 * (m - 0.8 * libm::pow(m, 1.1)) * libm::pow(beta, 1.3)
        + small_pipe
}

/// Gives the discharge coefficient `C` of an orifice.
///
/// [`reader_harris_gallagher`] inside the limits of use. Errors name the limit
/// passed. Source: ISO 5167-2:2003, 5.3.1 and 5.3.2.1.
///
/// ```
/// use airshelf_flow::orifice::{discharge_coefficient, Orifice, Taps};
/// let orifice = Orifice { bore_m: 0.05, pipe_m: 0.1, taps: Taps::Flange };
/// assert!((discharge_coefficient(&orifice, 1e5)? - 0.606_201).abs() < 1e-6);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn discharge_coefficient(orifice: &Orifice, reynolds: f64) -> Result<f64, FlowError> {
    check_flow(orifice, reynolds, 1.0)?;
    Ok(reader_harris_gallagher(orifice.beta(), orifice.pipe_m, reynolds, orifice.taps))
}

/// Gives the expansibility factor `ε`.
///
/// `ε = 1 − (0.351 + 0.256β⁴ + 0.93β⁸)[1 − (p₂/p₁)^(1/κ)]`, `p₂ = p₁ − Δp` (Pa).
/// Valid for `p₂/p₁ ≥ 0.75` and `β` from 0 to 0.75 (0 for a plate in a wall,
/// which is outside the standard). Errors outside. Source: ISO 5167-2:2003,
/// 5.3.2.2, equation (5).
///
/// ```
/// let e = airshelf_flow::orifice::expansibility(0.5, 6974.489, 101_325.0, 1.4)?;
/// assert!((e - 0.981_593).abs() < 1e-6);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn expansibility(
    beta: f64,
    drop_pa: f64,
    upstream_pa: f64,
    isentropic_exponent: f64,
) -> Result<f64, FlowError> {
    within("diameter ratio", beta, 0.0, 0.75 + 1e-9)?;
    positive("upstream pressure", upstream_pa)?;
    positive("isentropic exponent", isentropic_exponent)?;
    within("pressure drop in pascal", drop_pa, 0.0, f64::MAX)?;
    let ratio = 1.0 - drop_pa / upstream_pa;
    check_pressure_ratio(ratio)?;
    Ok(1.0
        - (0.351 + 0.256 * beta.powi(4) + 0.93 * beta.powi(8))
            * (1.0 - libm::pow(ratio, 1.0 / isentropic_exponent)))
}

/// Gives the expanded uncertainty (95 %) of `C`, percent of `C`.
///
/// `0.7 − β` below 0.2, `0.5` to 0.6, `1.667β − 0.5` above; `+ 0.9(0.75−β)(2.8 −
/// D/25.4 mm)` below 71.12 mm; `+ 0.5` for `β > 0.5` with `Re < 10000`. `D` m.
/// Valid inside the limits of use. Source: ISO 5167-2:2003, 5.3.3.1.
#[must_use]
pub fn coefficient_expanded_percent(beta: f64, pipe_m: f64, reynolds: f64) -> f64 {
    let base = if beta < 0.2 {
        0.7 - beta
    } else if beta <= 0.6 {
        0.5
    } else {
        1.667 * beta - 0.5
    };
    let small_pipe = if pipe_m < SMALL_PIPE_M { 0.9 * (0.75 - beta) * (2.8 - pipe_m / 0.0254) } else { 0.0 };
    let slow = if beta > 0.5 && reynolds < 10_000.0 { 0.5 } else { 0.0 };
    base + small_pipe + slow
}

/// Gives the expanded uncertainty (95 %) of `ε`, percent of `ε`.
///
/// `3.5 Δp/(κ p₁)`, pressures in Pa. Valid for `p₂/p₁ ≥ 0.75`. Source: ISO
/// 5167-2:2003, 5.3.3.2.
#[must_use]
pub fn expansibility_expanded_percent(drop_pa: f64, upstream_pa: f64, isentropic_exponent: f64) -> f64 {
    3.5 * drop_pa / (isentropic_exponent * upstream_pa)
}

/// Gives the pressure that an orifice plate loses for good, Pa.
///
/// `Δω = Δp [(1 − β⁴(1−C²))^½ − Cβ²] / [(1 − β⁴(1−C²))^½ + Cβ²]`. Valid inside
/// the limits of use. Source: ISO 5167-2:2003, 5.4.
#[must_use]
pub fn permanent_loss_pa(beta: f64, discharge_coefficient: f64, drop_pa: f64) -> f64 {
    let jet = discharge_coefficient * beta * beta;
    let root = (1.0 - beta.powi(4) * (1.0 - discharge_coefficient * discharge_coefficient)).sqrt();
    drop_pa * (root - jet) / (root + jet)
}
