//! The window: where it opens, what it may load, and how the program ends.

use crate::Options;
use crate::commands;
use crate::menu;
use crate::place::Place;
use crate::screens::{self, Screens};
use crate::shell::Shell;
use std::sync::Arc;
use tauri::{
    App, AppHandle, DragDropEvent, Manager, RunEvent, WebviewUrl, WebviewWindowBuilder, WindowEvent,
};

/// The one window's name.
pub(crate) const NAME: &str = "main";
/// Told to the system's own driver of windows; then the window cannot be a private one.
const AUTOMATION: &str = "TAURI_WEBVIEW_AUTOMATION";

/// Opens the window and runs until it is closed.
pub(crate) fn run(options: &Options) -> Result<(), String> {
    if !screens::are_there() {
        return Err("this program was built without its screens; `cargo xtask desktop` builds both".into());
    }
    let place = Place::of(options)?;
    let state = place.config.join("window.json").to_string_lossy().into_owned();
    let mut context = tauri::generate_context!();
    context.set_assets(Box::new(Screens));
    let mut one = tauri_plugin_single_instance::Builder::new().callback(|app, _, _| come_forward(app));
    if place.apart {
        // A program on a folder of its own stands beside the usual one.
        let folder = place.data.to_string_lossy();
        let named: String = folder.bytes().map(|byte| format!("{byte:02x}")).collect();
        let last = named.len().saturating_sub(64);
        one = one.dbus_id(format!("airshelf.desktop.at{}", &named[last..]));
    }
    let app = tauri::Builder::default()
        .plugin(one.build())
        .plugin(tauri_plugin_window_state::Builder::new().with_filename(state).build())
        .plugin(tauri_plugin_dialog::init())
        .menu(menu::menu)
        .on_menu_event(|app, event| menu::chosen(app, &event))
        .invoke_handler(tauri::generate_handler![
            commands::ask,
            commands::stop,
            commands::hear,
            commands::kept,
            commands::keep,
            commands::save_everything,
            commands::dropped,
            commands::pair,
            commands::exchange,
            commands::hub,
            commands::hub_on,
            commands::hub_off,
            commands::hub_invite,
            commands::hub_revoke,
        ])
        .setup(|app| {
            open(app)?;
            let hub = Arc::clone(&app.state::<Shell>().hub);
            std::thread::Builder::new().name("hub-as-left".into()).spawn(move || hub.as_left())?;
            end_when_told(app.handle().clone());
            Ok(())
        })
        .build(context)
        .map_err(|e| e.to_string())?;
    // A second start has ended by now, before it touched a shelf.
    app.manage(Shell::of(place, options)?);
    app.run(|app, event| {
        if matches!(event, RunEvent::Exit) {
            app.state::<Shell>().end();
        }
    });
    Ok(())
}

fn open(app: &App) -> tauri::Result<()> {
    let shell = app.state::<Shell>();
    let automated = std::env::var_os(AUTOMATION).is_some();
    let window = WebviewWindowBuilder::new(app, NAME, WebviewUrl::App("index.html".into()))
        .title("airshelf")
        .inner_size(1200.0, 860.0)
        .min_inner_size(360.0, 560.0)
        // Nothing is kept in the window: what shall last lies in this machine's folders.
        .incognito(!automated)
        .on_navigation(|to| to.scheme() == "tauri" || to.host_str() == Some("tauri.localhost"))
        .build()?;
    // WebKitGTK hands a page no files that are dropped on it; this program is told where they lie.
    let handle = app.handle().clone();
    window.on_window_event(move |event| {
        if let WindowEvent::DragDrop(DragDropEvent::Drop { paths, .. }) = event {
            handle.state::<Shell>().drop_on(paths);
        }
    });
    if let Some(zoom) = shell.kept.settings().zoom {
        window.set_zoom(zoom)?;
    }
    Ok(())
}

/// A second start brings the first one's window to the front.
fn come_forward(app: &AppHandle) {
    if let Some(window) = app.get_webview_window(NAME) {
        let _ = window.unminimize();
        let _ = window.show();
        let _ = window.set_focus();
    }
}

/// Ends in good order when the system says so.
#[cfg(unix)]
fn end_when_told(app: AppHandle) {
    use tokio::signal::unix::{SignalKind, signal};
    tauri::async_runtime::spawn(async move {
        let Ok(mut terminate) = signal(SignalKind::terminate()) else { return };
        tokio::select! {
            _ = tokio::signal::ctrl_c() => {}
            _ = terminate.recv() => {}
        }
        app.exit(0);
    });
}

#[cfg(not(unix))]
fn end_when_told(_: AppHandle) {}
