//! The units that people want to see.

use crate::{Dimension, Unit};

/// A system of units for screens and reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum System {
    /// Inches, CFM, inches of water, degrees Fahrenheit.
    Us,
    /// Millimeters, liters per second, kilopascals, degrees Celsius.
    Si,
}

/// Gives the unit in which people of the trade write a dimension. Source: common practice.
///
/// ```
/// use airshelf_units::{Dimension, System, Unit, usual};
/// assert_eq!(usual(Dimension::Flow, System::Us), Unit::CFM);
/// assert_eq!(usual(Dimension::Pressure, System::Si), Unit::KPA);
/// ```
pub fn usual(dimension: Dimension, system: System) -> Unit {
    let (us, si) = match dimension {
        Dimension::Length => (Unit::INCH, Unit::MM),
        Dimension::Area => (Unit::SQ_IN, Unit::SQ_CM),
        Dimension::Volume => (Unit::CUBIC_INCH, Unit::CC),
        Dimension::Pressure => (Unit::IN_H2O, Unit::KPA),
        Dimension::Flow => (Unit::CFM, Unit::L_S),
        Dimension::MassFlow => (Unit::LB_MIN, Unit::KG_H),
        Dimension::Temperature => (Unit::FAHRENHEIT, Unit::CELSIUS),
        Dimension::TemperatureDifference => (Unit::DELTA_F, Unit::DELTA_C),
        Dimension::Ratio => (Unit::PERCENT, Unit::PERCENT),
        Dimension::Density => (Unit::LB_FT3, Unit::KG_M3),
        Dimension::Viscosity => (Unit::MICRO_PA_S, Unit::MICRO_PA_S),
        Dimension::Speed => (Unit::FT_S, Unit::M_S),
        Dimension::Mass => (Unit::OUNCE, Unit::GRAM),
        Dimension::RotationalSpeed => (Unit::RPM, Unit::RPM),
        Dimension::Power => (Unit::HP, Unit::KW),
        Dimension::Time => (Unit::SECOND, Unit::SECOND),
        Dimension::Angle => (Unit::DEGREE, Unit::DEGREE),
        Dimension::Count => (Unit::COUNT, Unit::COUNT),
    };
    match system {
        System::Us => us,
        System::Si => si,
    }
}

/// Gives the unit of a barometer, which is not that of a test pressure. Source: common practice.
pub fn barometer(system: System) -> Unit {
    match system {
        System::Us => Unit::IN_HG,
        System::Si => Unit::HPA,
    }
}

/// Gives the unit in which somebody of a system reads a quantity written in `unit`: the same where it is of the system.
///
/// ```
/// use airshelf_units::{System, Unit, in_system};
/// assert_eq!(in_system(Unit::KPA, System::Us), Unit::IN_H2O);
/// assert_eq!(in_system(Unit::IN_HG, System::Us), Unit::IN_HG);
/// assert_eq!(in_system(Unit::CFM, System::Si), Unit::L_S);
/// ```
pub fn in_system(unit: Unit, system: System) -> Unit {
    let Some(other) = counterpart(unit) else { return unit };
    let (us, si) = (usual(unit.dimension(), System::Us), usual(unit.dimension(), System::Si));
    let metric = us != si && (unit.factor() == si.factor() || is_metric(unit));
    if metric == (system == System::Si) || us == si { unit } else { other }
}

/// Gives the unit in which to repeat a quantity for somebody of the other system.
pub(crate) fn counterpart(unit: Unit) -> Option<Unit> {
    let by_barometer = [barometer(System::Us), barometer(System::Si), Unit::MBAR, Unit::MM_HG];
    let (us, si) = if by_barometer.contains(&unit) {
        (barometer(System::Us), barometer(System::Si))
    } else {
        (usual(unit.dimension(), System::Us), usual(unit.dimension(), System::Si))
    };
    if us == si {
        return (unit != si && unit.factor() != si.factor() && unit != unit.dimension().si_unit())
            .then_some(si);
    }
    Some(if unit.factor() == si.factor() || is_metric(unit) { us } else { si })
}

fn is_metric(unit: Unit) -> bool {
    // Every other metric row is a power of ten of its SI unit, or counts it by the minute or hour.
    let factor = unit.factor();
    [1.0, 60.0, 3600.0].iter().any(|times| {
        let power = libm::log10(factor * times);
        (power - power.round()).abs() < 1e-12
    }) || [Unit::MM_H2O, Unit::CM_H2O, Unit::MM_HG, Unit::HP_METRIC].contains(&unit)
}
