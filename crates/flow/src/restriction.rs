//! The restriction of a part, from the flow without it and the flow with it.
//!
//! `k` belongs to the part; a loss in CFM belongs to the part on that baseline
//! at that pressure, and neither carries over nor adds up.

use crate::error::{positive, within};
use crate::{Caution, FlowError};

/// `k` is carried as it is down to this share of the tested flow (rule of this
/// project).
pub const LOWEST_CARRY: f64 = 0.8;
/// `k` is carried as it is up to this multiple of the tested flow.
pub const HIGHEST_CARRY: f64 = 1.25;

/// Gives the pressure drop of a part at the flow with it, Pa.
///
/// `ΔP = P [1 − (Q/Q₀)²]` with `P` test pressure (Pa), `Q₀` flow without and `Q`
/// flow with the part (m³/s), both at `P` and in the same air. Negative when the
/// part helps. Valid where the item follows the square-root law and the part
/// leaves its entry alone. Errors when an input is not above zero. Source:
/// Bernoulli's equation, resistances in series.
///
/// ```
/// // 574 CFM without, 82 CFM lost, 5.5 inH2O; any units cancel
/// let drop = airshelf_flow::restriction::pressure_drop_pa(574.0, 492.0, 5.5)?;
/// assert!((drop - 1.459).abs() < 5e-4);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn pressure_drop_pa(baseline_m3_s: f64, with_part_m3_s: f64, at_pa: f64) -> Result<f64, FlowError> {
    let (without, with, at) = checked(baseline_m3_s, with_part_m3_s, at_pa)?;
    // (Q0 − Q)(Q0 + Q) keeps its digits where the two flows nearly agree.
    Ok(at * (without - with) * (without + with) / (without * without))
}

/// Gives the signed resistance `k` of a part, Pa s²/m⁶.
///
/// `k = P (1/Q² − 1/Q₀²)`, at the density of the test. Symbols, validity, errors
/// and source as [`pressure_drop_pa`]; `k = ΔP/Q²`.
pub fn k_pa_s2_m6(baseline_m3_s: f64, with_part_m3_s: f64, at_pa: f64) -> Result<f64, FlowError> {
    let drop_pa = pressure_drop_pa(baseline_m3_s, with_part_m3_s, at_pa)?;
    Ok(drop_pa / (with_part_m3_s * with_part_m3_s))
}

/// Gives the standard uncertainty of a part's pressure drop, Pa.
///
/// `u²(ΔP) = [2P(Q/Q₀)²]² (u₀² + u₁² − 2 r u₀ u₁) + (ΔP/P)² u²(P)`: `u₀`, `u₁`
/// relative standard uncertainties of the flows, `r` their correlation, `u(P)`
/// in Pa. What both flows share (coefficient, gauge gain) cancels with `r`.
///
/// Errors when a flow or the pressure is not above zero or `|r| > 1`. Source:
/// JCGM 100:2008 (GUM), 5.2.2, equation (13).
///
/// ```
/// use airshelf_flow::restriction::{pressure_drop_standard_uncertainty_pa, FlowPair};
/// let pair = FlowPair { baseline_relative: 0.005, with_part_relative: 0.005, correlation: 0.9 };
/// let u = pressure_drop_standard_uncertainty_pa(500.0, 480.0, 28.0, pair, 0.0)?;
/// assert!((u - 0.115_403).abs() < 1e-6);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn pressure_drop_standard_uncertainty_pa(
    baseline_m3_s: f64,
    with_part_m3_s: f64,
    at_pa: f64,
    pair: FlowPair,
    pressure_standard_uncertainty_pa: f64,
) -> Result<f64, FlowError> {
    let drop = pressure_drop_pa(baseline_m3_s, with_part_m3_s, at_pa)?;
    let share = 2.0 * at_pa * (with_part_m3_s / baseline_m3_s).powi(2);
    let by_pressure = drop / at_pa * pressure_standard_uncertainty_pa;
    Ok((share * share * pair.difference_variance(1.0, 1.0)? + by_pressure * by_pressure).sqrt())
}

/// Gives the standard uncertainty of `k`, Pa s²/m⁶.
///
/// `u²(k) = 4P² (u₁²/Q⁴ + u₀²/Q₀⁴ − 2 r u₀ u₁/(Q² Q₀²)) + (k/P)² u²(P)`, symbols,
/// errors and source as [`pressure_drop_standard_uncertainty_pa`].
pub fn k_standard_uncertainty_pa_s2_m6(
    baseline_m3_s: f64,
    with_part_m3_s: f64,
    at_pa: f64,
    pair: FlowPair,
    pressure_standard_uncertainty_pa: f64,
) -> Result<f64, FlowError> {
    let k = k_pa_s2_m6(baseline_m3_s, with_part_m3_s, at_pa)?;
    let variance = pair.difference_variance(
        2.0 * at_pa / (baseline_m3_s * baseline_m3_s),
        2.0 * at_pa / (with_part_m3_s * with_part_m3_s),
    )?;
    let by_pressure = k / at_pa * pressure_standard_uncertainty_pa;
    Ok((variance + by_pressure * by_pressure).sqrt())
}

/// Relative standard uncertainties of the two flows, and how they go together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowPair {
    /// Of the flow without the part.
    pub baseline_relative: f64,
    /// Of the flow with the part.
    pub with_part_relative: f64,
    /// Correlation of the two, −1 to 1.
    pub correlation: f64,
}

impl FlowPair {
    fn difference_variance(&self, baseline: f64, with_part: f64) -> Result<f64, FlowError> {
        within("correlation", self.correlation, -1.0, 1.0)?;
        let (u0, u1) = (self.baseline_relative * baseline, self.with_part_relative * with_part);
        // Full correlation of equal terms may round below zero.
        Ok((u0 * u0 + u1 * u1 - 2.0 * self.correlation * u0 * u1).max(0.0))
    }
}

fn checked(baseline: f64, with_part: f64, at: f64) -> Result<(f64, f64, f64), FlowError> {
    Ok((
        positive("baseline flow", baseline)?,
        positive("flow with the part", with_part)?,
        positive("test pressure", at)?,
    ))
}

/// A resistance, the air it was measured in, and the flow it was tested at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Restriction {
    /// Signed resistance `k`, Pa s²/m⁶.
    pub k_pa_s2_m6: f64,
    /// Density that `k` belongs to, kg/m³.
    pub reference_density_kg_m3: f64,
    /// Flow at which it was tested, m³/s.
    pub tested_flow_m3_s: f64,
}

impl Restriction {
    /// Makes a part's restriction from the flow without and the flow with it.
    ///
    /// See [`k_pa_s2_m6`]. Errors when an input is not above zero.
    pub fn of_part(
        baseline_m3_s: f64,
        with_part_m3_s: f64,
        at_pa: f64,
        density_kg_m3: f64,
    ) -> Result<Self, FlowError> {
        Ok(Self {
            k_pa_s2_m6: k_pa_s2_m6(baseline_m3_s, with_part_m3_s, at_pa)?,
            reference_density_kg_m3: positive("density", density_kg_m3)?,
            tested_flow_m3_s: with_part_m3_s,
        })
    }

    /// Makes the restriction of a whole item (a carburetor, say) from its own
    /// flow: `k = P/Q²`. Errors when an input is not above zero.
    pub fn of_item(flow_m3_s: f64, at_pa: f64, density_kg_m3: f64) -> Result<Self, FlowError> {
        positive("flow of the item", flow_m3_s)?;
        positive("test pressure", at_pa)?;
        Ok(Self {
            k_pa_s2_m6: at_pa / (flow_m3_s * flow_m3_s),
            reference_density_kg_m3: positive("density", density_kg_m3)?,
            tested_flow_m3_s: flow_m3_s,
        })
    }

    /// Gives the same restriction in other air: `k` is proportional to density.
    ///
    /// Holds for square-law parts. Errors when the density is not above zero.
    pub fn in_air_of(self, density_kg_m3: f64) -> Result<Self, FlowError> {
        positive("density", density_kg_m3)?;
        Ok(Self {
            k_pa_s2_m6: self.k_pa_s2_m6 * density_kg_m3 / self.reference_density_kg_m3,
            reference_density_kg_m3: density_kg_m3,
            ..self
        })
    }

    /// Gives the part's pressure drop at a flow, in its reference air.
    ///
    /// From 0.8 to 1.25 times the tested flow `Q_t`: `ΔP = k Q²`. Outside, only
    /// bounds are known: with `Q ∝ ΔP^n` through the tested point, `n` 0.5 gives
    /// `k Q²` and `n` 1 gives `k Q_t Q`. `Q` m³/s, `ΔP` Pa. Errors when the flow
    /// is not above zero. Source: rule of this project; power law common
    /// practice.
    ///
    /// ```
    /// use airshelf_flow::restriction::Restriction;
    /// let lid = Restriction::of_part(0.42, 0.40, 6974.0, 1.2)?;
    /// assert!(lid.drop_at(0.38)?.caution.is_none());
    /// let far = lid.drop_at(0.20)?;
    /// assert!(far.low_pa < far.high_pa && far.caution.is_some());
    /// # Ok::<(), airshelf_flow::FlowError>(())
    /// ```
    pub fn drop_at(&self, flow_m3_s: f64) -> Result<CarriedDrop, FlowError> {
        positive("flow", flow_m3_s)?;
        let square = self.k_pa_s2_m6 * flow_m3_s * flow_m3_s;
        let Some(caution) = self.caution_at(flow_m3_s) else {
            return Ok(CarriedDrop { drop_pa: square, low_pa: square, high_pa: square, caution: None });
        };
        let laminar = self.k_pa_s2_m6 * self.tested_flow_m3_s * flow_m3_s;
        Ok(CarriedDrop {
            drop_pa: square,
            low_pa: square.min(laminar),
            high_pa: square.max(laminar),
            caution: Some(caution),
        })
    }

    /// Tells whether a flow is outside 0.8 to 1.25 times the tested one.
    #[must_use]
    pub fn caution_at(&self, flow_m3_s: f64) -> Option<Caution> {
        let ratio = flow_m3_s / self.tested_flow_m3_s;
        let inside = (LOWEST_CARRY - 1e-9..=HIGHEST_CARRY + 1e-9).contains(&ratio);
        (!inside).then_some(Caution::BeyondTestedFlow { tested_m3_s: self.tested_flow_m3_s, flow_m3_s })
    }
}

/// A part's pressure drop at another flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarriedDrop {
    /// By the square law, Pa.
    pub drop_pa: f64,
    /// Lower bound, Pa; equal to `drop_pa` near the tested flow.
    pub low_pa: f64,
    /// Upper bound, Pa; equal to `drop_pa` near the tested flow.
    pub high_pa: f64,
    /// Told outside 0.8 to 1.25 times the tested flow.
    pub caution: Option<Caution>,
}

/// What a bench can say about the sign of a part's `k`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Finding {
    /// The interval of `k` lies above zero: an equivalent area with its bounds.
    Restricts {
        /// Equivalent area, m².
        area_m2: f64,
        /// From the upper end of `k`, m².
        low_m2: f64,
        /// From the lower end of `k`, m².
        high_m2: f64,
    },
    /// The interval holds zero: neither sign is resolved, and the area is only
    /// bounded from below.
    NotResolved {
        /// Least equivalent area, m².
        at_least_m2: f64,
    },
    /// The interval lies below zero: the part helps, and has no area.
    EntryGain,
}

/// Gives the equivalent area of a resistance, m²: `C_dA = (ρ/2k)^½`.
///
/// `ρ` kg/m³ the density that `k` (Pa s²/m⁶) belongs to; `None` for `k ≤ 0`,
/// where no area exists. Errors when the density is not above zero. Source:
/// Bernoulli's equation.
///
/// ```
/// let area = airshelf_flow::restriction::equivalent_area_m2(10_656.0, 1.2)?.unwrap();
/// assert!((area - 0.007_504).abs() < 1e-6);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn equivalent_area_m2(k_pa_s2_m6: f64, density_kg_m3: f64) -> Result<Option<f64>, FlowError> {
    positive("density", density_kg_m3)?;
    Ok((k_pa_s2_m6 > 0.0).then(|| (density_kg_m3 / (2.0 * k_pa_s2_m6)).sqrt()))
}

/// Says what an interval of `k` allows to be said.
///
/// `low ≤ k ≤ high` (Pa s²/m⁶) at density `ρ` (kg/m³): an area only when the
/// interval excludes zero, an entry gain only when it lies below zero, else the
/// bound `(ρ/2 k_high)^½`. Errors when the ends do not hold `k` or the density
/// is not above zero. Source: rule of this project.
pub fn finding(
    k_pa_s2_m6: f64,
    low_pa_s2_m6: f64,
    high_pa_s2_m6: f64,
    density_kg_m3: f64,
) -> Result<Finding, FlowError> {
    within("k", k_pa_s2_m6, low_pa_s2_m6, high_pa_s2_m6)?;
    positive("density", density_kg_m3)?;
    let area = |k: f64| (density_kg_m3 / (2.0 * k)).sqrt();
    Ok(if low_pa_s2_m6 > 0.0 {
        Finding::Restricts {
            area_m2: area(k_pa_s2_m6),
            low_m2: area(high_pa_s2_m6),
            high_m2: area(low_pa_s2_m6),
        }
    } else if high_pa_s2_m6 < 0.0 {
        Finding::EntryGain
    } else {
        // k_high = 0 is a part without any effect: the bound is infinite.
        Finding::NotResolved { at_least_m2: area(high_pa_s2_m6) }
    })
}

/// Gives the flow of an item with parts in series on it, m³/s.
///
/// `1/Q² = 1/Q₀² + Σk/P`, `Q₀` (m³/s) without them at `P` (Pa), `k` signed
/// (Pa s²/m⁶) in the same air. Valid where parts act one by one; interactions
/// are for the effects model to find. Errors when gains exceed the item's own
/// resistance. Source: resistances in series.
///
/// ```
/// use airshelf_flow::restriction::{flow_with_parts_m3_s, k_pa_s2_m6};
/// let lid = k_pa_s2_m6(900.0, 860.0, 28.0)?;
/// let filter = k_pa_s2_m6(900.0, 840.0, 28.0)?;
/// let both = flow_with_parts_m3_s(900.0, &[lid, filter], 28.0)?;
/// assert!((both - 807.2006).abs() < 1e-4); // adding the losses would say 800
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn flow_with_parts_m3_s(baseline_m3_s: f64, k_pa_s2_m6: &[f64], at_pa: f64) -> Result<f64, FlowError> {
    positive("baseline flow", baseline_m3_s)?;
    positive("test pressure", at_pa)?;
    let sum: f64 = k_pa_s2_m6.iter().sum();
    let inverse_square = 1.0 / (baseline_m3_s * baseline_m3_s) + sum / at_pa;
    if inverse_square.is_nan() || inverse_square <= 0.0 {
        return Err(FlowError::NoSolution {
            what: "the gains of the parts exceed the item's own resistance",
        });
    }
    Ok(1.0 / inverse_square.sqrt())
}

/// Gives the equivalent area of openings in series, m²: `1/A² = Σ 1/Aᵢ²`.
///
/// `A` m². Errors when an area is not above zero or the list is empty. Source:
/// resistances in series.
pub fn areas_in_series_m2(areas_m2: &[f64]) -> Result<f64, FlowError> {
    sum_of(areas_m2, |area| 1.0 / (area * area)).map(|sum| 1.0 / sum.sqrt())
}

/// Gives the equivalent area of openings side by side, m²: `A = Σ Aᵢ`.
///
/// `A` m². Errors when an area is not above zero or the list is empty. Source:
/// equal pressure drop across each.
pub fn areas_side_by_side_m2(areas_m2: &[f64]) -> Result<f64, FlowError> {
    sum_of(areas_m2, |area| area)
}

fn sum_of(areas_m2: &[f64], term: impl Fn(f64) -> f64) -> Result<f64, FlowError> {
    if areas_m2.is_empty() {
        return Err(FlowError::TooFewPoints { have: 0, need: 1 });
    }
    areas_m2.iter().try_fold(0.0, |sum, &area| Ok(sum + term(positive("equivalent area", area)?)))
}
