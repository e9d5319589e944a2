//! Lines over an axis: sweeps as measured and fitted, and what assemblies cost an engine over its speeds.

use super::open::{Opened, Question, engine as engine_of, key};
use super::words;
use crate::code::Fault;
use crate::report::{GroupReport, SweepReport};
use crate::request::Amount;
use crate::sentences;
use crate::shelf::Shelf;
use airshelf_catalog::Engine;
use airshelf_flow::Caution;
use airshelf_flow::air::Air;
use airshelf_flow::engine::{Engine as Breathing, InletAir, part_effect};
use airshelf_flow::restriction::Restriction;
use airshelf_units::{Dimension, System, Unit, usual};
use serde::Serialize;
use ts_rs::TS;
use uuid::Uuid;

/// Lines over an axis.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Plot {
    /// What the picture shows, as a sentence.
    pub label: String,
    /// What the axes count, with their units.
    pub x_text: String,
    /// The other axis.
    pub y_text: String,
    /// The lines.
    pub lines: Vec<PlotLine>,
}

/// One line.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PlotLine {
    /// What tells it apart.
    pub id: String,
    /// What it is called.
    pub label: String,
    /// Its points, by the horizontal axis.
    pub points: Vec<Spot>,
}

/// A point of a line, in the axes' units.
#[derive(Clone, Debug, PartialEq, Serialize, TS)]
pub struct Spot {
    /// Along.
    pub x: f64,
    /// Up.
    pub y: f64,
    /// Low end of the 95 % interval.
    pub low: Option<f64>,
    /// High end.
    pub high: Option<f64>,
    /// The place along, in words.
    pub said: String,
    /// The value with its unit.
    pub text: String,
    /// The same in the other system.
    pub other: Option<String>,
}

/// What a session's assemblies cost an engine.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EngineFinding {
    /// The engine.
    pub engine: String,
    /// The session's name.
    pub name: String,
    /// One for each group with a baseline and a test pressure.
    pub groups: Vec<EngineGroup>,
    /// What to know.
    pub cautions: Vec<String>,
}

/// A group as an engine sees it.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EngineGroup {
    /// As in the finding.
    pub title: String,
    /// What the axes count.
    pub x_text: String,
    /// The other axis.
    pub y_text: String,
    /// The assemblies, best first.
    pub lines: Vec<EngineLine>,
}

/// An assembly over the engine's speeds.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EngineLine {
    /// The row of the group.
    pub key: String,
    /// In words.
    pub label: String,
    /// Loss on the bench.
    pub bench: Amount,
    /// Its interval in words.
    pub bench_ends: Option<String>,
    /// Air lost at each speed.
    pub points: Vec<Spot>,
    /// The highest speed.
    pub at: String,
    /// Air lost there.
    pub air: Amount,
    /// Rise of intake temperature that costs as much there.
    pub warmer: Amount,
}

/// Sweeps as a plot, with a sentence for each.
pub(super) fn sweeps(reports: &[SweepReport], system: System) -> Option<(Plot, Vec<String>)> {
    if reports.is_empty() {
        return None;
    }
    let (flow, drop) = (usual(Dimension::Flow, system), usual(Dimension::Pressure, system));
    let spot = |q: f64, pa: f64, ends: Option<(f64, f64)>| {
        let shown = words::pressure(pa, system);
        Spot {
            x: flow.from_si(q),
            y: drop.from_si(pa),
            low: ends.map(|ends| drop.from_si(ends.0)),
            high: ends.map(|ends| drop.from_si(ends.1)),
            said: words::flow(q, system).text,
            text: shown.text,
            other: shown.other,
        }
    };
    let mut lines = Vec::new();
    let mut said = Vec::new();
    for (number, sweep) in reports.iter().enumerate() {
        let label = if sweep.parts.is_empty() { "bare".to_owned() } else { sweep.parts.join(" + ") };
        let mut measured: Vec<Spot> = sweep.measured.iter().map(|(q, pa)| spot(*q, *pa, None)).collect();
        measured.sort_by(|a, b| a.x.total_cmp(&b.x));
        lines.push(PlotLine {
            id: format!("{number}.fitted"),
            label: format!("{label}, fitted"),
            points: sweep
                .fitted
                .iter()
                .map(|[q, pa, low, high]| spot(*q, *pa, Some((*low, *high))))
                .collect(),
        });
        lines.push(PlotLine {
            id: format!("{number}.read"),
            label: format!("{label}, as read"),
            points: measured,
        });
        said.push(sentences::swept(
            &label,
            sweep.points,
            (sweep.a_pa_s_m3, sweep.b_pa_s2_m6),
            sweep.highest_flow_m3_s,
            system,
        ));
    }
    let plot = Plot {
        label: "Pressure drop over flow, as read and as fitted.".into(),
        x_text: format!("Flow, {}", flow.shown()),
        y_text: format!("Pressure drop, {}", drop.shown()),
        lines,
    };
    Some((plot, said))
}

/// What a session's assemblies cost an engine from 1,000 rpm to its highest speed.
pub(super) fn engine(shelf: &Shelf, session: Uuid, engine: Uuid) -> Result<EngineFinding, Fault> {
    let opened = Opened::of(shelf, &Question { session, dont_care: None, engine: Some(engine) }, true)?;
    let engine = engine_of(&opened.records, engine)?;
    let mut cautions: Vec<String> = Vec::new();
    let groups = opened
        .report
        .groups
        .iter()
        .filter_map(|group| over_speeds(group, engine, opened.system, &mut cautions))
        .collect();
    Ok(EngineFinding {
        engine: engine.name.clone().unwrap_or_else(|| "engine".into()),
        name: opened.report.name.clone(),
        groups,
        cautions,
    })
}

/// Round speeds up to the highest, about a dozen.
fn speeds(engine: &Engine) -> Vec<f64> {
    let highest = engine.highest_speed.as_ref().or(engine.speed.as_ref()).map_or(0.0, |q| q.si);
    let usual = engine.speed.as_ref().map(|q| Unit::RPM.from_si(q.si));
    let highest = Unit::RPM.from_si(highest);
    let step = if highest > 7000.0 { 1000.0 } else { 500.0 };
    let rounds = (1..).map(|n| f64::from(n) * step).skip_while(|rpm| *rpm < 1000.0);
    let mut speeds: Vec<f64> = rounds.take_while(|rpm| *rpm < highest).collect();
    speeds.push(highest);
    speeds.extend(usual.filter(|rpm| *rpm < highest && *rpm > 0.0));
    speeds.sort_by(f64::total_cmp);
    speeds.dedup_by(|a, b| (*a - *b).abs() < 1.0);
    speeds
}

fn over_speeds(
    group: &GroupReport,
    engine: &Engine,
    system: System,
    cautions: &mut Vec<String>,
) -> Option<EngineGroup> {
    let density = Air::reference().density_kg_m3();
    let item =
        Restriction::of_item(group.baseline.as_ref()?.flow_m3_s, group.set_pressure_pa?, density).ok()?;
    let air = InletAir::from(&Air::reference());
    let (displacement_m3, volumetric_efficiency) =
        (engine.displacement.as_ref()?.si, engine.volumetric_efficiency.as_ref()?.si);
    let speeds = speeds(engine);
    let mut lines = Vec::new();
    for assembly in &group.assemblies {
        let (Some(k), Some(loss)) = (assembly.k_pa_s2_m6, assembly.loss_percent) else { continue };
        let part = Restriction {
            k_pa_s2_m6: k,
            reference_density_kg_m3: density,
            tested_flow_m3_s: assembly.flow_m3_s,
        };
        let mut points = Vec::new();
        let mut last = None;
        for rpm in &speeds {
            let breathing = Breathing { displacement_m3, speed_rev_s: rpm / 60.0, volumetric_efficiency };
            let Ok(effect) = part_effect(&breathing, &air, Some(&item), Some(&part)) else { continue };
            let (low, high) = (100.0 * effect.air_loss_low, 100.0 * effect.air_loss_high);
            let lost = words::percent(100.0 * effect.air_loss, Some(0.0));
            let ends = (low != high).then_some((low, high));
            let between = ends.map_or(String::new(), |(low, high)| {
                let (low, high) = (words::percent(low, Some(0.0)), words::percent(high, Some(0.0)));
                format!(", {} to {}", low.text.trim_end_matches(" %"), high.text)
            });
            points.push(Spot {
                x: *rpm,
                y: 100.0 * effect.air_loss,
                low: ends.map(|ends| ends.0),
                high: ends.map(|ends| ends.1),
                said: words::speed(*rpm),
                text: format!("{}{between}", lost.text),
                other: None,
            });
            for caution in &effect.cautions {
                // How far from the tested flow differs by speed and part; that it is far is said once.
                let said = match caution {
                    Caution::BeyondTestedFlow { .. } => sentences::group_marks("beyond-tested-flow").into(),
                    other => sentences::caution(other, system),
                };
                if !cautions.contains(&said) {
                    cautions.push(said);
                }
            }
            let warmer = words::warmer(effect.same_as_warmer_low_k, effect.same_as_warmer_high_k, system);
            last = Some((words::speed(*rpm), lost, warmer));
        }
        let Some((at, air, warmer)) = last else { continue };
        let bench = words::percent_interval(loss, assembly.loss_low_percent, assembly.loss_high_percent);
        lines.push(EngineLine {
            key: key(assembly),
            label: assembly.called.clone(),
            bench_ends: words::ends(&bench),
            bench: bench.value,
            points,
            at,
            air,
            warmer,
        });
    }
    (!lines.is_empty()).then(|| EngineGroup {
        title: words::title(group, system),
        x_text: "Engine speed, rpm".into(),
        y_text: "Air lost, %".into(),
        lines,
    })
}
