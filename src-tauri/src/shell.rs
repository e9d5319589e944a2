//! What every command reaches.

use crate::Options;
use crate::host::Machine;
use crate::hub::Switch;
use crate::kept::Kept;
use crate::lanes::Lanes;
use crate::news::{Heard, News};
use crate::place::Place;
use crate::together::Staying;
use airshelf_app::{Host, Shelf};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

/// The desktop's state.
pub(crate) struct Shell {
    pub(crate) kept: Arc<Kept>,
    pub(crate) news: Arc<News>,
    pub(crate) lanes: Arc<Lanes>,
    pub(crate) staying: Arc<Staying>,
    pub(crate) hub: Arc<Switch>,
    /// Whether this window was told to open the demo.
    pub(crate) demo: bool,
    /// Files that a person dropped on the window, until a screen takes them.
    dropped: Mutex<Vec<PathBuf>>,
}

impl Shell {
    /// Opens everything at a place, and makes the demo where it is wanted and not there.
    pub(crate) fn of(place: Place, options: &Options) -> Result<Shell, String> {
        let kept = Arc::new(Kept::of(&place.data, &place.config));
        let host: Arc<dyn Host> = Arc::new(Machine::new(&place.config, Arc::clone(&kept))?);
        let news = Arc::new(News::default());
        let threads = |e: std::io::Error| format!("no threads could be started: {e}");
        let lanes = Arc::new(Lanes::start(&place.shelves(), &host, &news).map_err(threads)?);
        if options.demo && !Shelf::is_there(&place.shelves().demo) {
            let begin = serde_json::json!({ "place": "device", "ask": "begin", "demo": true }).to_string();
            tauri::async_runtime::block_on(lanes.ask(0, begin, Vec::new()));
        }
        let staying = Staying::start(&place, &host, &kept, &news, &lanes).map_err(threads)?;
        let hub = Arc::new(Switch::new(&place, &host, &kept, &news, options.port));
        Ok(Shell { kept, news, lanes, staying, hub, demo: options.demo, dropped: Mutex::default() })
    }

    /// Holds what was dropped on the window, and says so.
    pub(crate) fn drop_on(&self, files: &[PathBuf]) {
        let files: Vec<PathBuf> = files.iter().filter(|file| file.is_file()).cloned().collect();
        *self.dropped.lock().unwrap_or_else(PoisonError::into_inner) = files;
        self.news.tell(Heard::Dropped);
    }

    /// Hands it out, once.
    pub(crate) fn take_dropped(&self) -> Vec<PathBuf> {
        std::mem::take(&mut *self.dropped.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Lets go of everything in good order.
    pub(crate) fn end(&self) {
        self.staying.end();
        self.hub.end();
    }
}

#[cfg(test)]
mod tests {
    use crate::shed::Shed;

    #[test]
    fn dropped_files_are_handed_out_once_and_a_folder_is_none() {
        let (folder, shed) = Shed::begun();
        let sheet = folder.path().join("old.csv");
        std::fs::write(&sheet, "tag\n").unwrap();
        shed.shell.drop_on(&[sheet.clone(), folder.path().to_owned()]);
        assert!(shed.last("dropped").is_some());
        assert_eq!(shed.shell.take_dropped(), [sheet]);
        assert!(shed.shell.take_dropped().is_empty());
    }
}
