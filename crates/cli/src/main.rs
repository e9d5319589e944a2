//! `airshelf`: the command line over [`airshelf_app`].
//!
//! Start reading at [`arguments`], which lists the commands, then [`run`], which turns each into a call of the app.
//! Data goes to stdout, talk to stderr. Exit codes: 0 done, 1 fault, 2 usage, 3 the audit found a blocking fault.
//!
//! Architecture invariant: nothing is computed here, and nothing here knows SQL or a sheet's layout.

mod arguments;
mod calc;
mod output;
mod run;
mod show;

use airshelf_app::Code;
use arguments::Cli;
use clap::FromArgMatches;
use output::Output;
use std::process::ExitCode;

/// Old records are a million small texts; this allocator hands them out faster than the system's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let matches = match arguments::command().try_get_matches() {
        Ok(matches) => matches,
        Err(error) => {
            // Help and version are no errors; clap knows which stream each goes to.
            let _ = error.print();
            return ExitCode::from(u8::from(error.use_stderr()) * 2);
        }
    };
    let calculation =
        matches.subcommand().filter(|(name, _)| *name == "calc").and_then(|(_, calc)| calc.subcommand());
    let cli = match Cli::from_arg_matches(&matches) {
        Ok(cli) => cli,
        Err(error) => {
            let _ = error.print();
            return ExitCode::from(2);
        }
    };
    let mut out = Output::new(cli.json, cli.system());
    let done = match calculation {
        Some((name, given)) => calc::run(name, given, &mut out),
        None => run::run(&cli, &mut out),
    };
    match done {
        Ok(code) => ExitCode::from(code),
        Err(fault) => {
            out.fault(&fault);
            ExitCode::from(if matches!(fault.code, Code::BadArgument | Code::BadQuantity) { 2 } else { 1 })
        }
    }
}
