//! Analysis of variance: one way, two ways, and the interaction that a table
//! of single values still shows.

use nalgebra::{DMatrix, DVector};

use crate::distribution::f_above;
use crate::error::{Result, StatsError, at_least};
use crate::summary::{mean, scatter_about};

/// One source of variation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// Sum of squares, in the square of the unit.
    pub sum_of_squares: f64,
    /// Degrees of freedom.
    pub degrees_of_freedom: usize,
    /// Mean square over the error's; `NaN` without one.
    pub f: f64,
    /// Probability of a larger ratio by chance; `NaN` without an error.
    pub p: f64,
}

impl Source {
    /// Sum of squares over degrees of freedom.
    #[must_use]
    pub fn mean_square(&self) -> f64 {
        self.sum_of_squares / self.degrees_of_freedom as f64
    }

    fn against(sum_of_squares: f64, degrees_of_freedom: usize, error: f64, error_df: usize) -> Self {
        let f = (sum_of_squares / degrees_of_freedom as f64) / (error / error_df as f64);
        let p = if f.is_nan() { f64::NAN } else { f_above(f, degrees_of_freedom as f64, error_df as f64) };
        Self { sum_of_squares, degrees_of_freedom, f, p }
    }

    fn alone(sum_of_squares: f64, degrees_of_freedom: usize) -> Self {
        Self { sum_of_squares, degrees_of_freedom, f: f64::NAN, p: f64::NAN }
    }
}

/// One-way analysis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneWay {
    /// Between the groups.
    pub between: Source,
    /// Within the groups.
    pub within: Source,
    /// Share of the squares that lies between the groups.
    pub r_squared: f64,
    /// Residual standard deviation.
    pub residual_sd: f64,
}

/// Analyses groups one way, in two passes.
///
/// SS_between = Σ n_i(ȳ_i − ȳ)², SS_within = ΣΣ(y_ij − ȳ_i)².
///
/// # Errors
/// `TooFew` below two groups with values, or where no group has two.
///
/// Source: NIST/SEMATECH e-Handbook 7.4.3; held to NIST StRD SiRstv, AtmWtAg,
/// SmLs01, SmLs04 and SmLs07.
pub fn one_way(groups: &[Vec<f64>]) -> Result<OneWay> {
    let groups: Vec<&Vec<f64>> = groups.iter().filter(|group| !group.is_empty()).collect();
    at_least(groups.len(), 2)?;
    let count: usize = groups.iter().map(|group| group.len()).sum();
    at_least(count, groups.len() + 1)?;
    // Values lie close together far from zero: work from the first of them.
    let origin = groups[0][0];
    let shifted: Vec<Vec<f64>> =
        groups.iter().map(|group| group.iter().map(|y| y - origin).collect()).collect();
    let means: Vec<f64> = shifted.iter().map(|group| mean(group)).collect();
    let grand = shifted.iter().flatten().sum::<f64>() / count as f64;
    let within: f64 = shifted.iter().zip(&means).map(|(group, &mean)| scatter_about(group, mean)).sum();
    let between: f64 =
        shifted.iter().zip(&means).map(|(group, mean)| group.len() as f64 * (mean - grand).powi(2)).sum();
    let (df_between, df_within) = (groups.len() - 1, count - groups.len());
    Ok(OneWay {
        between: Source::against(between, df_between, within, df_within),
        within: Source::alone(within, df_within),
        r_squared: between / (between + within),
        residual_sd: (within / df_within as f64).sqrt(),
    })
}

/// Two-way analysis, type II.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoWay {
    /// The first factor, beside the second.
    pub first: Source,
    /// The second factor, beside the first.
    pub second: Source,
    /// What the cells have beyond both.
    pub interaction: Source,
    /// Within the cells.
    pub error: Source,
}

/// Analyses two factors with interaction, type II: each factor beside the
/// other, both against the additive model; the interaction against the cells.
/// Balanced or not; empty cells are allowed and cost degrees of freedom.
/// Balanced, types I, II and III agree.
///
/// `first` and `second` hold each row's level, counted from 0.
///
/// # Errors
/// `Unequal` for lists of different length, `TooFew` for a single level.
///
/// Source: sums of squares as differences of residual sums of squares of
/// nested models; checked against `statsmodels` `anova_lm(typ=2)`.
pub fn two_way(first: &[usize], second: &[usize], y: &[f64]) -> Result<TwoWay> {
    for other in [second.len(), y.len()] {
        if first.len() != other {
            return Err(StatsError::Unequal { left: first.len(), right: other });
        }
    }
    at_least(y.len(), 2)?;
    let levels = |factor: &[usize]| factor.iter().max().map_or(0, |most| most + 1);
    let (a, b) = (levels(first), levels(second));
    at_least(a.min(b), 2)?;
    let center = mean(y);
    let y = DVector::from_iterator(y.len(), y.iter().map(|y| y - center));
    let left = |rows: &dyn Fn(usize) -> Vec<usize>, columns: usize| {
        let x = DMatrix::from_fn(y.len(), columns, |i, j| f64::from(u8::from(rows(i).contains(&j))));
        left_over(x, &y)
    };
    let (only_first, rank_first) = left(&|i| vec![first[i]], a);
    let (only_second, rank_second) = left(&|i| vec![second[i]], b);
    let (additive, rank_additive) = left(&|i| vec![first[i], a + second[i]], a + b);
    let (cells, rank_cells) = left(&|i| vec![first[i] * b + second[i]], a * b);
    let error_df = y.len() - rank_cells;
    let source = |squares: f64, df: usize| {
        if df == 0 || error_df == 0 {
            Source::alone(squares.max(0.0), df)
        } else {
            Source::against(squares.max(0.0), df, cells, error_df)
        }
    };
    Ok(TwoWay {
        first: source(only_second - additive, rank_additive - rank_second),
        second: source(only_first - additive, rank_additive - rank_first),
        interaction: source(additive - cells, rank_cells - rank_additive),
        error: Source::alone(cells, error_df),
    })
}

/// Residual sum of squares of a model whose columns may depend on each other,
/// and its rank.
fn left_over(x: DMatrix<f64>, y: &DVector<f64>) -> (f64, usize) {
    let decomposed = x.col_piv_qr();
    let (q, r) = (decomposed.q(), decomposed.r());
    let most = r[(0, 0)].abs();
    let rank = (0..r.nrows().min(r.ncols())).filter(|&k| r[(k, k)].abs() > 1e-10 * most).count();
    let mut rest = y.clone();
    // Twice, so that what rounding left of the projection goes, too.
    for _ in 0..2 {
        for k in 0..rank {
            let along = q.column(k).dot(&rest);
            rest.axpy(-along, &q.column(k), 1.0);
        }
    }
    (rest.norm_squared(), rank)
}

/// Tests a table with one value a cell for non-additivity, with one degree of
/// freedom: SS = [ΣΣ y_ij a_i b_j]² / (Σa_i² Σb_j²), a and b the row and
/// column effects, against what is left of the residuals.
///
/// Range: a full table of at least 2 × 3 or 3 × 2.
///
/// # Errors
/// `Unequal` for a ragged table, `TooFew` below that size, `Constant` where
/// rows or columns do not differ.
///
/// Source: Tukey, *Biometrics* 5 (1949) 232.
pub fn nonadditivity(table: &[Vec<f64>]) -> Result<Source> {
    let rows = table.len();
    at_least(rows, 2)?;
    let columns = table[0].len();
    if let Some(row) = table.iter().find(|row| row.len() != columns) {
        return Err(StatsError::Unequal { left: columns, right: row.len() });
    }
    at_least(columns, 2)?;
    at_least((rows - 1) * (columns - 1), 2)?;
    let grand = mean(&table.concat());
    let across: Vec<f64> = table.iter().map(|row| mean(row) - grand).collect();
    let down: Vec<f64> =
        (0..columns).map(|j| mean(&table.iter().map(|row| row[j]).collect::<Vec<_>>()) - grand).collect();
    let size = |effects: &[f64]| effects.iter().map(|e| e * e).sum::<f64>();
    if size(&across) == 0.0 || size(&down) == 0.0 {
        return Err(StatsError::Constant);
    }
    let (mut product, mut residual) = (0.0, 0.0);
    for (row, a) in table.iter().zip(&across) {
        for (y, b) in row.iter().zip(&down) {
            let left = y - grand - a - b;
            product += left * a * b;
            residual += left * left;
        }
    }
    let squares = product * product / (size(&across) * size(&down));
    Ok(Source::against(squares, 1, residual - squares, (rows - 1) * (columns - 1) - 1))
}
