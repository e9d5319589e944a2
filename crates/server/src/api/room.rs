//! How many bytes of bodies the hub holds at once, whoever sends them: a request that finds no room is refused.

use crate::refusal::Refusal;
use axum::body::{Body, Bytes};
use axum::extract::{FromRequest, Request, State};
use axum::http::{StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;
use futures_util::StreamExt;
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};

/// The room of one hub, in bytes: two of the biggest bodies, or some dozens of the usual batches.
pub(crate) const BYTES: usize = 128 << 20;
/// When trying again can help: a batch is taken in by then.
const AGAIN_S: u32 = 5;

/// The room that all requests share.
#[derive(Clone, Debug)]
pub(crate) struct Room(Arc<Semaphore>);

impl Room {
    /// Room for so many bytes.
    pub(crate) fn of(bytes: usize) -> Room {
        Room(Arc::new(Semaphore::new(bytes)))
    }
}

/// Stands in the request of a paired device; nobody else is taken at their word for how much is to come.
#[derive(Clone, Copy, Debug)]
pub(super) struct OfPaired;

/// What one request has of it; given back once it is answered.
#[derive(Clone, Debug)]
struct Held {
    room: Room,
    permit: Arc<Mutex<Option<OwnedSemaphorePermit>>>,
}

impl Held {
    /// Whether there was room for so many more bytes.
    fn take(&self, bytes: usize) -> bool {
        let Ok(bytes) = u32::try_from(bytes) else { return false };
        let Ok(more) = Arc::clone(&self.room.0).try_acquire_many_owned(bytes) else { return false };
        let mut permit = self.permit.lock().unwrap_or_else(PoisonError::into_inner);
        match permit.as_mut() {
            Some(held) => held.merge(more),
            None => *permit = Some(more),
        }
        true
    }
}

/// Gives back what a request held of the room once it is answered.
pub(crate) async fn share(State(room): State<Room>, mut request: Request, next: Next) -> Response {
    let held = Held { room, permit: Arc::default() };
    request.extensions_mut().insert(held.clone());
    let response = next.run(request).await;
    drop(held);
    response
}

fn full() -> Refusal {
    let what = "the hub holds as many bytes of other requests as it can; nothing of this one was kept";
    Refusal::new(StatusCode::SERVICE_UNAVAILABLE, "no-room", what)
        .hint("Try again in a few seconds.")
        .retry_after(AGAIN_S)
}

/// Reads a body within the limit of its route, as long as there is room for it. Where a paired device says how long it
/// is, that much is set aside or refused before any of it is read.
pub(super) async fn body<S: Send + Sync>(request: Request, state: &S) -> Result<Bytes, Refusal> {
    let Some(held) = request.extensions().get::<Held>().cloned() else {
        return Ok(Bytes::from_request(request, state).await?);
    };
    let is_paired = request.extensions().get::<OfPaired>().is_some();
    let length = request.headers().get(header::CONTENT_LENGTH).and_then(|value| value.to_str().ok());
    let mut room: usize = length.and_then(|text| text.parse().ok()).unwrap_or(0);
    if room > BYTES {
        return Err(Refusal::too_big());
    }
    if !is_paired {
        room = 0;
    }
    if !held.take(room) {
        return Err(full());
    }
    let was_full = Arc::new(Mutex::new(false));
    let no_room = Arc::clone(&was_full);
    let (parts, body) = request.into_parts();
    let counted = body.into_data_stream().map(move |piece| {
        let piece = piece.map_err(std::io::Error::other)?;
        match room.checked_sub(piece.len()) {
            Some(left) => room = left,
            None if held.take(piece.len()) => {}
            None => {
                *no_room.lock().unwrap_or_else(PoisonError::into_inner) = true;
                return Err(std::io::Error::other("no room"));
            }
        }
        Ok::<Bytes, std::io::Error>(piece)
    });
    let read = Bytes::from_request(Request::from_parts(parts, Body::from_stream(counted)), state).await;
    read.map_err(|rejection| {
        if *was_full.lock().unwrap_or_else(PoisonError::into_inner) { full() } else { rejection.into() }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::api::Packed;
    use axum::Router;
    use axum::middleware::from_fn_with_state;
    use axum::routing::post;
    use std::io::{Read, Write};
    use std::net::{Ipv4Addr, TcpListener, TcpStream};

    fn begin(at: std::net::SocketAddr, length: usize) -> TcpStream {
        let mut stream = TcpStream::connect(at).unwrap();
        let head = format!(
            "POST / HTTP/1.1\r\nhost: localhost\r\nconnection: close\r\ncontent-length: {length}\r\n\r\n"
        );
        stream.write_all(head.as_bytes()).unwrap();
        stream
    }

    fn answer(mut stream: TcpStream) -> String {
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn bodies_under_way_share_one_room_and_what_finds_none_is_refused_at_once() {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let at = listener.local_addr().unwrap();
        let taken = post(|Packed(body): Packed| async move { body });
        let router = Router::new().route("/", taken).layer(axum::Extension(OfPaired));
        let router: Router = router.layer(from_fn_with_state(Room::of(1_000), share));
        tokio::spawn(axum_server::from_tcp(listener).unwrap().serve(router.into_make_service()));
        let whole = tokio::task::spawn_blocking(move || {
            let mut first = begin(at, 600);
            first.write_all(&[b'a'; 300]).unwrap();
            std::thread::sleep(std::time::Duration::from_millis(300));
            // None of this one's body is sent, and it is answered.
            let refused = answer(begin(at, 600));
            assert!(refused.starts_with("HTTP/1.1 503") && refused.contains("no-room"), "{refused}");
            assert!(refused.to_lowercase().contains("retry-after: 5"), "{refused}");
            first.write_all(&[b'a'; 300]).unwrap();
            let first = answer(first);
            let mut again = begin(at, 600);
            again.write_all(&[b'a'; 600]).unwrap();
            (first, answer(again))
        });
        let (first, again) = whole.await.unwrap();
        assert!(first.starts_with("HTTP/1.1 200") && again.starts_with("HTTP/1.1 200"), "{first} {again}");
    }
}
