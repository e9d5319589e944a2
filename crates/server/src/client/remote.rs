//! A hub somewhere else: pairing with it, and putting the app's questions to it.

use super::address::Address;
use super::authority;
use super::known::Known;
use airshelf_app::sync::http::{self, Came, PairDone, Sending};
use airshelf_app::sync::wire::{Answer, Ask};
use airshelf_app::{Code, Fault};
use axum::http::{Request, header};
use serde_json::json;
use std::io::{BufRead, BufReader};
use std::sync::Arc;
use std::time::Duration;
use ureq::Agent;
use ureq::tls::{Certificate, RootCerts, TlsConfig};
use uuid::Uuid;

const CONNECTING: Duration = Duration::from_secs(10);
/// No answer takes longer; a batch is taken in by the other side before it answers.
const ANSWERING: Duration = Duration::from_secs(300);
/// How long a connection is kept for the next question, a little less than a hub keeps it.
const KEEPING: Duration = Duration::from_secs(70);
/// The biggest answer that is read.
const MOST_BYTES: u64 = 64 << 20;

/// An answer that was read to its end.
struct Arrived {
    status: u16,
    content_range: Option<String>,
    body: Vec<u8>,
}

impl Arrived {
    fn as_came(&self) -> Came<'_> {
        Came { status: self.status, content_range: self.content_range.as_deref(), body: &self.body }
    }
}

/// A hub that this device is paired with.
#[derive(Clone, Debug)]
pub struct Remote {
    agent: Agent,
    url: String,
    key: String,
}

fn agent(authority: Option<&[u8]>) -> Agent {
    let roots = match authority {
        Some(der) => RootCerts::Specific(Arc::new(vec![Certificate::from_der(der).to_owned()])),
        None => RootCerts::WebPki,
    };
    Agent::config_builder()
        .tls_config(TlsConfig::builder().root_certs(roots).build())
        .timeout_connect(Some(CONNECTING))
        .timeout_recv_response(Some(ANSWERING))
        .max_idle_age(KEEPING)
        .http_status_as_error(false)
        .max_redirects(0)
        .user_agent(concat!("airshelf/", env!("CARGO_PKG_VERSION")))
        .build()
        .into()
}

impl Remote {
    /// A hub that is known.
    ///
    /// # Errors
    /// [`Fault`] if its certificate cannot be read.
    pub fn of(known: &Known) -> Result<Remote, Fault> {
        let damaged = || {
            Fault::new(Code::UnreadableFile, format!("what is kept of the hub at {} is damaged", known.url))
                .hint("Pair again: `airshelf pair` on the hub, and its link here.")
        };
        let authority = known.authority.as_deref().map(|text| unhex(text).ok_or_else(damaged)).transpose()?;
        Ok(Remote { agent: agent(authority.as_deref()), url: known.url.clone(), key: known.key.clone() })
    }

    /// Pairs with a hub by a code.
    ///
    /// # Errors
    /// [`Fault`] if it does not answer, is another than the link says, or refuses the code.
    pub fn pair(address: &Address, code: &str, name: &str, device: Uuid) -> Result<Known, Fault> {
        let authority = match &address.authority_sha256 {
            Some(sha256) if address.is_https() => Some(authority::shown(address, sha256)?),
            _ => None,
        };
        let remote =
            Remote { agent: agent(authority.as_deref()), url: address.url.clone(), key: String::new() };
        let asked = json!({ "code": code, "name": name, "device": device });
        let came = remote.send(http::post("/api/pair", &asked))?;
        let done: PairDone = http::document(came.as_came()).map_err(|fault| remote.named(fault))?;
        Ok(Known {
            url: address.url.clone(),
            name: done.hub,
            shelf: done.shelf,
            key: done.key,
            authority: authority.map(|der| crate::trust::hex(&der)),
        })
    }

    /// Puts a question to the hub and brings its answer.
    ///
    /// # Errors
    /// [`Fault`]: [`Code::Unreachable`] where trying again may help, else what the hub refuses.
    pub fn ask(&self, ask: &Ask) -> Result<Answer, Fault> {
        let came = self.send(http::sending(ask))?;
        http::answer(ask, came.as_came()).map_err(|fault| self.named(fault))
    }

    /// Listens to the hub's news until the line ends or `heard` says stop.
    ///
    /// # Errors
    /// [`Fault`] if the hub does not answer, or refuses.
    pub fn listen(&self, mut heard: impl FnMut() -> bool) -> Result<(), Fault> {
        let request =
            self.agent.get(format!("{}/api/live", self.url)).header(header::AUTHORIZATION, self.bearer());
        let mut response = request.call().map_err(|e| self.unreachable(&e.to_string()))?;
        if !response.status().is_success() {
            let body = response.body_mut().read_to_vec().unwrap_or_default();
            let came = Came { status: response.status().as_u16(), content_range: None, body: &body };
            http::document::<serde_json::Value>(came).map_err(|fault| self.named(fault))?;
        }
        let mut lines = BufReader::new(response.into_body().into_reader()).lines();
        while let Some(Ok(line)) = lines.next() {
            let is_news =
                line.split_once(':').is_some_and(|(name, of)| name == "event" && of.trim() == "changed");
            if is_news && !heard() {
                break;
            }
        }
        Ok(())
    }

    fn send(&self, sending: Sending) -> Result<Arrived, Fault> {
        let mut request =
            Request::builder().method(sending.method).uri(format!("{}{}", self.url, sending.path));
        for (name, value) in &sending.headers {
            request = request.header(*name, value);
        }
        if !self.key.is_empty() {
            request = request.header(header::AUTHORIZATION, self.bearer());
        }
        let request = request.body(sending.body).map_err(|e| self.unreachable(&e.to_string()))?;
        let mut response = self.agent.run(request).map_err(|e| self.unreachable(&e.to_string()))?;
        let content_range =
            response.headers().get(header::CONTENT_RANGE).and_then(|value| value.to_str().ok());
        let content_range = content_range.map(str::to_owned);
        let status = response.status().as_u16();
        let read = response.body_mut().with_config().limit(MOST_BYTES).read_to_vec();
        Ok(Arrived { status, content_range, body: read.map_err(|e| self.unreachable(&e.to_string()))? })
    }

    fn bearer(&self) -> String {
        format!("Bearer {}", self.key)
    }

    /// Says which hub it was that does not answer.
    fn named(&self, fault: Fault) -> Fault {
        match fault.code {
            Code::Unreachable => Fault {
                message: fault.message.replacen("the hub does", &format!("the hub at {} does", self.url), 1),
                ..fault
            },
            _ => fault,
        }
    }

    fn unreachable(&self, why: &str) -> Fault {
        Fault::new(Code::Unreachable, format!("the hub at {} does not answer: {why}", self.url))
            .hint("Is it running, and is this device on the same network? What was exchanged so far is kept.")
    }
}

fn unhex(text: &str) -> Option<Vec<u8>> {
    if !text.is_ascii() || !text.len().is_multiple_of(2) {
        return None;
    }
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).ok()).collect()
}
