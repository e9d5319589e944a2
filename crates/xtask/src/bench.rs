//! `cargo xtask bench`: import, comparison and memory, each against a peer in the same run.
//!
//! Absolute times mean nothing on a shared machine; the ratios do.

use crate::machine::{cargo, need, run as sh, target, top};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

pub(crate) fn run(rows: u64) -> Result<(), String> {
    need("sqlite3", "--version", &["sqlite3"])?;
    need("python3", "--version", &["python3", "python3-venv"])?;
    let folder = target().join("bench");
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let python = peers(&folder)?;
    sh(cargo().args(["build", "--release", "--quiet", "--package", "airshelf-cli"]))?;
    let airshelf = target().join("release").join("airshelf");
    let sheet = folder.join(format!("big-{rows}.csv"));
    if !sheet.exists() {
        let maker = top().join("fixtures/sheets/make_big.py");
        sh(Command::new("python3").arg(maker).args(["--rows", &rows.to_string(), "--out"]).arg(&sheet))?;
    }
    let file_bytes = std::fs::metadata(&sheet).map_err(|e| e.to_string())?.len();

    let shelf = folder.join("shelf");
    let ours = best_of(3, || {
        let _ = std::fs::remove_dir_all(&shelf);
        timed(Command::new(&airshelf).arg("--shelf").arg(&shelf).args(["import", "--write"]).arg(&sheet))
    })?;
    let plain = folder.join("plain.db");
    let import = format!(".import {} runs", sheet.display());
    let sqlite = best_of(3, || {
        let _ = std::fs::remove_file(&plain);
        timed(Command::new("sqlite3").arg(&plain).args([".mode csv", &import]))
    })?;
    let frame = folder.join("pandas.db");
    let pandas_code = format!(
        "import pandas, sqlite3; pandas.read_csv({:?}).to_sql('runs', sqlite3.connect({:?}), if_exists='replace', index=False)",
        sheet.display().to_string(),
        frame.display().to_string()
    );
    let pandas = best_of(2, || timed(Command::new(&python).args(["-c", &pandas_code])))?;
    let utils_db = folder.join("utils.db");
    let utils = best_of(2, || {
        let _ = std::fs::remove_file(&utils_db);
        timed(
            Command::new(python.with_file_name("sqlite-utils"))
                .args(["insert"])
                .arg(&utils_db)
                .arg("runs")
                .arg(&sheet)
                .arg("--csv"),
        )
    })?;
    let kept = size_of(&shelf.join("airshelf.db")) + size_of(&shelf.join("airshelf.db-wal"));
    let per_row = kept as f64 / rows as f64;

    println!("\nimport of {rows} rows ({:.1} MB), best run of each", file_bytes as f64 / 1e6);
    println!("  airshelf import --write   {:7.2} s  peak {:.0} MB", ours.seconds, ours.peak_mb);
    println!(
        "  sqlite3 .import           {:7.2} s  ours is {:.1} x",
        sqlite.seconds,
        ours.seconds / sqlite.seconds
    );
    println!(
        "  pandas to_sql             {:7.2} s  ours is {:.2} x",
        pandas.seconds,
        ours.seconds / pandas.seconds
    );
    println!(
        "  sqlite-utils insert       {:7.2} s  ours is {:.2} x",
        utils.seconds,
        ours.seconds / utils.seconds
    );
    println!("  database                  {per_row:7.0} bytes a row");
    println!("  peak memory               {:7.1} x the file", ours.peak_mb * 1e6 / file_bytes as f64);
    sh(cargo().args([
        "test",
        "--release",
        "--quiet",
        "--package",
        "airshelf-tests",
        "--test",
        "speed",
        "--",
        "--nocapture",
    ]))?;

    sh(cargo()
        .args(["bench", "--quiet", "--package", "airshelf-tests", "--bench", "sync_speed"])
        .env("AIRSHELF_BIG_SHEET", &sheet))?;

    let mut missed = Vec::new();
    if ours.seconds > 5.0 * sqlite.seconds {
        missed.push("import takes more than 5 x sqlite3 .import");
    }
    if ours.seconds > pandas.seconds || ours.seconds > utils.seconds {
        missed.push("import is slower than pandas or sqlite-utils");
    }
    if per_row > 600.0 {
        missed.push("more than 600 bytes a row");
    }
    if missed.is_empty() { Ok(()) } else { Err(missed.join("; ")) }
}

struct Timed {
    seconds: f64,
    peak_mb: f64,
}

/// Runs a command and reads its wall time and peak memory (of all children so far, so the first of a kind counts).
fn timed(command: &mut Command) -> Result<Timed, String> {
    let shown = format!("{command:?}");
    let begin = Instant::now();
    let mut child =
        command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().map_err(|e| format!("{shown}: {e}"))?;
    let status_file = format!("/proc/{}/status", child.id());
    let mut peak_kb = 0.0f64;
    let status = loop {
        if let Ok(text) = std::fs::read_to_string(&status_file)
            && let Some(line) = text.lines().find(|line| line.starts_with("VmHWM:"))
        {
            peak_kb = peak_kb.max(line.split_whitespace().nth(1).and_then(|n| n.parse().ok()).unwrap_or(0.0));
        }
        match child.try_wait().map_err(|e| e.to_string())? {
            Some(status) => break status,
            None => std::thread::sleep(std::time::Duration::from_millis(4)),
        }
    };
    if !status.success() {
        return Err(format!("{shown}: {status}"));
    }
    Ok(Timed { seconds: begin.elapsed().as_secs_f64(), peak_mb: peak_kb / 1000.0 })
}

fn best_of(times: usize, mut run: impl FnMut() -> Result<Timed, String>) -> Result<Timed, String> {
    let mut best: Option<Timed> = None;
    for _ in 0..times {
        let this = run()?;
        if best.as_ref().is_none_or(|b| this.seconds < b.seconds) {
            best = Some(this);
        }
    }
    best.ok_or_else(|| "nothing was timed".into())
}

fn size_of(path: &Path) -> u64 {
    std::fs::metadata(path).map_or(0, |m| m.len())
}

/// Installs pandas and sqlite-utils into a folder of their own, and gives its python.
fn peers(folder: &Path) -> Result<std::path::PathBuf, String> {
    let python = folder.join("peers/bin/python");
    if !folder.join("peers/bin/sqlite-utils").exists() {
        sh(Command::new("python3").args(["-m", "venv"]).arg(folder.join("peers")))?;
        sh(Command::new(&python).args(["-m", "pip", "install", "--quiet", "pandas", "sqlite-utils"]))?;
    }
    Ok(python)
}
