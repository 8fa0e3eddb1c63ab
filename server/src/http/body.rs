//! Bodies of requests, read once at the edge; what cannot be read is answered with a sentence.

use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use serde::de::DeserializeOwned;

use super::problem::Problem;

/// A JSON body.
pub(super) struct Sent<T>(pub(super) T);

/// A body that is plain text.
pub(super) struct SentText(pub(super) String);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Sent<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        let bytes = Bytes::from_request(request, state).await.map_err(|error| unread(&error))?;
        serde_json::from_slice(&bytes).map(Self).map_err(|error| {
            Problem::bad_request(format!("The body is not the JSON that belongs here: {error}."))
        })
    }
}

impl<S: Send + Sync> FromRequest<S> for SentText {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        let bytes = Bytes::from_request(request, state).await.map_err(|error| unread(&error))?;
        String::from_utf8(bytes.into())
            .map(Self)
            .map_err(|_| Problem::bad_request("The text is not UTF-8: save it as UTF-8."))
    }
}

/// The body did not come in whole, or was too long.
fn unread(rejection: &BytesRejection) -> Problem {
    match rejection.status() {
        StatusCode::PAYLOAD_TOO_LARGE => {
            Problem::new(StatusCode::PAYLOAD_TOO_LARGE, "That is too long: send less.")
        }
        _ => Problem::bad_request("The request broke off. Try again."),
    }
}
