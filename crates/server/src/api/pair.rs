//! Pairing: the digits of an invitation against a key.

use super::Sent;
use crate::hub::Hub;
use crate::refusal::{FaultDocument, Refusal};
use crate::trust::{Joins, NotJoined};
use axum::Json;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;
use uuid::Uuid;

/// A device that wants to be paired.
#[derive(Deserialize, ToSchema)]
struct PairAsked {
    /// The eight digits of the invitation; anything between them is passed over.
    code: String,
    /// What people call the device; its first 80 characters are kept.
    name: String,
    /// The device, as its stamps name it.
    device: Uuid,
    /// The shelf that it holds; left out where that is empty, and can become part of any.
    #[serde(default)]
    shelf: Option<Uuid>,
}

/// A device that is paired now.
#[derive(Serialize, ToSchema)]
struct PairDone {
    /// The device's key, told once; it goes into the `Authorization` header as `Bearer KEY`.
    key: String,
    /// The device, as asked.
    device: Uuid,
    /// What people call the hub.
    hub: String,
    /// The shelf that the hub is on.
    shelf: Uuid,
}

pub(super) fn routes() -> OpenApiRouter<Hub> {
    OpenApiRouter::new().routes(routes!(pair))
}

/// Pairs a device with the hub by the code of an open invitation, once.
///
/// The invitation is made on the hub with `airshelf pair` and is good for five minutes and five tries. Whatever the
/// reason, a refused code gets the same answer.
#[utoipa::path(
    post, path = "/api/pair", tag = "devices", request_body = PairAsked,
    responses(
        (status = 200, body = PairDone),
        (status = 409, description = "The device holds another shelf than the hub (`other-shelf`); the code stays good", body = FaultDocument),
        (status = 429, description = "Too many codes were tried lately (`too-many-tries`)", body = FaultDocument),
    )
)]
async fn pair(
    State(hub): State<Hub>,
    headers: HeaderMap,
    Sent(asked): Sent<PairAsked>,
) -> Result<Json<PairDone>, Refusal> {
    let origin = headers.get(header::ORIGIN).and_then(|o| o.to_str().ok()).map(str::to_owned);
    let (name, device) = (asked.name.clone(), asked.device);
    let ours = hub.trust.shelf();
    let other_shelf = match asked.shelf {
        Some(theirs) if theirs != ours => !hub.with_shelf(|shelf| shelf.is_empty()).await?,
        _ => false,
    };
    let joined = hub
        .with_trust(move |trust| {
            let PairAsked { code, name, device, .. } = &asked;
            let who = Joins { name, device: *device, origin: origin.as_deref(), other_shelf };
            Ok(trust.join(code, who))
        })
        .await?;
    match joined {
        Ok(joined) => {
            tracing::info!(%device, name, "paired");
            let shelf = hub.trust.shelf();
            Ok(Json(PairDone { key: joined.key, device, hub: hub.name.to_string(), shelf }))
        }
        Err(NotJoined::OtherShelf) => {
            tracing::warn!(%device, name, "holds another shelf; not paired");
            let what =
                "this device holds another shelf than the hub; it was not paired, and the code stays good";
            Err(Refusal::new(StatusCode::CONFLICT, "other-shelf", what).hint(
                "Shelves of different beginnings do not mix: pair an empty shelf, or import what is missing.",
            ))
        }
        Err(NotJoined::Refused) => {
            tracing::warn!(%device, "a code was refused");
            Err(Refusal::new(StatusCode::FORBIDDEN, "pairing-refused", "this code does not pair with this hub")
                .hint("A code is good once, for five minutes and five tries. Make a new one on the hub: `airshelf pair`."))
        }
        Err(NotJoined::TooMany) => {
            tracing::warn!(%device, "too many codes were tried");
            Err(Refusal::new(
                StatusCode::TOO_MANY_REQUESTS,
                "too-many-tries",
                "too many codes were tried lately; this one was not looked at",
            )
            .hint("Wait a little, then type the digits again.")
            .retry_after(10))
        }
        Err(NotJoined::Fault(fault)) => Err(fault.into()),
    }
}
