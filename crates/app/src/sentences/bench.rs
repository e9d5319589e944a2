//! Words for an evening that goes on: what a reading is beside its repeats, what the bench can see, what comes next.

/// How a reading stands to the mean of its repeats. `apart` is the distance without its sign.
pub fn beside_repeats(apart: &str, below: bool, repeats: usize) -> String {
    let of = match repeats {
        1 => "the fitting before it".to_owned(),
        n => format!("the mean of {n} fittings"),
    };
    format!("{apart} {} {of}", if below { "below" } else { "above" })
}

/// A reading as it was understood: brought to a pressure, with what was taken off, beside its repeats.
pub fn shown_back(flow: &str, at: Option<&str>, leakage: Option<&str>, beside: Option<&str>) -> String {
    let mut text = flow.to_owned();
    if let Some(at) = at {
        text += &format!(" at {at}");
    }
    if let Some(leakage) = leakage {
        text += &format!(", less {leakage} leakage");
    }
    if let Some(beside) = beside {
        text += &format!("; {beside}");
    }
    text
}

/// What the bench can see so far, and from where that is known: `session`, `history`, `stated`, `none`.
pub fn seen(flow: Option<&str>, percent: Option<&str>, scatter: Option<&str>, from: &str) -> String {
    let from = match from {
        "session" => "from tonight's refitted repeats",
        "history" => "from earlier evenings on this range",
        "stated" => "from the repeatability that was stated for this range",
        _ => {
            return "Nothing says yet how well the bench repeats: take one assembly off and fit it again."
                .into();
        }
    };
    match (flow, percent, scatter) {
        (Some(flow), Some(percent), _) => {
            format!("So far two assemblies must be {flow} ({percent}) apart for the bench to tell; {from}.")
        }
        (_, _, Some(scatter)) => format!("One fitting repeats to {scatter}; {from}."),
        _ => "Nothing has been fitted yet.".into(),
    }
}

/// When the next baseline is due, in fittings of assemblies.
pub fn baseline_due(fittings: usize) -> String {
    match fittings {
        0 => "Baseline due now.".into(),
        1 => "Baseline due after the next run.".into(),
        n => format!("Baseline due in {n} runs."),
    }
}

/// What one more fitting of an assembly would be good for.
pub fn one_more(what: &str, fittings: usize, repeats_known: bool) -> String {
    if repeats_known {
        let times = match fittings {
            1 => "once".into(),
            2 => "twice".into(),
            n => format!("{n} times"),
        };
        return format!("{what} was fitted {times}: fitted once more, it would show smaller differences.");
    }
    format!("One more fitting of {what} would show how well the bench repeats.")
}

/// Fixture leakage as it was read.
pub fn fixture_leakage(flow: &str, at: Option<&str>) -> String {
    let at = at.map_or(String::new(), |at| format!(" at {at}"));
    format!("{flow}{at}, carried to each reading's pressure and taken off it")
}

/// Closed-throttle leakage as it was read.
pub fn closed_throttle_leakage(flow: &str, at: Option<&str>) -> String {
    let at = at.map_or(String::new(), |at| format!(" at {at}"));
    format!("{flow}{at}, a condition of the carburetor and never taken off")
}

/// The highest pressure that a range holds for what flows so much.
pub fn holds(range: &str, highest: &str, leaves_margin: &str) -> String {
    format!("{range} holds it up to {highest}; {leaves_margin} leaves 5 % of the range")
}

/// What is missing at the end of an evening, by code.
pub fn before_closing(code: &str) -> &'static str {
    match code {
        "no-baseline" => "There is no baseline: assemblies can be told apart, losses cannot be given.",
        "start-missing" => "There is no baseline before the first assembly: drift before it is not known.",
        "end-missing" => {
            "There is no baseline after the last assembly: drift since the last one is not known."
        }
        "no-scatter" => {
            "Nothing was fitted twice and the bench has no history: there will be no verdicts, only what the bench \
             would have to repeat to."
        }
        _ => "There is no reading of an assembly: nothing will be compared.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_says_what_was_taken_off_and_how_far_it_is_from_its_repeats() {
        let beside = beside_repeats("0.7 CFM", true, 3);
        assert_eq!(
            shown_back("249.1 CFM", Some("28 inH2O"), Some("1.0 CFM"), Some(&beside)),
            "249.1 CFM at 28 inH2O, less 1.0 CFM leakage; 0.7 CFM below the mean of 3 fittings"
        );
        assert_eq!(shown_back("249.1 CFM", None, None, None), "249.1 CFM");
    }
}
