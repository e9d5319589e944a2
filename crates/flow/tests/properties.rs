//! Properties: continuity at the edges of regimes, identities, monotonicity.
#![allow(clippy::unwrap_used)]

use airshelf_flow::air::{Air, saturation_vapor_pressure_pa};
use airshelf_flow::engine::{Engine, InletAir, part_effect};
use airshelf_flow::orifice::{Orifice, Taps, Upstream, coefficient_expanded_percent, flow};
use airshelf_flow::photo_scale::{PhotoPlane, circle_through};
use airshelf_flow::restriction::{
    Finding, Restriction, finding, flow_with_parts_m3_s, k_pa_s2_m6, pressure_drop_pa,
};
use airshelf_flow::sweep::{self, Curve};
use airshelf_flow::{FlowError, geometry, leakage, plate, scale};
use proptest::prelude::*;

fn near(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}

proptest! {
    #[test]
    fn scaling_there_and_back_is_the_same_flow(
        q in 0.01..1.0_f64, from in 200.0..12_000.0_f64, to in 200.0..12_000.0_f64, n in 0.5..1.0_f64,
    ) {
        let there = scale::to_pressure(q, from, to, n).unwrap().flow_m3_s;
        let back = scale::to_pressure(there, to, from, n).unwrap().flow_m3_s;
        prop_assert!(near(q, back, 1e-12));
        prop_assert_eq!(there > q, to > from);
    }

    #[test]
    fn the_highest_pressure_fills_the_range(q in 0.01..1.0_f64, p in 200.0..9000.0_f64, range in 0.01..1.0_f64) {
        let held = scale::highest_pressure(q, p, range, 0.05).unwrap();
        let filled = scale::to_pressure(q, p, held.highest_pressure_pa, 0.5).unwrap().flow_m3_s;
        prop_assert!(near(filled, range, 1e-12));
        prop_assert!(held.suggested_pressure_pa < held.highest_pressure_pa);
    }

    #[test]
    fn leakage_stays_inside_its_bounds_and_comes_back(
        q in 0.0..0.01_f64, from in 200.0..9000.0_f64, to in 200.0..9000.0_f64,
    ) {
        let there = leakage::carry(q, from, to, None).unwrap();
        prop_assert!(there.low_m3_s <= there.flow_m3_s && there.flow_m3_s <= there.high_m3_s);
        let back = leakage::carry(there.flow_m3_s, to, from, None).unwrap().flow_m3_s;
        prop_assert!(near(q, back, 1e-12));
    }

    #[test]
    fn humid_air_is_lighter_and_its_dew_point_leads_back(
        t in 275.0..313.0_f64, p in 75_000.0..108_000.0_f64, h in 0.05..1.0_f64,
    ) {
        let air = Air::from_relative_humidity(t, p, h).unwrap();
        prop_assert!(air.density_kg_m3() < Air::dry(t, p).unwrap().density_kg_m3());
        prop_assert!(air.viscosity_pa_s() < Air::dry(t, p).unwrap().viscosity_pa_s());
        prop_assert!(air.speed_of_sound_m_s() > Air::dry(t, p).unwrap().speed_of_sound_m_s());
        prop_assert!(near(air.relative_humidity(), h, 1e-12));
        let dew = air.dew_point_k().unwrap();
        prop_assume!(dew <= t);
        let again = Air::from_dew_point(t, p, dew).unwrap();
        prop_assert!(near(again.vapor_fraction(), air.vapor_fraction(), 1e-10));
    }

    #[test]
    fn more_drop_is_more_flow_through_orifice_and_plate(
        beta in 0.2..0.74_f64, drop in 300.0..15_000.0_f64, more in 1.01..1.5_f64,
    ) {
        let orifice = Orifice { bore_m: 0.1 * beta, pipe_m: 0.1, taps: Taps::Flange };
        let air = Upstream::from(&Air::reference());
        let (less, greater) = (flow(&orifice, drop, &air), flow(&orifice, drop * more, &air));
        if let (Ok(less), Ok(greater)) = (less, greater) {
            prop_assert!(less.flow_kg_s < greater.flow_kg_s);
            prop_assert!(less.permanent_loss_pa < drop);
            // C belongs to the Reynolds number that the flow itself makes.
            let reynolds = 4.0 * less.flow_kg_s / (std::f64::consts::PI * air.viscosity_pa_s * 0.1);
            prop_assert!(near(reynolds, less.reynolds, 1e-9));
        }
        let through = |drop| plate::flow(0.05, drop, 101_325.0, 1.2, None).unwrap().flow_m3_s;
        prop_assert!(through(drop) < through(drop * more));
    }

    #[test]
    fn a_part_put_back_on_its_baseline_gives_the_reading(
        q0 in 0.05..0.6_f64, share in 0.5..1.1_f64, p in 300.0..9000.0_f64,
    ) {
        let q1 = q0 * share;
        let k = k_pa_s2_m6(q0, q1, p).unwrap();
        prop_assert!(near(flow_with_parts_m3_s(q0, &[k], p).unwrap(), q1, 1e-12));
        // k times the square of the flow is the drop.
        let drop = pressure_drop_pa(q0, q1, p).unwrap();
        prop_assert!((k * q1 * q1 - drop).abs() <= 1e-9 * p);
        let part = Restriction::of_part(q0, q1, p, 1.2).unwrap();
        prop_assert!((part.drop_at(q1).unwrap().drop_pa - drop).abs() <= 1e-9 * p);
        // The same part, measured at another pressure on the same baseline, is
        // the same part.
        let (low0, low1) = (q0 * 0.3_f64.sqrt(), q1 * 0.3_f64.sqrt());
        prop_assert!((k_pa_s2_m6(low0, low1, 0.3 * p).unwrap() - k).abs() <= 1e-9 * (p / (q0 * q0)));
        let back = part.in_air_of(1.1).unwrap().in_air_of(1.2).unwrap();
        prop_assert!(near(back.k_pa_s2_m6, k, 1e-12) || k == 0.0);
    }

    #[test]
    fn the_square_law_is_continuous_where_bounds_begin(tested in 0.05..0.6_f64, k in 100.0..9000.0_f64) {
        let part = Restriction { k_pa_s2_m6: k, reference_density_kg_m3: 1.2, tested_flow_m3_s: tested };
        for edge in [0.8, 1.25] {
            let inside = part.drop_at(tested * edge * if edge < 1.0 { 1.0 + 1e-6 } else { 1.0 - 1e-6 }).unwrap();
            let outside = part.drop_at(tested * edge * if edge < 1.0 { 1.0 - 1e-6 } else { 1.0 + 1e-6 }).unwrap();
            prop_assert!(inside.caution.is_none() && outside.caution.is_some());
            prop_assert!(near(inside.drop_pa, outside.drop_pa, 1e-5));
            prop_assert!(outside.low_pa <= outside.drop_pa && outside.drop_pa <= outside.high_pa);
        }
    }

    #[test]
    fn an_area_is_named_only_when_the_interval_excludes_zero(k in -50.0..50.0_f64, half in 0.1..60.0_f64) {
        let said = finding(k, k - half, k + half, 1.2).unwrap();
        match said {
            Finding::Restricts { area_m2, low_m2, high_m2 } => {
                prop_assert!(k - half > 0.0 && low_m2 < area_m2 && area_m2 < high_m2);
            }
            Finding::EntryGain => prop_assert!(k + half < 0.0),
            Finding::NotResolved { at_least_m2 } => {
                prop_assert!(k - half <= 0.0 && k + half >= 0.0 && at_least_m2 > 0.0);
            }
        }
    }

    #[test]
    fn a_sweep_without_scatter_gives_its_curve_back(
        a in 0.0..2000.0_f64, b in 1000.0..60_000.0_f64, top in 0.05..0.5_f64,
    ) {
        let curve = Curve { a_pa_s_m3: a, b_pa_s2_m6: b };
        let flow: Vec<f64> = (1..=8).map(|i| top * f64::from(i) / 8.0).collect();
        let drop: Vec<f64> = flow.iter().map(|&q| curve.drop_pa(q)).collect();
        let fitted = sweep::fit(&flow, &drop).unwrap();
        for &q in &flow {
            prop_assert!(near(fitted.curve.drop_pa(q), curve.drop_pa(q), 1e-9));
            prop_assert!(near(curve.flow_m3_s(curve.drop_pa(q)).unwrap(), q, 1e-12));
            let n = curve.local_exponent(q).unwrap();
            prop_assert!((0.5..=1.0).contains(&n));
        }
        prop_assert!(fitted.predict(1.25 * top, 0.95).is_ok());
        let refused = fitted.predict(1.251 * top, 0.95);
        prop_assert!(matches!(refused, Err(FlowError::BeyondSweep { .. })), "must refuse");
    }

    #[test]
    fn a_tighter_part_costs_more_air_and_more_at_speed(share in 0.75..0.99_f64, speed in 40.0..120.0_f64) {
        let air = InletAir::from(&Air::engine_reference());
        let carburetor = Restriction::of_item(0.354, 5079.6, 1.2).unwrap();
        let engine = |speed_rev_s| Engine { displacement_m3: 5.735e-3, speed_rev_s, volumetric_efficiency: 1.0 };
        let effect = |share: f64, speed| {
            let part = Restriction::of_part(0.4248, 0.4248 * share, 6974.5, 1.2).unwrap();
            part_effect(&engine(speed), &air, Some(&carburetor), Some(&part)).unwrap()
        };
        let here = effect(share, speed);
        prop_assert!(here.air_loss > 0.0);
        prop_assert!(here.air_loss < effect(share - 0.02, speed).air_loss);
        prop_assert!(here.air_loss < effect(share, speed * 1.1).air_loss);
        prop_assert!(here.air_loss_low <= here.air_loss && here.air_loss <= here.air_loss_high);
        prop_assert!(here.same_as_warmer_low_k < here.same_as_warmer_high_k);
        // What comes in fills what the engine takes at the pressure it takes it.
        let filled = here.demand_m3_s * air.density_kg_m3 * here.pressure_below_pa / air.pressure_pa;
        prop_assert!(near(filled, here.air_kg_s, 1e-9));
    }

    #[test]
    fn the_zigzag_lies_between_its_bounds(pleats in 20_u32..300, depth in 0.002..0.05_f64) {
        let exact = geometry::zigzag_media_area_m2(pleats, 0.35, 0.35 - 2.0 * depth, 0.07).unwrap();
        let simple = geometry::media_area_m2(pleats, depth, 0.07).unwrap();
        let face = geometry::face_area_m2(0.35, 0.07).unwrap();
        prop_assert!(simple < exact && exact < simple + face);
    }

    #[test]
    fn a_photo_taken_from_anywhere_measures_the_same(
        tilt in -0.4..0.4_f64, turn in 0.0..6.2_f64, away in 0.5..1.5_f64, x in 0.02..0.18_f64, y in 0.02..0.13_f64,
    ) {
        // A pinhole camera over the middle of a 200 × 150 mm reference.
        let see = |p: [f64; 2]| {
            let (u, v) = (p[0] - 0.1, p[1] - 0.075);
            let (u, v) = (u * libm::cos(turn) - v * libm::sin(turn), u * libm::sin(turn) + v * libm::cos(turn));
            let depth = away + u * libm::sin(tilt);
            [2000.0 + 3000.0 * u * libm::cos(tilt) / depth, 1500.0 + 3000.0 * v / depth]
        };
        let places = [[0.0, 0.0], [0.2, 0.0], [0.2, 0.15], [0.0, 0.15], [0.1, 0.02]];
        let plane = PhotoPlane::fit(&places, &places.map(see)).unwrap();
        prop_assert!(plane.greatest_px < 1e-6);
        let found = plane.place_m(see([x, y])).unwrap();
        prop_assert!(libm::hypot(found[0] - x, found[1] - y) < 1e-9);
        let length = plane.distance_m(see([0.0, 0.0]), see([x, y])).unwrap();
        prop_assert!(near(length, libm::hypot(x, y), 1e-7));
    }

    #[test]
    fn three_points_of_a_circle_give_it_back(x in -1.0..1.0_f64, r in 0.01..0.1_f64, turn in 0.0..6.2_f64) {
        let at = |angle: f64| [x + r * libm::cos(angle), r * libm::sin(angle)];
        let circle = circle_through(at(turn), at(turn + 1.0), at(turn + 3.0)).unwrap();
        prop_assert!((circle.radius - r).abs() < 1e-9 && (circle.center[0] - x).abs() < 1e-9);
    }
}

#[test]
fn bounds_are_those_of_exponents_one_half_and_one() {
    let leak = leakage::carry(0.001, 1000.0, 4000.0, None).unwrap();
    assert!(near(leak.low_m3_s, 0.002, 1e-12) && near(leak.high_m3_s, 0.004, 1e-12));
    let part = Restriction { k_pa_s2_m6: 100.0, reference_density_kg_m3: 1.2, tested_flow_m3_s: 0.4 };
    let (slow, fast) = (part.drop_at(0.2).unwrap(), part.drop_at(0.8).unwrap());
    assert!(near(slow.low_pa, 4.0, 1e-12) && near(slow.high_pa, 8.0, 1e-12));
    assert!(near(fast.low_pa, 32.0, 1e-12) && near(fast.high_pa, 64.0, 1e-12));
}

#[test]
fn water_and_ice_meet_at_the_ice_point() {
    let (above, below) =
        (saturation_vapor_pressure_pa(273.15).unwrap(), saturation_vapor_pressure_pa(273.15 - 1e-9).unwrap());
    assert!(near(above, below, 1e-4), "{above} {below}");
}

#[test]
fn uncertainty_of_the_coefficient_is_continuous_between_its_regimes() {
    for beta in [0.2, 0.6] {
        let (below, above) = (
            coefficient_expanded_percent(beta - 1e-9, 0.1, 1e5),
            coefficient_expanded_percent(beta + 1e-9, 0.1, 1e5),
        );
        // At 0.6 the standard's own rounding of 1.667 leaves 0.0002.
        assert!((below - above).abs() < 3e-4, "{beta}: {below} {above}");
    }
}

#[test]
fn a_point_on_a_line_is_no_fourth_corner_but_may_be_a_fifth() {
    let line = [[0.0, 0.0], [0.1, 0.0], [0.2, 0.0], [0.0, 0.15]];
    assert!(matches!(PhotoPlane::fit(&line, &line), Err(FlowError::Degenerate { .. })));
    let five = [[0.0, 0.0], [0.2, 0.0], [0.2, 0.15], [0.0, 0.15], [0.1, 0.0]];
    assert!(PhotoPlane::fit(&five, &five).unwrap().rms_px < 1e-9);
}

#[test]
fn expansion_of_the_air_is_worth_a_caution_from_5_5_to_28_inches() {
    let far = scale::to_pressure(0.27, 1370.0, 6974.5, 0.5).unwrap();
    let codes: Vec<_> = far.cautions.iter().map(|c| c.code()).collect();
    assert_eq!(codes, ["far-from-measured", "expansibility"]);
    let near_by = scale::to_pressure(0.27, 1370.0, 1400.0, 0.5).unwrap();
    assert!(near_by.cautions.is_empty());
}

#[test]
fn what_is_not_a_number_is_refused_everywhere() {
    let nan = f64::NAN;
    assert!(scale::to_pressure(nan, 1.0, 1.0, 0.5).is_err());
    assert!(scale::to_pressure(1.0, nan, 1.0, 0.5).is_err());
    assert!(leakage::carry(1.0, 1.0, nan, None).is_err());
    assert!(plate::flow(0.05, nan, 101_325.0, 1.2, None).is_err());
    assert!(Air::dry(nan, 101_325.0).is_err());
    assert!(pressure_drop_pa(1.0, nan, 1.0).is_err());
    assert!(finding(nan, 0.0, 1.0, 1.2).is_err());
    assert!(sweep::fit(&[1.0, 2.0, nan], &[1.0, 2.0, 3.0]).is_err());
    assert!(geometry::curtain(0.13, nan).is_err());
    assert!(geometry::stack_up_height_m(&[(nan, 0.0)]).is_err());
    assert!(circle_through([nan, 0.0], [1.0, 0.0], [0.0, 1.0]).is_err());
    let square = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, nan]];
    assert!(PhotoPlane::fit(&square, &square).is_err());
}

#[test]
fn a_register_says_whether_it_goes_on() {
    use geometry::{Register, RegisterFit, register_fit};
    let fit = |hole_m, tolerance| {
        register_fit(&Register {
            hole_m,
            hole_tolerance_m: tolerance,
            rim_m: 0.1302,
            rim_tolerance_m: 0.0002,
        })
        .unwrap()
    };
    assert!(matches!(fit(0.1310, 0.0002), RegisterFit::Clears { least_m, .. } if least_m > 0.0));
    assert!(matches!(fit(0.1302, 0.0002), RegisterFit::Unsure { .. }));
    assert!(matches!(fit(0.1290, 0.0002), RegisterFit::Interferes { least_m } if least_m > 0.0));
    assert!((geometry::bore_ratio(0.0572, 0.0554).unwrap() - 1.0660).abs() < 1e-4);
    assert!((geometry::full_curtain_gap_m(0.13).unwrap() - 0.0325).abs() < 1e-15);
}
