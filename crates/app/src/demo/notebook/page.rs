//! A page with what holds for all of it written on top, fractions, losses and places.

use super::super::bench::Weather;
use super::super::chance::Chance;
use super::super::evenings::{Step, blocks};
use super::super::shed::{EIGHT, Shed, usual_service};
use super::OldRecord;
use super::pad::{Line, Pad, read_all};
use airshelf_catalog::Service;

const HEADER: [&str; 13] = [
    "Run",
    "Clock",
    "What",
    "Top",
    "Element",
    "Height",
    "State",
    "Pan",
    "Held",
    "Flow, CFM",
    "Down, CFM",
    "Place",
    "Remarks",
];
const HELD: usize = 8;
const DOWN: usize = 10;
const REMARKS: usize = 12;

pub fn sheet(shed: &Shed, chance: &mut Chance) -> OldRecord {
    let weather = Weather { air_change_f: 0.0, ..Weather::ordinary(61.0, 29.31, 52.0, chance) };
    let four: Vec<_> = [0, 1, 6, 7].map(|i: usize| (EIGHT[i].to_vec(), usual_service(&EIGHT[i]))).to_vec();
    let mut steps = blocks(&four, 2, chance);
    let last = steps.len() - 1;
    for lid in ["LD-1", "LD-2"] {
        steps.insert(last, Step::Test(vec!["BS-2", "PF-2", lid], Some(Service::New)));
    }
    let lines = read_all(shed, &weather, &steps, chance);
    let bare: Vec<f64> = lines.iter().filter(|l| l.step == Step::Baseline).map(Line::flow_cfm).collect();
    let baseline_cfm = (bare.iter().sum::<f64>() / bare.len() as f64 * 10.0).round() / 10.0;

    let mut pad = Pad::with(',');
    pad.row(&["Quarry Loop Shed", "", "", "page 12"]);
    pad.row(&["Date:", "10/19/2024", "", "Operator:", "me"]);
    pad.row(&["Bench:", "shed bench, range 300 CFM, two-barrel on the adapter"]);
    pad.row(&["Test pressure:", "20 in. water, held all evening"]);
    pad.row(&["Weather:", "29.31 inHg, 61 F, 52 % RH"]);
    pad.row(&["Baseline (bare):".to_owned(), format!("{baseline_cfm:.1} CFM, mean of the evening")]);
    pad.row(&[""]);
    pad.row(&HEADER);

    let mut rows = cells(&lines, baseline_cfm);
    let tests: Vec<usize> = (0..lines.len()).filter(|&i| lines[i].is_test()).collect();
    let (solid, vented) = (tests[9], tests[8]);
    let (solid, vented) =
        if lines[solid].step.tag("LD") == "LD-1" { (solid, vented) } else { (vented, solid) };
    let mut faults: Vec<(usize, &'static str, Vec<usize>)> = Vec::new();

    rows[tests[0]][DOWN].insert(0, '-');
    faults.push((tests[0], "sign-mixed", vec![]));
    rows[tests[2]][HELD] = "lost".into();
    faults.push((tests[2], "unrestrained", vec![]));
    let loss_cfm = baseline_cfm - lines[tests[4]].flow_cfm();
    rows[tests[4]][DOWN] = format!("{:.1}", 100.0 * loss_cfm / baseline_cfm);
    faults.push((tests[4], "percent-as-flow", vec![]));
    let loss_cfm = baseline_cfm - lines[tests[6]].flow_cfm();
    rows[tests[6]][DOWN] = format!("{:.1}", loss_cfm + 3.0);
    faults.push((tests[6], "loss-arithmetic", vec![]));
    let apart = (lines[vented].flow_cfm() - lines[solid].flow_cfm()).abs();
    rows[vented][REMARKS] = format!("beats the solid lid by {apart:.1}");
    faults.push((vented, "single-reading", vec![solid]));

    let numbers: Vec<i64> = rows.iter().map(|row| pad.row(row)).collect();
    for (place, rule, with) in faults {
        pad.plant_over(numbers[place], with.into_iter().map(|w| numbers[w]).collect(), rule);
    }
    pad.done("old-page-12.csv")
}

fn cells(lines: &[Line], baseline_cfm: f64) -> Vec<Vec<String>> {
    let mean = |step: &Step| {
        let flows: Vec<f64> = lines.iter().filter(|l| l.step == *step).map(Line::flow_cfm).collect();
        flows.iter().sum::<f64>() / flows.len() as f64
    };
    let mut means: Vec<f64> = Vec::new();
    for line in lines.iter().filter(|l| l.is_test()) {
        let own = mean(&line.step);
        if !means.contains(&own) {
            means.push(own);
        }
    }
    let row = |(place, line): (usize, &Line)| {
        let test = line.is_test();
        let only = |text: String| if test { text } else { String::new() };
        let ahead = means.iter().filter(|m| **m > mean(&line.step)).count();
        let height = match line.step.element() {
            "PF-1" => "2-1/4",
            "PF-2" => "3",
            "FF-1" => "3 1/2",
            _ => "",
        };
        vec![
            (place + 1).to_string(),
            format!("{}:{:02} PM", line.minute / 60 - 12, line.minute % 60),
            if test { "test".into() } else { "baseline, bare".into() },
            line.step.tag("LD").into(),
            line.step.element().into(),
            height.into(),
            line.state().into(),
            line.step.tag("BS").into(),
            only("fastened".into()),
            format!("{:.1}", line.flow_cfm()),
            only(format!("{:.1}", baseline_cfm - line.flow_cfm())),
            only((ahead + 1).to_string()),
            String::new(),
        ]
    };
    lines.iter().enumerate().map(row).collect()
}
