//! Moist air: density, humidity, viscosity, speed of sound.
//!
//! An [`Air`] is temperature, pressure and how much water vapor; everything
//! else follows from it.

mod density;
mod humidity;
mod sound;
mod viscosity;

pub use density::{AirUncertainty, density_standard_uncertainty_kg_m3};
pub use humidity::{
    relative_humidity_from_dew_point, saturation_vapor_pressure_over_ice_pa,
    saturation_vapor_pressure_over_water_pa, saturation_vapor_pressure_pa,
};
pub use viscosity::dry_air_viscosity_pa_s;

use crate::error::{positive, within};
use crate::{Caution, FlowError};

/// Ratio of specific heats of air, taken as constant (dry air at room
/// temperature; common handbook value).
pub const ISENTROPIC_EXPONENT: f64 = 1.4;

/// Mole fraction of carbon dioxide that CIPM-2007 takes as usual in a room.
pub const USUAL_CO2_FRACTION: f64 = 0.0004;

/// Least temperature taken, -50 °C.
const COLDEST_K: f64 = 223.15;
/// Greatest temperature taken, 60 °C.
const HOTTEST_K: f64 = 333.15;

/// Moist air at one temperature and pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    temperature_k: f64,
    pressure_pa: f64,
    vapor_fraction: f64,
    co2_fraction: f64,
}

impl Air {
    /// Makes air from relative humidity.
    ///
    /// `x_v = h · f(p, t) · p_sv(t) / p` with `h` relative humidity (0 to 1),
    /// `p` pressure (Pa), `t` temperature, `f` the enhancement factor.
    ///
    /// Valid from -50 to 60 °C and 30 to 120 kPa; below 0 °C humidity is over
    /// ice. Errors when an input is outside. Source: CIPM-2007 (Picard, Davis,
    /// Gläser, Fujii, Metrologia 45 (2008) 149), appendix 1, constants checked
    /// against several public transcriptions.
    ///
    /// ```
    /// let air = airshelf_flow::air::Air::from_relative_humidity(293.15, 100_000.0, 0.5)?;
    /// assert!((air.density_kg_m3() - 1.183_557).abs() < 1e-6);
    /// # Ok::<(), airshelf_flow::FlowError>(())
    /// ```
    pub fn from_relative_humidity(
        temperature_k: f64,
        pressure_pa: f64,
        relative_humidity: f64,
    ) -> Result<Self, FlowError> {
        within("relative humidity", relative_humidity, 0.0, 1.0)?;
        let dry = Self::dry(temperature_k, pressure_pa)?;
        let vapor_pa = relative_humidity * humidity::saturated_in_air_pa(temperature_k, pressure_pa);
        Ok(Self { vapor_fraction: vapor_pa / pressure_pa, ..dry })
    }

    /// Makes air from its dew point (frost point below 0 °C).
    ///
    /// `x_v = f(p, t_d) · p_sv(t_d) / p`. Validity and source as
    /// [`Air::from_relative_humidity`]; errors also when the dew point is
    /// above the temperature.
    pub fn from_dew_point(temperature_k: f64, pressure_pa: f64, dew_point_k: f64) -> Result<Self, FlowError> {
        let dry = Self::dry(temperature_k, pressure_pa)?;
        within("dew point in kelvin", dew_point_k, COLDEST_K, temperature_k)?;
        Ok(Self {
            vapor_fraction: humidity::saturated_in_air_pa(dew_point_k, pressure_pa) / pressure_pa,
            ..dry
        })
    }

    /// Makes dry air. Validity and errors as [`Air::from_relative_humidity`].
    pub fn dry(temperature_k: f64, pressure_pa: f64) -> Result<Self, FlowError> {
        within("air temperature in kelvin", temperature_k, COLDEST_K, HOTTEST_K)?;
        within("air pressure in pascal", pressure_pa, 30_000.0, 120_000.0)?;
        Ok(Self { temperature_k, pressure_pa, vapor_fraction: 0.0, co2_fraction: USUAL_CO2_FRACTION })
    }

    /// Gives the air of an engine test room at reference: 25 °C, 99 kPa, dry.
    ///
    /// The usual reference condition for engine power (ISO 1585 and kin; from
    /// memory).
    #[must_use]
    pub const fn engine_reference() -> Self {
        Self {
            temperature_k: 298.15,
            pressure_pa: 99_000.0,
            vapor_fraction: 0.0,
            co2_fraction: USUAL_CO2_FRACTION,
        }
    }

    /// Gives reference air for flows: 20 °C, 101.325 kPa, dry (common practice,
    /// no source).
    #[must_use]
    pub const fn reference() -> Self {
        Self {
            temperature_k: 293.15,
            pressure_pa: 101_325.0,
            vapor_fraction: 0.0,
            co2_fraction: USUAL_CO2_FRACTION,
        }
    }

    /// Gives the same air with another mole fraction of carbon dioxide (0 to 0.01).
    pub fn with_co2_fraction(self, co2_fraction: f64) -> Result<Self, FlowError> {
        within("carbon dioxide fraction", co2_fraction, 0.0, 0.01)?;
        Ok(Self { co2_fraction, ..self })
    }

    /// Gives the same air, water vapor included, at another temperature and
    /// pressure, as when it has passed from the part to the meter.
    ///
    /// Errors when the state is outside the limits of [`Air::dry`].
    pub fn moved_to(self, temperature_k: f64, pressure_pa: f64) -> Result<Self, FlowError> {
        Ok(Self {
            vapor_fraction: self.vapor_fraction,
            co2_fraction: self.co2_fraction,
            ..Self::dry(temperature_k, pressure_pa)?
        })
    }

    /// Temperature, K.
    #[must_use]
    pub fn temperature_k(&self) -> f64 {
        self.temperature_k
    }

    /// Absolute pressure, Pa.
    #[must_use]
    pub fn pressure_pa(&self) -> f64 {
        self.pressure_pa
    }

    /// Mole fraction of water vapor.
    #[must_use]
    pub fn vapor_fraction(&self) -> f64 {
        self.vapor_fraction
    }

    /// Tells whether the air is outside the range stated for CIPM-2007,
    /// 600 to 1100 hPa and 15 to 27 °C.
    #[must_use]
    pub fn caution(&self) -> Option<Caution> {
        let inside = (288.15..=300.15).contains(&self.temperature_k)
            && (60_000.0..=110_000.0).contains(&self.pressure_pa);
        (!inside).then_some(Caution::AirOutsideStatedRange {
            temperature_k: self.temperature_k,
            pressure_pa: self.pressure_pa,
        })
    }
}

/// Turns a volume flow at one density into the flow at another density with the
/// same pressure drop: `Q₂ = Q₁ (ρ₁/ρ₂)^½`.
///
/// `Q` m³/s, `ρ` kg/m³. Holds where the square-root law does (sharp edges,
/// free paths); laminar media follow viscosity instead. Errors when a density
/// is not above zero. Source: Bernoulli's equation.
///
/// ```
/// let cfm = airshelf_flow::air::flow_at_density_m3_s(500.0, 1.14, 1.2)?;
/// assert!((cfm - 487.339_717).abs() < 1e-6); // the unit carries through
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn flow_at_density_m3_s(
    flow_m3_s: f64,
    density_kg_m3: f64,
    other_density_kg_m3: f64,
) -> Result<f64, FlowError> {
    positive("density", density_kg_m3)?;
    positive("other density", other_density_kg_m3)?;
    Ok(flow_m3_s * (density_kg_m3 / other_density_kg_m3).sqrt())
}
