//! Scoring of blind predictions: mean error, coverage, order.

use crate::agreement::{Agreement, kendall};
use crate::error::{Result, at_least};

/// One prediction beside what was measured, in one unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// What was predicted.
    pub predicted: f64,
    /// The interval that went with it.
    pub interval: Option<(f64, f64)>,
    /// What was measured.
    pub measured: f64,
}

/// How well somebody predicts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Score {
    /// Predictions scored.
    pub count: usize,
    /// Mean of predicted less measured: which way it leans.
    pub mean_error: f64,
    /// Mean size of the error.
    pub mean_absolute_error: f64,
    /// Share of the stated intervals that held the measured value.
    pub coverage: Option<f64>,
    /// How many stated an interval.
    pub with_interval: usize,
    /// Agreement of the predicted with the measured order; `None` for a single
    /// prediction or where all are equal.
    pub order: Option<Agreement>,
}

/// Scores predictions: mean error Σ(p − m)/n, mean absolute error, share of
/// intervals that held m (ends included), Kendall's tau-b of the orders.
///
/// # Errors
/// `TooFew` for an empty list.
///
/// Source: definitions; tau-b see [`kendall`].
pub fn score(predictions: &[Prediction]) -> Result<Score> {
    at_least(predictions.len(), 1)?;
    let n = predictions.len() as f64;
    let errors = predictions.iter().map(|p| p.predicted - p.measured);
    let held: Vec<bool> = predictions
        .iter()
        .filter_map(|p| p.interval.map(|(low, high)| low <= p.measured && p.measured <= high))
        .collect();
    let predicted: Vec<f64> = predictions.iter().map(|p| p.predicted).collect();
    let measured: Vec<f64> = predictions.iter().map(|p| p.measured).collect();
    Ok(Score {
        count: predictions.len(),
        mean_error: errors.clone().sum::<f64>() / n,
        mean_absolute_error: errors.map(f64::abs).sum::<f64>() / n,
        coverage: (!held.is_empty()).then(|| held.iter().filter(|h| **h).count() as f64 / held.len() as f64),
        with_interval: held.len(),
        order: kendall(&predicted, &measured).ok(),
    })
}
