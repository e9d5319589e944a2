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

/// Builds the program with the screens that there are, and the command that the walk looks at shelves with.
fn program() -> Result<PathBuf, String> {
    // A folder that was not there cannot be watched, so the build is told that there are screens now.
    let both = ["build", "--quiet", "--package", "airshelf-desktop", "--package", "airshelf-cli"];
    sh(cargo().args(both).env("AIRSHELF_SCREENS", "built"))?;
    Ok(target().join("debug").join("airshelf-desktop"))
}

/// Builds it and says where it is.
pub(crate) fn run() -> Result<(), String> {
    let program = build()?;
    println!("{}", program.display());
    Ok(())
}

/// Opens the window on a shelf in a folder of its own.
pub(crate) fn open(program: &Path, data: &Path) -> Result<(), String> {
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

/// Makes the package, with the small module for phones within.
pub(crate) fn deb() -> Result<PathBuf, String> {
    libraries()?;
    screens::build(screens::How::Small)?;
    package()
}

/// Makes the package with the screens that there are.
fn package() -> Result<PathBuf, String> {
    let folder = top().join("src-tauri");
    sh(Command::new("npm").arg("--prefix").arg(&folder).args(["ci", "--no-audit", "--no-fund", "--silent"]))?;
    let made = target().join("release/bundle/deb");
    let _ = std::fs::remove_dir_all(&made);
    sh(Command::new(folder.join("node_modules/.bin/tauri"))
        .args(["build", "--bundles", "deb"])
        .env("AIRSHELF_SCREENS", "built")
        .env("CARGO_TARGET_DIR", target()))?;
    let mut found = std::fs::read_dir(&made).map_err(|e| format!("{}: {e}", made.display()))?.flatten();
    let package = found.find(|entry| entry.path().extension().is_some_and(|ending| ending == "deb"));
    let package = package.ok_or_else(|| format!("{} holds no package", made.display()))?.path();
    println!("{}", package.display());
    Ok(package)
}

/// Installs the package on a root that holds nothing but the system's base, and starts it there on an empty display.
pub(crate) fn clean_root() -> Result<(), String> {
    need("mmdebstrap", "--version", &["mmdebstrap"])?;
    let package = if top().join("ui/dist/index.html").exists() { package()? } else { deb()? };
    let release = std::fs::read_to_string("/etc/os-release").map_err(|e| e.to_string())?;
    let suite = release.lines().find_map(|line| line.strip_prefix("VERSION_CODENAME="));
    let suite = suite.ok_or("this system is no Debian, whose packages a clean root is made of")?;
    let shots = target().join("desktop-check");
    std::fs::create_dir_all(&shots).map_err(|e| e.to_string())?;
    let copied = format!("--customize-hook=copy-in {} /opt", package.display());
    let name = package.file_name().unwrap_or_default().to_string_lossy();
    let inside = |what: &str| format!("--customize-hook=chroot \"$1\" {what}");
    sh(Command::new("mmdebstrap")
        .args(["--variant=minbase", suite, "/dev/null"])
        .arg(copied)
        // With what the package itself asks for, and nothing else.
        .arg(inside(&format!("apt-get install -y -q --no-install-recommends /opt/{name}")))
        .arg(inside("apt-get install -y -q --no-install-recommends xvfb xauth dbus scrot xdotool"))
        .arg(format!("--customize-hook=copy-in {} /opt", top().join("src-tauri/tests/start.sh").display()))
        .arg(inside("sh /opt/start.sh"))
        .arg(format!("--customize-hook=copy-out /opt/clean-root.png {}", shots.display())))
}
