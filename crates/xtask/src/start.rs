//! `cargo xtask start`: the screens on the demo shelf, from a fresh clone.

use crate::desktop;
use crate::machine::{cargo, has, need, run as sh, target};
use crate::screens;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// How long the hub may take until it can be asked for a code.
const UP: Duration = Duration::from_secs(30);

/// Opens them in a browser, or in a window of their own.
pub(crate) fn run(in_a_window: bool) -> Result<(), String> {
    need("cc", "--version", &["gcc", "libc6-dev"])?;
    if in_a_window {
        desktop::libraries()?;
    }
    screens::build(screens::How::Quick)?;
    // A folder that was not there cannot be watched, so the build of the hub is told that there are screens now.
    let mut build = cargo();
    build.args(["build", "--quiet", "--package", "airshelf-cli"]).env("AIRSHELF_SCREENS", "built");
    // The window is built together with the command that fills its shelf, so that both share what they stand on.
    build.args(if in_a_window { ["--package", "airshelf-desktop"] } else { ["--profile", "release"] });
    sh(&mut build)?;
    let built = target().join(if in_a_window { "debug" } else { "release" });
    let airshelf = built.join("airshelf");
    let folder = target().join(if in_a_window { "demo-desktop" } else { "demo-shelf" });
    // The window keeps more than a shelf in its folder.
    let shelf = if in_a_window { folder.join("demo") } else { folder };
    if shelf.exists() {
        std::fs::remove_dir_all(&shelf).map_err(|e| format!("{}: {e}", shelf.display()))?;
    }
    sh(at(&airshelf, &shelf).arg("demo"))?;
    let notebook = shelf.join("old-records");
    let mut sheets: Vec<_> = std::fs::read_dir(&notebook)
        .map_err(|e| format!("{}: {e}", notebook.display()))?
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .collect();
    sheets.sort();
    sh(at(&airshelf, &shelf).args(["import", "--write"]).args(&sheets).stdout(Stdio::null()))?;
    eprintln!("\nThe demo shelf is at {}. In the terminal:", shelf.display());
    for words in ["audit", "compare", "find paper", "explain --help", "calc engine --help"] {
        eprintln!("  {} --shelf {} {words}", airshelf.display(), shelf.display());
    }
    if in_a_window {
        return desktop::open(&built.join("airshelf-desktop"), shelf.parent().unwrap_or(&shelf));
    }
    let mut serve = at(&airshelf, &shelf);
    let mut hub =
        serve.arg("serve").stdout(Stdio::null()).spawn().map_err(|e| format!("airshelf serve: {e}"))?;
    match invitation(&airshelf, &shelf) {
        Some(link) => {
            eprintln!(
                "\nOpen this in a browser on this machine; it pairs itself with the hub. Ctrl-C ends the hub.\n"
            );
            println!("{link}\n");
            if std::env::var_os("DISPLAY").is_some() && has("xdg-open", "--version") {
                let _ = Command::new("xdg-open").arg(&link).stderr(Stdio::null()).status();
            }
        }
        None => {
            let _ = hub.kill();
            let _ = hub.wait();
            return Err("the hub did not come up; is its port taken by another one?".into());
        }
    }
    let ended = hub.wait().map_err(|e| e.to_string())?;
    if ended.success() { Ok(()) } else { Err(format!("airshelf serve: {ended}")) }
}

fn at(airshelf: &Path, shelf: &Path) -> Command {
    let mut command = Command::new(airshelf);
    command.arg("--shelf").arg(shelf);
    command
}

/// The link of an invitation, once the hub runs.
fn invitation(airshelf: &Path, shelf: &Path) -> Option<String> {
    let until = Instant::now() + UP;
    while Instant::now() < until {
        let told = at(airshelf, shelf).args(["--json", "pair"]).stderr(Stdio::null()).output().ok()?;
        let told: serde_json::Value = serde_json::from_slice(&told.stdout).unwrap_or_default();
        if let Some(link) = told["link"].as_str() {
            return Some(link.to_owned());
        }
        std::thread::sleep(Duration::from_millis(200));
    }
    None
}
