//! The chain of steps that a reading moves through.

use crate::Caution;

/// One step of a computation, ready to be printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What the step gives.
    pub name: &'static str,
    /// How.
    pub formula: &'static str,
    /// Where the formula comes from.
    pub source: &'static str,
    /// The value after the step.
    pub value: f64,
    /// SI unit of the value.
    pub unit: &'static str,
    /// This step's own share of the standard uncertainty, in that unit; `None`
    /// where nothing is known.
    pub standard_uncertainty: Option<f64>,
}

pub(super) const FLOW_UNIT: &str = "m3/s";

/// The flow as it moves through the steps, with the shares gathered so far.
pub(super) struct Chain {
    pub(super) steps: Vec<Step>,
    pub(super) cautions: Vec<Caution>,
    pub(super) flow: f64,
    pub(super) variance: Option<f64>,
    /// Power of the density at the part in `flow`: its error may cancel later,
    /// so it is kept apart from the other shares.
    pub(super) density_power: f64,
    pub(super) density_relative: Option<f64>,
}

impl Chain {
    pub(super) fn step(
        &mut self,
        name: &'static str,
        formula: &'static str,
        source: &'static str,
        flow: f64,
        share: Option<f64>,
    ) {
        // Shares gathered so far move with the flow; a subtraction leaves them.
        self.flow = flow;
        if let Some(share) = share {
            self.variance = Some(self.variance.unwrap_or(0.0) + share * share);
        }
        self.steps.push(Step {
            name,
            formula,
            source,
            value: flow,
            unit: FLOW_UNIT,
            standard_uncertainty: share,
        });
    }

    pub(super) fn multiply(
        &mut self,
        name: &'static str,
        formula: &'static str,
        source: &'static str,
        factor: f64,
        relative: Option<f64>,
    ) {
        self.variance = self.variance.map(|v| v * factor * factor);
        let flow = self.flow * factor;
        self.step(name, formula, source, flow, relative.map(|u| u * flow));
    }

    /// Notes that the last step brought in the density at the part.
    pub(super) fn by_density(&mut self, power: f64) {
        self.density_power += power;
        let (Some(relative), Some(last)) = (self.density_relative, self.steps.last_mut()) else {
            return;
        };
        let share = (self.density_power * relative * last.value).abs();
        last.standard_uncertainty = Some(libm::hypot(last.standard_uncertainty.unwrap_or(0.0), share));
    }

    /// All shares together at the flow reached.
    pub(super) fn standard_uncertainty(&self) -> Option<f64> {
        let density = (self.density_relative).map(|u| (self.density_power * u * self.flow).powi(2));
        match (self.variance, density) {
            (None, None) => None,
            (known, density) => Some((known.unwrap_or(0.0) + density.unwrap_or(0.0)).sqrt()),
        }
    }

    pub(super) fn quantity(&mut self, step: Step) {
        self.steps.push(step);
    }
}
