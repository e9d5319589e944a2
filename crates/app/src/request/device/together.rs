//! Together with a hub, from a page: the core says what to fetch, the page fetches it, and its answer comes back here.

use super::super::desk::Desk;
use crate::code::{Code, Fault};
use crate::sync::http::{self, Came, PairDone, Sending};
use crate::sync::wire::Ask;
use crate::sync::{Exchange, Local, PhotosAsked, SyncReport};
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// Under which name the hub's key is kept on this device.
const KEPT: &str = "hub";

/// What a page shall fetch; the body goes beside it as bytes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS)]
pub struct Fetch {
    /// `GET`, `POST` or `PUT`.
    pub method: String,
    /// The whole address.
    pub url: String,
    /// Headers.
    pub headers: Vec<(String, String)>,
}

/// An answer as the page got it; its body goes beside it as bytes.
#[derive(Clone, Debug, Deserialize, TS)]
pub struct Fetched {
    /// The status; none where no answer came.
    pub status: Option<u16>,
    /// The header `Content-Range`.
    pub content_range: Option<String>,
}

/// The next step of an exchange: something to fetch, or what came of it.
#[derive(Clone, Debug, Serialize, TS)]
pub struct SyncStep {
    /// To be fetched; none when all is done.
    pub fetch: Option<Fetch>,
    /// What has come of it so far.
    pub report: SyncReport,
}

/// The hub that this device is paired with.
#[derive(Clone, Debug, Serialize, Deserialize, TS)]
pub struct HubKnown {
    /// Where it is.
    pub url: String,
    /// What people call it.
    pub name: String,
    /// The shelf that was paired with it.
    pub shelf: Uuid,
    /// This device's key there.
    #[serde(skip_serializing_if = "String::is_empty")]
    key: String,
}

/// What a desk keeps between two steps.
#[derive(Debug, Default)]
pub(in super::super) struct UnderWay {
    pairing: Option<String>,
    exchange: Option<(Exchange, Ask)>,
}

/// The hub that the open shelf is paired with, without its key.
pub(super) fn hub(desk: &Desk) -> Result<Option<HubKnown>, Fault> {
    Ok(known(desk)?.map(|hub| HubKnown { key: String::new(), ..hub }))
}

fn known(desk: &Desk) -> Result<Option<HubKnown>, Fault> {
    let text = desk.host.recall(KEPT).map_err(|e| Fault::new(Code::Store, e.to_string()))?;
    let hub: Option<HubKnown> = text.and_then(|text| serde_json::from_str(&text).ok());
    // The demo is a shelf of its own: what the own shelf is paired with is nothing to it.
    let own = desk.open.as_ref().is_some_and(|shelf| !shelf.store().is_demo());
    Ok(hub.filter(|hub| own || desk.open.as_ref().is_some_and(|shelf| shelf.store().shelf_id() == hub.shelf)))
}

fn fetch(url: &str, key: &str, sending: &Sending) -> Fetch {
    let mut headers: Vec<(String, String)> =
        sending.headers.iter().map(|(name, value)| ((*name).to_owned(), value.clone())).collect();
    if !key.is_empty() {
        headers.push(("authorization".into(), format!("Bearer {key}")));
    }
    Fetch { method: sending.method.into(), url: format!("{url}{}", sending.path), headers }
}

/// The request that pairs this device with the hub at an address by a code.
///
/// # Errors
/// [`Fault`] without an open shelf, or where the address cannot be one.
pub(super) fn pair(desk: &mut Desk, url: &str, code: &str, name: &str) -> Result<(Fetch, Vec<u8>), Fault> {
    let url = url.trim().trim_end_matches('/');
    let loopback = ["http://localhost", "http://127.0.0.1", "http://[::1]"];
    if !url.starts_with("https://") && !loopback.iter().any(|here| url.starts_with(here)) {
        return Err(Fault::new(Code::BadArgument, format!("{url} is not the address of a hub"))
            .hint("It begins with https://, or is this machine's own http://localhost."));
    }
    let shelf = desk.shelf()?;
    let held = (!shelf.is_empty()?).then(|| shelf.store().shelf_id());
    let asked =
        serde_json::json!({ "code": code, "name": name, "device": shelf.store().device(), "shelf": held });
    let sending = http::post("/api/pair", &asked);
    desk.under_way.pairing = Some(url.to_owned());
    Ok((fetch(url, "", &sending), sending.body))
}

/// Takes the answer to the request of [`pair`], and keeps the key.
///
/// # Errors
/// [`Fault`] where the hub refuses the code or does not answer.
pub(super) fn paired(desk: &mut Desk, fetched: &Fetched, body: &[u8]) -> Result<(), Fault> {
    let url = desk.under_way.pairing.take();
    let url = url.ok_or_else(|| Fault::new(Code::BadArgument, "nothing is being paired"))?;
    let done: PairDone = http::document(came(fetched, body)?)?;
    let hub = HubKnown { url, name: done.hub, shelf: done.shelf, key: done.key };
    let text = serde_json::to_string(&hub).map_err(|e| Fault::new(Code::Store, e.to_string()))?;
    desk.host.remember(KEPT, &text).map_err(|e| Fault::new(Code::Store, e.to_string()))
}

/// Forgets the hub.
///
/// # Errors
/// [`Fault`] if that cannot be kept.
pub(super) fn part(desk: &mut Desk) -> Result<(), Fault> {
    desk.under_way = UnderWay::default();
    desk.host.remember(KEPT, "").map_err(|e| Fault::new(Code::Store, e.to_string()))
}

/// Points this device at the same hub under a new address.
///
/// # Errors
/// [`Fault`] where there is none, or it cannot be kept.
pub(super) fn moved(desk: &mut Desk, url: &str) -> Result<(), Fault> {
    let mut hub = must_know(desk)?;
    hub.url = url.trim().trim_end_matches('/').to_owned();
    let text = serde_json::to_string(&hub).map_err(|e| Fault::new(Code::Store, e.to_string()))?;
    desk.host.remember(KEPT, &text).map_err(|e| Fault::new(Code::Store, e.to_string()))
}

fn must_know(desk: &Desk) -> Result<HubKnown, Fault> {
    known(desk)?.ok_or_else(|| {
        Fault::new(Code::Unpaired, "this device is not paired with a hub")
            .hint("Pair it with the hub's code.")
    })
}

/// The stream of the hub's news.
///
/// # Errors
/// [`Fault`] where there is no hub.
pub(super) fn live(desk: &Desk) -> Result<Fetch, Fault> {
    let hub = must_know(desk)?;
    let sending = Sending { method: "GET", path: "/api/live".into(), headers: Vec::new(), body: Vec::new() };
    Ok(fetch(&hub.url, &hub.key, &sending))
}

/// Begins an exchange, or goes on with what came to the last question; gives the next step and its body.
///
/// # Errors
/// [`Fault`] as an exchange has them; begin anew then, nothing is sent twice that was committed.
pub(super) fn step(
    desk: &mut Desk,
    fetched: Option<&Fetched>,
    body: &[u8],
    name: Option<String>,
) -> Result<(SyncStep, Vec<u8>), Fault> {
    let hub = must_know(desk)?;
    let under_way = desk.under_way.exchange.take();
    let mut exchange = match (fetched, under_way) {
        (None, _) => Exchange::new(Local { name }, PhotosAsked::All),
        (Some(_), None) => return Err(Fault::new(Code::BadArgument, "no exchange is under way")),
        (Some(fetched), Some((mut exchange, ask))) => {
            let answer = came(fetched, body).and_then(|came| http::answer(&ask, came));
            match answer {
                Ok(answer) => exchange.take(desk.shelf()?, &ask, answer)?,
                Err(fault) => exchange.refused(fault)?,
            }
            exchange
        }
    };
    let Some(ask) = exchange.next(desk.shelf()?)? else {
        return Ok((SyncStep { fetch: None, report: exchange.report().clone() }, Vec::new()));
    };
    let sending = http::sending(&ask);
    let step =
        SyncStep { fetch: Some(fetch(&hub.url, &hub.key, &sending)), report: exchange.report().clone() };
    desk.under_way.exchange = Some((exchange, ask));
    Ok((step, sending.body))
}

fn came<'a>(fetched: &'a Fetched, body: &'a [u8]) -> Result<Came<'a>, Fault> {
    let status = fetched.status.ok_or_else(|| {
        Fault::new(Code::Unreachable, "the hub does not answer")
            .hint("Is it running, and is this device on the same network? What was exchanged so far is kept.")
    })?;
    Ok(Came { status, content_range: fetched.content_range.as_deref(), body })
}
