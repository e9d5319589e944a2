//! Requests as they are put, and what came back, kept in a folder for whoever asks the same again.

use super::steady::Steady;
use airshelf_app::request::{Desk, Places};
use airshelf_app::{Host, Shelf};
use airshelf_store::blobs::{hash_of, hex};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A request and its answer. Bytes stand in files of their own, named after what is in them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    /// On a device that holds nothing yet.
    pub fresh: bool,
    /// As the screen puts it.
    pub request: String,
    /// Bytes beside it.
    pub attached: Vec<String>,
    /// The answer.
    pub json: String,
    /// Bytes beside the answer.
    pub bytes: Option<String>,
}

/// Everything that was asked.
#[derive(Clone, Debug, Default)]
pub struct Recording {
    /// In the order of asking.
    pub lines: Vec<Line>,
    /// Bytes by their names.
    pub bytes: BTreeMap<String, Vec<u8>>,
}

impl Recording {
    /// Keeps it in a folder.
    ///
    /// # Errors
    /// What the file system says.
    pub fn keep(&self, folder: &Path) -> io::Result<()> {
        fs::create_dir_all(folder.join("bytes"))?;
        for (name, bytes) in &self.bytes {
            fs::write(folder.join("bytes").join(name), bytes)?;
        }
        fs::write(folder.join("native.json"), serde_json::to_string(&self.lines)?)
    }

    /// What was asked and answered without a refusal at least once, as `place/ask`.
    ///
    /// # Panics
    /// Where a request is no JSON.
    pub fn answered(&self) -> BTreeSet<String> {
        let granted = self.lines.iter().filter(|line| line.json.starts_with("{\"ok\""));
        granted
            .map(|line| {
                let request: Value = serde_json::from_str(&line.request).expect("a request is JSON");
                format!("{}/{}", text(&request["place"]), text(&request["ask"]))
            })
            .collect()
    }

    fn hold(&mut self, bytes: &[u8]) -> String {
        let name = hex(&hash_of(bytes));
        self.bytes.entry(name.clone()).or_insert_with(|| bytes.to_vec());
        name
    }
}

/// A desk that writes down what it is asked.
pub struct Script<'a> {
    desk: Desk,
    host: Arc<Steady>,
    folder: PathBuf,
    recording: &'a mut Recording,
    fresh: bool,
    /// Of what there are many of, every such is looked at.
    pub every: usize,
}

impl<'a> Script<'a> {
    /// A device that holds nothing yet.
    pub fn begin(folder: &Path, recording: &'a mut Recording, every: usize) -> Self {
        let host = Arc::new(Steady::default());
        let places = Places { own: folder.join("own"), demo: folder.join("demo") };
        let desk = Desk::new(places, host.clone());
        Script { desk, host, folder: folder.to_owned(), recording, fresh: true, every }
    }

    /// Asks, and gives what came back; `null` where it was refused.
    pub fn ask(&mut self, request: Value) -> Value {
        self.give(request, &[]).0
    }

    /// Asks with bytes beside the request; gives those beside the answer, too.
    ///
    /// # Panics
    /// Where the answer is no JSON.
    pub fn give(&mut self, request: Value, attached: &[&[u8]]) -> (Value, Option<Vec<u8>>) {
        self.host.turn(self.recording.lines.len() as u64);
        let request = request.to_string();
        let beside = attached.iter().map(|bytes| bytes.to_vec()).collect();
        let answered = self.desk.answer(&request, beside, &mut |_, _, _| true);
        let attached = attached.iter().map(|bytes| self.recording.hold(bytes)).collect();
        let bytes = answered.bytes.as_deref().map(|bytes| self.recording.hold(bytes));
        let mut said: Value = serde_json::from_str(&answered.json).expect("an answer is JSON");
        let fresh = std::mem::take(&mut self.fresh);
        self.recording.lines.push(Line { fresh, request, attached, json: answered.json, bytes });
        (said["ok"]["is"].take(), answered.bytes)
    }

    /// A second look at one of its shelves, for what no request lists.
    ///
    /// # Panics
    /// Where there is none.
    pub fn beside(&self, demo: bool) -> Shelf {
        let host: Arc<dyn Host> = self.host.clone();
        let folder = self.folder.join(if demo { "demo" } else { "own" });
        Shelf::open(&folder, host).expect("the shelf is there")
    }
}

/// A text of an answer; empty where it has none.
pub fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// The items of a list in an answer.
pub fn each(value: &Value) -> impl Iterator<Item = &Value> {
    value.as_array().into_iter().flatten()
}
