//! The host of an ordinary program: the system's clock and randomness, identities in a configuration folder.

use crate::host::{Host, Identity};
use crate::naming;
use airshelf_catalog::ids::Derived;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// The machine this program runs on.
#[derive(Clone, Debug)]
pub struct Native {
    config: PathBuf,
    person: Option<Uuid>,
}

impl Native {
    /// Keeps identities under `config`, one for each canonical path of a shelf.
    pub fn new(config: impl Into<PathBuf>) -> Self {
        Native { config: config.into(), person: None }
    }

    /// Says who is writing.
    #[must_use]
    pub fn with_person(mut self, person: Option<Uuid>) -> Self {
        self.person = person;
        self
    }

    fn file(&self, place: &Path) -> io::Result<PathBuf> {
        let path = place.canonicalize()?;
        let name = Derived::new("device of").bytes(path.as_os_str().as_encoded_bytes()).finish();
        Ok(self.config.join("devices").join(format!("{}.json", name.simple())))
    }

    /// Keeps a new identity: over an older one, or only where there is none yet.
    fn keep(&self, file: &Path, place: &Path, over: bool) -> io::Result<Identity> {
        let mut key = [0; 32];
        self.random(&mut key);
        let identity = Identity { device: crate::host::fresh_id(self), key };
        let key_hex: String = key.iter().map(|b| format!("{b:02x}")).collect();
        let text = serde_json::json!({
            "device": identity.device, "key": key_hex, "shelf": place.canonicalize()?.to_string_lossy(),
        });
        if let Some(folder) = file.parent() {
            naming::make_folder(folder)?;
        }
        naming::clear_abandoned(file, Some(self.now_ms()));
        let beside = naming::beside(file, self);
        let named = private(&beside).and_then(|mut out| {
            out.write_all(text.to_string().as_bytes())?;
            out.sync_all()?;
            if over {
                // Power that goes must not bring the old identity back, under which another copy writes.
                fs::rename(&beside, file).and_then(|()| naming::sync_folder_of(file)).map(|()| true)
            } else {
                naming::name_unless_taken(&beside, file)
            }
        });
        if !matches!(named, Ok(true)) {
            let _ = fs::remove_file(&beside);
        }
        // Another process of this device may have been first; then this device is who that one made it.
        if named? {
            Ok(identity)
        } else {
            parse(&fs::read_to_string(file)?).ok_or(io::ErrorKind::InvalidData.into())
        }
    }
}

#[cfg(unix)]
fn private(file: &Path) -> io::Result<fs::File> {
    use std::os::unix::fs::OpenOptionsExt;
    fs::OpenOptions::new().write(true).create(true).truncate(true).mode(0o600).open(file)
}

#[cfg(not(unix))]
fn private(file: &Path) -> io::Result<fs::File> {
    fs::File::create(file)
}

fn parse(text: &str) -> Option<Identity> {
    let json: serde_json::Value = serde_json::from_str(text).ok()?;
    let device = json["device"].as_str()?.parse().ok()?;
    let hex = json["key"].as_str()?;
    let mut key = [0; 32];
    for (byte, at) in key.iter_mut().zip((0..64).step_by(2)) {
        *byte = u8::from_str_radix(hex.get(at..at + 2)?, 16).ok()?;
    }
    Some(Identity { device, key })
}

impl Host for Native {
    fn now_ms(&self) -> u64 {
        u64::try_from(chrono::Utc::now().timestamp_millis()).unwrap_or(0)
    }

    fn wall(&self) -> String {
        chrono::Local::now().to_rfc3339_opts(chrono::SecondsFormat::Secs, false)
    }

    fn random(&self, out: &mut [u8]) {
        getrandom::fill(out).expect("the system gives random bytes");
    }

    fn identity(&self, place: &Path) -> io::Result<Identity> {
        let file = self.file(place)?;
        match fs::read_to_string(&file) {
            Ok(text) => parse(&text).map_or_else(|| self.keep(&file, place, true), Ok),
            Err(e) if e.kind() == io::ErrorKind::NotFound => self.keep(&file, place, false),
            Err(e) => Err(e),
        }
    }

    fn new_identity(&self, place: &Path) -> io::Result<Identity> {
        self.keep(&self.file(place)?, place, true)
    }

    fn person(&self) -> Option<Uuid> {
        self.person
    }
}
