//! A shelf of one's own from nothing: parts, photos, an evening, old sheets, a hub and a conflict with it.

use super::demo::{mended, shown};
use super::everything::look;
use super::hub::Hub;
use super::script::{Script, each};
use airshelf_app::EntityKind;
use serde_json::{Value, json};
use std::path::Path;

/// Does everything on it that a screen can do.
pub fn from_nothing(script: &mut Script, hub: &Path) {
    script.ask(json!({ "place": "device", "ask": "start", "demo": false }));
    script.ask(json!({ "place": "device", "ask": "begin", "demo": false }));
    look(script, false);
    let revisions = shelf(script);
    photos(script, &revisions[0]);
    rows(script);
    evening(script, &revisions);
    by_hand(script);
    sheets(script);
    together(script, &mut Hub::new(hub));
    look(script, false);
    script.give(json!({ "place": "device", "ask": "export" }), &[]);
}

fn size(dimension: &str, text: &str) -> Value {
    json!({ "dimension": dimension, "text": text, "source": "measured", "uncertainty_si": null })
}

/// Parts of a stack with a carburetor under it; gives their revisions.
fn shelf(script: &mut Script) -> Vec<Value> {
    let mut revisions = Vec::new();
    for (tag, kind, sizes) in [
        ("CB-1", "carburetor", vec![size("register", "5 1/8")]),
        (
            "BS-1",
            "base",
            vec![size("OD", "14"), size("neck bore", "5-1/8"), size("drop", "7/8"), size("height", "1.1")],
        ),
        (
            "FF-1",
            "filter",
            vec![
                size("OD", "14"),
                size("ID", "11.9 in"),
                size("height", "76 mm"),
                size("pleat count", "230"),
                size("pleat depth", "3/4"),
                size("pleat free height", "2.7"),
            ],
        ),
        ("LD-1", "lid", vec![size("OD", "14"), size("height", "5/16")]),
        ("LD-2", "lid", vec![size("OD", "13.9"), size("height", "0.3")]),
        ("ST-1", "stud", vec![size("stud length", "5.25")]),
    ] {
        let fields =
            [["name", "found in a box"], ["maker", "nobody knows"], ["place", "shelf 2"], ["price", "7.25"]];
        let listing = if kind == "filter" {
            json!([["seller", "swap meet"], ["price", "9"], ["seen", "2025-11-01"]])
        } else {
            json!([])
        };
        let new = json!({
            "place": "shelf", "ask": "new-part", "tag": tag, "kind": kind, "status": "owned", "fields": fields,
            "sizes": sizes, "listing": listing,
        });
        let part = script.ask(new)["id"].clone();
        let sheet = script.ask(json!({ "place": "shelf", "ask": "part", "id": part }));
        revisions.push(sheet["revision"].clone());
    }
    script.ask(json!({ "place": "shelf", "ask": "measure", "revision": revisions[3], "size": size("mass", "410 g") }));
    script.ask(json!({
        "place": "shelf", "ask": "new-service", "revision": revisions[2], "kind": "oiled", "fields": [["date", "2025-11-02"]],
    }));
    let layers = &revisions[1..4];
    let made =
        script.ask(json!({ "place": "shelf", "ask": "new-assembly", "layers": layers, "name": "the usual" }));
    let vehicle = script.ask(json!({
        "place": "shelf", "ask": "new-vehicle",
        "fields": [["name", "the hauler"], ["hood_height", "5 1/4"], ["wanted_clearance", "3/4"]],
    }));
    let edit = |kind: &str, id: &Value, field: &str, text: &str| json!({ "place": "shelf", "ask": "edit", "kind": kind, "id": id, "fields": [[field, text]] });
    script.ask(edit("assembly", &made["id"], "name", "the usual, taped"));
    script.ask(edit("vehicle", &vehicle["id"], "hood_height", "5.3"));
    revisions
}

fn photos(script: &mut Script, subject: &Value) {
    let picture = image::RgbImage::from_fn(900, 700, |x, y| {
        image::Rgb([(x * y % 251) as u8, (x / 3 % 256) as u8, ((x ^ y) % 256) as u8])
    });
    let packed = |format| {
        let mut bytes = std::io::Cursor::new(Vec::new());
        picture.write_to(&mut bytes, format).expect("a picture can be packed");
        bytes.into_inner()
    };
    let files = [
        packed(image::ImageFormat::Jpeg),
        packed(image::ImageFormat::Png),
        packed(image::ImageFormat::WebP),
        b"no photo".to_vec(),
    ];
    let attached: Vec<&[u8]> = files.iter().map(Vec::as_slice).collect();
    let asked = json!({
        "place": "shelf", "ask": "add-photos", "subject": subject, "role": "neck",
        "names": ["a.jpg", "b.png", "c.webp", "d.jpg"],
    });
    script.give(asked, &attached);
    let photos = script.ask(json!({ "place": "shelf", "ask": "photos", "subject": subject }));
    for photo in each(&photos) {
        for small in [true, false] {
            script
                .ask(json!({ "place": "shelf", "ask": "photo", "sha256": photo["sha256"], "small": small }));
        }
    }
    script.ask(json!({ "place": "shelf", "ask": "edit", "kind": "photo", "id": photos[0]["id"], "fields": [["note", "by the window"]] }));
    script.ask(json!({ "place": "shelf", "ask": "remove-photo", "id": photos[1]["id"] }));
}

fn rows(script: &mut Script) {
    let added = script.ask(json!({
        "place": "entry", "ask": "add", "kind": "engine",
        "fields": [["name", "the six"], ["displacement", "250 in3"], ["volumetric_efficiency", "78%"], ["speed", "4200 rpm"], ["highest_speed", "5000 rpm"]],
    }));
    let which = added["id"].clone();
    script.ask(json!({ "place": "entry", "ask": "change", "kind": "engine", "which": which, "fields": [["note", "two-barrel"]] }));
    let person =
        script.ask(json!({ "place": "entry", "ask": "add", "kind": "person", "fields": [["name", "Wren"]] }));
    let removed =
        script.ask(json!({ "place": "entry", "ask": "remove", "kind": "person", "which": person["id"] }));
    script.ask(json!({ "place": "entry", "ask": "undo", "change": removed["change"] }));
    script.ask(json!({ "place": "entry", "ask": "add", "kind": "nothing", "fields": [] }));
}

fn evening(script: &mut Script, revisions: &[Value]) {
    let bench = script.ask(json!({
        "place": "bench", "ask": "keep-bench", "id": null, "name": "Old Blue", "meter": "orifice in the same air",
    }));
    let mut ranges = Vec::new();
    for (scale, step, scatter) in [("2 CFM", "0.01", ""), ("300 CFM", "0.5", "0.4 %")] {
        let kept = script.ask(json!({
            "place": "bench", "ask": "keep-range", "id": null, "bench": bench["id"], "full_scale": scale, "step": step,
            "stated_scatter": scatter,
        }));
        ranges.push(kept["id"].clone());
    }
    let new = |name: &str, barometer: &str| {
        json!({
            "name": name, "date": "2025-11-24", "bench": bench["id"], "range": ranges[1], "item": revisions[0],
            "set_pressure": "20", "air_temperature": "71", "barometer": barometer, "humidity": "45",
        })
    };
    let mut open = new("QL-1124", "29.2");
    open["place"] = "bench".into();
    open["ask"] = "open-evening".into();
    let session = script.ask(open)["session"].clone();
    script.ask(json!({ "place": "bench", "ask": "change-evening", "session": session, "to": new("QL-1124", "29.31") }));
    let reading = |purpose: &str, lid: usize, range: Option<&Value>, flow: String, held: Value| {
        let test = purpose == "test";
        let parts =
            if test { json!([revisions[1], revisions[2], revisions[lid], revisions[5]]) } else { json!([]) };
        json!({
            "place": "bench", "ask": "try-reading", "session": session, "purpose": purpose, "parts": parts,
            "restraint": if test { json!("fastened") } else { json!(null) },
            "service": if test { json!("oiled") } else { json!(null) },
            "refitted": true, "range": range, "flow": flow, "held": held,
        })
    };
    let target = json!({ "how": "on-target" });
    let mut readings = vec![
        reading("fixture leakage", 3, Some(&ranges[0]), "1.02".into(), target.clone()),
        reading("closed-throttle leakage", 3, None, "4.1".into(), target.clone()),
        reading("baseline", 3, None, "277.4".into(), target.clone()),
    ];
    for at in 0..4 {
        let held = json!({ "how": "at", "text": format!("{:.2}", 19.9 + 0.07 * f64::from(at)) });
        readings.push(reading("test", 3, None, format!("{:.1}", 251.3 - 0.3 * f64::from(at)), held));
        readings.push(reading(
            "test",
            4,
            None,
            format!("{:.1}", 246.0 + 0.2 * f64::from(at)),
            json!({ "how": "not-read" }),
        ));
    }
    readings.push(reading("baseline", 3, None, "276.8".into(), target.clone()));
    readings.push(reading("test", 3, None, "2513".into(), target));
    for mut asked in readings {
        script.ask(asked.clone());
        asked["ask"] = "keep-reading".into();
        script.ask(asked);
        script.ask(json!({ "place": "bench", "ask": "evening", "session": session }));
    }
    let page = script.ask(json!({ "place": "bench", "ask": "evening", "session": session }));
    let of = |run: usize| page["runs"][run]["readings"][0]["id"].clone();
    script.ask(json!({
        "place": "bench", "ask": "strike-reading", "session": session, "reading": of(0), "reason": "the door stood open",
    }));
    script.ask(json!({ "place": "bench", "ask": "happened", "session": session, "what": "the lid lifted", "reading": of(1) }));
    script.ask(
        json!({ "place": "entry", "ask": "strike", "which": page["runs"][2]["id"], "reason": "a slip" }),
    );
    let ask = |ask: &str| json!({ "place": "bench", "ask": ask, "session": session });
    script.ask(ask("close-evening"));
    script.ask(ask("reopen-evening"));
    script.ask(ask("close-evening"));
}

/// A size that is none and a price below nothing, both put right by hand.
fn by_hand(script: &mut Script) {
    let sheet = "tag;kind;OD (in);ID (in);height (in);price\nPF-31;filter;about nine;7;3;24\nPF-32;filter;9;7;2;-18.5\n";
    let import = json!({ "place": "records", "ask": "import", "names": ["by-hand.csv"] });
    script.give(import, &[sheet.as_bytes()]);
    let aside = script.ask(json!({ "place": "records", "ask": "quarantine", "from": 0, "count": 500 }));
    for row in each(&aside["rows"]).filter(|row| row["raw"] == "about nine") {
        let cells = script.ask(json!({ "place": "records", "ask": "aside", "id": row["id"] }));
        let said: Vec<Value> = each(&cells["cells"])
            .filter(|cell| cell["at_fault"] == true)
            .map(|cell| json!({ "column": cell["column"], "text": "9" }))
            .collect();
        script.ask(json!({ "place": "records", "ask": "take-again", "id": row["id"], "cells": said }));
    }
    let audit = json!({
        "place": "records", "ask": "audit", "session": null, "severity": null, "rule": "out-of-range", "from": 0, "count": 500,
    });
    let faults = script.ask(audit);
    for fault in each(&faults["faults"]).filter(|fault| fault["change"]["field"] == "price") {
        script.ask(json!({
            "place": "records", "ask": "repair-with", "subject": fault["subject"], "rule": fault["rule"], "text": "19.25",
        }));
    }
}

/// The sheets of the project's own fixtures, with their faults.
fn sheets(script: &mut Script) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/sheets/visible");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .expect("the fixtures are there")
        .map(|entry| entry.expect("the fixtures can be listed").path())
        .collect();
    paths.sort();
    for path in paths {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let bytes = std::fs::read(&path).expect("the fixtures can be read");
        shown(script, &name, &bytes);
        script.give(json!({ "place": "records", "ask": "import", "names": [name] }), &[&bytes]);
    }
    mended(script);
}

fn together(script: &mut Script, hub: &mut Hub) {
    let url = "http://localhost:28028";
    script.ask(
        json!({ "place": "device", "ask": "pair", "url": "ftp://nowhere", "code": "1", "name": "phone" }),
    );
    script.ask(json!({ "place": "device", "ask": "pair", "url": url, "code": "123456", "name": "phone" }));
    let done =
        json!({ "key": "a key", "hub": "the shed", "shelf": hub.shelf.store().shelf_id() }).to_string();
    let fetched = json!({ "status": 200, "content_range": null });
    script.give(json!({ "place": "device", "ask": "paired", "fetched": fetched }), &[done.as_bytes()]);
    script.ask(json!({ "place": "device", "ask": "live" }));
    hub.exchange(script);
    let page = script.ask(json!({
        "place": "shelf", "ask": "parts", "text": "LD-1", "kind": null, "status": null, "from": 0, "count": 1,
    }));
    let part = page["parts"][0]["id"].clone();
    for (here, there) in [("bin 1", "bin 2"), ("hook 3", "hook 4")] {
        script.ask(json!({ "place": "shelf", "ask": "edit", "kind": "part", "id": part, "fields": [["place", here]] }));
        hub.tick();
        let there = [("place".to_owned(), there.to_owned())];
        hub.shelf
            .change(EntityKind::Part, part.as_str().unwrap_or_default(), &there)
            .expect("the hub holds the same part");
        hub.exchange(script);
        let open = script.ask(json!({ "place": "device", "ask": "conflicts" }));
        script.ask(json!({ "place": "device", "ask": "settle", "number": open[0]["number"], "value": 1 }));
    }
    hub.exchange(script);
    script.ask(json!({ "place": "device", "ask": "moved", "url": "https://shed.local:28028" }));
    let broken = json!({ "place": "device", "ask": "step", "fetched": null, "name": null });
    script.ask(broken);
    let nothing = json!({ "status": null, "content_range": null });
    script.give(json!({ "place": "device", "ask": "step", "fetched": nothing, "name": null }), &[b""]);
    script.ask(json!({ "place": "device", "ask": "part" }));
    script.ask(json!({ "place": "device", "ask": "live" }));
}
