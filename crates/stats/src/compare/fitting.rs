//! What goes in: fittings of one group, and what is known about the bench.

use super::scatter::{EveningScatter, StatedScatter};

/// Exponent with which fixture leakage follows the pressure: halfway between
/// a sharp leak (0.5) and a long narrow one (1). Common practice, no source.
pub const LEAKAGE_EXPONENT: f64 = 0.75;

/// How far from the set pressure a flow is carried by the square-root law.
pub const PRESSURE_REACH: f64 = 0.05;

/// Whom a fitting belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Subject {
    /// The bare carburetor, or the carburetor with the base of the group's
    /// baseline definition.
    Baseline,
    /// The assembly with this number, from 0.
    Assembly(usize),
}

impl Subject {
    pub(crate) fn side(self) -> usize {
        match self {
            Self::Baseline => 0,
            Self::Assembly(i) => i + 1,
        }
    }
}

/// The mean of the readings between putting an assembly on and taking it off.
/// It counts once, however many readings it holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitting {
    /// Whose fitting.
    pub subject: Subject,
    /// Clock in s, or the order in the session. One or the other throughout.
    pub when: f64,
    /// Mean flow as read, m³/s, fixture leakage included.
    pub flow_m3_s: f64,
    /// Mean test pressure as read, Pa; unknown is taken as set.
    pub actual_pressure_pa: Option<f64>,
    /// Readings in the mean.
    pub readings: u32,
    /// What does not repeat.
    pub type_b: TypeB,
}

/// Relative standard uncertainties of flow that are the same at every fitting
/// of a subject, so that repeats do not show them. What is common to both
/// sides (coefficient, plate area, gauge gain, leakage) does not belong here.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TypeB {
    /// Which range of the bench was in use.
    pub range: u32,
    /// Of the factor of that range; it cancels between sides on one range.
    pub range_factor: f64,
    /// Of the temperature difference ΔT between part and meter: ½ u(ΔT)/T.
    pub part_to_meter: f64,
}

/// Fixture leakage with a check plate or a blanked fixture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leakage {
    /// Leakage, m³/s.
    pub flow_m3_s: f64,
    /// The pressure it was read at, Pa; unknown is taken as the set pressure.
    pub at_pressure_pa: Option<f64>,
}

/// Whether an assembly may take a place, from how it was held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Placing {
    /// Fastened.
    Placed,
    /// Taped: placed only with refitted repeats.
    PlacedIfRefitted,
    /// Restraint not stated: placed and marked.
    #[default]
    Marked,
    /// Hand-held, not restrained or lost.
    Never,
}

/// Everything that may be compared with each other: same session, item,
/// range, direction, set pressure and baseline definition.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Set test pressure, Pa. Without one, losses stay in percent and flow.
    pub set_pressure_pa: Option<f64>,
    /// The fittings, in any order.
    pub fittings: Vec<Fitting>,
    /// How each assembly was held, by its number; not listed is `Marked`.
    pub placing: Vec<Placing>,
    /// Scatter of earlier evenings on the same bench and range.
    pub history: Vec<EveningScatter>,
    /// Scatter that the user states.
    pub stated_scatter: Option<StatedScatter>,
    /// Smallest step of the flow reading, m³/s.
    pub flow_step_m3_s: Option<f64>,
    /// Difference that the shelf does not care about, percent, set before
    /// looking.
    pub dont_care_percent: Option<f64>,
    /// Standard uncertainty, in ln flow, of how far this bench's drift bows
    /// away from a straight line in the middle of an evening.
    pub usual_drift_curvature: Option<f64>,
    /// Fixture leakage; taken off tests and baselines alike.
    pub leakage: Option<Leakage>,
    /// Highest exponent that flow may follow the pressure with; ½ is the
    /// lowest.
    pub exponent_high: f64,
    /// Relative standard uncertainty of the flow scale, common to all
    /// fittings; it touches flows in m³/s and `k`, not percent.
    pub scale_uncertainty: f64,
    /// Confidence of every interval, 0.95 by custom.
    pub confidence: f64,
}

impl Group {
    /// How the assembly with that number was held.
    pub(crate) fn placing_of(&self, number: usize) -> Placing {
        self.placing.get(number).copied().unwrap_or_default()
    }

    /// A group at a set pressure, with nothing known of the bench.
    #[must_use]
    pub fn new(set_pressure_pa: Option<f64>, fittings: Vec<Fitting>) -> Self {
        Self {
            set_pressure_pa,
            fittings,
            placing: Vec::new(),
            history: Vec::new(),
            stated_scatter: None,
            flow_step_m3_s: None,
            dont_care_percent: None,
            usual_drift_curvature: None,
            leakage: None,
            exponent_high: 0.75,
            scale_uncertainty: 0.0,
            confidence: 0.95,
        }
    }

    /// Gives the fitting's logarithm of flow at the set pressure, and
    /// ln(P_set/P).
    ///
    /// y = ln[(Q − L)·(P_set/P)^½], L = L_0 (P/P_L)^0.75.
    pub(crate) fn ln_flow(&self, fitting: &Fitting) -> Result<(f64, f64), LeftOutBecause> {
        let set = self.set_pressure_pa;
        let actual = fitting.actual_pressure_pa.or(set);
        let ln_ratio = match (set, actual) {
            (Some(set), Some(actual)) => {
                if !(actual.is_finite() && actual > 0.0) {
                    return Err(LeftOutBecause::NotAPressure);
                }
                if (actual / set - 1.0).abs() > PRESSURE_REACH {
                    return Err(LeftOutBecause::OffPressure);
                }
                libm::log(set / actual)
            }
            _ => 0.0,
        };
        let leak = self.leakage.map_or(0.0, |leak| match (actual, leak.at_pressure_pa.or(set)) {
            (Some(actual), Some(at)) => leak.flow_m3_s * libm::pow(actual / at, LEAKAGE_EXPONENT),
            _ => leak.flow_m3_s,
        });
        let net = fitting.flow_m3_s - leak;
        if !(net.is_finite() && net > 0.0 && fitting.when.is_finite()) {
            return Err(LeftOutBecause::NotAFlow);
        }
        Ok((libm::log(net) + 0.5 * ln_ratio, ln_ratio))
    }
}

/// A fitting that was not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOut {
    /// Its place in the group's list.
    pub fitting: usize,
    /// Why.
    pub because: LeftOutBecause,
}

/// Why a fitting was not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftOutBecause {
    /// More than 5 % off the set pressure.
    OffPressure,
    /// The pressure is zero, negative or not a number.
    NotAPressure,
    /// Nothing is left of the flow after leakage, or it is not a number.
    NotAFlow,
}

/// One reading with whether the subject was taken off and put back before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The reading, as a fitting of its own.
    pub fitting: Fitting,
    /// Taken off and put back before this reading. Unstated is no.
    pub refitted: bool,
}

/// Merges consecutive readings of one subject without a refit into one
/// fitting each, in the order given.
///
/// Each reading is carried to the mean pressure of its fitting by
/// Q·(P̄/P)^½, then flow, pressure and time are averaged, weighted by the
/// readings they already hold.
///
/// Source: JCGM 100:2008 (GUM) 4.2.1, the mean as the estimate; that readings
/// without a refit are no repeats is common practice.
#[must_use]
pub fn merge_consecutive(readings: &[Reading]) -> Vec<Fitting> {
    let mut merged: Vec<Fitting> = Vec::new();
    for group in
        readings.chunk_by(|before, next| before.fitting.subject == next.fitting.subject && !next.refitted)
    {
        let members: Vec<Fitting> = group.iter().map(|reading| reading.fitting).collect();
        merged.extend(mean_of(&members));
    }
    merged
}

/// Averages readings of one subject between putting on and taking off; `None`
/// for an empty list. See [`merge_consecutive`].
#[must_use]
pub fn mean_of(readings: &[Fitting]) -> Option<Fitting> {
    let first = *readings.first()?;
    let weight = |f: &Fitting| f64::from(f.readings.max(1));
    let total: f64 = readings.iter().map(weight).sum();
    let mean = |of: &dyn Fn(&Fitting) -> f64| readings.iter().map(|f| weight(f) * of(f)).sum::<f64>() / total;
    // A pressure that only some of the readings state stands for all of them.
    let stated: Vec<&Fitting> = readings.iter().filter(|f| f.actual_pressure_pa.is_some()).collect();
    let pressure = (!stated.is_empty()).then(|| {
        let weights: f64 = stated.iter().map(|f| weight(f)).sum();
        stated.iter().filter_map(|f| Some(weight(f) * f.actual_pressure_pa?)).sum::<f64>() / weights
    });
    let carried = |f: &Fitting| match (pressure, f.actual_pressure_pa) {
        (Some(mean), Some(own)) if own > 0.0 => f.flow_m3_s * (mean / own).sqrt(),
        _ => f.flow_m3_s,
    };
    Some(Fitting {
        subject: first.subject,
        when: mean(&|f| f.when),
        flow_m3_s: mean(&carried),
        actual_pressure_pa: pressure,
        readings: readings.iter().map(|f| f.readings.max(1)).sum(),
        type_b: first.type_b,
    })
}
