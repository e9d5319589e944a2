//! The evenings and pages that can tell something.

use super::open::{Opened, Question};
use super::words;
use crate::code::Fault;
use crate::report::{AssemblyReport, GroupReport};
use crate::sentences;
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::{Part, Revision, Session};
use airshelf_store::SessionCount;
use serde::Serialize;
use std::collections::HashMap;
use ts_rs::TS;
use uuid::Uuid;

/// A page of sessions.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EveningList {
    /// How many there are.
    pub total: usize,
    /// Those asked for.
    pub evenings: Vec<EveningLine>,
    /// Evenings that are still open and say nothing yet.
    pub open: usize,
}

/// A session in the list.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EveningLine {
    /// Which.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Its civil date.
    pub date: Option<String>,
    /// Whether it was imported from an old page.
    pub page: bool,
    /// What stood on the bench.
    pub item: Option<String>,
    /// `8 assemblies in 40 runs`.
    pub held: String,
}

/// Best and worst of a session.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Gist {
    /// In a sentence for each group; none where nothing can be compared.
    pub sentences: Vec<String>,
}

pub(super) fn sessions(shelf: &Shelf, from: usize, count: usize) -> Result<EveningList, Fault> {
    let counts: HashMap<Uuid, SessionCount> =
        shelf.store.session_counts().map_err(store_fault)?.into_iter().map(|c| (c.session, c)).collect();
    let mut sessions: Vec<Session> = shelf.store.load().map_err(store_fault)?;
    sessions.retain(|session| counts.contains_key(&session.id));
    let held = sessions.len();
    sessions.retain(|session| session.closed.is_some() || session.table.is_some());
    sessions.sort_by(|a, b| (&b.date, &b.name, b.id).cmp(&(&a.date, &a.name, a.id)));
    let open = held - sessions.len();
    let total = sessions.len();
    let evenings = sessions
        .into_iter()
        .skip(from)
        .take(count)
        .map(|session| line(shelf, &session, &counts[&session.id]))
        .collect::<Result<_, Fault>>()?;
    Ok(EveningList { total, evenings, open })
}

fn line(shelf: &Shelf, session: &Session, count: &SessionCount) -> Result<EveningLine, Fault> {
    let assemblies = match count.assemblies {
        1 => "1 assembly".to_owned(),
        n => format!("{n} assemblies"),
    };
    let item = match count.item.or(session.item) {
        Some(revision) => tag(shelf, revision)?,
        None => None,
    };
    Ok(EveningLine {
        id: session.id,
        name: session.name.clone().unwrap_or_else(|| "session".into()),
        date: session.date.clone(),
        page: session.table.is_some(),
        item,
        held: format!("{assemblies} in {}", words::count(count.runs, "run")),
    })
}

fn tag(shelf: &Shelf, revision: Uuid) -> Result<Option<String>, Fault> {
    let Some(revision) = shelf.store.get::<Revision>(revision).map_err(store_fault)? else { return Ok(None) };
    let Some(part) = revision.part else { return Ok(None) };
    let part: Option<Part> = shelf.store.get(part).map_err(store_fault)?;
    Ok(part.and_then(|part| part.tag.or(part.name)))
}

pub(super) fn gist(shelf: &Shelf, session: Uuid) -> Result<Gist, Fault> {
    let opened = Opened::of(shelf, &Question { session, dont_care: None, engine: None }, true)?;
    let several = opened.report.groups.len() > 1;
    let sentences = opened.report.groups.iter().filter_map(|group| {
        let said = best_and_worst(group, opened.system)?;
        Some(if several { format!("{}: {said}", words::title(group, opened.system)) } else { said })
    });
    Ok(Gist { sentences: sentences.collect() })
}

fn best_and_worst(group: &GroupReport, system: airshelf_units::System) -> Option<String> {
    let amount = |assembly: &AssemblyReport| match assembly.loss_percent {
        Some(loss) if loss < 0.0 => format!("gains {}", words::percent(-loss, None).text),
        Some(loss) => format!("loses {}", words::percent(loss, None).text),
        None => format!("flows {}", words::flow(assembly.flow_m3_s, system).text),
    };
    let placed: Vec<&AssemblyReport> = group.assemblies.iter().filter(|a| a.placed).collect();
    let listed = if placed.is_empty() { group.assemblies.iter().collect() } else { placed };
    let (best, worst) = (*listed.first()?, *listed.last()?);
    let (best_name, best_amount) = (best.called.clone(), amount(best));
    if listed.len() == 1 {
        return Some(sentences::best_and_worst((&best_name, &best_amount), None, None));
    }
    let (worst_name, worst_amount) = (worst.called.clone(), amount(worst));
    // Who is placed below the first was resolved from it.
    let told = group.repeatability.scatter_percent.map(|_| worst.place.is_some_and(|place| place > 1));
    Some(sentences::best_and_worst((&best_name, &best_amount), Some((&worst_name, &worst_amount)), told))
}
