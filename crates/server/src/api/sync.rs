//! The exchange of transactions, question by question; what they mean is the app's.

use super::{Packed, Sent, body_limit, time_limit};
use crate::hub::Hub;
use crate::refusal::Refusal;
use crate::trust::Paired;
use airshelf_app::Fault;
use airshelf_app::sync::Local;
use airshelf_app::sync::http::SEQUENCE;
use airshelf_app::sync::wire::{Answer, Ask, ForkAt, Forked, Hello, Links, LinksOf, Pull, Pushed, Welcome};
use axum::Json;
use axum::extract::State;
use axum::http::{HeaderName, header};
use axum::middleware::from_fn;
use std::time::Duration;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// A version vector names every device that ever wrote; a batch of transactions ends with a whole one.
const BODY_BYTES: usize = 64 << 20;
/// A first exchange over a weak radio takes its time.
const TIME: Duration = Duration::from_secs(300);

pub(super) fn routes() -> OpenApiRouter<Hub> {
    OpenApiRouter::new()
        .routes(routes!(hello))
        .routes(routes!(links))
        .routes(routes!(fork))
        .routes(routes!(push))
        .routes(routes!(pull))
        .layer(body_limit(BODY_BYTES))
        .layer(from_fn(|request, next| time_limit(TIME, request, next)))
}

/// Puts a question to the shelf.
pub(super) async fn answer(hub: &Hub, ask: Ask) -> Result<Answer, Refusal> {
    let local = Local { name: Some(hub.name.to_string()) };
    hub.with_shelf(move |shelf| shelf.answer(ask, &local)).await
}

/// Another kind of answer than the question has.
pub(super) fn another() -> Refusal {
    Refusal::from(Fault::new(airshelf_app::Code::Stopped, "the shelf answered another question"))
}

/// Greets: who asks, what it holds and what its clock says, against the same of this hub.
///
/// A device of another shelf is refused (`other-shelf`), unless one of the two is empty.
#[utoipa::path(
    post, path = "/api/sync/hello", tag = "sync", security(("key" = [])), request_body = Hello,
    responses((status = 200, body = Welcome), (status = 409, description = "Another shelf (`other-shelf`)", body = crate::refusal::FaultDocument))
)]
async fn hello(
    State(hub): State<Hub>,
    paired: Paired,
    Sent(asked): Sent<Hello>,
) -> Result<Json<Welcome>, Refusal> {
    let (now_ms, device) = (asked.now_ms, asked.device);
    let Answer::Welcome(welcome) = answer(&hub, Ask::Hello(asked)).await? else { return Err(another()) };
    let by = paired.clone();
    if hub.with_trust(move |trust| Ok(trust.comes_as(&by, device)?)).await? {
        tracing::warn!(%device, name = paired.name, "comes with this device's key: a copy of it, or under a new identity");
    }
    let off_s = (i128::from(now_ms) - i128::from(welcome.now_ms)) / 1000;
    if off_s.abs() >= 120 {
        tracing::warn!(device = %paired.device_id, name = paired.name, off_s, "this device's clock is off");
    }
    Ok(Json(welcome))
}

/// Tells links of a device's chain of transactions, by which two stores find where copies of it parted.
#[utoipa::path(
    post, path = "/api/sync/links", tag = "sync", security(("key" = [])), request_body = LinksOf,
    responses((status = 200, body = Links))
)]
async fn links(
    State(hub): State<Hub>,
    _: Paired,
    Sent(asked): Sent<LinksOf>,
) -> Result<Json<Links>, Refusal> {
    let Answer::Links(links) = answer(&hub, Ask::Links(asked)).await? else { return Err(another()) };
    Ok(Json(links))
}

/// Settles a fork: this hub renames its branch if it is the later one.
#[utoipa::path(
    post, path = "/api/sync/fork", tag = "sync", security(("key" = [])), request_body = ForkAt,
    responses((status = 200, body = Forked), (status = 409, description = "The shelf can only be read", body = crate::refusal::FaultDocument))
)]
async fn fork(
    State(hub): State<Hub>,
    paired: Paired,
    Sent(asked): Sent<ForkAt>,
) -> Result<Json<Forked>, Refusal> {
    let device = asked.device;
    let Answer::Forked(forked) = answer(&hub, Ask::Fork(asked)).await? else { return Err(another()) };
    if let Some(renamed) = forked.renamed {
        tracing::warn!(%device, renamed, by = paired.name, "copies of a device wrote apart; one branch was renamed");
        hub.changed();
    }
    Ok(Json(forked))
}

/// Takes transactions: a CBOR sequence of envelopes, as `pull` gives them. All of them are taken, or none.
#[utoipa::path(
    post, path = "/api/sync/push", tag = "sync", security(("key" = [])),
    request_body(content = Vec<u8>, content_type = SEQUENCE),
    responses((status = 200, body = Pushed), (status = 409, description = "The shelf can only be read", body = crate::refusal::FaultDocument))
)]
async fn push(
    State(hub): State<Hub>,
    paired: Paired,
    Packed(sequence): Packed,
) -> Result<Json<Pushed>, Refusal> {
    let Answer::Pushed(pushed) = answer(&hub, Ask::Push(sequence.into())).await? else {
        return Err(another());
    };
    if pushed.new > 0 {
        tracing::info!(from = paired.name, transactions = pushed.new, "taken");
        hub.changed();
    }
    Ok(Json(pushed))
}

/// Gives transactions that the asking device lacks, in the order of their stamps, about as many bytes as asked for; an
/// empty answer says that there are no more.
#[utoipa::path(
    post, path = "/api/sync/pull", tag = "sync", security(("key" = [])), request_body = Pull,
    responses(
        (status = 200, body = Vec<u8>, content_type = SEQUENCE),
        (status = 409, description = "Another shelf (`other-shelf`)", body = crate::refusal::FaultDocument)
    )
)]
async fn pull(
    State(hub): State<Hub>,
    _: Paired,
    Sent(asked): Sent<Pull>,
) -> Result<([(HeaderName, &'static str); 1], Vec<u8>), Refusal> {
    let Answer::Batch(sequence) = answer(&hub, Ask::Pull(asked)).await? else { return Err(another()) };
    Ok(([(header::CONTENT_TYPE, SEQUENCE)], sequence))
}
