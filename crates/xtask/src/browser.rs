//! The screens in a real browser, against a real hub: what `ui/tests` walks through, in both sizes and both modes.

use crate::hub::first_document;
use crate::machine::{cargo, need, run as sh, target, top};
use crate::screens;
use std::process::{Child, Command, Stdio};

/// A hub that ends with its value.
struct Hub(Child);

impl Drop for Hub {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Builds the screens, checks them, and walks through them.
pub(crate) fn run() -> Result<(), String> {
    need("chromium", "--version", &["chromium"])?;
    screens::build(screens::How::Quick)?;
    screens::npm_run("check")?;
    screens::npm_run("test")?;
    let folder = target().join("browser-check");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    // A folder that was not there cannot be watched, so the build of the hub is told that there are screens now.
    sh(cargo().args(["build", "--quiet", "--package", "airshelf-cli"]).env("AIRSHELF_SCREENS", "built"))?;
    let airshelf = target().join("debug").join("airshelf");
    let at = |words: &[&str]| {
        let mut command = Command::new(&airshelf);
        command
            .env("HOME", &folder)
            .env_remove("XDG_CONFIG_HOME")
            .arg("--shelf")
            .arg(folder.join("shelf"))
            .args(words);
        command
    };
    sh(&mut at(&["demo"]))?;
    let log = std::fs::File::create(folder.join("hub.log")).map_err(|e| e.to_string())?;
    let mut serve = at(&["--json", "serve", "--port", "0"]);
    let child =
        serve.stdout(Stdio::piped()).stderr(log).spawn().map_err(|e| format!("airshelf serve: {e}"))?;
    let mut hub = Hub(child);
    let told = first_document(&mut hub.0)?;
    let url = told["url"].as_str().ok_or("the hub told no address")?;
    let link = told["invitation"]["link"].as_str().unwrap_or_default();
    sh(Command::new("node")
        .arg(top().join("ui/tests/run.mjs"))
        .env("AIRSHELF_ORIGIN", url)
        .env("AIRSHELF_INVITATION", link)
        .env("AIRSHELF_PROGRAM", &airshelf)
        .env("AIRSHELF_BUILT", top().join("ui/dist"))
        .env("AIRSHELF_SHOTS", folder.join("shots")))
}
