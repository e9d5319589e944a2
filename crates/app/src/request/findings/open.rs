//! Reads one session, audits and compares it.

use crate::audited::blocked;
use crate::code::{Code, Fault};
use crate::compare::{self, Asked};
use crate::fittings::Blocked;
use crate::report::{AssemblyReport, GroupReport, SessionReport};
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::{Engine, Records, Session};
use airshelf_intake::audit::{Fault as Found, Scope, audit};
use airshelf_units::{Decimal, Dimension, System, read};
use std::collections::HashMap;
use uuid::Uuid;

/// A session as a screen asks for it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Question<'a> {
    pub session: Uuid,
    pub dont_care: Option<&'a str>,
    pub engine: Option<Uuid>,
}

/// A session with what it is compared by, and what came of it.
pub(super) struct Opened {
    pub records: Records,
    pub faults: Vec<Found>,
    pub blocked: HashMap<Uuid, Blocked>,
    pub report: SessionReport,
    pub dont_care: Option<f64>,
    pub system: System,
}

impl Opened {
    pub fn of(shelf: &Shelf, question: &Question, no_pairs: bool) -> Result<Opened, Fault> {
        let records = shelf.store.evening(question.session).map_err(store_fault)?;
        let session =
            records.sessions.iter().find(|session| session.id == question.session).ok_or_else(|| {
                Fault::new(Code::NotFound, "this evening is not on this shelf, or not any more")
            })?;
        let dont_care = match question.dont_care.map(str::trim).filter(|text| !text.is_empty()) {
            Some(text) => Some(percentage(text)?),
            None => session.dont_care.as_ref().map(|ratio| ratio.si),
        };
        let engine = question.engine.map(|id| engine(&records, id)).transpose()?;
        let faults = audit(&records, &Scope { tables: None, limits: shelf.limits() });
        let blocked = blocked(&faults);
        let system = shelf.system();
        let asked = Asked {
            sessions: Some(std::slice::from_ref(&question.session)),
            dont_care,
            engine,
            system: Some(system),
            no_pairs,
        };
        let mut compared = compare::compare(&records, &blocked, &asked)?;
        let report = compared.sessions.pop().ok_or_else(|| {
            Fault::new(Code::NotFound, "this evening is not on this shelf, or not any more")
        })?;
        Ok(Opened { records, faults, blocked, report, dont_care, system })
    }

    pub fn session(&self) -> &Session {
        let own = |session: &&Session| session.id == self.report.id;
        self.records.sessions.iter().find(own).expect("the report is of a session that was read")
    }

    pub fn group(&self, number: usize) -> Result<&GroupReport, Fault> {
        self.report.groups.get(number).ok_or_else(|| {
            Fault::new(Code::NotFound, "this evening has no such group any more").hint("Open it again.")
        })
    }
}

/// What tells the rows of a group apart.
pub(super) fn key(assembly: &AssemblyReport) -> String {
    let or_not = |text: Option<&'static str>| text.unwrap_or("-").replace(' ', "-");
    format!("{}.{}.{}", assembly.id, or_not(assembly.restraint), or_not(assembly.service))
}

/// Where a row stands in its group.
pub(super) fn place_of(group: &GroupReport, row: &str) -> Result<usize, Fault> {
    group.assemblies.iter().position(|assembly| key(assembly) == row).ok_or_else(|| {
        Fault::new(Code::NotFound, "this assembly is not in this group any more")
            .hint("Open the evening again.")
    })
}

/// The engine, with all that the computation needs.
pub(super) fn engine(records: &Records, id: Uuid) -> Result<&Engine, Fault> {
    let engine = records.engines.iter().find(|engine| engine.id == id);
    let engine = engine.ok_or_else(|| Fault::new(Code::NotFound, "this engine is not on this shelf"))?;
    match lacks(engine) {
        None => Ok(engine),
        Some(what) => {
            let name = engine.name.as_deref().unwrap_or("the engine");
            Err(Fault::new(Code::BadArgument, format!("{name} lacks its {what}"))
                .hint("Give it, and what a part costs the engine can be told."))
        }
    }
}

/// What an engine must have and has not.
pub(super) fn lacks(engine: &Engine) -> Option<&'static str> {
    match engine {
        Engine { displacement: None, .. } => Some("displacement"),
        Engine { volumetric_efficiency: None, .. } => Some("volumetric efficiency"),
        Engine { speed: None, highest_speed: None, .. } => Some("speed"),
        _ => None,
    }
}

fn percentage(text: &str) -> Result<f64, Fault> {
    let with_sign = if text.contains('%') { text.to_owned() } else { format!("{text}%") };
    read(&with_sign, Dimension::Ratio, None, Decimal::Point)
        .ok()
        .map(|ratio| ratio.si)
        .filter(|ratio| (0.0..1.0).contains(ratio))
        .ok_or_else(|| {
            Fault::new(Code::BadQuantity, format!("`{text}` is no percentage from 0 % up, such as 1 %"))
        })
}
