//! What went wrong with a request, as `application/problem+json` (RFC 9457).
//!
//! `detail` is a sentence for whoever stands before the screen, and says what to do. `type` is
//! `about:blank`, so `title` is the status's own phrase.

use std::borrow::Cow;

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use floorbell_core::name::NameProblem;
use floorbell_core::time::Span;
use serde_json::{Value, json};

use crate::house::HouseProblem;
use crate::store::StoreError;

/// A request that was not carried out.
#[derive(Debug)]
pub(super) struct Problem {
    status: StatusCode,
    detail: Cow<'static, str>,
    /// When to try again.
    retry_after: Option<Span>,
    /// A member of its own, beside those of the standard.
    more: Option<(&'static str, Value)>,
}

impl Problem {
    /// A problem with a sentence that says what to do.
    pub(super) fn new(status: StatusCode, detail: impl Into<Cow<'static, str>>) -> Self {
        Self { status, detail: detail.into(), retry_after: None, more: None }
    }

    /// What was sent cannot be used as it is.
    pub(super) fn bad_request(detail: impl Into<Cow<'static, str>>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, detail)
    }

    /// Nothing shows who asks, or no longer.
    pub(super) fn who_are_you(admitted: &str) -> Self {
        Self::new(
            StatusCode::UNAUTHORIZED,
            format!("Only {admitted} may ask for this: sign in, or come in again."),
        )
    }

    /// Whoever asks is known, and may not.
    pub(super) fn not_yours(admitted: &str) -> Self {
        Self::new(StatusCode::FORBIDDEN, format!("Only {admitted} may ask for this."))
    }

    /// There is no such thing.
    pub(super) fn not_found(detail: impl Into<Cow<'static, str>>) -> Self {
        Self::new(StatusCode::NOT_FOUND, detail)
    }

    /// What is asked for does not go together with how things stand.
    pub(super) fn conflict(detail: impl Into<Cow<'static, str>>) -> Self {
        Self::new(StatusCode::CONFLICT, detail)
    }

    /// Too many wrong guesses from one address.
    pub(super) fn too_many(wait: Span) -> Self {
        let detail =
            format!("Too many tries from this device. Wait {} s and try again.", secs(wait));
        Self { retry_after: Some(wait), ..Self::new(StatusCode::TOO_MANY_REQUESTS, detail) }
    }

    /// The same problem with a member of its own.
    pub(super) fn with(self, name: &'static str, value: Value) -> Self {
        Self { more: Some((name, value)), ..self }
    }
}

/// Whole seconds, rounded up, so that who waits them has waited long enough.
fn secs(span: Span) -> i64 {
    (span.as_micros() + 999_999) / 1_000_000
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        Self::new(StatusCode::SERVICE_UNAVAILABLE, error.to_string())
    }
}

impl From<HouseProblem> for Problem {
    fn from(problem: HouseProblem) -> Self {
        let text = problem.to_string();
        match problem {
            HouseProblem::ClassOpen | HouseProblem::TooManyWait => Self::conflict(text),
            HouseProblem::NoSuchClass => Self::not_found(text),
            HouseProblem::Refused { code, .. } => Self::conflict(text).with("code", code.into()),
            HouseProblem::OtherVersion => Self::bad_request(text),
            HouseProblem::Disk(_) | HouseProblem::Stopping => {
                Self::new(StatusCode::SERVICE_UNAVAILABLE, text)
            }
        }
    }
}

impl From<NameProblem> for Problem {
    fn from(problem: NameProblem) -> Self {
        Self::bad_request(problem.to_string())
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let mut body = json!({
            "type": "about:blank",
            "title": self.status.canonical_reason(),
            "status": self.status.as_u16(),
            "detail": self.detail,
        });
        if let Some((name, value)) = self.more {
            body[name] = value;
        }
        let mut response = (self.status, body.to_string()).into_response();
        let headers = response.headers_mut();
        headers.insert(header::CONTENT_TYPE, HeaderValue::from_static("application/problem+json"));
        if self.status == StatusCode::UNAUTHORIZED {
            headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        if let Some(wait) = self.retry_after {
            headers.insert(header::RETRY_AFTER, HeaderValue::from(secs(wait)));
        }
        response
    }
}
