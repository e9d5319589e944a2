//! Area 6: the GUM's own examples, type B, propagation, pooling.

use airshelf_stats::distribution::student_factor;
use airshelf_stats::regression::fit;
use airshelf_stats::summary::summary;
use airshelf_stats::uncertainty::{
    Input, Shape, combined, correlation, correlation_of, expanded, pooled, propagate, second_order, type_b,
    welch_satterthwaite,
};

use super::case::{Case, Found, numbers};

pub fn answer(case: &Case) -> Option<Vec<Found>> {
    let quantity = case.quantity.as_str();
    if quantity.starts_with("GUM H.1") {
        return gauge_block(case);
    }
    if quantity.starts_with("GUM H.2") {
        return impedance(case);
    }
    if quantity.starts_with("GUM H.3") {
        return thermometer(case);
    }
    if quantity.starts_with("GUM G.4.1") {
        let (u, nu, _) = welch(case);
        // Printed with broken degrees of freedom rounded to 19.
        let half = expanded(u, nu.round(), 0.95).unwrap().half_width;
        return numbers([u, nu, half]);
    }
    if quantity.starts_with("Welch-Satterthwaite") {
        let (u, nu, _) = welch(case);
        let wide = expanded(u, nu, 0.95).unwrap();
        return numbers([u, nu, wide.factor, wide.half_width]);
    }
    match quantity {
        "t_p(nu), two-sided" => numbers([student_factor(case.number("p"), case.number("nu")).unwrap()]),
        "type B divisors: rectangular, triangular, arcsine, digital step" => {
            let a = case.number("a");
            numbers(
                [Shape::Rectangular, Shape::Triangular, Shape::Arcsine, Shape::Step]
                    .map(|shape| type_b(a, shape).unwrap()),
            )
        }
        "ratio of two correlated flows Q1/Q0 [value, u]" => {
            let r = case.number("r");
            let inputs = [input(case, "Q0"), input(case, "Q1")];
            let table = vec![vec![1.0, r], vec![r, 1.0]];
            let ratio = propagate(|q| q[1] / q[0], &inputs, Some(&table)).unwrap();
            numbers([ratio.value, ratio.standard_uncertainty])
        }
        "r = +1 and r = -1 extremes of a difference [u]" => {
            let u = case.list("u");
            numbers(
                case.list("r")
                    .into_iter()
                    .map(|r| combined(&[u[0], -u[1]], Some(&[vec![1.0, r], vec![r, 1.0]])).unwrap()),
            )
        }
        "same quantity used twice: u(x - x), u(x + x), u(x*x)" => {
            let x = [input(case, "x")];
            #[allow(clippy::eq_op)]
            let models: [fn(&[f64]) -> f64; 3] = [|x| x[0] - x[0], |x| x[0] + x[0], |x| x[0] * x[0]];
            numbers(models.map(|model| propagate(model, &x, None).unwrap().standard_uncertainty))
        }
        "flow budget Q = Cd A sqrt(2 dp/rho): [Q, u, and per-cent contributions of Cd, d, dp, rho]" => {
            let si = |name: &str, factor: f64| {
                let raw = input(case, name);
                Input { value: raw.value * factor, standard_uncertainty: raw.standard_uncertainty * factor }
            };
            let inputs = [si("Cd", 1.0), si("d", 0.0254), si("dp", 249.088_91), si("rho", 1.0)];
            let cfm = 0.3048_f64.powi(3) / 60.0;
            let flow = |x: &[f64]| {
                x[0] * std::f64::consts::FRAC_PI_4 * x[1] * x[1] * (2.0 * x[2] / x[3]).sqrt() / cfm
            };
            let found = propagate(flow, &inputs, None).unwrap();
            let shares = found.contributions.iter().map(|c| 100.0 * c.abs() / found.value);
            numbers([found.value, found.standard_uncertainty].into_iter().chain(shares))
        }
        "pooled standard deviation [s_p, dof]" => {
            let groups: Vec<(f64, usize)> =
                case.list("s").into_iter().zip(case.list("n")).map(|(s, n)| (s, n as usize)).collect();
            let found = pooled(&groups).unwrap();
            numbers([found.standard_deviation, found.degrees_of_freedom as f64])
        }
        "standard uncertainty of a mean with pooled s: s_p/sqrt(n) and dof of the pool" => {
            let u = case.number("s_p") / case.number("n").sqrt();
            numbers([u, expanded(u, case.number("dof"), 0.95).unwrap().half_width])
        }
        _ => None,
    }
}

fn input(case: &Case, name: &str) -> Input {
    let pair = case.list(name);
    Input { value: pair[0], standard_uncertainty: pair[1] }
}

fn welch(case: &Case) -> (f64, f64, Vec<f64>) {
    let u = case.list("u");
    let nu = welch_satterthwaite(&u, &case.list("dof")).unwrap();
    (combined(&u, None).unwrap(), nu, u)
}

const GAUGE: [&str; 6] = ["lS", "d", "alphaS", "theta", "dalpha", "dtheta"];

fn length(x: &[f64]) -> f64 {
    x[0] + x[1] - x[0] * (x[4] * x[3] + x[2] * x[5])
}

fn gauge_block(case: &Case) -> Option<Vec<Found>> {
    let inputs = GAUGE.map(|name| input(case, name));
    let freedom: Vec<f64> = GAUGE.iter().map(|name| case.list(name)[2]).collect();
    let found = propagate(length, &inputs, None).unwrap();
    let nu = || welch_satterthwaite(&found.contributions, &freedom).unwrap();
    match case.quantity.as_str() {
        "GUM H.1: combined standard uncertainty u_c" => numbers([found.standard_uncertainty]),
        "GUM H.1: contributions |c_i| u_i of lS, d, dalpha, dtheta" => {
            numbers([0, 1, 4, 5].map(|i| found.contributions[i].abs()))
        }
        "GUM H.1: effective degrees of freedom" => numbers([nu()]),
        "GUM H.1: [t_99(16), U_99]" => {
            let wide = expanded(found.standard_uncertainty, nu(), 0.99).unwrap();
            numbers([wide.factor, wide.half_width])
        }
        "GUM H.1: u_c with second-order terms" => numbers([second_order(length, &inputs).unwrap()]),
        _ => None,
    }
}

fn impedance(case: &Case) -> Option<Vec<Found>> {
    let read = ["V", "I", "phi"].map(|name| case.list(name));
    let means = read.each_ref().map(|values| summary(values).unwrap());
    // mA to A: the results come in ohm.
    let factors = [1.0, 1e-3, 1.0];
    let inputs: Vec<Input> = means
        .iter()
        .zip(factors)
        .map(|(m, f)| Input { value: m.mean * f, standard_uncertainty: m.standard_uncertainty() * f })
        .collect();
    let r = |i: usize, j: usize| correlation(&read[i], &read[j]).unwrap();
    let table: Vec<Vec<f64>> = (0..3).map(|i| (0..3).map(|j| r(i, j)).collect()).collect();
    let models: [fn(&[f64]) -> f64; 3] =
        [|x| x[0] / x[1] * libm::cos(x[2]), |x| x[0] / x[1] * libm::sin(x[2]), |x| x[0] / x[1]];
    let found = models.map(|model| propagate(model, &inputs, Some(&table)).unwrap());
    let quantity = case.quantity.as_str();
    match quantity.trim_start_matches("GUM H.2").trim_start_matches(": ") {
        "standard uncertainties of the means" => numbers(means.map(|m| m.standard_uncertainty())),
        "correlations r(V,I), r(V,phi), r(I,phi)" => numbers([r(0, 1), r(0, 2), r(1, 2)]),
        "u(R), u(X), u(Z)" => numbers(found.map(|f| f.standard_uncertainty)),
        "r(R,X), r(R,Z), r(X,Z)" => numbers([(0, 1), (0, 2), (1, 2)].map(|(i, j)| {
            correlation_of(&found[i].contributions, &found[j].contributions, Some(&table)).unwrap()
        })),
        " in full precision [R, uR, X, uX, Z, uZ]" => {
            numbers(found.iter().flat_map(|f| [f.value, f.standard_uncertainty]))
        }
        " with correlations wrongly left out: u(R)" => {
            numbers([propagate(models[0], &inputs, None).unwrap().standard_uncertainty])
        }
        _ => None,
    }
}

fn thermometer(case: &Case) -> Option<Vec<Found>> {
    let t0 = case.number("t0");
    let rows: Vec<Vec<f64>> = case.list("t_k").into_iter().map(|t| vec![t - t0]).collect();
    let line = fit(&rows, &case.list("b_k"), true).unwrap();
    let at_30 = line.at(&[30.0 - t0]).unwrap();
    if case.quantity.starts_with("GUM H.3: correction") {
        assert_eq!(case.number("t"), 30.0);
        return numbers([at_30.value, at_30.standard_uncertainty]);
    }
    case.quantity.starts_with("GUM H.3 full precision").then_some(())?;
    numbers([
        line.coefficients[0],
        line.standard_errors[0],
        line.coefficients[1],
        line.standard_errors[1],
        line.correlation(0, 1),
        line.residual_sd,
        at_30.value,
        at_30.standard_uncertainty,
    ])
}
