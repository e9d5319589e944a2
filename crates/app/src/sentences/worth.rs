//! What an evening at the bench is worth, once it is over, in words.

use super::verdict::percent;
use airshelf_units::{Digits, Dimension, System, show, show_number, usual};

/// How well a bench repeats. `from` is where that is known from, as reports say it.
///
/// ```
/// use airshelf_app::sentences::repeatability;
/// let words = repeatability(Some(0.21), Some(14.3), "history");
/// assert_eq!(
///     words,
///     "One fitting repeats to 0.21 % (standard deviation, 14 degrees of freedom), by this evening's repeats and earlier evenings."
/// );
/// ```
pub fn repeatability(scatter_percent: Option<f64>, freedom: Option<f64>, from: &str) -> String {
    let Some(scatter) = scatter_percent else {
        return "How well this bench repeats is not known: no assembly was refitted, and there is no earlier evening.".into();
    };
    let freedom = freedom
        .map_or(String::new(), |nu| format!(", {} degrees of freedom", show_number(nu, Digits::Decimals(0))));
    let by = match from {
        "session" => ", by this evening's repeats",
        "history" => ", by this evening's repeats and earlier evenings",
        "stated" => ", as stated; no repeat shows it",
        _ => "",
    };
    format!("One fitting repeats to {} (standard deviation{freedom}){by}.", percent(scatter))
}

/// The least difference that two usual assemblies of a group could show.
pub fn can_tell(resolvable_percent: f64, of_flow_m3_s: f64, system: System) -> String {
    let flow = show(
        of_flow_m3_s * resolvable_percent / 100.0,
        usual(Dimension::Flow, system),
        Digits::Significant(2),
    );
    format!("Two usual assemblies are told apart from {} ({flow}) on.", percent(resolvable_percent))
}

/// What would have to be true of a page without a scatter.
pub fn break_even(scatter_percent: f64) -> String {
    format!(
        "The largest difference on this page is real only if this bench repeats to better than {}.",
        percent(scatter_percent)
    )
}

/// Fixture leakage and how it is carried; `exponents` are the usual one, the lowest and the highest.
pub fn leakage(flow_m3_s: f64, at_pa: Option<f64>, exponents: (f64, f64, f64), system: System) -> String {
    let flow = show(flow_m3_s, usual(Dimension::Flow, system), Digits::Significant(2));
    let at = at_pa.map_or(String::new(), |pa| {
        format!(" at {}", show(pa, usual(Dimension::Pressure, system), Digits::Significant(3)))
    });
    let (usual, low, high) = exponents;
    format!(
        "Fixture leakage of {flow}{at} is taken off every reading, carried to its pressure by the exponent {usual} ({low} to {high})."
    )
}

/// Best and worst of a list, each with what it loses or flows. `told` is whether the bench can tell them apart.
pub fn best_and_worst(best: (&str, &str), worst: Option<(&str, &str)>, told: Option<bool>) -> String {
    let Some(worst) = worst else { return format!("{}: {}.", best.0, best.1) };
    let end = match told {
        Some(true) => ".",
        Some(false) => ": the bench cannot tell them apart.",
        None => ": one reading of each shows no scatter.",
    };
    format!("Best {}, {}; worst {}, {}{end}", best.0, best.1, worst.0, worst.1)
}

/// What a sweep says: how much of the drop at its highest flow grows with the flow, and how much with its square.
/// `curve` are the coefficients of the two, in SI units.
///
/// ```
/// use airshelf_app::sentences::swept;
/// use airshelf_app::units::System;
/// let words = swept("PF-1", 8, (1000.0, 40_000.0), 0.1, System::Si);
/// assert_eq!(
///     words,
///     "PF-1, 8 points: at 100 L/s the drop is 0.500 kPa; 0.100 kPa of it grow with the flow, as through media, and the rest with its square, as through openings."
/// );
/// ```
pub fn swept(name: &str, points: usize, curve: (f64, f64), highest_m3_s: f64, system: System) -> String {
    let pressure = |pa: f64| show(pa, usual(Dimension::Pressure, system), Digits::Significant(3));
    let (linear, square) = (curve.0 * highest_m3_s, curve.1 * highest_m3_s * highest_m3_s);
    let at = show(highest_m3_s, usual(Dimension::Flow, system), Digits::Significant(3));
    let whole = pressure(linear + square);
    let parts = if linear < 0.0 || square < 0.0 {
        "the curve describes these readings and nothing beyond them".to_owned()
    } else {
        format!(
            "{} of it grow with the flow, as through media, and the rest with its square, as through openings",
            pressure(linear)
        )
    };
    format!("{name}, {points} points: at {at} the drop is {whole}; {parts}.")
}

/// Why a run was left out, where no rule of the audit says it.
pub fn left_out(code: &str) -> Option<&'static str> {
    Some(match code {
        "no-reading" => "It has no reading that stands.",
        "no-parts" => "Its parts are not named.",
        "baseline-undefined" => "This baseline does not say whether it was bare or with which base.",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bench_without_repeats_is_not_said_to_repeat() {
        assert!(repeatability(None, None, "none").starts_with("How well this bench repeats is not known"));
    }

    #[test]
    fn best_and_worst_say_whether_the_bench_can_tell() {
        let (best, worst) = (("PF-1", "loses 1.2 %"), ("PF-2", "loses 2.2 %"));
        assert!(best_and_worst(best, Some(worst), Some(false)).ends_with("cannot tell them apart."));
        assert!(best_and_worst(best, Some(worst), None).ends_with("no scatter."));
        assert_eq!(best_and_worst(best, None, None), "PF-1: loses 1.2 %.");
    }
}
