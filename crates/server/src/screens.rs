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
use std::borrow::Cow;
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
    let is_place = !path.rsplit('/').next().unwrap_or_default().contains('.')
        && !path.split('/').any(|part| part.starts_with('.'));
    named(path).or_else(|| if is_place { named("index.html") } else { None })
}

impl Screen {
    /// Its path below the first page.
    pub fn path(&self) -> &'static str {
        self.path
    }

    /// Its bytes as they were built.
    ///
    /// # Errors
    /// The program itself is damaged.
    pub fn plain(&self) -> std::io::Result<Cow<'static, [u8]>> {
        if !self.packed {
            return Ok(Cow::Borrowed(self.bytes));
        }
        let mut plain = Vec::new();
        brotli_decompressor::Decompressor::new(self.bytes, 16 * 1024).read_to_end(&mut plain)?;
        Ok(Cow::Owned(plain))
    }

    fn answer(&self, asked: &HeaderMap) -> Response {
        let tag = format!("\"{}\"", crate::trust::hex(&Sha256::digest(self.bytes)[..16]));
        let known = asked.get(header::IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes());
        let mut response = if known {
            StatusCode::NOT_MODIFIED.into_response()
        } else if self.packed && takes_brotli(asked) {
            ([(header::CONTENT_ENCODING, "br")], Bytes::from_static(self.bytes)).into_response()
        } else {
            match self.plain() {
                Ok(Cow::Borrowed(plain)) => Bytes::from_static(plain).into_response(),
                Ok(Cow::Owned(plain)) => plain.into_response(),
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

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn packed(text: &str) -> &'static [u8] {
        let mut out = Vec::new();
        brotli::CompressorWriter::new(&mut out, 4096, 5, 22).write_all(text.as_bytes()).unwrap();
        Vec::leak(out)
    }

    fn screens() -> Vec<Screen> {
        vec![
            Screen {
                path: "index.html",
                packed: true,
                bytes: packed("<!doctype html><p>the first page</p>"),
            },
            Screen { path: "assets/app-B3x9Kq2a.js", packed: true, bytes: packed("export const shelf = 1;") },
            Screen { path: "assets/face.woff2", packed: false, bytes: b"wOF2" },
        ]
    }

    fn asked(pairs: &[(header::HeaderName, &'static str)]) -> HeaderMap {
        pairs.iter().map(|(name, value)| (name.clone(), HeaderValue::from_static(value))).collect()
    }

    #[test]
    fn a_place_within_the_screens_is_the_first_page_and_a_missing_file_is_missing() {
        let screens = screens();
        for path in ["", "shelf", "shelf/parts/PF-1", "index.html"] {
            assert_eq!(find(&screens, path).unwrap().path, "index.html", "{path}");
        }
        for path in ["assets/app-old.js", "favicon.ico", ".git/config", "shelf/x.map"] {
            assert!(find(&screens, path).is_none(), "{path}");
        }
    }

    #[tokio::test]
    async fn a_browser_without_brotli_gets_the_same_bytes_unpacked() {
        let script = screens()[1];
        let bytes = |response: Response| async {
            axum::body::to_bytes(response.into_body(), 1 << 20).await.unwrap().to_vec()
        };
        let small = script.answer(&asked(&[(header::ACCEPT_ENCODING, "gzip, br;q=0.9")]));
        assert_eq!(small.headers()[header::CONTENT_ENCODING], "br");
        assert_eq!(bytes(small).await, script.bytes);
        for encoding in ["gzip", "br;q=0", "identity", "bread"] {
            let plain = script.answer(&asked(&[(header::ACCEPT_ENCODING, encoding)]));
            assert!(!plain.headers().contains_key(header::CONTENT_ENCODING), "{encoding}");
            assert_eq!(bytes(plain).await, b"export const shelf = 1;");
        }
    }

    #[test]
    fn what_is_named_by_its_content_is_kept_for_good_and_the_first_page_is_asked_for_again() {
        let screens = screens();
        let caching =
            |screen: &Screen| screen.answer(&HeaderMap::new()).headers()[header::CACHE_CONTROL].clone();
        assert_eq!(caching(&screens[0]), "no-cache");
        assert!(caching(&screens[1]).to_str().unwrap().contains("immutable"));
        assert_eq!(
            caching(&screens[2]),
            "no-cache",
            "a name without a hash may mean something else tomorrow"
        );
        let tag = screens[0].answer(&HeaderMap::new()).headers()[header::ETAG].clone();
        let known = HeaderMap::from_iter([(header::IF_NONE_MATCH, tag)]);
        assert_eq!(screens[0].answer(&known).status(), StatusCode::NOT_MODIFIED);
    }
}
