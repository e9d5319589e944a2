//! What comes next at the bench, and what would be missing if the evening were closed now.

use super::night::{Night, Same};
use super::so_far::SeenSoFar;
use crate::names::Names;
use crate::sentences::bench as words;
use airshelf_catalog::{Purpose, Refit, Uuid};

/// A baseline is taken after so many fittings of assemblies. Common practice, no source.
const BETWEEN_BASELINES: usize = 4;

/// The evening's fittings in order: none for a baseline, else what was fitted; and how many follow the last baseline.
struct Fitted {
    subjects: Vec<(Same, Uuid, usize)>,
    baselines: usize,
    first_is_baseline: bool,
    since_baseline: usize,
}

fn fitted(night: &Night) -> Fitted {
    let mut out = Fitted { subjects: Vec::new(), baselines: 0, first_is_baseline: false, since_baseline: 0 };
    let mut before = None;
    for (run, reading) in night.standing_readings() {
        if reading.flow.is_none() {
            continue;
        }
        let same = Same::of(run, &night.session);
        match (run.purpose, run.assembly) {
            (Some(Purpose::Baseline), _) => {
                out.first_is_baseline |= out.subjects.is_empty();
                (out.baselines, out.since_baseline) = (out.baselines + 1, 0);
            }
            (Some(Purpose::Test) | None, Some(assembly)) => {
                if run.refit == Some(Refit::No) && before == Some(same) {
                    continue;
                }
                out.since_baseline += 1;
                match out.subjects.iter_mut().find(|(held, ..)| *held == same) {
                    Some((_, _, fittings)) => *fittings += 1,
                    None => out.subjects.push((same, assembly, 1)),
                }
            }
            _ => continue,
        }
        before = Some(same);
    }
    out
}

pub(super) fn next(night: &Night, names: &Names, seen: &SeenSoFar) -> Vec<String> {
    let fitted = fitted(night);
    let mut next = Vec::new();
    if night.session.item.is_none() {
        next.push("Say which carburetor stands on the bench.".to_owned());
    }
    if fitted.baselines == 0 {
        let leaked = night.runs().any(|run| run.purpose == Some(Purpose::FixtureLeakage));
        if !leaked && fitted.subjects.is_empty() {
            next.push("Read the fixture leakage with the bench blanked off, then the baseline.".into());
        } else {
            next.push("Baseline due now: without one there are no losses.".into());
        }
    } else {
        next.push(words::baseline_due(BETWEEN_BASELINES.saturating_sub(fitted.since_baseline)));
    }
    if let Some((_, assembly, fittings)) = fitted.subjects.iter().min_by_key(|(.., fittings)| *fittings) {
        next.push(words::one_more(&names.assembly(Some(*assembly)), *fittings, seen.from != "none"));
    }
    next
}

pub(super) fn before_closing(night: &Night, seen: &SeenSoFar) -> Vec<String> {
    let fitted = fitted(night);
    let some = !fitted.subjects.is_empty();
    [
        (!some, "nothing"),
        (some && fitted.baselines == 0, "no-baseline"),
        (some && fitted.baselines > 0 && !fitted.first_is_baseline, "start-missing"),
        (some && fitted.baselines > 0 && fitted.since_baseline > 0, "end-missing"),
        (some && seen.from == "none", "no-scatter"),
    ]
    .into_iter()
    .filter(|(holds, _)| *holds)
    .map(|(_, code)| words::before_closing(code).to_owned())
    .collect()
}
