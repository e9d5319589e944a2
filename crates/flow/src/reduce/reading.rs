//! A reading and its conditions.

use crate::air::Air;
use crate::orifice::Orifice;

/// What the bench showed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Indicated {
    /// A flow.
    Direct {
        /// As shown, m³/s.
        flow_m3_s: f64,
    },
    /// A percentage of a range.
    PercentOfRange {
        /// As shown, 0 to 110.
        percent: f64,
        /// Flow at 100 %, m³/s.
        range_m3_s: f64,
    },
    /// A pressure drop over an orifice plate in a pipe (ISO 5167-2).
    Orifice {
        /// The plate and its pipe.
        orifice: Orifice,
        /// Drop over its taps, Pa.
        drop_pa: f64,
        /// Absolute pressure before it, Pa.
        upstream_pa: f64,
    },
    /// A pressure drop over a sharp-edged plate without an upstream pipe.
    Plate {
        /// Bore, m.
        diameter_m: f64,
        /// Discharge coefficient; assumed when not stated.
        coefficient: Option<f64>,
        /// Drop over it, Pa.
        drop_pa: f64,
        /// Absolute pressure before it, Pa.
        upstream_pa: f64,
    },
}

/// What kind of meter shows the flow; a computed [`Indicated::Orifice`] or
/// [`Indicated::Plate`] is known by itself, and its kind is not asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MeterKind {
    /// An orifice in the same air as the part, on a scale in volume flow made
    /// for air of one density.
    SameAir,
    /// Shows the volume that passes it, in its own air.
    Volumetric,
    /// Shows mass, on a scale in volume flow of air of one density.
    Mass,
    /// Not known: no flow at reference air.
    Unknown,
}

/// Fixture leakage as it was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FixtureLeakage {
    /// Leakage, with the bench factor of its own range applied, m³/s.
    pub flow_m3_s: f64,
    /// Pressure at which it was read, Pa.
    pub at_pa: f64,
    /// Its standard uncertainty, where known, m³/s.
    pub standard_uncertainty_m3_s: Option<f64>,
}

/// Standard uncertainties of what a reading was made of; `None` is not known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ReadingUncertainty {
    /// Of the indicated flow, m³/s.
    pub indicated_m3_s: Option<f64>,
    /// Of the bench factor, relative.
    pub bench_factor_relative: Option<f64>,
    /// Of the actual pressure, Pa.
    pub actual_pressure_pa: Option<f64>,
    /// Of the temperature difference between part and meter, K.
    pub part_to_meter_k: Option<f64>,
    /// Of the density at the part, relative.
    pub density_relative: Option<f64>,
}

/// One reading and its conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// What the bench showed.
    pub indicated: Indicated,
    /// What kind of meter showed it.
    pub meter: MeterKind,
    /// Density that the meter's scale was made for, kg/m³.
    pub scale_density_kg_m3: Option<f64>,
    /// Factor from check-plate runs; 1 where there are none.
    pub bench_factor: f64,
    /// Fixture leakage, where it was read.
    pub leakage: Option<FixtureLeakage>,
    /// Pressure during the reading, Pa; `None` when it was not written.
    pub actual_pressure_pa: Option<f64>,
    /// Pressure asked for, Pa.
    pub set_pressure_pa: f64,
    /// Air at the part.
    pub part_air: Option<Air>,
    /// Temperature of the air at the meter, K; taken as at the part if `None`.
    pub meter_temperature_k: Option<f64>,
    /// Absolute pressure at a volumetric meter, Pa; as at the part if `None`.
    pub meter_pressure_pa: Option<f64>,
    /// Density of the reference air, kg/m³.
    pub reference_density_kg_m3: f64,
    /// What is known about the uncertainty of all these.
    pub uncertainty: ReadingUncertainty,
}
