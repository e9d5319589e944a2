//! The words people use for purposes, restraints, service states and directions, in one table each.
//!
//! Common practice, no source.

mod directions;
mod gaps;
mod kinds;
mod purposes;
mod restraint;
mod services;

pub(crate) use directions::{direction, refit};
pub(crate) use gaps::{ditto, no_part, not_run, summary};
pub(crate) use kinds::{kind, kind_among, kind_named, own_name, status};
pub(crate) use purposes::purpose;
pub(crate) use restraint::{only_restraint, restraint, restraint_under};
pub use services::service_in;
pub(crate) use services::{only_service, service};

/// Lower case, marks to spaces, single spaces.
pub(crate) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_alphanumeric() {
            out.extend(c.to_lowercase());
        } else if !out.is_empty() && !out.ends_with(' ') {
            out.push(' ');
        }
    }
    out.truncate(out.trim_end().len());
    out
}

/// Whether `phrase` stands in `text` as whole words; both plain.
pub(crate) fn says(text: &str, phrase: &str) -> bool {
    let mut from = 0;
    while let Some(found) = text[from..].find(phrase) {
        let (start, end) = (from + found, from + found + phrase.len());
        let before = start == 0 || text.as_bytes()[start - 1] == b' ';
        let after = end == text.len() || text.as_bytes()[end] == b' ';
        if before && after {
            return true;
        }
        from = start + phrase.chars().next().map_or(1, char::len_utf8);
    }
    false
}

fn term<T: Copy>(text: &str, terms: &[(T, &[&str])]) -> Option<T> {
    let text = plain(text);
    if text.is_empty() {
        return None;
    }
    if let Some(found) = terms.iter().find(|t| t.1.contains(&text.as_str())) {
        return Some(found.0);
    }
    terms.iter().find(|t| t.1.iter().any(|phrase| phrase.len() > 2 && says(&text, phrase))).map(|t| t.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use airshelf_catalog::{Direction, Purpose, Service};

    #[test]
    fn purposes_are_read_with_their_remarks() {
        assert_eq!(purpose("baseline ??"), Some(Purpose::Baseline));
        assert_eq!(purpose("Baseline, bare"), Some(Purpose::Baseline));
        assert_eq!(purpose("closed-throttle leakage"), Some(Purpose::ClosedThrottleLeakage));
        assert_eq!(purpose("Fixture leak"), Some(Purpose::FixtureLeakage));
        assert_eq!(purpose("banana"), None);
        for (text, purpose_of) in [
            ("measurement", Purpose::Test),
            ("pull 3", Purpose::Test),
            ("Messung", Purpose::Test),
            ("base", Purpose::Baseline),
            ("Référence", Purpose::Baseline),
            ("no air cleaner", Purpose::Baseline),
            ("throttles shut", Purpose::ClosedThrottleLeakage),
            ("flap closed", Purpose::ClosedThrottleLeakage),
            ("tightness", Purpose::FixtureLeakage),
            ("leak, capped", Purpose::FixtureLeakage),
        ] {
            assert_eq!(purpose(text), Some(purpose_of), "{text}");
        }
        assert_eq!(purpose("flat base"), None);
    }

    #[test]
    fn states_have_many_names() {
        assert_eq!(service("clean and new"), Some(Service::New));
        assert_eq!(service("washed & oiled"), Some(Service::Oiled));
        assert_eq!(service("washed, not oiled"), Some(Service::Washed));
        assert_eq!(service("just washed"), Some(Service::Washed));
        assert_eq!(service("geölt"), Some(Service::Oiled));
        assert_eq!(service("as new"), Some(Service::New));
        assert_eq!(service("re-oiled"), Some(Service::Oiled));
    }

    #[test]
    fn other_people_have_other_words() {
        for (text, meant) in [
            ("just the carb", Purpose::Baseline),
            ("without lid or filter", Purpose::Baseline),
            ("stripped", Purpose::Baseline),
            ("dressed", Purpose::Test),
            ("cleaner on", Purpose::Test),
            ("shut butterflies", Purpose::ClosedThrottleLeakage),
            ("past the blades", Purpose::ClosedThrottleLeakage),
            ("dead plate", Purpose::FixtureLeakage),
            ("hole taped", Purpose::FixtureLeakage),
            ("reference orifice", Purpose::CheckPlate),
            ("ladder", Purpose::Sweep),
        ] {
            assert_eq!(purpose(text), Some(meant), "{text}");
        }
        for (text, state) in [
            ("straight from the box", Service::New),
            ("never run", Service::New),
            ("needs a wash", Service::Dirty),
            ("not clean", Service::Dirty),
            ("off the truck", Service::Dirty),
            ("hosed out", Service::Washed),
            ("sticky", Service::Oiled),
            ("washed Monday", Service::Washed),
        ] {
            assert_eq!(service(text), Some(state), "{text}");
        }
        assert_eq!(direction("wrong way"), Some(Direction::Exhaust));
    }

    #[test]
    fn ditto_marks_of_every_shop() {
        for mark in ["\"", "do.", "Ditto", "″", "-\"-", "– ” –", "〃", ",,", "'' ''", "\"\"", "do", "~", "~~"]
        {
            assert!(ditto(mark), "{mark}");
        }
        for other in ["", "-", "—", "5", "do it again, please", "LD-1", "11\"", "n/t", "~5"] {
            assert!(!ditto(other), "{other}");
        }
    }
}
