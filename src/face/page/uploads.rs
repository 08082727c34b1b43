//! Bodies of requests: read whole before anything is done with them, within a stated time, and not more
//! than some at once, so that senders who never end hold nobody up.

use super::problem::PageError;
use super::routes::LARGEST_WORDS;
use super::state::Shared;
use axum::body::{Body, Bytes};
use axum::extract::rejection::BytesRejection;
use axum::extract::{FromRequest, Request, State};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::time::Duration;
use tokio::sync::Semaphore;

/// Bodies that come in at once; each can take the largest that is read.
const AT_ONCE: usize = 48;
/// Time in which a body must have come, from its header on: the largest at 2.3 Mbit/s.
const WITHIN: Duration = Duration::from_secs(30);

/// The places of bodies that come in.
#[derive(Debug)]
pub(super) struct Uploads {
    places: Semaphore,
}

impl Default for Uploads {
    fn default() -> Self {
        Self {
            places: Semaphore::new(AT_ONCE),
        }
    }
}

/// Hands a request on with its body whole, or says why not.
pub(super) async fn whole(State(state): State<Shared>, request: Request, next: Next) -> Response {
    if matches!(*request.method(), Method::GET | Method::HEAD) {
        return next.run(request).await;
    }
    match read(&state.uploads, request).await {
        Ok(request) => next.run(request).await,
        Err(error) => error.into_response(),
    }
}

async fn read(uploads: &Uploads, request: Request) -> Result<Request, PageError> {
    // A newcomer is told at once: waiting would hold its connection.
    let _place = uploads.places.try_acquire().map_err(|_| PageError::Busy)?;
    let (head, body) = request.into_parts();
    let incoming = Request::from_parts(head.clone(), body);
    let too_slow = PageError::TooSlow {
        within_s: WITHIN.as_secs(),
    };
    let bytes = tokio::time::timeout(WITHIN, Bytes::from_request(incoming, &()))
        .await
        .map_err(|_| too_slow)?
        .map_err(not_whole)?;
    Ok(Request::from_parts(head, Body::from(bytes)))
}

/// A body is over the limit, or its sender went away.
fn not_whole(error: BytesRejection) -> PageError {
    if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
        PageError::TooLarge {
            limit: LARGEST_WORDS,
        }
    } else {
        PageError::words("What was sent ended early or is no form.\nWhat helps: send it again")
    }
}
