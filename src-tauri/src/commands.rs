//! All that a screen may ask of the machine. What is asked of the shelf goes through `ask`, as in a browser.

use crate::hub::{HubShown, WayIn};
use crate::kept::{HubLeft, Words, write_whole};
use crate::news::Heard;
use crate::shell::Shell;
use crate::wire::{joined, packed, unpacked};
use airshelf_app::{Code, Fault};
use std::path::PathBuf;
use std::sync::Arc;
use tauri::ipc::{Channel, InvokeBody, Request, Response};
use tauri::{AppHandle, State};
use tauri_plugin_dialog::DialogExt;
use uuid::Uuid;

/// Under which header a request carries its number.
const NUMBER: &str = "number";

fn bad(why: &str) -> Fault {
    Fault::new(Code::BadArgument, why)
}

/// Does something that waits for disk or network, away from the threads that carry messages.
async fn apart<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Fault> + Send + 'static,
) -> Result<T, Fault> {
    let done = tauri::async_runtime::spawn_blocking(work).await;
    done.unwrap_or_else(|e| {
        Err(Fault::new(Code::Store, format!("the program broke off while doing this: {e}")))
    })
}

/// A request of a screen and its answer; how far long work is comes as news.
#[tauri::command]
pub(crate) async fn ask(request: Request<'_>, shell: State<'_, Shell>) -> Result<Response, Fault> {
    let InvokeBody::Raw(bytes) = request.body() else { return Err(bad("a request comes as bytes")) };
    let number = request.headers().get(NUMBER).and_then(|number| number.to_str().ok()?.parse().ok());
    let (text, attached) = unpacked(bytes).ok_or_else(|| bad("a request was cut off"))?;
    let answered = shell.lanes.ask(number.unwrap_or_default(), text, attached).await;
    Ok(Response::new(packed(answered)))
}

/// Stops a request.
#[tauri::command]
pub(crate) async fn stop(number: u32, shell: State<'_, Shell>) -> Result<(), Fault> {
    shell.lanes.stop(number);
    Ok(())
}

/// Hears the machine's news from now on.
#[tauri::command]
pub(crate) async fn hear(line: Channel<Heard>, shell: State<'_, Shell>) -> Result<(), Fault> {
    shell.news.open(line);
    Ok(())
}

/// What the screens keep.
#[tauri::command]
pub(crate) async fn kept(shell: State<'_, Shell>) -> Result<Words, Fault> {
    let kept = Arc::clone(&shell.kept);
    let demo = shell.demo;
    apart(move || {
        let mut words = kept.words();
        if demo {
            words.insert("airshelf.demo".into(), "yes".into());
        }
        Ok(words)
    })
    .await
}

/// Keeps it.
#[tauri::command]
pub(crate) async fn keep(words: Words, shell: State<'_, Shell>) -> Result<(), Fault> {
    let kept = Arc::clone(&shell.kept);
    apart(move || {
        kept.keep_words(&words)
            .map_err(|e| Fault::new(Code::Store, format!("what is half filled in cannot be kept: {e}")))
    })
    .await
}

/// Writes everything of the open shelf to a file that a person chooses; says where, or nothing where nobody did.
#[tauri::command]
pub(crate) async fn save_everything(
    app: AppHandle,
    shell: State<'_, Shell>,
) -> Result<Option<String>, Fault> {
    let request = serde_json::json!({ "place": "device", "ask": "export" }).to_string();
    let answered = shell.lanes.ask(0, request, Vec::new()).await;
    let said: serde_json::Value = serde_json::from_str(&answered.json).unwrap_or_default();
    let (Some(name), Some(bytes)) = (said["ok"]["is"].as_str(), answered.bytes) else {
        let why = said["fault"]["message"].as_str().unwrap_or("the shelf gave nothing to save");
        return Err(Fault::new(Code::Store, why));
    };
    let name = name.to_owned();
    apart(move || {
        let dialog =
            app.dialog().file().set_title("Save everything").set_file_name(name).add_filter("Zip", &["zip"]);
        let Some(chosen) = dialog.blocking_save_file() else { return Ok(None) };
        let chosen = chosen.into_path().map_err(|e| bad(&e.to_string()))?;
        write_whole(&chosen, &bytes).map_err(|e| {
            Fault::new(Code::Store, format!("{} cannot be written: {e}", chosen.display()))
                .hint("Choose another folder, or make room there.")
        })?;
        Ok(Some(chosen.display().to_string()))
    })
    .await
}

/// The files that were dropped on the window: their names, then their bytes.
#[tauri::command]
pub(crate) async fn dropped(shell: State<'_, Shell>) -> Result<Response, Fault> {
    let files = shell.take_dropped();
    apart(move || {
        let name = |file: &PathBuf| file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let names: Vec<String> = files.iter().map(name).collect();
        let read = |file: &PathBuf| {
            std::fs::read(file).map_err(|e| {
                Fault::new(Code::UnreadableFile, format!("{} cannot be read: {e}", file.display()))
            })
        };
        let bytes = files.iter().map(read).collect::<Result<Vec<_>, _>>()?;
        Ok(Response::new(joined(&serde_json::json!(names).to_string(), &bytes)))
    })
    .await
}

/// Pairs the own shelf with a hub.
#[tauri::command]
pub(crate) async fn pair(
    link: String,
    code: String,
    name: String,
    shell: State<'_, Shell>,
) -> Result<(), Fault> {
    let staying = Arc::clone(&shell.staying);
    apart(move || staying.pair(&link, &code, &name)).await
}

/// Exchanges with the hub now, or looks whether there still is one.
#[tauri::command]
pub(crate) async fn exchange(anew: bool, shell: State<'_, Shell>) -> Result<(), Fault> {
    if anew {
        shell.staying.turn();
    } else {
        shell.staying.exchange();
    }
    Ok(())
}

/// This machine as a hub.
#[tauri::command]
pub(crate) async fn hub(shell: State<'_, Shell>) -> Result<HubShown, Fault> {
    let hub = Arc::clone(&shell.hub);
    apart(move || hub.shown()).await
}

/// Turns the hub on, on the shelf that is open.
#[tauri::command]
pub(crate) async fn hub_on(lan: bool, shell: State<'_, Shell>) -> Result<HubShown, Fault> {
    let hub = Arc::clone(&shell.hub);
    let demo = shell.lanes.demo_is_open().ok_or_else(|| Fault::new(Code::NoShelf, "no shelf is open"))?;
    apart(move || hub.on(HubLeft { demo, lan })).await
}

/// Turns it off.
#[tauri::command]
pub(crate) async fn hub_off(shell: State<'_, Shell>) -> Result<HubShown, Fault> {
    let hub = Arc::clone(&shell.hub);
    apart(move || hub.off()).await
}

/// A way in for one device.
#[tauri::command]
pub(crate) async fn hub_invite(shell: State<'_, Shell>) -> Result<WayIn, Fault> {
    let hub = Arc::clone(&shell.hub);
    apart(move || hub.invite()).await
}

/// Lets a device in no longer.
#[tauri::command]
pub(crate) async fn hub_revoke(device: Uuid, shell: State<'_, Shell>) -> Result<HubShown, Fault> {
    let hub = Arc::clone(&shell.hub);
    apart(move || hub.revoke(device)).await
}
