//! What a person should know beside a number: a code, quantities, a sentence.

use std::fmt;

/// Something that a person should know beside a number.
///
/// The sentence is the `Display` form; [`Caution::code`] is stable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Caution {
    /// Air outside the range for which the density formula was made.
    AirOutsideStatedRange {
        /// Temperature of the air.
        temperature_k: f64,
        /// Pressure of the air.
        pressure_pa: f64,
    },
    /// A plate that draws from the room is outside ISO 5167.
    CoefficientAssumed {
        /// Discharge coefficient used.
        coefficient: f64,
        /// Low end of what such plates show.
        low: f64,
        /// High end.
        high: f64,
    },
    /// Pressure changed so far that expansion of the air matters.
    Expansibility {
        /// Pressure drop measured at.
        from_pa: f64,
        /// Pressure drop carried to.
        to_pa: f64,
        /// Share of the flow, sharp-edged at beta 0.
        change: f64,
    },
    /// Flow carried by an exponent far from where it was measured.
    FarFromMeasured {
        /// Pressure drop measured at.
        from_pa: f64,
        /// Pressure drop carried to.
        to_pa: f64,
    },
    /// The reading fills nearly the whole range.
    NearRange {
        /// Flow as a fraction of the range.
        fraction: f64,
    },
    /// No actual pressure was written; it is taken as set.
    ActualPressureMissing {
        /// Set pressure.
        set_pa: f64,
    },
    /// The air that the flow scale was made for is not known.
    ScaleDensityAssumed {
        /// Density taken.
        density_kg_m3: f64,
    },
    /// The kind of meter is not known: no flow at reference air.
    MeterUnknown,
    /// Air at the part was not given.
    AirMissing,
    /// `k` is used outside 0.8 to 1.25 times the flow it was tested at.
    BeyondTestedFlow {
        /// Flow at which the part was tested.
        tested_m3_s: f64,
        /// Flow at which it is used.
        flow_m3_s: f64,
    },
    /// A flow above the sweep, but inside 1.25 times its highest flow.
    AboveSweep {
        /// Highest swept flow.
        highest_m3_s: f64,
        /// Flow asked for.
        flow_m3_s: f64,
    },
    /// A sweep's fit has a negative coefficient.
    NegativeCoefficient {
        /// Linear coefficient.
        a_pa_s_m3: f64,
        /// Square coefficient.
        b_pa_s2_m6: f64,
    },
    /// An engine draws in pulses; the computation is steady.
    SteadyFlow {
        /// Mean of the squared flow over the square of the mean, one cylinder
        /// per throat drawing half the cycle.
        factor: f64,
    },
    /// The depression is deep enough for the fixed inlet density to matter.
    DeepDepression {
        /// Depression over inlet pressure.
        fraction: f64,
    },
    /// Four points always fit exactly, so clicks are not checked.
    FourPointsUnchecked,
}

impl Caution {
    /// Names the caution for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::AirOutsideStatedRange { .. } => "air-outside-stated-range",
            Self::CoefficientAssumed { .. } => "coefficient-assumed",
            Self::Expansibility { .. } => "expansibility",
            Self::FarFromMeasured { .. } => "far-from-measured",
            Self::NearRange { .. } => "near-range",
            Self::ActualPressureMissing { .. } => "actual-pressure-missing",
            Self::ScaleDensityAssumed { .. } => "scale-density-assumed",
            Self::MeterUnknown => "meter-unknown",
            Self::AirMissing => "air-missing",
            Self::BeyondTestedFlow { .. } => "beyond-tested-flow",
            Self::AboveSweep { .. } => "above-sweep",
            Self::NegativeCoefficient { .. } => "negative-coefficient",
            Self::SteadyFlow { .. } => "steady-flow",
            Self::DeepDepression { .. } => "deep-depression",
            Self::FourPointsUnchecked => "four-points-unchecked",
        }
    }
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::AirOutsideStatedRange { temperature_k, pressure_pa } => write!(
                f,
                "Air at {:.1} °C and {:.1} kPa is outside 15 to 27 °C and 60 to 110 kPa, the range \
                 stated for the density formula; up to 40 °C a real-gas model differs by less than 0.01 %.",
                temperature_k - 273.15,
                pressure_pa / 1e3
            ),
            Self::CoefficientAssumed { coefficient, low, high } => write!(
                f,
                "A plate that draws from the room is outside ISO 5167; its coefficient of \
                 {coefficient:.3} is an assumption (sharp-edged plates show {low:.2} to {high:.2}). \
                 Calibrate it before trusting the absolute flow."
            ),
            Self::Expansibility { from_pa, to_pa, change } => write!(
                f,
                "From {:.2} kPa to {:.2} kPa the air expands differently: about {:.1} % of the flow \
                 for a sharp-edged opening, which the power law leaves out.",
                from_pa / 1e3,
                to_pa / 1e3,
                100.0 * change.abs()
            ),
            Self::FarFromMeasured { from_pa, to_pa } => write!(
                f,
                "Carried from {:.2} kPa to {:.2} kPa by an exponent alone; parts with media do not \
                 follow the square root. Take a sweep to know.",
                from_pa / 1e3,
                to_pa / 1e3
            ),
            Self::NearRange { fraction } => {
                write!(f, "The reading fills {:.1} % of the range; little room is left.", 100.0 * fraction)
            }
            Self::ActualPressureMissing { set_pa } => {
                write!(f, "No actual pressure was written; it is taken as the set {:.3} kPa.", set_pa / 1e3)
            }
            Self::ScaleDensityAssumed { density_kg_m3 } => write!(
                f,
                "The air that the flow scale was made for is not known; {density_kg_m3:.4} kg/m³ is taken."
            ),
            Self::MeterUnknown => f.write_str(
                "The kind of meter is not known, so there is no flow at reference air; percent loss \
                 on one evening does not need it.",
            ),
            Self::AirMissing => f.write_str(
                "Temperature and pressure of the air were not written, so the flow as tested is \
                 what the bench showed.",
            ),
            Self::BeyondTestedFlow { tested_m3_s, flow_m3_s } => write!(
                f,
                "The part was tested at {tested_m3_s:.4} m³/s and is used at {flow_m3_s:.4} m³/s, \
                 outside 0.8 to 1.25 times; only bounds are known."
            ),
            Self::AboveSweep { highest_m3_s, flow_m3_s } => {
                write!(f, "{flow_m3_s:.4} m³/s is above the highest swept flow of {highest_m3_s:.4} m³/s.")
            }
            Self::NegativeCoefficient { a_pa_s_m3, b_pa_s2_m6 } => write!(
                f,
                "The fit has a negative coefficient (a {a_pa_s_m3:.4e}, b {b_pa_s2_m6:.4e}); it \
                 describes these readings and nothing beyond them."
            ),
            Self::SteadyFlow { factor } => write!(
                f,
                "Computed for steady flow. An engine draws in pulses: with one cylinder per throat \
                 the flow-weighted drop can be about {factor:.1} times the steady one. Pulsation, \
                 signal and road turbulence are not modeled."
            ),
            Self::DeepDepression { fraction } => write!(
                f,
                "The depression is {:.0} % of the inlet pressure; the fixed inlet density used here \
                 is then a rough guide.",
                100.0 * fraction
            ),
            Self::FourPointsUnchecked => f.write_str(
                "Four reference points always fit exactly and reveal no misplaced click; mark five or more.",
            ),
        }
    }
}
