//! Tonight at the bench.

mod choose;
mod equipment;
mod evenings;
mod measured;
mod next;
mod night;
mod page;
mod reading;
mod so_far;
#[cfg(test)]
mod tests;

use crate::code::Fault;
use crate::entry::Changed;
use crate::shelf::Shelf;
use airshelf_catalog::{Meter, PartKind};
pub use choose::{BenchChoices, ChosenBefore, ChosenPart};
pub use equipment::{BenchCard, RangeCard};
pub use evenings::{EveningCard, NewEvening, Offered, OpenedEvening};
pub use page::{EveningPage, OnBench, RangeNamed, ReadingLine, RunLine};
pub use reading::{NewReading, PressureAt, ReadingTried};
use serde::{Deserialize, Serialize};
pub use so_far::{BaselineSoFar, LeakageRead, PressureHeld, SeenSoFar};
use ts_rs::TS;
use uuid::Uuid;

/// A question about evenings at the bench.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "BenchAsked")]
pub enum Asked {
    /// The evenings, open ones first, then the latest.
    Evenings,
    /// The benches with their ranges.
    Benches,
    /// Adds a bench, or changes one.
    KeepBench {
        /// The bench to change; none for a new one.
        id: Option<Uuid>,
        /// Its name.
        name: String,
        /// What its meter measures, where that is known.
        meter: Option<Meter>,
    },
    /// Adds a range to a bench, or changes one.
    KeepRange {
        /// The range to change; none for a new one.
        id: Option<Uuid>,
        /// Its bench.
        bench: Uuid,
        /// Its full scale, as typed.
        full_scale: String,
        /// The smallest step that its meter shows; empty where nobody knows.
        step: String,
        /// The repeatability that its owner states, such as `0.4 %`; empty where nobody does.
        stated_scatter: String,
    },
    /// What an evening may begin with: benches, carburetors, and what the last one had.
    Offered,
    /// Begins an evening.
    OpenEvening(NewEvening),
    /// Changes what an evening's next readings are taken with; those that were kept stay as they are.
    ChangeEvening {
        /// The evening.
        session: Uuid,
        /// What shall hold from now on.
        to: NewEvening,
    },
    /// How an evening stands.
    Evening {
        /// The evening.
        session: Uuid,
    },
    /// Parts to put on the bench, those used last first.
    Choices {
        /// The evening.
        session: Uuid,
        /// Only of that kind.
        kind: Option<PartKind>,
        /// Words to look for; empty for all.
        text: String,
    },
    /// Reads a reading as it is typed; nothing is written.
    TryReading(NewReading),
    /// Keeps a reading.
    KeepReading(NewReading),
    /// Strikes a reading out; it is kept and never used.
    StrikeReading {
        /// The evening.
        session: Uuid,
        /// The reading.
        reading: Uuid,
        /// Why.
        reason: String,
    },
    /// Something happened: said in the evening's note, and the reading it spoiled is struck out.
    Happened {
        /// The evening.
        session: Uuid,
        /// What happened, in words.
        what: String,
        /// The reading it spoiled; none where none was.
        reading: Option<Uuid>,
    },
    /// Ends an evening, so that its verdicts may be looked at.
    CloseEvening {
        /// The evening.
        session: Uuid,
    },
    /// Opens a closed evening again; that is recorded.
    ReopenEvening {
        /// The evening.
        session: Uuid,
    },
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "BenchAnswer")]
pub enum Answer {
    /// Evenings.
    Evenings(Vec<EveningCard>),
    /// Benches.
    Benches(Vec<BenchCard>),
    /// The bench.
    KeepBench(Changed),
    /// The range.
    KeepRange(Changed),
    /// What an evening may begin with.
    Offered(Offered),
    /// The new evening.
    OpenEvening(OpenedEvening),
    /// The evening after it.
    ChangeEvening(EveningPage),
    /// The evening.
    Evening(EveningPage),
    /// Parts and assemblies.
    Choices(BenchChoices),
    /// How it was read.
    TryReading(ReadingTried),
    /// What was kept.
    KeepReading(Changed),
    /// What was struck out.
    StrikeReading(Changed),
    /// What was put down.
    Happened(Changed),
    /// The evening after it.
    CloseEvening(EveningPage),
    /// The evening after it.
    ReopenEvening(EveningPage),
}

pub(super) fn answer(shelf: &mut Shelf, asked: Asked) -> Result<Answer, Fault> {
    Ok(match asked {
        Asked::Evenings => Answer::Evenings(evenings::list(shelf)?),
        Asked::Benches => Answer::Benches(equipment::benches(shelf)?),
        Asked::KeepBench { id, name, meter } => {
            Answer::KeepBench(equipment::keep_bench(shelf, id, &name, meter)?)
        }
        Asked::KeepRange { id, bench, full_scale, step, stated_scatter } => {
            Answer::KeepRange(equipment::keep_range(shelf, id, bench, &full_scale, &step, &stated_scatter)?)
        }
        Asked::Offered => Answer::Offered(evenings::offered(shelf)?),
        Asked::OpenEvening(new) => Answer::OpenEvening(evenings::open(shelf, &new)?),
        Asked::ChangeEvening { session, to } => {
            evenings::change(shelf, session, &to)?;
            Answer::ChangeEvening(page::page(shelf, session)?)
        }
        Asked::Evening { session } => Answer::Evening(page::page(shelf, session)?),
        Asked::Choices { session, kind, text } => {
            Answer::Choices(choose::choices(shelf, session, kind, &text)?)
        }
        Asked::TryReading(new) => Answer::TryReading(reading::attempt(shelf, &new)?),
        Asked::KeepReading(new) => Answer::KeepReading(reading::keep(shelf, &new)?),
        Asked::StrikeReading { session, reading, reason } => {
            Answer::StrikeReading(reading::strike(shelf, session, reading, &reason)?)
        }
        Asked::Happened { session, what, reading } => {
            Answer::Happened(reading::happened(shelf, session, &what, reading)?)
        }
        Asked::CloseEvening { session } => {
            evenings::close(shelf, session)?;
            Answer::CloseEvening(page::page(shelf, session)?)
        }
        Asked::ReopenEvening { session } => {
            evenings::reopen(shelf, session)?;
            Answer::ReopenEvening(page::page(shelf, session)?)
        }
    })
}
