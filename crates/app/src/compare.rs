//! From groups of fittings to verdicts: the records' side of `airshelf_stats::compare`.

mod answer;
mod question;

use self::answer::{group_report, session_report};
use self::question::question;
use crate::code::{Code, Fault};
use crate::fittings::{Blocked, evenings};
use crate::names::Names;
use crate::report::Comparison;
use airshelf_catalog::{Engine, Records, Uuid};
use airshelf_flow::air::Air;
use airshelf_flow::engine::{Engine as Breathing, InletAir};
use airshelf_stats::compare as stats;
use airshelf_units::System;
use std::collections::{HashMap, HashSet};

/// What is asked of a comparison.
#[derive(Clone, Copy, Debug, Default)]
pub struct Asked<'a> {
    /// Only these sessions; earlier ones are read for their scatter all the same.
    pub sessions: Option<&'a [Uuid]>,
    /// The difference that does not matter, as a ratio; none: what each session states before looking.
    pub dont_care: Option<f64>,
    /// The engine to which it should matter.
    pub engine: Option<&'a Engine>,
    /// A person's units, for the sentences.
    pub system: Option<System>,
    /// Places and losses only.
    pub no_pairs: bool,
}

/// Scatter of earlier evenings, by bench range.
type History = HashMap<Option<Uuid>, Vec<stats::EveningScatter>>;

/// Compares every session, or one. `blocked` says which runs the audit keeps out, and by which rule.
///
/// # Errors
/// [`Fault`] if the engine asked about lacks its displacement or efficiency.
pub fn compare(
    records: &Records,
    blocked: &HashMap<Uuid, Blocked>,
    asked: &Asked,
) -> Result<Comparison, Fault> {
    let names = Names::of(records);
    let breathing = asked.engine.map(breathing).transpose()?;
    let mut history = History::new();
    let mut sessions = Vec::new();
    let mut still = asked.sessions.map(|wanted| wanted.iter().copied().collect::<HashSet<Uuid>>());
    for evening in evenings(records, blocked) {
        // What comes after the last session asked for teaches it nothing.
        let wanted = match &mut still {
            None => true,
            Some(left) if left.is_empty() => break,
            Some(left) => left.remove(&evening.session.id),
        };
        let mut groups = Vec::new();
        let mut scatters = Vec::new();
        for group in &evening.groups {
            let dont_care = asked.dont_care.or(evening.session.dont_care.as_ref().map(|ratio| ratio.si));
            let (mut question, subjects) = question(group, records, dont_care);
            if let Some(scatter) = stats::evening_scatter(&question) {
                scatters.push((group.terms.range, scatter));
            }
            if wanted {
                question.history = history.get(&group.terms.range).cloned().unwrap_or_default();
                let Ok(answer) = stats::compare(&question) else { continue };
                let open = evening.session.closed.is_none() && evening.session.table.is_none();
                let setting =
                    Setting { names: &names, records, asked, dont_care, breathing: breathing.as_ref() };
                groups.push(group_report(group, &answer, &subjects, &setting, open));
            }
        }
        // Only an evening that is over teaches the bench's scatter.
        for (range, scatter) in scatters {
            history.entry(range).or_default().push(scatter);
        }
        if wanted {
            sessions.push(session_report(&evening, groups, &names, records));
        }
    }
    let caution = breathing.map(|_| crate::calc::ENGINE_RANGE.to_owned());
    Ok(Comparison { sessions, cautions: caution.into_iter().collect() })
}

/// What the bench can see so far on one evening, from its group with most fittings, and how many assemblies that has.
/// Earlier evenings among the records lend their scatter. None before the first assembly.
pub(crate) fn so_far(
    records: &Records,
    blocked: &HashMap<Uuid, Blocked>,
    session: Uuid,
) -> Option<(stats::SoFar, usize)> {
    let mut history = History::new();
    for evening in evenings(records, blocked) {
        let own = evening.session.id == session;
        let mut scatters = Vec::new();
        let mut said: Option<(stats::SoFar, usize)> = None;
        for group in &evening.groups {
            let (mut question, subjects) = question(group, records, None);
            if own {
                question.history = history.get(&group.terms.range).cloned().unwrap_or_default();
                let Ok(so_far) = stats::scatter_so_far(&question) else { continue };
                if said.is_none_or(|(best, _)| best.fittings < so_far.fittings) {
                    said = Some((so_far, subjects.len()));
                }
            } else if let Some(scatter) = stats::evening_scatter(&question) {
                scatters.push((group.terms.range, scatter));
            }
        }
        if own {
            return said;
        }
        for (range, scatter) in scatters {
            history.entry(range).or_default().push(scatter);
        }
    }
    None
}

/// Student's factor of a two-sided 95 % interval.
pub(crate) fn student_95(freedom: f64) -> Option<f64> {
    airshelf_stats::distribution::student_factor(0.95, freedom).ok()
}

struct BreathingEngine<'a> {
    name: &'a str,
    speed_rad_s: f64,
    engine: Breathing,
    air: InletAir,
}

fn breathing(engine: &Engine) -> Result<BreathingEngine<'_>, Fault> {
    let name = engine.name.as_deref().unwrap_or("the engine");
    let lacks = |what: &str| {
        Fault::new(Code::BadArgument, format!("{name} has no {what}"))
            .hint("Set it with: airshelf engine change NAME displacement=… volumetric_efficiency=… speed=…")
    };
    let displacement_m3 = engine.displacement.as_ref().ok_or_else(|| lacks("displacement"))?.si;
    let volumetric_efficiency =
        engine.volumetric_efficiency.as_ref().ok_or_else(|| lacks("volumetric efficiency"))?.si;
    let speed_rad_s =
        engine.speed.as_ref().or(engine.highest_speed.as_ref()).ok_or_else(|| lacks("speed"))?.si;
    Ok(BreathingEngine {
        name,
        speed_rad_s,
        engine: Breathing {
            displacement_m3,
            speed_rev_s: speed_rad_s / std::f64::consts::TAU,
            volumetric_efficiency,
        },
        air: InletAir::from(&Air::reference()),
    })
}

/// What a report of one group needs beside the group.
struct Setting<'a> {
    names: &'a Names<'a>,
    records: &'a Records,
    asked: &'a Asked<'a>,
    /// The difference that does not matter, as a ratio.
    dont_care: Option<f64>,
    breathing: Option<&'a BreathingEngine<'a>>,
}
