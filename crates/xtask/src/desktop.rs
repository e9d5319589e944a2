//! The desktop: its program, its window under the system's own driver, its package and a clean root to put it into.

use crate::machine::{cargo, has_library, need, need_library, run as sh, target, top};
use crate::screens;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What a desktop is built with.
const LIBRARIES: &[&str] = &["libwebkit2gtk-4.1-dev", "libgtk-3-dev", "librsvg2-dev", "pkg-config"];

/// Installs what the desktop is built with.
pub(crate) fn libraries() -> Result<(), String> {
    need("cc", "--version", &["gcc", "libc6-dev"])?;
    need_library("webkit2gtk-4.1", LIBRARIES)
}

/// Whether the desktop can be built here.
pub(crate) fn libraries_are_there() -> bool {
    has_library("webkit2gtk-4.1")
}

/// Builds screens and program.
pub(crate) fn build() -> Result<PathBuf, String> {
    libraries()?;
    screens::build(screens::How::Quick)?;
    program()
}

/// Builds the program with the screens that there are.
fn program() -> Result<PathBuf, String> {
    // A folder that was not there cannot be watched, so the build is told that there are screens now.
    sh(cargo().args(["build", "--quiet", "--package", "airshelf-desktop"]).env("AIRSHELF_SCREENS", "built"))?;
    Ok(target().join("debug").join("airshelf-desktop"))
}

/// Builds it and says where it is.
pub(crate) fn run() -> Result<(), String> {
    let program = build()?;
    println!("{}", program.display());
    Ok(())
}

/// Opens the window on a shelf in a folder of its own.
pub(crate) fn open(data: &Path) -> Result<(), String> {
    let program = program()?;
    sh(Command::new(program).arg("--data").arg(data).arg("--demo"))
}

/// Walks through the window: `ui/desktop`.
pub(crate) fn test() -> Result<(), String> {
    libraries()?;
    need("WebKitWebDriver", "--help", &["webkit2gtk-driver"])?;
    need("xvfb-run", "--help", &["xvfb", "xauth"])?;
    need("scrot", "--version", &["scrot"])?;
    need("dbus-run-session", "--version", &["dbus"])?;
    if !top().join("ui/dist/index.html").exists() {
        screens::build(screens::How::Quick)?;
    }
    screens::npm_install()?;
    let program = program()?;
    sh(cargo().args(["build", "--quiet", "--package", "airshelf-cli"]))?;
    let folder = target().join("desktop-check");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    sh(Command::new("xvfb-run")
        .args(["--auto-servernum", "--server-args=-screen 0 1200x884x24", "dbus-run-session", "--", "node"])
        .arg(top().join("ui/desktop/run.mjs"))
        .env("AIRSHELF_DESKTOP", program)
        .env("AIRSHELF_COMMAND", target().join("debug").join("airshelf"))
        .env("AIRSHELF_FOLDER", &folder)
        .env("AIRSHELF_SHOTS", folder.join("shots"))
        .env("HOME", &folder)
        .env_remove("XDG_CONFIG_HOME")
        .env_remove("XDG_DATA_HOME"))
}
