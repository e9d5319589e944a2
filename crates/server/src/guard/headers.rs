//! What every answer carries, so that a browser keeps to what the screens need.

use axum::http::{HeaderName, HeaderValue, header};
use axum::response::Response;

/// What a page may load, run and speak to. The screens are a program for the browser's own machine
/// (`wasm-unsafe-eval`), run it in a worker, show photos they hold, and may be pointed at another hub than the one they
/// were loaded from.
const POLICY: &str = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self' blob:; \
     img-src 'self' blob: data:; connect-src 'self' https: http://localhost:*; object-src 'none'; base-uri 'none'; \
     form-action 'self'; frame-ancestors 'none'";

/// The headers of one port.
#[derive(Clone, Copy, Debug)]
pub struct Headers {
    /// Whether browsers are told to use HTTPS only from now on. Not with the hub's own authority: the page that
    /// explains how to trust it stands at the same name without HTTPS.
    pub only_https: bool,
}

impl Headers {
    /// Puts them on an answer; what a route has set stays. What this machine asks of itself is never bound to HTTPS.
    pub(crate) fn put(self, response: &mut Response, by_itself: bool) {
        let headers = response.headers_mut();
        let mut put = |name: HeaderName, value: &'static str| {
            headers.entry(name).or_insert(HeaderValue::from_static(value));
        };
        put(header::CONTENT_SECURITY_POLICY, POLICY);
        put(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
        put(header::REFERRER_POLICY, "no-referrer");
        put(HeaderName::from_static("cross-origin-opener-policy"), "same-origin");
        put(HeaderName::from_static("cross-origin-resource-policy"), "same-origin");
        put(header::CACHE_CONTROL, "no-store");
        if self.only_https && !by_itself {
            put(header::STRICT_TRANSPORT_SECURITY, "max-age=31536000");
        }
    }
}
