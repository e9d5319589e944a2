//! A machine with the desktop's folders and everything but its window, for tests.

use crate::Options;
use crate::news::Heard;
use crate::place::Place;
use crate::shell::Shell;
use serde_json::{Value, json};
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tauri::ipc::{Channel, InvokeResponseBody};
use tempfile::TempDir;

/// The desktop on a folder, and what it told its screens.
pub(crate) struct Shed {
    pub(crate) shell: Shell,
    heard: Arc<Mutex<Vec<Value>>>,
}

impl Shed {
    /// The desktop on a folder; its hub takes that port, or with 0 any.
    pub(crate) fn at(folder: &Path, port: u16) -> Shed {
        let options = Options { data: Some(folder.to_owned()), demo: false, port: Some(port) };
        let shell = Shell::of(Place::of(&options).unwrap(), &options).unwrap();
        let heard = Arc::new(Mutex::new(Vec::new()));
        let into = Arc::clone(&heard);
        shell.news.open(Channel::<Heard>::new(move |told| {
            if let InvokeResponseBody::Json(text) = told {
                into.lock().unwrap().push(serde_json::from_str(&text).unwrap());
            }
            Ok(())
        }));
        Shed { shell, heard }
    }

    /// The same with an own shelf, in a folder of its own.
    pub(crate) fn begun() -> (TempDir, Shed) {
        let folder = tempfile::tempdir().unwrap();
        let shed = Shed::at(folder.path(), 0);
        shed.ask(&json!({ "place": "device", "ask": "begin", "demo": false }));
        (folder, shed)
    }

    pub(crate) fn ask(&self, request: &Value) -> Value {
        let answered =
            tauri::async_runtime::block_on(self.shell.lanes.ask(0, request.to_string(), Vec::new()));
        let mut said: Value = serde_json::from_str(&answered.json).unwrap();
        assert!(said["fault"].is_null(), "{said}");
        said["ok"]["is"].take()
    }

    pub(crate) fn put_on_shelf(&self, tag: &str) {
        self.ask(&json!({
            "place": "shelf", "ask": "new-part", "tag": tag, "kind": "filter", "status": "owned",
            "fields": [], "sizes": [], "listing": [],
        }));
    }

    pub(crate) fn holds(&self, tag: &str) -> bool {
        let parts = self.ask(&json!({
            "place": "shelf", "ask": "parts", "text": tag, "kind": null, "status": null, "from": 0, "count": 5,
        }));
        parts.to_string().contains(tag)
    }

    /// The last news of a kind.
    pub(crate) fn last(&self, is: &str) -> Option<Value> {
        self.heard.lock().unwrap().iter().rev().find(|heard| heard["is"] == is).cloned()
    }
}

/// Waits until something is so.
pub(crate) fn until(what: &str, is_so: impl Fn() -> bool) {
    let end = Instant::now() + Duration::from_secs(60);
    while !is_so() {
        assert!(Instant::now() < end, "waited in vain until {what}");
        std::thread::sleep(Duration::from_millis(20));
    }
}
