//! A running hub, asked over its port as anybody on the network could. Each file of `cases/` holds one subject.
#![allow(clippy::unwrap_used, missing_docs)]

mod cases {
    pub mod bodies;
    pub mod door;
    pub mod live;
    pub mod pages;
    pub mod pairing;
    pub mod running;
    pub mod stalls;
    pub mod tls;
}

use airshelf_app::native::Native;
use airshelf_app::{Host, Shelf};
use airshelf_server::{Certificate, Options, Reach, Running, serve};
use std::io::{Read, Write};
use std::net::{IpAddr, Ipv4Addr, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::Duration;
use tempfile::TempDir;

/// This machine with a clock that a test can turn.
pub struct Turned {
    native: Native,
    by_ms: AtomicI64,
}

impl Turned {
    pub fn forward(&self, seconds: i64) {
        self.by_ms.fetch_add(seconds * 1000, Ordering::SeqCst);
    }
}

impl Host for Turned {
    fn now_ms(&self) -> u64 {
        self.native.now_ms().saturating_add_signed(self.by_ms.load(Ordering::SeqCst))
    }
    fn wall(&self) -> String {
        self.native.wall()
    }
    fn random(&self, out: &mut [u8]) {
        self.native.random(out);
    }
    fn identity(&self, place: &Path) -> std::io::Result<airshelf_app::Identity> {
        self.native.identity(place)
    }
    fn new_identity(&self, place: &Path) -> std::io::Result<airshelf_app::Identity> {
        self.native.new_identity(place)
    }
}

/// A folder with a shelf and a configuration, and the machine they stand on.
pub struct Shed {
    pub folder: TempDir,
    pub host: Arc<Turned>,
}

impl Shed {
    pub fn empty() -> Shed {
        let folder = tempfile::tempdir().unwrap();
        let host =
            Arc::new(Turned { native: Native::new(folder.path().join("config")), by_ms: AtomicI64::new(0) });
        Shelf::create(&folder.path().join("shelf"), host.clone()).unwrap();
        Shed { folder, host }
    }

    pub fn shelf(&self) -> Shelf {
        Shelf::open(&self.folder.path().join("shelf"), self.host.clone()).unwrap()
    }

    pub fn config(&self) -> PathBuf {
        self.folder.path().join("config")
    }

    pub fn options(&self) -> Options {
        let mut options = Options::new(self.shelf(), self.config(), self.host.clone());
        options.port = Some(0);
        options.name = Some("Quarry Loop Shed".into());
        options
    }

    pub fn hub(&self) -> Running {
        serve(self.options()).unwrap()
    }

    /// A hub with HTTPS and an authority of its own, on this machine only.
    pub fn hub_with_tls(&self) -> Running {
        let mut options = self.options();
        options.reach = Reach::Lan(Certificate::Own);
        options.listen = Some(vec![IpAddr::V4(Ipv4Addr::LOCALHOST)]);
        serve(options).unwrap()
    }
}

/// An answer taken apart.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn read(bytes: &[u8]) -> Answer {
        let end = bytes.windows(4).position(|four| four == b"\r\n\r\n").expect("an answer has a head");
        let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
        let mut lines = head.lines();
        let status = lines.next().unwrap().split(' ').nth(1).unwrap().parse().unwrap();
        let headers: Vec<(String, String)> = lines
            .map(|line| line.split_once(": ").unwrap())
            .map(|(name, value)| (name.to_lowercase(), value.to_owned()))
            .collect();
        let mut body = bytes[end + 4..].to_vec();
        if headers.iter().any(|(name, value)| name == "transfer-encoding" && value == "chunked") {
            body = unchunked(&body);
        }
        Answer { status, headers, body }
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(held, _)| held == name).map(|(_, value)| value.as_str())
    }

    pub fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|e| panic!("{e}: {self:?}"))
    }

    pub fn code(&self) -> String {
        self.json()["fault"]["code"].as_str().unwrap().to_owned()
    }

    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

fn unchunked(mut rest: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    while let Some(end) = rest.windows(2).position(|two| two == b"\r\n") {
        let size = usize::from_str_radix(std::str::from_utf8(&rest[..end]).unwrap(), 16).unwrap();
        if size == 0 {
            break;
        }
        out.extend_from_slice(&rest[end + 2..end + 2 + size]);
        rest = &rest[end + 4 + size..];
    }
    out
}

pub fn connect(port: u16) -> TcpStream {
    let stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    stream
}

/// Sends a request as it stands, byte for byte, and reads the answer.
pub fn raw(port: u16, request: &[u8]) -> Answer {
    let mut stream = connect(port);
    stream.write_all(request).unwrap();
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes).unwrap();
    Answer::read(&bytes)
}

/// Asks with headers and a body.
pub fn ask(port: u16, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
    let mut head = format!("{method} {path} HTTP/1.1\r\nconnection: close\r\n");
    if !headers.iter().any(|(name, _)| *name == "host") {
        head += &format!("host: localhost:{port}\r\n");
    }
    for (name, value) in headers {
        head += &format!("{name}: {value}\r\n");
    }
    if !body.is_empty() {
        head += &format!("content-length: {}\r\n", body.len());
    }
    let mut request = (head + "\r\n").into_bytes();
    request.extend_from_slice(body);
    raw(port, &request)
}

pub fn get(port: u16, path: &str) -> Answer {
    ask(port, "GET", path, &[], b"")
}

pub const JSON: (&str, &str) = ("content-type", "application/json");

/// Asks to be paired.
pub fn pair(port: u16, code: &str, device: &str, more: &[(&str, &str)]) -> Answer {
    let body = serde_json::json!({ "code": code, "name": "bench phone", "device": device }).to_string();
    ask(port, "POST", "/api/pair", &[&[JSON], more].concat(), body.as_bytes())
}

pub const PHONE: &str = "0191f3a0-0000-7000-8000-000000000001";
pub const TABLET: &str = "0191f3a0-0000-7000-8000-000000000002";

/// Pairs a device and gives its `Authorization`.
pub fn paired(hub: &Running, device: &str) -> String {
    let code = hub.hub().trust.invite().unwrap().code;
    let answer = pair(hub.port(), &code, device, &[]);
    assert_eq!(answer.status, 200, "{answer:?}");
    format!("Bearer {}", answer.json()["key"].as_str().unwrap())
}

#[test]
fn every_file_of_cases_is_run() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let runner = std::fs::read_to_string(folder.join("runner.rs")).unwrap();
    for entry in std::fs::read_dir(folder.join("cases")).unwrap() {
        let name = entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned();
        assert!(runner.contains(&format!("pub mod {name};")), "{name} is forgotten");
    }
}
