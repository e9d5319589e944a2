//! The folders of this machine that the desktop uses; the command uses the same ones.

use crate::Options;
use airshelf_app::request::Places;
use std::path::PathBuf;

/// Where things lie.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    /// Shelves, half-filled forms.
    pub(crate) data: PathBuf,
    /// Who this machine is and whom it knows, in no backup.
    pub(crate) config: PathBuf,
    /// Whether a folder was said, so that this program stands beside others of its kind.
    pub(crate) apart: bool,
}

impl Place {
    /// The folders that were said, or the usual ones; they are made where they are not there.
    pub(crate) fn of(options: &Options) -> Result<Place, String> {
        let place = match &options.data {
            Some(folder) => {
                let folder = std::path::absolute(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
                Place { config: folder.join("config"), data: folder, apart: true }
            }
            None => {
                let folders = directories::ProjectDirs::from("", "", "airshelf")
                    .ok_or("this system names no data folder; say one with --data DIR")?;
                Place {
                    data: folders.data_dir().to_owned(),
                    config: folders.config_dir().to_owned(),
                    apart: false,
                }
            }
        };
        for folder in [&place.data, &place.config] {
            std::fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        }
        Ok(place)
    }

    /// The own shelf and the demo.
    pub(crate) fn shelves(&self) -> Places {
        Places { own: self.data.join("shelf"), demo: self.data.join("demo") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_was_said_holds_everything() {
        let folder = tempfile::tempdir().unwrap();
        let said = folder.path().join("shed");
        let place = Place::of(&Options { data: Some(said.clone()), demo: false, port: None }).unwrap();
        assert!(place.apart && place.config.starts_with(&said) && place.config.is_dir());
        assert!(place.shelves().own.starts_with(&said) && place.shelves().demo.starts_with(&said));
    }
}
