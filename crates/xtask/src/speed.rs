//! How quick the screens are: `ui/scripts/speed.js` in a browser at a quarter of the processor, on a shelf as big as any.

use crate::hub::Hub;
use crate::machine::{cargo, need, run as sh, target, top};
use crate::screens;
use std::process::{Command, Stdio};

/// Builds the screens as they are handed out, fills a shelf, and measures.
pub(crate) fn run() -> Result<(), String> {
    need("chromium", "--version", &["chromium"])?;
    need("python3", "--version", &["python3"])?;
    screens::build(screens::How::Small)?;
    sh(cargo()
        .args(["build", "--release", "--quiet", "--package", "airshelf-cli"])
        .env("AIRSHELF_SCREENS", "small"))?;
    let airshelf = target().join("release").join("airshelf");
    let folder = target().join("speed");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let at = |words: &[&str]| {
        let mut command = Command::new(&airshelf);
        command.env("HOME", &folder).env_remove("XDG_CONFIG_HOME");
        command.arg("--shelf").arg(folder.join("shelf")).args(words);
        command
    };
    sh(Command::new("python3")
        .arg(top().join("fixtures/sheets/make_shelf.py"))
        .arg("--folder")
        .arg(&folder)
        .env("PYTHONDONTWRITEBYTECODE", "1"))?;
    sh(&mut at(&["demo"]))?;
    let mut import = at(&["import", "--write"]);
    import.arg(folder.join("big-parts.csv")).arg(folder.join("long-evening.csv"));
    sh(import.stdout(Stdio::null()))?;
    let packed = folder.join("shelf.zip");
    sh(at(&["backup"]).arg(&packed))?;
    let hub = Hub::start(&mut at(&["--json", "serve", "--port", "0"]), &folder.join("hub.log"))?;
    println!("\nthe screens at a quarter of the processor, on the demo with 20,000 parts more");
    sh(Command::new("node").arg(top().join("ui/scripts/speed.js")).arg(&hub.url).arg(&packed))
}
