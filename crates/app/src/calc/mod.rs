//! Computing without a shelf: a table of calculators that a command line or a screen can offer.
//!
//! Each calculator names its parameters as people write them, and answers with result, formula, source, range of
//! validity and cautions. Start reading at [`CALCULATORS`].

mod air;
mod ask;
mod engine;
mod metering;
mod parts;
mod plan;
mod restriction;
mod scaling;

pub use ask::{Answer, Asked, Kind, Need, Output, Parameter, Shown};

use crate::code::Fault;

/// One calculator.
pub struct Calculator {
    /// Its name on the command line.
    pub name: &'static str,
    /// What it answers, in one line.
    pub about: &'static str,
    /// What it asks for.
    pub parameters: &'static [Parameter],
    /// The formula it uses.
    pub formula: &'static str,
    /// Where the formula comes from.
    pub source: &'static str,
    /// Where it holds.
    pub range: &'static str,
    /// A command that works.
    pub example: &'static str,
    compute: fn(&Asked) -> Result<Answer, Fault>,
}

impl Calculator {
    /// Reads the parameters as people wrote them, and computes.
    ///
    /// # Errors
    /// [`Fault`] if a parameter is missing, cannot be read, or lies where the formula does not hold.
    pub fn run(&self, given: &[(&str, Vec<String>)]) -> Result<Shown, Fault> {
        let asked = Asked::read(self.parameters, given)?;
        let answer = (self.compute)(&asked)?;
        Ok(Shown {
            inputs: asked.shown(),
            result: answer.result,
            formula: self.formula,
            source: self.source,
            range: self.range,
            cautions: answer.cautions,
        })
    }

    /// The calculator of that name.
    pub fn named(name: &str) -> Option<&'static Calculator> {
        CALCULATORS.iter().copied().find(|c| c.name == name)
    }
}

/// Every calculator, in the order in which a listing shows them.
pub const CALCULATORS: &[&Calculator] = &[
    &ask::CONVERT,
    &air::AIR,
    &metering::ORIFICE,
    &metering::PLATE,
    &scaling::SCALE,
    &scaling::PRESSURE,
    &scaling::LEAKAGE,
    &restriction::RESTRICTION,
    &restriction::SWEEP,
    &engine::ENGINE,
    &parts::MEDIA,
    &plan::REPEATS,
    &plan::RESOLVABLE,
];
