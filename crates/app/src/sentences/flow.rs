//! Refusals and cautions of the flow formulas in a person's units.

use airshelf_flow::{Caution, FlowError, Limit};
use airshelf_units::{Digits, Dimension, System, show, show_number, usual};

/// Words what a person should know beside a computed value.
///
/// ```
/// use airshelf_app::sentences::caution;
/// use airshelf_app::units::System;
/// use airshelf_flow::Caution;
/// let far = Caution::FarFromMeasured { from_pa: 4981.8, to_pa: 1370.0 };
/// assert!(caution(&far, System::Us).starts_with("Carried from 20 inH2O to 5.5 inH2O"));
/// assert!(caution(&far, System::Si).starts_with("Carried from 4.98 kPa to 1.37 kPa"));
/// ```
pub fn caution(caution: &Caution, system: System) -> String {
    let pressure = |pa: f64| in_words(pa, Dimension::Pressure, system);
    let flow = |m3_s: f64| in_words(m3_s, Dimension::Flow, system);
    match *caution {
        Caution::AirOutsideStatedRange { temperature_k, pressure_pa } => {
            let warm = |k: f64| in_words(k, Dimension::Temperature, system);
            let weighs = |pa: f64| show(pa, airshelf_units::barometer(system), Digits::Significant(3));
            format!(
                "Air at {} and {} is outside {} to {} and {} to {}, the range stated for the density formula; up to {} a real-gas model differs by less than 0.01 %.",
                warm(temperature_k),
                weighs(pressure_pa),
                warm(288.15),
                warm(300.15),
                weighs(60e3),
                weighs(110e3),
                warm(313.15)
            )
        }
        Caution::Expansibility { from_pa, to_pa, change } => format!(
            "From {} to {} the air expands differently: about {} % of the flow for a sharp-edged opening, which the power law leaves out.",
            pressure(from_pa),
            pressure(to_pa),
            show_number(100.0 * change.abs(), Digits::Decimals(1))
        ),
        Caution::FarFromMeasured { from_pa, to_pa } => format!(
            "Carried from {} to {} by an exponent alone; parts with media do not follow the square root. Take a sweep to know.",
            pressure(from_pa),
            pressure(to_pa)
        ),
        Caution::ActualPressureMissing { set_pa } => {
            format!("No actual pressure was written; it is taken as the set {}.", pressure(set_pa))
        }
        Caution::ScaleDensityAssumed { density_kg_m3 } => format!(
            "The air that the flow scale was made for is not known; {} is taken.",
            show(density_kg_m3, usual(Dimension::Density, system), Digits::Significant(4))
        ),
        Caution::BeyondTestedFlow { tested_m3_s, flow_m3_s } => format!(
            "The part was tested at {} and is used at {}, outside 0.8 to 1.25 times; only bounds are known.",
            flow(tested_m3_s),
            flow(flow_m3_s)
        ),
        Caution::AboveSweep { highest_m3_s, flow_m3_s } => {
            format!("{} is above the highest swept flow of {}.", flow(flow_m3_s), flow(highest_m3_s))
        }
        Caution::CoefficientAssumed { .. }
        | Caution::NearRange { .. }
        | Caution::MeterUnknown
        | Caution::AirMissing
        | Caution::NegativeCoefficient { .. }
        | Caution::SteadyFlow { .. }
        | Caution::DeepDepression { .. }
        | Caution::FourPointsUnchecked => caution.to_string(),
    }
}

/// Words why a formula refuses its inputs.
///
/// ```
/// use airshelf_app::sentences::refusal;
/// use airshelf_app::units::System;
/// use airshelf_flow::FlowError;
/// let beyond = FlowError::BeyondSweep { flow_m3_s: 0.2, limit_m3_s: 0.15 };
/// assert!(refusal(&beyond, System::Us).starts_with("424 CFM is beyond 318 CFM"));
/// ```
pub fn refusal(error: &FlowError, system: System) -> String {
    let pressure = |pa: f64| in_words(pa, Dimension::Pressure, system);
    let flow = |m3_s: f64| in_words(m3_s, Dimension::Flow, system);
    let of = |quantity: &str, value: f64| match dimension_of(quantity) {
        Some(dimension) if value.is_finite() => in_words(value, dimension, system),
        _ => short(value, Digits::Significant(4)),
    };
    match *error {
        FlowError::NotPositive { quantity, value } => {
            format!("{} must be above zero, but is {}", plain(quantity), of(quantity, value))
        }
        FlowError::OutOfRange { quantity, value, low, high } => {
            let (name, value) = (plain(quantity), of(quantity, value));
            match (low.abs() < f64::MAX, high < f64::MAX) {
                (true, false) => format!("{name} is {value}, but must be at least {}", of(quantity, low)),
                (false, true) => format!("{name} is {value}, but must be at most {}", of(quantity, high)),
                (false, false) => format!("{name} is {value}, which is no number to compute with"),
                (true, true) => format!(
                    "{name} is {value}, but must lie between {} and {}",
                    of(quantity, low),
                    of(quantity, high)
                ),
            }
        }
        FlowError::OutsideLimit { limit, value, bound, clause } => {
            let (what, quantity) = match limit {
                Limit::BoreTooSmall => ("the plate's bore must be at least", "bore"),
                Limit::PipeTooNarrow => ("the pipe's diameter must be at least", "diameter"),
                Limit::PipeTooWide => ("the pipe's diameter must be at most", "diameter"),
                _ => return error.to_string(),
            };
            format!("{what} {}, but is {} ({clause})", of(quantity, bound), of(quantity, value))
        }
        FlowError::TooFarFromSetPressure { actual_pa, set_pa, largest_fraction } => format!(
            "{} is more than {} % from the set {}: a sweep is needed",
            pressure(actual_pa),
            show_number(100.0 * largest_fraction, Digits::Significant(2)),
            pressure(set_pa)
        ),
        FlowError::BeyondSweep { flow_m3_s, limit_m3_s } => {
            format!("{} is beyond {}, 1.25 times the highest swept flow", flow(flow_m3_s), flow(limit_m3_s))
        }
        FlowError::LeakageExceedsFlow { leakage_m3_s, flow_m3_s } => {
            format!("leakage of {} is not below the flow of {}", flow(leakage_m3_s), flow(flow_m3_s))
        }
        FlowError::TooFewPoints { .. }
        | FlowError::UnequalLists { .. }
        | FlowError::Degenerate { .. }
        | FlowError::NoSolution { .. }
        | FlowError::Missing { .. } => error.to_string(),
    }
}

/// Three significant digits and the unit.
fn in_words(si: f64, dimension: Dimension, system: System) -> String {
    let unit = usual(dimension, system);
    format!("{} {}", short(unit.from_si(si), Digits::Significant(3)), unit.shown())
}

/// A number without trailing zeros.
fn short(value: f64, digits: Digits) -> String {
    let mut number = show_number(value, digits);
    if number.contains('.') && !number.contains('e') {
        number.truncate(number.trim_end_matches('0').trim_end_matches('.').len());
    }
    number
}

/// The name of a quantity without the SI unit that a formula's own message counts it in.
fn plain(quantity: &str) -> &str {
    quantity.split(" in ").next().unwrap_or(quantity)
}

/// What a quantity that a formula names is measured in; none for ratios and what people know no unit of.
fn dimension_of(quantity: &str) -> Option<Dimension> {
    let names = |words: &[&str]| words.iter().any(|word| plain(quantity).contains(word));
    if names(&["humidity"]) {
        return Some(Dimension::Ratio);
    }
    if names(&[
        "share",
        "ratio",
        "efficiency",
        "coefficient",
        "confidence",
        "exponent",
        "fraction",
        "margin",
        "uncertainty",
    ]) {
        return None;
    }
    [
        (&["pressure", "drop", "barometer"][..], Dimension::Pressure),
        (&["temperature"], Dimension::Temperature),
        (&["density"], Dimension::Density),
        (&["viscosity"], Dimension::Viscosity),
        (&["displacement"], Dimension::Volume),
        (&["area"], Dimension::Area),
        (&["flow", "leakage"], Dimension::Flow),
        (
            &[
                "diameter",
                "bore",
                "height",
                "depth",
                "length",
                "width",
                "radius",
                "gap",
                "tolerance",
                "room",
                "distance",
                "stack",
            ],
            Dimension::Length,
        ),
    ]
    .into_iter()
    .find(|(words, _)| names(words))
    .map(|(_, dimension)| dimension)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refused_quantity_is_told_in_the_units_of_the_person() {
        let narrow = FlowError::OutsideLimit {
            limit: Limit::PipeTooNarrow,
            value: 0.0254,
            bound: 0.05,
            clause: "ISO 5167-2:2003, 5.3.1",
        };
        assert_eq!(
            refusal(&narrow, System::Us),
            "the pipe's diameter must be at least 1.97 in, but is 1 in (ISO 5167-2:2003, 5.3.1)"
        );
        assert!(refusal(&narrow, System::Si).contains("50 mm, but is 25.4 mm"));
        let cold = FlowError::OutOfRange { quantity: "temperature", value: 200.0, low: 223.15, high: 333.15 };
        assert_eq!(
            refusal(&cold, System::Us),
            "temperature is -99.7 °F, but must lie between -58 °F and 140 °F"
        );
        let share =
            FlowError::OutOfRange { quantity: "volumetric efficiency", value: 3.0, low: 0.0, high: 2.0 };
        assert_eq!(refusal(&share, System::Us), "volumetric efficiency is 3, but must lie between 0 and 2");
    }
}
