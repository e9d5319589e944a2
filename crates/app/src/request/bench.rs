//! Tonight at the bench.

use crate::code::Fault;
use crate::shelf::Shelf;
use airshelf_catalog::Session;
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// A question about evenings at the bench.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "BenchAsked")]
pub enum Asked {
    /// The evenings, open ones first, then the latest.
    Evenings,
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "BenchAnswer")]
pub enum Answer {
    /// Evenings.
    Evenings(Vec<EveningCard>),
}

/// An evening in a list.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EveningCard {
    /// Its session.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Its civil date.
    pub date: Option<String>,
    /// When it was closed; none while it is open.
    pub closed: Option<String>,
}

pub(super) fn answer(shelf: &mut Shelf, asked: Asked) -> Result<Answer, Fault> {
    Ok(match asked {
        Asked::Evenings => Answer::Evenings(evenings(shelf)?),
    })
}

fn evenings(shelf: &Shelf) -> Result<Vec<EveningCard>, Fault> {
    let mut sessions: Vec<Session> = shelf.store().load()?;
    // An imported page was closed when it was written.
    let is_open = |s: &Session| s.closed.is_none() && s.table.is_none();
    sessions.sort_by_cached_key(|s| (is_open(s), s.date.clone()));
    let cards = sessions.into_iter().rev().map(|s| EveningCard {
        closed: s.closed.clone().or_else(|| s.table.and(s.date.clone()).or(s.table.map(|_| String::new()))),
        id: s.id,
        name: s.name.unwrap_or_default(),
        date: s.date,
    });
    Ok(cards.collect())
}
