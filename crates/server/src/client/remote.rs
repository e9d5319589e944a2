//! A hub somewhere else: pairing with it, and putting the app's questions to it.

use super::address::Address;
use super::authority;
use super::known::Known;
use crate::api::sync::SEQUENCE;
use airshelf_app::sync::wire::{Answer, Ask, PieceOf, hash_text};
use airshelf_app::{Code, Fault};
use axum::http::{Response, StatusCode, header};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::io::{BufRead, BufReader};
use std::sync::Arc;
use std::time::Duration;
use ureq::tls::{Certificate, RootCerts, TlsConfig};
use ureq::{Agent, Body};
use uuid::Uuid;

const CONNECTING: Duration = Duration::from_secs(10);
/// No answer takes longer; a batch is taken in by the other side before it answers.
const ANSWERING: Duration = Duration::from_secs(300);
/// How long a connection is kept for the next question, a little less than a hub keeps it.
const KEEPING: Duration = Duration::from_secs(70);
/// The biggest answer that is read.
const MOST_BYTES: u64 = 64 << 20;

/// A hub that this device is paired with.
#[derive(Clone, Debug)]
pub struct Remote {
    agent: Agent,
    url: String,
    key: String,
}

#[derive(Deserialize)]
struct PairDone {
    key: String,
    hub: String,
    shelf: Uuid,
}

#[derive(Deserialize)]
struct Refused {
    fault: RefusedBody,
}

#[derive(Deserialize)]
struct RefusedBody {
    code: String,
    message: String,
    hint: Option<String>,
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
        let done: PairDone =
            remote.post("/api/pair", &json!({ "code": code, "name": name, "device": device }))?;
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
        Ok(match ask {
            Ask::Hello(hello) => Answer::Welcome(self.post("/api/sync/hello", hello)?),
            Ask::Links(of) => Answer::Links(self.post("/api/sync/links", of)?),
            Ask::Fork(at) => Answer::Forked(self.post("/api/sync/fork", at)?),
            Ask::Blobs(of) => Answer::Blobs(self.post("/api/blobs", of)?),
            Ask::Push(sequence) => {
                let request =
                    self.agent.post(self.at("/api/sync/push")).header(header::CONTENT_TYPE, SEQUENCE);
                Answer::Pushed(
                    self.json(request.header(header::AUTHORIZATION, self.bearer()).send(&sequence[..]))?,
                )
            }
            Ask::Pull(pull) => Answer::Batch(self.bytes(self.posted("/api/sync/pull", pull))?.1),
            Ask::Get { hash, from, most } => {
                let last = from + (*most as u64).max(1) - 1;
                let request = self
                    .agent
                    .get(self.at(&format!("/api/blobs/{}", hash_text(hash))))
                    .header(header::AUTHORIZATION, self.bearer())
                    .header(header::RANGE, format!("bytes={from}-{last}"));
                Answer::Piece(self.piece(request.call())?)
            }
            Ask::Thumbnail { hash } => {
                let request = self
                    .agent
                    .get(self.at(&format!("/api/blobs/{}/thumbnail", hash_text(hash))))
                    .header(header::AUTHORIZATION, self.bearer());
                let response = request.call().map_err(|e| self.unreachable(&e.to_string()))?;
                Answer::Thumbnail(match response.status() {
                    StatusCode::NOT_FOUND => None,
                    _ => Some(self.bytes(Ok(response))?.1),
                })
            }
            Ask::Put { hash, from, total, bytes } => {
                let mut request = self
                    .agent
                    .put(self.at(&format!("/api/blobs/{}", hash_text(hash))))
                    .header(header::AUTHORIZATION, self.bearer())
                    .header(header::CONTENT_TYPE, "application/octet-stream");
                if !bytes.is_empty() {
                    let last = from + bytes.len() as u64 - 1;
                    request = request.header(header::CONTENT_RANGE, format!("bytes {from}-{last}/{total}"));
                }
                Answer::Taken(self.json(request.send(&bytes[..]))?)
            }
        })
    }

    /// Listens to the hub's news until the line ends or `heard` says stop.
    ///
    /// # Errors
    /// [`Fault`] if the hub does not answer, or refuses.
    pub fn listen(&self, mut heard: impl FnMut() -> bool) -> Result<(), Fault> {
        let request = self.agent.get(self.at("/api/live")).header(header::AUTHORIZATION, self.bearer());
        let response = self.checked(request.call())?;
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

    fn at(&self, path: &str) -> String {
        format!("{}{path}", self.url)
    }

    fn bearer(&self) -> String {
        format!("Bearer {}", self.key)
    }

    fn posted(&self, path: &str, body: &impl Serialize) -> Result<Response<Body>, ureq::Error> {
        let mut request = self.agent.post(self.at(path)).header(header::CONTENT_TYPE, "application/json");
        if !self.key.is_empty() {
            request = request.header(header::AUTHORIZATION, self.bearer());
        }
        request.send(serde_json::to_vec(body).map_err(|e| ureq::Error::Io(e.into()))?)
    }

    fn post<T: DeserializeOwned>(&self, path: &str, body: &impl Serialize) -> Result<T, Fault> {
        self.json(self.posted(path, body))
    }

    fn json<T: DeserializeOwned>(&self, got: Result<Response<Body>, ureq::Error>) -> Result<T, Fault> {
        let (_, bytes) = self.bytes(got)?;
        serde_json::from_slice(&bytes)
            .map_err(|e| self.unreachable(&format!("its answer cannot be read ({e})")))
    }

    fn piece(&self, got: Result<Response<Body>, ureq::Error>) -> Result<Option<PieceOf>, Fault> {
        let response = got.map_err(|e| self.unreachable(&e.to_string()))?;
        if response.status() == StatusCode::NOT_FOUND {
            return Ok(None);
        }
        let total = response.headers().get(header::CONTENT_RANGE).and_then(|value| value.to_str().ok());
        let total = total.and_then(|text| text.rsplit_once('/')).and_then(|(_, total)| total.parse().ok());
        if response.status() == StatusCode::RANGE_NOT_SATISFIABLE {
            return Ok(total.map(|total| PieceOf { total, bytes: vec![] }));
        }
        let (_, bytes) = self.bytes(Ok(response))?;
        Ok(Some(PieceOf { total: total.unwrap_or(bytes.len() as u64), bytes }))
    }

    fn bytes(&self, got: Result<Response<Body>, ureq::Error>) -> Result<(StatusCode, Vec<u8>), Fault> {
        let mut response = self.checked(got)?;
        let status = response.status();
        let read = response.body_mut().with_config().limit(MOST_BYTES).read_to_vec();
        Ok((status, read.map_err(|e| self.unreachable(&e.to_string()))?))
    }

    /// Lets only a success through.
    fn checked(&self, got: Result<Response<Body>, ureq::Error>) -> Result<Response<Body>, Fault> {
        let mut response = got.map_err(|e| self.unreachable(&e.to_string()))?;
        let status = response.status();
        if status.is_success() {
            return Ok(response);
        }
        let text = response.body_mut().read_to_string().unwrap_or_default();
        let Ok(refused) = serde_json::from_str::<Refused>(&text) else {
            return Err(self.unreachable(&format!("it answers {status}; is that a hub?")));
        };
        let code = match refused.fault.code.as_str() {
            "other-shelf" => Code::OtherShelf,
            "unpaired" | "pairing-refused" | "too-many-tries" => Code::Unpaired,
            "read-only" => Code::ReadOnly,
            "disk-full" => Code::DiskFull,
            "bad-argument" | "too-big" => Code::BadArgument,
            _ => Code::Unreachable,
        };
        let mut fault = Fault::new(code, format!("the hub says: {}", refused.fault.message));
        fault.hint = refused.fault.hint;
        Err(fault)
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
