//! What Tauri reads of this folder, and the only commands that a screen may give.

fn main() {
    let commands = tauri_build::AppManifest::new().commands(&[
        "ask",
        "stop",
        "hear",
        "kept",
        "keep",
        "save_everything",
        "dropped",
        "pair",
        "exchange",
        "hub",
        "hub_on",
        "hub_off",
        "hub_invite",
        "hub_revoke",
    ]);
    let attributes = tauri_build::Attributes::new().app_manifest(commands);
    tauri_build::try_build(attributes).expect("the desktop's configuration is in order");
}
