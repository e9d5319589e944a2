//! Benches with known truth, run over and over: how often do the intervals
//! cover, and how often is a difference called that is not there?
//!
//! A thousand sessions a condition, ten thousand with `AIRSHELF_LONG=1`. The
//! band is 93.5 to 96.5 % for 95 % intervals and 6.5 % for sessions with any
//! false *resolved*, each widened by one binomial standard error of the number
//! of sessions (0.69 % at a thousand, 0.22 % at ten thousand). Seeds are fixed:
//! a failure is a change of the recipe, not bad luck. Random numbers come from
//! `fastrand`, which knows nothing of this project.
#![allow(clippy::unwrap_used)]

#[path = "verdicts/bench.rs"]
mod bench;
#[path = "verdicts/tally.rs"]
mod tally;

use airshelf_stats::compare::{
    EveningScatter, Leakage, Reading, ScatterFrom, Subject, Verdict, compare, evening_scatter,
    merge_consecutive, scatter_so_far,
};
use bench::{Baselines, CFM, Chance, Evening, INH2O};
use tally::Tally;

fn as_it_is(_: &mut airshelf_stats::compare::Group, _: &mut Chance) {}

#[test]
fn without_a_difference_none_is_called() {
    for (repeats, seed) in [(3, 11), (2, 12), (5, 13)] {
        let what = format!("no difference, {repeats} repeats");
        Tally::of(&Evening::new(8, repeats), seed, as_it_is).covers(&what).rarely_errs(&what);
    }
}

#[test]
fn drift_is_fitted_with_the_assemblies() {
    let mut evening = Evening::new(8, 3).with_losses();
    (evening.drift, evening.curve) = (0.011, 0.5);
    Tally::of(&evening, 21, as_it_is).covers("drift 1.1 %, curve 0.5");
}

#[test]
fn two_repeats_stand_a_curved_drift() {
    let mut evening = Evening::new(8, 2).with_losses();
    (evening.drift, evening.curve) = (0.011, 1.0);
    Tally::of(&evening, 22, as_it_is).covers("2 repeats, curve 1.0");
}

#[test]
fn an_error_of_setting_the_pressure_is_in_the_scatter() {
    let mut evening = Evening::new(8, 3).with_losses();
    evening.set_pressure_pa = 5.5 * INH2O;
    (evening.setting_pa, evening.gauge_pa) = (0.05 * INH2O, 0.03 * INH2O);
    Tally::of(&evening, 23, as_it_is).covers("5.5 inH2O, pressure-setting error");
}

#[test]
fn leakage_recorded_at_another_pressure_is_carried_there() {
    let mut evening = Evening::new(8, 3).with_losses();
    let recorded = Leakage { flow_m3_s: 3.0 * CFM, at_pressure_pa: Some(5.0 * INH2O) };
    evening.leakage = Some((recorded, 0.65));
    Tally::of(&evening, 24, as_it_is).covers("leak 3 CFM recorded at 5 inH2O");
}

#[test]
fn half_laminar_media_are_covered() {
    let mut evening = Evening::new(8, 3).with_losses();
    evening.exponent = 0.6;
    (evening.setting_pa, evening.gauge_pa) = (0.2 * INH2O, 0.05 * INH2O);
    Tally::of(&evening, 25, as_it_is).covers("half-laminar media");
}

#[test]
fn a_missing_end_baseline_still_covers() {
    let mut evening = Evening::new(8, 3).with_losses();
    evening.baselines = Baselines::EndMissing;
    (evening.drift, evening.curve) = (0.011, 0.5);
    Tally::of(&evening, 26, as_it_is).covers("end baseline missing");
}

/// One baseline at the start cannot show that the drift bows. Pairs do not
/// care; losses cover less, and do cover once the bench's usual bow is known.
#[test]
fn a_first_baseline_alone_needs_the_usual_bow() {
    let mut evening = Evening::new(8, 3).with_losses();
    evening.baselines = Baselines::FirstOnly;
    (evening.drift, evening.curve) = (0.011, 0.5);
    let what = "first baseline only, drift curved";
    let tally = Tally::of(&evening, 27, as_it_is);
    tally.show(what);
    tally.within(what, "pairs", tally.pair_percent(), 93.5, 96.5);
    tally.within(what, "losses", tally.loss_percent(), 88.0, 95.0);
    // The bow in the middle of the evening is drift·curve/4.
    let told = Tally::of(&evening, 27, |group, _| group.usual_drift_curvature = Some(0.011 * 0.5 / 4.0));
    told.show("first baseline only, usual bow known");
    told.within(what, "pairs", told.pair_percent(), 93.5, 96.5);
    told.within(what, "losses", told.loss_percent(), 93.5, 98.0);
}

#[test]
fn without_baselines_pairs_are_compared_and_losses_refused() {
    let mut evening = Evening::new(8, 3);
    evening.baselines = Baselines::No;
    evening.drift = 0.011;
    let what = "no baseline";
    let tally = Tally::of(&evening, 30, as_it_is);
    tally.within(what, "pairs", tally.pair_percent(), 93.5, 96.5).rarely_errs(what);
    let said = compare(&evening.run(&mut Chance::new(30))).unwrap();
    assert!(said.baseline.is_none() && said.assemblies.iter().all(|a| a.loss_percent.is_none()));
}

#[test]
fn two_assemblies_with_two_repeats_are_covered() {
    let evening = Evening::new(2, 2).with_losses();
    Tally::of(&evening, 28, as_it_is).covers("2 assemblies x 2 repeats");
}

/// Baselines set the drift and not the scatter. Where they are quieter than
/// the assemblies, losses cover more than they need to; nothing is called
/// more often.
#[test]
fn quiet_baselines_do_not_make_the_bench_look_better() {
    let mut evening = Evening::new(8, 3);
    evening.baseline_scatter = 0.4;
    let what = "quiet baselines";
    let tally = Tally::of(&evening, 29, as_it_is);
    tally.show(what);
    tally.within(what, "pairs", tally.pair_percent(), 93.5, 96.5);
    tally.within(what, "losses", tally.loss_percent(), 93.5, 99.0);
    tally.rarely_errs(what);
}

/// An evening of `assemblies` whose bench repeats a little differently every
/// night: the variance is spread by `spread` relative to its mean.
fn some_night(evening: &Evening, spread: f64, chance: &mut Chance) -> Evening {
    let log = libm::log(1.0 + spread * spread);
    let factor = libm::exp(log.sqrt() * chance.normal() - 0.5 * log);
    Evening { scatter: evening.scatter * factor.sqrt(), ..evening.clone() }
}

fn with_history(evening: &Evening, nights: usize, spread: f64, seed: u64) -> Tally {
    let mut chance = Chance::new(seed);
    let mut tally = Tally::new();
    let earlier = Evening::new(4, 3).with_losses();
    for _ in 0..tally.sessions {
        let history: Vec<EveningScatter> = (0..nights)
            .filter_map(|_| evening_scatter(&some_night(&earlier, spread, &mut chance).run(&mut chance)))
            .collect();
        assert_eq!(history.len(), nights);
        let tonight = some_night(evening, spread, &mut chance);
        let mut group = tonight.run(&mut chance);
        group.history = history;
        let said = compare(&group).unwrap();
        assert_eq!(said.repeatability.from, ScatterFrom::History);
        tally.add(&said, evening);
    }
    tally
}

#[test]
fn history_gives_single_fittings_a_verdict() {
    for (nights, spread, seed) in [(4, 0.0, 31), (6, 0.0, 32), (6, 0.6, 33), (12, 0.6, 34)] {
        let what = format!("{nights} earlier evenings, spread {spread}, single fittings");
        with_history(&Evening::new(8, 1), nights, spread, seed).covers(&what).rarely_errs(&what);
    }
}

#[test]
fn history_joins_the_repeats_of_tonight() {
    let what = "6 earlier evenings, spread 0.6, 2 repeats";
    with_history(&Evening::new(8, 2), 6, 0.6, 35).covers(what).rarely_errs(what);
}

/// Readings without a refit say nothing of how an assembly goes back on.
/// Taken as repeats they would call a difference nearly every night.
#[test]
fn readings_without_a_refit_are_no_repeats() {
    let mut chance = Chance::new(41);
    let mut evening = Evening::new(8, 1);
    evening.readings = 1;
    let (mut as_repeats, nights) = (0, 200);
    for _ in 0..nights {
        let group = evening.run(&mut chance);
        let mut readings = Vec::new();
        for fitting in &group.fittings {
            for again in 0..3 {
                let mut fitting = *fitting;
                fitting.when = 3.0 * fitting.when + f64::from(again);
                fitting.flow_m3_s *= 1.0 + evening.reading * chance.normal();
                readings.push(Reading { fitting, refitted: false });
            }
        }
        let mut merged = group.clone();
        merged.fittings = merge_consecutive(&readings);
        assert_eq!(merged.fittings.len(), group.fittings.len());
        assert!(merged.fittings.iter().all(|fitting| fitting.readings == 3));
        let said = compare(&merged).unwrap();
        assert_eq!(said.repeatability.from, ScatterFrom::None);
        assert!(said.pairs().all(|pair| pair.verdict.is_none() && pair.break_even_scatter_percent > 0.0));

        let mut wrongly = group;
        wrongly.fittings = readings.iter().map(|reading| reading.fitting).collect();
        let said = compare(&wrongly).unwrap();
        as_repeats += usize::from(
            said.pairs().any(|pair| matches!(pair.verdict, Some(Verdict::AMore | Verdict::BMore))),
        );
    }
    assert!(as_repeats * 10 > nights * 9, "{as_repeats} of {nights}");
}

#[test]
fn single_fittings_without_history_give_a_break_even_and_no_verdict() {
    let mut chance = Chance::new(42);
    let said = compare(&Evening::new(5, 1).with_losses().run(&mut chance)).unwrap();
    assert_eq!(said.repeatability.from, ScatterFrom::None);
    assert!(said.resolvable_percent.is_none());
    for assembly in &said.assemblies {
        assert!(assembly.loss_percent.is_some_and(|loss| loss.limits.is_none()));
        assert!(assembly.place.is_none() && !assembly.placed);
    }
    let far = said.pair(Subject::Assembly(0), Subject::Assembly(4)).unwrap();
    assert!(far.verdict.is_none());
    // 5.5 % apart, one fitting each, m = 6: 5.7/(4.030/√2 · √2) = 1.4 %.
    assert!((0.8..2.0).contains(&far.break_even_scatter_percent), "{}", far.break_even_scatter_percent);
}

/// Looking after every round and stopping at the first *resolved* errs more
/// often than closing the session first; an open evening has no verdict to
/// look at, only what the bench can see.
#[test]
fn looking_after_every_reading_errs_more_often() {
    let evening = Evening::new(4, 6);
    let mut chance = Chance::new(43);
    let (mut looked, mut closed, nights) = (0, 0, 400);
    let errs = |group: &airshelf_stats::compare::Group| {
        compare(group).is_ok_and(|said| {
            said.pairs().any(|pair| matches!(pair.verdict, Some(Verdict::AMore | Verdict::BMore)))
        })
    };
    for _ in 0..nights {
        let group = evening.run(&mut chance);
        closed += usize::from(errs(&group));
        looked += usize::from((8..=group.fittings.len()).any(|so_far| {
            let mut open = group.clone();
            open.fittings.truncate(so_far);
            errs(&open)
        }));
    }
    println!("closed {closed}, looked {looked} of {nights}");
    assert!(looked > 2 * closed, "{looked} against {closed}");
    let so_far = scatter_so_far(&evening.run(&mut chance)).unwrap();
    let seen = so_far.resolvable_percent.unwrap();
    assert!((0.2..1.5).contains(&seen), "{seen}");
    assert!((so_far.resolvable_m3_s.unwrap() / (5.5 * CFM * seen) - 1.0).abs() < 0.05);
}
