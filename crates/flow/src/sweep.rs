//! Pressure drop over flow from a sweep: `ΔP = aQ + bQ²`.
//!
//! `a` is the laminar share (media), `b` the square-law share. The two are
//! strongly correlated, so their covariance is kept with them.

use crate::error::{positive, within};
use crate::{Caution, FlowError};

/// Greatest multiple of the highest swept flow that is answered.
pub const HIGHEST_EXTRAPOLATION: f64 = 1.25;

/// The curve `ΔP = aQ + bQ²`, exact algebra without limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curve {
    /// Linear coefficient `a`, Pa s/m³.
    pub a_pa_s_m3: f64,
    /// Square coefficient `b`, Pa s²/m⁶.
    pub b_pa_s2_m6: f64,
}

impl Curve {
    /// Gives the pressure drop at a flow, Pa: `aQ + bQ²`. Never refuses;
    /// [`Sweep::predict`] does. Source: Darcy–Forchheimer law.
    #[must_use]
    pub fn drop_pa(&self, flow_m3_s: f64) -> f64 {
        flow_m3_s * (self.a_pa_s_m3 + self.b_pa_s2_m6 * flow_m3_s)
    }

    /// Gives the flow at a pressure drop, m³/s.
    ///
    /// `Q = 2ΔP / [a + (a² + 4bΔP)^½]`, which loses no digits for small `b` or
    /// `ΔP`. Errors for a negative drop, or where the curve never reaches it.
    ///
    /// ```
    /// use airshelf_flow::sweep::Curve;
    /// let curve = Curve { a_pa_s_m3: 0.01, b_pa_s2_m6: 0.0 };
    /// assert_eq!(curve.flow_m3_s(5.0)?, 500.0);
    /// # Ok::<(), airshelf_flow::FlowError>(())
    /// ```
    pub fn flow_m3_s(&self, drop_pa: f64) -> Result<f64, FlowError> {
        within("pressure drop in pascal", drop_pa, 0.0, f64::MAX)?;
        if drop_pa == 0.0 {
            return Ok(0.0);
        }
        let root = self.a_pa_s_m3 * self.a_pa_s_m3 + 4.0 * self.b_pa_s2_m6 * drop_pa;
        let below = self.a_pa_s_m3 + root.sqrt();
        if below.is_nan() || below <= 0.0 {
            return Err(FlowError::NoSolution { what: "the fitted curve never reaches this pressure drop" });
        }
        Ok(2.0 * drop_pa / below)
    }

    /// Gives the local exponent `n = d ln Q/d ln ΔP = (a + bQ)/(a + 2bQ)`: 0.5
    /// for a sharp edge, 1 for laminar media. Errors when the flow is not above
    /// zero.
    pub fn local_exponent(&self, flow_m3_s: f64) -> Result<f64, FlowError> {
        positive("flow", flow_m3_s)?;
        let square = self.b_pa_s2_m6 * flow_m3_s;
        Ok((self.a_pa_s_m3 + square) / (self.a_pa_s_m3 + 2.0 * square))
    }

    /// Gives the curve in other air: `a' = a µ'/µ`, `b' = b ρ'/ρ`.
    ///
    /// `µ` viscosity (Pa s), `ρ` density (kg/m³). Valid for media and openings
    /// in series in the same geometry. Errors when one is not above zero.
    /// Source: Darcy–Forchheimer law.
    pub fn in_other_air(
        &self,
        viscosity_pa_s: f64,
        other_viscosity_pa_s: f64,
        density_kg_m3: f64,
        other_density_kg_m3: f64,
    ) -> Result<Self, FlowError> {
        positive("viscosity", viscosity_pa_s)?;
        positive("other viscosity", other_viscosity_pa_s)?;
        positive("density", density_kg_m3)?;
        positive("other density", other_density_kg_m3)?;
        Ok(Self {
            a_pa_s_m3: self.a_pa_s_m3 * other_viscosity_pa_s / viscosity_pa_s,
            b_pa_s2_m6: self.b_pa_s2_m6 * other_density_kg_m3 / density_kg_m3,
        })
    }
}

/// Variances of `a` and `b` and their covariance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Covariance {
    /// `var(a)`, (Pa s/m³)².
    pub a_a: f64,
    /// `cov(a, b)`.
    pub a_b: f64,
    /// `var(b)`, (Pa s²/m⁶)².
    pub b_b: f64,
}

impl Covariance {
    /// Gives the variance of `aQ + bQ²`, Pa²: `gᵀ C g`, `g = (Q, Q²)`.
    #[must_use]
    pub fn of_drop_pa2(&self, flow_m3_s: f64) -> f64 {
        let square = flow_m3_s * flow_m3_s;
        (square * self.a_a + 2.0 * flow_m3_s * square * self.a_b + square * square * self.b_b).max(0.0)
    }

    /// Gives the correlation of `a` and `b`.
    #[must_use]
    pub fn correlation(&self) -> f64 {
        self.a_b / (self.a_a * self.b_b).sqrt()
    }
}

/// A fitted sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    /// The fitted curve.
    pub curve: Curve,
    /// Covariance of its coefficients.
    pub covariance: Covariance,
    /// Scatter of the readings about the curve, Pa; for a weighted fit the root
    /// of `χ²/(n − 2)`, without unit.
    pub residual_scatter: f64,
    /// Weighted sum of squared residuals.
    pub chi_squared: f64,
    /// Readings less two.
    pub degrees_of_freedom: usize,
    /// Highest swept flow, m³/s.
    pub highest_flow_m3_s: f64,
    /// Whether uncertainties of the readings were given (then intervals are
    /// normal, not Student's).
    weighted: bool,
}

/// A pressure drop predicted from a sweep, 95 % unless stated.
#[derive(Debug, Clone, PartialEq)]
pub struct PredictedDrop {
    /// Predicted drop, Pa.
    pub drop_pa: f64,
    /// Standard uncertainty of the curve there, Pa.
    pub standard_uncertainty_pa: f64,
    /// Lower and upper end of the confidence interval of the curve, Pa.
    pub confidence_pa: (f64, f64),
    /// Lower and upper end of the interval for one more reading, Pa; `None` for
    /// a weighted sweep, whose next reading's uncertainty is not known.
    pub prediction_pa: Option<(f64, f64)>,
    /// What to know: above the sweep, negative coefficient.
    pub cautions: Vec<Caution>,
}

/// A flow predicted from a sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct PredictedFlow {
    /// Predicted flow, m³/s.
    pub flow_m3_s: f64,
    /// Standard uncertainty, m³/s.
    pub standard_uncertainty_m3_s: f64,
    /// Half the width of the confidence interval, m³/s.
    pub half_width_m3_s: f64,
    /// What to know: above the sweep, negative coefficient.
    pub cautions: Vec<Caution>,
}

/// Fits `ΔP = aQ + bQ²` to a sweep by least squares.
///
/// QR of the columns `(Q, Q²)`; `s² = Σr²/(n − 2)`, covariance `s² (XᵀX)⁻¹`; `Q`
/// m³/s, `ΔP` Pa, equal scatter of every drop and exact flows. Errors with fewer
/// than three readings, unequal lists, a flow or drop not above zero, or flows
/// that are all the same. Source: Darcy–Forchheimer law; ordinary least squares.
///
/// ```
/// let flow = [60.0, 100.0, 140.0, 180.0, 220.0, 260.0, 300.0, 340.0];
/// let drop = [0.36, 0.69, 1.16, 1.68, 2.35, 3.05, 3.92, 4.81];
/// let sweep = airshelf_flow::sweep::fit(&flow, &drop)?; // CFM and inH2O carry through
/// assert!((sweep.curve.a_pa_s_m3 - 0.004_056_04).abs() < 1e-8);
/// let at = sweep.predict(200.0, 0.95)?;
/// assert!((at.drop_pa - 2.002_27).abs() < 1e-5);
/// assert!(sweep.predict(800.0, 0.95).is_err()); // 1.25 × 340 is the end
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn fit(flow_m3_s: &[f64], drop_pa: &[f64]) -> Result<Sweep, FlowError> {
    let ones = vec![1.0; drop_pa.len()];
    let mut sweep = solve(flow_m3_s, drop_pa, &ones)?;
    let variance = sweep.chi_squared / sweep.degrees_of_freedom as f64;
    sweep.covariance.a_a *= variance;
    sweep.covariance.a_b *= variance;
    sweep.covariance.b_b *= variance;
    Ok(sweep)
}

/// Fits `ΔP = aQ + bQ²` with a known standard uncertainty for every drop.
///
/// As [`fit`] with rows divided by `u(ΔP)` (Pa); the covariance `(XᵀX)⁻¹` is
/// absolute, not scaled by `χ²/(n − 2)`, which is given to be looked at. Errors
/// as [`fit`], and when an uncertainty is not above zero. Source: weighted least
/// squares.
pub fn fit_weighted(
    flow_m3_s: &[f64],
    drop_pa: &[f64],
    drop_standard_uncertainty_pa: &[f64],
) -> Result<Sweep, FlowError> {
    let mut sweep = solve(flow_m3_s, drop_pa, drop_standard_uncertainty_pa)?;
    sweep.weighted = true;
    Ok(sweep)
}

fn solve(flow: &[f64], drop: &[f64], uncertainty: &[f64]) -> Result<Sweep, FlowError> {
    for list in [drop, uncertainty] {
        if list.len() != flow.len() {
            return Err(FlowError::UnequalLists { left: flow.len(), right: list.len() });
        }
    }
    if flow.len() < 3 {
        return Err(FlowError::TooFewPoints { have: flow.len(), need: 3 });
    }
    for ((&q, &p), &u) in flow.iter().zip(drop).zip(uncertainty) {
        positive("swept flow", q)?;
        positive("swept pressure drop", p)?;
        positive("uncertainty of a swept drop", u)?;
    }
    let highest = flow.iter().copied().fold(0.0, f64::max);
    // Columns of Q/Qmax: both of order one, whatever the unit.
    let mut first: Vec<f64> = (flow.iter().zip(uncertainty)).map(|(q, u)| q / highest / u).collect();
    let mut second: Vec<f64> =
        (flow.iter().zip(uncertainty)).map(|(q, u)| (q / highest).powi(2) / u).collect();
    let right: Vec<f64> = drop.iter().zip(uncertainty).map(|(p, u)| p / u).collect();
    let dot = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(a, b)| a * b).sum::<f64>();
    let whole = dot(&second, &second).sqrt();
    let r11 = dot(&first, &first).sqrt();
    first.iter_mut().for_each(|x| *x /= r11);
    let mut r12 = 0.0;
    // Orthogonalized twice: the columns are 97 % parallel in a usual sweep.
    for _ in 0..2 {
        let part = dot(&first, &second);
        r12 += part;
        second.iter_mut().zip(&first).for_each(|(x, q)| *x -= part * q);
    }
    let r22 = dot(&second, &second).sqrt();
    if r22 < 1e-9 * whole {
        return Err(FlowError::Degenerate { what: "all flows of the sweep are the same" });
    }
    second.iter_mut().for_each(|x| *x /= r22);
    let b = dot(&second, &right) / r22;
    let a = (dot(&first, &right) - r12 * b) / r11;
    let curve = Curve { a_pa_s_m3: a / highest, b_pa_s2_m6: b / (highest * highest) };
    let chi_squared = (flow.iter().zip(drop).zip(uncertainty))
        .map(|((&q, p), u)| ((p - curve.drop_pa(q)) / u).powi(2))
        .sum::<f64>();
    let degrees_of_freedom = flow.len() - 2;
    Ok(Sweep {
        curve,
        covariance: Covariance {
            a_a: (1.0 / (r11 * r11) + r12 * r12 / (r11 * r11 * r22 * r22)) / highest.powi(2),
            a_b: -r12 / (r11 * r22 * r22) / highest.powi(3),
            b_b: 1.0 / (r22 * r22) / highest.powi(4),
        },
        residual_scatter: (chi_squared / degrees_of_freedom as f64).sqrt(),
        chi_squared,
        degrees_of_freedom,
        highest_flow_m3_s: highest,
        weighted: false,
    })
}

impl Sweep {
    /// Predicts the pressure drop at a flow.
    ///
    /// `ΔP ± t √(gᵀCg)` for the curve, `± t √(gᵀCg + s²)` for one more reading;
    /// `g = (Q, Q²)`, `t` Student's at `n − 2` (normal for a weighted sweep),
    /// `confidence` between 0 and 1. Errors above 1.25 times the highest swept
    /// flow, for a flow not above zero or a confidence outside. Source: least
    /// squares theory; the limit is a rule of this project.
    pub fn predict(&self, flow_m3_s: f64, confidence: f64) -> Result<PredictedDrop, FlowError> {
        positive("flow", flow_m3_s)?;
        let cautions = self.cautions_at(flow_m3_s)?;
        let factor = self.coverage_factor(confidence)?;
        let drop_pa = self.curve.drop_pa(flow_m3_s);
        let variance = self.covariance.of_drop_pa2(flow_m3_s);
        let around = |half: f64| (drop_pa - half, drop_pa + half);
        Ok(PredictedDrop {
            drop_pa,
            standard_uncertainty_pa: variance.sqrt(),
            confidence_pa: around(factor * variance.sqrt()),
            prediction_pa: (!self.weighted)
                .then(|| around(factor * (variance + self.residual_scatter.powi(2)).sqrt())),
            cautions,
        })
    }

    /// Predicts the flow at a pressure drop.
    ///
    /// [`Curve::flow_m3_s`], `u(Q) = √(gᵀCg)/(a + 2bQ)`, `g = (Q, Q²)`. Errors as
    /// [`Sweep::predict`] and [`Curve::flow_m3_s`].
    pub fn flow_at(&self, drop_pa: f64, confidence: f64) -> Result<PredictedFlow, FlowError> {
        let flow_m3_s = self.curve.flow_m3_s(drop_pa)?;
        let cautions = self.cautions_at(flow_m3_s)?;
        let standard = self.flow_standard_uncertainty_m3_s(flow_m3_s);
        Ok(PredictedFlow {
            flow_m3_s,
            standard_uncertainty_m3_s: standard,
            half_width_m3_s: self.coverage_factor(confidence)? * standard,
            cautions,
        })
    }

    /// Gives the standard uncertainty of the flow that the curve shows at a
    /// drop, at that flow, m³/s: `√(gᵀCg)/(a + 2bQ)`. Source: JCGM 100:2008, 5.2.2.
    #[must_use]
    pub fn flow_standard_uncertainty_m3_s(&self, flow_m3_s: f64) -> f64 {
        let slope = self.curve.a_pa_s_m3 + 2.0 * self.curve.b_pa_s2_m6 * flow_m3_s;
        self.covariance.of_drop_pa2(flow_m3_s).sqrt() / slope
    }

    /// Gives the coverage factor of a two-sided interval: Student's `t` at `n −
    /// 2`, or the normal one for a weighted sweep. Errors when `confidence` is
    /// not between 0 and 1.
    pub fn coverage_factor(&self, confidence: f64) -> Result<f64, FlowError> {
        within("confidence", confidence, 1e-6, 1.0 - 1e-9)?;
        // Beyond 1e6 degrees of freedom Student's t is normal to seven digits.
        let freedom = if self.weighted { 1e12 } else { self.degrees_of_freedom as f64 };
        Ok(airshelf_stats::distribution::student_factor(confidence, freedom)
            .expect("the confidence was checked, and a fit has degrees of freedom"))
    }

    fn cautions_at(&self, flow_m3_s: f64) -> Result<Vec<Caution>, FlowError> {
        let limit_m3_s = HIGHEST_EXTRAPOLATION * self.highest_flow_m3_s;
        if flow_m3_s > limit_m3_s * (1.0 + 1e-9) {
            return Err(FlowError::BeyondSweep { flow_m3_s, limit_m3_s });
        }
        let mut cautions = Vec::new();
        if flow_m3_s > self.highest_flow_m3_s * (1.0 + 1e-9) {
            cautions.push(Caution::AboveSweep { highest_m3_s: self.highest_flow_m3_s, flow_m3_s });
        }
        let Curve { a_pa_s_m3, b_pa_s2_m6 } = self.curve;
        if a_pa_s_m3 < 0.0 || b_pa_s2_m6 < 0.0 {
            cautions.push(Caution::NegativeCoefficient { a_pa_s_m3, b_pa_s2_m6 });
        }
        Ok(cautions)
    }
}

/// Fits the exponent `n` of `Q = C ΔP^n` to a sweep.
///
/// Least squares of `ln Q` on `ln ΔP`; any units. 0.5 is a sharp edge, 1 laminar
/// media. Errors with fewer than two readings, unequal lists, values not above
/// zero, or drops that are all the same. Source: power law, common practice.
///
/// ```
/// let n = airshelf_flow::sweep::fit_exponent(&[50.0, 100.0, 200.0], &[1.0, 2.0, 4.0])?;
/// assert!((n - 1.0).abs() < 1e-12);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn fit_exponent(flow_m3_s: &[f64], drop_pa: &[f64]) -> Result<f64, FlowError> {
    if flow_m3_s.len() != drop_pa.len() {
        return Err(FlowError::UnequalLists { left: flow_m3_s.len(), right: drop_pa.len() });
    }
    if flow_m3_s.len() < 2 {
        return Err(FlowError::TooFewPoints { have: flow_m3_s.len(), need: 2 });
    }
    let logs = |list: &[f64], what| -> Result<Vec<f64>, FlowError> {
        list.iter().map(|&x| Ok(libm::log(positive(what, x)?))).collect()
    };
    let flow = logs(flow_m3_s, "swept flow")?;
    let drop = logs(drop_pa, "swept pressure drop")?;
    let mean = |list: &[f64]| list.iter().sum::<f64>() / list.len() as f64;
    let (flow_mean, drop_mean) = (mean(&flow), mean(&drop));
    let (mut cross, mut square) = (0.0, 0.0);
    for (q, p) in flow.iter().zip(&drop) {
        cross += (p - drop_mean) * (q - flow_mean);
        square += (p - drop_mean).powi(2);
    }
    if square < 1e-18 {
        return Err(FlowError::Degenerate { what: "all pressure drops of the sweep are the same" });
    }
    Ok(cross / square)
}
