//! `cargo xtask tidy`: the direction of dependencies, and that every file says what it is.

use crate::machine::{cargo, top};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;

/// What each crate may depend on within the project, from the bottom up.
const DIRECTION: &[(&str, &[&str])] = &[
    ("airshelf-units", &[]),
    ("airshelf-stats", &["airshelf-units"]),
    ("airshelf-flow", &["airshelf-stats", "airshelf-units"]),
    ("airshelf-catalog", &["airshelf-units", "airshelf-flow", "airshelf-stats"]),
    ("airshelf-photo", &[]),
    ("airshelf-store", &["airshelf-catalog", "airshelf-units"]),
    ("airshelf-intake", &["airshelf-catalog", "airshelf-units", "airshelf-flow", "airshelf-stats"]),
    (
        "airshelf-app",
        &[
            "airshelf-catalog",
            "airshelf-flow",
            "airshelf-intake",
            "airshelf-photo",
            "airshelf-stats",
            "airshelf-store",
            "airshelf-units",
        ],
    ),
    ("airshelf-server", &["airshelf-app"]),
    ("airshelf-wasm", &["airshelf-app"]),
    ("airshelf-cli", &["airshelf-app", "airshelf-server"]),
    ("airshelf-desktop", &["airshelf-app", "airshelf-server"]),
    ("xtask", &[]),
];

/// Outside crates that only one crate of ours may use.
const KEPT_IN: &[(&str, &[&str])] = &[
    ("rusqlite", &["airshelf-store"]),
    ("calamine", &["airshelf-intake"]),
    ("clap", &["airshelf-cli", "airshelf-desktop"]),
    ("axum", &["airshelf-server"]),
    ("rustls", &["airshelf-server"]),
    ("ureq", &["airshelf-server"]),
    ("ts-rs", &["airshelf-app", "airshelf-catalog", "airshelf-desktop"]),
    ("tauri", &["airshelf-desktop"]),
    ("wasm-bindgen", &["airshelf-wasm"]),
];

pub(crate) fn run() -> Result<(), String> {
    let mut wrong = directions()?;
    for folder in ["crates", "src-tauri", "tests"] {
        headers(&top().join(folder), &mut wrong)?;
    }
    if wrong.is_empty() { Ok(()) } else { Err(format!("not tidy:\n  {}", wrong.join("\n  "))) }
}

fn directions() -> Result<Vec<String>, String> {
    let out = cargo()
        .args(["metadata", "--format-version", "1", "--no-deps"])
        .current_dir(top())
        .output()
        .map_err(|e| e.to_string())?;
    let metadata: Value = serde_json::from_slice(&out.stdout).map_err(|e| e.to_string())?;
    let allowed: BTreeMap<_, _> = DIRECTION.iter().copied().collect();
    let mut wrong = Vec::new();
    for package in metadata["packages"].as_array().into_iter().flatten() {
        let name = package["name"].as_str().unwrap_or_default();
        for dependency in package["dependencies"].as_array().into_iter().flatten() {
            let on = dependency["name"].as_str().unwrap_or_default();
            if let Some((_, users)) = KEPT_IN.iter().find(|(kept, _)| *kept == on)
                && !users.contains(&name)
                && dependency["kind"].is_null()
            {
                wrong.push(format!("{name} uses {on}, which only {} may", users.join(", ")));
            }
            if !dependency["kind"].is_null() || !on.starts_with("airshelf-") || name == "airshelf-tests" {
                continue;
            }
            if !allowed.get(name).is_some_and(|list| list.contains(&on)) {
                wrong.push(format!("{name} depends on {on}, against the direction in DEVELOPERS.md"));
            }
        }
    }
    Ok(wrong)
}

fn headers(folder: &Path, wrong: &mut Vec<String>) -> Result<(), String> {
    let entries = std::fs::read_dir(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    for entry in entries {
        let path = entry.map_err(|e| e.to_string())?.path();
        if path.is_dir() {
            headers(&path, wrong)?;
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = std::fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))?;
            if !text.starts_with("//!") {
                wrong.push(format!("{} does not open with //!", path.display()));
            }
        }
    }
    Ok(())
}
