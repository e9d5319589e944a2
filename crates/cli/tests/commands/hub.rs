//! The hub as a person starts it: its address, its codes, its devices, its end.

use crate::{airshelf, json};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use tempfile::tempdir;

/// A hub in a process of its own, and the document that it printed.
struct Hub {
    child: Child,
    told: serde_json::Value,
}

impl Hub {
    fn start(home: &Path) -> Hub {
        let mut child = Command::new(env!("CARGO_BIN_EXE_airshelf"))
            .args(["--shelf", "s", "--json", "serve", "--port", "0", "--name", "Quarry Loop Shed"])
            .current_dir(home)
            .env_clear()
            .env("HOME", home)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut told = Vec::new();
        let mut byte = [0];
        let out = child.stdout.as_mut().unwrap();
        while !told.ends_with(b"\n}\n") && out.read(&mut byte).unwrap() == 1 {
            told.push(byte[0]);
        }
        Hub { told: serde_json::from_slice(&told).unwrap(), child }
    }

    fn pair(&self, code: &str, device: &str) -> String {
        let at = self.told["url"].as_str().unwrap().trim_start_matches("http://").to_owned();
        let body = format!(r#"{{"code":"{code}","name":"bench phone","device":"{device}"}}"#);
        let mut stream = TcpStream::connect(at.replace("localhost", "127.0.0.1")).unwrap();
        let head = format!(
            "POST /api/pair HTTP/1.1\r\nhost: {at}\r\ncontent-type: application/json\r\nconnection: close\r\n\
             content-length: {}\r\n\r\n",
            body.len()
        );
        stream.write_all((head + &body).as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    /// Tells it to end as a system does, and gives its exit code and what it logged.
    fn end(mut self) -> (Option<i32>, String) {
        let told = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status().unwrap();
        assert!(told.success());
        let mut log = String::new();
        self.child.stderr.as_mut().unwrap().read_to_string(&mut log).unwrap();
        (self.child.wait().unwrap().code(), log)
    }
}

const PHONE: &str = "0191f3a0-0000-7000-8000-000000000001";

#[test]
fn a_device_is_paired_listed_renamed_and_revoked() {
    let home = tempdir().unwrap();
    let run = |words: &[&str]| airshelf(home.path(), &[&["--shelf", "s"], words].concat());
    run(&["new"]);
    let hub = Hub::start(home.path());
    let code = hub.told["invitation"]["code"].as_str().unwrap();
    let url = hub.told["url"].as_str().unwrap();
    assert_eq!(hub.told["invitation"]["link"], format!("{url}/#pair={code}"));
    let fresh = json(&run(&["--json", "pair"]));
    assert_ne!(fresh["code"], code);
    assert!(fresh["link"].as_str().unwrap().starts_with(url));
    assert!(hub.pair(code, PHONE).contains("403"), "a new code ends the earlier one");
    let answer = hub.pair(fresh["code"].as_str().unwrap(), PHONE);
    assert!(answer.contains("200 OK") && answer.contains("Quarry Loop Shed"), "{answer}");
    let list = json(&run(&["--json", "devices", "list"]));
    assert_eq!(
        (&list["devices"][0]["name"], &list["devices"][0]["id"]),
        (&"bench phone".into(), &PHONE.into())
    );
    assert!(run(&["devices", "rename", "bench phone", "old phone"]).status.success());
    assert!(run(&["devices", "revoke", "old phone"]).status.success());
    let list = String::from_utf8(run(&["devices", "list"]).stdout).unwrap();
    assert!(list.contains("old phone") && list.contains("revoked"), "{list}");
    assert_eq!(run(&["devices", "revoke", "nobody"]).status.code(), Some(1));
    let (exit, log) = hub.end();
    assert_eq!(exit, Some(0), "{log}");
    for told in ["the hub is running", "a code was refused", "paired", "the hub has stopped"] {
        assert!(log.contains(told), "{told}: {log}");
    }
    assert!(!log.contains(fresh["code"].as_str().unwrap()), "{log}");
}

#[test]
fn a_code_without_a_running_hub_says_so() {
    let home = tempdir().unwrap();
    airshelf(home.path(), &["--shelf", "s", "new"]);
    let output = airshelf(home.path(), &["--shelf", "s", "pair"]);
    assert!(output.status.success());
    assert!(String::from_utf8_lossy(&output.stderr).contains("airshelf serve"));
    let document = json(&airshelf(home.path(), &["--shelf", "s", "--json", "pair"]));
    assert!(document["link"].is_null() && document["code"].as_str().unwrap().len() == 8);
}

#[test]
fn a_hub_with_half_a_certificate_is_a_usage_fault() {
    let home = tempdir().unwrap();
    airshelf(home.path(), &["--shelf", "s", "new"]);
    for words in
        [&["serve", "--cert", "c.pem"][..], &["serve", "--lan", "--key", "k.pem"], &["serve", "--port", "x"]]
    {
        let output = airshelf(home.path(), &[&["--shelf", "s"], words].concat());
        assert_eq!(output.status.code(), Some(2), "{words:?}");
    }
}
