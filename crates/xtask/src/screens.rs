//! `cargo xtask screens`: the core as a module for the browser, its bindings, and the built screens.

use crate::desktop;
use crate::machine::{cargo, need, run as sh, target, top};
use std::path::PathBuf;
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

/// What the store asks nothing of, and every visitor would load.
const SQLITE_WITHOUT: &[&str] = &[
    "-USQLITE_ENABLE_API_ARMOR",
    "-USQLITE_ENABLE_BYTECODE_VTAB",
    "-USQLITE_ENABLE_COLUMN_METADATA",
    "-USQLITE_ENABLE_DBPAGE_VTAB",
    "-USQLITE_ENABLE_DBSTAT_VTAB",
    "-USQLITE_ENABLE_MATH_FUNCTIONS",
    "-USQLITE_ENABLE_OFFSET_SQL_FUNC",
    "-USQLITE_ENABLE_PREUPDATE_HOOK",
    "-USQLITE_ENABLE_RTREE",
    "-USQLITE_ENABLE_SESSION",
    "-USQLITE_ENABLE_STMTVTAB",
    "-USQLITE_ENABLE_UNKNOWN_SQL_FUNCTION",
    "-USQLITE_ENABLE_UNLOCK_NOTIFY",
    "-DSQLITE_OMIT_AUTHORIZATION",
    "-DSQLITE_OMIT_COMPLETE",
    "-DSQLITE_OMIT_DECLTYPE",
    "-DSQLITE_OMIT_GET_TABLE",
    "-DSQLITE_OMIT_PROGRESS_CALLBACK",
    "-DSQLITE_OMIT_TRACE",
    "-DSQLITE_OMIT_UTF16",
    "-DSQLITE_OMIT_WAL",
];

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
    let toolchain = toolchain(how)?;
    let mut build = toolchain.cargo();
    build
        .args(["build", "--quiet", "--package", "airshelf-wasm", "--target", TRIPLE, "--profile", profile])
        .env("CARGO_TARGET_DIR", &folder)
        .env("SQLITE_WASM_RS_FLAGS", SQLITE_WITHOUT.join(" "))
        .env("CC_wasm32_unknown_unknown", "clang-22")
        .env("AR_wasm32_unknown_unknown", "llvm-ar-22")
        .env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", "wasm-ld-22");
    if toolchain != Toolchain::Usual {
        build.args(["-Zbuild-std=std,panic_abort", "-Zbuild-std-features=optimize_for_size"]);
        build.env("RUSTC_BOOTSTRAP", "1");
    }
    if toolchain != Toolchain::Usual && how == How::Small {
        // A panic ends the worker, and the page starts another: what it would have said is not worth its size.
        build.arg("-Zpanic-immediate-abort").env("CARGO_PROFILE_BROWSER_PANIC", "immediate-abort");
        build.env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS", "-Zlocation-detail=none");
    }
    sh(&mut build)?;
    let built = folder.join(TRIPLE).join(profile).join("airshelf_wasm.wasm");
    sh(cargo()
        .args(["run", "--quiet", "--package", "xtask", "--features", "bindings", "--", "bind"])
        .arg(&built)
        .arg(bindings()))
}

/// What builds for the browser.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Toolchain {
    /// The usual one, with the standard library as it was handed out.
    Usual,
    /// The usual one, and the standard library built as small as the rest.
    WithSources,
    /// Debian's, which stands beside the usual one and leaves it alone; it has sources only.
    Debian,
}

impl Toolchain {
    fn cargo(self) -> Command {
        if self != Toolchain::Debian {
            return cargo();
        }
        let mut cargo = Command::new("/usr/bin/cargo");
        cargo.env("RUSTC", "/usr/bin/rustc");
        cargo
    }
}

/// Chooses one, adding to it what it lacks where that can be downloaded.
fn toolchain(how: How) -> Result<Toolchain, String> {
    let sysroot = Command::new("rustc").args(["--print", "sysroot"]).output().map_err(|e| e.to_string())?;
    let library = PathBuf::from(String::from_utf8_lossy(&sysroot.stdout).trim()).join("lib/rustlib");
    let has_or_gets = |part: &str, add: [&str; 3]| {
        let has = || library.join(part).exists();
        if !has() {
            let _ = Command::new("rustup").args(add).output();
        }
        has()
    };
    if how == How::Small && has_or_gets("src/rust/library/Cargo.lock", ["component", "add", "rust-src"]) {
        return Ok(Toolchain::WithSources);
    }
    if has_or_gets(TRIPLE, ["target", "add", TRIPLE]) {
        return Ok(Toolchain::Usual);
    }
    need("/usr/bin/rustc", "--version", &["rustc-web", "cargo-web", "rust-web-src"])?;
    Ok(Toolchain::Debian)
}

/// Writes the bindings of a built module.
#[cfg(feature = "bindings")]
pub(crate) fn bind(module: &std::path::Path, to: &std::path::Path) -> Result<(), String> {
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
        .args([
            "-Oz",
            "--converge",
            "--enable-bulk-memory",
            "--enable-nontrapping-float-to-int",
            "--enable-sign-ext",
        ])
        .args(["--enable-mutable-globals", "--enable-reference-types", "--enable-multivalue"])
        .arg(&module)
        .arg("-o")
        .arg(&module))
}
