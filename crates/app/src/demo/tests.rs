//! The demo is the same every time, physically sane, and its planted faults stand where they claim.

use super::evenings::{MAIN, Step, blocks};
use super::shed::{EIGHT, EQUAL, Shed, UNSEEN, assembly_id, usual_service};
use super::*;
use airshelf_catalog::{Entity, Purpose, Restraint, Service, ServiceKind, records::Visit};
use airshelf_units::Unit;
use std::collections::HashSet;

fn demo() -> Demo {
    shelf(SEED)
}

#[test]
fn the_same_seed_makes_the_same_bytes_and_another_seed_others() {
    let (a, b, c) = (shelf(1), shelf(1), shelf(2));
    assert_eq!(a.records, b.records);
    assert_eq!(a.truth, b.truth);
    assert_eq!(a.old_records, b.old_records);
    assert_ne!(a.records.readings, c.records.readings);
    assert_ne!(a.old_records[1].bytes, c.old_records[1].bytes);
    assert_eq!(a.records.parts, c.records.parts, "the shelf is the same whatever the bench shows");
}

#[test]
fn no_two_rows_of_a_kind_share_an_identifier() {
    struct Ids(HashSet<(airshelf_catalog::EntityKind, airshelf_catalog::Uuid)>);
    impl Visit<'_> for Ids {
        type Error = std::convert::Infallible;
        fn row<E: Entity>(&mut self, row: &E) -> Result<(), Self::Error> {
            assert!(!row.id().is_nil());
            assert!(self.0.insert((E::KIND, row.id())), "{row:?}");
            Ok(())
        }
    }
    for seed in 0..20 {
        shelf(seed).records.visit(&mut Ids(HashSet::new())).unwrap();
    }
}

#[test]
fn every_link_of_a_run_leads_somewhere() {
    let r = demo().records;
    for run in &r.runs {
        assert!(r.sessions.iter().any(|s| Some(s.id) == run.session));
        assert!(r.readings.iter().any(|x| x.run == Some(run.id)));
        assert!(run.range.is_some_and(|id| r.bench_ranges.iter().any(|x| x.id == id)));
        assert!(run.assembly.is_none_or(|id| r.assemblies.iter().any(|a| a.id == id)));
        for revision in [run.item, run.stud].into_iter().flatten() {
            assert!(r.revisions.iter().any(|x| x.id == revision));
        }
    }
    let names = crate::names::Names::of(&r);
    assert!(r.assemblies.iter().all(|a| names.parts(a.id).iter().all(|p| p != "?")));
    assert!(r.assemblies.iter().any(|a| names.parts(a.id)[0] == "SP-2 B"));
}

#[test]
fn the_shelf_holds_what_it_promises() {
    let r = demo().records;
    assert_eq!((r.persons.len(), r.benches.len(), r.bench_ranges.len()), (2, 1, 3));
    assert_eq!((r.engines.len(), r.vehicles.len(), r.listings.len(), r.sessions.len()), (1, 1, 1, 8));
    assert_eq!(r.predictions.len(), 16);
    let nights: i64 =
        r.service_events.iter().filter(|e| e.kind == Some(ServiceKind::Run)).filter_map(|e| e.nights).sum();
    assert_eq!(nights, 12);
    let main: Vec<_> = r.runs.iter().filter(|x| x.session == Some(demo().truth.main_session)).collect();
    let tests: Vec<_> = main.iter().filter(|x| x.purpose == Some(Purpose::Test)).collect();
    assert_eq!(tests.len(), 24);
    assert_eq!(tests.iter().map(|x| x.assembly).collect::<HashSet<_>>().len(), 8);
    assert_eq!(main.iter().filter(|x| x.purpose == Some(Purpose::Baseline)).count(), 7);
    for held in [Restraint::Lost, Restraint::HandHeld] {
        assert_eq!(r.runs.iter().filter(|x| x.restraint == Some(held)).count(), 1);
    }
    assert_eq!(r.runs.iter().filter(|x| x.purpose == Some(Purpose::Sweep)).count(), 21);
    let states: HashSet<_> = r.runs.iter().filter_map(|x| x.service).collect();
    assert_eq!(states, HashSet::from([Service::New, Service::Oiled, Service::Dirty]));
}

#[test]
fn every_evening_opens_with_leakage_and_has_baselines_first_and_last() {
    let r = demo().records;
    for session in &r.sessions {
        let mut runs: Vec<_> = r.runs.iter().filter(|x| x.session == Some(session.id)).collect();
        runs.sort_by_key(|x| x.order_number);
        let purposes: Vec<_> = runs.iter().filter_map(|x| x.purpose).collect();
        assert_eq!(
            purposes[..4],
            [Purpose::FixtureLeakage, Purpose::ClosedThrottleLeakage, Purpose::CheckPlate, Purpose::Baseline]
        );
        assert_eq!(purposes.last(), Some(&Purpose::Baseline));
        assert!(purposes[4..purposes.len() - 1].contains(&Purpose::Baseline), "one between");
        let clocks: Vec<_> = runs
            .iter()
            .filter_map(|x| r.readings.iter().find(|y| y.run == Some(x.id))?.clock.clone())
            .collect();
        assert!(clocks.is_sorted() && clocks.len() == runs.len());
    }
}

#[test]
fn readings_are_rounded_as_written_and_within_their_range() {
    for seed in 0..20 {
        let r = shelf(seed).records;
        for reading in &r.readings {
            let run = r.runs.iter().find(|x| Some(x.id) == reading.run).unwrap();
            let flow = reading.flow.as_ref().unwrap();
            let raw: f64 = flow.raw().unwrap().parse().unwrap();
            assert_eq!(flow.si, Unit::CFM.to_si(raw));
            let range = r.bench_ranges.iter().find(|x| Some(x.id) == run.range).unwrap();
            let share = flow.si / range.full_scale.as_ref().unwrap().si;
            assert!((0.1..0.95).contains(&share), "seed {seed}: {raw} CFM");
            let held = reading.actual_pressure.as_ref().unwrap().si / run.set_pressure.as_ref().unwrap().si;
            assert!((held - 1.0).abs() < 0.01, "seed {seed}: {held}");
        }
    }
}

#[test]
fn the_truth_agrees_with_itself() {
    let truth = demo().truth;
    for flow in &truth.flows {
        let q = flow.flow_m3_s;
        let parts_pa = flow.linear_pa_s_m3 * q + flow.square_pa_s2_m6 * q * q;
        assert!((parts_pa - flow.drop_pa).abs() < 1e-6, "parts and item share the set pressure");
        assert!((flow.loss_ratio - (1.0 - q / truth.baseline_flow_m3_s)).abs() < 1e-12);
        assert!(flow.k_pa_s2_m6 * flow.loss_ratio > 0.0);
    }
    let at = |i: usize| (assembly_id(&EIGHT[i]), usual_service(&EIGHT[i]));
    let equal = truth.log_difference(at(EQUAL.0), at(EQUAL.1)).unwrap();
    assert!(equal.abs() < 1e-9, "{equal}");
    let unseen = truth.log_difference(at(UNSEEN.0), at(UNSEEN.1)).unwrap().abs();
    assert!((3e-4..1.2e-3).contains(&unseen), "{unseen}");
    assert!((truth.baseline_flow_m3_s / Unit::CFM.to_si(277.0) - 1.0).abs() < 1e-9);
}

#[test]
fn the_vented_lid_the_dropped_base_and_the_clay_radius_flow_more() {
    let truth = demo().truth;
    let flow = |stack: &[&str]| truth.of(assembly_id(stack), usual_service(stack)).unwrap();
    for (less, more) in [(0, 1), (0, 2), (2, 3), (4, 5), (6, 7), (0, 4)] {
        assert!(flow(&EIGHT[less]).flow_m3_s < flow(&EIGHT[more]).flow_m3_s);
    }
    let plain = flow(&["SP-2", "BS-2", "FF-1", "LD-2"]);
    let clay = flow(&["SP-2 B", "BS-2", "FF-1", "LD-2"]);
    assert!(clay.flow_m3_s > flow(&EIGHT[7]).flow_m3_s && plain.flow_m3_s < flow(&EIGHT[7]).flow_m3_s);
    assert!(flow(&["VS-1"]).loss_ratio < 0.0, "a velocity stack gains at the entry");
    let dirty = truth.of(assembly_id(&EIGHT[7]), Some(Service::Dirty)).unwrap();
    assert!(dirty.flow_m3_s < flow(&EIGHT[7]).flow_m3_s);
}

#[test]
fn means_of_the_main_evening_lie_near_the_truth() {
    let demo = demo();
    let (r, truth) = (&demo.records, &demo.truth);
    let mean = |wanted: &dyn Fn(&airshelf_catalog::Run) -> bool| {
        let flows: Vec<f64> = r
            .runs
            .iter()
            .filter(|x| x.session == Some(truth.main_session) && wanted(x))
            .filter_map(|x| {
                let reading = r.readings.iter().find(|y| y.run == Some(x.id))?;
                let ratio = x.set_pressure.as_ref()?.si / reading.actual_pressure.as_ref()?.si;
                Some((reading.flow.as_ref()?.si - truth.leakage_m3_s) * ratio.sqrt())
            })
            .collect();
        flows.iter().sum::<f64>() / flows.len() as f64
    };
    let bare = mean(&|x| x.purpose == Some(Purpose::Baseline));
    for stack in &EIGHT {
        let id = assembly_id(stack);
        let loss = 1.0 - mean(&|x| x.purpose == Some(Purpose::Test) && x.assembly == Some(id)) / bare;
        let known = truth.of(id, usual_service(stack)).unwrap().loss_ratio;
        assert!((loss - known).abs() < 0.004, "{stack:?}: {loss} against {known}");
    }
}

#[test]
fn guesses_are_sealed_before_the_first_reading_and_their_ends_enclose_them() {
    let demo = demo();
    let r = &demo.records;
    let session = r.sessions.iter().find(|s| s.id == demo.truth.main_session).unwrap();
    let first = r
        .runs
        .iter()
        .filter(|x| x.session == Some(session.id))
        .filter_map(|x| r.readings.iter().find(|y| y.run == Some(x.id))?.clock.clone())
        .min()
        .unwrap();
    let first = format!("{}T{first}", session.date.as_deref().unwrap());
    for guess in &r.predictions {
        assert!(guess.written <= guess.sealed && guess.sealed.as_ref().unwrap() < &first);
        let si = |q: &Option<airshelf_catalog::Quantity>| q.as_ref().unwrap().si;
        let value = si(if guess.flow.is_some() { &guess.flow } else { &guess.loss });
        assert!(si(&guess.low) <= value && value <= si(&guess.high));
    }
}

#[test]
fn blocks_hold_every_stack_once_between_baselines() {
    let stacks: Vec<_> = EIGHT.iter().map(|s| (s.to_vec(), usual_service(s))).collect();
    let steps = blocks(&stacks, 2, &mut Chance::apart(4, 0));
    assert_eq!(steps.iter().filter(|s| **s == Step::Baseline).count(), 5);
    let tests: Vec<_> = steps.iter().filter(|s| matches!(s, Step::Test(..))).collect();
    assert_ne!(tests[..8], tests[8..], "another order each time");
    assert!(EIGHT.iter().all(|stack| tests[..8].iter().filter(|s| s.stack() == stack).count() == 1));
    assert_eq!(MAIN, "QL-0517");
    assert!(Shed::new().flow_m3_s(&[], None) > 0.0);
}

/// What must be seen in a row for its fault to be there; the words are the sheet's own.
fn stands_there(rule: &str, text: &str, row: &str, others: &[&str]) -> bool {
    let has = |cell: &str| row.split([',', ';', '\t']).any(|c| c == cell);
    match rule {
        "pressure-unit" => has("1.47") || (row.contains(";20;") && text.contains("kPa")),
        "service-state-missing" => row.contains("fastened,,20"),
        "off-pressure" => has("19.58"),
        "over-range" => row.split(',').filter_map(|c| c.parse::<f64>().ok()).any(|x| x > 330.0 && x < 380.0),
        "blank-as-zero" => has("0"),
        "before-arrival" => has("LD-3"),
        "copied-reading" => {
            let columns = if row.contains('\t') { 13..15 } else { 15..17 };
            let cells: Vec<&str> = row.split([',', '\t']).collect();
            let first: Vec<&str> = others[0].split([',', '\t']).collect();
            cells[columns.clone()] == first[columns]
        }
        "stud-short" => has("ST-2") && has("FF-1"),
        "duplicate-row" => row == others[0],
        "out-of-range" => has("2.93") || has("148") || has("-12.00"),
        "unbracketed" => has("test"),
        "sign-mixed" => row.split(',').any(|c| c.starts_with('-')),
        "unrestrained" => has("lost"),
        "percent-as-flow" | "loss-arithmetic" => {
            let baseline = text.lines().find(|l| l.starts_with("Baseline (bare)")).unwrap();
            let baseline: f64 = baseline.split([',', ' ', '"']).find_map(|c| c.parse().ok()).unwrap();
            let cells: Vec<&str> = row.split(',').collect();
            let (flow, loss): (f64, f64) = (cells[9].parse().unwrap(), cells[10].parse().unwrap());
            (baseline - flow - loss).abs() > 2.0
                && (rule != "percent-as-flow" || (100.0 * (1.0 - flow / baseline) - loss).abs() < 0.06)
        }
        "single-reading" => row.contains("beats the solid lid"),
        "leak-pressure" => row.contains("\t2\t\t\t"),
        "throttle-leak-subtracted" => row.contains("\t5.1\t"),
        "wrong-direction" => has("exhaust"),
        "leak-one-sided" => has("baseline"),
        "inch-mm" => row.contains(";3,50;") || has("57"),
        "pressure-mixed" => row.contains("@ 12 inH2O"),
        "fraction-misread" => has("1.18") && row.contains("1-1/8"),
        "area-impossible" => has("1-3/4"),
        "filtration-unproven" => has("stops everything"),
        _ => false,
    }
}

#[test]
fn planted_faults_stand_at_the_rows_they_claim() {
    for seed in [SEED, 0, 1, 2, 3] {
        let demo = shelf(seed);
        assert_eq!(demo.old_records.len(), 6);
        let mut count = 0;
        for file in &demo.old_records {
            let text = String::from_utf8(file.bytes.clone()).unwrap();
            let lines: Vec<&str> = text.lines().collect();
            for fault in &file.planted {
                let at = |row: i64| lines[usize::try_from(row).unwrap() - 1];
                let others: Vec<&str> = fault.also_rows.iter().map(|r| at(*r)).collect();
                assert!(
                    stands_there(fault.rule, &text, at(fault.sheet_row), &others),
                    "seed {seed}, {} row {}: {} in {:?}",
                    file.file_name,
                    fault.sheet_row,
                    fault.rule,
                    at(fault.sheet_row)
                );
                count += 1;
            }
        }
        assert_eq!(count, 34, "seed {seed}");
    }
}
