//! Words for verdicts, cautions and refusals: the only place that turns codes and quantities into sentences for people.

pub mod bench;
mod fit;
mod flow;
mod verdict;
mod worth;

pub use fit::{
    ASSEMBLY_CAUTION, FitWord, HoodTold, RegisterTold, Stands, StudTold, hood, register, stands, stud,
};
pub use flow::{caution, refusal};
pub use verdict::{EngineHalf, Pair, chance_in_words, group_marks, pair, why_not};
pub use worth::{best_and_worst, break_even, can_tell, leakage, left_out, repeatability, swept};
