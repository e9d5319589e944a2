//! Everything that can be looked at on a shelf, one by one.

use super::script::{Script, each, text};
use airshelf_app::Shelf;
use airshelf_app::units::Dimension;
use airshelf_catalog::{
    Assembly, Engine, Entity, Listing, Part, PartDimension, PartKind, PartStatus, Revision, Run, Session,
    Uuid, Vehicle,
};
use serde_json::{Value, json};

fn ids<E: Entity>(shelf: &Shelf, every: usize) -> Vec<Uuid> {
    let rows = shelf.store().load::<E>().expect("the shelf can be read");
    rows.iter().step_by(every).map(Entity::id).collect()
}

/// Looks at everything on the open shelf.
pub fn look(script: &mut Script, demo: bool) {
    let shelf = script.beside(demo);
    device(script);
    parts(script, &shelf);
    assemblies(script, &shelf);
    evenings(script, &shelf);
    findings(script, &shelf);
    records(script, &shelf);
    typed(script);
}

fn device(script: &mut Script) {
    for ask in ["state", "check", "conflicts"] {
        script.ask(json!({ "place": "device", "ask": ask }));
    }
    script.ask(json!({ "place": "device", "ask": "history", "count": 1000 }));
}

fn page(text: &str, kind: Option<PartKind>, status: Option<PartStatus>) -> Value {
    let (kind, status) = (kind.map(PartKind::name), status.map(PartStatus::name));
    json!({ "place": "shelf", "ask": "parts", "text": text, "kind": kind, "status": status, "from": 0, "count": 500 })
}

fn parts(script: &mut Script, shelf: &Shelf) {
    for text in [
        "paper 14 x 3, neck 5-1/8",
        "14 x 3",
        "neck 5 1/8",
        "lid",
        "quarry",
        "\"",
        "74 mm",
        "x 3",
        "3/8 in radius",
    ] {
        script.ask(page(text, None, None));
    }
    let kinds = || PartKind::ALL.iter().copied();
    for kind in kinds() {
        script.ask(page("", Some(kind), None));
        script.ask(json!({ "place": "shelf", "ask": "dimensions", "kind": kind.name() }));
    }
    script.ask(json!({ "place": "shelf", "ask": "dimensions", "kind": null }));
    for status in PartStatus::ALL.iter().copied() {
        script.ask(page("", None, Some(status)));
    }
    script.ask(json!({ "place": "shelf", "ask": "parts", "text": "", "kind": null, "status": null, "from": 7, "count": 3 }));
    let all = script.ask(page("", None, None));
    for card in each(&all["parts"]) {
        script.ask(page(text(&card["tag"]), None, None));
    }
    for id in ids::<Part>(shelf, script.every) {
        let sheet = script.ask(json!({ "place": "shelf", "ask": "part", "id": id }));
        script.ask(json!({ "place": "shelf", "ask": "tested-part", "id": id }));
        script.ask(
            json!({ "place": "shelf", "ask": "assemblies", "text": "", "with": id, "from": 0, "count": 100 }),
        );
        script.ask(json!({ "place": "shelf", "ask": "photos", "subject": id }));
        let sizes: Vec<Value> = each(&sheet["revisions"][0]["sizes"])
            .map(|size| json!({ "dimension": size["dimension"], "text": size["written"], "source": null, "uncertainty_si": null }))
            .collect();
        script.ask(json!({ "place": "shelf", "ask": "alike", "kind": sheet["kind"], "sizes": sizes }));
    }
    for id in ids::<Revision>(shelf, script.every).into_iter().chain(ids::<Listing>(shelf, script.every)) {
        let photos = script.ask(json!({ "place": "shelf", "ask": "photos", "subject": id }));
        for photo in each(&photos) {
            for small in [false, true] {
                script.ask(
                    json!({ "place": "shelf", "ask": "photo", "sha256": photo["sha256"], "small": small }),
                );
            }
        }
    }
    for dimension in PartDimension::ALL {
        for text in ["2 15/16", "57mm", "0.125 in", "40", "1-1/8\"", "3,5", ""] {
            let size = json!({ "dimension": dimension.name(), "text": text, "source": "measured", "uncertainty_si": 0.0002 });
            script.ask(json!({ "place": "shelf", "ask": "read-size", "size": size }));
            script.ask(json!({ "place": "shelf", "ask": "alike", "kind": null, "sizes": [size] }));
        }
    }
    for (quarter, depths, heights) in [
        (57, &["3/4", "0.76", "19 mm"][..], &["2 3/4", "2.71", "2-11/16"][..]),
        (0, &[], &[]),
        (41, &["20 mm"], &[]),
    ] {
        script.ask(json!({ "place": "shelf", "ask": "pleats", "quarter": quarter, "depths": depths, "free_heights": heights }));
    }
}

fn assemblies(script: &mut Script, shelf: &Shelf) {
    let vehicles: Vec<Option<Uuid>> = ids::<Vehicle>(shelf, 1).into_iter().map(Some).chain([None]).collect();
    script.ask(json!({ "place": "shelf", "ask": "vehicles" }));
    let offered = script.ask(json!({ "place": "bench", "ask": "offered" }));
    let items: Vec<Value> =
        each(&offered["items"]).map(|item| item["id"].clone()).chain([Value::Null]).collect();
    for text in ["", "lid", "PF-1 LD-2"] {
        script.ask(json!({ "place": "shelf", "ask": "assemblies", "text": text, "with": null, "from": 0, "count": 100 }));
    }
    for id in ids::<Assembly>(shelf, script.every) {
        script.ask(json!({ "place": "shelf", "ask": "tested-assembly", "id": id }));
        for (item, vehicle) in
            items.iter().flat_map(|item| vehicles.iter().map(move |vehicle| (item, vehicle)))
        {
            let sheet = script.ask(
                json!({ "place": "shelf", "ask": "assembly", "id": id, "item": item, "vehicle": vehicle }),
            );
            script.ask(json!({ "place": "shelf", "ask": "section", "assembly": id, "item": item, "vehicle": vehicle }));
            let layers: Vec<&Value> =
                each(&sheet["section"]["layers"]).map(|layer| &layer["revision"]).collect();
            script.ask(json!({ "place": "shelf", "ask": "section-of", "layers": layers, "item": item, "vehicle": vehicle }));
        }
    }
}

fn evenings(script: &mut Script, shelf: &Shelf) {
    for ask in ["evenings", "benches", "offered"] {
        script.ask(json!({ "place": "bench", "ask": ask }));
    }
    for session in ids::<Session>(shelf, script.every) {
        script.ask(json!({ "place": "bench", "ask": "evening", "session": session }));
        for (kind, text) in
            [(None, ""), (Some(PartKind::Lid), ""), (Some(PartKind::Filter), "paper"), (None, "BS")]
        {
            let kind = kind.map(PartKind::name);
            script.ask(
                json!({ "place": "bench", "ask": "choices", "session": session, "kind": kind, "text": text }),
            );
        }
    }
}

fn findings(script: &mut Script, shelf: &Shelf) {
    let engines = ids::<Engine>(shelf, 1);
    for from in [0, 3] {
        script.ask(json!({ "place": "findings", "ask": "sessions", "from": from, "count": 100 }));
    }
    for session in ids::<Session>(shelf, script.every) {
        script.ask(json!({ "place": "findings", "ask": "gist", "session": session }));
        let finding = script.ask(json!({
            "place": "findings", "ask": "finding", "session": session, "dont_care": "1%", "engine": engines.first(),
        }));
        script.ask(json!({ "place": "findings", "ask": "finding", "session": session, "dont_care": null, "engine": null }));
        for engine in &engines {
            script.ask(json!({ "place": "findings", "ask": "engine", "session": session, "engine": engine }));
        }
        for (at, group) in each(&finding["groups"]).enumerate() {
            script.ask(
                json!({ "place": "findings", "ask": "behind", "session": session, "group": at, "row": null }),
            );
            let rows: Vec<&Value> = each(&group["rows"]).map(|row| &row["key"]).collect();
            for row in &rows {
                script.ask(json!({ "place": "findings", "ask": "behind", "session": session, "group": at, "row": row }));
            }
            for two in rows.windows(2) {
                script.ask(json!({
                    "place": "findings", "ask": "pair", "session": session, "group": at, "a": two[0], "b": two[1],
                    "dont_care": "0.5%", "engine": engines.first(),
                }));
            }
        }
    }
    for run in ids::<Run>(shelf, script.every) {
        script.ask(json!({ "place": "findings", "ask": "explain", "run": run }));
    }
}

fn audited(session: Option<Uuid>, severity: Option<&str>, rule: Option<&Value>) -> Value {
    json!({
        "place": "records", "ask": "audit", "session": session, "severity": severity, "rule": rule, "from": 0, "count": 500,
    })
}

fn records(script: &mut Script, shelf: &Shelf) {
    script.ask(json!({ "place": "records", "ask": "files" }));
    script.ask(json!({ "place": "records", "ask": "quarantine", "from": 0, "count": 500 }));
    let all = script.ask(audited(None, None, None));
    for severity in ["block", "warn", "inform"] {
        script.ask(audited(None, Some(severity), None));
    }
    for rule in each(&all["rules"]) {
        script.ask(audited(None, None, Some(&rule["rule"])));
    }
    for session in ids::<Session>(shelf, script.every) {
        script.ask(audited(Some(session), None, None));
    }
}

fn typed(script: &mut Script) {
    for dimension in Dimension::ALL {
        for text in [
            "2 15/16",
            "3,5",
            "1e3",
            "57mm",
            "5.5 inH2O",
            "3.5 kPa",
            "71 °F",
            "300 CFM",
            "0.4 %",
            "4200 rpm",
            "-1",
            "",
        ] {
            let name = dimension.name();
            script.ask(
                json!({ "place": "entry", "ask": "read", "text": text, "dimension": name, "unit": null }),
            );
        }
    }
    for (text, dimension, unit) in [
        ("2-1/4", "length", "in"),
        ("57", "length", "mm"),
        ("28", "pressure", "inH2O"),
        ("9", "length", "CFM"),
    ] {
        script.ask(
            json!({ "place": "entry", "ask": "read", "text": text, "dimension": dimension, "unit": unit }),
        );
    }
}
