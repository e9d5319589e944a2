//! Paths that climb, or hide something, are refused whatever they would lead to.

use crate::refusal::Refusal;
use axum::http::StatusCode;

/// Refuses `.` and `..` between slashes of either kind, written out or encoded once or twice, and control characters.
pub(super) fn check(path: &str) -> Result<(), Refusal> {
    let once = decoded(path).ok_or_else(bad)?;
    let twice = decoded(&once).unwrap_or_else(|| once.clone());
    for text in [&once, &twice] {
        let climbs = text.split(['/', '\\']).any(|part| part == "." || part == "..");
        if climbs || text.chars().any(char::is_control) {
            return Err(bad());
        }
    }
    Ok(())
}

fn bad() -> Refusal {
    Refusal::new(StatusCode::BAD_REQUEST, "bad-path", "this path leads nowhere")
}

/// A path with its `%XX` read, unless that is malformed.
pub(crate) fn decoded(path: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(path.len());
    let mut rest = path.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        if *first == b'%' {
            let hex = std::str::from_utf8(after.get(..2)?).ok()?;
            if !hex.bytes().all(|b| b.is_ascii_hexdigit()) {
                return None;
            }
            bytes.push(u8::from_str_radix(hex, 16).ok()?);
            rest = &after[2..];
        } else {
            bytes.push(*first);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn climbing_paths_are_refused_however_they_are_written() {
        for path in [
            "/../x",
            "/..",
            "/a/../b",
            "/%2e%2e/x",
            "/%2E%2e%2fx",
            "/a%5c..%5cb",
            "/..\\x",
            "/%252e%252e/x",
            "/a%00b",
            "/a%0ab",
            "/%ff",
            "/%zz",
            "/%2",
            "/./x",
        ] {
            assert!(check(path).is_err(), "{path}");
        }
        for path in ["/", "/app/parts", "/a..b", "/...", "/50%25", "/caf%C3%A9"] {
            assert!(check(path).is_ok(), "{path}");
        }
    }
}
