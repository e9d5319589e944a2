//! The built screens, the same bytes that a hub hands to browsers; they stand in the program once.

use airshelf_server::screens::{SCREENS, Screen};
use std::borrow::Cow;
use tauri::utils::assets::{AssetKey, AssetsIter, CspHash};
use tauri::{Assets, Runtime};

/// Gives them to the window.
pub(crate) struct Screens;

/// Whether the program was built with any.
pub(crate) fn are_there() -> bool {
    SCREENS.iter().any(|screen| screen.path() == "index.html")
}

impl<R: Runtime> Assets<R> for Screens {
    fn get(&self, key: &AssetKey) -> Option<Cow<'_, [u8]>> {
        let path = key.as_ref().trim_start_matches('/');
        SCREENS.iter().find(|screen| screen.path() == path)?.plain().ok()
    }

    fn iter(&self) -> Box<AssetsIter<'_>> {
        let plain = |screen: &'static Screen| Some((Cow::Borrowed(screen.path()), screen.plain().ok()?));
        Box::new(SCREENS.iter().filter_map(plain))
    }

    fn csp_hashes(&self, _: &AssetKey) -> Box<dyn Iterator<Item = CspHash<'_>> + '_> {
        // No page has a script or a style written into it.
        Box::new(std::iter::empty())
    }
}
