//! Comparisons and explanations.

use super::count;
use crate::output::Output;
use airshelf_app::explain::Explanation;
use airshelf_app::report::{AssemblyReport, Comparison, GroupReport, SessionReport};
use airshelf_app::sentences;
use airshelf_app::units::{Digits, Dimension, Unit, show, show_number, usual};

pub(crate) fn comparison(report: &Comparison, one: bool, out: &mut Output) {
    if report.sessions.is_empty() {
        out.wrapped("", "There is no session on this shelf yet. Import old sheets, or add one.");
    }
    for session in &report.sessions {
        compared_session(session, one, out);
    }
    for caution in &report.cautions {
        out.wrapped("engine: ", caution);
    }
}

fn compared_session(session: &SessionReport, one: bool, out: &mut Output) {
    let date =
        session.date.as_deref().filter(|d| *d != session.name).map_or(String::new(), |d| format!(", {d}"));
    out.line(&format!("{}{date}", session.name));
    for group in &session.groups {
        compared_group(group, one, out);
    }
    for sweep in &session.sweeps {
        let what = if sweep.parts.is_empty() { "bare".into() } else { sweep.parts.join(" + ") };
        out.wrapped(
            "  sweep: ",
            &format!(
                "{what}, {} points up to {}: drop = {:.4e} Q + {:.4e} Q² (Pa, m³/s; standard errors {:.1e}, {:.1e})",
                sweep.points,
                out.quantity(sweep.highest_flow_m3_s, Dimension::Flow),
                sweep.a_pa_s_m3,
                sweep.b_pa_s2_m6,
                sweep.a_standard_error,
                sweep.b_standard_error
            ),
        );
    }
    if session.groups.is_empty() && session.sweeps.is_empty() {
        out.wrapped("  ", "Nothing here can be compared.");
    }
    left_out(session, out);
    out.line("");
}

fn left_out(session: &SessionReport, out: &mut Output) {
    let mut by_rule: std::collections::BTreeMap<&str, Vec<String>> = std::collections::BTreeMap::new();
    for left in &session.left_out {
        let run = left.order.map_or_else(|| left.what.clone(), |n| format!("run {n}"));
        by_rule.entry(&left.why).or_default().push(run);
    }
    for (rule, runs) in by_rule {
        let shown = if runs.len() > 8 { format!("{} runs", runs.len()) } else { runs.join(", ") };
        out.wrapped("  left out: ", &format!("{shown} ({rule})"));
    }
}

fn compared_group(group: &GroupReport, one: bool, out: &mut Output) {
    let mut setting: Vec<String> = Vec::new();
    setting.extend(group.item.clone());
    setting.extend(group.range.clone());
    setting
        .extend(group.set_pressure_pa.map(|p| format!("at {}", flow_like(out, p, Dimension::Pressure, 2))));
    if let Some(baseline) = &group.baseline {
        let ends = match (baseline.low_m3_s, baseline.high_m3_s) {
            (Some(low), Some(high)) => format!(" ({} to {})", flow(out, low), flow(out, high)),
            _ => String::new(),
        };
        setting.push(format!("baseline {} {}{ends}", baseline.definition, flow(out, baseline.flow_m3_s)));
    }
    out.wrapped("  ", &setting.join(", "));
    out.wrapped("  ", &repeatability(group));
    if let Some(leak) = &group.leakage {
        let at = leak
            .at_pressure_pa
            .map_or_else(|| "the set pressure".into(), |p| flow_like(out, p, Dimension::Pressure, 2));
        let number = |x: f64| {
            show_number(x, Digits::Significant(2)).trim_end_matches('0').trim_end_matches('.').to_owned()
        };
        out.wrapped(
            "  ",
            &format!(
                "Fixture leakage of {} at {at} is taken off, carried with the exponent {}, between {} and {}.",
                flow(out, leak.flow_m3_s),
                number(leak.exponent),
                number(leak.exponent_low),
                number(leak.exponent_high)
            ),
        );
    }
    for mark in &group.marks {
        out.wrapped("  note: ", sentences::group_marks(mark));
    }
    out.line("");
    let engine = group.assemblies.iter().any(|a| a.engine_air_loss_percent.is_some());
    let mut header = vec!["place", "assembly", "held", "loss", "95 %", "as flow", "flow", "drop", "fittings"];
    if engine {
        header.push("engine's air");
    }
    let rows: Vec<Vec<String>> = group.assemblies.iter().map(|a| assembly(a, engine, out)).collect();
    out.table(&header, &rows);
    let unplaced: Vec<String> = group
        .assemblies
        .iter()
        .filter_map(|a| Some(format!("{}: {}", a.parts.join(" + "), sentences::why_not(a.why_not?))))
        .filter(|_| !group.marks.contains(&"no-scatter"))
        .collect();
    for why in unplaced {
        out.wrapped("  ", &why);
    }
    out.line("");
    let pairs: Vec<&str> = group
        .pairs
        .iter()
        .filter(|p| one && group.pairs.len() <= 28 || p.b == p.a + 1)
        .map(|p| p.sentence.as_str())
        .collect();
    for sentence in &pairs {
        out.wrapped("  ", sentence);
    }
    if pairs.len() < group.pairs.len() {
        let left = count(group.pairs.len() - pairs.len(), "further pair is", "further pairs are");
        out.wrapped("  ", &format!("… {left} in --json."));
    }
}

fn repeatability(group: &GroupReport) -> String {
    let known = &group.repeatability;
    match known.scatter_percent {
        Some(scatter) => {
            let from = match known.from {
                "session" => "from this session's refitted repeats",
                "history" => "from earlier evenings and this one",
                _ => "as stated",
            };
            let freedom = known.degrees_of_freedom.map_or(String::new(), |nu| {
                format!(", {} degrees of freedom", show_number(nu, Digits::Decimals(0)))
            });
            let sees = group
                .resolvable_percent
                .map_or(String::new(), |r| format!(": it sees {} between two of these", percent(r)));
            format!("The bench repeats to {} ({from}{freedom}){sees}.", percent(scatter))
        }
        None => match group.break_even_scatter_percent {
            Some(scatter) => format!(
                "How well the bench repeats is not known. The largest difference here is real only if it repeats to better than {}.",
                percent(scatter)
            ),
            None => "How well the bench repeats is not known.".into(),
        },
    }
}

fn assembly(a: &AssemblyReport, engine: bool, out: &Output) -> Vec<String> {
    let dash = || "–".to_owned();
    let range = |low: Option<f64>, high: Option<f64>| match (low, high) {
        (Some(low), Some(high)) => {
            format!("{} to {}", show_number(low, Digits::Decimals(2)), show_number(high, Digits::Decimals(2)))
        }
        _ => dash(),
    };
    let held = [a.restraint, a.service].into_iter().flatten().collect::<Vec<_>>().join(", ");
    let mut row = vec![
        a.place.map_or_else(dash, |p| p.to_string()),
        a.parts.join(" + "),
        held,
        a.loss_percent.map_or_else(dash, |l| format!("{} %", show_number(l, Digits::Decimals(2)))),
        range(a.loss_low_percent, a.loss_high_percent),
        a.loss_m3_s.map_or_else(dash, |l| flow(out, l)),
        flow(out, a.flow_m3_s),
        a.pressure_drop_pa.map_or_else(dash, |p| flow_like(out, p, Dimension::Pressure, 2)),
        a.fittings.to_string(),
    ];
    if engine {
        let ends = a.engine_air_loss_low_percent.zip(a.engine_air_loss_high_percent);
        row.push(match (a.engine_air_loss_percent, ends) {
            (Some(_), Some((low, high))) if low != high => format!(
                "{} to {} %",
                show_number(-low, Digits::Decimals(2)),
                show_number(-high, Digits::Decimals(2))
            ),
            (Some(loss), _) => format!("{} %", show_number(-loss, Digits::Decimals(2))),
            (None, _) => dash(),
        });
    }
    row
}

fn flow(out: &Output, flow_m3_s: f64) -> String {
    flow_like(out, flow_m3_s, Dimension::Flow, 1)
}

fn flow_like(out: &Output, si: f64, dimension: Dimension, decimals: u32) -> String {
    show(si, usual(dimension, out.system), Digits::Decimals(decimals))
}

fn percent(value: f64) -> String {
    format!("{} %", show_number(value, Digits::Significant(2)))
}

pub(crate) fn explanation(explained: &Explanation, out: &mut Output) {
    out.wrapped("", &explained.what);
    if let Some(from) = &explained.from {
        out.wrapped("from ", from);
    }
    out.line("");
    let rows: Vec<Vec<String>> = explained
        .steps
        .iter()
        .map(|step| {
            let (value, u) = person_units(step.value, step.standard_uncertainty, &step.unit, out);
            vec![step.name.clone(), value, u, step.formula.clone(), step.source.clone()]
        })
        .collect();
    out.table(&["step", "value", "u", "how", "source"], &rows);
    for caution in &explained.cautions {
        out.wrapped("caution: ", caution);
    }
}

fn person_units(value: f64, u: Option<f64>, si_unit: &str, out: &Output) -> (String, String) {
    let unit = Unit::from_symbol(si_unit)
        .map(|si| usual(si.dimension(), out.system))
        .filter(|_| si_unit != "%" && si_unit != "1");
    match unit {
        Some(unit) => (
            show(value, unit, Digits::Significant(5)),
            u.map_or(String::new(), |u| show_number(u / unit.factor(), Digits::Significant(2))),
        ),
        None => (
            format!("{} {si_unit}", show_number(value, Digits::Significant(5))).replace(" 1", ""),
            u.map_or(String::new(), |u| show_number(u, Digits::Significant(2))),
        ),
    }
}
