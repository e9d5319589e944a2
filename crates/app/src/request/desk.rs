//! The open shelf of a screen, and the one way to ask it.

use super::{Answer, Request, bench, device, entry, findings, records, shelf};
use crate::code::{Code, Fault};
use crate::shelf::Shelf;
use airshelf_store::Host;
use serde::Serialize;
use std::path::PathBuf;
use std::sync::Arc;

/// Where the shelves of a device lie.
#[derive(Clone, Debug)]
pub struct Places {
    /// The user's own.
    pub own: PathBuf,
    /// The demo, a shelf of its own.
    pub demo: PathBuf,
}

/// The shelf that a screen works on.
pub struct Desk {
    pub(super) places: Places,
    pub(super) host: Arc<dyn Host>,
    pub(super) open: Option<Shelf>,
    pub(super) under_way: device::UnderWay,
}

/// What comes back: JSON, and bytes where some were asked for.
#[derive(Clone, Debug, Default)]
pub struct Answered {
    /// `{"ok": …}` or `{"fault": …}`.
    pub json: String,
    /// A photo, a sheet, an export.
    pub bytes: Option<Vec<u8>>,
}

#[derive(Serialize)]
#[serde(rename_all = "lowercase")]
enum Outcome<'a> {
    Ok(&'a Answer),
    Fault(&'a Fault),
}

impl std::fmt::Debug for Desk {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Desk").field("places", &self.places).finish_non_exhaustive()
    }
}

impl Desk {
    /// A desk without an open shelf; [`device::Asked::Start`] opens one.
    pub fn new(places: Places, host: Arc<dyn Host>) -> Self {
        Desk { places, host, open: None, under_way: device::UnderWay::default() }
    }

    /// Answers a request in JSON. `attached` are the bytes that it speaks of, in their order; `progress` is told how far
    /// long work is, and says whether to go on.
    pub fn answer(
        &mut self,
        request: &str,
        attached: Vec<Vec<u8>>,
        progress: crate::Progress<'_>,
    ) -> Answered {
        let mut bytes = None;
        let outcome = serde_json::from_str::<Request>(request)
            .map_err(|e| {
                Fault::new(Code::BadArgument, format!("this program does not know the request: {e}"))
            })
            .and_then(|request| self.ask(request, attached, progress, &mut bytes));
        let outcome = match &outcome {
            Ok(answer) => Outcome::Ok(answer),
            Err(fault) => Outcome::Fault(fault),
        };
        let json = serde_json::to_string(&outcome).unwrap_or_else(|e| {
            let fault = Fault::new(Code::Store, format!("the answer cannot be written down: {e}"));
            serde_json::json!({ "fault": fault }).to_string()
        });
        Answered { json, bytes }
    }

    fn ask(
        &mut self,
        request: Request,
        attached: Vec<Vec<u8>>,
        progress: crate::Progress<'_>,
        bytes: &mut Option<Vec<u8>>,
    ) -> Result<Answer, Fault> {
        Ok(match request {
            Request::Device(asked) => Answer::Device(device::answer(self, asked, attached, progress, bytes)?),
            Request::Shelf(asked) => Answer::Shelf(shelf::answer(self.shelf()?, asked, attached, bytes)?),
            Request::Bench(asked) => Answer::Bench(bench::answer(self.shelf()?, asked)?),
            Request::Findings(asked) => Answer::Findings(findings::answer(self.shelf()?, asked)?),
            Request::Records(asked) => {
                Answer::Records(records::answer(self.shelf()?, asked, attached, progress, bytes)?)
            }
            Request::Entry(asked) => Answer::Entry(entry::answer(self.open.as_mut(), asked)?),
        })
    }

    /// The open shelf.
    ///
    /// # Errors
    /// [`Code::NoShelf`] where none is open.
    pub fn shelf(&mut self) -> Result<&mut Shelf, Fault> {
        self.open.as_mut().ok_or_else(|| {
            Fault::new(Code::NoShelf, "no shelf is open on this device")
                .hint("Begin one, or look around in the demo.")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use airshelf_store::native::Native;

    fn desk() -> (tempfile::TempDir, Desk) {
        let dir = tempfile::tempdir().unwrap();
        let places = Places { own: dir.path().join("own"), demo: dir.path().join("demo") };
        let host = Arc::new(Native::new(dir.path().join("config")));
        (dir, Desk::new(places, host))
    }

    fn ask(desk: &mut Desk, request: &str) -> serde_json::Value {
        let answered = desk.answer(request, Vec::new(), &mut |_, _, _| true);
        serde_json::from_str(&answered.json).unwrap()
    }

    #[test]
    fn a_device_without_a_shelf_says_so_and_begins_one() {
        let (_dir, mut desk) = desk();
        let state = ask(&mut desk, r#"{"place":"device","ask":"start","demo":false}"#);
        assert_eq!(state["ok"]["is"]["shelf"], serde_json::Value::Null, "{state}");
        let parts =
            r#"{"place":"shelf","ask":"parts","text":"","kind":null,"status":null,"from":0,"count":10}"#;
        assert_eq!(ask(&mut desk, parts)["fault"]["code"], "no-shelf");
        let begun = ask(&mut desk, r#"{"place":"device","ask":"begin","demo":false}"#);
        assert_eq!(begun["ok"]["is"]["shelf"]["demo"], false, "{begun}");
        assert_eq!(ask(&mut desk, parts)["ok"]["is"]["total"], 0);
    }

    #[test]
    fn a_request_of_another_program_is_refused_in_words() {
        let (_dir, mut desk) = desk();
        let fault = ask(&mut desk, r#"{"place":"attic","ask":"dust"}"#);
        assert_eq!(fault["fault"]["code"], "bad-argument");
    }
}
