//! Where the page that asks came from: the hub's own pages, and those that a paired device was loaded from.
//!
//! A program that is no browser sends no `Origin`; it needs a key all the same. While an invitation is open, pairing
//! may be asked from any page: the code is what counts, and the page's origin is kept with the device.

use super::host::{Came, name_of};
use super::{Gate, Through};
use crate::refusal::Refusal;
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};

/// Whose pages are the hub's own.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Own {
    /// `http` or `https`.
    pub(crate) scheme: &'static str,
    /// The port that the hub listens on.
    pub(crate) port: u16,
}

const METHODS: HeaderValue = HeaderValue::from_static("GET, HEAD, POST, PUT, PATCH, DELETE");
const HEADERS: HeaderValue = HeaderValue::from_static(
    "authorization, content-type, content-encoding, content-range, range, if-none-match",
);
const EXPOSED: HeaderValue = HeaderValue::from_static("content-range, etag, retry-after");
const YES: HeaderValue = HeaderValue::from_static("true");
const PRIVATE_NETWORK_ASKED: &str = "access-control-request-private-network";
const PRIVATE_NETWORK: &str = "access-control-allow-private-network";

pub(super) async fn check(gate: &Gate, asked: &Parts, came_as: &Came) -> Result<Through, Refusal> {
    let mut origins = asked.headers.get_all(header::ORIGIN).iter();
    let Some(origin) = origins.next() else { return Ok(Through::On(None)) };
    let preflight =
        asked.method == Method::OPTIONS && asked.headers.contains_key(header::ACCESS_CONTROL_REQUEST_METHOD);
    let own = is_own(gate, origin, came_as);
    let known = own || may(gate, origin, asked.uri.path()).await;
    if !known || origins.next().is_some() {
        return Err(Refusal::new(
            StatusCode::FORBIDDEN,
            "foreign-origin",
            "a page from there may not ask this hub",
        )
        .hint("Open the screens that this hub serves, or pair the app: `airshelf pair`."));
    }
    if preflight {
        return Ok(Through::Answered(preflight_answer(origin, &asked.headers)));
    }
    Ok(Through::On((!own).then(|| origin.clone())))
}

/// Whether it is a page of this hub: the same scheme and port, and the name it was asked under or one of its own.
fn is_own(gate: &Gate, origin: &HeaderValue, came_as: &Came) -> bool {
    let Some(rest) = origin.to_str().ok().and_then(|text| text.strip_prefix(gate.own.scheme)) else {
        return false;
    };
    let Some(page) = rest.strip_prefix("://").and_then(name_of) else { return false };
    let usual = if gate.own.scheme == "https" { 443 } else { 80 };
    let port = page.port.unwrap_or(usual);
    let same = page.name.eq_ignore_ascii_case(&came_as.name) && port == came_as.port.unwrap_or(usual);
    same || (port == gate.own.port && gate.hub.names.serve(&page.name))
}

async fn may(gate: &Gate, origin: &HeaderValue, path: &str) -> bool {
    // `null` is what every sandboxed frame calls itself; it stands for nobody.
    let Some(origin) = origin.to_str().ok().filter(|text| *text != "null").map(str::to_owned) else {
        return false;
    };
    let pairing = path == "/api/pair";
    let asked = gate
        .hub
        .with_trust(move |trust| Ok(trust.is_known_origin(&origin) || (pairing && trust.is_inviting())))
        .await;
    asked.unwrap_or(false)
}

fn preflight_answer(origin: &HeaderValue, asked: &HeaderMap) -> Response {
    let mut response = StatusCode::NO_CONTENT.into_response();
    allow(&mut response, origin);
    let headers = response.headers_mut();
    headers.insert(header::ACCESS_CONTROL_ALLOW_METHODS, METHODS);
    headers.insert(header::ACCESS_CONTROL_ALLOW_HEADERS, HEADERS);
    headers.insert(header::ACCESS_CONTROL_MAX_AGE, HeaderValue::from_static("600"));
    if asked.contains_key(PRIVATE_NETWORK_ASKED) {
        headers.insert(PRIVATE_NETWORK, YES);
    }
    response
}

/// Lets a page of another origin read the answer.
pub(super) fn allow(response: &mut Response, origin: &HeaderValue) {
    let headers = response.headers_mut();
    headers.insert(header::ACCESS_CONTROL_ALLOW_ORIGIN, origin.clone());
    headers.insert(header::ACCESS_CONTROL_EXPOSE_HEADERS, EXPOSED);
    headers.append(header::VARY, HeaderValue::from_static("origin"));
}
