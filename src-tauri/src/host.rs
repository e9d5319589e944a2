//! This machine as the app sees it: as for every program, and the hub that the own shelf is together with.

use crate::kept::Kept;
use airshelf_app::native::Native;
use airshelf_app::{Host, Identity};
use airshelf_server::client::Knows;
use std::io;
use std::path::Path;
use std::sync::Arc;
use uuid::Uuid;

/// Under which name the app asks for the hub.
const HUB: &str = "hub";

/// The machine with its hub.
pub(crate) struct Machine {
    native: Native,
    knows: Knows,
    kept: Arc<Kept>,
}

impl Machine {
    /// The machine whose configuration lies in that folder.
    pub(crate) fn new(config: &Path, kept: Arc<Kept>) -> Result<Machine, String> {
        let knows = Knows::of(config).map_err(|fault| fault.message)?;
        Ok(Machine { native: Native::new(config), knows, kept })
    }
}

impl Host for Machine {
    fn now_ms(&self) -> u64 {
        self.native.now_ms()
    }

    fn wall(&self) -> String {
        self.native.wall()
    }

    fn random(&self, out: &mut [u8]) {
        self.native.random(out);
    }

    fn identity(&self, place: &Path) -> io::Result<Identity> {
        self.native.identity(place)
    }

    fn new_identity(&self, place: &Path) -> io::Result<Identity> {
        self.native.new_identity(place)
    }

    fn person(&self) -> Option<Uuid> {
        self.native.person()
    }

    fn program(&self) -> String {
        self.native.program()
    }

    /// The hub without its key: exchanges are carried by this program, and no screen needs it.
    fn recall(&self, what: &str) -> io::Result<Option<String>> {
        let url = self.kept.settings().together_with;
        let (HUB, Some(url)) = (what, url) else { return Ok(None) };
        let known = self.knows.at(&url).map_err(|fault| io::Error::other(fault.message))?;
        Ok(known.map(|hub| {
            serde_json::json!({ "url": hub.url, "name": hub.name, "shelf": hub.shelf, "key": "" }).to_string()
        }))
    }

    /// Forgets the hub where nothing is to be remembered of it; what pairs with one keeps it itself.
    fn remember(&self, what: &str, text: &str) -> io::Result<()> {
        if what != HUB || !text.is_empty() {
            return Err(io::ErrorKind::Unsupported.into());
        }
        if let Some(url) = self.kept.settings().together_with {
            self.knows.forget(&url).map_err(|fault| io::Error::other(fault.message))?;
        }
        self.kept.change(|settings| settings.together_with = None)
    }
}
