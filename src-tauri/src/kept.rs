//! Small things that outlive the window: half-filled forms and choices of the screens, and how the hub was left. Each
//! file is written whole or not at all.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// What the screens keep, by name.
pub(crate) type Words = BTreeMap<String, String>;

/// How this machine is set up.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub(crate) struct Settings {
    /// The address of the hub that the own shelf is together with.
    pub(crate) together_with: Option<String>,
    /// What people call this device.
    pub(crate) name: Option<String>,
    /// The hub of this machine, where it is on.
    pub(crate) hub: Option<HubLeft>,
    /// How much larger than usual everything is drawn.
    pub(crate) zoom: Option<f64>,
}

/// How the hub was left, and comes up again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct HubLeft {
    /// On the demo shelf.
    pub(crate) demo: bool,
    /// For the machine's networks too.
    pub(crate) lan: bool,
}

/// The files.
#[derive(Debug)]
pub(crate) struct Kept {
    words: PathBuf,
    settings: PathBuf,
    now: Mutex<Settings>,
}

impl Kept {
    /// What is kept in these folders.
    pub(crate) fn of(data: &Path, config: &Path) -> Kept {
        let settings = config.join("desktop.json");
        let now = Mutex::new(read(&settings));
        Kept { words: data.join("half-filled.json"), settings, now }
    }

    /// The words of the screens.
    pub(crate) fn words(&self) -> Words {
        read(&self.words)
    }

    /// Keeps them, in place of those before.
    pub(crate) fn keep_words(&self, words: &Words) -> io::Result<()> {
        write(&self.words, words)
    }

    /// How the machine is set up now.
    pub(crate) fn settings(&self) -> Settings {
        self.now.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Changes that; where it cannot be written, nothing is changed.
    pub(crate) fn change(&self, change: impl FnOnce(&mut Settings)) -> io::Result<()> {
        let mut now = self.now.lock().unwrap_or_else(PoisonError::into_inner);
        let mut wanted = now.clone();
        change(&mut wanted);
        write(&self.settings, &wanted)?;
        *now = wanted;
        Ok(())
    }
}

/// What a file says; a damaged one is set aside and says nothing.
fn read<T: DeserializeOwned + Default>(file: &Path) -> T {
    let Ok(bytes) = std::fs::read(file) else { return T::default() };
    serde_json::from_slice(&bytes).unwrap_or_else(|_| {
        let _ = std::fs::rename(file, file.with_extension("damaged"));
        T::default()
    })
}

fn write(file: &Path, what: &impl Serialize) -> io::Result<()> {
    write_whole(file, &serde_json::to_vec(what)?)
}

/// Writes a file whole or not at all.
pub(crate) fn write_whole(file: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = file.parent().ok_or(io::ErrorKind::InvalidInput)?;
    let mut beside = tempfile::NamedTempFile::new_in(folder)?;
    beside.write_all(bytes)?;
    beside.as_file().sync_all()?;
    beside.persist(file)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_and_settings_are_there_again_for_the_next_program() {
        let folder = tempfile::tempdir().unwrap();
        let kept = Kept::of(folder.path(), folder.path());
        let words = Words::from([("draft.part".to_owned(), "half".to_owned())]);
        kept.keep_words(&words).unwrap();
        kept.change(|settings| settings.hub = Some(HubLeft { demo: false, lan: true })).unwrap();
        let next = Kept::of(folder.path(), folder.path());
        assert_eq!(next.words(), words);
        assert_eq!(next.settings(), kept.settings());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2, "nothing is left lying about");
    }

    #[test]
    fn a_damaged_file_is_set_aside_and_the_window_opens_all_the_same() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("half-filled.json"), b"{\"draft").unwrap();
        let kept = Kept::of(folder.path(), folder.path());
        assert_eq!(kept.words(), Words::new());
        assert!(folder.path().join("half-filled.damaged").exists());
    }
}
