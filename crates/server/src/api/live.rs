//! The live stream: says that the shelf holds something new, for as long as the device stays and is paired.

use crate::hub::Hub;
use crate::trust::Paired;
use axum::extract::State;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{Stream, unfold};
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::watch;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// How often a stream without news says that it is still there.
pub(crate) const HEARTBEAT: Duration = Duration::from_secs(15);

pub(super) fn routes() -> OpenApiRouter<Hub> {
    OpenApiRouter::new().routes(routes!(live))
}

/// Streams news: an event `changed` at the start and whenever the shelf holds something new, a comment every 15 s.
///
/// It is read with `fetch`, since the key stands in a header. It ends when the hub stops or the device is revoked.
#[utoipa::path(
    get, path = "/api/live", tag = "sync", security(("key" = [])),
    responses((status = 200, content_type = "text/event-stream", body = String))
)]
async fn live(State(hub): State<Hub>, paired: Paired) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let mut changes = hub.changes();
    changes.mark_changed();
    let listener = Listener { changes, trust: hub.trust_changes(), end: hub.end(), hub, paired };
    Sse::new(unfold(listener, Listener::next))
        .keep_alive(KeepAlive::new().interval(HEARTBEAT).text("still here"))
}

/// One device that listens.
struct Listener {
    hub: Hub,
    paired: Paired,
    changes: watch::Receiver<u64>,
    trust: watch::Receiver<u64>,
    end: watch::Receiver<bool>,
}

impl Listener {
    async fn next(mut self) -> Option<(Result<Event, Infallible>, Listener)> {
        loop {
            let news = tokio::select! {
                _ = self.end.wait_for(|ended| *ended) => return None,
                heard = self.changes.changed() => heard.map(|()| true),
                heard = self.trust.changed() => heard.map(|()| false),
            };
            let news = news.ok()?;
            if !self.is_still_paired().await {
                return None;
            }
            if news {
                let number = *self.changes.borrow_and_update();
                return Some((Ok(Event::default().event("changed").data(number.to_string())), self));
            }
        }
    }

    async fn is_still_paired(&self) -> bool {
        let paired = self.paired.clone();
        let still = self.hub.with_trust(move |trust| Ok(trust.is_still_paired(&paired))).await;
        still.unwrap_or(false)
    }
}
