//! How a number came about: the chains of the runs behind it, and what the comparison made of them.

use super::open::{Opened, Question, place_of};
use super::words;
use crate::code::Fault;
use crate::explain::{Explanation, Step, explain as explained};
use crate::names::Names;
use crate::request::Amount;
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::Run;
use airshelf_units::{Digits, Dimension, System, Unit, show_number};
use serde::Serialize;
use ts_rs::TS;
use uuid::Uuid;

/// What stands behind the numbers of an assembly, or of the baseline.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Behind {
    /// Whose numbers.
    pub what: String,
    /// What the comparison made of all its runs.
    pub compared: Vec<Link>,
    /// Each run's own chain.
    pub runs: Vec<Chain>,
    /// Why there is none.
    pub note: Option<String>,
}

/// The chain of one run.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Chain {
    /// The run.
    pub run: Uuid,
    /// What it was, in words.
    pub what: String,
    /// From which file, sheet and row, where it was imported.
    pub from: Option<String>,
    /// The steps, first to last.
    pub steps: Vec<Link>,
    /// What to know beside them.
    pub cautions: Vec<String>,
}

/// One step.
#[derive(Clone, Debug, Serialize, TS)]
#[ts(rename = "ChainLink")]
pub struct Link {
    /// What it gives.
    pub name: String,
    /// How.
    pub formula: String,
    /// Why it may be done so.
    pub source: String,
    /// What came out.
    pub value: Amount,
    /// Its standard uncertainty, or what the step adds; none where it is not known.
    pub uncertainty: Option<Amount>,
}

/// More runs than anybody reads at once are named by the first ones.
const MOST_CHAINS: usize = 24;

pub(super) fn behind(
    shelf: &Shelf,
    session: Uuid,
    number: usize,
    row: Option<&str>,
) -> Result<Behind, Fault> {
    let opened = Opened::of(shelf, &Question { session, dont_care: None, engine: None }, true)?;
    let group = opened.group(number)?;
    let (what, runs, compared) = match row {
        Some(row) => {
            let assembly = &group.assemblies[place_of(group, row)?];
            let steps = crate::explain::of_assembly(group, assembly);
            (assembly.called.clone(), assembly.runs.clone(), steps)
        }
        None => {
            let baseline = group.baseline.as_ref();
            let what = baseline.map_or_else(|| "baseline".into(), |b| format!("baseline, {}", b.definition));
            (what, baseline.map(|b| b.runs.clone()).unwrap_or_default(), Vec::new())
        }
    };
    let runs: Vec<Uuid> = runs.into_iter().filter(|run| *run != session).collect();
    let mut note =
        runs.is_empty().then(|| "The page states this number; no run stands behind it.".to_owned());
    if runs.len() > MOST_CHAINS {
        note = Some(format!("The first {MOST_CHAINS} of {} runs.", runs.len()));
    }
    let chains = runs.iter().take(MOST_CHAINS).map(|run| {
        let chain = explained(&opened.records, *run, &opened.blocked, None, opened.system);
        match chain {
            Ok(chain) => shown(chain, opened.system),
            // A reading that cannot be reduced is told in its place, and the others stand.
            Err(fault) => Chain {
                run: *run,
                what: name(&opened, *run),
                from: None,
                steps: Vec::new(),
                cautions: vec![fault.message],
            },
        }
    });
    Ok(Behind {
        what,
        compared: compared.into_iter().map(|step| link(step, opened.system)).collect(),
        runs: chains.collect(),
        note,
    })
}

/// The chain of a run: its id, or `SESSION/ORDER`.
pub(super) fn explain(shelf: &Shelf, run: &str) -> Result<Chain, Fault> {
    let id = match run.trim().parse::<Uuid>() {
        Ok(id) => id,
        Err(_) => return Ok(shown(shelf.explain(run, shelf.system())?, shelf.system())),
    };
    let session = shelf.store.get::<Run>(id).map_err(store_fault)?.and_then(|run| run.session);
    let Some(session) = session else {
        return Ok(shown(shelf.explain(run, shelf.system())?, shelf.system()));
    };
    let opened = Opened::of(shelf, &Question { session, dont_care: None, engine: None }, true)?;
    let chain = explained(&opened.records, id, &opened.blocked, Some(&opened.report), opened.system)?;
    Ok(shown(chain, opened.system))
}

fn name(opened: &Opened, run: Uuid) -> String {
    let found = opened.records.runs.iter().find(|r| r.id == run);
    let order = found.and_then(|r| r.order_number).map_or(String::new(), |n| format!(" {n}"));
    let assembly = found.and_then(|r| r.assembly);
    format!("run{order}: {}", Names::of(&opened.records).assembly(assembly))
}

fn shown(chain: Explanation, system: System) -> Chain {
    Chain {
        run: chain.run,
        what: chain.what,
        from: chain.from,
        steps: chain.steps.into_iter().map(|step| link(step, system)).collect(),
        cautions: chain.cautions,
    }
}

fn link(step: Step, system: System) -> Link {
    let amount = |si: f64, spread: bool| match step.unit.as_str() {
        "%" => Amount { si: si / 100.0, text: format!("{} %", short(si)), other: None },
        "Pa.s2/m6" => words::k(si, system),
        symbol => match Unit::from_symbol(symbol).map(Unit::dimension) {
            Some(Dimension::Ratio | Dimension::Count) | None => {
                let unit = if matches!(symbol, "1" | "SI") { "" } else { symbol };
                Amount { si, text: format!("{} {unit}", short(si)).trim().to_owned(), other: None }
            }
            // An uncertainty of a temperature is a difference.
            Some(Dimension::Temperature) if spread => {
                Amount::of(si, Dimension::TemperatureDifference, system, Digits::Significant(2))
            }
            Some(dimension) => {
                let digits = if spread { Digits::Significant(2) } else { Digits::Significant(5) };
                Amount::of(si, dimension, system, digits)
            }
        },
    };
    Link {
        value: amount(step.value, false),
        uncertainty: step.standard_uncertainty.map(|u| amount(u, true)),
        name: step.name,
        formula: step.formula,
        source: step.source,
    }
}

/// Five digits without trailing zeros.
fn short(value: f64) -> String {
    let mut text = show_number(value, Digits::Significant(5));
    if text.contains('.') && !text.contains('e') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    text
}
