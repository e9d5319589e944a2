//! The name that a request came under; only those that the hub answers to are let in.

use crate::hub::Hub;
use crate::refusal::Refusal;
use axum::http::request::Parts;
use axum::http::{StatusCode, header};

/// A name as it was asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Came {
    /// Without its port; an IPv6 address in its brackets.
    pub(crate) name: String,
    /// The port, where it was said.
    pub(crate) port: Option<u16>,
}

/// Takes `NAME` or `NAME:PORT` apart.
pub(crate) fn name_of(text: &str) -> Option<Came> {
    let end = if text.starts_with('[') { text.find(']')? + 1 } else { text.find(':').unwrap_or(text.len()) };
    let (name, rest) = text.split_at(end);
    let port = match rest.strip_prefix(':') {
        Some(digits) => Some(digits.parse().ok()?),
        None if rest.is_empty() => None,
        None => return None,
    };
    (!name.is_empty()).then(|| Came { name: name.trim_end_matches('.').to_owned(), port })
}

/// The name that a request came under, where it says one.
pub(super) fn named(asked: &Parts) -> Option<Came> {
    let host = asked.headers.get(header::HOST).and_then(|value| value.to_str().ok());
    name_of(asked.uri.authority().map(|authority| authority.as_str()).or(host)?)
}

/// Refuses a request under a name that the hub does not answer to, or under none, or under two.
pub(super) fn check(asked: &Parts, hub: &Hub) -> Result<Came, Refusal> {
    let foreign = || {
        Refusal::new(StatusCode::MISDIRECTED_REQUEST, "foreign-host", "this hub does not answer to that name")
            .hint("Use the address that `airshelf serve` printed.")
    };
    let mut names = Vec::new();
    if let Some(authority) = asked.uri.authority() {
        names.push(authority.as_str());
    }
    for value in asked.headers.get_all(header::HOST) {
        names.push(value.to_str().map_err(|_| foreign())?);
    }
    let first = *names.first().ok_or_else(foreign)?;
    if names.iter().any(|name| !name.eq_ignore_ascii_case(first)) {
        return Err(foreign());
    }
    let came = name_of(first).ok_or_else(foreign)?;
    if hub.names.serve(&came.name) { Ok(came) } else { Err(foreign()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_taken_apart_from_its_port() {
        let came = |text: &str| name_of(text).map(|came| (came.name, came.port));
        assert_eq!(came("localhost:28028"), Some(("localhost".into(), Some(28028))));
        assert_eq!(came("[::1]:80"), Some(("[::1]".into(), Some(80))));
        assert_eq!(came("[::1]"), Some(("[::1]".into(), None)));
        assert_eq!(came("shed.local."), Some(("shed.local".into(), None)));
        for text in ["", ":80", "a:b", "[::1", "[::1]x", "a:80:80"] {
            assert_eq!(came(text), None, "{text}");
        }
    }
}
