//! The built screens, which stand in the program: a path is looked up in a list, and no file is ever opened for one.

use crate::guard::decoded;
use crate::hub::Hub;
use crate::page;
use crate::refusal::Refusal;
use axum::body::Bytes;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};
use std::io::Read;

/// One file of the built screens.
#[derive(Clone, Copy, Debug)]
pub struct Screen {
    path: &'static str,
    packed: bool,
    bytes: &'static [u8],
}

/// All of them; empty where the program was built without.
pub static SCREENS: &[Screen] = include!(concat!(env!("OUT_DIR"), "/screens.rs"));

/// Where the hub is reached, for the page that stands in for the screens.
#[derive(Clone, Debug)]
pub(crate) struct Shown {
    pub(crate) hub: Hub,
    pub(crate) url: String,
    pub(crate) screens: &'static [Screen],
}

/// Answers everything that is no part of the API.
pub(crate) async fn show(State(shown): State<Shown>, request: Request) -> Response {
    let path = decoded(request.uri().path()).unwrap_or_default();
    let path = path.trim_start_matches('/');
    if path == "api" || path.starts_with("api/") {
        return Refusal::not_found("the hub has no such thing to ask for").into_response();
    }
    if request.method() != Method::GET && request.method() != Method::HEAD {
        let refusal =
            Refusal::new(StatusCode::METHOD_NOT_ALLOWED, "bad-method", "the screens can only be read");
        return ([(header::ALLOW, "GET, HEAD")], refusal).into_response();
    }
    if shown.screens.is_empty() && path.is_empty() {
        return page::running(&shown.hub, &shown.url);
    }
    match find(shown.screens, path) {
        Some(screen) => screen.answer(request.headers()),
        None => Refusal::not_found("there is no such page").into_response(),
    }
}

/// The file of that path; a path of the screens' own, which has no ending, is the first page.
fn find<'a>(screens: &'a [Screen], path: &str) -> Option<&'a Screen> {
    let named = |name: &str| screens.iter().find(|screen| screen.path == name);
    let is_place = !path.rsplit('/').next().unwrap_or_default().contains('.');
    named(path).or_else(|| if is_place { named("index.html") } else { None })
}

impl Screen {
    fn answer(&self, asked: &HeaderMap) -> Response {
        let tag = format!("\"{}\"", crate::trust::hex(&Sha256::digest(self.bytes)[..16]));
        let known = asked.get(header::IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes());
        let mut response = if known {
            StatusCode::NOT_MODIFIED.into_response()
        } else if !self.packed {
            Bytes::from_static(self.bytes).into_response()
        } else if takes_brotli(asked) {
            ([(header::CONTENT_ENCODING, "br")], Bytes::from_static(self.bytes)).into_response()
        } else {
            let mut plain = Vec::new();
            match brotli_decompressor::Decompressor::new(self.bytes, 16 * 1024).read_to_end(&mut plain) {
                Ok(_) => plain.into_response(),
                Err(error) => return Refusal::broken(format!("{}: {error}", self.path)).into_response(),
            }
        };
        let headers = response.headers_mut();
        headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind(self.path)));
        let caching =
            if is_named_by_content(self.path) { "public, max-age=31536000, immutable" } else { "no-cache" };
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(caching));
        headers.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
        if let Ok(tag) = HeaderValue::try_from(tag) {
            headers.insert(header::ETAG, tag);
        }
        response
    }
}

/// Whether the browser takes brotli: named, and not with a weight of zero.
fn takes_brotli(asked: &HeaderMap) -> bool {
    asked
        .get_all(header::ACCEPT_ENCODING)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|v| v.split(','))
        .any(|one| {
            let mut parts = one.split(';').map(str::trim);
            parts.next().is_some_and(|name| name.eq_ignore_ascii_case("br"))
                && !parts.any(|weight| {
                    weight.strip_prefix("q=").and_then(|q| q.parse::<f32>().ok()).is_some_and(|q| q <= 0.0)
                })
        })
}

/// Whether a name holds a hash of its content, so that it never means anything else: `assets/app-B3x9Kq2a.js`.
fn is_named_by_content(path: &str) -> bool {
    let Some(name) = path.strip_prefix("assets/") else { return false };
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    stem.rsplit_once(['-', '.']).is_some_and(|(_, hash)| {
        hash.len() >= 8 && hash.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-')
    })
}

fn kind(path: &str) -> &'static str {
    match path.rsplit_once('.').map_or("", |(_, ending)| ending) {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "json" | "map" => "application/json",
        "webmanifest" => "application/manifest+json",
        "wasm" => "application/wasm",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "webp" => "image/webp",
        "ico" => "image/x-icon",
        "woff2" => "font/woff2",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
