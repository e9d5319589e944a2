//! One session on the desk: its rows, what was already marked on them, and where new faults are put down.

use super::fault::{Detail, Fault, Place, Repair};
use super::rule::{Rule, Severity};
use super::shelf::{Evening, Row, Shelf};
use airshelf_catalog::{PartKind, Purpose, Quantity, Uuid};

/// Rules whose faults leave a row out of the statistics that later rules use: what blocks, and what is not a repeat.
const ASIDE: u64 = {
    let mut mask = 0;
    let mut i = 0;
    while i < Rule::ALL.len() {
        if matches!(Rule::ALL[i].severity(), Severity::Block) {
            mask |= 1 << (Rule::ALL[i] as u8);
        }
        i += 1;
    }
    mask | 1 << (Rule::DuplicateRow as u8) | 1 << (Rule::CopiedReading as u8)
};

pub(crate) struct Desk<'s, 'a> {
    pub shelf: &'s Shelf<'a>,
    pub evening: &'s Evening<'a>,
    pub marks: Vec<u64>,
    pub faults: &'s mut Vec<Fault>,
}

impl<'s, 'a> Desk<'s, 'a> {
    pub fn rows(&self) -> &'s [Row<'a>] {
        &self.evening.rows
    }

    pub fn has(&self, row: usize, rule: Rule) -> bool {
        self.marks[row] & rule.bit() != 0
    }

    pub fn has_any(&self, row: usize, rules: &[Rule]) -> bool {
        rules.iter().any(|&r| self.has(row, r))
    }

    /// Whether the row is fit for statistics.
    pub fn sound(&self, row: usize) -> bool {
        self.marks[row] & ASIDE == 0
    }

    /// Puts down a fault of one row.
    pub fn report(&mut self, row: usize, rule: Rule, field: &str, detail: Detail) -> &mut Fault {
        self.report_over(&[row], rule, field, detail)
    }

    /// Puts down one fault over several rows; the first row is its place.
    pub fn report_over(&mut self, rows: &[usize], rule: Rule, field: &str, detail: Detail) -> &mut Fault {
        for &row in rows {
            self.marks[row] |= rule.bit();
        }
        let all = self.rows();
        let first = &all[rows[0]];
        let mut place = run_place(self.shelf, first, field);
        if place.field.is_empty() {
            place.column = None;
        }
        let mut covered: Vec<i64> = rows[1..]
            .iter()
            .filter(|&&r| all[r].run.table == first.run.table)
            .filter_map(|&r| all[r].run.row)
            .filter(|&r| Some(r) != place.row)
            .collect();
        covered.sort_unstable();
        covered.dedup();
        let mut covers: Vec<Uuid> = rows[1..].iter().map(|&r| all[r].run.id).collect();
        covers.dedup();
        self.faults.push(Fault {
            rule,
            severity: rule.severity(),
            place,
            rows: covered,
            value: raw(self.shelf, first, field),
            subject: first.run.id,
            covers,
            detail,
            repair: None,
        });
        self.faults.last_mut().expect("a fault was just pushed")
    }

    /// Rows that are baselines of a known kind and fit for statistics.
    pub fn is_baseline(&self, row: usize) -> bool {
        self.rows()[row].is(Purpose::Baseline)
    }
}

impl Fault {
    pub(crate) fn repaired(&mut self, repair: Repair) -> &mut Self {
        self.repair = Some(repair);
        self
    }
    pub(crate) fn at(&mut self, severity: Severity) -> &mut Self {
        self.severity = severity;
        self
    }
}

/// The place of a run's field.
pub(crate) fn run_place(shelf: &Shelf, row: &Row, field: &str) -> Place {
    let table = shelf.table(row.run.table);
    Place {
        table: row.run.table,
        file: table.and_then(|t| t.file).map(str::to_owned),
        sheet: table.and_then(|t| t.record.sheet.clone()),
        row: row.run.row,
        field: field.to_owned(),
        column: table
            .and_then(|t| row.run.column.and_then(|c| t.header_at(c)).or_else(|| t.header_of(field)))
            .map(str::to_owned),
    }
}

fn text(quantity: Option<&Quantity>) -> Option<String> {
    quantity.and_then(Quantity::raw).map(str::to_owned)
}

/// The value of a run's field as written.
fn raw(shelf: &Shelf, row: &Row, field: &str) -> Option<String> {
    let tag = |kind| shelf.layer(row, kind).map(|p| p.tag());
    match field {
        "set_pressure" => text(row.run.set_pressure.as_ref()),
        "actual_pressure" => text(row.actual()),
        "flow" => text(row.flow()),
        "air_temperature" => text(row.reading?.air_temperature.as_ref()),
        "meter_temperature" => text(row.reading?.meter_temperature.as_ref()),
        "barometer" => text(row.reading?.barometer.as_ref()),
        "humidity" => text(row.reading?.humidity.as_ref()),
        "clock" => row.reading?.clock.clone(),
        "order" => row.run.order_number.map(|o| o.to_string()),
        "stated_loss" => text(row.claim?.stated_loss.as_ref()),
        "stated_loss_percent" => text(row.claim?.stated_loss_percent.as_ref()),
        "stated_baseline" => text(row.claim?.stated_baseline.as_ref()),
        "leakage" => text(row.claim?.leakage.as_ref()),
        "net_flow" => text(row.claim?.net_flow.as_ref()),
        "flow_at_set_pressure" => text(row.claim?.flow_at_set_pressure.as_ref()),
        "flow_at_reference_air" => text(row.claim?.flow_at_reference_air.as_ref()),
        "restraint" => row.restraint.map(|r| r.name().to_owned()),
        "direction" => row.run.direction.map(|d| d.name().to_owned()),
        "note" => row.run.note.clone(),
        "base" => tag(PartKind::Base),
        "filter" => tag(PartKind::Filter),
        "lid" => tag(PartKind::Lid),
        "spacer" => tag(PartKind::Spacer),
        "velocity_stack" => tag(PartKind::VelocityStack),
        "stud" => row.run.stud.and_then(|s| shelf.part_of_revision(s)).map(|p| p.tag()),
        "item" => row.item.and_then(|i| shelf.part_of_revision(i)).map(|p| p.tag()),
        _ => None,
    }
}

/// The field name of a layer's column.
pub(crate) fn layer_field(kind: Option<PartKind>) -> &'static str {
    match kind {
        Some(PartKind::Filter) => "filter",
        Some(PartKind::Lid) => "lid",
        Some(PartKind::Base) => "base",
        Some(PartKind::Spacer) => "spacer",
        Some(PartKind::VelocityStack) => "velocity_stack",
        Some(PartKind::Stud) => "stud",
        Some(PartKind::Carburetor) => "item",
        _ => "assembly",
    }
}
