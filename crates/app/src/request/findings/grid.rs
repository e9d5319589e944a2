//! Lid × filter × base: what was measured, what was not, and which run would tell most.

use super::open::key;
use super::words;
use crate::names::Names;
use crate::report::{AssemblyReport, GroupReport};
use airshelf_catalog::PartKind;
use airshelf_stats::effects::{Cell, additive};
use airshelf_units::System;
use serde::Serialize;
use std::collections::BTreeMap;
use ts_rs::TS;
use uuid::Uuid;

/// The grid of a group.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct GridShown {
    /// What a cell says.
    pub caption: String,
    /// Lids.
    pub lids: Vec<GridSide>,
    /// Filters.
    pub filters: Vec<GridSide>,
    /// Bases.
    pub bases: Vec<GridSide>,
    /// What was measured, and the most useful run that was not.
    pub cells: Vec<GridCell>,
    /// The run that would tell most, in words.
    pub next: Option<String>,
    /// What one should know: parts that do not act alone, assemblies that do not fit into the grid.
    pub notes: Vec<String>,
}

/// A lid, a filter or a base; one of each may be none.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS)]
pub struct GridSide {
    /// The part's revision, or `none`.
    pub id: String,
    /// Its tag.
    pub text: String,
}

/// One combination.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct GridCell {
    /// The lid.
    pub row: String,
    /// The filter.
    pub column: String,
    /// The base.
    pub layer: String,
    /// What was measured.
    pub text: String,
    /// Its interval and fittings, or what the run would open.
    pub note: Option<String>,
    /// `measured` or `next`.
    #[ts(type = "\"measured\" | \"next\"")]
    pub state: &'static str,
    /// The row of the group; none for what was not run.
    pub key: Option<String>,
}

const SIDES: [PartKind; 3] = [PartKind::Lid, PartKind::Filter, PartKind::Base];

/// The grid, where at least two of the three sides have more than one level.
pub(super) fn grid(report: &GroupReport, names: &Names, system: System) -> Option<GridShown> {
    let mut levels: [Vec<Option<Uuid>>; 3] = Default::default();
    let mut cells: BTreeMap<[usize; 3], &AssemblyReport> = BTreeMap::new();
    let mut beside = 0;
    for assembly in &report.assemblies {
        let Some(parts) = sides(assembly, names) else {
            beside += 1;
            continue;
        };
        let mut at = [0; 3];
        for ((at, levels), part) in at.iter_mut().zip(&mut levels).zip(parts) {
            *at = levels.iter().position(|level| *level == part).unwrap_or_else(|| {
                levels.push(part);
                levels.len() - 1
            });
        }
        // Of several restraints or states of one combination, the one that may have a place stands for it.
        match cells.get(&at) {
            Some(held) if held.placed || !assembly.placed => beside += 1,
            Some(_) => {
                beside += 1;
                cells.insert(at, assembly);
            }
            None => {
                cells.insert(at, assembly);
            }
        }
    }
    if levels.iter().filter(|levels| levels.len() > 1).count() < 2 {
        return None;
    }
    let side = |part: Option<Uuid>| match part {
        Some(part) => GridSide { id: part.to_string(), text: names.revision(part) },
        None => GridSide { id: "none".into(), text: "none".into() },
    };
    let [lids, filters, bases] = levels.map(|levels| levels.into_iter().map(side).collect::<Vec<_>>());
    let cell = |at: [usize; 3]| GridCell {
        row: lids[at[0]].id.clone(),
        column: filters[at[1]].id.clone(),
        layer: bases[at[2]].id.clone(),
        text: String::new(),
        note: None,
        state: "measured",
        key: None,
    };
    let mut shown: Vec<GridCell> =
        cells.iter().map(|(at, assembly)| measured(cell(*at), assembly, system)).collect();
    let told = next(report, &cells);
    let mut notes = Vec::new();
    if beside > 0 {
        notes.push(format!(
            "{} with other parts, or held or kept otherwise, stand in the list only.",
            words::count(beside, "assembly").replace("assemblys", "assemblies")
        ));
    }
    let mut next_words = None;
    if let Some(told) = told {
        if told.interacts {
            notes.push("These parts do not act alone: what one costs depends on what it stands with.".into());
        }
        if let Some((at, opens)) = told.next {
            let names = [&lids[at[0]].text, &filters[at[1]].text, &bases[at[2]].text];
            let stack = [names[2], names[1], names[0]];
            let stack: Vec<&str> = stack.iter().map(|n| n.as_str()).filter(|n| *n != "none").collect();
            let why = match opens {
                0 => "it sharpens what is known of the others most".to_owned(),
                1 => "it is the one that the others do not tell".to_owned(),
                more => format!("with it {more} combinations that were not run could be told"),
            };
            next_words = Some(format!("The most useful run next: {}; {why}.", stack.join(" + ")));
            shown.push(GridCell { text: "run next".into(), state: "next", ..cell(at) });
        }
    }
    let caption = if report.baseline.is_some() { "Loss against the baseline" } else { "Flow" };
    Some(GridShown { caption: caption.into(), lids, filters, bases, cells: shown, next: next_words, notes })
}

/// Lid, filter and base of an assembly; none where it has two of a kind or other parts.
fn sides(assembly: &AssemblyReport, names: &Names) -> Option<[Option<Uuid>; 3]> {
    let mut found = [None; 3];
    for revision in names.layers(assembly.id) {
        let kind = names.part_of(revision)?.kind?;
        let at = SIDES.iter().position(|side| *side == kind)?;
        if found[at].replace(revision).is_some() {
            return None;
        }
    }
    Some(found)
}

fn measured(cell: GridCell, assembly: &AssemblyReport, system: System) -> GridCell {
    let fittings = words::count(assembly.fittings, "fitting");
    let (text, note) = match assembly.loss_percent {
        Some(loss) => {
            let shown = words::percent_interval(loss, assembly.loss_low_percent, assembly.loss_high_percent);
            let ends = words::ends(&shown).map_or(String::new(), |ends| format!("{ends}, "));
            (shown.value.text, format!("{ends}{fittings}"))
        }
        None => (words::flow(assembly.flow_m3_s, system).text, fittings),
    };
    GridCell { text, note: Some(note), key: Some(key(assembly)), ..cell }
}

struct Told {
    interacts: bool,
    next: Option<([usize; 3], usize)>,
}

/// What the additive model in `k` says; none without `k` or where it cannot be fitted.
fn next(report: &GroupReport, cells: &BTreeMap<[usize; 3], &AssemblyReport>) -> Option<Told> {
    let pressure = report.set_pressure_pa?;
    let scatter = report.repeatability.scatter_percent.map(|percent| percent / 100.0);
    let cells: Vec<Cell> = cells
        .iter()
        .map(|(at, assembly)| {
            // k = P (1/Q² − 1/Q0²): a relative scatter s of Q is 2 P s/Q² of k; the baseline's share is common to all.
            let slope = 2.0 * pressure / assembly.flow_m3_s.powi(2);
            let variance = scatter.map_or(1.0, |s| (slope * s).powi(2) / assembly.fittings.max(1) as f64);
            Some(Cell { levels: at.to_vec(), value: assembly.k_pa_s2_m6?, variance })
        })
        .collect::<Option<_>>()?;
    let freedom = scatter.and(report.repeatability.degrees_of_freedom);
    let model = additive(&cells, freedom, 0.95).ok()?;
    let next = model.next.and_then(|next| Some((next.levels.try_into().ok()?, next.opens)));
    Some(Told { interacts: model.interaction.flagged, next })
}
