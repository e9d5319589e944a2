//! Two autumn evenings on canonical run sheets, typed from a pad.

use super::super::bench::Weather;
use super::super::chance::Chance;
use super::super::evenings::{Step, blocks};
use super::super::shed::{EIGHT, Shed, usual_service};
use super::OldRecord;
use super::pad::{Line, Pad, read_all};
use airshelf_units::Unit;

const HEADER: [&str; 21] = [
    "session",
    "date",
    "bench",
    "range (CFM)",
    "item",
    "purpose",
    "order",
    "base",
    "spacer",
    "filter",
    "lid",
    "stud",
    "restraint",
    "service",
    "set pressure (inH2O)",
    "actual pressure (inH2O)",
    "flow (CFM)",
    "air temperature (F)",
    "barometer (inHg)",
    "humidity (%)",
    "note",
];
const LID: usize = 10;
const HELD_BY: usize = 11;
const SERVICE: usize = 13;
const SET: usize = 14;
const ACTUAL: usize = 15;
const FLOW: usize = 16;
const BAROMETER: usize = 18;
const HUMIDITY: usize = 19;

pub fn sheet(shed: &Shed, chance: &mut Chance) -> OldRecord {
    let mut pad = Pad::with(',');
    pad.row(&HEADER);
    let four: Vec<_> = [0, 1, 4, 5].map(|i: usize| (EIGHT[i].to_vec(), usual_service(&EIGHT[i]))).to_vec();

    let weather = Weather::ordinary(71.0, 29.28, 51.0, chance);
    let mut steps = vec![Step::Leakage, Step::ClosedThrottle];
    steps.extend(blocks(&four, 3, chance));
    let lines = read_all(shed, &weather, &steps, chance);
    spoiled(&mut pad, &lines, &weather);

    let weather = Weather::ordinary(69.0, 29.35, 53.0, chance);
    let mut steps = vec![Step::Leakage];
    steps.extend(blocks(&four, 2, chance));
    steps.push(Step::Test(four[0].0.clone(), four[0].1));
    let lines = read_all(shed, &weather, &steps, chance);
    let mut rows = cells("QN-0921", "2024-09-21", &lines, &weather);
    let slipped = tests(&lines)[2];
    rows[slipped][BAROMETER] = "2.93".into();
    for (place, row) in rows.iter().enumerate() {
        let at = pad.row(row);
        if place == slipped {
            pad.plant(at, "out-of-range");
        }
        if place + 1 == rows.len() {
            pad.plant(at, "unbracketed");
        }
    }
    pad.done("old-autumn.csv")
}

/// Nine faults in an evening of twelve tests: one a row, and four rows of the first two blocks left as they were.
fn spoiled(pad: &mut Pad, lines: &[Line], weather: &Weather) {
    let mut rows = cells("QN-0914", "2024-09-14", lines, weather);
    let tests = tests(lines);
    let mut faults: Vec<(usize, &'static str, Option<usize>)> = Vec::new();

    let at = tests[0];
    rows[at][SET] = "1.47".into();
    rows[at][ACTUAL] = "1.47".into();
    faults.push((at, "pressure-unit", None));

    rows[tests[1]][SERVICE] = String::new();
    faults.push((tests[1], "service-state-missing", None));

    let at = tests[2];
    let flow = lines[at].flow_cfm() * (19.58 / lines[at].actual_in_h2o()).sqrt();
    rows[at][ACTUAL] = "19.58".into();
    rows[at][FLOW] = format!("{flow:.1}");
    faults.push((at, "off-pressure", None));

    rows[tests[4]][FLOW].replace_range(..1, "3");
    faults.push((tests[4], "over-range", None));
    rows[tests[5]][HUMIDITY] = "0".into();
    faults.push((tests[5], "blank-as-zero", None));
    rows[tests[6]][LID] = "LD-3".into();
    faults.push((tests[6], "before-arrival", None));

    let first = tests[3];
    let again =
        tests[8..].iter().copied().find(|&t| lines[t].step == lines[first].step).expect("every block has it");
    for column in [ACTUAL, FLOW] {
        rows[again][column] = rows[first][column].clone();
    }
    faults.push((again, "copied-reading", Some(first)));
    let tall = tests[8..].iter().copied().find(|&t| t != again && lines[t].step.element() == "FF-1");
    let tall = tall.expect("two of the four are foam");
    rows[tall][HELD_BY] = "ST-2".into();
    faults.push((tall, "stud-short", None));

    let numbers: Vec<i64> = rows.iter().map(|row| pad.row(row)).collect();
    for (place, rule, with) in faults {
        pad.plant_over(numbers[place], with.map(|w| numbers[w]).into_iter().collect(), rule);
    }
    let twice = pad.row(&rows[tests[7]]);
    pad.plant_over(twice, vec![numbers[tests[7]]], "duplicate-row");
}

fn tests(lines: &[Line]) -> Vec<usize> {
    (0..lines.len()).filter(|&i| lines[i].is_test()).collect()
}

fn cells(session: &str, date: &str, lines: &[Line], weather: &Weather) -> Vec<Vec<String>> {
    let row = |(place, line): (usize, &Line)| {
        let (range, item, purpose) = match line.step {
            Step::Leakage => ("2", "blanked", "fixture leakage"),
            Step::ClosedThrottle => ("10", "C2-1", "closed-throttle leakage"),
            Step::Baseline => ("300", "C2-1", "baseline"),
            _ => ("300", "C2-1", "test"),
        };
        let test = line.is_test();
        let only = |text: &'static str| if test { text } else { "" }.to_owned();
        vec![
            session.into(),
            date.into(),
            "shed bench".into(),
            range.into(),
            item.into(),
            purpose.into(),
            (place + 1).to_string(),
            line.step.tag("BS").into(),
            line.step.tag("SP").into(),
            line.step.element().into(),
            line.step.tag("LD").into(),
            only("ST-1"),
            only("fastened"),
            line.state().into(),
            "20".into(),
            format!("{:.2}", line.actual_in_h2o()),
            format!("{:.1}", Unit::CFM.from_si(line.shown.flow_m3_s)),
            format!("{:.0}", weather.air_f_at(line.share)),
            format!("{:.2}", weather.barometer_at(line.share)),
            format!("{:.0}", weather.humidity_at(line.share)),
            String::new(),
        ]
    };
    lines.iter().enumerate().map(row).collect()
}
