//! How well the bench repeats: this session's own scatter, earlier evenings,
//! or what the user states.

use super::fit::Fit;
use super::fitting::Group;
use crate::distribution::chi_square_above;

/// Below this relative scatter repeats count as identical: rounding.
const IDENTICAL: f64 = 1e-9;

/// Fewest evenings that show how much the scatter itself varies.
pub const FEWEST_EVENINGS: usize = 4;

/// Fewest degrees of freedom that a history is worth.
const LEAST_HISTORY: f64 = 3.0;

/// Scatter between fittings of a closed evening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EveningScatter {
    /// Variance of ln flow, so (relative scatter)².
    pub variance: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

/// Scatter as the user states it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StatedScatter {
    /// Relative standard deviation of one fitting: 0.004 is 0.4 %.
    pub scatter: f64,
    /// Its degrees of freedom; unknown is taken as known for sure.
    pub degrees_of_freedom: Option<f64>,
}

/// Where the scatter comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScatterFrom {
    /// Refitted repeats of this session.
    Session,
    /// Earlier evenings, together with this session's repeats if it has any.
    History,
    /// Stated by the user.
    Stated,
    /// Nothing to go by: no verdicts.
    None,
}

/// How well the bench repeats.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeatability {
    /// Relative standard deviation of one fitting, where known.
    pub scatter: Option<f64>,
    /// Degrees of freedom of the scatter; 0 where it is unknown.
    pub degrees_of_freedom: f64,
    /// Where it comes from.
    pub from: ScatterFrom,
    /// History of fewer than four evenings: how the scatter itself varies is
    /// not known, and it counts for at most three degrees of freedom.
    pub few_evenings: bool,
    /// Stated, but this session scatters more than that can explain; the
    /// statement was not used.
    pub stated_contradicted: bool,
    /// The repeats agree to the last digit and the step of the meter is not
    /// known, so that they say nothing of the scatter.
    pub identical: bool,
}

impl Repeatability {
    /// Scatter in percent of flow.
    #[must_use]
    pub fn scatter_percent(&self) -> Option<f64> {
        self.scatter.map(|s| 100.0 * s)
    }
}

/// Gives the session's own scatter over the rows of assemblies.
///
/// s² = r_Sᵀr_S / tr M_SS, ν = (tr M_SS)² / Σ(M_SS)²: baselines set the drift
/// and not the scatter. Degrees of freedom after Satterthwaite, *Biometrics
/// Bulletin* 2 (1946) 110 (from memory).
pub(crate) fn of_session(fit: &Fit) -> Option<EveningScatter> {
    (fit.trace > 1e-6).then(|| EveningScatter {
        variance: fit.residual / fit.trace,
        degrees_of_freedom: (fit.trace * fit.trace / fit.squares).max(1.0),
    })
}

/// Pools the scatter of earlier evenings.
///
/// s0² the mean of s_j², c = var(s_j²)/s0⁴, e = (c − 2/ν̄)/(1 + 2/ν̄) the
/// variance between evenings beyond chance, relative; ν0 = Σν_j if
/// e ≤ 2/Σν_j, else max(3, 2/e). Fewer than four evenings: min(Σν_j, 3).
/// Evenings without repeats are passed over; `None` where none is left.
///
/// Source: method of moments on the variance of s², common practice; its
/// coverage is simulated in the tests of the workspace.
#[must_use]
pub fn pool_history(evenings: &[EveningScatter]) -> Option<EveningScatter> {
    let known: Vec<EveningScatter> = evenings
        .iter()
        .copied()
        .filter(|e| e.degrees_of_freedom > 0.0 && e.variance.is_finite() && e.variance >= 0.0)
        .collect();
    if known.is_empty() {
        return None;
    }
    let count = known.len() as f64;
    let variance = known.iter().map(|e| e.variance).sum::<f64>() / count;
    let total: f64 = known.iter().map(|e| e.degrees_of_freedom).sum();
    if known.len() < FEWEST_EVENINGS {
        return Some(EveningScatter { variance, degrees_of_freedom: total.min(LEAST_HISTORY) });
    }
    let spread = known.iter().map(|e| (e.variance - variance).powi(2)).sum::<f64>() / (count - 1.0);
    let by_chance = 2.0 * count / total;
    let beyond = (spread / (variance * variance).max(f64::MIN_POSITIVE) - by_chance) / (1.0 + by_chance);
    let degrees_of_freedom = if beyond <= 2.0 / total { total } else { (2.0 / beyond).max(LEAST_HISTORY) };
    Some(EveningScatter { variance, degrees_of_freedom })
}

/// Joins session, history and statement into the one scatter of the group.
pub(crate) fn join(group: &Group, fit: &Fit) -> Repeatability {
    let mut said = Repeatability {
        scatter: None,
        degrees_of_freedom: 0.0,
        from: ScatterFrom::None,
        few_evenings: false,
        stated_contradicted: false,
        identical: false,
    };
    let session = of_session(fit);
    let history = pool_history(&group.history);
    if let Some(stated) = group.stated_scatter.filter(|s| s.scatter.is_finite() && s.scatter > 0.0) {
        let contradicted = session.is_some_and(|own| {
            let ratio = own.degrees_of_freedom * own.variance / (stated.scatter * stated.scatter);
            chi_square_above(ratio, own.degrees_of_freedom) < 1.0 - group.confidence
        });
        if !contradicted {
            said.scatter = Some(stated.scatter);
            said.degrees_of_freedom = stated.degrees_of_freedom.unwrap_or(f64::INFINITY).max(1.0);
            said.from = ScatterFrom::Stated;
            return said;
        }
        said.stated_contradicted = true;
    }
    let (pooled, from) = match (session, history) {
        (Some(own), None) => (own, ScatterFrom::Session),
        (None, Some(earlier)) => (earlier, ScatterFrom::History),
        (Some(own), Some(earlier)) => {
            let nu = own.degrees_of_freedom + earlier.degrees_of_freedom;
            let variance =
                (own.variance * own.degrees_of_freedom + earlier.variance * earlier.degrees_of_freedom) / nu;
            (EveningScatter { variance, degrees_of_freedom: nu }, ScatterFrom::History)
        }
        (None, None) => return said,
    };
    let scatter = pooled.variance.sqrt();
    if scatter < IDENTICAL && group.flow_step_m3_s.is_none() {
        said.identical = true;
        return said;
    }
    said.scatter = Some(scatter);
    said.degrees_of_freedom = pooled.degrees_of_freedom.max(1.0);
    said.few_evenings = history.is_some() && group.history.len() < FEWEST_EVENINGS;
    said.from = from;
    said
}
