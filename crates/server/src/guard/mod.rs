//! What every request passes before its route: its path, the name it came under, where its page came from; and what
//! every answer carries.

mod headers;
mod host;
mod origin;
mod path;
pub(crate) use path::decoded;

pub use headers::Headers;
pub(crate) use host::name_of;
pub(crate) use origin::Own;

use crate::hub::Hub;
use crate::refusal::Refusal;
use crate::tls::is_loopback;
use axum::extract::{Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::time::Instant;

/// What the guard needs to know of the port that a request came in on.
#[derive(Clone, Debug)]
pub(crate) struct Gate {
    /// The hub behind it.
    pub(crate) hub: Hub,
    /// Whose pages are the hub's own.
    pub(crate) own: Own,
    /// What every answer carries.
    pub(crate) headers: Headers,
    /// Whether screens asked for under an address are sent to `localhost`, where the browser keeps their shelf.
    pub(crate) to_localhost: bool,
}

/// Lets a request through to its route, or refuses it; logs either.
pub(crate) async fn pass(State(gate): State<Gate>, request: Request, next: Next) -> Response {
    let begin = Instant::now();
    let (asked, body) = request.into_parts();
    let (method, path) = (asked.method.clone(), asked.uri.path().to_owned());
    let by_itself = host::named(&asked).is_none_or(|came| is_loopback(&came.name));
    let mut response = match check(&gate, &asked).await {
        Ok(Through::Answered(response)) => response,
        Ok(Through::On(allowed)) => {
            let mut response = next.run(Request::from_parts(asked, body)).await;
            if let Some(origin) = allowed {
                origin::allow(&mut response, &origin);
            }
            response
        }
        Err(refusal) => {
            tracing::warn!(%method, ?path, code = %refusal.code, "refused at the door");
            refusal.into_response()
        }
    };
    gate.headers.put(&mut response, by_itself);
    let (status, ms) = (response.status().as_u16(), begin.elapsed().as_millis());
    tracing::info!(%method, ?path, status, ms, "answered");
    response
}

enum Through {
    /// On to the route; with the other origin that may read the answer.
    On(Option<HeaderValue>),
    /// Answered at the door.
    Answered(Response),
}

async fn check(gate: &Gate, asked: &Parts) -> Result<Through, Refusal> {
    let path = asked.uri.path();
    path::check(path)?;
    let came_as = host::check(asked, &gate.hub)?;
    let programs_own = path.starts_with("/api/") || path == "/health";
    if gate.to_localhost && !programs_own && !came_as.name.eq_ignore_ascii_case("localhost") {
        return Ok(Through::Answered(to_localhost(asked, came_as.port)));
    }
    origin::check(gate, asked, &came_as).await
}

fn to_localhost(asked: &Parts, port: Option<u16>) -> Response {
    let asked = asked.uri.path_and_query().map_or("/", |asked| asked.as_str());
    let port = port.map_or_else(String::new, |port| format!(":{port}"));
    match HeaderValue::try_from(format!("http://localhost{port}{asked}")) {
        Ok(there) => (StatusCode::PERMANENT_REDIRECT, [(header::LOCATION, there)]).into_response(),
        Err(_) => Refusal::bad("the path cannot be read").into_response(),
    }
}
