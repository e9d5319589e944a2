//! An evening as a guest kept it: semicolons, decimal commas, kPa, L/s, mm, °C, hPa.

use super::super::bench::Weather;
use super::super::chance::Chance;
use super::super::evenings::{Step, blocks};
use super::super::shed::{EIGHT, Shed, usual_service};
use super::OldRecord;
use super::pad::{Line, Pad, read_all};
use airshelf_units::Unit;

const HEADER: [&str; 19] = [
    "Evening",
    "Date",
    "No",
    "Purpose",
    "Base",
    "Spacer",
    "Filter",
    "Filter height (mm)",
    "Lid",
    "Held",
    "State",
    "Range (L/s)",
    "Set (kPa)",
    "Actual (kPa)",
    "Flow (L/s)",
    "Air (°C)",
    "Barometer (hPa)",
    "Humidity (%)",
    "Remarks",
];
const HEIGHT: usize = 7;
const SET: usize = 12;
const ACTUAL: usize = 13;
const BAROMETER: usize = 16;
const HUMIDITY: usize = 17;

pub fn sheet(shed: &Shed, chance: &mut Chance) -> OldRecord {
    let weather = Weather::ordinary(62.0, 29.30, 49.0, chance);
    let three: Vec<_> = [0, 3, 7].map(|i: usize| (EIGHT[i].to_vec(), usual_service(&EIGHT[i]))).to_vec();
    let mut steps = vec![Step::Leakage];
    steps.extend(blocks(&three, 3, chance));
    let lines = read_all(shed, &weather, &steps, chance);
    let mut rows: Vec<Vec<String>> = lines.iter().enumerate().map(|at| cells(at, &weather)).collect();
    let tests: Vec<usize> = (0..lines.len()).filter(|&i| lines[i].is_test()).collect();
    let mut faults: Vec<(usize, &'static str)> = Vec::new();

    let tall =
        tests.iter().copied().find(|&t| lines[t].step.element() == "FF-1").expect("one of the three is foam");
    rows[tall][HEIGHT] = "3,50".into();
    faults.push((tall, "inch-mm"));
    let free: Vec<usize> = tests.iter().copied().filter(|&t| t != tall).collect();
    rows[free[2]][BAROMETER] = "0".into();
    faults.push((free[2], "blank-as-zero"));
    rows[free[4]][HUMIDITY] = "148".into();
    faults.push((free[4], "out-of-range"));
    rows[free[6]][SET] = "20".into();
    rows[free[6]][ACTUAL] = format!("{:.2}", lines[free[6]].actual_in_h2o()).replace('.', ",");
    faults.push((free[6], "pressure-unit"));

    let mut pad = Pad::with(';');
    pad.row(&HEADER);
    let numbers: Vec<i64> = rows.iter().map(|row| pad.row(row)).collect();
    for (place, rule) in faults {
        pad.plant(numbers[place], rule);
    }
    pad.done("old-metric.csv")
}

fn cells((place, line): (usize, &Line), weather: &Weather) -> Vec<String> {
    let comma = |si: f64, unit: Unit, decimals: usize| {
        super::super::written::text(si, unit, decimals).replace('.', ",")
    };
    let (purpose, range) = match line.step {
        Step::Leakage => ("fixture leakage", "0,94"),
        Step::Baseline => ("baseline", "141,58"),
        _ => ("test", "141,58"),
    };
    let height = match line.step.element() {
        "PF-1" => "57",
        "FF-1" => "89",
        _ => "",
    };
    vec![
        "G1".into(),
        "26.10.2024".into(),
        (place + 1).to_string(),
        purpose.into(),
        if line.step == Step::Baseline { "bare".into() } else { line.step.tag("BS").into() },
        String::new(),
        line.step.element().into(),
        height.into(),
        line.step.tag("LD").into(),
        if line.is_test() { "fastened".into() } else { String::new() },
        line.state().into(),
        range.into(),
        "4,982".into(),
        comma(line.shown.actual_pa, Unit::KPA, 3),
        comma(line.shown.flow_m3_s, Unit::L_S, 2),
        comma(Unit::FAHRENHEIT.to_si(weather.air_f_at(line.share)), Unit::CELSIUS, 1),
        comma(Unit::IN_HG.to_si(weather.barometer_at(line.share)), Unit::HPA, 1),
        format!("{:.0}", weather.humidity_at(line.share)),
        String::new(),
    ]
}
