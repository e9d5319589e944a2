//! One difference: what it is, what the bench can see, and what is said.

use super::fit::Side;
use super::fitting::Subject;
use super::{Bench, Comparison};
use crate::plan::{Further, Standing, chance_after};

/// What the bench can say of two sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// `a` flows more.
    AMore,
    /// `b` flows more.
    BMore,
    /// Within what the bench cannot see.
    NotResolved,
    /// The same within the stated don't-care difference.
    Equivalent,
}

/// A difference between two sides of a group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// The side whose flow stands above the line.
    pub a: Subject,
    /// The side it is held against.
    pub b: Subject,
    /// ln(Q_a/Q_b) at the set pressure, drift taken off.
    pub ln_difference: f64,
    /// Its standard uncertainty, where the scatter is known.
    pub standard_uncertainty: Option<f64>,
    /// Effective degrees of freedom of that; 0 where unknown.
    pub degrees_of_freedom: f64,
    /// 100 (Q_a/Q_b − 1).
    pub difference_percent: f64,
    /// The Tukey-Kramer limits that decide the verdict, percent.
    pub limits_percent: Option<(f64, f64)>,
    /// The smallest difference that this many fittings could have shown.
    pub resolvable_percent: Option<f64>,
    /// `None` without a scatter: then the break-even says what it would take.
    pub verdict: Option<Verdict>,
    /// Resolved, and yet smaller than the don't-care difference for sure.
    pub smaller_than_dont_care: bool,
    /// The two are at most so far apart, percent.
    pub at_most_percent: Option<f64>,
    /// The difference is real only if one fitting repeats to better than this,
    /// percent. Zero for no difference, or where type B alone exceeds it.
    pub break_even_scatter_percent: f64,
}

/// A difference with its uncertainty split into what repeats show and what
/// they do not.
#[derive(Debug, Clone, Copy)]
pub(super) struct Difference {
    pub(super) d: f64,
    pub(super) u: f64,
    pub(super) nu: f64,
    pub(super) type_b: f64,
    /// G_ii + G_jj − 2 G_ij.
    pub(super) share: f64,
}

pub(super) fn percent(ln_difference: f64) -> f64 {
    100.0 * libm::expm1(ln_difference)
}

impl Bench {
    /// d = α_i − α_j, u² = s̃²(G_ii + G_jj − 2G_ij) + Σ u_B², degrees of
    /// freedom by Welch and Satterthwaite.
    pub(super) fn difference(&self, i: &Side, j: &Side) -> Difference {
        let drift = self.fit.drift_share(i, j);
        let mut type_b = 0.0;
        // What the exponent may do to one side and not to the other.
        type_b += ((i.ln_ratio - j.ln_ratio) * (self.exponent_high - 0.5)).powi(2) / 12.0;
        if i.range.is_none() || i.range != j.range {
            type_b += i.range_factor.powi(2) + j.range_factor.powi(2);
        }
        type_b += i.part_to_meter.powi(2) + j.part_to_meter.powi(2);
        if self.bow_counts {
            type_b += (self.curvature * (i.bow - j.bow)).powi(2);
        }
        let s2 = self.scatter.map_or(0.0, |s| s * s);
        let (mut type_a, mut coarse) = (0.0, 0.0);
        for side in [i, j] {
            let n = side.fittings as f64;
            let step = self.step_m3_s.map_or(0.0, |step| step / libm::exp(side.alpha));
            let floor = step * step / 12.0;
            if self.scatter.is_some_and(|s| s < 0.3 * step) && floor > s2 / n {
                coarse += floor;
            } else {
                type_a += s2 / n;
            }
        }
        type_a += s2 * drift;
        let u2 = type_a + type_b + coarse;
        let nu = if type_a > 0.0 { self.nu * (u2 / type_a).powi(2) } else { f64::INFINITY };
        Difference {
            d: i.alpha - j.alpha,
            u: u2.sqrt(),
            nu,
            type_b: type_b + coarse,
            share: 1.0 / i.fittings as f64 + 1.0 / j.fittings as f64 + drift,
        }
    }

    /// The half-width that decides a verdict, in ln flow.
    pub(super) fn half_width(&self, difference: &Difference) -> Option<f64> {
        Some(self.limits.as_ref()?.all_pairs(difference.nu) * difference.u)
    }
}

impl Comparison {
    fn side(&self, subject: Subject) -> Option<&Side> {
        self.bench.fit.sides.get(subject.side()).filter(|side| side.fittings > 0)
    }

    /// Compares two sides; `None` where one has no fitting or they are one.
    ///
    /// I = d ± q_p(m, ν)/√2 · u: one limit per pair, the same whatever the
    /// others do. I excludes 0: resolved. I inside the don't-care difference:
    /// equivalent. Neither: not resolved.
    ///
    /// Source: Tukey 1953; Kramer, *Biometrics* 12 (1956) 307; NIST/SEMATECH
    /// e-Handbook 7.4.7.1.
    #[must_use]
    pub fn pair(&self, a: Subject, b: Subject) -> Option<Pair> {
        if a == b {
            return None;
        }
        let found = self.bench.difference(self.side(a)?, self.side(b)?);
        let half = self.bench.half_width(&found);
        let limits = half.map(|h| (percent(found.d - h), percent(found.d + h)));
        let x = self.bench.dont_care_percent;
        let inside = limits.zip(x).is_some_and(|((low, high), x)| low > -x && high < x);
        let verdict = half.map(|h| match found.d {
            d if d > h => Verdict::AMore,
            d if d < -h => Verdict::BMore,
            _ if inside => Verdict::Equivalent,
            _ => Verdict::NotResolved,
        });
        let resolved = matches!(verdict, Some(Verdict::AMore | Verdict::BMore));
        Some(Pair {
            a,
            b,
            ln_difference: found.d,
            standard_uncertainty: half.map(|_| found.u),
            degrees_of_freedom: if half.is_some() { found.nu } else { 0.0 },
            difference_percent: percent(found.d),
            limits_percent: limits,
            resolvable_percent: half.map(percent),
            verdict,
            smaller_than_dont_care: resolved && inside,
            at_most_percent: limits.map(|(low, high)| low.abs().max(high.abs())),
            break_even_scatter_percent: self.break_even(&found),
        })
    }

    /// Compares every two assemblies, lazily.
    pub fn pairs(&self) -> impl Iterator<Item = Pair> + '_ {
        let count = self.assemblies.len();
        (0..count)
            .flat_map(move |i| (i + 1..count).map(move |j| (i, j)))
            .filter_map(|(i, j)| self.pair(Subject::Assembly(i), Subject::Assembly(j)))
    }

    /// Gives the interval of one pair seen alone, d ± t·u in percent: the one
    /// to quote for a pair chosen before looking. The verdict is not taken
    /// from it.
    #[must_use]
    pub fn alone_percent(&self, pair: &Pair) -> Option<(f64, f64)> {
        let half = self.bench.limits.as_ref()?.student(pair.degrees_of_freedom) * pair.standard_uncertainty?;
        Some((percent(pair.ln_difference - half), percent(pair.ln_difference + half)))
    }

    /// Gives the chance that so many more fittings of each side would resolve
    /// the pair. `None` without a scatter; see [`chance_after`].
    #[must_use]
    pub fn chance_with(&self, pair: &Pair, more_each: usize) -> Option<f64> {
        chance_after(&self.standing(pair)?, more_each, |nu| {
            self.bench.limits.as_ref().map_or(f64::INFINITY, |limits| limits.all_pairs_exactly(nu))
        })
        .ok()
    }

    /// Finds the fewest more fittings of each side that resolve the pair with
    /// at least the chance asked for, up to fifty; `None` where fifty would
    /// not, where it is resolved already, or without a scatter. The chance of
    /// that number comes with it: with a chance of one half asked for, it is
    /// about even.
    #[must_use]
    pub fn further(&self, pair: &Pair, chance: f64) -> Option<Further> {
        if matches!(pair.verdict?, Verdict::AMore | Verdict::BMore) {
            return None;
        }
        const MOST: usize = 50;
        let with = |more: usize| self.chance_with(pair, more).unwrap_or(0.0);
        if with(MOST) < chance {
            return None;
        }
        let (mut short, mut enough) = (0, MOST);
        while enough - short > 1 {
            let middle = usize::midpoint(short, enough);
            if with(middle) >= chance { enough = middle } else { short = middle }
        }
        Some(Further { more_each: enough, chance: with(enough) })
    }

    fn standing(&self, pair: &Pair) -> Option<Standing> {
        let (i, j) = (self.side(pair.a)?, self.side(pair.b)?);
        let found = self.bench.difference(i, j);
        Some(Standing {
            difference: found.d,
            scatter: self.bench.scatter?,
            degrees_of_freedom: self.bench.nu,
            fittings: (i.fittings, j.fittings),
            drift_share: self.bench.fit.drift_share(i, j),
            type_b_variance: found.type_b,
        })
    }

    /// The repeatability at which the difference would just be real, on a
    /// bench whose repeatability is known for sure.
    fn break_even(&self, found: &Difference) -> f64 {
        let at_limit = found.d / self.bench.limit_if_known;
        let left = at_limit * at_limit - found.type_b;
        if left > 0.0 { 100.0 * (left / found.share).sqrt() } else { 0.0 }
    }
}
