//! Area 7: NIST StRD, tests, ranges, charts, planning.

use std::collections::BTreeMap;

use airshelf_stats::agreement::{Agreement, PValue, kendall, spearman};
use airshelf_stats::anova::{nonadditivity, one_way, two_way};
use airshelf_stats::control::{constants, ewma, ewma_limits, individuals};
use airshelf_stats::difference::{holm, paired, pooled, tukey_kramer, welch};
use airshelf_stats::distribution::student_factor;
use airshelf_stats::drift::bracket;
use airshelf_stats::outlier::{End, grubbs};
use airshelf_stats::plan::{repeats_to_resolve, resolvable_difference};
use airshelf_stats::regression::{Fit, fit};
use airshelf_stats::studentized_range::StudentizedRange;
use airshelf_stats::summary::{Summary, summary};

use super::case::{Case, Found, numbers};

pub fn answer(case: &Case) -> Option<Vec<Found>> {
    let quantity = case.quantity.as_str();
    let begins = |start: &str| quantity.starts_with(start);
    if begins("NIST StRD one-way ANOVA") {
        return analysis(case);
    }
    if begins("NIST StRD linear regression") || begins("NIST StRD Wampler") || begins("NIST StRD NoInt") {
        return line(case);
    }
    if begins("NIST StRD univariate") {
        let mut values = vec![case.number("first")];
        let pair = case.list("then alternating");
        values.extend((1..case.count("n")).map(|i| pair[(i - 1) % 2]));
        let found = summary(&values).unwrap();
        return numbers([found.mean, found.standard_deviation]);
    }
    if begins("Welch two-sample") {
        let t = welch(&summary(&case.list("a")).unwrap(), &summary(&case.list("b")).unwrap()).unwrap();
        return numbers([t.t, t.degrees_of_freedom, t.p]);
    }
    if begins("same data paired") {
        let t = paired(&case.list("a"), &case.list("b")).unwrap();
        return numbers([t.t, t.degrees_of_freedom, t.p]);
    }
    if begins("two-sample t from summaries") {
        let (n, mean, sd) = (case.list("n"), case.list("mean"), case.list("sd"));
        let [a, b] =
            [0, 1].map(|i| Summary { count: n[i] as usize, mean: mean[i], standard_deviation: sd[i] });
        let (p, w) = (pooled(&a, &b).unwrap(), welch(&a, &b).unwrap());
        return numbers([p.t, p.degrees_of_freedom, w.t, w.degrees_of_freedom]);
    }
    if begins("Holm") {
        return numbers(holm(&case.list("p")));
    }
    if begins("one-way ANOVA of g1, g2, g3") {
        let found = one_way(&["g1", "g2", "g3"].map(|name| case.list(name))).unwrap();
        return numbers([found.between.sum_of_squares, found.within.sum_of_squares, found.between.f]);
    }
    if begins("Tukey intervals") {
        return tukey(case);
    }
    if begins("studentized range quantile") {
        let range = StudentizedRange::new(case.count("k")).unwrap();
        return numbers([range.quantile(case.number("p"), case.number("nu")).unwrap()]);
    }
    if begins("two-way ANOVA with interaction") || begins("unbalanced two-way, type II") {
        return two_factors(case);
    }
    if begins("Tukey one-degree-of-freedom") {
        let found = nonadditivity(&case.table("table")).unwrap();
        return numbers([found.sum_of_squares, found.f, found.p]);
    }
    drift_and_plan(case).or_else(|| ranks_and_charts(case))
}

fn drift_and_plan(case: &Case) -> Option<Vec<Found>> {
    let quantity = case.quantity.as_str();
    let begins = |start: &str| quantity.starts_with(start);
    if begins("linear drift correction") {
        let at = |name: &str| (case.list(name)[0], case.list(name)[1]);
        let found = bracket(at("B0"), at("B1"), at("run"), case.number("B_ref")).unwrap();
        return numbers([found.baseline_m3_s, found.corrected_m3_s, found.weight]);
    }
    if begins("edges: run at the first baseline") {
        // The case before it: 900 falling to 894 over an hour.
        let found = case.list("w").into_iter().map(|w| {
            bracket((900.0, 0.0), (894.0, 60.0), (846.0, 60.0 * w), 900.0)
                .map_or(Found::Refused, |b| Found::Number(b.baseline_m3_s))
        });
        return Some(found.collect());
    }
    if begins("runs per part to resolve a difference") {
        let (ratio, confidence) = (case.number("difference/sd"), 1.0 - case.number("alpha"));
        let runs = repeats_to_resolve(ratio, 1.0, confidence, case.number("power")).unwrap();
        return numbers([runs as f64]);
    }
    if begins("least difference two means") {
        let s = case.number("s");
        let of = |n: f64| resolvable_difference(s, n as usize, 0.95).unwrap();
        return numbers(case.list("n").into_iter().map(of));
    }
    begins("Student t, two-sided 95 %")
        .then(|| numbers([student_factor(0.95, case.number("nu")).unwrap()]))
        .flatten()
}

fn ranks_and_charts(case: &Case) -> Option<Vec<Found>> {
    let quantity = case.quantity.as_str();
    let begins = |start: &str| quantity.starts_with(start);
    let of = |how: fn(&[f64], &[f64]) -> airshelf_stats::Result<Agreement>| {
        how(&case.list("x"), &case.list("y")).unwrap()
    };
    if begins("Kendall tau-b") {
        let found = of(kendall);
        let exact = quantity.contains("exact");
        assert_eq!(found.p_is, if exact { PValue::Exact } else { PValue::Normal });
        return numbers([found.coefficient, found.p]);
    }
    if begins("Spearman rho and") {
        let found = of(spearman);
        return numbers([found.coefficient, found.p]);
    }
    if quantity == "Spearman rho" {
        return numbers([of(spearman).coefficient]);
    }
    if begins("individuals chart") {
        assert_eq!(case.number("d2(2)"), airshelf_stats::control::D2_OF_TWO);
        let chart = individuals(&case.list("x")).unwrap();
        return numbers([chart.center, chart.moving_range, chart.upper, chart.lower]);
    }
    if begins("EWMA chart") {
        return numbers(ewma(&case.list("x"), case.number("EWMA0"), case.number("lambda")).unwrap());
    }
    let limits = |t| {
        let [target, s, lambda, k] = ["target", "s", "lambda", "k"].map(|name| case.number(name));
        ewma_limits(target, s, lambda, k, t).unwrap()
    };
    if begins("EWMA steady-state") {
        let (low, high) = limits(None);
        return numbers([high, low]);
    }
    if begins("EWMA time-varying") {
        return numbers(case.list("t").into_iter().map(|t| limits(Some(t as u32)).1));
    }
    if begins("control chart constants") {
        let c = constants(case.count("n")).unwrap();
        return numbers([c.d2, c.d3, c.c4, c.a2, c.d4]);
    }
    if begins("Grubbs outlier test, one-sided upper") {
        let found = grubbs(&case.list("x"), End::Upper, 0.05).unwrap();
        assert!(found.is_outlier());
        return numbers([found.g, found.critical]);
    }
    None
}

fn analysis(case: &Case) -> Option<Vec<Found>> {
    let mut groups: BTreeMap<u64, Vec<f64>> = BTreeMap::new();
    for (group, y) in case.list("group").into_iter().zip(case.texts("y_text")) {
        groups.entry(group as u64).or_default().push(y.parse().unwrap());
    }
    let found = one_way(&groups.into_values().collect::<Vec<_>>()).unwrap();
    numbers([
        found.between.degrees_of_freedom as f64,
        found.between.sum_of_squares,
        found.between.mean_square(),
        found.between.f,
        found.within.degrees_of_freedom as f64,
        found.within.sum_of_squares,
        found.within.mean_square(),
        found.r_squared,
        found.residual_sd,
    ])
}

fn line(case: &Case) -> Option<Vec<Found>> {
    let y = case.list("y");
    let powers = |degree: i32| -> Vec<Vec<f64>> {
        case.list("x").into_iter().map(|x| (1..=degree).map(|k| x.powi(k)).collect()).collect()
    };
    let full = |found: Fit| {
        let tail = [found.residual_sd, found.r_squared, found.ss_model, found.ss_residual, found.f];
        numbers(found.coefficients.into_iter().chain(found.standard_errors).chain(tail))
    };
    let quantity = case.quantity.as_str();
    if quantity.contains("Longley") {
        return full(fit(&case.table("x"), &y, true).unwrap());
    }
    if quantity.contains("Norris") {
        return full(fit(&powers(1), &y, true).unwrap());
    }
    if quantity.contains("Wampler") {
        let found = fit(&powers(5), &y, true).unwrap();
        return numbers(found.coefficients.into_iter().chain([found.residual_sd, found.r_squared]));
    }
    let found = fit(&powers(1), &y, false).unwrap();
    numbers([found.coefficients[0], found.standard_errors[0], found.residual_sd, found.r_squared])
}

fn tukey(case: &Case) -> Option<Vec<Found>> {
    let found = tukey_kramer(&["g1", "g2", "g3", "g4"].map(|name| case.list(name)), 0.95).unwrap();
    // As printed: 2-1, 3-1, 1-4, 2-3, 2-4, 3-4.
    numbers([(2, 1), (3, 1), (1, 4), (2, 3), (2, 4), (3, 4)].into_iter().flat_map(|(of, less)| {
        let (of, less) = (of - 1, less - 1);
        found
            .iter()
            .find_map(|pair| match (pair.of, pair.less) {
                (a, b) if (a, b) == (of, less) => Some([pair.low, pair.high]),
                (a, b) if (b, a) == (of, less) => Some([-pair.high, -pair.low]),
                _ => None,
            })
            .unwrap()
    }))
}

fn two_factors(case: &Case) -> Option<Vec<Found>> {
    let levels = |name: &str| -> Vec<usize> {
        case.texts(name).iter().map(|text| text[1..].parse::<usize>().unwrap() - 1).collect()
    };
    let found = two_way(&levels("filter"), &levels("lid"), &case.list("y")).unwrap();
    let sources = [found.first, found.second, found.interaction];
    let squares = sources.iter().map(|s| s.sum_of_squares).chain([found.error.sum_of_squares]);
    if case.quantity.starts_with("unbalanced") {
        return numbers(squares);
    }
    numbers(squares.chain(sources.iter().map(|s| s.f)).chain([found.interaction.p]))
}
