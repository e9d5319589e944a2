//! The menu over the window, with its shortcuts. The places are those of the screens.

use crate::news::Heard;
use crate::shell::Shell;
use tauri::menu::{AboutMetadata, Menu, MenuEvent, MenuItemBuilder, SubmenuBuilder};
use tauri::{AppHandle, Manager, Runtime, WebviewWindow};

/// An item, its shortcut, and where it leads.
const SHELF: &[(&str, &str, &str)] = &[
    ("New part", "CmdOrCtrl+N", "#/shelf/new"),
    ("New evening", "CmdOrCtrl+E", "#/bench/new"),
    ("Read in old records", "CmdOrCtrl+O", "#/records"),
];
const GO: &[(&str, &str, &str)] = &[
    ("Shelf", "CmdOrCtrl+1", "#/shelf"),
    ("Bench", "CmdOrCtrl+2", "#/bench"),
    ("Findings", "CmdOrCtrl+3", "#/findings"),
    ("Old records", "CmdOrCtrl+4", "#/records"),
    ("This device", "CmdOrCtrl+5", "#/device"),
    ("Search", "CmdOrCtrl+F", "#/shelf/search"),
];

const SAVE: &str = "save";
const QUIT: &str = "quit";
const LARGER: &str = "larger";
const SMALLER: &str = "smaller";
const USUAL: &str = "usual";
const WHOLE_SCREEN: &str = "whole-screen";

/// By how much a step makes everything larger, and how far.
const STEP: f64 = 1.1;
const ZOOM: std::ops::RangeInclusive<f64> = 0.5..=3.0;

/// Makes the menu.
pub(crate) fn menu<R: Runtime>(app: &AppHandle<R>) -> tauri::Result<Menu<R>> {
    let item =
        |id: &str, text: &str, keys: &str| MenuItemBuilder::with_id(id, text).accelerator(keys).build(app);
    let mut shelf = SubmenuBuilder::new(app, "&Shelf");
    for (text, keys, to) in SHELF {
        shelf = shelf.item(&item(to, text, keys)?);
    }
    let shelf = shelf
        .separator()
        .item(&item(SAVE, "Save everything to a file", "CmdOrCtrl+S")?)
        .separator()
        .item(&item(QUIT, "Quit", "CmdOrCtrl+Q")?)
        .build()?;
    let mut go = SubmenuBuilder::new(app, "&Go");
    for (text, keys, to) in GO {
        // Two items of one menu that lead to one place are told apart.
        let id = format!("go{to}");
        go = go.item(&item(&id, text, keys)?);
    }
    let look = SubmenuBuilder::new(app, "&Look")
        .item(&item(LARGER, "Larger", "CmdOrCtrl+Plus")?)
        .item(&item(SMALLER, "Smaller", "CmdOrCtrl+-")?)
        .item(&item(USUAL, "Usual size", "CmdOrCtrl+0")?)
        .separator()
        .item(&item(WHOLE_SCREEN, "Whole screen", "F11")?)
        .build()?;
    let about = AboutMetadata {
        name: Some("airshelf".into()),
        version: Some(env!("CARGO_PKG_VERSION").into()),
        license: Some(env!("CARGO_PKG_LICENSE").into()),
        comments: Some(env!("CARGO_PKG_DESCRIPTION").into()),
        icon: app.default_window_icon().cloned(),
        ..AboutMetadata::default()
    };
    let help = SubmenuBuilder::new(app, "&Help").about_with_text("About airshelf", Some(about)).build()?;
    Menu::with_items(app, &[&shelf, &go.build()?, &look, &help])
}

/// Does what was chosen in it: places are for the screens to go to, all else is done here.
pub(crate) fn chosen<R: Runtime>(app: &AppHandle<R>, event: &MenuEvent) {
    let shell = app.state::<Shell>();
    let Some(window) = app.get_webview_window(crate::window::NAME) else { return };
    match event.id().as_ref() {
        QUIT => app.exit(0),
        SAVE => shell.news.tell(Heard::SaveEverything),
        LARGER => zoom(&shell, &window, |now| now * STEP),
        SMALLER => zoom(&shell, &window, |now| now / STEP),
        USUAL => zoom(&shell, &window, |_| 1.0),
        WHOLE_SCREEN => {
            let whole = window.is_fullscreen().unwrap_or(false);
            let _ = window.set_fullscreen(!whole);
        }
        id => {
            let to = id.strip_prefix("go").unwrap_or(id);
            shell.news.tell(Heard::Go { to: to.to_owned() });
        }
    }
}

fn zoom<R: Runtime>(shell: &Shell, window: &WebviewWindow<R>, to: impl Fn(f64) -> f64) {
    let now = shell.kept.settings().zoom.unwrap_or(1.0);
    let next = to(now).clamp(*ZOOM.start(), *ZOOM.end());
    let _ = shell.kept.change(|settings| settings.zoom = Some(next));
    let _ = window.set_zoom(next);
}
