//! What a request carries, with refusals as this program words them.

use crate::refusal::Refusal;
use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, Path, Query};

/// A JSON body.
#[derive(Debug, FromRequest)]
#[from_request(via(axum::Json), rejection(Refusal))]
pub struct Sent<T>(pub T);

/// A body of bytes, within the limit of its route.
#[derive(Debug)]
pub struct Packed(pub Bytes);

impl<S: Send + Sync> FromRequest<S> for Packed {
    type Rejection = Refusal;

    async fn from_request(request: axum::extract::Request, state: &S) -> Result<Self, Refusal> {
        Ok(Packed(Bytes::from_request(request, state).await?))
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
