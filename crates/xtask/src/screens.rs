//! `cargo xtask screens`: the core as a module for the browser, its bindings, and the built screens.

use crate::desktop;
use crate::machine::{cargo, has, need, run as sh, target, top};
use std::path::{Path, PathBuf};
use std::process::Command;

/// How much trouble is taken over the module.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum How {
    /// As it is handed out: small.
    Small,
    /// Soon ready, for work on the screens.
    Quick,
}

const TRIPLE: &str = "wasm32-unknown-unknown";

/// Builds module and screens.
pub(crate) fn build(how: How) -> Result<(), String> {
    module(how)?;
    npm_install()?;
    if how == How::Small {
        shrink()?;
    }
    sh(npm().args(["run", "--silent", "build", "--", "--logLevel", "warn"]))
}

/// Runs one of the screens' own scripts.
pub(crate) fn npm_run(script: &str) -> Result<(), String> {
    sh(npm().args(["run", "--silent", script]))
}

/// Writes the TypeScript types of the requests.
pub(crate) fn types() -> Result<(), String> {
    let write = |package: &[&str]| {
        sh(cargo().args(["test", "--quiet", "--package"]).args(package).env("AIRSHELF_WRITE_TYPES", "1"))
    };
    write(&["airshelf-app", "--test", "types"])?;
    // Whoever has no window to build leaves the desktop's few types as they are.
    if desktop::libraries_are_there() { write(&["airshelf-desktop", "types"]) } else { Ok(()) }
}

fn ui() -> PathBuf {
    top().join("ui")
}

fn bindings() -> PathBuf {
    ui().join("src/lib/backend/module")
}

fn npm() -> Command {
    let mut npm = Command::new("npm");
    npm.arg("--prefix").arg(ui());
    npm
}

/// Installs what the screens are built with, where the lock file is newer than what is there.
pub(crate) fn npm_install() -> Result<(), String> {
    need("npm", "--version", &["nodejs", "npm"])?;
    let changed = |path: PathBuf| std::fs::metadata(path).and_then(|about| about.modified()).ok();
    let installed = changed(ui().join("node_modules/.package-lock.json"));
    if installed.is_some() && installed >= changed(ui().join("package-lock.json")) {
        return Ok(());
    }
    sh(npm().args(["ci", "--no-audit", "--no-fund", "--silent"]))
}

/// Builds the module with whatever toolchain here can: the usual one where it has the target, else Debian's.
fn module(how: How) -> Result<(), String> {
    need("clang-22", "--version", &["clang-22", "llvm-22", "lld-22"])?;
    let profile = match how {
        How::Small => "browser",
        How::Quick => "browser-quick",
    };
    let folder = target().join("module");
    let (mut build, own_std) = toolchain()?;
    build
        .args(["build", "--quiet", "--package", "airshelf-wasm", "--target", TRIPLE, "--profile", profile])
        .env("CARGO_TARGET_DIR", &folder)
        .env("CC_wasm32_unknown_unknown", "clang-22")
        .env("AR_wasm32_unknown_unknown", "llvm-ar-22")
        .env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", "wasm-ld-22");
    if own_std {
        build.arg("-Zbuild-std=std,panic_abort").env("RUSTC_BOOTSTRAP", "1").env("RUSTC", "/usr/bin/rustc");
    }
    sh(&mut build)?;
    let built = folder.join(TRIPLE).join(profile).join("airshelf_wasm.wasm");
    sh(cargo()
        .args(["run", "--quiet", "--package", "xtask", "--features", "bindings", "--", "bind"])
        .arg(&built)
        .arg(bindings()))
}

/// A cargo that builds for the browser, and whether it has to build the standard library first.
fn toolchain() -> Result<(Command, bool), String> {
    let sysroot = Command::new("rustc").args(["--print", "sysroot"]).output().map_err(|e| e.to_string())?;
    let sysroot = PathBuf::from(String::from_utf8_lossy(&sysroot.stdout).trim());
    if sysroot.join("lib/rustlib").join(TRIPLE).exists() {
        return Ok((cargo(), false));
    }
    if has("rustup", "--version") {
        let added = Command::new("rustup").args(["target", "add", TRIPLE]).output();
        if added.is_ok_and(|out| out.status.success()) {
            return Ok((cargo(), false));
        }
    }
    if !Path::new("/usr/lib/rustlib").exists() && !Path::new("/usr/bin/rustc").exists() {
        // The second toolchain of Debian stands beside the usual one and leaves it alone.
        need("/usr/bin/rustc", "--version", &["rustc-web", "cargo-web", "rust-web-src"])?;
    }
    Ok((Command::new("/usr/bin/cargo"), true))
}

/// Writes the bindings of a built module.
#[cfg(feature = "bindings")]
pub(crate) fn bind(module: &Path, to: &Path) -> Result<(), String> {
    wasm_bindgen_cli_support::Bindgen::new()
        .input_path(module)
        .web(true)
        .map_err(|e| e.to_string())?
        .typescript(true)
        .generate(to)
        .map_err(|e| format!("{}: {e}", module.display()))
}

/// Makes the module smaller with binaryen's optimizer, which comes with the packages of the screens.
fn shrink() -> Result<(), String> {
    let module = bindings().join("airshelf_wasm_bg.wasm");
    let optimizer = ui().join("node_modules/.bin/wasm-opt");
    sh(Command::new(optimizer)
        .args(["-Os", "--enable-bulk-memory", "--enable-nontrapping-float-to-int", "--enable-sign-ext"])
        .args(["--enable-mutable-globals", "--enable-reference-types", "--enable-multivalue"])
        .arg(&module)
        .arg("-o")
        .arg(&module))
}
