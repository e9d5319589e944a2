//! The two multipliers of a standard uncertainty: Student's for one difference
//! seen alone, the studentized range's for every pair at once.

use crate::distribution::student_factor;
use crate::error::Result;
use crate::studentized_range::StudentizedRange;
use std::cell::RefCell;
use std::collections::HashMap;

/// Nodes of the interpolation in 1/ν.
const RUNGS: usize = 12;

/// Multipliers of one group, for the degrees of freedom of its scatter and
/// for the higher ones of differences with a type B share.
#[derive(Debug, Clone)]
pub(crate) struct Limits {
    confidence: f64,
    nu: f64,
    student: f64,
    /// q/√2 at ν.
    all_pairs: f64,
    /// (1/ν, ln(q/√2)) at Chebyshev's nodes from 1/ν down to 0.
    rungs: Vec<(f64, f64)>,
    range: StudentizedRange,
    /// q/√2 by the bits of ν: planning asks for the same few over and over, once for every pair.
    exact: RefCell<HashMap<u64, f64>>,
}

impl Limits {
    /// `means` are the assemblies and the baseline; `mixed` where some
    /// difference has a type B share.
    pub(crate) fn new(means: usize, confidence: f64, nu: f64, mixed: bool) -> Result<Self> {
        let range = StudentizedRange::new(means.max(2))?;
        let factor = |nu: f64| -> Result<f64> {
            Ok(range.quantile(confidence, nu)? * std::f64::consts::FRAC_1_SQRT_2)
        };
        let mut rungs = Vec::new();
        if mixed && nu.is_finite() {
            for i in 0..RUNGS {
                let angle = std::f64::consts::PI * (i as f64 + 0.5) / RUNGS as f64;
                let inverse = 0.5 * (1.0 - libm::cos(angle)) / nu;
                rungs.push((inverse, libm::log(factor(1.0 / inverse)?)));
            }
        }
        Ok(Self {
            confidence,
            nu,
            student: student_factor(confidence, nu)?,
            all_pairs: factor(nu)?,
            rungs,
            range,
            exact: RefCell::default(),
        })
    }

    pub(crate) fn student(&self, nu: f64) -> f64 {
        if nu <= self.nu { self.student } else { student_factor(self.confidence, nu).unwrap_or(self.student) }
    }

    /// q/√2.
    pub(crate) fn all_pairs(&self, nu: f64) -> f64 {
        if nu <= self.nu || self.rungs.is_empty() {
            return self.all_pairs;
        }
        let x = 1.0 / nu;
        // Barycentric form; the weights of Chebyshev's nodes are alternating sines.
        let (mut top, mut bottom) = (0.0, 0.0);
        for (i, (at, value)) in self.rungs.iter().enumerate() {
            if x == *at {
                return libm::exp(*value);
            }
            let angle = std::f64::consts::PI * (i as f64 + 0.5) / RUNGS as f64;
            let sign = if i % 2 == 0 { 1.0 } else { -1.0 };
            let weight = sign * libm::sin(angle) / (x - at);
            top += weight * value;
            bottom += weight;
        }
        libm::exp(top / bottom)
    }

    /// q/√2 at other degrees of freedom, exactly.
    pub(crate) fn all_pairs_exactly(&self, nu: f64) -> f64 {
        *self.exact.borrow_mut().entry(nu.to_bits()).or_insert_with(|| {
            self.range
                .quantile(self.confidence, nu)
                .map_or(self.all_pairs, |q| q * std::f64::consts::FRAC_1_SQRT_2)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ladder_meets_the_quantile_between_its_rungs() {
        for (means, from) in [(9, 1.0), (9, 16.0), (171, 2.0)] {
            let limits = Limits::new(means, 0.95, from, true).unwrap();
            for nu in [from * 1.01, from * 1.7, from * 6.0, from * 500.0, f64::INFINITY] {
                let (near, exact) = (limits.all_pairs(nu), limits.all_pairs_exactly(nu));
                assert!((near / exact - 1.0).abs() < 1e-4, "{means} {from} {nu}: {near} {exact}");
            }
        }
    }
}
