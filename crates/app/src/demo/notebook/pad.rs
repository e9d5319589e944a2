//! A pad to write sheets on, and an old evening's lines to write there.

use super::super::bench::{Path, Setup, Shown, Weather, read, set_pressure_pa};
use super::super::chance::Chance;
use super::super::evenings::Step;
use super::super::shed::{Shed, usual_service};
use super::{OldRecord, Planted};
use airshelf_catalog::Service;
use airshelf_units::Unit;

/// A sheet that is being written.
pub struct Pad {
    delimiter: char,
    text: String,
    rows: i64,
    planted: Vec<Planted>,
}

impl Pad {
    /// An empty sheet.
    pub fn with(delimiter: char) -> Self {
        Pad { delimiter, text: String::new(), rows: 0, planted: Vec::new() }
    }

    /// Writes a row of cells, quoted where they must be (RFC 4180), and returns its number.
    pub fn row<S: AsRef<str>>(&mut self, cells: &[S]) -> i64 {
        for (i, cell) in cells.iter().enumerate() {
            if i > 0 {
                self.text.push(self.delimiter);
            }
            let cell = cell.as_ref();
            if cell.contains(self.delimiter) || (self.delimiter != '\t' && cell.contains('"')) {
                self.text.push('"');
                self.text.push_str(&cell.replace('"', "\"\""));
                self.text.push('"');
            } else {
                self.text.push_str(cell);
            }
        }
        self.text.push('\n');
        self.rows += 1;
        self.rows
    }

    /// Puts down that a row is wrong.
    pub fn plant(&mut self, sheet_row: i64, rule: &'static str) {
        self.plant_over(sheet_row, Vec::new(), rule);
    }

    /// Puts down that several rows are wrong together.
    pub fn plant_over(&mut self, sheet_row: i64, also_rows: Vec<i64>, rule: &'static str) {
        self.planted.push(Planted { sheet_row, also_rows, rule });
    }

    /// The sheet as a file.
    pub fn done(self, file_name: &str) -> OldRecord {
        OldRecord { file_name: file_name.into(), bytes: self.text.into_bytes(), planted: self.planted }
    }
}

/// One line of an old evening.
#[derive(Clone, Debug)]
pub struct Line {
    /// What was done.
    pub step: Step,
    /// Minutes after midnight.
    pub minute: u32,
    /// Share of the evening gone by.
    pub share: f64,
    /// What the gauges showed.
    pub shown: Shown,
}

/// Reads an evening's steps off the bench at 20 inH2O, every test and baseline fitted anew.
pub fn read_all(shed: &Shed, weather: &Weather, steps: &[Step], chance: &mut Chance) -> Vec<Line> {
    let last = (steps.len().max(2) - 1) as f64;
    let mut minute = 18 * 60 + 40;
    steps
        .iter()
        .enumerate()
        .map(|(place, step)| {
            let path = match step {
                Step::Leakage => None,
                Step::ClosedThrottle => {
                    let flow_m3_s = Unit::CFM.to_si(3.9);
                    Some(Path {
                        linear_pa_s_m3: 0.0,
                        square_pa_s2_m6: set_pressure_pa() / (flow_m3_s * flow_m3_s),
                    })
                }
                other => Some(shed.path(other.stack(), other.service())),
            };
            let share = place as f64 / last;
            let refit = super::super::bench::REFIT_SCATTER * chance.normal_within(2.0);
            let shown =
                read(weather, share, Setup { path, set_pa: set_pressure_pa(), held_pa: None, refit }, chance);
            minute += 6 + chance.below(3) as u32;
            Line { step: step.clone(), minute, share, shown }
        })
        .collect()
}

impl Step {
    /// The parts on the item.
    pub fn stack(&self) -> &[&'static str] {
        match self {
            Step::Test(stack, _) | Step::Loose(stack, ..) | Step::Sweep(stack, ..) => stack,
            _ => &[],
        }
    }

    /// The state of the element.
    pub fn service(&self) -> Option<Service> {
        match self {
            Step::Test(_, service) => *service,
            other => usual_service(other.stack()),
        }
    }

    /// The part whose tag begins so.
    pub fn tag(&self, begins: &str) -> &'static str {
        self.stack().iter().find(|name| name.starts_with(begins)).copied().unwrap_or("")
    }

    /// The element.
    pub fn element(&self) -> &'static str {
        self.stack().iter().find(|name| name.get(1..3) == Some("F-")).copied().unwrap_or("")
    }
}

impl Line {
    /// Whether an assembly was tested.
    pub fn is_test(&self) -> bool {
        matches!(self.step, Step::Test(..))
    }

    /// The flow in CFM to a tenth.
    pub fn flow_cfm(&self) -> f64 {
        (Unit::CFM.from_si(self.shown.flow_m3_s) * 10.0).round() / 10.0
    }

    /// The pressure in inH2O to a hundredth.
    pub fn actual_in_h2o(&self) -> f64 {
        (Unit::IN_H2O.from_si(self.shown.actual_pa) * 100.0).round() / 100.0
    }

    /// The clock, 24 hours.
    pub fn clock(&self) -> String {
        format!("{:02}:{:02}", self.minute / 60, self.minute % 60)
    }

    /// The state of the element in a word.
    pub fn state(&self) -> &'static str {
        self.step.service().map_or("", Service::name)
    }
}
