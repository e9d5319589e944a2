//! Embeds the built screens, compressed, where there are any; without them the hub shows a plain page.
//!
//! Cargo runs this again when the built screens change. The first build of the screens after a build without them has
//! to touch this file, or set AIRSHELF_SCREENS to anything new: a folder that is not there cannot be watched.

use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-env-changed=AIRSHELF_SCREENS");
    let env = |name: &str| PathBuf::from(std::env::var_os(name).expect("cargo sets it"));
    let built = env("CARGO_MANIFEST_DIR").join("../../ui/dist");
    let out = env("OUT_DIR");
    let mut files = Vec::new();
    if built.is_dir() {
        println!("cargo:rerun-if-changed={}", built.display());
        collect(&built, &mut files);
    }
    files.sort();
    let mut table = String::from("&[\n");
    for (number, file) in files.iter().enumerate() {
        let name = file.strip_prefix(&built).expect("it is inside").to_string_lossy().replace('\\', "/");
        let bytes = fs::read(file).expect("a built file can be read");
        let packed = pack(&name, &bytes);
        let kept = out.join(format!("screen-{number}"));
        fs::write(&kept, packed.as_deref().unwrap_or(&bytes)).expect("the output folder can be written");
        let (is_packed, kept) = (packed.is_some(), kept.display().to_string());
        writeln!(
            table,
            "    Screen {{ path: {name:?}, packed: {is_packed}, bytes: include_bytes!({kept:?}) }},"
        )
        .expect("text can be written");
    }
    table.push_str("]\n");
    fs::write(out.join("screens.rs"), table).expect("the output folder can be written");
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("the built screens can be read") {
        let path = entry.expect("the built screens can be read").path();
        if path.is_dir() { collect(&path, files) } else { files.push(path) }
    }
}

/// Back as far as a browser's decoder looks (RFC 7932: 16 MiB), since the module is larger than the usual 4 MiB.
const WINDOW: u32 = 24;

/// The bytes with brotli, unless their kind is packed already or it does not pay.
fn pack(name: &str, bytes: &[u8]) -> Option<Vec<u8>> {
    let packed_already = ["png", "jpg", "jpeg", "webp", "avif", "woff2", "br", "gz", "zip"];
    if packed_already.iter().any(|ending| name.ends_with(&format!(".{ending}"))) {
        return None;
    }
    let mut packed = Vec::new();
    let quality = if std::env::var("PROFILE").is_ok_and(|profile| profile == "release") { 11 } else { 4 };
    let mut writer = brotli::CompressorWriter::new(&mut packed, 64 * 1024, quality, WINDOW);
    writer.write_all(bytes).and_then(|()| writer.flush()).expect("memory can be written");
    drop(writer);
    (packed.len() < bytes.len()).then_some(packed)
}
