//! Guesses with an interval: a combination that was not run, a part that is
//! only known by its measures.

use crate::distribution::student_factor;
use crate::effects::Additive;
use crate::error::{Result, StatsError};
use crate::regression::fit;

/// A predicted value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Predicted {
    /// The value.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Cells or parts it rests on could show how wrong it tends to be. Where
    /// they could not, the interval holds only if the parts act alone.
    pub tested: bool,
    /// Root mean square error of predicting each known part from the others;
    /// for geometry only.
    pub leave_one_out_rms: Option<f64>,
}

/// Predicts a combination from the additive model: x·β ± t_p(ν) u with
/// u² = xᵀ(XᵀWX)⁻¹x + σ²_own, σ²_own what combinations were found to have of
/// their own beyond the scatter.
///
/// In the unit of the cells. Range: levels that were run, joined by the cells.
///
/// # Errors
/// `Inseparable` where the cells do not determine it, `Unequal` for another
/// number of factors, `TooFew` where there is neither a scatter nor a cell to
/// spare.
///
/// Source: prediction from a linear model, NIST/SEMATECH e-Handbook 4.5.1.
pub fn untested(model: &Additive, levels: &[usize]) -> Result<Predicted> {
    let solved = &model.solved;
    solved.knows(levels)?;
    let (value, variance) = solved.cell(levels).ok_or(StatsError::Inseparable { columns: levels.len() })?;
    if solved.scale.is_infinite() {
        return Err(StatsError::TooFew { have: 0, need: 1 });
    }
    let u = (variance * solved.scale + solved.own_variance.unwrap_or(0.0)).sqrt();
    // What rests on the residuals is known no better than they are many.
    let mut nu = solved.degrees_of_freedom;
    if solved.own_variance.is_some_and(|own| own > variance * solved.scale) {
        nu = nu.min(model.interaction.degrees_of_freedom as f64);
    }
    let half = student_factor(solved.confidence, nu)? * u;
    Ok(Predicted {
        value,
        low: value - half,
        high: value + half,
        tested: solved.own_variance.is_some(),
        leave_one_out_rms: None,
    })
}

/// Parts that a prediction from `measures` measures needs: three for each and
/// three for the constant.
#[must_use]
pub fn basis_needed(measures: usize) -> usize {
    3 * (measures + 1)
}

/// Predicts an unknown part from its measures, by regression on the parts of
/// one's own shelf: value ± t_p(n − p) s (1 + xᵀ(XᵀX)⁻¹x)^½, and at least as
/// wide as the leave-one-out error makes it.
///
/// `known` holds each part's measures and `values` what it did, in any unit
/// throughout; `x` the measures of the new part.
///
/// # Errors
/// `TooFew` below [`basis_needed`]: no basis. `Inseparable` where the known
/// parts vary too little, `OutOfRange` where a measure lies outside the known
/// ones by more than a quarter of their span, `Unequal` for ragged lists.
///
/// Source: NIST/SEMATECH e-Handbook 4.5.1; the minimum number of parts and the
/// reach are common practice, no source.
pub fn from_measures(known: &[Vec<f64>], values: &[f64], x: &[f64], confidence: f64) -> Result<Predicted> {
    let need = basis_needed(x.len());
    if known.len() < need {
        return Err(StatsError::TooFew { have: known.len(), need });
    }
    if let Some(row) = known.iter().find(|row| row.len() != x.len()) {
        return Err(StatsError::Unequal { left: row.len(), right: x.len() });
    }
    for (k, &value) in x.iter().enumerate() {
        let least = known.iter().map(|row| row[k]).fold(f64::INFINITY, f64::min);
        let most = known.iter().map(|row| row[k]).fold(f64::NEG_INFINITY, f64::max);
        let reach = 0.25 * (most - least);
        if !(least - reach..=most + reach).contains(&value) {
            return Err(StatsError::OutOfRange { name: "measure", value });
        }
    }
    let model = fit(known, values, true)?;
    let here = model.at(x)?;
    let (low, high) = model.interval(x, confidence)?;
    let left_out = model.leave_one_out_rms();
    let least = student_factor(confidence, model.degrees_of_freedom as f64)? * left_out;
    Ok(Predicted {
        value: here.value,
        low: low.min(here.value - least),
        high: high.max(here.value + least),
        tested: true,
        leave_one_out_rms: Some(left_out),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::effects::{Cell, additive};

    fn table(skip: usize) -> Vec<Cell> {
        (0..9)
            .filter(|i| *i != skip)
            .map(|i| {
                let wobble = [0.4, -0.3, 0.1, -0.2, 0.5, -0.4, 0.2, 0.3, -0.1][i];
                let value = 100.0 + 10.0 * (i / 3) as f64 + 6.0 * (i % 3) as f64 + wobble;
                Cell { levels: vec![i / 3, i % 3], value, variance: 0.16 }
            })
            .collect()
    }

    #[test]
    fn a_missing_cell_is_predicted_with_its_interval() {
        let model = additive(&table(8), Some(16.0), 0.95).unwrap();
        let said = untested(&model, &[2, 2]).unwrap();
        assert!(said.low < 132.0 && 132.0 < said.high && said.tested);
        assert!(said.high - said.low < 6.0);
        assert!(untested(&model, &[2, 3]).is_err());
    }

    #[test]
    fn too_few_parts_are_no_basis() {
        let known: Vec<Vec<f64>> = (0..5).map(|i| vec![f64::from(i)]).collect();
        let values = [1.0, 2.0, 3.0, 4.0, 5.0];
        let refused = from_measures(&known, &values, &[2.0], 0.95);
        assert_eq!(refused, Err(StatsError::TooFew { have: 5, need: 6 }));
    }

    #[test]
    fn far_outside_the_known_parts_is_refused() {
        let known: Vec<Vec<f64>> = (0..8).map(|i| vec![f64::from(i)]).collect();
        let values = [1.1, 1.9, 3.2, 3.8, 5.1, 6.0, 6.9, 8.1];
        assert!(from_measures(&known, &values, &[20.0], 0.95).is_err());
        let said = from_measures(&known, &values, &[3.5], 0.95).unwrap();
        assert!(said.low < 4.5 && 4.5 < said.high);
    }
}
