//! Imports and audits.

use super::count;
use crate::output::Output;
use airshelf_app::{FaultReport, ImportReport, QuarantineReport};
use serde_json::json;

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
