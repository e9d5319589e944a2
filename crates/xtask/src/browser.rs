//! The screens in a real browser, against a real hub: what `ui/tests` walks through, in both sizes and both modes.

use crate::machine::{cargo, need, run as sh, target, top};
use crate::{same, screens};
use std::process::Command;

/// Builds the screens, checks them, and walks through them.
pub(crate) fn run(long: bool) -> Result<(), String> {
    need("chromium", "--version", &["chromium"])?;
    screens::build(screens::How::Quick)?;
    screens::npm_run("check")?;
    screens::npm_run("test")?;
    if long {
        same::run(true)?;
    }
    let folder = target().join("browser-check");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    // A folder that was not there cannot be watched, so the build of the hub is told that there are screens now.
    sh(cargo().args(["build", "--quiet", "--package", "airshelf-cli"]).env("AIRSHELF_SCREENS", "built"))?;
    let airshelf = target().join("debug").join("airshelf");
    sh(Command::new("node")
        .arg(top().join("ui/tests/run.mjs"))
        .env("AIRSHELF_PROGRAM", &airshelf)
        .env("AIRSHELF_BUILT", top().join("ui/dist"))
        .env("AIRSHELF_SHOTS", folder.join("shots")))
}
