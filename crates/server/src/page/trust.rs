//! How a device comes to trust the hub's authority: a page without HTTPS on a port of its own, since the device cannot
//! know the hub yet. It tells nothing of the shelf and takes nothing in.

use super::{escaped, page, qr};
use crate::guard::name_of;
use crate::hub::Hub;
use crate::refusal::Refusal;
use crate::tls::Authority;
use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use std::sync::Arc;

/// What the page tells of.
#[derive(Clone)]
pub(crate) struct TrustPage {
    pub(crate) hub: Hub,
    pub(crate) authority: Arc<Authority>,
    /// The port that answers with HTTPS.
    pub(crate) port: u16,
}

pub(crate) fn routes(shown: TrustPage) -> Router {
    Router::new()
        .route("/", get(explain))
        .route("/authority.crt", get(certificate))
        .route("/authority.pem", get(text))
        .fallback(|| async { Refusal::not_found("there is only one page here: /") })
        .with_state(shown)
}

async fn certificate(State(shown): State<TrustPage>) -> Response {
    let headers = [
        (header::CONTENT_TYPE, "application/x-x509-ca-cert"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"airshelf-authority.crt\""),
    ];
    (headers, shown.authority.certificate.to_vec()).into_response()
}

async fn text(State(shown): State<TrustPage>) -> Response {
    let headers = [
        (header::CONTENT_TYPE, "application/x-pem-file"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"airshelf-authority.pem\""),
    ];
    (headers, shown.authority.pem.clone()).into_response()
}

/// A fingerprint in groups that two people can compare.
fn grouped(sha256: &str) -> String {
    let pairs: Vec<&str> =
        sha256.as_bytes().chunks(4).filter_map(|four| std::str::from_utf8(four).ok()).collect();
    pairs.join(" ")
}

async fn explain(State(shown): State<TrustPage>, headers: HeaderMap) -> Response {
    let came = headers.get(header::HOST).and_then(|host| host.to_str().ok()).and_then(name_of);
    let host = came.map_or_else(|| "localhost".to_owned(), |came| came.name);
    let url = format!("https://{host}:{}/", shown.port);
    let body = TEXT
        .replace("{name}", &escaped(&shown.hub.name))
        .replace("{authority}", &escaped(&shown.authority.name))
        .replace("{print}", &grouped(&shown.authority.sha256()))
        .replace("{url}", &escaped(&url))
        .replace("{qr}", &qr::drawing(&url));
    page(&shown.hub, "Trust this hub", &body)
}

const TEXT: &str = include_str!("trust.html");
