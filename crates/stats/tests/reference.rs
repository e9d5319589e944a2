//! Every reference case of uncertainty and statistics, through the public
//! functions.
//!
//! A case that no adapter knows fails the test. No case of these two areas is
//! left uncovered.
#![allow(clippy::unwrap_used)]

#[path = "reference/case.rs"]
mod case;
#[path = "reference/statistics.rs"]
mod statistics;
#[path = "reference/uncertain.rs"]
mod uncertain;

use case::read;

/// How many cases the two areas held when this was written: a lost case is
/// seen.
const LEAST_CASES: usize = 74;
const LEAST_EXTRA: usize = 50;

fn meet(file: &str, least: usize) {
    let (mut met, mut wrong) = (0, Vec::new());
    for case in read(file) {
        let answer = match case.area.as_str() {
            "6 uncertainty" => uncertain::answer(&case),
            "7 statistics" => statistics::answer(&case),
            _ => continue,
        };
        match answer.ok_or_else(|| "no adapter knows it".to_string()).and_then(|found| case.judge(&found)) {
            Ok(()) => met += 1,
            Err(why) => wrong.push(format!("{} ({}): {why}", case.id, case.quantity)),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(met >= least, "only {met} cases were read");
}

#[test]
fn every_reference_case_is_met() {
    meet("reference.json", LEAST_CASES);
}

#[test]
fn every_extra_case_is_met() {
    meet("stats-extra.json", LEAST_EXTRA);
}
