//! Times of the comparison, for `cargo xtask bench`; in an ordinary run only that it stays quick.

#![allow(clippy::unwrap_used)]

use airshelf_stats::compare::{Fitting, Group, Subject, TypeB, compare};
use std::time::Instant;

/// An evening of 500 runs: 150 assemblies three times each, a baseline after every nine of them.
fn evening() -> Group {
    let mut fittings = Vec::new();
    let mut push = |subject, flow_m3_s| {
        let when = fittings.len() as f64;
        fittings.push(Fitting {
            subject,
            when,
            flow_m3_s,
            actual_pressure_pa: Some(4981.8),
            readings: 1,
            type_b: TypeB::default(),
        });
    };
    for n in 0..450 {
        if n % 9 == 0 {
            push(Subject::Baseline, 0.131 * (1.0 + 1e-5 * f64::from(n)));
        }
        let wobble = f64::from((n * 7919) % 101 - 50) * 3e-5;
        push(Subject::Assembly((n % 150) as usize), 0.124 + 2e-5 * f64::from(n % 150) + 0.124 * wobble);
    }
    Group::new(Some(4981.8), fittings)
}

#[test]
fn an_evening_of_500_runs_is_compared_quickly() {
    let group = evening();
    assert_eq!(group.fittings.len(), 500);
    let mut best = f64::INFINITY;
    let mut pairs = 0;
    for _ in 0..5 {
        let begin = Instant::now();
        let said = compare(&group).unwrap();
        pairs = said.pairs().count();
        best = best.min(begin.elapsed().as_secs_f64());
    }
    assert_eq!(pairs, 150 * 149 / 2);
    println!("  comparing 500 runs        {:7.1} ms, {pairs} pairs", best * 1e3);
    // The budget is 50 ms in a release build; a debug build of the caller on a busy machine gets more.
    assert!(best < if cfg!(debug_assertions) { 1.0 } else { 0.05 }, "{best} s");
}
