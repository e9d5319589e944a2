//! What was learned: places with intervals, pairs in words, and how each number came about.
//!
//! [`list`] names the evenings, [`evening`] tells what one showed, [`grid`] and [`curves`] draw it otherwise,
//! [`behind`] how a number came about. Only the evening asked for is read, with what it is compared by.

mod behind;
mod curves;
mod evening;
mod grid;
mod list;
mod open;
mod words;

#[cfg(test)]
mod tests;

use crate::code::Fault;
use crate::shelf::Shelf;
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

pub use behind::{Behind, Chain, Link};
pub use curves::{EngineFinding, EngineGroup, EngineLine, Plot, PlotLine, Spot};
pub use evening::{
    AssemblyRow, BaselineShown, Drawn, EngineChoice, EngineCost, Finding, Group, LeftOutRow, PairDrawn,
    PairRow,
};
pub use grid::{GridCell, GridShown, GridSide};
pub use list::{EveningLine, EveningList, Gist};

/// A question about results.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "FindingsAsked")]
pub enum Asked {
    /// Closed evenings and imported pages, the latest first.
    Sessions {
        /// How many to pass over.
        from: usize,
        /// How many at most.
        count: usize,
    },
    /// Best and worst of a session, in words.
    Gist {
        /// The session.
        session: Uuid,
    },
    /// What a session showed.
    Finding {
        /// The session.
        session: Uuid,
        /// The difference that does not matter, such as `1%`; none takes what the session states.
        dont_care: Option<String>,
        /// The engine to which it should matter.
        engine: Option<Uuid>,
    },
    /// One pair of a group whose pairs are too many to be told at once.
    Pair {
        /// The session.
        session: Uuid,
        /// Which group, from 0.
        group: usize,
        /// One assembly's row.
        a: String,
        /// The other's.
        b: String,
        /// As in `finding`.
        dont_care: Option<String>,
        /// As in `finding`.
        engine: Option<Uuid>,
    },
    /// What a session's assemblies cost an engine over its speeds.
    Engine {
        /// The session.
        session: Uuid,
        /// The engine.
        engine: Uuid,
    },
    /// How the numbers of an assembly, or of the baseline, came about.
    Behind {
        /// The session.
        session: Uuid,
        /// Which group, from 0.
        group: usize,
        /// The assembly's row; none for the baseline.
        row: Option<String>,
    },
    /// How the numbers of one run came about.
    Explain {
        /// The run's id, or `SESSION/ORDER`.
        run: String,
    },
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "FindingsAnswer")]
pub enum Answer {
    /// A page of them.
    Sessions(EveningList),
    /// A sentence.
    Gist(Gist),
    /// All of it.
    Finding(Finding),
    /// The pair.
    Pair(PairRow),
    /// Curves over speed.
    Engine(EngineFinding),
    /// Its chains.
    Behind(Behind),
    /// The chain.
    Explain(Chain),
}

pub(super) fn answer(shelf: &mut Shelf, asked: Asked) -> Result<Answer, Fault> {
    Ok(match asked {
        Asked::Sessions { from, count } => Answer::Sessions(list::sessions(shelf, from, count)?),
        Asked::Gist { session } => Answer::Gist(list::gist(shelf, session)?),
        Asked::Finding { session, dont_care, engine } => {
            Answer::Finding(evening::finding(shelf, session, dont_care.as_deref(), engine)?)
        }
        Asked::Pair { session, group, a, b, dont_care, engine } => {
            let question = open::Question { session, dont_care: dont_care.as_deref(), engine };
            Answer::Pair(evening::one_pair(shelf, &question, group, &a, &b)?)
        }
        Asked::Engine { session, engine } => Answer::Engine(curves::engine(shelf, session, engine)?),
        Asked::Behind { session, group, row } => {
            Answer::Behind(behind::behind(shelf, session, group, row.as_deref())?)
        }
        Asked::Explain { run } => Answer::Explain(behind::explain(shelf, &run)?),
    })
}
