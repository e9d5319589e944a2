//! Every answer that is no success: a status and one document with a stable code, a sentence and what to do.

use airshelf_app::{Code, Fault};
use axum::Json;
use axum::extract::rejection::{BytesRejection, JsonRejection, PathRejection, QueryRejection};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use std::borrow::Cow;
use utoipa::ToSchema;

/// A request that was not carried out; nothing was changed.
#[derive(Clone, Debug)]
pub struct Refusal {
    /// The HTTP status.
    pub status: StatusCode,
    /// The stable code, so that no screen or script matches on text.
    pub code: Cow<'static, str>,
    /// What happened and what was kept.
    pub message: String,
    /// What to do.
    pub hint: Option<String>,
    /// After how many seconds trying again can help.
    pub retry_after_s: Option<u32>,
}

/// The document of a refusal, as the command line prints it too.
#[derive(Debug, Serialize, ToSchema)]
pub struct FaultDocument {
    /// The fault.
    pub fault: FaultBody,
}

/// What went wrong.
#[derive(Debug, Serialize, ToSchema)]
pub struct FaultBody {
    /// A stable code.
    pub code: String,
    /// What happened and what was kept.
    pub message: String,
    /// What to do.
    pub hint: Option<String>,
}

impl Refusal {
    /// A refusal with its status, code and sentence.
    pub fn new(status: StatusCode, code: &'static str, message: impl Into<String>) -> Self {
        Refusal { status, code: code.into(), message: message.into(), hint: None, retry_after_s: None }
    }

    /// Adds what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// Adds when trying again can help.
    #[must_use]
    pub fn retry_after(mut self, seconds: u32) -> Self {
        self.retry_after_s = Some(seconds);
        self
    }

    /// A request without a key, or with one that is not or no longer known. The same for both.
    pub fn unpaired() -> Self {
        Refusal::new(StatusCode::UNAUTHORIZED, "unpaired", "this device is not paired with this hub")
            .hint("Pair it: run `airshelf pair` on the hub and type the digits here.")
    }

    /// Something that is not here.
    pub fn not_found(message: impl Into<String>) -> Self {
        Refusal::new(StatusCode::NOT_FOUND, "not-found", message)
    }

    /// A request that cannot be read.
    pub fn bad(message: impl Into<String>) -> Self {
        Refusal::new(StatusCode::BAD_REQUEST, "bad-argument", message)
    }

    /// A body over the limit of what was asked.
    pub fn too_big() -> Self {
        Refusal::new(
            StatusCode::PAYLOAD_TOO_LARGE,
            "too-big",
            "the request is bigger than this hub takes at once, unpacked",
        )
        .hint("Send it in smaller batches.")
    }

    /// Something that broke in the hub itself.
    pub fn broken(message: impl Into<String>) -> Self {
        Refusal::new(StatusCode::INTERNAL_SERVER_ERROR, "broken", message)
    }

    fn unread(status: StatusCode, text: String) -> Self {
        match status {
            StatusCode::PAYLOAD_TOO_LARGE => Refusal::too_big(),
            StatusCode::UNSUPPORTED_MEDIA_TYPE => Refusal::new(status, "bad-type", text),
            _ => Refusal::bad(text),
        }
    }
}

/// The status of a fault of the app.
fn status(code: Code) -> StatusCode {
    match code {
        Code::NotFound => StatusCode::NOT_FOUND,
        Code::Unpaired => StatusCode::UNAUTHORIZED,
        Code::Ambiguous | Code::ShelfExists | Code::OtherShelf | Code::ReadOnly => StatusCode::CONFLICT,
        Code::BadQuantity | Code::BadArgument | Code::OutsideValidity | Code::NotTaken => {
            StatusCode::BAD_REQUEST
        }
        Code::DiskFull => StatusCode::INSUFFICIENT_STORAGE,
        Code::Store | Code::Stopped | Code::Unreachable => StatusCode::SERVICE_UNAVAILABLE,
        Code::UnreadableFile | Code::NoShelf | Code::MayNotRead | Code::Damaged => {
            StatusCode::INTERNAL_SERVER_ERROR
        }
    }
}

/// A code as scripts see it.
fn name(code: Code) -> String {
    serde_json::to_value(code).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

impl From<Fault> for Refusal {
    fn from(fault: Fault) -> Self {
        let status = status(fault.code);
        Refusal {
            status,
            code: name(fault.code).into(),
            message: fault.message,
            hint: fault.hint,
            retry_after_s: (status == StatusCode::SERVICE_UNAVAILABLE).then_some(1),
        }
    }
}

impl From<JsonRejection> for Refusal {
    fn from(rejection: JsonRejection) -> Self {
        Refusal::unread(rejection.status(), rejection.body_text())
    }
}

impl From<BytesRejection> for Refusal {
    fn from(rejection: BytesRejection) -> Self {
        Refusal::unread(rejection.status(), rejection.body_text())
    }
}

impl From<PathRejection> for Refusal {
    fn from(rejection: PathRejection) -> Self {
        Refusal::bad(rejection.body_text())
    }
}

impl From<QueryRejection> for Refusal {
    fn from(rejection: QueryRejection) -> Self {
        Refusal::bad(rejection.body_text())
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        if self.status.is_server_error() {
            tracing::error!(code = %self.code, message = %self.message, "could not be done");
        }
        let body = FaultBody { code: self.code.into_owned(), message: self.message, hint: self.hint };
        let mut response = (self.status, Json(FaultDocument { fault: body })).into_response();
        if self.status == StatusCode::UNAUTHORIZED {
            response.headers_mut().insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        if let Some(seconds) = self.retry_after_s {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        response
    }
}
