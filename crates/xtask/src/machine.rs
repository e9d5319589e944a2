//! What the machine has, and how to get what it lacks.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

/// The top folder of the project.
pub(crate) fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .ancestors()
        .nth(2)
        .expect("xtask stands two folders below the top")
        .to_path_buf()
}

/// The folder that builds go to.
pub(crate) fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| top().join("target"), PathBuf::from)
}

/// Runs a command in the top folder and fails if it does; says how long it took where that was long.
pub(crate) fn run(command: &mut Command) -> Result<(), String> {
    let shown = format!("{command:?}").replace('"', "");
    eprintln!("  $ {shown}");
    let begin = Instant::now();
    let done = command.current_dir(top()).status();
    let took = begin.elapsed().as_secs();
    if took >= 10 {
        eprintln!("    took {} min {} s", took / 60, took % 60);
    }
    match done {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{shown}: {status}")),
        Err(error) => Err(format!("{shown}: {error}")),
    }
}

/// The cargo that runs this program.
pub(crate) fn cargo() -> Command {
    Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
}

/// Whether a program answers.
pub(crate) fn has(program: &str, argument: &str) -> bool {
    Command::new(program)
        .arg(argument)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success())
}

/// Makes sure that `program` answers, installing the Debian packages `packages` when root.
pub(crate) fn need(program: &str, argument: &str, packages: &[&str]) -> Result<(), String> {
    if has(program, argument) { Ok(()) } else { install(program, packages) }
}

/// The same of a library that others are built with.
pub(crate) fn need_library(library: &str, packages: &[&str]) -> Result<(), String> {
    if has_library(library) { Ok(()) } else { install(library, packages) }
}

/// Whether a library is there to build with.
pub(crate) fn has_library(library: &str) -> bool {
    let asked = Command::new("pkg-config").args(["--exists", library]).status();
    asked.is_ok_and(|status| status.success())
}

fn install(program: &str, packages: &[&str]) -> Result<(), String> {
    let list = packages.join(" ");
    let root = Command::new("id").arg("-u").output().is_ok_and(|out| out.stdout.starts_with(b"0\n"));
    if !root || !has("apt-get", "--version") {
        return Err(format!(
            "{program} is missing. Install it with:\n  sudo apt-get update && sudo apt-get install --no-install-recommends {list}"
        ));
    }
    run(Command::new("apt-get").args(["update", "-q"]))?;
    run(Command::new("apt-get").args(["install", "-y", "-q", "--no-install-recommends"]).args(packages))
}
