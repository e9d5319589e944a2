//! Answers as tables and sentences for a person.

mod aside;
mod comparison;
mod sheets;

pub(crate) use aside::{aside, mended};
pub(crate) use comparison::{comparison, explanation};
pub(crate) use sheets::{faults, imported};

use crate::output::Output;
use airshelf_app::conflicts::ConflictCard;
use airshelf_app::entry::{Changed, FieldHelp, Shown};
use airshelf_app::keep::{BackupReport, CheckReport, HistoryReport, UndoReport};
use airshelf_app::photos::PhotoReport;
use airshelf_app::{EntityKind, Found};
use serde::{Serialize, Serializer};
use std::cell::RefCell;
use std::path::Path;

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

/// Rows under the name of their kind, written as they are made.
struct Listed<'r>(EntityKind, RefCell<&'r mut dyn Iterator<Item = Shown>>);

impl Serialize for Listed<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map([(self.0.table(), Rows(&self.1))])
    }
}

struct Rows<'l, 'r>(&'l RefCell<&'r mut dyn Iterator<Item = Shown>>);

impl Serialize for Rows<'_, '_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut rows = self.0.borrow_mut();
        serializer.collect_seq(std::iter::from_fn(|| rows.next()).map(|row| row.json))
    }
}

pub(crate) fn list(kind: EntityKind, rows: &mut dyn Iterator<Item = Shown>, out: &mut Output) {
    if out.json {
        return out.document(&Listed(kind, RefCell::new(rows)));
    }
    let rows: Vec<Vec<String>> = rows
        .map(|row| {
            let id = row.json.get("id").and_then(|id| id.as_str()).unwrap_or("").chars().take(13).collect();
            // Where something stands that was set aside is what a person looks for; elsewhere it is in the way.
            let skip = |name: &str| match name {
                "table" | "row" => kind != EntityKind::Quarantined,
                "raw" => kind == EntityKind::Quarantined,
                name => matches!(name, "column" | "only named" | "source note" | "repaired" | "mended"),
            };
            let mut lines = row.lines.iter().filter(|(name, _)| !skip(name));
            let first = lines.next().map(|(_, text)| text.clone()).unwrap_or_default();
            let rest: Vec<String> = lines.map(|(name, text)| format!("{name} {text}")).collect();
            vec![first, rest.join(", "), id]
        })
        .collect();
    if rows.is_empty() {
        return out.wrapped("", "None yet.");
    }
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
    if undone.stay > 0 {
        let (stay, them) = if undone.stay == 1 { ("stays", "it") } else { ("stay", "them") };
        let rows = count(undone.stay, "row", "rows");
        out.wrapped(
            "",
            &format!("{rows} of it {stay}: another file has {them}, or something in sight needs {them}."),
        );
    }
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
