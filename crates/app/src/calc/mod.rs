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
pub(crate) use engine::RANGE as ENGINE_RANGE;

use crate::code::{Code, Fault};
use crate::sentences;
use airshelf_flow::FlowError;
use airshelf_units::System;

/// Why a calculator gives no answer: what it was asked, or where its formula does not hold.
enum Refused {
    Asked(Fault),
    Formula(FlowError),
}

impl From<Fault> for Refused {
    fn from(fault: Fault) -> Self {
        Refused::Asked(fault)
    }
}

impl From<FlowError> for Refused {
    fn from(error: FlowError) -> Self {
        Refused::Formula(error)
    }
}

impl Refused {
    fn in_words(self, system: System) -> Fault {
        match self {
            Refused::Asked(fault) => fault,
            Refused::Formula(error) => Fault::new(Code::OutsideValidity, sentences::refusal(&error, system)),
        }
    }
}

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
    compute: fn(&Asked) -> Result<Answer, Refused>,
}

impl Calculator {
    /// Reads the parameters as people wrote them, and computes; cautions and refusals are in the units of `system`.
    ///
    /// # Errors
    /// [`Fault`] if a parameter is missing, cannot be read, or lies where the formula does not hold.
    pub fn run(&self, given: &[(&str, Vec<String>)], system: System) -> Result<Shown, Fault> {
        let asked = Asked::read(self.parameters, given)?;
        let answer = (self.compute)(&asked).map_err(|refused| refused.in_words(system))?;
        if answer.beyond {
            return Err(Fault::new(
                Code::OutsideValidity,
                "the result is beyond any number: look at the inputs",
            ));
        }
        Ok(Shown {
            inputs: asked.shown(),
            result: answer.result,
            formula: self.formula,
            source: self.source,
            range: self.range,
            cautions: answer.cautions.iter().map(|caution| caution.in_words(system)).collect(),
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
