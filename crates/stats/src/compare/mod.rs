//! The recipe: from the fittings of one group to losses, places and verdicts.
//!
//! For each fitting y = ln[(Q − L)(P_set/P)^½]; least squares by QR for one
//! mean per subject and the drift they share ([`fit`](self)); scatter from
//! refitted repeats of assemblies, joined with earlier evenings
//! ([`pool_history`]); every pair against the Tukey-Kramer limit
//! ([`Comparison::pair`]).
//!
//! What varies between refitted repeats is in the scatter and is not added
//! again. A verdict is never taken from whether two intervals overlap, and
//! there is none where nobody knows how the bench repeats: then the
//! break-even scatter says what it would take. Everything here is a code or a
//! quantity; sentences are made elsewhere.
//!
//! How often its intervals cover and its verdicts err was simulated on
//! evenings with known truth: `tests/tests/verdicts.rs` of the workspace.

mod fit;
mod fitting;
mod limit;
mod loss;
mod open;
mod pair;
mod scatter;

pub use fit::Bracket;
pub use fitting::{
    Fitting, Group, LEAKAGE_EXPONENT, Leakage, LeftOut, LeftOutBecause, PRESSURE_REACH, Placing, Reading,
    Subject, TypeB, mean_of, merge_consecutive,
};
pub use loss::{AssemblyResult, Baseline, Estimate, Finding, WhyNot};
pub use open::{SoFar, evening_scatter, scatter_so_far};
pub use pair::{Pair, Verdict};
pub use scatter::{EveningScatter, FEWEST_EVENINGS, Repeatability, ScatterFrom, StatedScatter, pool_history};

use fit::Fit;
use limit::Limits;

use crate::StatsError;

/// Why a group cannot be compared. Trying again with the same group does not
/// help.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum CompareError {
    /// No fitting is left, see the reasons in [`Group::fittings`].
    #[error("no fitting of the group can be used")]
    NoFitting,
    /// A number of the group itself is outside its range.
    #[error(transparent)]
    Bench(#[from] StatsError),
}

/// What is known of the bench on this evening, and the fit.
#[derive(Debug, Clone)]
struct Bench {
    fit: Fit,
    placing: Vec<Placing>,
    scatter: Option<f64>,
    nu: f64,
    limits: Option<Limits>,
    /// q/√2 for a scatter known for sure.
    limit_if_known: f64,
    set_pressure_pa: Option<f64>,
    step_m3_s: Option<f64>,
    dont_care_percent: Option<f64>,
    exponent_high: f64,
    scale: f64,
    curvature: f64,
    bow_counts: bool,
}

/// A group, compared.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// The baseline, where there is one.
    pub baseline: Option<Baseline>,
    /// How well the bench repeats.
    pub repeatability: Repeatability,
    /// The difference between two assemblies that these fittings could have
    /// shown: the median over all pairs (against the baseline where there is
    /// one assembly), percent.
    pub resolvable_percent: Option<f64>,
    /// The assemblies, by number.
    pub assemblies: Vec<AssemblyResult>,
    /// Where the baselines stand. Anything but `Both` is to be marked.
    pub bracket: Bracket,
    /// Change of the bench from the first to the last fitting, percent, where
    /// the rows show it.
    pub drift_percent: Option<f64>,
    /// The rows could not tell the planned drift from the assemblies; it was
    /// fitted with fewer bends, or not at all.
    pub drift_unseen: bool,
    /// The usual drift curvature of the bench was added, an end baseline
    /// being missing.
    pub widened_for_drift: bool,
    /// The assembly with the highest flow.
    pub best_looking: Option<usize>,
    /// The best-looking of three and more is flattered: part of its lead is
    /// luck.
    pub best_is_flattered: bool,
    /// Fittings that were not used.
    pub left_out: Vec<LeftOut>,
    bench: Bench,
}

/// Compares the fittings of one group.
///
/// y = ln[(Q − L)(P_set/P)^½] = α_subject + Σ δ_k φ_k(t) + ε, with one hat
/// function φ for up to three groups of baselines, two for four or five,
/// three for more; s² = r_Sᵀr_S/tr M_SS over the rows of assemblies,
/// joined with history; u² = s̃²(G_ii + G_jj − 2G_ij) + Σu_B²;
/// d ± t·u shown for losses, d ± q(m, ν)/√2·u for verdicts.
///
/// Q m³/s, P Pa, t s or order, d and u in ln flow. Range: pressures within 5 %
/// of the set pressure (others are left out and named), at most 9999
/// assemblies.
///
/// # Errors
/// `NoFitting` where nothing can be used; `Bench` for a confidence, set
/// pressure, step or exponent outside its range.
///
/// Source: JCGM 100:2008 (GUM) 5.1 and G.4 for uncertainty; Kramer,
/// *Biometrics* 12 (1956) 307 for unequal numbers; the recipe as a whole is
/// the project's own and is simulated.
///
/// ```
/// use airshelf_stats::compare::*;
/// let fit = |subject, when, flow| Fitting {
///     subject, when, flow_m3_s: flow, actual_pressure_pa: None, readings: 1, type_b: TypeB::default(),
/// };
/// use Subject::*;
/// let group = Group::new(Some(6974.5), vec![
///     fit(Baseline, 0.0, 0.2700), fit(Assembly(0), 1.0, 0.2610), fit(Assembly(1), 2.0, 0.2540),
///     fit(Baseline, 3.0, 0.2698), fit(Assembly(1), 4.0, 0.2541), fit(Assembly(0), 5.0, 0.2608),
///     fit(Baseline, 6.0, 0.2699),
/// ]);
/// let said = compare(&group).unwrap();
/// let pair = said.pair(Assembly(0), Assembly(1)).unwrap();
/// assert_eq!(pair.verdict, Some(Verdict::AMore));
/// ```
pub fn compare(group: &Group) -> Result<Comparison, CompareError> {
    crate::error::probability("confidence", group.confidence)?;
    for (name, value) in [("set pressure", group.set_pressure_pa), ("flow step", group.flow_step_m3_s)] {
        value.map_or(Ok(1.0), |v| crate::error::positive(name, v))?;
    }
    if !(0.5..=1.0).contains(&group.exponent_high) {
        return Err(StatsError::OutOfRange { name: "highest exponent", value: group.exponent_high }.into());
    }
    let fit = Fit::of(group).ok_or(CompareError::NoFitting)?;
    let repeatability = scatter::join(group, &fit);
    let means = fit.sides.iter().filter(|side| side.fittings > 0).count().max(2);
    let curvature = group.usual_drift_curvature.unwrap_or(0.0);
    let bow_counts = fit.bracket != Bracket::Both && curvature > 0.0;
    let mixed = bow_counts || has_type_b(group, &fit);
    let limits = match repeatability.scatter {
        Some(_) => Some(Limits::new(means, group.confidence, repeatability.degrees_of_freedom, mixed)?),
        None => None,
    };
    let limit_if_known = match &limits {
        Some(limits) => limits.all_pairs_exactly(f64::INFINITY),
        None => Limits::new(means, group.confidence, f64::INFINITY, false)?.all_pairs(f64::INFINITY),
    };
    let bench = Bench {
        placing: group.placing.clone(),
        scatter: repeatability.scatter,
        nu: repeatability.degrees_of_freedom,
        limits,
        limit_if_known,
        set_pressure_pa: group.set_pressure_pa,
        step_m3_s: group.flow_step_m3_s,
        dont_care_percent: group.dont_care_percent,
        exponent_high: group.exponent_high,
        scale: group.scale_uncertainty,
        curvature,
        bow_counts,
        fit,
    };
    Ok(Comparison::of(bench, repeatability))
}

impl Comparison {
    fn of(bench: Bench, repeatability: Repeatability) -> Self {
        let fit = &bench.fit;
        let assemblies: Vec<AssemblyResult> = (0..fit.sides.len() - 1).map(|i| bench.assembly(i)).collect();
        let zero = &fit.sides[0];
        let best_looking = (0..assemblies.len())
            .filter(|&i| assemblies[i].fittings > 0)
            .max_by(|&i, &j| fit.sides[i + 1].alpha.total_cmp(&fit.sides[j + 1].alpha));
        let mut said = Self {
            baseline: (zero.fittings > 0)
                .then(|| Baseline { flow_m3_s: bench.flow(zero), fittings: zero.fittings }),
            repeatability,
            resolvable_percent: None,
            bracket: fit.bracket,
            drift_percent: (fit.hats > 0).then(|| pair::percent(fit.total_drift)),
            drift_unseen: fit.hats < fit.hats_planned,
            widened_for_drift: bench.bow_counts,
            best_looking,
            best_is_flattered: assemblies.iter().filter(|a| a.fittings > 0).count() > 2,
            left_out: fit.left_out.clone(),
            assemblies,
            bench,
        };
        said.resolvable_percent = said.bench.typical_half_width().map(pair::percent);
        said.give_places();
        said
    }
}

impl Bench {
    /// Median half-width of the verdicts between two assemblies, in ln flow.
    fn typical_half_width(&self) -> Option<f64> {
        self.limits.as_ref()?;
        let used: Vec<&fit::Side> = self.fit.sides.iter().skip(1).filter(|side| side.fittings > 0).collect();
        let mut widths: Vec<f64> = Vec::with_capacity(used.len() * used.len() / 2 + 1);
        for (at, i) in used.iter().enumerate() {
            widths.extend(used[at + 1..].iter().filter_map(|j| self.half_width(&self.difference(i, j))));
        }
        if let ([only], zero) = (used.as_slice(), &self.fit.sides[0])
            && zero.fittings > 0
        {
            widths.extend(self.half_width(&self.difference(only, zero)));
        }
        if widths.is_empty() {
            return None;
        }
        let middle = (widths.len() - 1) / 2;
        Some(*widths.select_nth_unstable_by(middle, f64::total_cmp).1)
    }
}

/// Whether any difference may have a share that repeats do not show.
fn has_type_b(group: &Group, fit: &Fit) -> bool {
    let sides = fit.sides.iter().filter(|side| side.fittings > 0);
    let first = sides.clone().map(|side| side.ln_ratio).next();
    group.flow_step_m3_s.is_some()
        || sides
            .clone()
            .any(|side| side.part_to_meter > 0.0 || side.range_factor > 0.0 || Some(side.ln_ratio) != first)
}
