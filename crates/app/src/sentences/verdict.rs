//! A verdict in words, with both halves: can the bench see it, and does the engine care?

use airshelf_units::{Digits, Dimension, System, show, show_number, usual};

/// What a sentence about two assemblies needs.
#[derive(Clone, Copy, Debug)]
pub struct Pair<'a> {
    /// The first, in words.
    pub a: &'a str,
    /// The second, in words.
    pub b: &'a str,
    /// How much more the first flows, percent.
    pub difference_percent: f64,
    /// The flow that percent is of, m³/s.
    pub of_flow_m3_s: f64,
    /// The difference the bench could have seen, percent.
    pub resolvable_percent: Option<f64>,
    /// The verdict's code.
    pub verdict: Option<&'a str>,
    /// The difference stated not to matter, percent.
    pub dont_care_percent: Option<f64>,
    /// Resolved, and yet smaller than that.
    pub smaller_than_dont_care: bool,
    /// Ends of the pair's limit, percent.
    pub limits_percent: Option<(f64, f64)>,
    /// More fittings of each and the chance they would see it.
    pub more: Option<(u32, f64)>,
    /// Scatter below which the difference would be real.
    pub break_even_percent: Option<f64>,
    /// What it means to an engine.
    pub engine: Option<EngineHalf<'a>>,
}

/// The second half of a verdict.
#[derive(Clone, Copy, Debug)]
pub struct EngineHalf<'a> {
    /// The engine's name.
    pub engine: &'a str,
    /// Its speed, rad/s.
    pub speed_rad_s: f64,
    /// The difference in its air, percent.
    pub air_percent: f64,
    /// Rise of intake temperature that costs as much, K, from and to.
    pub same_as_warmer_k: (f64, f64),
}

/// The verdict on a pair in a sentence or two.
///
/// ```
/// use airshelf_app::sentences::{Pair, pair};
/// use airshelf_units::System;
/// let words = pair(&Pair {
///     a: "tall paper with the vented lid", b: "tall paper with the solid lid",
///     difference_percent: -2.2, of_flow_m3_s: 0.126, resolvable_percent: Some(3.4), verdict: Some("not_resolved"),
///     dont_care_percent: None, smaller_than_dont_care: false, limits_percent: Some((-5.6, 1.2)),
///     more: Some((6, 0.8)), break_even_percent: None, engine: None,
/// }, System::Us);
/// assert!(words.starts_with("tall paper with the vented lid flows 5.9 CFM (2.2 %) less than"));
/// assert!(words.contains("the bench cannot tell, it needs 9.1 CFM"));
/// assert!(words.contains("four times in five"));
/// ```
pub fn pair(pair: &Pair, system: System) -> String {
    let flow = |percent: f64| {
        show(
            pair.of_flow_m3_s * percent.abs() / 100.0,
            usual(Dimension::Flow, system),
            Digits::Significant(2),
        )
    };
    let size = format!("{} ({})", flow(pair.difference_percent), percent(pair.difference_percent));
    let word = if pair.difference_percent < 0.0 { "less" } else { "more" };
    let lead = format!("{} flows {size} {word} than {}", pair.a, pair.b);
    let mut text = match pair.verdict {
        Some("a_more" | "b_more") if pair.smaller_than_dont_care => format!(
            "{lead}: the bench can tell, and it is less than the {} that was stated not to matter.",
            percent(pair.dont_care_percent.unwrap_or_default())
        ),
        Some("a_more" | "b_more") => match pair.limits_percent {
            Some((low, high)) => {
                format!("{lead}: the bench can tell ({} to {}).", percent_signed(low), percent_signed(high))
            }
            None => format!("{lead}: the bench can tell."),
        },
        Some("equivalent") => format!(
            "{} and {} flow the same to within the {} that was stated not to matter.",
            pair.a,
            pair.b,
            percent(pair.dont_care_percent.unwrap_or_default())
        ),
        Some(_) => {
            let needs = pair
                .resolvable_percent
                .map_or(String::new(), |r| format!(", it needs {} ({})", flow(r), percent(r)));
            let mut text = format!("{lead}: the bench cannot tell{needs}.");
            if let Some((low, high)) = pair.limits_percent {
                text += &format!(" They are at most {} apart.", percent(low.abs().max(high.abs())));
            }
            text
        }
        None => match pair.break_even_percent {
            Some(scatter) => {
                format!("{lead}. Real only if this bench repeats to better than {}.", percent(scatter))
            }
            None => format!("{lead}. One reading of each shows no scatter, so there is no verdict."),
        },
    };
    if pair.verdict == Some("not_resolved")
        && let Some((fittings, chance)) = pair.more
    {
        let each =
            if fittings == 1 { "One more fitting".to_owned() } else { format!("{fittings} more fittings") };
        text += &format!(" {each} of each would see it {}, if it is real.", chance_in_words(chance));
    }
    if let Some(engine) = pair.engine {
        let unit = usual(Dimension::TemperatureDifference, system);
        let warmer = |k: f64| show_number(unit.from_si(k.abs()), Digits::Significant(2));
        let rpm = airshelf_units::Unit::RPM.from_si(engine.speed_rad_s);
        text += &format!(
            " To {} at {} rpm it is {} of its air, as much as {} to {} {} of warmer intake.",
            engine.engine,
            show_number(rpm, Digits::Decimals(0)),
            percent(engine.air_percent),
            warmer(engine.same_as_warmer_k.0),
            warmer(engine.same_as_warmer_k.1),
            unit.shown(),
        );
    }
    text
}

pub(super) fn percent(value: f64) -> String {
    let value = value.abs();
    format!(
        "{} %",
        show_number(value, if value < 0.1 { Digits::Significant(1) } else { Digits::Significant(2) })
    )
}

fn percent_signed(value: f64) -> String {
    format!("{}{}", if value < 0.0 { "−" } else { "+" }, percent(value))
}

/// A chance as people say it.
pub fn chance_in_words(chance: f64) -> &'static str {
    match chance {
        c if c < 0.28 => "about one time in four",
        c if c < 0.42 => "about one time in three",
        c if c < 0.58 => "about one time in two",
        c if c < 0.72 => "about two times in three",
        c if c < 0.85 => "four times in five",
        c if c < 0.93 => "nine times in ten",
        _ => "nearly every time",
    }
}

/// Why an assembly has no place, or what marks its place.
pub fn why_not(code: &str) -> &'static str {
    match code {
        "hand-held" => "held by hand: what was read is not what will run",
        "none" => "nothing held it",
        "lost" => "something came off during the run",
        "taped" => "taped, and no refitted repeat shows that it repeats",
        "unstated" => "how it was held is not stated",
        "no-baseline" => "there is no baseline to lose against",
        "no-scatter" => "one reading shows no scatter",
        _ => "left out",
    }
}

/// What marks a whole group.
pub fn group_marks(code: &str) -> &'static str {
    match code {
        "no-baseline" => "No baseline: pairs are compared, losses are not.",
        "leakage-left-out" => "The fixture leakage is left out by the audit: losses are computed without it.",
        "one-end-baseline" => "A baseline at one end only: the usual drift of a bench widens the intervals.",
        "no-pressure" => {
            "No test pressure: percent losses hold within this page; pressure drop and k cannot be told."
        }
        "few-evenings" => "Fewer than four earlier evenings: their scatter counts for little.",
        "coarse-meter" => "The meter's step is coarser than the scatter: the step sets the uncertainty.",
        "beyond-tested-flow" => {
            "The engine's flow is outside 0.8 to 1.25 times the tested one: there k is only bounded, by an exponent between 0.5 and 1."
        }
        "flattered" => "The best-looking of many is flattered by chance.",
        "stated-contradicted" => {
            "The stated scatter is smaller than these repeats show: the repeats are used."
        }
        "no-scatter" => "No repeats and no history: no verdict, only what would have to be true.",
        "losses-only" => "From a page of losses: each number is one reading unless the page says otherwise.",
        "open-session" => "The session is not closed: what the bench can see so far, no verdicts.",
        _ => "",
    }
}
