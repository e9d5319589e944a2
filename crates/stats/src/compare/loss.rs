//! What an assembly costs against the baseline, and the place it may take.

use super::fit::Side;
use super::fitting::{Placing, Subject};
use super::pair::percent;
use super::{Bench, Comparison};

/// A value with the limits of its interval, where there is a scatter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Lower and upper limit.
    pub limits: Option<(f64, f64)>,
}

/// The baseline at the middle of the session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Baseline {
    /// Flow at the set pressure, m³/s, net of leakage.
    pub flow_m3_s: Estimate,
    /// Fittings of it.
    pub fittings: usize,
}

/// Why an assembly takes no place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyNot {
    /// Hand-held, not restrained or lost.
    NotHeld,
    /// Taped, without refitted repeats.
    TapedWithoutRefits,
    /// Nobody knows how well this bench repeats.
    NoScatter,
    /// None of its fittings could be used.
    NoFitting,
}

/// What restricts, as far as the bench can see.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// Flows less than the baseline, resolved.
    Restricts,
    /// Flows more than the baseline, resolved.
    EntryGain,
    /// Not resolved: neither may be said.
    Open,
}

/// One assembly of the group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AssemblyResult {
    /// Fittings used.
    pub fittings: usize,
    /// Flow at the set pressure, m³/s, net of leakage, at the middle of the
    /// session.
    pub flow_m3_s: Option<Estimate>,
    /// 100 (1 − e^d) against the baseline; refused without a baseline.
    pub loss_percent: Option<Estimate>,
    /// Q0 (1 − e^d), m³/s.
    pub loss_m3_s: Option<Estimate>,
    /// P (1 − e^{2d}), Pa; refused without a set pressure.
    pub pressure_drop_pa: Option<Estimate>,
    /// (P/Q0²)(e^{−2d} − 1), Pa·s²/m⁶, signed.
    pub k_pa_s2_m6: Option<Estimate>,
    /// Standard uncertainty of ln(Q/Q0), where known.
    pub standard_uncertainty: Option<f64>,
    /// Degrees of freedom of that.
    pub degrees_of_freedom: f64,
    /// Resolved against the baseline, and which way.
    pub finding: Finding,
    /// 1 + the number of placed assemblies resolved better.
    pub place: Option<usize>,
    /// Whether it takes a place.
    pub placed: bool,
    /// Why it does not.
    pub why_not: Option<WhyNot>,
    /// Its restraint is not stated: placed and marked.
    pub marked: bool,
}

impl Bench {
    /// The half-width of a difference seen alone, in ln flow.
    fn alone(&self, u: f64, nu: f64) -> Option<f64> {
        Some(self.limits.as_ref()?.student(nu) * u)
    }

    /// A mean's own flow, with its scatter and the scale of the meter.
    pub(super) fn flow(&self, side: &Side) -> Estimate {
        let value = libm::exp(side.alpha);
        let none = Side { fittings: usize::MAX, ..Side::default() };
        let type_a =
            self.scatter.map(|s| s * s * (1.0 / side.fittings as f64 + self.fit.drift_share(side, &none)));
        let limits = type_a.and_then(|a| {
            let u2 = a + self.scale.powi(2);
            let nu = if a > 0.0 { self.nu * (u2 / a).powi(2) } else { f64::INFINITY };
            let half = self.alone(u2.sqrt(), nu)?;
            Some((value * libm::exp(-half), value * libm::exp(half)))
        });
        Estimate { value, limits }
    }

    pub(super) fn assembly(&self, index: usize) -> AssemblyResult {
        let mut said = AssemblyResult {
            fittings: 0,
            flow_m3_s: None,
            loss_percent: None,
            loss_m3_s: None,
            pressure_drop_pa: None,
            k_pa_s2_m6: None,
            standard_uncertainty: None,
            degrees_of_freedom: 0.0,
            finding: Finding::Open,
            place: None,
            placed: false,
            why_not: Some(WhyNot::NoFitting),
            marked: false,
        };
        let side = &self.fit.sides[index + 1];
        if side.fittings == 0 {
            return said;
        }
        said.fittings = side.fittings;
        said.flow_m3_s = Some(self.flow(side));
        let placing = self.placing.get(index).copied().unwrap_or_default();
        said.marked = placing == Placing::Marked;
        said.why_not = match placing {
            Placing::Never => Some(WhyNot::NotHeld),
            Placing::PlacedIfRefitted if side.fittings < 2 => Some(WhyNot::TapedWithoutRefits),
            _ if self.limits.is_none() => Some(WhyNot::NoScatter),
            _ => None,
        };
        said.placed = said.why_not.is_none();
        let zero = &self.fit.sides[0];
        if zero.fittings > 0 {
            self.against(zero, side, &mut said);
        }
        said
    }

    fn against(&self, zero: &Side, side: &Side, said: &mut AssemblyResult) {
        let found = self.difference(side, zero);
        let d = found.d;
        let half = self.alone(found.u, found.nu);
        let ends = half.map(|h| (d - h, d + h));
        // Falling in d: the upper end of d is the lower limit of the loss.
        let through = |of: &dyn Fn(f64) -> f64| Estimate {
            value: of(d),
            limits: ends.map(|(low, high)| (of(high), of(low))),
        };
        said.standard_uncertainty = half.map(|_| found.u);
        said.degrees_of_freedom = if half.is_some() { found.nu } else { 0.0 };
        said.loss_percent = Some(through(&|d| -percent(d)));
        let q0 = libm::exp(zero.alpha);
        let scale = half.map_or(0.0, |_| self.scale_factor() * self.scale);
        said.loss_m3_s = Some(through(&|d| -q0 * libm::expm1(d)).widened(scale));
        if let Some(p) = self.set_pressure_pa {
            said.pressure_drop_pa = Some(through(&|d| -p * libm::expm1(2.0 * d)));
            said.k_pa_s2_m6 = Some(through(&|d| p / (q0 * q0) * libm::expm1(-2.0 * d)).widened(2.0 * scale));
        }
        if let Some(limit) = self.half_width(&found) {
            said.finding = match d {
                d if d > limit => Finding::EntryGain,
                d if d < -limit => Finding::Restricts,
                _ => Finding::Open,
            };
        }
    }

    /// Multiplier of the scale's standard uncertainty: it is type B, known
    /// for sure.
    fn scale_factor(&self) -> f64 {
        self.limits.as_ref().map_or(0.0, |limits| limits.student(f64::INFINITY))
    }
}

impl Estimate {
    /// Adds a relative half-width to each side, root of the sum of squares.
    fn widened(self, relative: f64) -> Self {
        let own = self.value * relative;
        let limits = self.limits.map(|(low, high)| {
            (
                self.value - libm::hypot(self.value - low, own),
                self.value + libm::hypot(high - self.value, own),
            )
        });
        Self { limits, ..self }
    }
}

impl Comparison {
    /// Gives every placed assembly 1 + the number of placed ones resolved
    /// better.
    pub(super) fn give_places(&mut self) {
        let placed: Vec<usize> = (0..self.assemblies.len()).filter(|&i| self.assemblies[i].placed).collect();
        let mut better = vec![0; self.assemblies.len()];
        for (at, &i) in placed.iter().enumerate() {
            for &j in &placed[at + 1..] {
                let sides = &self.bench.fit.sides;
                let (a, b) = (Subject::Assembly(i).side(), Subject::Assembly(j).side());
                let found = self.bench.difference(&sides[a], &sides[b]);
                let Some(limit) = self.bench.half_width(&found) else { continue };
                if found.d > limit {
                    better[j] += 1;
                } else if found.d < -limit {
                    better[i] += 1;
                }
            }
        }
        for i in placed {
            self.assemblies[i].place = Some(1 + better[i]);
        }
    }
}
