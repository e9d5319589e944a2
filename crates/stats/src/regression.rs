//! Linear least squares by QR.

use nalgebra::{DMatrix, DVector};

use crate::distribution::{f_above, student_factor};
use crate::error::{Result, StatsError, at_least};
use crate::summary::{mean, scatter_about};

/// A fitted linear model.
#[derive(Debug, Clone)]
pub struct Fit {
    /// Coefficients; the constant first, where there is one.
    pub coefficients: Vec<f64>,
    /// Their standard errors; zero for an exact fit.
    pub standard_errors: Vec<f64>,
    /// Residual standard deviation, √(SS_res/(n − p)).
    pub residual_sd: f64,
    /// n − p.
    pub degrees_of_freedom: usize,
    /// Share of the squares that the model explains: about the mean with a
    /// constant, about zero without one.
    pub r_squared: f64,
    /// Sum of squares of the model, about the mean or zero as above.
    pub ss_model: f64,
    /// Sum of squares of the residuals.
    pub ss_residual: f64,
    /// Ratio of the mean squares.
    pub f: f64,
    /// Probability of a larger ratio by chance.
    pub p: f64,
    /// What each row leaves.
    pub residuals: Vec<f64>,
    /// Weight of each row in its own fitted value, 0 to 1.
    pub leverages: Vec<f64>,
    /// (XᵀX)⁻¹.
    inverse: DMatrix<f64>,
    constant: bool,
}

/// A value of the fitted line with its uncertainties.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnLine {
    /// The value.
    pub value: f64,
    /// Standard uncertainty of the line there; covariances included.
    pub standard_uncertainty: f64,
    /// Standard uncertainty of one more reading there.
    pub of_a_reading: f64,
}

impl Fit {
    /// Gives the line at `x` (without the constant's one):
    /// u² = xᵀ(XᵀX)⁻¹x s², and + s² for one more reading.
    ///
    /// # Errors
    /// `Unequal` for another number of columns than was fitted.
    ///
    /// Source: JCGM 100:2008 (GUM) H.3.4; NIST/SEMATECH e-Handbook 4.1.
    pub fn at(&self, x: &[f64]) -> Result<OnLine> {
        let mut row = Vec::with_capacity(x.len() + 1);
        if self.constant {
            row.push(1.0);
        }
        row.extend_from_slice(x);
        if row.len() != self.coefficients.len() {
            return Err(StatsError::Unequal { left: row.len(), right: self.coefficients.len() });
        }
        let value = row.iter().zip(&self.coefficients).map(|(x, b)| x * b).sum();
        let row = DVector::from_vec(row);
        let share = (row.transpose() * &self.inverse * &row)[(0, 0)].max(0.0);
        Ok(OnLine {
            value,
            standard_uncertainty: self.residual_sd * share.sqrt(),
            of_a_reading: self.residual_sd * (1.0 + share).sqrt(),
        })
    }

    /// Gives the correlation of two coefficients.
    #[must_use]
    pub fn correlation(&self, i: usize, j: usize) -> f64 {
        self.inverse[(i, j)] / (self.inverse[(i, i)] * self.inverse[(j, j)]).sqrt()
    }

    /// Gives the interval of one more reading at `x`, `t_p(n − p)` wide.
    ///
    /// # Errors
    /// `TooFew` where no degree of freedom is left; and as [`Fit::at`].
    pub fn interval(&self, x: &[f64], confidence: f64) -> Result<(f64, f64)> {
        at_least(self.degrees_of_freedom, 1)?;
        let here = self.at(x)?;
        let half = student_factor(confidence, self.degrees_of_freedom as f64)? * here.of_a_reading;
        Ok((here.value - half, here.value + half))
    }

    /// Gives the root mean square error of predicting each row from all the
    /// others: e_i/(1 − h_i). Infinite where a row stands alone.
    ///
    /// Source: the PRESS statistic, textbook, from memory.
    #[must_use]
    pub fn leave_one_out_rms(&self) -> f64 {
        let n = self.residuals.len() as f64;
        let sum: f64 = self
            .residuals
            .iter()
            .zip(&self.leverages)
            .map(|(e, h)| if 1.0 - h < 1e-9 { f64::INFINITY } else { (e / (1.0 - h)).powi(2) })
            .sum();
        (sum / n).sqrt()
    }
}

/// Fits y = Xβ by Householder's QR, columns scaled to one size, with one step
/// of refinement on the residuals.
///
/// `rows` without the constant; with `constant` a column of ones goes first.
/// Range: n ≥ p, columns that can be told apart.
///
/// # Errors
/// `Unequal` for ragged rows, `TooFew` for fewer rows than columns,
/// `Inseparable` for columns that depend on each other.
///
/// Source: NIST/SEMATECH e-Handbook 4.1 and 4.4; held to NIST StRD (Longley,
/// Wampler, Norris, NoInt).
///
/// ```
/// let rows: Vec<Vec<f64>> = (0..5).map(|x| vec![f64::from(x)]).collect();
/// let fit = airshelf_stats::regression::fit(&rows, &[1.0, 3.0, 5.0, 7.0, 9.0], true).unwrap();
/// assert!((fit.coefficients[1] - 2.0).abs() < 1e-12);
/// ```
pub fn fit(rows: &[Vec<f64>], y: &[f64], constant: bool) -> Result<Fit> {
    if rows.len() != y.len() {
        return Err(StatsError::Unequal { left: rows.len(), right: y.len() });
    }
    at_least(rows.len(), 1)?;
    let own = rows[0].len();
    if let Some(row) = rows.iter().find(|row| row.len() != own) {
        return Err(StatsError::Unequal { left: own, right: row.len() });
    }
    let shift = usize::from(constant);
    let columns = own + shift;
    at_least(columns, 1)?;
    at_least(rows.len(), columns)?;
    let x = DMatrix::from_fn(rows.len(), columns, |i, j| if j < shift { 1.0 } else { rows[i][j - shift] });
    let scales: Vec<f64> = (0..columns).map(|j| x.column(j).norm()).collect();
    if scales.iter().any(|s| !s.is_finite() || *s == 0.0) {
        return Err(StatsError::Inseparable { columns });
    }
    let scaled = DMatrix::from_fn(rows.len(), columns, |i, j| x[(i, j)] / scales[j]);
    let decomposed = scaled.qr();
    let (q, r) = (decomposed.q(), decomposed.r());
    if (0..columns).any(|k| r[(k, k)].abs() < 1e-13) {
        return Err(StatsError::Inseparable { columns });
    }
    let r_inverse = r.try_inverse().ok_or(StatsError::Inseparable { columns })?;
    let solve = |y: &DVector<f64>| {
        let mut beta = &r_inverse * (q.transpose() * y);
        for (beta, scale) in beta.iter_mut().zip(&scales) {
            *beta /= scale;
        }
        beta
    };
    let measured = DVector::from_column_slice(y);
    let mut beta = solve(&measured);
    beta += solve(&(&measured - &x * &beta));
    let residuals = &measured - &x * &beta;
    let inverse = DMatrix::from_fn(columns, columns, |i, j| {
        let dot: f64 = (0..columns).map(|k| r_inverse[(i, k)] * r_inverse[(j, k)]).sum();
        dot / (scales[i] * scales[j])
    });
    let leverages = (0..rows.len()).map(|i| q.row(i).norm_squared()).collect();
    Ok(finish(beta, residuals, y, inverse, leverages, constant))
}

fn finish(
    beta: DVector<f64>,
    residuals: DVector<f64>,
    y: &[f64],
    inverse: DMatrix<f64>,
    leverages: Vec<f64>,
    constant: bool,
) -> Fit {
    let degrees_of_freedom = y.len() - beta.len();
    let ss_residual = residuals.norm_squared();
    let ss_total = if constant { scatter_about(y, mean(y)) } else { y.iter().map(|y| y * y).sum() };
    let ss_model = (ss_total - ss_residual).max(0.0);
    let residual_sd =
        if degrees_of_freedom > 0 { (ss_residual / degrees_of_freedom as f64).sqrt() } else { 0.0 };
    let model_df = (beta.len() - usize::from(constant)) as f64;
    let f = (ss_model / model_df) / (residual_sd * residual_sd);
    Fit {
        standard_errors: (0..beta.len()).map(|i| residual_sd * inverse[(i, i)].sqrt()).collect(),
        coefficients: beta.iter().copied().collect(),
        residual_sd,
        degrees_of_freedom,
        r_squared: if ss_total > 0.0 { 1.0 - ss_residual / ss_total } else { f64::NAN },
        ss_model,
        ss_residual,
        f,
        p: if f.is_finite() { f_above(f, model_df, degrees_of_freedom as f64) } else { 0.0 },
        residuals: residuals.iter().copied().collect(),
        leverages,
        inverse,
        constant,
    }
}
