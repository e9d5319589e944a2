//! The demo shelf is honest: its verdicts agree with the truth behind it, its own records stand up to the audit, and
//! the audit finds every fault that was planted in its old notebook.
#![allow(clippy::unwrap_used)]

use airshelf_app::compare::{Asked, compare};
use airshelf_app::demo::{Demo, SEED, shelf};
use airshelf_app::report::{AssemblyReport, Comparison, SessionReport};
use airshelf_catalog::{Records, Service, Uuid};
use airshelf_intake::audit::{Fault, Rule, Scope, Severity, audit};
use airshelf_intake::reader::{Limits, read};
use airshelf_intake::stage::{Known, stage};
use std::collections::{HashMap, HashSet};

fn compared(demo: &Demo) -> Comparison {
    compare(&demo.records, &HashMap::new(), &Asked::default()).unwrap()
}

fn main_evening<'a>(demo: &Demo, all: &'a Comparison) -> &'a SessionReport {
    all.sessions.iter().find(|s| s.id == demo.truth.main_session).unwrap()
}

fn subject(assembly: &AssemblyReport) -> (Uuid, Option<Service>) {
    (assembly.id, assembly.service.and_then(Service::from_name))
}

#[test]
fn resolved_differences_of_the_demo_have_their_true_sign() {
    let demo = shelf(SEED);
    let all = compared(&demo);
    let mut resolved = 0;
    for session in &all.sessions {
        for group in &session.groups {
            for pair in &group.pairs {
                let (a, b) = (&group.assemblies[pair.a], &group.assemblies[pair.b]);
                let Some(d) = demo.truth.log_difference(subject(a), subject(b)) else { continue };
                let held = |x: &AssemblyReport| matches!(x.restraint, Some("fastened") | None);
                if !(held(a) && held(b)) {
                    continue;
                }
                match pair.verdict {
                    Some("a_more") => assert!(d > 0.0, "{}", pair.sentence),
                    Some("b_more") => assert!(d < 0.0, "{}", pair.sentence),
                    _ => continue,
                }
                resolved += 1;
            }
        }
    }
    assert!(resolved >= 25, "only {resolved}: a demo that resolves little shows little");
}

#[test]
fn equal_and_nearly_equal_assemblies_are_never_resolved() {
    for seed in SEED..SEED + 5 {
        let demo = shelf(seed);
        let all = compared(&demo);
        let group = &main_evening(&demo, &all).groups[0];
        assert_eq!(group.assemblies.len(), 8);
        for (one, other) in [demo.truth.equal, demo.truth.unseen] {
            let pair = group
                .pairs
                .iter()
                .find(|p| {
                    let ids = (group.assemblies[p.a].id, group.assemblies[p.b].id);
                    ids == (one, other) || ids == (other, one)
                })
                .unwrap();
            assert!(!matches!(pair.verdict, Some("a_more" | "b_more")), "seed {seed}: {}", pair.sentence);
        }
    }
}

#[test]
fn losses_lie_within_their_intervals_about_as_often_as_said() {
    let (mut inside, mut all) = (0u32, 0u32);
    for seed in 0..30 {
        let demo = shelf(seed);
        for session in &compared(&demo).sessions {
            for group in &session.groups {
                for assembly in &group.assemblies {
                    let (Some(low), Some(high)) = (assembly.loss_low_percent, assembly.loss_high_percent)
                    else {
                        continue;
                    };
                    let (id, service) = subject(assembly);
                    let Some(known) = demo.truth.of(id, service) else { continue };
                    if !matches!(assembly.restraint, Some("fastened") | None) {
                        continue;
                    }
                    let loss = 100.0 * known.loss_ratio;
                    all += 1;
                    inside += u32::from(low <= loss && loss <= high);
                }
            }
        }
    }
    // Losses of one evening share its baselines, so that about 8 evenings x 30 seeds stand behind the share.
    let share = f64::from(inside) / f64::from(all);
    assert!(all > 600 && (0.92..0.98).contains(&share), "{inside} of {all}");
}

#[test]
fn the_drifting_evening_resolves_the_filter_the_lid_and_the_base() {
    let demo = shelf(SEED);
    let all = compared(&demo);
    let group = &main_evening(&demo, &all).groups[0];
    let scatter = group.repeatability.scatter_percent.unwrap();
    assert!((0.08..0.25).contains(&scatter), "{scatter} against 0.15");
    let best = &group.assemblies[0];
    assert_eq!(best.parts, ["BS-2", "FF-1", "LD-2"]);
    assert_eq!(best.place, Some(1));
    let verdict = |a: &[&str], b: &[&str]| {
        let at = |parts: &[&str]| group.assemblies.iter().position(|x| x.parts == parts).unwrap();
        let (a, b) = (at(a), at(b));
        let pair = group.pairs.iter().find(|p| (p.a, p.b) == (a, b) || (p.a, p.b) == (b, a)).unwrap();
        pair.verdict.map(|v| (v == "a_more") == (pair.a == a) && v != "not_resolved" && v != "equivalent")
    };
    let plain = ["BS-1", "PF-1", "LD-1"];
    for other in [["BS-1", "FF-1", "LD-1"], ["BS-1", "PF-1", "LD-2"], ["BS-2", "PF-1", "LD-1"]] {
        assert_eq!(verdict(&other, &plain), Some(true), "{other:?}");
    }
}

#[test]
fn lost_and_hand_held_readings_of_the_demo_have_no_place() {
    let all = compared(&shelf(SEED));
    let mut seen = HashSet::new();
    for assembly in all.sessions.iter().flat_map(|s| &s.groups).flat_map(|g| &g.assemblies) {
        if let Some(held @ ("lost" | "hand-held")) = assembly.restraint {
            assert_eq!((assembly.placed, assembly.place), (false, None));
            seen.insert(held);
        }
    }
    assert_eq!(seen.len(), 2);
}

#[test]
fn the_demos_own_records_have_no_blocking_fault() {
    for seed in SEED..SEED + 3 {
        let faults = audit(&shelf(seed).records, &Scope::default());
        let blocking: Vec<_> =
            faults.iter().filter(|f| f.severity == Severity::Block && f.rule != Rule::Unrestrained).collect();
        assert!(blocking.is_empty(), "seed {seed}: {blocking:#?}");
    }
}

/// The demo with its old notebook imported, and the rows each file's faults stand in.
fn with_notebook(demo: &Demo) -> (Records, Vec<Fault>) {
    let mut records = demo.records.clone();
    let mut known = Known::of(&records);
    for old in &demo.old_records {
        let book = read(&old.file_name, &old.bytes, &Limits::default()).unwrap();
        let staged = stage(&old.file_name, &book, &known, None, &mut |_| {});
        known.remember(&staged);
        records.append(staged.records);
    }
    let faults = audit(&records, &Scope::default());
    (records, faults)
}

#[test]
fn the_audit_finds_every_fault_planted_in_the_old_notebook() {
    for seed in [SEED, 1, 2] {
        let demo = shelf(seed);
        let (_, faults) = with_notebook(&demo);
        let mut missed = Vec::new();
        for old in &demo.old_records {
            for planted in &old.planted {
                assert!(Rule::from_code(planted.rule).is_some(), "{}", planted.rule);
                let rows: HashSet<i64> =
                    planted.also_rows.iter().copied().chain([planted.sheet_row]).collect();
                let found = faults.iter().any(|f| {
                    f.rule.code() == planted.rule
                        && f.place.file.as_deref() == Some(&old.file_name)
                        && (f.place.row.is_some_and(|r| rows.contains(&r))
                            || f.rows.iter().any(|r| rows.contains(r)))
                });
                if !found {
                    let there: Vec<_> = faults
                        .iter()
                        .filter(|f| {
                            f.place.file.as_deref() == Some(&old.file_name)
                                && f.place.row == Some(planted.sheet_row)
                        })
                        .map(|f| f.rule.code())
                        .collect();
                    missed.push(format!(
                        "{} row {}: {} (found there: {there:?})",
                        old.file_name, planted.sheet_row, planted.rule
                    ));
                }
            }
        }
        assert!(missed.is_empty(), "seed {seed}:\n{}", missed.join("\n"));
    }
}

#[test]
fn importing_the_notebook_names_the_shelfs_own_parts_and_loses_no_row() {
    let demo = shelf(SEED);
    let (records, faults) = with_notebook(&demo);
    let named: Vec<_> = records.parts.iter().filter(|p| p.only_named == Some(true)).collect();
    assert!(named.is_empty(), "{named:?}");
    assert_eq!(records.parts.len(), demo.records.parts.len() + 7);
    assert!(records.quarantined.is_empty(), "{:?}", records.quarantined);
    let of_file = |f: &&Fault| f.place.file.is_some() && f.severity == Severity::Block;
    let planted: HashSet<(&str, i64)> = demo
        .old_records
        .iter()
        .flat_map(|o| {
            o.planted.iter().flat_map(|p| {
                p.also_rows.iter().copied().chain([p.sheet_row]).map(|row| (o.file_name.as_str(), row))
            })
        })
        .collect();
    let stray: Vec<_> = faults
        .iter()
        .filter(of_file)
        .filter(|f| !planted.contains(&(f.place.file.as_deref().unwrap(), f.place.row.unwrap_or(0))))
        .map(|f| (f.rule.code(), f.place.file.clone(), f.place.row))
        .collect();
    assert!(stray.is_empty(), "rows blocked that nothing was planted in: {stray:?}");
}
