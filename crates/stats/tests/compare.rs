//! The recipe, fact by fact.
#![allow(clippy::unwrap_used)]

use airshelf_stats::StatsError;
use airshelf_stats::compare::*;
use nalgebra::{DMatrix, DVector};

const P_28: f64 = 28.0 * 249.088_91;

fn fitting(subject: Subject, when: f64, flow_m3_s: f64) -> Fitting {
    Fitting { subject, when, flow_m3_s, actual_pressure_pa: None, readings: 1, type_b: TypeB::default() }
}

/// Rounds of all assemblies with a baseline before, between and after; flows
/// from `flow(round, assembly)`.
fn rounds(repeats: usize, assemblies: usize, flow: impl Fn(usize, Option<usize>) -> f64) -> Vec<Fitting> {
    let mut fittings = Vec::new();
    for round in 0..=repeats {
        fittings.push(fitting(Subject::Baseline, fittings.len() as f64, flow(round, None)));
        if round == repeats {
            break;
        }
        for i in 0..assemblies {
            let who = if round % 2 == 0 { i } else { assemblies - 1 - i };
            fittings.push(fitting(Subject::Assembly(who), fittings.len() as f64, flow(round, Some(who))));
        }
    }
    fittings
}

/// A wobble of ± one unit that no drift explains.
fn wobble(round: usize, who: Option<usize>) -> f64 {
    let seed = 7 * round + who.map_or(3, |i| 5 * i + 1);
    libm::sin(seed as f64 * 2.399_963)
}

/// Assemblies that lose 1 % more each, repeating to about 0.2 %.
fn evening(repeats: usize, assemblies: usize) -> Group {
    let flow = |round: usize, who: Option<usize>| {
        0.26 * (1.0 - who.map_or(0.0, |i| 0.01 * (i + 1) as f64)) * (1.0 + 0.002 * wobble(round, who))
    };
    Group::new(Some(P_28), rounds(repeats, assemblies, flow))
}

#[test]
fn the_short_way_is_the_least_squares_of_the_whole_table() {
    let group = evening(6, 5);
    let said = compare(&group).unwrap();
    // Six rounds make seven groups of baselines: three hats on four nodes.
    let at: Vec<f64> = (0..7).map(|i| 6.0 * f64::from(i)).collect();
    let nodes = [at[0], at[2], at[4], at[6]];
    let hat = |k: usize, t: f64| -> f64 {
        let rising = if k == 0 { 0.0 } else { (t - nodes[k - 1]) / (nodes[k] - nodes[k - 1]) };
        let falling = if k == 3 { 1.0 } else { (nodes[k + 1] - t) / (nodes[k + 1] - nodes[k]) };
        rising.min(falling).max(0.0)
    };
    let rows = &group.fittings;
    let side = |f: &Fitting| match f.subject {
        Subject::Baseline => 0,
        Subject::Assembly(i) => i + 1,
    };
    let a = DMatrix::from_fn(rows.len(), 9, |i, j| match j {
        j if j < 6 => f64::from(u8::from(side(&rows[i]) == j)),
        j => hat(j - 5, rows[i].when),
    });
    let y = DVector::from_fn(rows.len(), |i, _| libm::log(rows[i].flow_m3_s));
    let g = (a.transpose() * &a).try_inverse().unwrap();
    let m = DMatrix::identity(rows.len(), rows.len()) - &a * &g * a.transpose();
    let (alpha, r) = (&g * a.transpose() * &y, &m * &y);
    let in_s: Vec<usize> = (0..rows.len()).filter(|&i| side(&rows[i]) > 0).collect();
    let trace: f64 = in_s.iter().map(|&i| m[(i, i)]).sum();
    let squares: f64 =
        in_s.iter().flat_map(|&i| in_s.iter().map(move |&j| (i, j))).map(|ij| m[ij].powi(2)).sum();
    let s = (in_s.iter().map(|&i| r[i] * r[i]).sum::<f64>() / trace).sqrt();
    let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-8, "{a} {b}");
    near(said.repeatability.scatter.unwrap(), s);
    near(said.repeatability.degrees_of_freedom, trace * trace / squares);
    assert_eq!(said.repeatability.from, ScatterFrom::Session);
    for (i, j) in [(1, 2), (3, 5), (4, 0)] {
        let who = |k: usize| if k == 0 { Subject::Baseline } else { Subject::Assembly(k - 1) };
        let pair = said.pair(who(i), who(j)).unwrap();
        near(pair.ln_difference, alpha[i] - alpha[j]);
        near(pair.standard_uncertainty.unwrap(), s * (g[(i, i)] + g[(j, j)] - 2.0 * g[(i, j)]).sqrt());
    }
}

#[test]
fn losses_drops_and_k_follow_from_the_difference() {
    let said = compare(&evening(3, 4)).unwrap();
    let q0 = said.baseline.unwrap().flow_m3_s.value;
    for (i, assembly) in said.assemblies.iter().enumerate() {
        let d = said.pair(Subject::Assembly(i), Subject::Baseline).unwrap().ln_difference;
        let q1 = q0 * libm::exp(d);
        let loss = assembly.loss_percent.unwrap();
        assert!((loss.value - 100.0 * (1.0 - q1 / q0)).abs() < 1e-9);
        assert!((assembly.loss_m3_s.unwrap().value - (q0 - q1)).abs() < 1e-12);
        let drop = assembly.pressure_drop_pa.unwrap();
        assert!((drop.value - P_28 * (1.0 - (q1 / q0).powi(2))).abs() < 1e-6);
        let k = assembly.k_pa_s2_m6.unwrap();
        assert!((k.value - P_28 * (1.0 / (q1 * q1) - 1.0 / (q0 * q0))).abs() < 1e-4);
        for estimate in [loss, drop, k, assembly.loss_m3_s.unwrap()] {
            let (low, high) = estimate.limits.unwrap();
            assert!(low < estimate.value && estimate.value < high);
        }
        assert_eq!(assembly.finding, Finding::Restricts);
    }
    let places: Vec<_> = said.assemblies.iter().map(|a| a.place.unwrap()).collect();
    assert_eq!(places, [1, 2, 3, 4]);
    assert_eq!(said.best_looking, Some(0));
    assert!(said.best_is_flattered && said.bracket == Bracket::Both && !said.drift_unseen);
}

#[test]
fn a_gain_is_named_only_when_resolved() {
    let mut group = evening(3, 2);
    for fitting in &mut group.fittings {
        if fitting.subject == Subject::Assembly(0) {
            fitting.flow_m3_s *= 1.03;
        }
        if fitting.subject == Subject::Assembly(1) {
            fitting.flow_m3_s *= 1.0205;
        }
    }
    let said = compare(&group).unwrap();
    assert_eq!(said.assemblies[0].finding, Finding::EntryGain);
    assert_eq!(said.assemblies[1].finding, Finding::Open);
    assert!(said.assemblies[0].pressure_drop_pa.unwrap().value < 0.0);
}

#[test]
fn what_is_not_held_takes_no_place_and_what_is_taped_needs_refits() {
    let mut group = evening(3, 4);
    group.placing = vec![Placing::Never, Placing::PlacedIfRefitted, Placing::Placed];
    let said = compare(&group).unwrap();
    assert_eq!(said.assemblies[0].why_not, Some(WhyNot::NotHeld));
    assert!(said.assemblies[0].place.is_none() && said.assemblies[0].loss_percent.is_some());
    assert_eq!(said.assemblies[1].place, Some(1));
    assert!(said.assemblies[3].placed && said.assemblies[3].marked);

    // The taped one, with its first fitting only.
    let mut seen = false;
    group.fittings.retain(|f| f.subject != Subject::Assembly(1) || !std::mem::replace(&mut seen, true));
    let said = compare(&group).unwrap();
    assert_eq!(said.assemblies[1].why_not, Some(WhyNot::TapedWithoutRefits));
    assert_eq!(said.assemblies[2].place, Some(1));
}

#[test]
fn within_the_dont_care_difference_is_equivalent_or_resolved_and_smaller() {
    let mut group = evening(6, 2);
    group.dont_care_percent = Some(3.0);
    let said = compare(&group).unwrap();
    let pair = said.pairs().next().unwrap();
    assert_eq!(pair.verdict, Some(Verdict::AMore));
    assert!(pair.smaller_than_dont_care && pair.at_most_percent.unwrap() < 3.0);
    for fitting in &mut group.fittings {
        if fitting.subject == Subject::Assembly(1) {
            fitting.flow_m3_s *= 0.99 / 0.98;
        }
    }
    let pair = compare(&group).unwrap().pairs().next().unwrap();
    assert_eq!(pair.verdict, Some(Verdict::Equivalent));
    group.dont_care_percent = None;
    let said = compare(&group).unwrap();
    let pair = said.pairs().next().unwrap();
    assert_eq!(pair.verdict, Some(Verdict::NotResolved));
    assert!(pair.at_most_percent.unwrap() < 3.0);
    let other = said.pair(Subject::Assembly(1), Subject::Assembly(0)).unwrap();
    assert!((other.ln_difference + pair.ln_difference).abs() < 1e-15);
}

#[test]
fn single_fittings_give_a_break_even() {
    let said = compare(&evening(1, 3)).unwrap();
    assert_eq!(said.repeatability.from, ScatterFrom::None);
    let pair = said.pair(Subject::Assembly(0), Subject::Assembly(2)).unwrap();
    assert!(pair.verdict.is_none() && pair.limits_percent.is_none());
    // A bench of just that scatter, known for sure, resolves it just so.
    let mut known = evening(1, 3);
    for (factor, verdict) in [(0.999, Verdict::AMore), (1.001, Verdict::NotResolved)] {
        let scatter = factor * pair.break_even_scatter_percent / 100.0;
        known.stated_scatter = Some(StatedScatter { scatter, degrees_of_freedom: None });
        let said = compare(&known).unwrap();
        assert_eq!(said.repeatability.from, ScatterFrom::Stated);
        assert_eq!(said.pair(pair.a, pair.b).unwrap().verdict, Some(verdict));
    }
}

#[test]
fn a_statement_that_tonight_contradicts_is_not_used() {
    let mut group = evening(3, 4);
    group.stated_scatter = Some(StatedScatter { scatter: 0.0002, degrees_of_freedom: None });
    let said = compare(&group).unwrap();
    assert!(said.repeatability.stated_contradicted);
    assert_eq!(said.repeatability.from, ScatterFrom::Session);
    group.stated_scatter = Some(StatedScatter { scatter: 0.002, degrees_of_freedom: None });
    assert_eq!(compare(&group).unwrap().repeatability.from, ScatterFrom::Stated);
}

#[test]
fn few_evenings_are_marked_and_count_little() {
    let night = |variance: f64| EveningScatter { variance, degrees_of_freedom: 10.0 };
    let mut group = evening(1, 4);
    group.history = vec![night(4e-6); 3];
    let said = compare(&group).unwrap();
    assert!(said.repeatability.few_evenings && said.repeatability.degrees_of_freedom == 3.0);
    group.history = vec![night(4e-6), night(5e-6), night(3e-6), night(4e-6)];
    let said = compare(&group).unwrap();
    assert!(!said.repeatability.few_evenings && said.repeatability.degrees_of_freedom == 40.0);
    // Nights that differ far beyond chance are worth their number only.
    group.history = vec![night(1e-6), night(20e-6), night(1e-6), night(2e-6), night(16e-6)];
    let nu = compare(&group).unwrap().repeatability.degrees_of_freedom;
    assert!((3.0..5.0).contains(&nu), "{nu}");
}

#[test]
fn a_coarse_meter_hides_no_less_than_its_step() {
    let mut group = evening(3, 2);
    for fitting in &mut group.fittings {
        fitting.flow_m3_s = (fitting.flow_m3_s / 0.002).round() * 0.002;
    }
    let step = 0.002;
    let same = |group: &mut Group| {
        for fitting in &mut group.fittings {
            fitting.flow_m3_s = if fitting.subject == Subject::Baseline { 0.26 } else { 0.258 };
        }
    };
    same(&mut group);
    let unknown = compare(&group).unwrap();
    assert!(unknown.repeatability.identical && unknown.repeatability.from == ScatterFrom::None);
    group.flow_step_m3_s = Some(step);
    let said = compare(&group).unwrap();
    let pair = said.pair(Subject::Assembly(0), Subject::Assembly(1)).unwrap();
    let u = pair.standard_uncertainty.unwrap();
    assert!((u - step / 0.258 * (2.0_f64 / 12.0).sqrt()).abs() < 1e-9, "{u}");
    // Repeats that agree to the step leave rounding alone, known for sure:
    // q(3, ∞)/√2 = 2.343 times that, just under one step.
    let against = said.pair(Subject::Assembly(0), Subject::Baseline).unwrap();
    let limit = 0.26 * against.resolvable_percent.unwrap() / 100.0;
    assert!((0.93 * step..step).contains(&limit), "{limit}");
    group.flow_step_m3_s = Some(1.2 * step);
    let said = compare(&group).unwrap();
    let against = said.pair(Subject::Assembly(0), Subject::Baseline).unwrap();
    assert_eq!(against.verdict, Some(Verdict::NotResolved));
}

#[test]
fn only_what_differs_between_the_sides_is_added() {
    let plain = compare(&evening(3, 3)).unwrap();
    let u = |group: &Group, a: usize, b: usize| {
        compare(group)
            .unwrap()
            .pair(Subject::Assembly(a), Subject::Assembly(b))
            .unwrap()
            .standard_uncertainty
            .unwrap()
    };
    let own = plain.pair(Subject::Assembly(0), Subject::Assembly(1)).unwrap().standard_uncertainty.unwrap();
    let mut group = evening(3, 3);
    // All on one range, all off the pressure alike: nothing to add.
    for fitting in &mut group.fittings {
        fitting.type_b.range_factor = 0.004;
        fitting.actual_pressure_pa = Some(0.98 * P_28);
    }
    assert!((u(&group, 0, 1) / own - 1.0).abs() < 1e-9);
    for fitting in &mut group.fittings {
        if fitting.subject == Subject::Assembly(1) {
            fitting.type_b.range = 2;
        }
        if fitting.subject == Subject::Assembly(2) {
            fitting.actual_pressure_pa = Some(P_28);
        }
    }
    let expected = libm::hypot(own, 0.004 * 2.0_f64.sqrt());
    assert!((u(&group, 0, 1) / expected - 1.0).abs() < 1e-9);
    let plain_02 =
        plain.pair(Subject::Assembly(0), Subject::Assembly(2)).unwrap().standard_uncertainty.unwrap();
    let exponent = libm::log(0.98_f64).abs() * 0.25 / 12.0_f64.sqrt();
    assert!((u(&group, 0, 2) / libm::hypot(plain_02, exponent) - 1.0).abs() < 1e-9);
    for fitting in &mut group.fittings {
        if fitting.subject == Subject::Assembly(0) {
            fitting.type_b.part_to_meter = 0.003;
        }
    }
    assert!((u(&group, 0, 2) / libm::hypot(libm::hypot(plain_02, exponent), 0.003) - 1.0).abs() < 1e-9);
}

#[test]
fn a_missing_end_is_marked_and_widened_by_the_usual_bow() {
    let mut group = evening(3, 4);
    group.usual_drift_curvature = Some(0.002);
    let whole = compare(&group).unwrap();
    assert!(!whole.widened_for_drift);
    group.fittings.pop();
    let plain = compare(&Group { usual_drift_curvature: None, ..group.clone() }).unwrap();
    let widened = compare(&group).unwrap();
    assert_eq!(widened.bracket, Bracket::EndMissing);
    assert!(widened.widened_for_drift && !plain.widened_for_drift);
    let width = |said: &Comparison| {
        let (low, high) = said.assemblies[0].loss_percent.unwrap().limits.unwrap();
        high - low
    };
    assert!(width(&widened) > width(&plain));
}

#[test]
fn fittings_that_cannot_be_used_are_left_out_and_named() {
    let mut group = evening(3, 3);
    group.leakage = Some(Leakage { flow_m3_s: 0.002, at_pressure_pa: Some(P_28) });
    group.fittings[1].actual_pressure_pa = Some(0.94 * P_28);
    group.fittings[2].flow_m3_s = 0.001;
    group.fittings[3].actual_pressure_pa = Some(0.0);
    let said = compare(&group).unwrap();
    let because: Vec<_> = said.left_out.iter().map(|l| (l.fitting, l.because)).collect();
    use LeftOutBecause::{NotAFlow, NotAPressure, OffPressure};
    assert_eq!(because, [(1, OffPressure), (2, NotAFlow), (3, NotAPressure)]);
    assert_eq!(said.assemblies[0].fittings, 2);

    group.fittings.clear();
    assert_eq!(compare(&group).unwrap_err(), CompareError::NoFitting);
    group.confidence = 1.0;
    let refused = compare(&group).unwrap_err();
    assert!(matches!(refused, CompareError::Bench(StatsError::OutOfRange { name: "confidence", .. })));
}

#[test]
fn without_a_set_pressure_percent_stays_and_drops_are_refused() {
    let mut group = evening(3, 3);
    group.set_pressure_pa = None;
    let said = compare(&group).unwrap();
    for assembly in &said.assemblies {
        assert!(assembly.loss_percent.is_some() && assembly.loss_m3_s.is_some());
        assert!(assembly.pressure_drop_pa.is_none() && assembly.k_pa_s2_m6.is_none());
    }
}

#[test]
fn leakage_is_carried_with_the_pressure_and_taken_off_both() {
    let mut group = evening(2, 2);
    let at = 5.0 * 249.088_91;
    group.leakage = Some(Leakage { flow_m3_s: 0.0014, at_pressure_pa: Some(at) });
    let flow = compare(&group).unwrap().baseline.unwrap().flow_m3_s.value;
    let plain = compare(&Group { leakage: None, ..group }).unwrap().baseline.unwrap().flow_m3_s.value;
    assert!((plain - flow - 0.0014 * libm::pow(5.6_f64, LEAKAGE_EXPONENT)).abs() < 1e-6);
}

#[test]
fn more_fittings_settle_what_is_close() {
    let mut group = evening(3, 2);
    for fitting in &mut group.fittings {
        if fitting.subject == Subject::Assembly(1) {
            fitting.flow_m3_s *= 0.99 / 0.98 * 0.998;
        }
    }
    let said = compare(&group).unwrap();
    let pair = said.pairs().next().unwrap();
    assert_eq!(pair.verdict, Some(Verdict::NotResolved));
    let further = said.further(&pair, 0.5).unwrap();
    assert!(further.chance >= 0.5 && further.more_each >= 1);
    assert!(said.chance_with(&pair, further.more_each - 1).unwrap() < 0.5);
    assert!(said.chance_with(&pair, 40).unwrap() > further.chance);
}

#[test]
fn consecutive_readings_without_a_refit_are_one_fitting() {
    let reading = |subject, when: f64, flow, pressure, refitted| Reading {
        fitting: Fitting { actual_pressure_pa: pressure, ..fitting(subject, when, flow) },
        refitted,
    };
    use Subject::{Assembly, Baseline};
    let merged = merge_consecutive(&[
        reading(Baseline, 0.0, 0.26, None, false),
        reading(Assembly(0), 1.0, 0.250, Some(P_28), false),
        reading(Assembly(0), 2.0, 0.252, Some(P_28), false),
        reading(Assembly(0), 3.0, 0.251, Some(P_28), true),
        reading(Baseline, 4.0, 0.26, None, false),
        reading(Assembly(0), 5.0, 0.249, None, false),
    ]);
    let who: Vec<_> = merged.iter().map(|f| (f.subject, f.readings)).collect();
    assert_eq!(who, [(Baseline, 1), (Assembly(0), 2), (Assembly(0), 1), (Baseline, 1), (Assembly(0), 1)]);
    assert_eq!((merged[1].when, merged[1].actual_pressure_pa), (1.5, Some(P_28)));
    assert!((merged[1].flow_m3_s - 0.251).abs() < 1e-12);
}

#[test]
fn an_open_evening_shows_what_it_can_see_and_closes_into_history() {
    let group = evening(3, 4);
    let so_far = scatter_so_far(&group).unwrap();
    let said = compare(&group).unwrap();
    assert_eq!(so_far.repeatability, said.repeatability);
    assert!((so_far.resolvable_percent.unwrap() / said.resolvable_percent.unwrap() - 1.0).abs() < 0.1);
    let night = evening_scatter(&group).unwrap();
    assert_eq!(night.variance.sqrt(), said.repeatability.scatter.unwrap());
    assert!(evening_scatter(&evening(1, 4)).is_none());
}

/// The budget is 50 ms for five hundred runs with every pair; debug builds
/// only print.
#[test]
fn five_hundred_runs_are_compared_at_once() {
    let group = evening(3, 166);
    assert!(group.fittings.len() > 500);
    let begin = std::time::Instant::now();
    let said = compare(&group).unwrap();
    let resolved =
        said.pairs().filter(|p| matches!(p.verdict, Some(Verdict::AMore | Verdict::BMore))).count();
    let took = begin.elapsed();
    println!("{} pairs, {resolved} resolved, {took:?}", 166 * 165 / 2);
    assert!(resolved > 0);
    assert!(cfg!(debug_assertions) || took.as_millis() < 50, "{took:?}");
}

#[test]
fn what_a_hand_held_does_not_say_how_the_bench_repeats() {
    let mut group = evening(3, 4);
    let quiet = evening_scatter(&group).unwrap();
    for (at, fitting) in group.fittings.iter_mut().filter(|f| f.subject == Subject::Assembly(3)).enumerate() {
        fitting.flow_m3_s *= 1.0 + 0.02 * at as f64;
    }
    let pushed = evening_scatter(&group).unwrap();
    assert!(pushed.variance > 10.0 * quiet.variance);
    group.placing = vec![Placing::Placed, Placing::Placed, Placing::Placed, Placing::Never];
    let held = evening_scatter(&group).unwrap();
    assert!(held.degrees_of_freedom < quiet.degrees_of_freedom - 1.0);
    assert!(held.variance < 4.0 * quiet.variance, "{held:?} {quiet:?}");
    // Where nothing else was refitted, nobody knows.
    group.placing = vec![Placing::Never; 4];
    let said = compare(&group).unwrap();
    assert_eq!(said.repeatability.from, ScatterFrom::None);
    assert_eq!(said.pair(Subject::Assembly(0), Subject::Assembly(1)).unwrap().verdict, None);
}
