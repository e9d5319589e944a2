//! The paired devices: list, rename, revoke.

use super::{Asked, Paired, Sent};
use crate::hub::Hub;
use crate::refusal::Refusal;
use crate::trust::DeviceReport;
use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;
use uuid::Uuid;

/// All devices ever paired with this hub.
#[derive(Serialize, ToSchema)]
struct Devices {
    /// The devices, the revoked ones too.
    devices: Vec<DeviceReport>,
    /// Which of them asks.
    you: Uuid,
}

/// A device's new name.
#[derive(Deserialize, ToSchema)]
struct NewName {
    /// What people call the device; its first 80 characters are kept.
    #[schema(min_length = 1, pattern = r"[^\s\p{C}]")]
    name: String,
}

pub(super) fn routes() -> OpenApiRouter<Hub> {
    OpenApiRouter::new().routes(routes!(list)).routes(routes!(rename, revoke))
}

/// Lists the devices.
#[utoipa::path(get, path = "/api/devices", tag = "devices", security(("key" = [])), responses((status = 200, body = Devices)))]
async fn list(State(hub): State<Hub>, paired: Paired) -> Result<Json<Devices>, Refusal> {
    let devices = hub.with_trust(|trust| Ok(trust.devices()?)).await?;
    Ok(Json(Devices { devices, you: paired.device_id }))
}

/// Renames a device.
#[utoipa::path(
    patch, path = "/api/devices/{id}", tag = "devices", security(("key" = [])), request_body = NewName,
    params(("id" = Uuid, Path, description = "The device")),
    responses((status = 200, body = DeviceReport))
)]
async fn rename(
    State(hub): State<Hub>,
    _: Paired,
    Asked(id): Asked<Uuid>,
    Sent(asked): Sent<NewName>,
) -> Result<Json<DeviceReport>, Refusal> {
    Ok(Json(hub.with_trust(move |trust| Ok(trust.rename(&id.to_string(), &asked.name)?)).await?))
}

/// Revokes a device: its key is refused from now on, and its live stream ends.
#[utoipa::path(
    delete, path = "/api/devices/{id}", tag = "devices", security(("key" = [])),
    params(("id" = Uuid, Path, description = "The device")),
    responses((status = 200, body = DeviceReport))
)]
async fn revoke(
    State(hub): State<Hub>,
    _: Paired,
    Asked(id): Asked<Uuid>,
) -> Result<Json<DeviceReport>, Refusal> {
    let revoked = hub.with_trust(move |trust| Ok(trust.revoke(&id.to_string())?)).await?;
    hub.trust_changed();
    Ok(Json(revoked))
}
