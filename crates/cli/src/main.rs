//! `airshelf`: the command line over [`airshelf_app`].
//!
//! Start reading at [`arguments`], which lists the commands, then [`run`], which turns each into a call of the app.
//! Data goes to stdout, talk to stderr. Exit codes: 0 done, 1 fault, 2 usage, 3 the audit found a blocking fault.
//!
//! Architecture invariant: nothing is computed here, and nothing here knows SQL or a sheet's layout.

mod arguments;
mod calc;
mod hub;
mod output;
mod run;
mod show;
mod sync;

use airshelf_app::Code;
use arguments::Cli;
use clap::FromArgMatches;
use output::Output;
use std::io::Write;
use std::process::ExitCode;

/// Old records are a million small texts; this allocator hands them out faster than the system's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let matches = match arguments::command().try_get_matches() {
        Ok(matches) => matches,
        Err(error) => return usage(&error),
    };
    let calculation =
        matches.subcommand().filter(|(name, _)| *name == "calc").and_then(|(_, calc)| calc.subcommand());
    let cli = match Cli::from_arg_matches(&matches) {
        Ok(cli) => cli,
        Err(error) => return usage(&error),
    };
    let mut out = Output::new(cli.json, cli.system());
    let done = match calculation {
        Some((name, given)) => calc::run(name, given, &mut out),
        None => run::run(&cli, &mut out),
    };
    match done {
        Ok(code) => ExitCode::from(if out.arrived() { code } else { 1 }),
        Err(fault) => {
            out.fault(&fault);
            ExitCode::from(if matches!(fault.code, Code::BadArgument | Code::BadQuantity) { 2 } else { 1 })
        }
    }
}

/// Help and version are no errors; clap knows which stream each goes to. Scripts get a document for the others.
fn usage(error: &clap::Error) -> ExitCode {
    if std::env::args().any(|word| output::harmless(&word) != word) {
        // What was typed is repeated in the message, and must not steer the terminal from there.
        for line in error.to_string().lines() {
            let _ = writeln!(std::io::stderr(), "{}", output::harmless(line));
        }
    } else {
        let _ = error.print();
    }
    if !error.use_stderr() {
        return ExitCode::SUCCESS;
    }
    if std::env::args().any(|word| word == "--json") {
        let message =
            error.to_string().lines().next().unwrap_or_default().trim_start_matches("error: ").to_owned();
        Output::new(true, None)
            .document(&serde_json::json!({ "fault": airshelf_app::Fault::new(Code::BadArgument, message) }));
    }
    ExitCode::from(2)
}
