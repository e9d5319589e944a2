//! A tab-separated log with ditto marks and leakage columns: two nights.

use super::super::bench::Weather;
use super::super::chance::Chance;
use super::super::evenings::{Step, blocks};
use super::super::shed::{EIGHT, Shed, usual_service};
use super::OldRecord;
use super::pad::{Line, Pad, read_all};

const HEADER: [&str; 21] = [
    "Night",
    "Date",
    "#",
    "Clock",
    "Purpose",
    "Way",
    "Base",
    "Element",
    "Lid",
    "Held",
    "State",
    "Range CFM",
    "Set inH2O",
    "Actual inH2O",
    "As read CFM",
    "Leakage CFM",
    "Net CFM",
    "Air F",
    "Baro inHg",
    "RH %",
    "Remarks",
];
const CLOCK: usize = 3;
const WAY: usize = 5;
const SET: usize = 12;
const ACTUAL: usize = 13;
const AS_READ: usize = 14;
const LEAKAGE: usize = 15;
const NET: usize = 16;
/// Columns in which a repeated cell is a ditto mark.
const DITTO: [usize; 5] = [6, 7, 8, 10, SET];

pub fn sheet(shed: &Shed, chance: &mut Chance) -> OldRecord {
    let mut pad = Pad::with('\t');
    pad.row(&["# shed bench log, autumn. blank date, air, baro, RH: as the line above"]);
    pad.row(&HEADER);
    let three = |of: [usize; 3]| of.map(|i| (EIGHT[i].to_vec(), usual_service(&EIGHT[i]))).to_vec();

    let weather = Weather::ordinary(66.0, 29.31, 50.0, chance);
    let mut steps = vec![Step::Leakage, Step::ClosedThrottle];
    steps.extend(blocks(&three([0, 2, 6]), 3, chance));
    let lines = read_all(shed, &weather, &steps, chance);
    let mut rows = cells("K1", "2024-10-05", &lines, &weather);
    let tests: Vec<usize> = (0..lines.len()).filter(|&i| lines[i].is_test()).collect();
    let mut faults = vec![(0, "leak-pressure", None)];
    rows[0][SET] = String::new();
    rows[0][ACTUAL] = String::new();

    let throttle_cfm = lines[1].flow_cfm();
    rows[tests[1]][LEAKAGE] = format!("{throttle_cfm:.1}");
    rows[tests[1]][NET] = format!("{:.1}", lines[tests[1]].flow_cfm() - throttle_cfm);
    faults.push((tests[1], "throttle-leak-subtracted", None));

    rows[tests[3]][WAY] = "exhaust".into();
    faults.push((tests[3], "wrong-direction", None));

    let again = tests[6..]
        .iter()
        .copied()
        .find(|&t| lines[t].step == lines[tests[4]].step)
        .expect("every block has it");
    for column in [CLOCK, ACTUAL, AS_READ, LEAKAGE, NET] {
        rows[again][column] = rows[tests[4]][column].clone();
    }
    faults.push((again, "copied-reading", Some(tests[4])));
    let numbers = write(&mut pad, rows);
    for (place, rule, with) in faults {
        pad.plant_over(numbers[place], with.map(|w: usize| numbers[w]).into_iter().collect(), rule);
    }

    pad.row(&["# a week later"]);
    let weather = Weather::ordinary(63.0, 29.22, 54.0, chance);
    let mut steps = vec![Step::Leakage];
    steps.extend(blocks(&three([1, 3, 7]), 2, chance));
    let lines = read_all(shed, &weather, &steps, chance);
    let mut rows = cells("K2", "2024-10-12", &lines, &weather);
    for (line, row) in lines.iter().zip(&mut rows) {
        if line.step == Step::Baseline {
            row[LEAKAGE] = String::new();
            row[NET] = row[AS_READ].clone();
        }
    }
    let numbers = write(&mut pad, rows);
    pad.plant_over(numbers[1], numbers[2..].to_vec(), "leak-one-sided");
    pad.done("old-log.tsv")
}

fn write(pad: &mut Pad, rows: Vec<Vec<String>>) -> Vec<i64> {
    let mut above: Vec<String> = vec![String::new(); HEADER.len()];
    rows.into_iter()
        .map(|row| {
            let shown: Vec<&str> = row
                .iter()
                .enumerate()
                .map(|(column, cell)| {
                    match DITTO.contains(&column) && !cell.is_empty() && *cell == above[column] {
                        true => "\"",
                        false => cell.as_str(),
                    }
                })
                .collect();
            let number = pad.row(&shown);
            above = row;
            number
        })
        .collect()
}

fn cells(night: &str, date: &str, lines: &[Line], weather: &Weather) -> Vec<Vec<String>> {
    let leakage_cfm = lines[0].flow_cfm();
    let row = |(place, line): (usize, &Line)| {
        let (range, purpose) = match line.step {
            Step::Leakage => ("2", "fixture leakage"),
            Step::ClosedThrottle => ("10", "closed-throttle leakage"),
            Step::Baseline => ("300", "baseline"),
            _ => ("300", "test"),
        };
        let bare = line.step == Step::Baseline;
        let through = bare || line.is_test();
        let only = |yes: bool, text: String| if yes { text } else { String::new() };
        let first = place == 0;
        vec![
            night.into(),
            only(first, date.into()),
            (place + 1).to_string(),
            line.clock(),
            purpose.into(),
            only(through, "intake".into()),
            if bare { "bare".into() } else { line.step.tag("BS").into() },
            line.step.element().into(),
            line.step.tag("LD").into(),
            only(line.is_test(), "fastened".into()),
            line.state().into(),
            range.into(),
            "20".into(),
            format!("{:.2}", line.actual_in_h2o()),
            format!("{:.1}", line.flow_cfm()),
            only(through, format!("{leakage_cfm:.1}")),
            only(through, format!("{:.1}", line.flow_cfm() - leakage_cfm)),
            only(first, format!("{:.0}", weather.air_f_at(line.share))),
            only(first, format!("{:.2}", weather.barometer_at(line.share))),
            only(first, format!("{:.0}", weather.humidity_at(line.share))),
            String::new(),
        ]
    };
    lines.iter().enumerate().map(row).collect()
}
