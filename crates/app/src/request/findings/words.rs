//! Numbers of a comparison as amounts, and the sentences around them.

use crate::report::{BaselineReport, GroupReport, LeakageReport, Repeatability};
use crate::request::{Amount, Interval};
use crate::sentences;
use airshelf_units::{Digits, Dimension, System, Unit, show_number, usual};

/// A flow with the digits that a bench shows.
pub(super) fn flow(m3_s: f64, system: System) -> Amount {
    Amount::of(m3_s, Dimension::Flow, system, Digits::Significant(4))
}

/// A difference of flows.
pub(super) fn flow_difference(m3_s: f64, system: System) -> Amount {
    Amount::of(m3_s, Dimension::Flow, system, Digits::Significant(2))
}

/// A pressure.
pub(super) fn pressure(pa: f64, system: System) -> Amount {
    Amount::of(pa, Dimension::Pressure, system, Digits::Significant(3))
}

/// A percentage, with as many decimals as its interval is worth.
pub(super) fn percent(value: f64, half_width: Option<f64>) -> Amount {
    let decimals = if half_width.is_some_and(|half| half < 0.15) { 2 } else { 1 };
    let text = format!("{} %", show_number(value, Digits::Decimals(decimals)));
    Amount { si: value / 100.0, text, other: None }
}

/// A percentage with its interval.
pub(super) fn percent_interval(value: f64, low: Option<f64>, high: Option<f64>) -> Interval {
    let half = high.zip(low).map(|(high, low)| (high - low) / 2.0);
    let amount = |value: f64| percent(value, half);
    Interval { value: amount(value), low: low.map(amount), high: high.map(amount) }
}

/// `1.9 to 2.7 %`: both ends and their unit once.
pub(super) fn ends(interval: &Interval) -> Option<String> {
    let (low, high) = (interval.low.as_ref()?, interval.high.as_ref()?);
    let (number, unit) = low.text.rsplit_once(' ').unwrap_or((&low.text, ""));
    match high.text.strip_suffix(unit) {
        Some(_) => Some(format!("{number} to {}", high.text)),
        None => Some(format!("{} to {}", low.text, high.text)),
    }
}

/// `k` as the drop at a flow that people can picture: 100 CFM, or 100 L/s.
pub(super) fn k(pa_s2_m6: f64, system: System) -> Amount {
    let in_words = |system: System| {
        let (pressure, flow) = (usual(Dimension::Pressure, system), usual(Dimension::Flow, system));
        let drop = pa_s2_m6 * flow.to_si(100.0).powi(2);
        let number = show_number(pressure.from_si(drop), Digits::Significant(3));
        format!("{number} {} at 100 {}", pressure.shown(), flow.shown())
    };
    let other = if system == System::Us { System::Si } else { System::Us };
    Amount { si: pa_s2_m6, text: in_words(system), other: Some(in_words(other)) }
}

/// A rise of temperature from one value to another.
pub(super) fn warmer(low_k: f64, high_k: f64, system: System) -> Amount {
    let in_words = |system: System| {
        let unit = usual(Dimension::TemperatureDifference, system);
        let number = |k: f64| show_number(unit.from_si(k), Digits::Significant(2));
        format!("{} to {} {}", number(low_k), number(high_k), unit.shown())
    };
    let other = if system == System::Us { System::Si } else { System::Us };
    Amount { si: low_k, text: in_words(system), other: Some(in_words(other)) }
}

/// How many of something: `1 fitting`, `3 fittings`.
pub(super) fn count(number: usize, one: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {one}s") }
}

/// What a group is, on one line.
pub(super) fn title(group: &GroupReport, system: System) -> String {
    let mut words = Vec::new();
    words.extend(group.item.clone());
    words.extend(group.set_pressure_pa.map(|pa| format!("at {}", pressure(pa, system).text)));
    let mut title = if words.is_empty() { "No test pressure".to_owned() } else { words.join(" ") };
    if group.direction != "intake" {
        title += &format!(", {}", group.direction);
    }
    title
}

/// What the baseline consists of.
pub(super) fn baseline(baseline: &BaselineReport) -> String {
    baseline.definition.clone()
}

pub(super) fn repeatability(scatter: &Repeatability) -> String {
    sentences::repeatability(scatter.scatter_percent, scatter.degrees_of_freedom, scatter.from)
}

pub(super) fn leakage(leak: &LeakageReport, system: System) -> String {
    sentences::leakage(
        leak.flow_m3_s,
        leak.at_pressure_pa,
        (leak.exponent, leak.exponent_low, leak.exponent_high),
        system,
    )
}

/// Engine speed in words, as `5,000 rpm`.
pub(super) fn speed(rpm: f64) -> String {
    let whole = show_number(rpm, Digits::Decimals(0));
    let cut = whole.len().saturating_sub(3);
    match whole.split_at(cut) {
        ("", hundreds) => format!("{hundreds} {}", Unit::RPM.shown()),
        (thousands, hundreds) => format!("{thousands},{hundreds} {}", Unit::RPM.shown()),
    }
}
