//! What a quantity measures.

use crate::Unit;

/// What a quantity measures; two units convert into each other only within one dimension.
///
/// A temperature and a difference of temperatures are two dimensions, because only the first has an offset. A pressure
/// never gets one: a gauge or differential pressure is made absolute by adding the ambient pressure, outside this crate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Dimension {
    /// Length, m.
    Length,
    /// Area, m².
    Area,
    /// Volume, m³.
    Volume,
    /// Pressure or difference of pressures, Pa.
    Pressure,
    /// Volume flow, m³/s.
    Flow,
    /// Mass flow, kg/s.
    MassFlow,
    /// Thermodynamic temperature, K.
    Temperature,
    /// Difference of temperatures, K.
    TemperatureDifference,
    /// Ratio of two like quantities, 1.
    Ratio,
    /// Density, kg/m³.
    Density,
    /// Dynamic viscosity, Pa·s.
    Viscosity,
    /// Speed, m/s.
    Speed,
    /// Mass, kg.
    Mass,
    /// Rotational speed, rad/s.
    RotationalSpeed,
    /// Power, W.
    Power,
    /// Duration, s.
    Time,
    /// Plane angle, rad.
    Angle,
    /// Number of things, 1.
    Count,
}

impl Dimension {
    /// Every dimension.
    pub const ALL: [Dimension; 18] = [
        Dimension::Length,
        Dimension::Area,
        Dimension::Volume,
        Dimension::Pressure,
        Dimension::Flow,
        Dimension::MassFlow,
        Dimension::Temperature,
        Dimension::TemperatureDifference,
        Dimension::Ratio,
        Dimension::Density,
        Dimension::Viscosity,
        Dimension::Speed,
        Dimension::Mass,
        Dimension::RotationalSpeed,
        Dimension::Power,
        Dimension::Time,
        Dimension::Angle,
        Dimension::Count,
    ];

    /// Names the dimension in lower case, as in a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Length => "length",
            Dimension::Area => "area",
            Dimension::Volume => "volume",
            Dimension::Pressure => "pressure",
            Dimension::Flow => "flow",
            Dimension::MassFlow => "mass flow",
            Dimension::Temperature => "temperature",
            Dimension::TemperatureDifference => "temperature difference",
            Dimension::Ratio => "ratio",
            Dimension::Density => "density",
            Dimension::Viscosity => "viscosity",
            Dimension::Speed => "speed",
            Dimension::Mass => "mass",
            Dimension::RotationalSpeed => "rotational speed",
            Dimension::Power => "power",
            Dimension::Time => "time",
            Dimension::Angle => "angle",
            Dimension::Count => "count",
        }
    }

    /// Gives the coherent SI unit, in which every `si` value of this crate is expressed.
    pub fn si_unit(self) -> Unit {
        match self {
            Dimension::Length => Unit::M,
            Dimension::Area => Unit::M2,
            Dimension::Volume => Unit::M3,
            Dimension::Pressure => Unit::PASCAL,
            Dimension::Flow => Unit::M3_S,
            Dimension::MassFlow => Unit::KG_S,
            Dimension::Temperature => Unit::KELVIN,
            Dimension::TemperatureDifference => Unit::DELTA_K,
            Dimension::Ratio => Unit::RATIO,
            Dimension::Density => Unit::KG_M3,
            Dimension::Viscosity => Unit::PA_S,
            Dimension::Speed => Unit::M_S,
            Dimension::Mass => Unit::KG,
            Dimension::RotationalSpeed => Unit::RAD_S,
            Dimension::Power => Unit::WATT,
            Dimension::Time => Unit::SECOND,
            Dimension::Angle => Unit::RADIAN,
            Dimension::Count => Unit::COUNT,
        }
    }

    /// Lists the symbols of the units that measure this, the usual ones first.
    pub fn symbols(self) -> Vec<&'static str> {
        Unit::all().filter(|unit| unit.dimension() == self).map(Unit::symbol).collect()
    }
}
