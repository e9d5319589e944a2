//! What was learned: places with intervals, pairs in words, and how each number came about.

use crate::code::Fault;
use crate::explain::Explanation;
use crate::report::Comparison;
use crate::shelf::{CompareAsked, Shelf};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A question about results.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "FindingsAsked")]
pub enum Asked {
    /// The comparison of one session, or of every session.
    Compare {
        /// A session's id or name; none for all.
        session: Option<String>,
        /// The difference that does not matter, such as `1%`.
        dont_care: Option<String>,
        /// An engine's id or name.
        engine: Option<String>,
    },
    /// How the numbers of a run came about.
    Explain {
        /// The run's id.
        run: String,
    },
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "FindingsAnswer")]
pub enum Answer {
    /// The comparison.
    Compare(Comparison),
    /// The chain.
    Explain(Explanation),
}

pub(super) fn answer(shelf: &mut Shelf, asked: Asked) -> Result<Answer, Fault> {
    let system = shelf.system();
    Ok(match asked {
        Asked::Compare { session, dont_care, engine } => {
            let asked = CompareAsked {
                session: session.as_deref(),
                dont_care: dont_care.as_deref(),
                engine: engine.as_deref(),
            };
            Answer::Compare(shelf.compare(&asked, system)?)
        }
        Asked::Explain { run } => Answer::Explain(shelf.explain(&run, system)?),
    })
}
