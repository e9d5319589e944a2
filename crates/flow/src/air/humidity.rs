//! Saturation pressure of water, dew point and relative humidity.

use super::{Air, COLDEST_K, HOTTEST_K};
use crate::FlowError;
use crate::error::within;

const ICE_POINT_K: f64 = 273.15;

/// CIPM-2007 equation (A1.1), no check of range.
fn over_water_pa(temperature_k: f64) -> f64 {
    let t = temperature_k;
    libm::exp(1.237_884_7e-5 * t * t - 1.912_131_6e-2 * t + 33.937_110_47 - 6.343_164_5e3 / t)
}

/// IAPWS R14-08(2011) equation (6), no check of range.
fn over_ice_pa(temperature_k: f64) -> f64 {
    let theta = temperature_k / 273.16;
    let sum = -0.212_144_006e2 * libm::pow(theta, 0.333_333_333e-2)
        + 0.273_203_819e2 * libm::pow(theta, 0.120_666_667e1)
        - 0.610_598_130e1 * libm::pow(theta, 0.170_333_333e1);
    611.657 * libm::exp(sum / theta)
}

fn saturated_pa(temperature_k: f64) -> f64 {
    if temperature_k < ICE_POINT_K { over_ice_pa(temperature_k) } else { over_water_pa(temperature_k) }
}

/// Vapor pressure at saturation in air, `f(p, t) · p_sv(t)`.
pub(super) fn saturated_in_air_pa(temperature_k: f64, pressure_pa: f64) -> f64 {
    let celsius = temperature_k - ICE_POINT_K;
    (1.000_62 + 3.14e-8 * pressure_pa + 5.6e-7 * celsius * celsius) * saturated_pa(temperature_k)
}

/// Gives the saturation vapor pressure over liquid water, Pa.
///
/// `p_sv = exp(A T² + B T + C + D/T)`, `T` in K. Valid from -50 (undercooled)
/// to 60 °C; at 300 K it is 1.2·10⁻⁵ above IAPWS-IF97. Errors outside. Source:
/// CIPM-2007 (Metrologia 45 (2008) 149), equation (A1.1).
///
/// ```
/// let p = airshelf_flow::air::saturation_vapor_pressure_over_water_pa(300.0)?;
/// assert!((p - 3536.632).abs() < 1e-3);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn saturation_vapor_pressure_over_water_pa(temperature_k: f64) -> Result<f64, FlowError> {
    within("temperature in kelvin", temperature_k, COLDEST_K, HOTTEST_K)?;
    Ok(over_water_pa(temperature_k))
}

/// Gives the saturation vapor pressure over ice, Pa.
///
/// `ln(p/p_t) = θ⁻¹ Σ aᵢ θ^bᵢ`, `θ = T/273.16 K`, `p_t = 611.657 Pa`. Valid
/// from -50 to 0.01 °C here. Errors outside. Source: IAPWS R14-08(2011),
/// equation (6), from memory.
pub fn saturation_vapor_pressure_over_ice_pa(temperature_k: f64) -> Result<f64, FlowError> {
    within("temperature in kelvin", temperature_k, COLDEST_K, 273.16)?;
    Ok(over_ice_pa(temperature_k))
}

/// Gives the saturation vapor pressure, Pa: over ice below 0 °C, else over
/// water.
///
/// Valid from -50 to 60 °C; the two meet at 0 °C within 1·10⁻⁴. Errors outside.
/// Sources: see [`saturation_vapor_pressure_over_water_pa`] and
/// [`saturation_vapor_pressure_over_ice_pa`].
pub fn saturation_vapor_pressure_pa(temperature_k: f64) -> Result<f64, FlowError> {
    within("temperature in kelvin", temperature_k, COLDEST_K, HOTTEST_K)?;
    Ok(saturated_pa(temperature_k))
}

/// Gives relative humidity (0 to 1) from temperature and dew point.
///
/// `h = p_sv(t_d)/p_sv(t)`: the enhancement factor, which depends on pressure,
/// is taken as equal on both sides (within 3·10⁻⁴ of `h` at room temperature).
/// Valid from -50 to 60 °C; errors outside, or with the dew point above the
/// temperature. Source: definition, with CIPM-2007 saturation pressure.
///
/// ```
/// let h = airshelf_flow::air::relative_humidity_from_dew_point(293.15, 283.15)?;
/// assert!((h - 0.525_023).abs() < 1e-6);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn relative_humidity_from_dew_point(temperature_k: f64, dew_point_k: f64) -> Result<f64, FlowError> {
    within("temperature in kelvin", temperature_k, COLDEST_K, HOTTEST_K)?;
    within("dew point in kelvin", dew_point_k, COLDEST_K, temperature_k)?;
    Ok(saturated_pa(dew_point_k) / saturated_pa(temperature_k))
}

impl Air {
    /// Gives relative humidity, 0 to 1 (above 1 when air was moved to a cooler
    /// state without raining out).
    ///
    /// `h = x_v p / (f p_sv)`. Source: CIPM-2007, appendix 1.
    #[must_use]
    pub fn relative_humidity(&self) -> f64 {
        self.vapor_fraction * self.pressure_pa / saturated_in_air_pa(self.temperature_k, self.pressure_pa)
    }

    /// Gives the dew point (frost point below 0 °C), K.
    ///
    /// Solves `x_v p = f(p, t_d) p_sv(t_d)` by bisection. Errors when the air
    /// is drier than a frost point of -50 °C. Source: CIPM-2007, appendix 1.
    pub fn dew_point_k(&self) -> Result<f64, FlowError> {
        let vapor_pa = self.vapor_fraction * self.pressure_pa;
        let excess = |t: f64| saturated_in_air_pa(t, self.pressure_pa) - vapor_pa;
        let (mut low, mut high) = (COLDEST_K, HOTTEST_K);
        if excess(low) > 0.0 || excess(high) < 0.0 {
            return Err(FlowError::NoSolution { what: "the dew point lies outside -50 to 60 °C" });
        }
        // 60 halvings of 110 K end far below the last bit of a kelvin.
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if excess(middle) < 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(0.5 * (low + high))
    }
}
