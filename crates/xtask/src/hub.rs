//! The hub against its own document: schemathesis (PyPI) asks a running hub everything that the document allows, and
//! much that it does not, with the key of a paired device. No 5xx, no undocumented status.

use crate::machine::{cargo, need, run as sh, target, top};
use serde_json::Value;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

/// A hub that ends with its value.
pub(crate) struct Hub {
    child: Child,
    /// Where a browser finds it.
    pub(crate) url: String,
    at: String,
    code: String,
}

impl Hub {
    /// Starts one by `serve`, which tells of itself as JSON.
    pub(crate) fn start(serve: &mut Command, log: &Path) -> Result<Self, String> {
        let log = std::fs::File::create(log).map_err(|e| e.to_string())?;
        let mut child =
            serve.stdout(Stdio::piped()).stderr(log).spawn().map_err(|e| format!("airshelf serve: {e}"))?;
        let told = first_document(&mut child)?;
        let url = told["url"].as_str().ok_or("the hub told no address")?.to_owned();
        let at = url.trim_start_matches("http://localhost").replace(':', "127.0.0.1:");
        let code = told["invitation"]["code"].as_str().unwrap_or_default().to_owned();
        Ok(Hub { child, url, at, code })
    }
}

impl Drop for Hub {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub(crate) fn run(long: bool) -> Result<(), String> {
    need("python3", "--version", &["python3", "python3-venv"])?;
    let folder = target().join("hub-check");
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let tool = schemathesis(&folder)?;
    sh(cargo().args(["build", "--quiet", "--package", "airshelf-cli"]))?;
    let airshelf = target().join("debug").join("airshelf");
    let home = folder.join("home");
    let _ = std::fs::remove_dir_all(&home);
    std::fs::create_dir_all(&home).map_err(|e| e.to_string())?;
    let at = |words: &[&str]| {
        let mut command = Command::new(&airshelf);
        command
            .env("HOME", &home)
            .env_remove("XDG_CONFIG_HOME")
            .arg("--shelf")
            .arg(home.join("shelf"))
            .args(words);
        command
    };
    sh(&mut at(&["demo"]))?;
    let hub = Hub::start(&mut at(&["--json", "serve", "--port", "0"]), &folder.join("hub.log"))?;
    let (key, url) = (pair(&hub)?, &hub.url);
    let examples = if long { "400" } else { "25" };
    // The live stream never ends by itself, so no tool waits for its end; the server's own tests read it. Revoking comes
    // last: the tool learns its own device's name from the list, and would shut itself out.
    for part in
        [&["--exclude-path", "/api/live", "--exclude-method", "DELETE"][..], &["--include-method", "DELETE"]]
    {
        let mut asking = Command::new(&tool);
        asking
            .args([
                "run",
                &format!("{url}/api/openapi.json"),
                "--header",
                &format!("Authorization: Bearer {key}"),
            ])
            .args(part)
            .args([
                "--phases",
                "examples,coverage,fuzzing",
                "--max-examples",
                examples,
                "--generation-deterministic",
            ])
            .args(["--suppress-health-check", "all", "--request-timeout", "20", "--no-color"])
            // A version vector may name what no store can hold, and a push may be empty.
            .args(["--exclude-checks", "positive_data_acceptance,negative_data_rejection"])
            .env("SCHEMATHESIS_HOOKS", top().join("crates/xtask/src/hub_hooks.py"));
        // It keeps notes where it is started, which is not to be the project's folder.
        let asked = asking.current_dir(&folder).status().map_err(|e| format!("schemathesis: {e}"))?;
        if !asked.success() {
            let log = folder.join("hub.log");
            return Err(format!("the hub does not keep to its document; it logged {}", log.display()));
        }
    }
    let health = ask(&hub, "GET", "/health", "")?;
    if health.starts_with("HTTP/1.1 200") {
        Ok(())
    } else {
        Err(format!("the hub did not stay up: {health}"))
    }
}

/// Installs schemathesis into a folder of its own, and gives its command.
fn schemathesis(folder: &Path) -> Result<PathBuf, String> {
    let tool = folder.join("venv/bin/schemathesis");
    if !tool.exists() {
        sh(Command::new("python3").args(["-m", "venv"]).arg(folder.join("venv")))?;
        let python = folder.join("venv/bin/python");
        sh(Command::new(python).args(["-m", "pip", "install", "--quiet", "schemathesis>=4.32,<5"]))?;
    }
    Ok(tool)
}

fn first_document(child: &mut Child) -> Result<Value, String> {
    let out = child.stdout.as_mut().ok_or("the hub has no output")?;
    let (mut text, mut byte) = (Vec::new(), [0]);
    while !text.ends_with(b"\n}\n") && out.read(&mut byte).map_err(|e| e.to_string())? == 1 {
        text.push(byte[0]);
    }
    serde_json::from_slice(&text).map_err(|e| format!("the hub did not start: {e}"))
}

fn pair(hub: &Hub) -> Result<String, String> {
    let (code, device) = (&hub.code, "0191f3a0-0000-7000-8000-000000000001");
    let body = format!(r#"{{"code":"{code}","name":"a tester","device":"{device}"}}"#);
    let answer = ask(hub, "POST", "/api/pair", &body)?;
    let document = answer.split("\r\n\r\n").nth(1).unwrap_or_default();
    let told: Value = serde_json::from_str(document).map_err(|e| format!("{e}: {answer}"))?;
    told["key"].as_str().map(str::to_owned).ok_or_else(|| format!("not paired: {answer}"))
}

fn ask(hub: &Hub, method: &str, path: &str, body: &str) -> Result<String, String> {
    let exchange = || -> std::io::Result<String> {
        let mut stream = TcpStream::connect(&hub.at)?;
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\nhost: {}\r\ncontent-type: application/json\r\nconnection: close\r\n\
             content-length: {}\r\n\r\n{body}",
            hub.at,
            body.len()
        )?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer)?;
        Ok(answer)
    };
    exchange().map_err(|e| format!("{method} {path}: {e}"))
}
