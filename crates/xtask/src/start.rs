//! `cargo xtask start`: the main job on the demo shelf, from a fresh clone.

use crate::machine::{cargo, need, run as sh, target};
use std::process::Command;

pub(crate) fn run() -> Result<(), String> {
    need("cc", "--version", &["gcc", "libc6-dev"])?;
    sh(cargo().args(["build", "--release", "--quiet", "--package", "airshelf-cli"]))?;
    let airshelf = target().join("release").join("airshelf");
    let shelf = target().join("demo-shelf");
    if shelf.exists() {
        std::fs::remove_dir_all(&shelf).map_err(|e| format!("{}: {e}", shelf.display()))?;
    }
    let at = |words: &[&str]| {
        let mut command = Command::new(&airshelf);
        command.arg("--shelf").arg(&shelf).args(words);
        command
    };
    sh(&mut at(&["demo"]))?;
    let notebook = shelf.join("old-records");
    let mut sheets: Vec<_> = std::fs::read_dir(&notebook)
        .map_err(|e| format!("{}: {e}", notebook.display()))?
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .collect();
    sheets.sort();
    sh(at(&["import", "--write"]).args(&sheets))?;
    // The audit of the old notebook finds blocking faults by design and says so with exit code 3.
    let audit = at(&["audit"]).status().map_err(|e| e.to_string())?;
    if !matches!(audit.code(), Some(0 | 3)) {
        return Err(format!("airshelf audit: {audit}"));
    }
    sh(&mut at(&["compare"]))?;
    eprintln!("\nThe shelf is at {}. Try:", shelf.display());
    for words in ["find paper", "part list", "explain --help", "calc engine --help"] {
        eprintln!("  {} --shelf {} {words}", airshelf.display(), shelf.display());
    }
    Ok(())
}
