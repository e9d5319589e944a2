//! Lid × filter × base: what each does on its own, as far as the cells that
//! were run can tell.
//!
//! value = μ + a_lid + b_filter + c_base + ε. Additive in `k`, not in flow:
//! restrictions in series add up, losses in flow do not. Only what the rows
//! determine is given; the rest is named, with the run that would help most.

use nalgebra::{DMatrix, DVector};

use crate::anova::{Source, nonadditivity};
use crate::distribution::{f_above, student_factor};
use crate::error::{Result, StatsError, at_least, positive, probability};

/// Most cells that a table may have, empty ones included.
const MOST_CELLS: usize = 2000;

/// One cell that was run: a level of each factor, and what was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// The level of each factor, from 0.
    pub levels: Vec<usize>,
    /// What was found, `k` in Pa·s²/m⁶ (or any additive quantity).
    pub value: f64,
    /// Its variance, without the share that all cells have in common (their
    /// baseline). Where no scatter is known, 1 throughout.
    pub variance: f64,
}

/// The difference between two levels of one factor, all else the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contrast {
    /// Which factor.
    pub factor: usize,
    /// The level that counts positive.
    pub of: usize,
    /// The level it is held against.
    pub less: usize,
    /// The difference, in the unit of the values.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// Whether the parts act alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Interaction {
    /// Cells beyond what the additive model uses up.
    pub degrees_of_freedom: usize,
    /// Mean square left over the scatter's; `None` where either is unknown.
    pub f: Option<f64>,
    /// Probability of a larger ratio by chance.
    pub p: Option<f64>,
    /// Tukey's one degree of freedom, for a full table of two factors.
    pub tukey: Option<Source>,
    /// One of the tests says that parts do not act alone.
    pub flagged: bool,
    /// The cell furthest from the additive model, by its number in the list.
    pub furthest: Option<usize>,
}

/// A combination that was not run.
#[derive(Debug, Clone, PartialEq)]
pub struct EmptyCell {
    /// The level of each factor.
    pub levels: Vec<usize>,
    /// The additive model's value, where the cells determine it.
    pub predicted: Option<f64>,
}

/// The run that would tell most.
#[derive(Debug, Clone, PartialEq)]
pub struct NextRun {
    /// The level of each factor.
    pub levels: Vec<usize>,
    /// Empty cells that it makes predictable, itself included; 0 where all are
    /// predictable already and it only sharpens them.
    pub opens: usize,
}

/// The additive model of a table.
#[derive(Debug, Clone)]
pub struct Additive {
    /// Differences between levels that the cells determine.
    pub contrasts: Vec<Contrast>,
    /// Pairs of levels that they do not: (factor, level, level).
    pub undetermined: Vec<(usize, usize, usize)>,
    /// Whether the parts act alone.
    pub interaction: Interaction,
    /// Combinations of levels seen that were not run.
    pub empty: Vec<EmptyCell>,
    /// The run that would tell most.
    pub next: Option<NextRun>,
    pub(crate) solved: Solved,
}

/// The solved model; `inverse` is the least one of XᵀWX.
#[derive(Debug, Clone)]
pub(crate) struct Solved {
    offsets: Vec<usize>,
    seen: Vec<Vec<bool>>,
    beta: DVector<f64>,
    inverse: DMatrix<f64>,
    /// Projector onto what the rows leave open.
    open: DMatrix<f64>,
    pub(crate) scale: f64,
    pub(crate) degrees_of_freedom: f64,
    pub(crate) confidence: f64,
    pub(crate) typical_variance: f64,
    /// Variance of what combinations have of their own; `None` where no cell
    /// was left to show it.
    pub(crate) own_variance: Option<f64>,
}

impl Solved {
    fn row(&self, levels: &[usize]) -> DVector<f64> {
        let mut row = DVector::zeros(self.beta.len());
        row[0] = 1.0;
        for (offset, level) in self.offsets.iter().zip(levels) {
            row[offset + level] = 1.0;
        }
        row
    }

    pub(crate) fn knows(&self, levels: &[usize]) -> Result<()> {
        if levels.len() != self.offsets.len() {
            return Err(StatsError::Unequal { left: levels.len(), right: self.offsets.len() });
        }
        let seen = levels.iter().zip(&self.seen).all(|(&level, seen)| seen.get(level) == Some(&true));
        if seen { Ok(()) } else { Err(StatsError::Inseparable { columns: self.beta.len() }) }
    }

    fn determined(&self, row: &DVector<f64>) -> bool {
        (&self.open * row).norm() < 1e-8
    }

    /// Value and variance (before scaling) of a row, where determined.
    fn of(&self, row: &DVector<f64>) -> Option<(f64, f64)> {
        self.determined(row)
            .then(|| (row.dot(&self.beta), (row.transpose() * &self.inverse * row)[(0, 0)].max(0.0)))
    }

    pub(crate) fn cell(&self, levels: &[usize]) -> Option<(f64, f64)> {
        self.of(&self.row(levels))
    }
}

/// Fits the additive model to the cells that were run.
///
/// Weighted least squares by singular values; a difference c is given where
/// c lies in the row space of the table. Intervals are t_p(ν)·u.
///
/// Interaction: F = [Σ r²/σ²/(n − rank)] against the scatter of the cells
/// with `degrees_of_freedom`; for a full table of two factors also Tukey's one
/// degree of freedom. Flagged where p < 1 − confidence; uncertainties then
/// come from the residuals, F times as large a variance with n − rank degrees
/// of freedom. Without a scatter (`None`) they always do.
///
/// Next run: the empty cell that makes most empty cells predictable; where all
/// are, the one that lowers the sum of their variances most.
///
/// Range: one cell a combination (fittings averaged before), at most 2000
/// combinations.
///
/// # Errors
/// `Unequal` for cells with another number of levels, `OutOfRange` for a
/// variance or confidence outside its range or too large a table, `TooFew`
/// below two cells.
///
/// Source: NIST/SEMATECH e-Handbook 7.4.3.7 for the two-way model; Searle,
/// *Linear Models*, for estimability (both from memory).
pub fn additive(cells: &[Cell], degrees_of_freedom: Option<f64>, confidence: f64) -> Result<Additive> {
    at_least(cells.len(), 2)?;
    probability("confidence", confidence)?;
    let factors = cells[0].levels.len();
    at_least(factors, 1)?;
    for cell in cells {
        if cell.levels.len() != factors {
            return Err(StatsError::Unequal { left: cell.levels.len(), right: factors });
        }
        positive("variance", cell.variance)?;
    }
    let counts: Vec<usize> =
        (0..factors).map(|f| 1 + cells.iter().map(|c| c.levels[f]).max().unwrap_or(0)).collect();
    let combinations = counts.iter().try_fold(1_usize, |all, n| all.checked_mul(*n));
    if combinations.is_none_or(|all| all > MOST_CELLS) {
        return Err(StatsError::OutOfRange {
            name: "cells",
            value: combinations.map_or(f64::INFINITY, |n| n as f64),
        });
    }
    let (mut solved, residuals, rank) = solve(cells, &counts, confidence);
    let interaction = judge(cells, &counts, &residuals, rank, degrees_of_freedom, confidence);
    settle(&mut solved, &interaction, &residuals, degrees_of_freedom);

    let (contrasts, undetermined) = contrasts(&solved)?;
    let missing: Vec<Vec<usize>> = combinations_of(&solved.seen)
        .into_iter()
        .filter(|levels| cells.iter().all(|cell| cell.levels != *levels))
        .collect();
    let next = next_run(&solved, &missing);
    let empty = missing
        .into_iter()
        .map(|levels| EmptyCell { predicted: solved.cell(&levels).map(|(value, _)| value), levels })
        .collect();
    Ok(Additive { contrasts, undetermined, interaction, empty, next, solved })
}

fn solve(cells: &[Cell], counts: &[usize], confidence: f64) -> (Solved, Vec<f64>, usize) {
    let mut offsets = Vec::new();
    let mut columns = 1;
    for count in counts {
        offsets.push(columns);
        columns += count;
    }
    let mut solved = Solved {
        offsets,
        seen: counts.iter().map(|n| vec![false; *n]).collect(),
        beta: DVector::zeros(columns),
        inverse: DMatrix::zeros(columns, columns),
        open: DMatrix::identity(columns, columns),
        scale: 1.0,
        degrees_of_freedom: f64::INFINITY,
        confidence,
        typical_variance: cells.iter().map(|c| c.variance).sum::<f64>() / cells.len() as f64,
        own_variance: None,
    };
    for cell in cells {
        for (seen, level) in solved.seen.iter_mut().zip(&cell.levels) {
            seen[*level] = true;
        }
    }
    // Weights relative to the typical cell, for singular values of one size.
    let root: Vec<f64> = cells.iter().map(|c| (c.variance / solved.typical_variance).sqrt()).collect();
    let rows: Vec<DVector<f64>> = cells.iter().map(|cell| solved.row(&cell.levels)).collect();
    let height = cells.len().max(columns);
    let x =
        DMatrix::from_fn(height, columns, |i, j| if i < cells.len() { rows[i][j] / root[i] } else { 0.0 });
    let y = DVector::from_fn(height, |i, _| if i < cells.len() { cells[i].value / root[i] } else { 0.0 });
    let decomposed = x.svd(true, true);
    let (u, v_t) =
        (decomposed.u.as_ref().expect("asked for above"), decomposed.v_t.as_ref().expect("asked for above"));
    let most = decomposed.singular_values.max();
    let mut rank = 0;
    for (k, &size) in decomposed.singular_values.iter().enumerate() {
        if size > 1e-9 * most {
            let v = v_t.row(k).transpose();
            solved.beta += &v * (u.column(k).dot(&y) / size);
            solved.inverse += &v * v.transpose() * (solved.typical_variance / (size * size));
            solved.open -= &v * v.transpose();
            rank += 1;
        }
    }
    let residuals = cells
        .iter()
        .zip(&rows)
        .map(|(cell, row)| (cell.value - row.dot(&solved.beta)) / cell.variance.sqrt())
        .collect();
    (solved, residuals, rank)
}

fn judge(
    cells: &[Cell],
    counts: &[usize],
    residuals: &[f64],
    rank: usize,
    nu: Option<f64>,
    confidence: f64,
) -> Interaction {
    let free = cells.len() - rank;
    let ratio = (free > 0).then(|| residuals.iter().map(|r| r * r).sum::<f64>() / free as f64);
    let f = ratio.filter(|_| nu.is_some());
    let p = f.zip(nu).map(|(f, nu)| f_above(f, free as f64, nu));
    let tukey = full_table(cells, counts).and_then(|table| nonadditivity(&table).ok());
    let surprising = |p: f64| p < 1.0 - confidence;
    let furthest = (free > 0)
        .then(|| (0..cells.len()).max_by(|&i, &j| residuals[i].abs().total_cmp(&residuals[j].abs())))
        .flatten();
    Interaction {
        degrees_of_freedom: free,
        f,
        p,
        flagged: p.is_some_and(surprising) || tukey.is_some_and(|t| surprising(t.p)),
        tukey,
        furthest,
    }
}

/// The table of two factors, where every cell was run once.
fn full_table(cells: &[Cell], counts: &[usize]) -> Option<Vec<Vec<f64>>> {
    let &[rows, columns] = counts else { return None };
    if cells.len() != rows * columns {
        return None;
    }
    let at = |i: usize, j: usize| cells.iter().find(|c| c.levels == [i, j]).map(|c| c.value);
    (0..rows).map(|i| (0..columns).map(|j| at(i, j)).collect()).collect()
}

fn settle(solved: &mut Solved, interaction: &Interaction, residuals: &[f64], nu: Option<f64>) {
    let free = interaction.degrees_of_freedom;
    let ratio = residuals.iter().map(|r| r * r).sum::<f64>() / (free as f64);
    match nu {
        // The cells' own scatter holds, unless they contradict additivity.
        Some(nu) if free == 0 || !interaction.flagged || ratio <= 1.0 => solved.degrees_of_freedom = nu,
        _ if free > 0 => (solved.scale, solved.degrees_of_freedom) = (ratio, free as f64),
        // Neither a scatter nor a cell to spare: no interval.
        _ => (solved.scale, solved.degrees_of_freedom) = (f64::INFINITY, 1.0),
    }
    if free > 0 {
        let beyond = if nu.is_some() { (ratio - 1.0).max(0.0) } else { ratio };
        solved.own_variance = Some(beyond * solved.typical_variance);
    }
}

type Contrasts = (Vec<Contrast>, Vec<(usize, usize, usize)>);

fn contrasts(solved: &Solved) -> Result<Contrasts> {
    let factor_t = student_factor(solved.confidence, solved.degrees_of_freedom)?;
    let (mut found, mut undetermined) = (Vec::new(), Vec::new());
    for (factor, seen) in solved.seen.iter().enumerate() {
        let levels: Vec<usize> = (0..seen.len()).filter(|&l| seen[l]).collect();
        for (at, &less) in levels.iter().enumerate() {
            for &of in &levels[at + 1..] {
                let mut c = DVector::zeros(solved.beta.len());
                c[solved.offsets[factor] + of] = 1.0;
                c[solved.offsets[factor] + less] = -1.0;
                let Some((value, variance)) = solved.of(&c) else {
                    undetermined.push((factor, less, of));
                    continue;
                };
                let u = (variance * solved.scale).sqrt();
                let half = factor_t * u;
                found.push(Contrast {
                    factor,
                    of,
                    less,
                    value,
                    standard_uncertainty: u,
                    low: value - half,
                    high: value + half,
                });
            }
        }
    }
    Ok((found, undetermined))
}

/// All combinations of the levels seen.
fn combinations_of(seen: &[Vec<bool>]) -> Vec<Vec<usize>> {
    let mut all = vec![Vec::new()];
    for factor in seen {
        let levels: Vec<usize> = (0..factor.len()).filter(|&l| factor[l]).collect();
        all = all
            .iter()
            .flat_map(|head: &Vec<usize>| {
                levels.iter().map(move |&level| {
                    let mut longer = head.clone();
                    longer.push(level);
                    longer
                })
            })
            .collect();
    }
    all
}

fn next_run(solved: &Solved, missing: &[Vec<usize>]) -> Option<NextRun> {
    let rows: Vec<DVector<f64>> = missing.iter().map(|levels| solved.row(levels)).collect();
    let open: Vec<DVector<f64>> = rows.iter().map(|row| &solved.open * row).collect();
    let closed: Vec<usize> = (0..rows.len()).filter(|&i| open[i].norm() >= 1e-8).collect();
    if closed.is_empty() {
        let sharpens = |i: usize| {
            let lever = &solved.inverse * &rows[i];
            let own = solved.typical_variance + rows[i].dot(&lever);
            rows.iter().map(|row| row.dot(&lever).powi(2)).sum::<f64>() / own
        };
        let best = (0..rows.len())
            .map(|i| (i, sharpens(i)))
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))?;
        return Some(NextRun { levels: missing[best.0].clone(), opens: 0 });
    }
    // A run takes one direction out of what is open; the cells whose open
    // part lies along it become predictable.
    let opens = |i: usize| {
        let along = open[i].normalize();
        closed.iter().filter(|&&j| (&open[j] - &along * along.dot(&open[j])).norm() < 1e-8).count()
    };
    let best = closed.iter().map(|&i| (i, opens(i))).max_by(|a, b| a.1.cmp(&b.1).then(b.0.cmp(&a.0)))?;
    Some(NextRun { levels: missing[best.0].clone(), opens: best.1 })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(levels: &[usize], value: f64) -> Cell {
        Cell { levels: levels.to_vec(), value, variance: 1.0 }
    }

    #[test]
    fn an_additive_table_is_found_again() {
        // Three lids, three filters, two bases, five of eighteen cells missing.
        let truth = |l: &[usize]| 100.0 + [0.0, 5.0, 9.0][l[0]] + [0.0, 20.0, 31.0][l[1]] + [0.0, -7.0][l[2]];
        let all = combinations_of(&[vec![true; 3], vec![true; 3], vec![true; 2]]);
        let cells: Vec<Cell> = all.iter().skip(5).map(|l| cell(l, truth(l))).collect();
        let said = additive(&cells, Some(10.0), 0.95).unwrap();
        assert!(said.undetermined.is_empty() && !said.interaction.flagged);
        assert_eq!(said.empty.len(), 5);
        for empty in &said.empty {
            assert!((empty.predicted.unwrap() - truth(&empty.levels)).abs() < 1e-9);
        }
        let lids = said.contrasts.iter().find(|c| (c.factor, c.of, c.less) == (0, 2, 0)).unwrap();
        assert!((lids.value - 9.0).abs() < 1e-9 && lids.low < 9.0 && lids.high > 9.0);
    }

    #[test]
    fn what_the_cells_do_not_join_is_not_given() {
        // Two islands: lid 0 on filter 0, lid 1 on filter 1.
        let cells = [cell(&[0, 0], 10.0), cell(&[1, 1], 14.0)];
        let said = additive(&cells, Some(8.0), 0.95).unwrap();
        assert!(said.contrasts.is_empty());
        assert_eq!(said.undetermined, [(0, 0, 1), (1, 0, 1)]);
        assert!(said.empty.iter().all(|empty| empty.predicted.is_none()));
        // Either swap joins them, and then the other is known as well.
        assert_eq!(said.next.unwrap().opens, 2);
    }

    #[test]
    fn a_pair_that_does_not_act_alone_is_flagged() {
        let mut cells: Vec<Cell> = (0..3)
            .flat_map(|i| (0..3).map(move |j| (i, j)))
            .map(|(i, j)| cell(&[i, j], 100.0 + 10.0 * i as f64 + 7.0 * j as f64))
            .collect();
        assert!(!additive(&cells, Some(12.0), 0.95).unwrap().interaction.flagged);
        cells[4].value += 25.0;
        let said = additive(&cells, Some(12.0), 0.95).unwrap();
        assert!(said.interaction.flagged);
        assert_eq!(said.interaction.furthest, Some(4));
    }
}
