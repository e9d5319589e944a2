//! The chain of a reading: order of steps, meters, leakage, what is refused.
#![allow(clippy::unwrap_used)]

use airshelf_flow::FlowError;
use airshelf_flow::air::Air;
use airshelf_flow::leakage;
use airshelf_flow::orifice::{Orifice, Taps};
use airshelf_flow::reduce::{
    FixtureLeakage, Indicated, MeterKind, Reading, ReadingUncertainty, ReducedReading, reduce,
};

const SET_PA: f64 = 1370.0;

fn reading() -> Reading {
    Reading {
        indicated: Indicated::Direct { flow_m3_s: 0.27 },
        meter: MeterKind::SameAir,
        scale_density_kg_m3: Some(1.2),
        bench_factor: 1.0,
        leakage: None,
        actual_pressure_pa: Some(SET_PA),
        set_pressure_pa: SET_PA,
        part_air: Some(Air::from_relative_humidity(303.15, 97_500.0, 0.6).unwrap()),
        meter_temperature_k: None,
        meter_pressure_pa: None,
        reference_density_kg_m3: Air::reference().density_kg_m3(),
        uncertainty: ReadingUncertainty::default(),
    }
}

fn codes(reduced: &ReducedReading) -> Vec<&'static str> {
    reduced.cautions.iter().map(|c| c.code()).collect()
}

#[test]
fn the_density_of_the_day_cancels_at_a_meter_in_the_same_air() {
    let thin = reduce(&reading()).unwrap();
    let thick =
        reduce(&Reading { part_air: Some(Air::dry(283.15, 103_000.0).unwrap()), ..reading() }).unwrap();
    let none = reduce(&Reading { part_air: None, ..reading() }).unwrap();
    let at = |r: &ReducedReading| r.at_reference_m3_s.unwrap();
    assert!((at(&thin) - at(&thick)).abs() < 1e-12);
    assert!((at(&thin) - at(&none)).abs() < 1e-12);
    assert_eq!(none.as_tested_m3_s, None);
    assert!(codes(&none).contains(&"air-missing"));
}

#[test]
fn a_mass_meter_and_a_volumetric_one_agree_on_the_same_air() {
    let density = reading().part_air.unwrap().density_kg_m3();
    let volumetric = reduce(&Reading { meter: MeterKind::Volumetric, ..reading() }).unwrap();
    // The mass meter's scale shows the same mass in air of 1.2.
    let shown = 0.27 * density / 1.2;
    let mass = reduce(&Reading {
        meter: MeterKind::Mass,
        indicated: Indicated::Direct { flow_m3_s: shown },
        ..reading()
    })
    .unwrap();
    assert!((volumetric.as_tested_m3_s.unwrap() - 0.27).abs() < 1e-12);
    assert!((mass.as_tested_m3_s.unwrap() - 0.27).abs() < 1e-12);
    assert!((mass.at_reference_m3_s.unwrap() - volumetric.at_reference_m3_s.unwrap()).abs() < 1e-12);
}

#[test]
fn an_unknown_meter_gives_no_flow_at_reference_air() {
    let reduced = reduce(&Reading { meter: MeterKind::Unknown, ..reading() }).unwrap();
    assert_eq!(reduced.at_reference_m3_s, None);
    assert!(codes(&reduced).contains(&"meter-unknown"));
    assert!((reduced.at_set_m3_s - 0.27).abs() < 1e-15);
}

#[test]
fn a_warmer_meter_reads_low_by_half_a_percent_for_three_kelvin() {
    let cool = reduce(&reading()).unwrap();
    let warm = reduce(&Reading { meter_temperature_k: Some(306.15), ..reading() }).unwrap();
    let ratio = warm.at_reference_m3_s.unwrap() / cool.at_reference_m3_s.unwrap();
    assert!((ratio - (303.15_f64 / 306.15).sqrt()).abs() < 1e-12);
}

#[test]
fn leakage_is_taken_at_the_actual_pressure_and_before_the_correction() {
    let leak = FixtureLeakage { flow_m3_s: 0.002, at_pa: 250.0, standard_uncertainty_m3_s: None };
    let reduced =
        reduce(&Reading { leakage: Some(leak), actual_pressure_pa: Some(1340.0), ..reading() }).unwrap();
    let carried = leakage::carry(0.002, 250.0, 1340.0, None).unwrap();
    let by_hand = (0.27 - carried.flow_m3_s) * (SET_PA / 1340.0_f64).sqrt();
    assert!((reduced.at_set_m3_s - by_hand).abs() < 1e-15);
    let names: Vec<_> = reduced.steps.iter().map(|step| step.name).collect();
    assert_eq!(
        names,
        [
            "indicated flow",
            "bench factor",
            "fixture leakage at the actual pressure",
            "less fixture leakage",
            "flow at the set pressure",
            "density at the part",
            "flow as tested",
            "flow at reference air",
        ]
    );
    // The exponent's spread is the only thing known to be uncertain here, and
    // it survives to the end.
    let share = reduced.standard_uncertainty_m3_s.unwrap();
    assert!(share > 0.9 * carried.standard_uncertainty_m3_s);
}

#[test]
fn leakage_as_large_as_the_flow_is_refused() {
    let leak = FixtureLeakage { flow_m3_s: 0.3, at_pa: SET_PA, standard_uncertainty_m3_s: None };
    let refused = reduce(&Reading { leakage: Some(leak), ..reading() }).unwrap_err();
    assert!(matches!(refused, FlowError::LeakageExceedsFlow { .. }));
}

#[test]
fn a_missing_actual_pressure_is_taken_as_set_and_marked() {
    let missing = reduce(&Reading { actual_pressure_pa: None, ..reading() }).unwrap();
    assert!(codes(&missing).contains(&"actual-pressure-missing"));
    assert_eq!(missing.at_set_m3_s, reduce(&reading()).unwrap().at_set_m3_s);
}

#[test]
fn more_than_five_percent_off_the_set_pressure_is_refused() {
    let at = |share: f64| reduce(&Reading { actual_pressure_pa: Some(SET_PA * share), ..reading() });
    assert!(at(0.95).is_ok() && at(1.05).is_ok());
    for share in [0.949, 1.051] {
        assert!(matches!(at(share), Err(FlowError::TooFarFromSetPressure { .. })));
    }
}

#[test]
fn a_setting_error_of_0_05_at_5_5_inches_is_0_45_percent_of_flow() {
    let known =
        ReadingUncertainty { actual_pressure_pa: Some(0.05 / 5.5 * SET_PA), ..ReadingUncertainty::default() };
    let reduced = reduce(&Reading { uncertainty: known, ..reading() }).unwrap();
    let step = reduced.steps.iter().find(|s| s.name == "flow at the set pressure").unwrap();
    let percent = 100.0 * step.standard_uncertainty.unwrap() / step.value;
    assert!((percent - 0.4545).abs() < 1e-3, "{percent}");
}

#[test]
fn an_error_of_density_cancels_at_reference_for_a_meter_in_the_same_air_only() {
    let known = ReadingUncertainty { density_relative: Some(0.01), ..Default::default() };
    let relative = |meter| {
        let reduced = reduce(&Reading { uncertainty: known, meter, ..reading() }).unwrap();
        reduced.standard_uncertainty_m3_s.unwrap() / reduced.at_reference_m3_s.unwrap()
    };
    assert!(relative(MeterKind::SameAir) < 1e-12);
    assert!((relative(MeterKind::Mass) - 0.005).abs() < 1e-12);
    assert!((relative(MeterKind::Volumetric) - 0.005).abs() < 1e-12);
}

#[test]
fn percent_of_range_is_the_same_as_the_flow_it_stands_for() {
    let percent = Indicated::PercentOfRange { percent: 90.0, range_m3_s: 0.3 };
    let reduced = reduce(&Reading { indicated: percent, ..reading() }).unwrap();
    assert!((reduced.at_set_m3_s - 0.27).abs() < 1e-15);
}

#[test]
fn a_computed_orifice_needs_its_air_and_brings_its_own_uncertainty() {
    let orifice = Orifice { bore_m: 0.06, pipe_m: 0.1, taps: Taps::Flange };
    let indicated = Indicated::Orifice { orifice, drop_pa: 2500.0, upstream_pa: 96_000.0 };
    let unknown = Reading { indicated, meter: MeterKind::Unknown, ..reading() };
    let reduced = reduce(&unknown).unwrap();
    assert!(reduced.at_reference_m3_s.is_some());
    let relative = reduced.standard_uncertainty_m3_s.unwrap() / reduced.at_reference_m3_s.unwrap();
    assert!(relative > 0.0025 && relative < 0.004, "{relative}");
    assert!(matches!(reduce(&Reading { part_air: None, ..unknown }), Err(FlowError::Missing { .. })));
}

#[test]
fn a_plate_in_the_wall_says_that_its_coefficient_is_assumed() {
    let indicated =
        Indicated::Plate { diameter_m: 0.05, coefficient: None, drop_pa: 2500.0, upstream_pa: 97_500.0 };
    let reduced = reduce(&Reading { indicated, ..reading() }).unwrap();
    assert!(codes(&reduced).contains(&"coefficient-assumed"));
    for caution in &reduced.cautions {
        assert!(caution.to_string().ends_with('.'));
    }
}
