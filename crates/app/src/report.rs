//! The comparison as scripts and screens get it: SI values, keys ending in their unit.

use airshelf_catalog::Uuid;
use serde::Serialize;
use ts_rs::TS;

/// `airshelf compare`.
#[derive(Clone, Debug, Default, Serialize, TS)]
pub struct Comparison {
    /// One for each session.
    pub sessions: Vec<SessionReport>,
    /// What the numbers leave out.
    pub cautions: Vec<String>,
}

/// A session.
#[derive(Clone, Debug, Serialize, TS)]
pub struct SessionReport {
    /// Its id.
    pub id: Uuid,
    /// Its name on its sheet.
    pub name: String,
    /// Its civil date.
    pub date: Option<String>,
    /// Its groups.
    pub groups: Vec<GroupReport>,
    /// Its sweeps.
    pub sweeps: Vec<SweepReport>,
    /// Runs that were left out, and why.
    pub left_out: Vec<LeftOutReport>,
}

/// Runs that may be compared.
#[derive(Clone, Debug, Serialize, TS)]
pub struct GroupReport {
    /// What stands on the bench.
    pub item: Option<String>,
    /// The bench and its range.
    pub range: Option<String>,
    /// `intake` or `exhaust`.
    pub direction: &'static str,
    /// The set pressure; none where the page has none, and then no pressure drop either.
    pub set_pressure_pa: Option<f64>,
    /// The baseline.
    pub baseline: Option<BaselineReport>,
    /// Fixture leakage that is taken off every reading.
    pub leakage: Option<LeakageReport>,
    /// How well the bench repeats.
    pub repeatability: Repeatability,
    /// The least difference that one pair of typical assemblies here could show.
    pub resolvable_percent: Option<f64>,
    /// Without a scatter: losses are real only if the bench repeats to better than this.
    pub break_even_scatter_percent: Option<f64>,
    /// What a person should know of the whole group, as codes.
    pub marks: Vec<&'static str>,
    /// The assemblies, best first.
    pub assemblies: Vec<AssemblyReport>,
    /// Every pair.
    pub pairs: Vec<PairReport>,
}

/// A baseline with its 95 % interval.
#[derive(Clone, Debug, Serialize, TS)]
pub struct BaselineReport {
    /// `bare`, or `with` and the base.
    pub definition: String,
    /// Number of fittings.
    pub fittings: usize,
    /// Its flow.
    pub flow_m3_s: f64,
    /// Low end.
    pub low_m3_s: Option<f64>,
    /// High end.
    pub high_m3_s: Option<f64>,
    /// The runs behind it.
    #[serde(skip)]
    pub runs: Vec<Uuid>,
}

/// Fixture leakage as it was read; it is carried to the pressure of each reading.
#[derive(Clone, Debug, Serialize, TS)]
pub struct LeakageReport {
    /// Mean of the readings.
    pub flow_m3_s: f64,
    /// Their pressure; none where they were read at the set pressure or do not say.
    pub at_pressure_pa: Option<f64>,
    /// The exponent by which it is carried.
    pub exponent: f64,
    /// It may be as low as this.
    pub exponent_low: f64,
    /// And as high as this.
    pub exponent_high: f64,
}

/// How well the bench repeats when an assembly is taken off and refitted.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Repeatability {
    /// Standard deviation of one fitting, percent of flow.
    pub scatter_percent: Option<f64>,
    /// Its degrees of freedom.
    pub degrees_of_freedom: Option<f64>,
    /// `session`, `history`, `stated` or `none`.
    pub from: &'static str,
}

/// One assembly in one restraint and service state.
#[derive(Clone, Debug, Serialize, TS)]
pub struct AssemblyReport {
    /// The assembly's id.
    pub id: Uuid,
    /// Its parts' tags, from the item up.
    pub parts: Vec<String>,
    /// How it was held.
    pub restraint: Option<&'static str>,
    /// The state of its element.
    pub service: Option<&'static str>,
    /// Number of fittings.
    pub fittings: usize,
    /// Loss against the baseline.
    pub loss_percent: Option<f64>,
    /// Low end of its 95 % interval.
    pub loss_low_percent: Option<f64>,
    /// High end.
    pub loss_high_percent: Option<f64>,
    /// Flow at the set pressure.
    pub flow_m3_s: f64,
    /// Loss as a flow.
    pub loss_m3_s: Option<f64>,
    /// Low end.
    pub loss_low_m3_s: Option<f64>,
    /// High end.
    pub loss_high_m3_s: Option<f64>,
    /// Pressure drop of the parts at that flow.
    pub pressure_drop_pa: Option<f64>,
    /// Its `k`, signed.
    pub k_pa_s2_m6: Option<f64>,
    /// True only where a gain is resolved.
    pub entry_gain: bool,
    /// 1 + the number of placed assemblies resolved better.
    pub place: Option<usize>,
    /// Whether it may have a place.
    pub placed: bool,
    /// Why not, or what marks the place.
    pub why_not: Option<&'static str>,
    /// Air it costs the engine asked about.
    pub engine_air_loss_percent: Option<f64>,
    /// Low end of that where the engine's flow is beyond 0.8 to 1.25 times the tested one.
    pub engine_air_loss_low_percent: Option<f64>,
    /// High end.
    pub engine_air_loss_high_percent: Option<f64>,
    /// Rise of intake temperature that costs as much, from.
    pub engine_same_as_warmer_low_k: Option<f64>,
    /// To.
    pub engine_same_as_warmer_high_k: Option<f64>,
    /// The 95 % interval of `k`.
    #[serde(skip)]
    pub k_limits: Option<(f64, f64)>,
    /// The runs behind it.
    #[serde(skip)]
    pub runs: Vec<Uuid>,
    /// What people call it among the others of its group.
    #[serde(skip)]
    pub called: String,
}

/// Two assemblies of a group.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PairReport {
    /// Index of the first in the group's `assemblies`.
    pub a: usize,
    /// Index of the second.
    pub b: usize,
    /// How much more the first flows.
    pub difference_percent: f64,
    /// Low end of the pair's own limit.
    pub low_percent: Option<f64>,
    /// High end.
    pub high_percent: Option<f64>,
    /// The difference that the bench could have seen here.
    pub resolvable_percent: Option<f64>,
    /// `a_more`, `b_more`, `not_resolved` or `equivalent`; none without a scatter.
    pub verdict: Option<&'static str>,
    /// Resolved, and yet smaller than what was stated not to matter.
    pub smaller_than_dont_care: bool,
    /// Without a scatter: real only if one fitting repeats to better than this.
    pub break_even_scatter_percent: Option<f64>,
    /// More fittings of each that would see it if it is real.
    pub more_fittings: Option<u32>,
    /// The chance that they would.
    pub chance: Option<f64>,
    /// In words.
    pub sentence: String,
}

/// A sweep of one assembly.
#[derive(Clone, Debug, Serialize, TS)]
pub struct SweepReport {
    /// Its parts' tags; empty for the bare item.
    pub parts: Vec<String>,
    /// Number of points.
    pub points: usize,
    /// Linear coefficient of drop over flow.
    pub a_pa_s_m3: f64,
    /// Square coefficient.
    pub b_pa_s2_m6: f64,
    /// Standard error of the first.
    pub a_standard_error: f64,
    /// Standard error of the second.
    pub b_standard_error: f64,
    /// Highest swept flow.
    pub highest_flow_m3_s: f64,
    /// Flow and drop of each point.
    #[serde(skip)]
    pub measured: Vec<(f64, f64)>,
    /// The fitted curve with its 95 % interval: flow, drop, low end, high end.
    #[serde(skip)]
    pub fitted: Vec<[f64; 4]>,
}

/// A run that was left out.
#[derive(Clone, Debug, Serialize, TS)]
pub struct LeftOutReport {
    /// The run.
    pub run: Uuid,
    /// What it tested.
    pub what: String,
    /// The number in the session's order.
    pub order: Option<i64>,
    /// The audit's rule, or the circumstance.
    pub why: String,
}
