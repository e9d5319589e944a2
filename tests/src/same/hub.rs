//! The hub that a script's device exchanges with: another shelf, asked by the addresses that a page would fetch.

use super::script::{Script, each, text};
use super::steady::Steady;
use airshelf_app::sync::Local;
use airshelf_app::sync::wire::{Answer, Ask};
use airshelf_app::{Host, Shelf};
use airshelf_store::blobs::parse;
use serde_json::{Value, json};
use std::path::Path;
use std::sync::Arc;

/// The hub.
pub struct Hub {
    /// Its shelf.
    pub shelf: Shelf,
    host: Arc<Steady>,
    asked: u64,
}

/// What a page gets.
struct Got {
    status: u16,
    content_range: Option<String>,
    body: Vec<u8>,
}

fn ok(body: Vec<u8>) -> Got {
    Got { status: 200, content_range: None, body }
}

fn document(value: &impl serde::Serialize) -> Got {
    ok(serde_json::to_vec(value).expect("what crosses can be written as JSON"))
}

impl Hub {
    /// A hub on a shelf of its own that holds nothing yet.
    ///
    /// # Panics
    /// Where the folder does not allow it.
    pub fn new(folder: &Path) -> Self {
        let host = Arc::new(Steady::default());
        host.turn(1 << 20);
        let shelf = Shelf::create(folder, host.clone() as Arc<dyn Host>).expect("the folder is empty");
        Hub { shelf, host, asked: 1 << 20 }
    }

    /// Its clock stands still otherwise; for each thing that it writes.
    pub fn tick(&mut self) {
        self.asked += 1;
        self.host.turn(self.asked);
    }

    /// One exchange, as often as it takes.
    ///
    /// # Panics
    /// Where it does not come to an end.
    pub fn exchange(&mut self, script: &mut Script) {
        let asked = json!({ "place": "device", "ask": "step", "fetched": null, "name": "phone" });
        let (mut step, mut body) = script.give(asked, &[]);
        for _ in 0..200 {
            if step["fetch"].is_null() {
                return;
            }
            self.tick();
            let got = self.fetched(&step["fetch"], &body.unwrap_or_default());
            let fetched = json!({ "status": got.status, "content_range": got.content_range });
            let asked = json!({ "place": "device", "ask": "step", "fetched": fetched, "name": "phone" });
            (step, body) = script.give(asked, &[&got.body]);
        }
        panic!("the exchange does not come to an end");
    }

    fn fetched(&mut self, fetch: &Value, body: &[u8]) -> Got {
        let url = text(&fetch["url"]);
        let path = &url[url.find("/api/").unwrap_or(0)..];
        let header = |name: &str| {
            each(&fetch["headers"]).find(|header| header[0] == name).map(|header| text(&header[1]).to_owned())
        };
        let ask = asked(text(&fetch["method"]), path, body, header("range"), header("content-range"));
        match self.shelf.answer(ask, &Local { name: Some("hub".into()) }) {
            Ok(answer) => got(&answer, header("range")),
            Err(fault) => Got { status: 409, ..document(&json!({ "fault": fault })) },
        }
    }
}

fn read<T: serde::de::DeserializeOwned>(body: &[u8]) -> T {
    serde_json::from_slice(body).expect("a page sends what the hub reads")
}

fn asked(method: &str, path: &str, body: &[u8], range: Option<String>, content_range: Option<String>) -> Ask {
    let number = |text: &str| text.parse::<u64>().unwrap_or_default();
    match (method, path) {
        ("POST", "/api/sync/hello") => Ask::Hello(read(body)),
        ("POST", "/api/sync/links") => Ask::Links(read(body)),
        ("POST", "/api/sync/fork") => Ask::Fork(read(body)),
        ("POST", "/api/sync/pull") => Ask::Pull(read(body)),
        ("POST", "/api/sync/push") => Ask::Push(body.to_vec()),
        ("POST", "/api/blobs") => Ask::Blobs(read(body)),
        _ => {
            let name = path.trim_start_matches("/api/blobs/");
            let hash = parse(name.trim_end_matches("/thumbnail")).expect("a photo goes by its hash");
            if name.ends_with("/thumbnail") {
                Ask::Thumbnail { hash }
            } else if method == "PUT" {
                let range = content_range.unwrap_or_default();
                let (part, total) = range.trim_start_matches("bytes ").split_once('/').unwrap_or_default();
                let from = part.split_once('-').map_or(0, |(from, _)| number(from));
                Ask::Put { hash, from, total: number(total), bytes: body.to_vec() }
            } else {
                let range = range.unwrap_or_default();
                let (from, last) = range.trim_start_matches("bytes=").split_once('-').unwrap_or_default();
                Ask::Get { hash, from: number(from), most: (number(last) + 1 - number(from)) as usize }
            }
        }
    }
}

fn got(answer: &Answer, range: Option<String>) -> Got {
    let gone = Got { status: 404, ..ok(Vec::new()) };
    match answer {
        Answer::Welcome(said) => document(said),
        Answer::Links(said) => document(said),
        Answer::Forked(said) => document(said),
        Answer::Pushed(said) => document(said),
        Answer::Blobs(said) => document(said),
        Answer::Taken(said) => document(said),
        Answer::Batch(sequence) => ok(sequence.clone()),
        Answer::Piece(None) | Answer::Thumbnail(None) => gone,
        Answer::Thumbnail(Some(picture)) => ok(picture.clone()),
        Answer::Piece(Some(piece)) => {
            let range = range.unwrap_or_default();
            let content_range = format!("bytes {}/{}", range.trim_start_matches("bytes="), piece.total);
            Got { status: 206, content_range: Some(content_range), body: piece.bytes.clone() }
        }
    }
}
