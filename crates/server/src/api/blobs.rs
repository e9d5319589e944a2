//! Photos and originals by the SHA-256 of their bytes: who has which, and their bytes in ranges (RFC 9110, section 14).

use super::sync::{another, answer};
use super::{Asked, Packed, Sent, body_limit, time_limit};
use crate::hub::Hub;
use crate::refusal::Refusal;
use crate::trust::Paired;
use airshelf_app::sync::wire::{Answer, Ask, BlobsHeld, BlobsOf, PieceOf, Taken};
use axum::Json;
use axum::body::Body;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::middleware::from_fn;
use axum::response::{IntoResponse, Response};
use futures_util::stream::try_unfold;
use std::time::Duration;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The biggest piece that is taken at once.
const PIECE_BYTES: usize = 8 << 20;
/// Bytes read at a time when a whole one is given.
const STEP_BYTES: usize = 1 << 20;
/// How long a piece may take.
const TIME: Duration = Duration::from_secs(300);
/// What a hash is never given other bytes for.
const FOREVER: &str = "private, max-age=31536000, immutable";

pub(super) fn routes() -> OpenApiRouter<Hub> {
    OpenApiRouter::new()
        .routes(routes!(names))
        .routes(routes!(get, put))
        .routes(routes!(thumbnail))
        .layer(body_limit(PIECE_BYTES))
        .layer(from_fn(|request, next| time_limit(TIME, request, next)))
}

/// Compares which photos and originals either side has and lacks.
#[utoipa::path(
    post, path = "/api/blobs", tag = "sync", security(("key" = [])), request_body = BlobsOf,
    responses((status = 200, body = BlobsHeld))
)]
async fn names(
    State(hub): State<Hub>,
    _: Paired,
    Sent(asked): Sent<BlobsOf>,
) -> Result<Json<BlobsHeld>, Refusal> {
    let Answer::Blobs(held) = answer(&hub, Ask::Blobs(asked)).await? else { return Err(another()) };
    Ok(Json(held))
}

/// Gives a photo or original, whole or a range of its bytes.
#[utoipa::path(
    get, path = "/api/blobs/{sha256}", tag = "sync", security(("key" = [])),
    params(
        ("sha256" = String, Path, pattern = "^[0-9a-f]{64}$", description = "SHA-256 of its bytes, 64 hexadecimal digits"),
        ("range" = Option<String>, Header, description = "`bytes=FROM-` or `bytes=FROM-TO`; others are passed over"),
    ),
    responses(
        (status = 200, description = "The whole", body = Vec<u8>, content_type = "application/octet-stream"),
        (status = 206, description = "The range", body = Vec<u8>, content_type = "application/octet-stream"),
        (status = 304, description = "It is the one that `If-None-Match` names"),
        (status = 416, description = "The range begins behind the end", body = crate::refusal::FaultDocument),
    )
)]
async fn get(
    State(hub): State<Hub>,
    _: Paired,
    Asked(sha256): Asked<String>,
    headers: HeaderMap,
) -> Result<Response, Refusal> {
    let hash = parsed(&sha256)?;
    let range = headers.get(header::RANGE).and_then(|value| value.to_str().ok()).and_then(range);
    let (from, most) = match range {
        Some((from, to)) => {
            (from, to.map_or(STEP_BYTES as u64, |to| (to - from).saturating_add(1)).min(PIECE_BYTES as u64))
        }
        None => (0, STEP_BYTES as u64),
    };
    let piece = piece(&hub, hash, from, most).await?;
    let total = piece.total;
    let etag = format!("\"{sha256}\"");
    if is_held(&headers, &etag) {
        let known = [(header::CACHE_CONTROL, FOREVER.to_owned()), (header::ETAG, etag)];
        return Ok((StatusCode::NOT_MODIFIED, known).into_response());
    }
    let common = [
        (header::CONTENT_TYPE, "application/octet-stream".to_owned()),
        (header::CACHE_CONTROL, FOREVER.to_owned()),
        (header::ETAG, etag),
        (header::ACCEPT_RANGES, "bytes".to_owned()),
    ];
    if range.is_none() {
        let first = piece.bytes.len() as u64;
        let rest = try_unfold((Some(piece.bytes), first), move |(ready, at)| {
            let hub = hub.clone();
            async move {
                if let Some(bytes) = ready {
                    return Ok(Some((bytes, (None, at))));
                }
                if at >= total {
                    return Ok(None);
                }
                let next = self::piece(&hub, hash, at, STEP_BYTES as u64)
                    .await
                    .map_err(|r| std::io::Error::other(r.message))?;
                let at = at + next.bytes.len() as u64;
                Ok::<_, std::io::Error>(Some((next.bytes, (None, at))))
            }
        });
        let length = [(header::CONTENT_LENGTH, total.to_string())];
        return Ok((common, length, Body::from_stream(rest)).into_response());
    }
    if from >= total {
        let unmet =
            Refusal::new(StatusCode::RANGE_NOT_SATISFIABLE, "bad-range", "the range begins behind the end");
        return Ok(([(header::CONTENT_RANGE, format!("bytes */{total}"))], unmet).into_response());
    }
    let last = from + piece.bytes.len() as u64 - 1;
    let content = [(header::CONTENT_RANGE, format!("bytes {from}-{last}/{total}"))];
    Ok((StatusCode::PARTIAL_CONTENT, common, content, piece.bytes).into_response())
}

/// Takes a photo or original, whole or the next piece of it. Only what a row of the shelf names is taken, and only bytes
/// whose hash is right stay.
#[utoipa::path(
    put, path = "/api/blobs/{sha256}", tag = "sync", security(("key" = [])),
    params(
        ("sha256" = String, Path, pattern = "^[0-9a-f]{64}$", description = "SHA-256 of its bytes, 64 hexadecimal digits"),
        ("content-range" = Option<String>, Header, description = "`bytes FROM-TO/TOTAL`; without it, the whole"),
    ),
    request_body(content = Vec<u8>, content_type = "application/octet-stream"),
    responses((status = 200, body = Taken))
)]
async fn put(
    State(hub): State<Hub>,
    _: Paired,
    Asked(sha256): Asked<String>,
    headers: HeaderMap,
    Packed(bytes): Packed,
) -> Result<Json<Taken>, Refusal> {
    let hash = parsed(&sha256)?;
    let (from, total) = match headers.get(header::CONTENT_RANGE) {
        None => (0, bytes.len() as u64),
        Some(value) => value
            .to_str()
            .ok()
            .and_then(|text| content_range(text, bytes.len() as u64))
            .ok_or_else(|| Refusal::bad("the content range does not fit the bytes that came"))?,
    };
    let ask = Ask::Put { hash, from, total, bytes: bytes.into() };
    let Answer::Taken(taken) = answer(&hub, ask).await? else { return Err(another()) };
    match taken {
        Taken::Whole => hub.changed(),
        Taken::Wrong => tracing::warn!(sha256, "bytes that are not what their hash says; refused"),
        Taken::Held(_) => {}
    }
    Ok(Json(taken))
}

/// Gives a small picture of a photo, the right way up and without metadata.
#[utoipa::path(
    get, path = "/api/blobs/{sha256}/thumbnail", tag = "sync", security(("key" = [])),
    params(("sha256" = String, Path, pattern = "^[0-9a-f]{64}$", description = "SHA-256 of the photo's bytes, 64 hexadecimal digits")),
    responses((status = 200, body = Vec<u8>, content_type = "image/jpeg"))
)]
async fn thumbnail(
    State(hub): State<Hub>,
    _: Paired,
    Asked(sha256): Asked<String>,
) -> Result<Response, Refusal> {
    let hash = parsed(&sha256)?;
    let Answer::Thumbnail(small) = answer(&hub, Ask::Thumbnail { hash }).await? else {
        return Err(another());
    };
    let small = small.ok_or_else(|| Refusal::not_found("there is no small picture of this on this hub"))?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg"), (header::CACHE_CONTROL, FOREVER)], small).into_response())
}

async fn piece(hub: &Hub, hash: [u8; 32], from: u64, most: u64) -> Result<PieceOf, Refusal> {
    let most = usize::try_from(most).unwrap_or(STEP_BYTES);
    let Answer::Piece(piece) = answer(hub, Ask::Get { hash, from, most }).await? else {
        return Err(another());
    };
    piece.ok_or_else(|| Refusal::not_found("this photo or original is not on this hub"))
}

fn parsed(sha256: &str) -> Result<[u8; 32], Refusal> {
    airshelf_app::sync::wire::parse_hash(sha256)
        .ok_or_else(|| Refusal::bad(format!("{} is no SHA-256", sha256.escape_debug())))
}

/// Whether the asking side says that it holds this already (RFC 9110, section 13.1.2).
fn is_held(headers: &HeaderMap, etag: &str) -> bool {
    let named = headers.get_all(header::IF_NONE_MATCH).iter().filter_map(|value| value.to_str().ok());
    let mut named = named.flat_map(|text| text.split(',')).map(str::trim);
    named.any(|name| name == "*" || name.strip_prefix("W/").unwrap_or(name) == etag)
}

/// `bytes=FROM-` or `bytes=FROM-TO`. A number bigger than any size is as good as the biggest.
fn range(text: &str) -> Option<(u64, Option<u64>)> {
    let (from, to) = text.trim().strip_prefix("bytes=")?.split_once('-')?;
    let number = |digits: &str| {
        let all = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
        all.then(|| digits.parse().unwrap_or(u64::MAX))
    };
    let from = number(from.trim())?;
    match to.trim() {
        "" => Some((from, None)),
        to => number(to).filter(|to| *to >= from).map(|to| (from, Some(to))),
    }
}

/// `bytes FROM-TO/TOTAL`, for so many bytes.
fn content_range(text: &str, length: u64) -> Option<(u64, u64)> {
    let (span, total) = text.trim().strip_prefix("bytes ")?.split_once('/')?;
    let (from, to) = span.split_once('-')?;
    let (from, to, total): (u64, u64, u64) = (from.parse().ok()?, to.parse().ok()?, total.parse().ok()?);
    (to < total && to.checked_sub(from)?.checked_add(1)? == length).then_some((from, total))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_read_as_the_standard_writes_them() {
        assert_eq!(range("bytes=0-"), Some((0, None)));
        assert_eq!(range("bytes=5-9"), Some((5, Some(9))));
        assert_eq!(range("bytes=0-99999999999999999999"), Some((0, Some(u64::MAX))));
        for other in ["bytes=9-5", "bytes=-5", "lines=1-2", "bytes=0-1,4-5", ""] {
            assert_eq!(range(other), None, "{other}");
        }
    }

    #[test]
    fn a_content_range_must_fit_the_bytes() {
        assert_eq!(content_range("bytes 0-9/10", 10), Some((0, 10)));
        assert_eq!(content_range("bytes 5-9/10", 5), Some((5, 10)));
        for other in [
            "bytes 5-9/10;4",
            "bytes 0-10/10",
            "bytes 9-5/10",
            "bytes */10",
            "0-9/10",
            "bytes 0-18446744073709551615/0",
        ] {
            assert_eq!(content_range(other, 5), None, "{other}");
        }
    }
}
