//! The device that asks, from its key in the `Authorization` header.

use super::room::OfPaired;
use crate::hub::Hub;
use crate::refusal::Refusal;
use crate::trust::Paired;
use axum::extract::FromRequestParts;
use axum::http::header::AUTHORIZATION;
use axum::http::request::Parts;

/// A route that takes this refuses everybody but paired devices.
impl FromRequestParts<Hub> for Paired {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, hub: &Hub) -> Result<Self, Refusal> {
        let key = parts.headers.get(AUTHORIZATION).and_then(|value| value.to_str().ok()).and_then(|text| {
            let (scheme, key) = text.split_once(' ')?;
            scheme.eq_ignore_ascii_case("bearer").then(|| key.trim().to_owned())
        });
        let Some(key) = key else { return Err(Refusal::unpaired()) };
        let paired = hub.with_trust(move |trust| Ok(trust.device_with_key(&key)?)).await?;
        match paired {
            Some(paired) => {
                parts.extensions.insert(OfPaired);
                Ok(paired)
            }
            None => {
                tracing::warn!(path = parts.uri.path(), "a key that is not known, or was revoked");
                Err(Refusal::unpaired())
            }
        }
    }
}
