//! `cargo xtask browser` runs this: `record FOLDER EVERY` asks the native app everything, `compare FOLDER` tells where the
//! browser's module answered something else.

use airshelf_tests::same::{compare, record};
use std::path::Path;
use std::process::ExitCode;

fn run(words: &[String]) -> Result<(), String> {
    match words {
        [word, folder, every] if word == "record" => {
            let every = every.parse().map_err(|e| format!("{every}: {e}"))?;
            let shelves = tempfile::tempdir().map_err(|e| e.to_string())?;
            record(shelves.path(), every).keep(Path::new(folder)).map_err(|e| e.to_string())
        }
        [word, folder] if word == "compare" => {
            let (asked, differ) = compare(Path::new(folder))?;
            eprintln!("  {asked} requests, {} answered otherwise by the module", differ.len());
            if differ.is_empty() {
                return Ok(());
            }
            Err(differ.iter().take(40).map(|one| format!("  {one}\n")).collect())
        }
        _ => Err("record FOLDER EVERY | compare FOLDER".into()),
    }
}

fn main() -> ExitCode {
    match run(&std::env::args().skip(1).collect::<Vec<_>>()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}
