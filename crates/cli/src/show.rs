//! Answers as tables and sentences for a person.

use crate::output::Output;
use airshelf_app::conflicts::ConflictCard;
use airshelf_app::entry::{Changed, FieldHelp, Shown};
use airshelf_app::explain::Explanation;
use airshelf_app::keep::{BackupReport, CheckReport, HistoryReport, UndoReport};
use airshelf_app::photos::PhotoReport;
use airshelf_app::report::{AssemblyReport, Comparison, GroupReport, SessionReport};
use airshelf_app::sentences;
use airshelf_app::units::{Digits, Dimension, Unit, show, show_number, usual};
use airshelf_app::{EntityKind, FaultReport, Found, ImportReport, QuarantineReport};
use serde_json::json;
use std::path::Path;

/// Rows and cells set aside of one file shown in an import.
const QUARANTINED_SHOWN: usize = 20;
/// Faults of one file shown in an import; the audit shows all.
const FAULTS_SHOWN: usize = 12;

pub(crate) fn imported(report: &ImportReport, out: &mut Output) {
    for file in &report.files {
        out.line(&file.file);
        if let Some(error) = &file.error {
            out.wrapped("  not taken: ", &error.message);
            if let Some(hint) = &error.hint {
                out.wrapped("    ", hint);
            }
            continue;
        }
        let rows = &file.rows;
        let mut said =
            vec![format!("{} read", count(rows.read, "row", "rows")), format!("{} taken", rows.taken)];
        if rows.already > 0 {
            said.push(format!("{} on the shelf already", rows.already));
        }
        if rows.quarantined > 0 {
            said.push(format!("{} set aside", count(rows.quarantined, "row", "rows")));
        }
        if rows.cells > 0 {
            said.push(format!("{} set aside", count(rows.cells, "cell", "cells")));
        }
        if file.runs > 0 {
            said.push(count(file.runs, "run", "runs"));
        }
        if file.parts > 0 {
            said.push(count(file.parts, "part", "parts"));
        }
        out.wrapped("  ", &said.join(", "));
        for table in &file.tables {
            let sheet = table.sheet.as_deref().map_or(String::new(), |s| format!("sheet {s}, "));
            out.wrapped("  ", &format!("{sheet}header in row {}: {}", table.header_row, table.layout));
            let columns: Vec<String> = table
                .columns
                .iter()
                .map(|c| {
                    let unit = c.unit.as_deref().map_or(String::new(), |u| format!(" [{u}]"));
                    let sure = if c.confidence < 0.8 {
                        format!(" ({:.0} % sure)", 100.0 * c.confidence)
                    } else {
                        String::new()
                    };
                    match &c.field {
                        Some(field) => format!("{} → {field}{unit}{sure}", c.header),
                        None => format!("{} → left out", c.header),
                    }
                })
                .collect();
            out.wrapped("    ", &columns.join("; "));
        }
        for headers in &file.headers_only {
            let sheet = headers.sheet.as_deref().map_or(String::new(), |s| format!("sheet {s}, "));
            out.wrapped(
                "  ",
                &format!("{sheet}row {} has headers and no row of data below them", headers.row),
            );
        }
        for held in file.quarantined.iter().take(QUARANTINED_SHOWN) {
            set_aside(&file.file, held, out);
        }
        if file.quarantined.len() > QUARANTINED_SHOWN {
            out.wrapped(
                "  … ",
                &format!(
                    "and {} more set aside; --json lists all, and `airshelf quarantine list` once they are kept.",
                    file.quarantined.len() - QUARANTINED_SHOWN
                ),
            );
        }
        faults(&file.faults, FAULTS_SHOWN, out);
        out.line("");
    }
    match (report.written, report.failed()) {
        (true, false) => out.wrapped("", "Kept. Originals are unchanged; importing again adds nothing."),
        (true, true) => out.wrapped("", "The files named above were not kept; the others were."),
        (false, _) => out.wrapped("", "Nothing was written: this was a dry run. Say --write to keep it."),
    }
}

/// A row or cell that was not taken, where it stands and why.
fn set_aside(file: &str, held: &QuarantineReport, out: &mut Output) {
    let sheet = held.sheet.as_deref().map_or(String::new(), |s| format!(", sheet {s}"));
    let row = held.row.map_or(String::new(), |r| format!(", row {r}"));
    let column = held.column.as_deref().map_or(String::new(), |c| format!(", column {c}"));
    let raw = held.raw.as_deref().filter(|_| held.column.is_some()).filter(|raw| !raw.trim().is_empty());
    let raw = raw.map_or(String::new(), |raw| format!(" “{raw}”"));
    let why = held.reason.as_deref().unwrap_or("could not be read");
    out.wrapped("  set aside: ", &format!("{file}{sheet}{row}{column}{raw}: {why}"));
}

pub(crate) fn faults(faults: &[FaultReport], most: usize, out: &mut Output) {
    if faults.is_empty() {
        out.wrapped("  ", "No faults found.");
        return;
    }
    let mut file = None;
    for fault in faults.iter().take(most) {
        if most == usize::MAX && file != Some(&fault.file) {
            out.line(fault.file.as_deref().unwrap_or("typed on this shelf"));
            file = Some(&fault.file);
        }
        let severity = json!(fault.severity);
        let row = fault.row.map(|r| format!("row {r}"));
        let at: Vec<String> = [fault.sheet.clone(), row, fault.about.clone(), fault.column.clone()]
            .into_iter()
            .flatten()
            .collect();
        let at = if at.is_empty() { String::new() } else { format!(" — {}", at.join(", ")) };
        out.wrapped(
            &format!("  {:<6} ", severity.as_str().unwrap_or("")),
            &format!("{}{at}: {}", fault.rule, fault.why),
        );
        if let Some(repair) = &fault.repair {
            out.wrapped("         repair: ", repair);
        }
    }
    if faults.len() > most {
        out.wrapped(
            "  … ",
            &format!("and {} more; `airshelf audit` lists all once they are kept.", faults.len() - most),
        );
    }
    if most == usize::MAX {
        let of = |severity: &str| faults.iter().filter(|f| json!(f.severity) == severity).count();
        out.line("");
        out.line(&format!(
            "{}: {} block, {} warn, {} inform.",
            count(faults.len(), "fault", "faults"),
            of("block"),
            of("warn"),
            of("inform")
        ));
    }
}

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

pub(crate) fn found(found: &Found, out: &mut Output) {
    if found.hits.is_empty() {
        out.wrapped("", "Nothing on this shelf matches.");
        return;
    }
    let rows: Vec<Vec<String>> = found
        .hits
        .iter()
        .map(|hit| {
            let sessions = match hit.sessions.len() {
                0 => String::new(),
                n if n > 3 => format!("{} and {} more", hit.sessions[..3].join(", "), n - 3),
                _ => hit.sessions.join(", "),
            };
            vec![hit.kind.to_owned(), hit.name.clone(), hit.about.clone(), sessions]
        })
        .collect();
    out.table(&["what", "name", "about", "tested in"], &rows);
}

pub(crate) fn list(kind: EntityKind, rows: Vec<Shown>, out: &mut Output) {
    if out.json {
        let list: Vec<_> = rows.into_iter().map(|row| row.json).collect();
        out.document(&json!({ kind.table(): list }));
        return;
    }
    if rows.is_empty() {
        out.wrapped("", "None yet.");
        return;
    }
    let rows: Vec<Vec<String>> = rows
        .iter()
        .map(|row| {
            let id = row.json.get("id").and_then(|id| id.as_str()).unwrap_or("").chars().take(13).collect();
            let skip = |name: &str| matches!(name, "table" | "row" | "column" | "only named" | "source note");
            let mut lines = row.lines.iter().filter(|(name, _)| !skip(name));
            let first = lines.next().map(|(_, text)| text.clone()).unwrap_or_default();
            let rest: Vec<String> = lines.map(|(name, text)| format!("{name} {text}")).collect();
            vec![first, rest.join(", "), id]
        })
        .collect();
    out.table(&[], &rows);
}

pub(crate) fn row(row: &Shown, out: &mut Output) {
    let rows: Vec<Vec<String>> =
        row.lines.iter().map(|(name, text)| vec![name.clone(), text.clone()]).collect();
    out.table(&[], &rows);
    if let Some(id) = row.json.get("id").and_then(|id| id.as_str()) {
        out.line(&format!("id  {id}"));
    }
}

pub(crate) fn fields(help: &[FieldHelp], out: &mut Output) {
    let rows: Vec<Vec<String>> = help.iter().map(|f| vec![f.name.to_owned(), f.takes.clone()]).collect();
    out.table(&["field", "takes"], &rows);
}

pub(crate) fn changed(what: &str, changed: &Changed, out: &mut Output) {
    match changed.change {
        Some(number) => {
            out.wrapped("", &format!("{what}: {}. Undo with `airshelf undo {number}`.", changed.id));
        }
        None => out.wrapped("", &format!("Nothing came to be changed: {}.", changed.id)),
    }
}

pub(crate) fn history(history: &[HistoryReport], out: &mut Output) {
    let rows: Vec<Vec<String>> = history
        .iter()
        .map(|h| {
            // Another device's changes are taken back there.
            let number = if h.here { h.number.to_string() } else { String::new() };
            vec![number, h.wall.clone(), h.from.clone(), h.label.clone(), count(h.rows, "row", "rows")]
        })
        .collect();
    out.table(&["number", "when", "where", "what", ""], &rows);
}

pub(crate) fn undone(undone: &UndoReport, out: &mut Output) {
    out.wrapped("", &format!("Undone: {}.", count(undone.rows, "row", "rows")));
    for kept in &undone.kept {
        out.wrapped("  left as it is: ", kept);
    }
}

pub(crate) fn conflicts(list: &[ConflictCard], out: &mut Output) {
    if list.is_empty() {
        out.wrapped("", "No value was changed apart.");
        return;
    }
    for conflict in list {
        out.wrapped("", &format!("{}. {}: {}", conflict.number, conflict.name, conflict.field));
        for (value, one) in conflict.values.iter().enumerate() {
            out.wrapped(
                &format!("   {}) ", value + 1),
                &format!("{}   {}, {}", one.text, one.from, one.when),
            );
        }
    }
    out.wrapped(
        "",
        "Settle one with `airshelf conflicts settle NUMBER VALUE`, where VALUE is 1) or 2) beside it.",
    );
}

pub(crate) fn checked(checked: &CheckReport, out: &mut Output) {
    for line in &checked.said {
        out.wrapped("  ", line);
    }
    out.wrapped("", if checked.sound { "The shelf is sound." } else { "The shelf is not sound: see above." });
}

/// A number with its noun.
fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

pub(crate) fn backed_up(file: &Path, made: &BackupReport, out: &mut Output) {
    let blobs = count(made.blobs, "photo or original", "photos and originals");
    let path = file.display();
    match made.blobs_not_here {
        0 => out.wrapped(
            "",
            &format!("{path} holds the whole shelf, {blobs}, {} bytes, and was read back.", made.bytes),
        ),
        missing => {
            out.wrapped(
                "",
                &format!("{path} holds the shelf with {blobs}, {} bytes, and was read back.", made.bytes),
            );
            let missing = count(missing, "photo or original that", "photos and originals that");
            out.wrapped(
                "  ",
                &format!("It lacks {missing} this device does not have: `airshelf check` names them."),
            );
        }
    }
}

pub(crate) fn photos(list: &[PhotoReport], out: &mut Output) {
    if list.is_empty() {
        out.wrapped("", "No photos.");
        return;
    }
    let rows: Vec<Vec<String>> = list
        .iter()
        .map(|p| {
            vec![
                p.tag.clone().unwrap_or_default(),
                p.file_name.clone().unwrap_or_default(),
                p.role.unwrap_or("").to_owned(),
                format!("{} kB", p.size_bytes.unwrap_or(0) / 1000),
                p.state.to_owned(),
            ]
        })
        .collect();
    out.table(&["part", "file", "shows", "size", ""], &rows);
}
