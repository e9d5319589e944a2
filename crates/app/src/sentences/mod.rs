//! Words for verdicts, cautions and refusals: the only place that turns codes and quantities into sentences for people.

mod flow;
mod verdict;

pub use flow::{caution, refusal};
pub use verdict::{EngineHalf, Pair, chance_in_words, group_marks, pair, why_not};
