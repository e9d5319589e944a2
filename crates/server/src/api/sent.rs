//! What a request carries, with refusals as this program words them.

use super::room;
use crate::refusal::Refusal;
use axum::Json;
use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, Path, Query, Request};
use serde::de::DeserializeOwned;

/// A JSON body.
#[derive(Debug)]
pub struct Sent<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Sent<T> {
    type Rejection = Refusal;

    async fn from_request(request: Request, state: &S) -> Result<Self, Refusal> {
        let (parts, body) = request.into_parts();
        let bytes = room::body(Request::from_parts(parts.clone(), body), state).await?;
        let Json(sent) = Json::<T>::from_request(Request::from_parts(parts, bytes.into()), state).await?;
        Ok(Sent(sent))
    }
}

/// A body of bytes, within the limit of its route.
#[derive(Debug)]
pub struct Packed(pub Bytes);

impl<S: Send + Sync> FromRequest<S> for Packed {
    type Rejection = Refusal;

    async fn from_request(request: Request, state: &S) -> Result<Self, Refusal> {
        Ok(Packed(room::body(request, state).await?))
    }
}

/// What stands in the path.
#[derive(Debug, FromRequestParts)]
#[from_request(via(Path), rejection(Refusal))]
pub struct Asked<T>(pub T);

/// What stands behind the question mark.
#[derive(Debug, FromRequestParts)]
#[from_request(via(Query), rejection(Refusal))]
pub struct Wanted<T>(pub T);
