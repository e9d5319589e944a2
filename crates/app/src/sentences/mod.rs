//! Words for verdicts: the only place that turns codes and quantities into sentences for people.

mod verdict;

pub use verdict::{EngineHalf, Pair, chance_in_words, group_marks, pair, why_not};
