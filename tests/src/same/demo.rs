//! The demo: made, looked at, its old notebook imported, faults mended, parts changed; then carried to another device.

use super::everything::look;
use super::script::{Script, each, text};
use serde_json::{Value, json};

/// Makes the demo and does to it what its screens can; gives all of it in one file.
pub fn made_and_changed(script: &mut Script) -> Vec<u8> {
    for demo in [false, true] {
        script.ask(json!({ "place": "device", "ask": "start", "demo": demo }));
    }
    script.ask(json!({ "place": "device", "ask": "begin", "demo": true }));
    notebook(script);
    look(script, true);
    mended(script);
    changed(script);
    script.give(json!({ "place": "device", "ask": "export" }), &[]).1.unwrap_or_default()
}

/// Makes a shelf of that file and looks at it.
pub fn brought_back(script: &mut Script, packed: &[u8]) {
    script.give(json!({ "place": "device", "ask": "restore" }), &[packed]);
    script.ask(json!({ "place": "device", "ask": "start", "demo": false }));
    look(script, false);
}

fn notebook(script: &mut Script) {
    let names = script.ask(json!({ "place": "records", "ask": "demo-notebook", "file": null }));
    let mut files = Vec::new();
    for (at, name) in each(&names).enumerate() {
        let (_, bytes) = script.give(json!({ "place": "records", "ask": "demo-notebook", "file": at }), &[]);
        files.push((text(name).to_owned(), bytes.unwrap_or_default()));
    }
    for (name, bytes) in &files {
        shown(script, name, bytes);
    }
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    let attached: Vec<&[u8]> = files.iter().map(|(_, bytes)| bytes.as_slice()).collect();
    script.give(json!({ "place": "records", "ask": "import", "names": names }), &attached);
    let again = &attached[..1];
    script.give(json!({ "place": "records", "ask": "import", "names": names[..1] }), again);
}

/// Looks at a sheet before anything is kept of it.
pub fn shown(script: &mut Script, name: &str, bytes: &[u8]) {
    let run = script.give(json!({ "place": "records", "ask": "dry-run", "names": [name] }), &[bytes]).0;
    for table in 0..each(&run["files"][0]["tables"]).count() {
        for from in [0, 25] {
            let asked = json!({
                "place": "records", "ask": "sheet-rows", "name": name, "table": table, "from": from, "count": 50,
            });
            script.give(asked, &[bytes]);
        }
    }
}

/// Does about each kind of fault what can be done about it.
pub fn mended(script: &mut Script) {
    let all = json!({
        "place": "records", "ask": "audit", "session": null, "severity": null, "rule": null, "from": 0, "count": 500,
    });
    let faults = script.ask(all);
    let mut done: Vec<(&str, bool)> = Vec::new();
    for fault in each(&faults["faults"]) {
        let choices = each(&fault["choices"]).count();
        let kind = (text(&fault["rule"]), choices > 0);
        if done.iter().filter(|one| **one == kind).count() >= 2 {
            continue;
        }
        done.push(kind);
        let (subject, rule) = (&fault["subject"], &fault["rule"]);
        if choices == 0 {
            script.ask(json!({
                "place": "records", "ask": "let-stand", "subject": subject, "rule": rule, "reason": "looked at it twice",
            }));
        } else {
            script.ask(json!({
                "place": "records", "ask": "repair", "subject": subject, "rule": rule, "choice": choices - 1,
            }));
        }
    }
    let aside = script.ask(json!({ "place": "records", "ask": "quarantine", "from": 0, "count": 3 }));
    for row in each(&aside["rows"]) {
        script.ask(json!({ "place": "records", "ask": "dismiss", "id": row["id"] }));
    }
    let files = script.ask(json!({ "place": "records", "ask": "files" }));
    let taken =
        script.ask(json!({ "place": "records", "ask": "take-back", "file": files["files"][0]["id"] }));
    script.ask(json!({ "place": "entry", "ask": "undo", "change": taken["change"] }));
    script.ask(json!({ "place": "records", "ask": "take-back", "file": files["files"][1]["id"] }));
}

fn changed(script: &mut Script) {
    let page = script.ask(json!({
        "place": "shelf", "ask": "parts", "text": "", "kind": null, "status": null, "from": 0, "count": 500,
    }));
    for card in each(&page["parts"]).take(6) {
        let id = &card["id"];
        script.ask(json!({
            "place": "shelf", "ask": "edit", "kind": "part", "id": id, "fields": [["place", "hook by the door"], ["price", "12.50"]],
        }));
        let new = json!({
            "place": "shelf", "ask": "new-revision", "part": id, "label": null, "change": "1/8 in off the edge",
            "revised": "2025-11-20", "sizes": [{ "dimension": "height", "text": "2 7/8", "source": "measured", "uncertainty_si": null }],
        });
        script.ask(new);
        script.ask(json!({
            "place": "shelf", "ask": "new-service", "revision": card["revision"], "kind": "washed",
            "fields": [["date", "2025-11-21"], ["note", "dried overnight"]],
        }));
    }
    let evenings = script.ask(json!({ "place": "bench", "ask": "evenings" }));
    let ask = |ask: &str, session: &Value| json!({ "place": "bench", "ask": ask, "session": session });
    for evening in each(&evenings).take(2) {
        script.ask(ask("reopen-evening", &evening["id"]));
        script.ask(ask("close-evening", &evening["id"]));
    }
}
