//! An evening that is not closed: what the bench can see so far, and what a
//! closed one adds to its history.

use super::fit::Fit;
use super::fitting::Group;
use super::limit::Limits;
use super::scatter::{EveningScatter, Repeatability, join, of_session};
use super::{CompareError, pair};

/// What the bench can see so far. No verdicts: looking after every reading
/// triples the false ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoFar {
    /// How well the bench repeats so far.
    pub repeatability: Repeatability,
    /// Fittings used so far, baselines included.
    pub fittings: usize,
    /// The difference between two assemblies that the bench could show, each
    /// with as many fittings as they have on average, percent.
    pub resolvable_percent: Option<f64>,
    /// The same at the mean flow of the group, m³/s.
    pub resolvable_m3_s: Option<f64>,
}

/// Says what the bench can see during an open evening.
///
/// q_p(m, ν)/√2 · s̃ (2/n̄)^½, m the subjects so far, n̄ the mean number of
/// fittings of an assembly, in percent and at the mean flow.
///
/// # Errors
/// As [`super::compare`].
pub fn scatter_so_far(group: &Group) -> Result<SoFar, CompareError> {
    crate::error::probability("confidence", group.confidence)?;
    let fit = Fit::of(group).ok_or(CompareError::NoFitting)?;
    let repeatability = join(group, &fit);
    let used: Vec<_> = fit.sides.iter().filter(|side| side.fittings > 0).collect();
    let fittings = used.iter().map(|side| side.fittings).sum();
    let tests: Vec<usize> = fit.sides.iter().skip(1).map(|side| side.fittings).filter(|&n| n > 0).collect();
    let mut said = SoFar { repeatability, fittings, resolvable_percent: None, resolvable_m3_s: None };
    let Some(scatter) = repeatability.scatter.filter(|_| !tests.is_empty()) else { return Ok(said) };
    let each = tests.iter().sum::<usize>() as f64 / tests.len() as f64;
    let limits = Limits::new(used.len(), group.confidence, repeatability.degrees_of_freedom, false)?;
    let mean = libm::exp(used.iter().map(|side| side.alpha).sum::<f64>() / used.len() as f64);
    // A coarse meter hides what the scatter would show.
    let step = group.flow_step_m3_s.map_or(0.0, |step| step / mean);
    let floor = if scatter < 0.3 * step { step * step / 12.0 } else { 0.0 };
    let half = limits.all_pairs(repeatability.degrees_of_freedom)
        * (2.0 * (scatter * scatter / each).max(floor)).sqrt();
    said.resolvable_percent = Some(pair::percent(half));
    said.resolvable_m3_s = Some(mean * libm::expm1(half));
    Ok(said)
}

/// Gives the scatter of a closed evening for the bench's history; `None`
/// where nothing was refitted.
///
/// s² = r_Sᵀr_S/tr M_SS and ν = (tr M_SS)²/Σ(M_SS)² over the rows of
/// assemblies, of ln flow.
#[must_use]
pub fn evening_scatter(group: &Group) -> Option<EveningScatter> {
    of_session(&Fit::of(group)?)
}
