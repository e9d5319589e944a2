//! The plain pages: that the hub is running where it has no screens, and how a device comes to trust its authority.
//!
//! They need no program in the browser, load nothing, and read well at 360 px, in bright light and in the dark.

mod qr;
mod trust;

pub(crate) use trust::{TrustPage, routes as trust_routes};

use crate::hub::Hub;
use axum::http::{HeaderValue, header};
use axum::response::{Html, IntoResponse, Response};

pub use qr::{drawing as qr_drawing, terminal as qr_for_terminal, terminal_plain as qr_for_plain_terminal};

const STYLE: &str = include_str!("style.css");

/// The text as it stands in a page.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

/// A page with its own style, allowed by a word that is used once.
pub(crate) fn page(hub: &Hub, title: &str, body: &str) -> Response {
    let mut random = [0; 16];
    hub.host.random(&mut random);
    let once = crate::trust::hex(&random);
    let title = escaped(title);
    let html = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n\
         <style nonce=\"{once}\">\n{STYLE}</style>\n</head>\n<body>\n<main>\n{body}</main>\n</body>\n</html>\n"
    );
    let policy = format!(
        "default-src 'none'; style-src 'nonce-{once}'; img-src 'self'; base-uri 'none'; form-action 'none'; \
         frame-ancestors 'none'"
    );
    let mut response = Html(html).into_response();
    if let Ok(policy) = HeaderValue::try_from(policy) {
        response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    response
}

/// What the hub shows where this program was built without screens.
pub(crate) fn running(hub: &Hub, url: &str) -> Response {
    let (name, url) = (escaped(&hub.name), escaped(url));
    let reach = if url.starts_with("http://") {
        "<p>It answers this machine only. To let others in, stop it and run <code>airshelf serve --lan</code>.</p>\n"
    } else {
        ""
    };
    let body = format!(
        "<h1>This hub is running</h1>\n\
         <p><strong>{name}</strong> keeps a shelf that other devices sync with. This program was built without screens, \
         so there is nothing more to see here; syncing works.</p>\n{reach}\
         <h2>Sync another shelf with it</h2>\n\
         <ol>\n<li>Beside this hub, run <code>airshelf pair</code>. It prints eight digits, good once and for five \
         minutes.</li>\n\
         <li>Where the other shelf is, run <code>airshelf sync {url}</code> and type them.</li>\n</ol>\n\
         <p class=\"quiet\">What is typed in here or there reaches the other side at the next sync; nothing has to be \
         chosen.</p>\n"
    );
    page(hub, "airshelf hub", &body)
}
