//! The two lanes on one shelf.

use super::*;
use airshelf_app::Shelf;
use airshelf_app::native::Native;
use serde_json::{Value, json};

struct Bench {
    _folder: tempfile::TempDir,
    places: Places,
    host: Arc<dyn Host>,
    lanes: Lanes,
}

fn bench() -> Bench {
    let folder = tempfile::tempdir().unwrap();
    let places = Places { own: folder.path().join("own"), demo: folder.path().join("demo") };
    let host: Arc<dyn Host> = Arc::new(Native::new(folder.path().join("config")));
    let lanes = Lanes::start(&places, &host, &Arc::default()).unwrap();
    Bench { _folder: folder, places, host, lanes }
}

fn ask(lanes: &Lanes, request: &Value) -> Value {
    let answered = tauri::async_runtime::block_on(lanes.ask(0, request.to_string(), Vec::new()));
    serde_json::from_str(&answered.json).unwrap()
}

#[test]
fn the_long_lane_works_on_the_shelf_that_the_screens_have_open() {
    let bench = bench();
    let check = json!({ "place": "device", "ask": "check" });
    assert_eq!(ask(&bench.lanes, &check)["fault"]["code"], "no-shelf");
    ask(&bench.lanes, &json!({ "place": "device", "ask": "begin", "demo": true }));
    let demo = ask(&bench.lanes, &check)["ok"]["is"]["transactions"].as_u64().unwrap();
    ask(&bench.lanes, &json!({ "place": "device", "ask": "begin", "demo": false }));
    let own = ask(&bench.lanes, &check)["ok"]["is"]["transactions"].as_u64().unwrap();
    assert!(demo > own, "{demo} changes on the demo, {own} on the own shelf");
    ask(&bench.lanes, &json!({ "place": "device", "ask": "start", "demo": true }));
    assert_eq!(ask(&bench.lanes, &check)["ok"]["is"]["transactions"], demo);
}

#[test]
fn a_reading_is_answered_while_the_long_lane_works() {
    let bench = bench();
    ask(&bench.lanes, &json!({ "place": "device", "ask": "begin", "demo": true }));
    tauri::async_runtime::block_on(async {
        let export = json!({ "place": "device", "ask": "export" }).to_string();
        let state = json!({ "place": "device", "ask": "state" }).to_string();
        let mut long = std::pin::pin!(bench.lanes.ask(1, export, Vec::new()));
        let first = tokio::select! {
            biased;
            _ = &mut long => "export",
            _ = bench.lanes.ask(2, state, Vec::new()) => "state",
        };
        assert_eq!(first, "state");
        assert!(long.await.bytes.is_some_and(|file| file.len() > 10_000));
    });
}

#[test]
fn a_stopped_request_keeps_nothing_and_the_next_of_its_number_goes_on() {
    let bench = bench();
    ask(&bench.lanes, &json!({ "place": "device", "ask": "begin", "demo": true }));
    let before = ask(&bench.lanes, &json!({ "place": "device", "ask": "check" }))["ok"]["is"]["rows"].clone();
    let sheet = || vec![b"tag,kind\nSH-1,filter\n".to_vec()];
    let import = json!({ "place": "records", "ask": "import", "names": ["old.csv"] }).to_string();
    let check = json!({ "place": "device", "ask": "check" });
    tauri::async_runtime::block_on(async {
        // The lane is busy with something else until the import is stopped.
        let mut busy = std::pin::pin!(bench.lanes.ask(1, check.to_string(), Vec::new()));
        let mut stopped = std::pin::pin!(bench.lanes.ask(7, import.clone(), sheet()));
        tokio::select! {
            biased;
            _ = &mut busy => unreachable!("a check takes a while"),
            _ = &mut stopped => unreachable!("it comes after the check"),
            () = std::future::ready(()) => bench.lanes.stop(7),
        }
        busy.await;
        let answered = stopped.await;
        assert!(answered.json.contains("stopped"), "{}", answered.json);
    });
    assert_eq!(ask(&bench.lanes, &check)["ok"]["is"]["rows"], before);
    bench.lanes.stop(7);
    let answered = tauri::async_runtime::block_on(bench.lanes.ask(7, import, sheet()));
    assert!(!answered.json.contains("stopped"), "{}", answered.json);
}

#[test]
fn what_another_program_makes_of_the_shelf_is_seen_after_opening_anew() {
    let bench = bench();
    let begun = ask(&bench.lanes, &json!({ "place": "device", "ask": "begin", "demo": false }));
    let before = begun["ok"]["is"]["shelf"]["device"].clone();
    let shelf = Shelf::open(&bench.places.own, Arc::clone(&bench.host)).unwrap();
    let dir = shelf.store().dir().to_owned();
    bench.host.new_identity(&dir).unwrap();
    let state = json!({ "place": "device", "ask": "state" });
    assert_eq!(ask(&bench.lanes, &state)["ok"]["is"]["shelf"]["device"], before);
    bench.lanes.open_anew();
    assert_ne!(ask(&bench.lanes, &state)["ok"]["is"]["shelf"]["device"], before);
}
