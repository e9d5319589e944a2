//! `cargo xtask test`: everything that must pass before a change lands.

use crate::browser;
use crate::desktop;
use crate::hub;
use crate::machine::{cargo, need, run as sh};
use crate::tidy;

pub(crate) fn run(long: bool) -> Result<(), String> {
    need("cc", "--version", &["gcc", "libc6-dev"])?;
    desktop::libraries()?;
    sh(cargo().args(["fmt", "--all", "--check"]))?;
    sh(cargo().args(["clippy", "--workspace", "--all-targets", "--quiet", "--", "--deny", "warnings"]))?;
    tidy::run()?;
    let mut tests = cargo();
    tests.args(["test", "--workspace", "--quiet"]);
    if long {
        tests.env("AIRSHELF_LONG", "1");
    }
    sh(&mut tests)?;
    hub::run(long)?;
    browser::run(long)?;
    if !long {
        return Ok(());
    }
    desktop::test()?;
    desktop::clean_root()
}
