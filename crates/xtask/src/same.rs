//! Whether the browser's module answers as the native app does, byte for byte: everything that a screen can ask.

use crate::machine::{cargo, need, run as sh, target, top};
use std::process::Command;

/// Of rows of a kind, so manieth is looked at where it is not to take long: every request at least once.
const A_FEW: &str = "1000";

/// Asks both, and fails where they differ; where it may take `long`, about every row. The module must have been built.
pub(crate) fn run(long: bool) -> Result<(), String> {
    need("chromium", "--version", &["chromium"])?;
    let folder = target().join("same");
    let _ = std::fs::remove_dir_all(&folder);
    let example = |word: &str| {
        let mut command = cargo();
        command.args(["run", "--quiet", "--package", "airshelf-tests", "--example", "same"]);
        if long {
            command.arg("--release");
        }
        command.args(["--", word]).arg(&folder);
        command
    };
    sh(example("record").arg(if long { "1" } else { A_FEW }))?;
    sh(Command::new("node").arg(top().join("ui/scripts/replay.js")).arg(&folder))?;
    sh(&mut example("compare"))
}
