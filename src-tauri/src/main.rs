//! `airshelf-desktop`: the screens in a window, on the shelf of this machine.
//!
//! Start reading at [`window`], which opens it, then [`commands`], all that a screen may ask of the machine. [`lanes`]
//! answers the same requests as a browser's worker, [`together`] keeps the own shelf together with a hub, [`hub`] makes
//! this machine one, [`kept`] holds half-filled forms and small choices.
//!
//! Architecture invariants: nothing is decided or computed about records here. The window keeps nothing: whatever shall
//! be there tomorrow lies in this machine's folders. A screen names no file; where one is written, a person chose it in
//! the system's own dialog.

#![cfg_attr(test, allow(clippy::unwrap_used))]

mod commands;
mod host;
mod hub;
mod kept;
mod lanes;
mod menu;
mod news;
mod place;
mod screens;
#[cfg(test)]
mod shed;
mod shell;
mod together;
#[cfg(test)]
mod types;
mod window;
mod wire;

use clap::Parser;
use std::path::PathBuf;
use std::process::ExitCode;

/// Opens the shelf of this machine in a window.
#[derive(Debug, Parser)]
#[command(name = "airshelf-desktop", version)]
pub(crate) struct Options {
    /// Keeps everything in this folder, in place of the usual ones
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
    /// Opens the demo shelf, made first where there is none
    #[arg(long)]
    demo: bool,
    /// The port of the hub, where the usual one is taken
    #[arg(long, value_name = "PORT")]
    port: Option<u16>,
}

fn main() -> ExitCode {
    let options = Options::parse();
    match window::run(&options) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("airshelf-desktop: {why}");
            ExitCode::FAILURE
        }
    }
}
