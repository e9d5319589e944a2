//! Whole commands, as a person or a script runs them. Each file of `commands/` holds one subject.
#![allow(clippy::unwrap_used)]

mod commands {
    pub mod answers;
    pub mod calc;
    pub mod hub;
    pub mod nouns;
    pub mod quarantine;
    pub mod shelf;
    pub mod sync;
    pub mod terminal;
}

use std::path::Path;
use std::process::{Command, Output};

/// Runs `airshelf` in an empty home, and gives what it printed and its exit code.
pub fn airshelf(home: &Path, words: &[&str]) -> Output {
    airshelf_at(home, 100, words)
}

/// As [`airshelf`], on a terminal of so many columns.
pub fn airshelf_at(home: &Path, columns: usize, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_airshelf"))
        .args(words)
        .current_dir(home)
        .env_clear()
        .env("HOME", home)
        .env("COLUMNS", columns.to_string())
        .env("NO_COLOR", "1")
        .output()
        .expect("the command was built")
}

/// What a command said on stdout.
pub fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// A sample sheet.
pub fn sheet(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/sheets/visible").join(name);
    path.to_str().expect("the checkout has a plain path").to_owned()
}

/// Stdout, stderr and exit code as one text for a snapshot.
pub fn shown(output: &Output) -> String {
    let mut text = String::from_utf8_lossy(&output.stdout).into_owned();
    if !output.stderr.is_empty() {
        text += "--- stderr\n";
        text += &String::from_utf8_lossy(&output.stderr);
    }
    text += &format!("--- exit {}\n", output.status.code().unwrap_or(-1));
    text
}

/// The JSON document that a command printed.
pub fn json(output: &Output) -> serde_json::Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|e| {
        panic!(
            "{e}: {}\n{}",
            String::from_utf8_lossy(&output.stdout),
            String::from_utf8_lossy(&output.stderr)
        )
    })
}

#[test]
fn every_file_of_commands_is_run() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/commands");
    let runner =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/runner.rs")).unwrap();
    for entry in std::fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned();
        assert!(name == "snapshots" || runner.contains(&format!("pub mod {name};")), "{name} is forgotten");
    }
}
