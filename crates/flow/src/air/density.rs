//! Density of moist air, CIPM-2007.

use super::Air;
use crate::FlowError;
use crate::error::within;

const MOLAR_GAS_J_MOL_K: f64 = 8.314_472;
const WATER_KG_MOL: f64 = 18.015_28e-3;
/// Relative standard uncertainty of the CIPM-2007 equation itself.
const EQUATION_RELATIVE: f64 = 22e-6;

impl Air {
    /// Gives the density, kg/m³.
    ///
    /// `ρ = p M_a / (Z R T) · [1 − x_v (1 − M_v/M_a)]` with `p` pressure (Pa),
    /// `T` temperature (K), `x_v` mole fraction of vapor, `M_a = [28.96546 +
    /// 12.011 (x_CO2 − 0.0004)]·10⁻³` kg/mol, `M_v = 18.01528·10⁻³` kg/mol,
    /// `R = 8.314472` J/(mol K) and `Z` the compressibility of moist air.
    ///
    /// Stated range 600 to 1100 hPa, 15 to 27 °C, relative standard uncertainty
    /// 22·10⁻⁶ for the equation; from 0 to 40 °C a real-gas library (CoolProp
    /// 8.0.0, RP-1485 model) is 3·10⁻⁵ to 4·10⁻⁵ higher. Source: Picard et al.,
    /// Metrologia 45 (2008) 149, equation (1).
    #[must_use]
    pub fn density_kg_m3(&self) -> f64 {
        let dry_kg_mol = (28.965_46 + 12.011 * (self.co2_fraction - 0.0004)) * 1e-3;
        let x = self.vapor_fraction;
        self.pressure_pa * dry_kg_mol / (self.compressibility() * MOLAR_GAS_J_MOL_K * self.temperature_k)
            * (1.0 - x * (1.0 - WATER_KG_MOL / dry_kg_mol))
    }

    /// Compressibility of moist air, CIPM-2007 equation (A1.4).
    fn compressibility(&self) -> f64 {
        let (kelvin, x) = (self.temperature_k, self.vapor_fraction);
        let celsius = kelvin - 273.15;
        let reduced = self.pressure_pa / kelvin;
        1.0 - reduced
            * (1.581_23e-6 - 2.9331e-8 * celsius
                + 1.1043e-10 * celsius * celsius
                + (5.707e-6 - 2.051e-8 * celsius) * x
                + (1.9898e-4 - 2.376e-6 * celsius) * x * x)
            + reduced * reduced * (1.83e-11 - 0.765e-8 * x * x)
    }
}

/// Standard uncertainties of the three readings behind a density.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AirUncertainty {
    /// Of temperature, K.
    pub temperature_k: f64,
    /// Of pressure, Pa.
    pub pressure_pa: f64,
    /// Of relative humidity, as a fraction.
    pub relative_humidity: f64,
}

/// Gives the standard uncertainty of density, kg/m³.
///
/// `u²(ρ) = Σ (∂ρ/∂xᵢ)² u²(xᵢ) + (22·10⁻⁶ ρ)²` over temperature (K), pressure
/// (Pa) and relative humidity (1), uncorrelated; sensitivities by central
/// differences.
///
/// Validity and errors as [`Air::from_relative_humidity`]; errors also on a
/// negative uncertainty. Source: JCGM 100:2008 (GUM), 5.1.2, equation (10).
///
/// ```
/// use airshelf_flow::air::{AirUncertainty, density_standard_uncertainty_kg_m3};
/// let u = AirUncertainty { temperature_k: 1.0, ..Default::default() };
/// let u = density_standard_uncertainty_kg_m3(293.15, 101_325.0, 0.5, u)?;
/// assert!((u / 1.1993 - 0.0037).abs() < 1e-4); // 1 K is worth 0.37 %
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn density_standard_uncertainty_kg_m3(
    temperature_k: f64,
    pressure_pa: f64,
    relative_humidity: f64,
    uncertainty: AirUncertainty,
) -> Result<f64, FlowError> {
    within("uncertainty of temperature", uncertainty.temperature_k, 0.0, 50.0)?;
    within("uncertainty of pressure", uncertainty.pressure_pa, 0.0, 50_000.0)?;
    within("uncertainty of humidity", uncertainty.relative_humidity, 0.0, 1.0)?;
    let density = |t: f64, p: f64, h: f64| -> Result<f64, FlowError> {
        Ok(Air::from_relative_humidity(t, p, h)?.density_kg_m3())
    };
    let here = density(temperature_k, pressure_pa, relative_humidity)?;
    let (dt, dp, dh) = (0.01, 10.0, 0.01);
    let by_temperature = (density(temperature_k + dt, pressure_pa, relative_humidity)?
        - density(temperature_k - dt, pressure_pa, relative_humidity)?)
        / (2.0 * dt);
    let by_pressure = (density(temperature_k, pressure_pa + dp, relative_humidity)?
        - density(temperature_k, pressure_pa - dp, relative_humidity)?)
        / (2.0 * dp);
    // Humidity may stand at 0 or 1, where only one side exists.
    let (low, high) = ((relative_humidity - dh).max(0.0), (relative_humidity + dh).min(1.0));
    let by_humidity = (density(temperature_k, pressure_pa, high)?
        - density(temperature_k, pressure_pa, low)?)
        / (high - low);
    Ok([
        by_temperature * uncertainty.temperature_k,
        by_pressure * uncertainty.pressure_pa,
        by_humidity * uncertainty.relative_humidity,
        EQUATION_RELATIVE * here,
    ]
    .iter()
    .map(|share| share * share)
    .sum::<f64>()
    .sqrt())
}
