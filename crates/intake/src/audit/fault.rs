//! A fault: rule, place, and the quantities that prove it. The words are made in [`super::sentence`].

use super::rule::{Reach, Rule, Severity};
use airshelf_catalog::{Quantity, Uuid};
use airshelf_units::{Digits, System, Unit, in_system, show_number};

/// A value in SI units with the unit to show it in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Amount {
    /// The value in SI units.
    pub si: f64,
    /// The unit it is written in on its sheet.
    pub unit: Unit,
}

impl Amount {
    /// A value to be shown in `unit`.
    pub fn new(si: f64, unit: Unit) -> Self {
        Amount { si, unit }
    }

    /// The value in the unit of `like`, or else in `unit`.
    pub fn like(si: f64, like: Option<&Quantity>, unit: Unit) -> Self {
        Amount {
            si,
            unit: like.and_then(Quantity::unit).filter(|u| u.dimension() == unit.dimension()).unwrap_or(unit),
        }
    }
}

impl std::fmt::Display for Amount {
    /// Four significant digits, without trailing zeros, and the unit.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut number = show_number(self.unit.from_si(self.si), Digits::Significant(4));
        if number.contains('.') {
            number.truncate(number.trim_end_matches('0').trim_end_matches('.').len());
        }
        match self.unit.shown() {
            "" => f.write_str(&number),
            unit => write!(f, "{number} {unit}"),
        }
    }
}

impl serde::Serialize for Amount {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeStruct;
        let mut out = serializer.serialize_struct("Amount", 2)?;
        out.serialize_field("si", &self.si)?;
        out.serialize_field("unit", self.unit.symbol())?;
        out.end()
    }
}

/// Where a fault stands, as the file counts and spells it.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Place {
    /// The table, for imported records.
    pub table: Option<Uuid>,
    /// The file's name.
    pub file: Option<String>,
    /// The sheet's name; none in text files.
    pub sheet: Option<String>,
    /// The file's own row.
    pub row: Option<i64>,
    /// The field at fault; empty where the whole page is.
    pub field: String,
    /// The column's header as spelled in the file.
    pub column: Option<String>,
}

/// Which of the two sides of a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Before the run.
    Before,
    /// After the run.
    After,
    /// Neither before nor after.
    Both,
}

/// What proves a fault; one shape per kind of proof.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Detail {
    /// Nothing is there.
    Absent { fields: Vec<&'static str>, whole_page: bool },
    /// A pressure beside that of the session.
    OtherPressure { pressure: Amount, session: Amount },
    /// A value that fits when read in another unit.
    OtherUnit { value: Amount, read_as: Amount, fits: Amount },
    /// A flow against its range.
    Range { flow: Amount, range: Amount },
    /// Actual against set pressure; `off` is the relative difference.
    OffSet { actual: Amount, set: Amount, off: f64 },
    /// No baseline on a side.
    NoBaseline { side: Side },
    /// Baselines from `smallest` to `largest`; `spread` is their ratio less one, `allowed` what the rule allows.
    Spread { smallest: Amount, largest: Amount, spread: f64, allowed: f64 },
    /// A baseline that is not defined, with the number written for it.
    Undefined { baseline: Option<Amount> },
    /// Flow + loss against the stated baseline.
    Sum { flow: Amount, loss: Amount, baseline: Amount, right_loss: Amount },
    /// A stated loss in percent that the flow does not give.
    PercentSum { flow: Amount, percent: f64, baseline: Amount, right_percent: f64 },
    /// A sign against the convention of its sheet.
    Sign { loss: Amount, flow_below_baseline: Option<bool> },
    /// A number that is the percentage and not the flow.
    Percent { number: f64, loss: Amount, baseline: Amount },
    /// The closed-throttle leakage where the fixture leakage should be.
    ThrottleLeak { leakage: Amount, throttle: Amount, fixture: Option<Amount>, right_net: Option<Amount> },
    /// Fixture leakage at a pressure other than the runs', carried with the exponents 1 and 1/2.
    Leak { leakage: Amount, at: Option<Amount>, runs: Option<Amount>, carried: Option<(Amount, Amount)> },
    /// Leakage subtracted on one side only.
    OneSided { off_tests: bool, leakage: Option<Amount> },
    /// A correction factor that went in twice.
    Twice { stated: Amount, once: Amount, factor: f64 },
    /// Ratings at two pressures.
    Ratings { flow: Amount, rated_at: Amount, others_at: Amount, at_others: Amount },
    /// A number that may be a fraction.
    Fraction { written: String, candidates: Vec<(String, Amount)>, beside: Option<String> },
    /// A length in the other system.
    Length { value: Amount, read_as: Amount, part: String },
    /// The record that says the same.
    SameAs { file: Option<String>, sheet: Option<String>, row: Option<i64>, order: Option<i64>, clock: bool },
    /// A run in an earlier version of a file, with the flow there and here.
    Corrected { row: Option<i64>, earlier: Option<Amount>, later: Option<Amount> },
    /// A neck and what it sits on.
    Neck { part: String, neck: Amount, register: Amount },
    /// A lid or base and the element it must cover.
    Cover { part: String, diameter: Amount, element: String, element_diameter: Amount },
    /// A stack and its stud.
    Stud { stands: Amount, stud: String, length: Amount },
    /// What is ranked although it was not held.
    Held { restraint: String, place: Option<i64> },
    /// How it was held, in words that are not understood.
    HeldSomehow { text: String },
    /// One tag in two rows, with two sizes.
    TwoSizes { part: String, dimension: String, row: Option<i64>, one: Amount, other: Amount },
    /// A claim and the readings behind it.
    Claimed { text: String, readings: i64 },
    /// Pleats deeper than the room for them.
    PleatDepth { depth: Amount, room: Amount },
    /// Pleats closer than any medium allows.
    Pitch { count: f64, pitch: Amount },
    /// Stated against possible media area.
    Area { stated: Amount, possible: Amount },
    /// A date before another.
    Older { part: String, run: String, arrived: String, revision: bool },
    /// The larger and the smaller part with what they flow.
    LessFlow {
        larger: String,
        smaller: String,
        larger_flow: Amount,
        smaller_flow: Amount,
        less: f64,
        path: bool,
    },
    /// The trend of flow with order, as Kendall's score within assemblies.
    Trend { score: i64, pairs: i64, p: f64, runs: usize },
    /// Air went out of the part.
    Exhaust,
    /// When something was written and when the first reading was.
    Late { written: String, first_reading: String },
    /// A text without proof.
    Text { text: String },
    /// A zero where none can be.
    Zero { others: Option<Amount> },
    /// Another range, item, or session.
    Across { this: String, others: String },
    /// A loss against a baseline of another session.
    Foreign { baseline: Amount, session: String, own: Option<Amount> },
    /// A date with two readings.
    EitherDate { written: String, first: String, second: String },
    /// Names that may be meant.
    Names { name: String, nearest: Vec<String> },
    /// A value and the limit it crosses.
    Limit { value: Amount, limit: Amount, what: &'static str },
    /// A ratio and the limit it crosses.
    Share { value: f64, limit: f64, what: &'static str },
}

impl Detail {
    /// The amounts that may as well be told in another unit; none where the unit on the sheet is the point.
    fn amounts_mut(&mut self) -> Vec<&mut Amount> {
        match self {
            Detail::OtherPressure { pressure: a, session: b }
            | Detail::Range { flow: a, range: b }
            | Detail::OffSet { actual: a, set: b, .. }
            | Detail::Spread { smallest: a, largest: b, .. }
            | Detail::PercentSum { flow: a, baseline: b, .. }
            | Detail::Percent { loss: a, baseline: b, .. }
            | Detail::Twice { stated: a, once: b, .. }
            | Detail::Neck { neck: a, register: b, .. }
            | Detail::Cover { diameter: a, element_diameter: b, .. }
            | Detail::Stud { stands: a, length: b, .. }
            | Detail::PleatDepth { depth: a, room: b }
            | Detail::Area { stated: a, possible: b }
            | Detail::LessFlow { larger_flow: a, smaller_flow: b, .. }
            | Detail::TwoSizes { one: a, other: b, .. }
            | Detail::Limit { value: a, limit: b, .. } => vec![a, b],
            Detail::Sum { flow, loss, baseline, right_loss } => vec![flow, loss, baseline, right_loss],
            Detail::Ratings { flow, rated_at, others_at, at_others } => {
                vec![flow, rated_at, others_at, at_others]
            }
            Detail::ThrottleLeak { leakage, throttle, fixture, right_net } => {
                [Some(leakage), Some(throttle), fixture.as_mut(), right_net.as_mut()]
                    .into_iter()
                    .flatten()
                    .collect()
            }
            Detail::Leak { leakage, at, runs, carried } => {
                let carried = carried.iter_mut().flat_map(|(low, high)| [low, high]);
                [leakage].into_iter().chain(at).chain(runs).chain(carried).collect()
            }
            Detail::Corrected { earlier, later, .. } => earlier.iter_mut().chain(later).collect(),
            Detail::Foreign { baseline, own, .. } => [baseline].into_iter().chain(own).collect(),
            Detail::Undefined { baseline: Some(one) }
            | Detail::Sign { loss: one, .. }
            | Detail::OneSided { leakage: Some(one), .. }
            | Detail::Pitch { pitch: one, .. }
            | Detail::Zero { others: Some(one) } => vec![one],
            // The unit is what is wrong, or there is no amount.
            _ => Vec::new(),
        }
    }
}

/// What would mend a fault; a person accepts it or not.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[serde(tag = "repair", rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Repair {
    /// Another value in the field; the likeliest first.
    Set { field: String, to: Vec<Amount> },
    /// Another text in the field.
    SetText { field: String, to: String },
    /// A blank in the field.
    Blank { field: String },
    /// Out of comparisons.
    Exclude,
    /// One record with the other one, both sources kept.
    Merge { with: Uuid },
    /// One part with one of these.
    SamePart { with: Vec<Uuid> },
    /// Another part in the field.
    UsePart { field: String, part: Uuid, tag: String },
    /// Two fields exchanged.
    Swap { field: String, with: String },
}

/// Something wrong, where it stands, and what proves it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Fault {
    /// The rule.
    pub rule: Rule,
    /// How much it matters.
    pub severity: Severity,
    /// Where it stands.
    pub place: Place,
    /// Further rows that it covers, of the same table.
    pub rows: Vec<i64>,
    /// The value as written.
    pub value: Option<String>,
    /// The record at fault: a run, part, measurement, rating, prediction or session.
    pub subject: Uuid,
    /// Further records that it covers.
    pub covers: Vec<Uuid>,
    /// What proves it.
    pub detail: Detail,
    /// What would mend it.
    pub repair: Option<Repair>,
}

impl Fault {
    /// The fault with its amounts in the units of a system, so that a person reads what is wrong in their own. Value and
    /// repair stay as the sheet has them, since it is there that they are looked for; so do faults of the unit itself.
    #[must_use]
    pub fn in_system(&self, system: System) -> Fault {
        let mut fault = self.clone();
        for amount in fault.detail.amounts_mut() {
            amount.unit = in_system(amount.unit, system);
        }
        fault
    }

    /// What the fault keeps its records out of.
    ///
    /// What stands twice counts once, though it is no more than a warning.
    pub fn reach(&self) -> Reach {
        let twice = match &self.detail {
            Detail::SameAs { clock, .. } => self.rule == Rule::DuplicateRow || *clock,
            Detail::Corrected { .. } => true,
            _ => false,
        };
        if twice || self.severity == Severity::Block { self.rule.reach() } else { Reach::default() }
    }
}
