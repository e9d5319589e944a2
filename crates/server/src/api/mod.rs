//! What can be asked of a hub. Each file holds one subject, its routes with what they take and answer.
//!
//! Each route documents what it answers when it does it; [`document`] adds what any request may be refused with.

mod blobs;
mod devices;
pub mod document;
mod health;
mod live;
pub(crate) use live::HEARTBEAT;
mod pair;
mod paired;
pub(crate) mod room;
mod sent;
pub(crate) mod sync;

pub use crate::trust::Paired;
pub use sent::{Asked, Packed, Sent, Wanted};

use crate::hub::Hub;
use crate::refusal::Refusal;
use axum::extract::{DefaultBodyLimit, Request};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::{Json, Router};
use std::time::Duration;
use tower_http::compression::predicate::{DefaultPredicate, NotForContentType, Predicate};
use tower_http::decompression::RequestDecompressionLayer;
use utoipa_axum::router::OpenApiRouter;

/// The biggest body that a route takes unless it says otherwise, unpacked.
pub const BODY_BYTES: usize = 64 * 1024;

/// How long a request may take unless its route says otherwise, its body included.
pub const TIME: Duration = Duration::from_secs(30);

/// Lets a route take bigger bodies than [`BODY_BYTES`].
pub fn body_limit(bytes: usize) -> DefaultBodyLimit {
    DefaultBodyLimit::max(bytes)
}

/// Refuses a request that takes longer than `limit`; what it had begun on the shelf is finished or rolled back.
pub async fn time_limit(limit: Duration, request: Request, next: Next) -> Response {
    match tokio::time::timeout(limit, next.run(request)).await {
        Ok(response) => response,
        Err(_) => Refusal::new(
            StatusCode::REQUEST_TIMEOUT,
            "too-slow",
            "the request was not whole in time; nothing of it was kept",
        )
        .hint("Send it again, in smaller batches.")
        .into_response(),
    }
}

/// Answers that pay to be packed: not the live stream, and not what is packed already.
pub(crate) fn worth_packing() -> impl Predicate {
    DefaultPredicate::new()
        .and(NotForContentType::const_new("application/octet-stream"))
        .and(NotForContentType::const_new("application/cbor"))
        .and(NotForContentType::const_new("application/zip"))
        .and(NotForContentType::const_new("font/"))
}

/// The routes of the hub, all but the screens, and their document.
pub(crate) fn routes() -> Router<Hub> {
    let timed = OpenApiRouter::with_openapi(document::start())
        .merge(health::routes())
        .merge(pair::routes())
        .merge(devices::routes())
        .layer(from_fn(|request, next| time_limit(TIME, request, next)));
    let (router, mut openapi) =
        timed.merge(live::routes()).merge(sync::routes()).merge(blobs::routes()).split_for_parts();
    document::finish(&mut openapi);
    router
        .route("/api/openapi.json", axum::routing::get(|| async move { Json(openapi) }))
        .layer(DefaultBodyLimit::max(BODY_BYTES))
        .layer(from_fn_with_state(room::Room::of(room::BYTES), room::share))
        // The limit counts what comes out of the unpacking, so that a small body that unpacks to a big one stops there.
        .layer(RequestDecompressionLayer::new())
        .layer(from_fn(packing))
}

/// Refuses a body that is packed in a way that is not taken. Names of codings know no case, and some senders write
/// `identity` where nothing is packed (RFC 9110, section 8.4.1).
async fn packing(mut request: Request, next: Next) -> Response {
    let headers = request.headers_mut();
    let said: Option<Vec<String>> = headers
        .get_all(header::CONTENT_ENCODING)
        .iter()
        .map(|value| value.to_str().ok().map(str::to_ascii_lowercase))
        .collect();
    let said = said.map(|all| all.join(","));
    let codings = said.as_deref().map(|said| {
        said.split(',').map(str::trim).filter(|one| !["", "identity"].contains(one)).collect::<Vec<_>>()
    });
    match codings.as_deref() {
        Some([]) => drop(headers.remove(header::CONTENT_ENCODING)),
        Some(["gzip" | "x-gzip"]) => {
            headers.insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
        }
        _ => {
            let refusal = Refusal::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "bad-type",
                "the body is packed in a way that this hub does not take",
            )
            .hint("Send it as it is, or packed by gzip.");
            return ([(header::ACCEPT_ENCODING, "gzip")], refusal).into_response();
        }
    }
    next.run(request).await
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Read, Write};
    use std::net::{Ipv4Addr, TcpListener, TcpStream};

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn a_body_that_does_not_come_in_time_is_refused() {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let at = listener.local_addr().unwrap();
        let taken = axum::routing::post(|Packed(body): Packed| async move { body });
        let limit = from_fn(|request, next| time_limit(Duration::from_millis(300), request, next));
        let router: Router = Router::new().route("/", taken.layer(limit));
        tokio::spawn(axum_server::from_tcp(listener).unwrap().serve(router.into_make_service()));
        let ask = |body: &'static str| {
            tokio::task::spawn_blocking(move || {
                let mut stream = TcpStream::connect(at).unwrap();
                let head =
                    "POST / HTTP/1.1\r\nhost: localhost\r\nconnection: close\r\ncontent-length: 4\r\n\r\n";
                stream.write_all(head.as_bytes()).unwrap();
                stream.write_all(body.as_bytes()).unwrap();
                let mut answer = String::new();
                stream.read_to_string(&mut answer).unwrap();
                answer
            })
        };
        assert!(ask("abcd").await.unwrap().starts_with("HTTP/1.1 200"));
        let late = ask("ab").await.unwrap();
        assert!(late.starts_with("HTTP/1.1 408") && late.contains("too-slow"), "{late}");
    }
}
