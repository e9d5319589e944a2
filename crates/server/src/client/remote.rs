//! A hub somewhere else: pairing with it, and putting the app's questions to it.

use super::address::Address;
use super::authority;
use super::known::Known;
use super::unhurried::Unhurried;
use super::why;
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
use ureq::unversioned::resolver::DefaultResolver;
use ureq::unversioned::transport::{Connector, DefaultConnector};
use uuid::Uuid;

/// How long a hub is waited for that has stopped in the middle of what it says.
#[derive(Clone, Copy, Debug)]
pub struct Patience {
    /// In an answer, or in taking in what is sent.
    pub answer: Duration,
    /// In its news, where it says every now and then that there are none.
    pub news: Duration,
}

impl Default for Patience {
    fn default() -> Self {
        Patience { answer: Duration::from_secs(30), news: crate::api::HEARTBEAT * 3 }
    }
}

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
    patience: Patience,
}

fn agent(authority: Option<&[u8]>, patience: Patience) -> Agent {
    let roots = match authority {
        Some(der) => RootCerts::Specific(Arc::new(vec![Certificate::from_der(der).to_owned()])),
        None => RootCerts::WebPki,
    };
    let config = Agent::config_builder()
        .tls_config(TlsConfig::builder().root_certs(roots).build())
        .timeout_connect(Some(CONNECTING))
        .timeout_recv_response(Some(ANSWERING))
        .timeout_per_read(Some(patience.answer))
        .timeout_per_write(Some(patience.answer))
        .max_idle_age(KEEPING)
        .http_status_as_error(false)
        .max_redirects(0)
        .user_agent(concat!("airshelf/", env!("CARGO_PKG_VERSION")))
        .build();
    Agent::with_parts(config, DefaultConnector::default().chain(Unhurried), DefaultResolver::default())
}

/// What a device says of itself to be paired.
#[derive(Clone, Copy, Debug)]
pub struct Pairing<'a> {
    /// The code.
    pub code: &'a str,
    /// What people call the device.
    pub name: &'a str,
    /// The device.
    pub device: Uuid,
    /// Its shelf; none where that is empty, and can join any.
    pub shelf: Option<Uuid>,
    /// The authority that vouches for the hub's own certificate, DER, where a person gives it.
    pub authority: Option<&'a [u8]>,
}

impl Remote {
    /// A hub that is known.
    ///
    /// # Errors
    /// [`Fault`] if its certificate cannot be read.
    pub fn of(known: &Known) -> Result<Remote, Fault> {
        Remote::patient(known, Patience::default())
    }

    /// A hub that is known, waited for so long.
    ///
    /// # Errors
    /// As [`Remote::of`].
    pub fn patient(known: &Known, patience: Patience) -> Result<Remote, Fault> {
        let damaged = || {
            Fault::new(Code::UnreadableFile, format!("what is kept of the hub at {} is damaged", known.url))
                .hint("Pair again: `airshelf pair` on the hub, and its link here.")
        };
        let authority = known.authority.as_deref().map(|text| unhex(text).ok_or_else(damaged)).transpose()?;
        let agent = agent(authority.as_deref(), patience);
        Ok(Remote { agent, url: known.url.clone(), key: known.key.clone(), patience })
    }

    /// Pairs with a hub by a code.
    ///
    /// # Errors
    /// [`Fault`] if it does not answer, is another than the link says, is of another shelf, or refuses the code.
    pub fn pair(address: &Address, pairing: &Pairing<'_>) -> Result<Known, Fault> {
        let authority = match (pairing.authority, &address.authority_sha256) {
            (Some(given), _) => Some(given.to_vec()),
            (None, Some(sha256)) if address.is_https() => Some(authority::shown(address, sha256)?),
            _ => None,
        };
        let patience = Patience::default();
        let agent = agent(authority.as_deref(), patience);
        let remote = Remote { agent, url: address.url.clone(), key: String::new(), patience };
        let Pairing { code, name, device, shelf, .. } = pairing;
        let asked = json!({ "code": code, "name": name, "device": device, "shelf": shelf });
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
        let request = self
            .agent
            .get(format!("{}/api/live", self.url))
            .header(header::AUTHORIZATION, self.bearer())
            .config()
            .timeout_recv_response(Some(self.patience.news))
            .timeout_per_read(Some(self.patience.news))
            .build();
        let mut response = request.call().map_err(|e| self.fault(&e))?;
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
        let mut response = self.agent.run(request).map_err(|e| self.fault(&e))?;
        let content_range =
            response.headers().get(header::CONTENT_RANGE).and_then(|value| value.to_str().ok());
        let content_range = content_range.map(str::to_owned);
        let status = response.status().as_u16();
        let read = response.body_mut().with_config().limit(MOST_BYTES).read_to_vec();
        Ok(Arrived { status, content_range, body: read.map_err(|e| self.fault(&e))? })
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

    fn fault(&self, error: &ureq::Error) -> Fault {
        why::fault(&self.url, error, self.patience)
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
