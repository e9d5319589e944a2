//! Whether the hub is there, for whoever asks.

use crate::hub::Hub;
use axum::Json;
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// That the hub is there; it says nothing of the shelf.
#[derive(Debug, Serialize, ToSchema)]
struct Health {
    /// Always true: a hub that is not well does not answer.
    ok: bool,
    /// The program's version.
    version: &'static str,
}

pub(super) fn routes() -> OpenApiRouter<Hub> {
    OpenApiRouter::new().routes(routes!(health))
}

/// Says that the hub is there.
#[utoipa::path(get, path = "/health", tag = "hub", responses((status = 200, body = Health)))]
async fn health() -> Json<Health> {
    Json(Health { ok: true, version: env!("CARGO_PKG_VERSION") })
}
