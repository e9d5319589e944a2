//! The law of propagation of uncertainty for any model of its inputs.

use crate::error::{Result, StatsError};

/// One input of a model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    /// Its best estimate.
    pub value: f64,
    /// Its standard uncertainty, in the same unit.
    pub standard_uncertainty: f64,
}

/// A result with its standard uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Propagated {
    /// The model at the best estimates.
    pub value: f64,
    /// Combined standard uncertainty.
    pub standard_uncertainty: f64,
    /// Signed contributions c_i u(x_i), in the order of the inputs.
    pub contributions: Vec<f64>,
}

/// Combines contributions c_i u(x_i): u_c² = Σ_ij c_i u_i r_ij c_j u_j.
/// Without correlations the r_ij are taken as zero off the diagonal.
///
/// # Errors
/// `Unequal` where the table of correlations is not square in the inputs,
/// `OutOfRange` for a correlation outside −1…1.
///
/// Source: JCGM 100:2008 (GUM) 5.1.2 equation (10), 5.2.2 equation (13).
///
/// ```
/// use airshelf_stats::uncertainty::combined;
/// let r = |r: f64| vec![vec![1.0, r], vec![r, 1.0]];
/// assert_eq!(combined(&[3.0, -4.0], Some(&r(1.0))).unwrap(), 1.0);
/// assert_eq!(combined(&[3.0, -4.0], None).unwrap(), 5.0);
/// ```
pub fn combined(contributions: &[f64], correlations: Option<&[Vec<f64>]>) -> Result<f64> {
    Ok(shared(contributions, contributions, correlations)?.max(0.0).sqrt())
}

/// Gives the correlation between two results of the same inputs, from their
/// contributions: Σ_ij a_i r_ij b_j / (u_a u_b).
///
/// # Errors
/// As [`combined`]; `Constant` where one of them has no uncertainty.
///
/// Source: JCGM 100:2008 (GUM) F.1.2.3 equation (F.2), H.2.3.
pub fn correlation_of(a: &[f64], b: &[f64], correlations: Option<&[Vec<f64>]>) -> Result<f64> {
    let spread = combined(a, correlations)? * combined(b, correlations)?;
    if spread == 0.0 {
        return Err(StatsError::Constant);
    }
    Ok(shared(a, b, correlations)? / spread)
}

fn shared(a: &[f64], b: &[f64], correlations: Option<&[Vec<f64>]>) -> Result<f64> {
    if a.len() != b.len() {
        return Err(StatsError::Unequal { left: a.len(), right: b.len() });
    }
    let Some(r) = correlations else {
        return Ok(a.iter().zip(b).map(|(a, b)| a * b).sum());
    };
    let mut sum = 0.0;
    if r.len() != a.len() {
        return Err(StatsError::Unequal { left: r.len(), right: a.len() });
    }
    for (a, row) in a.iter().zip(r) {
        if row.len() != b.len() {
            return Err(StatsError::Unequal { left: row.len(), right: b.len() });
        }
        for (b, &r) in b.iter().zip(row) {
            if !(-1.0 - 1e-12..=1.0 + 1e-12).contains(&r) {
                return Err(StatsError::OutOfRange { name: "correlation", value: r });
            }
            sum += a * r * b;
        }
    }
    Ok(sum)
}

/// Propagates the standard uncertainties of the inputs through a model, to
/// first order.
///
/// Sensitivities are central differences at ½ and ¼ of each standard
/// uncertainty, joined after Richardson: exact for cubic models, to about
/// (u/x)⁴/64 else. A model that is flat at the estimates gives zero: see
/// [`second_order`].
///
/// # Errors
/// `OutOfRange` for a negative uncertainty or a model that is not finite
/// there; and as [`combined`].
///
/// Source: JCGM 100:2008 (GUM) 5.1.2, 5.1.3 note 2, 5.2.2.
pub fn propagate(
    model: impl Fn(&[f64]) -> f64,
    inputs: &[Input],
    correlations: Option<&[Vec<f64>]>,
) -> Result<Propagated> {
    let at = Around::new(&model, inputs)?;
    let contributions: Vec<f64> = (0..inputs.len())
        .map(|i| {
            let slope = |part: f64| (at.moved(&[(i, part)]) - at.moved(&[(i, -part)])) / (2.0 * part);
            (4.0 * slope(0.25) - slope(0.5)) / 3.0
        })
        .collect();
    if let Some(&value) = contributions.iter().find(|c| !c.is_finite()) {
        return Err(StatsError::OutOfRange { name: "sensitivity", value });
    }
    Ok(Propagated {
        value: at.moved(&[]),
        standard_uncertainty: combined(&contributions, correlations)?,
        contributions,
    })
}

/// Gives the combined standard uncertainty with the next terms of the series,
/// for inputs that do not depend on each other:
/// u_c² = Σ c_i²u_i² + Σ_ij [½ c_ij² + c_i c_ijj] u_i² u_j².
///
/// Derivatives by central differences at half a standard uncertainty.
///
/// # Errors
/// As [`propagate`].
///
/// Source: JCGM 100:2008 (GUM) 5.1.2 note, H.1.7.
pub fn second_order(model: impl Fn(&[f64]) -> f64, inputs: &[Input]) -> Result<f64> {
    const H: f64 = 0.5;
    let first = propagate(&model, inputs, None)?;
    let at = Around::new(&model, inputs)?;
    let middle = at.moved(&[]);
    let mut square = first.standard_uncertainty.powi(2);
    for i in 0..inputs.len() {
        for j in 0..inputs.len() {
            // Of the second difference along j, its slope along i.
            let bend = |shift: f64| {
                at.moved(&[(i, shift), (j, H)]) - 2.0 * at.moved(&[(i, shift)])
                    + at.moved(&[(i, shift), (j, -H)])
            };
            let third = (bend(H) - bend(-H)) / (2.0 * H * H * H);
            let second = if i == j {
                (at.moved(&[(i, H)]) - 2.0 * middle + at.moved(&[(i, -H)])) / (H * H)
            } else {
                let corner = |a: f64, b: f64| at.moved(&[(i, a), (j, b)]);
                (corner(H, H) - corner(H, -H) - corner(-H, H) + corner(-H, -H)) / (4.0 * H * H)
            };
            square += 0.5 * second * second + first.contributions[i] * third;
        }
    }
    Ok(square.max(0.0).sqrt())
}

/// The model with inputs moved by parts of their standard uncertainty.
struct Around<'a, F: Fn(&[f64]) -> f64> {
    model: &'a F,
    inputs: &'a [Input],
}

impl<'a, F: Fn(&[f64]) -> f64> Around<'a, F> {
    fn new(model: &'a F, inputs: &'a [Input]) -> Result<Self> {
        for input in inputs {
            let u = input.standard_uncertainty;
            if !u.is_finite() || u < 0.0 {
                return Err(StatsError::OutOfRange { name: "standard uncertainty", value: u });
            }
        }
        let at = Self { model, inputs };
        let value = at.moved(&[]);
        if value.is_finite() { Ok(at) } else { Err(StatsError::OutOfRange { name: "model", value }) }
    }

    fn moved(&self, by: &[(usize, f64)]) -> f64 {
        let mut values: Vec<f64> = self.inputs.iter().map(|input| input.value).collect();
        for &(i, part) in by {
            values[i] += part * self.inputs[i].standard_uncertainty;
        }
        (self.model)(&values)
    }
}
