//! What is said when a request cannot be served: what, and what helps.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::html;
use thiserror::Error;

/// Why a request was not served.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PageError {
    /// More wait than can be served soon.
    #[error("Too many people ask at once.\nWhat helps: wait a moment and reload")]
    Busy,
    /// A thread that reckoned ended early.
    #[error(
        "The reckoning ended early; nothing was kept of it.\nWhat helps: reload; if it happens again, ask 'heatset' on the command line and tell the makers what you asked"
    )]
    EndedEarly,
    /// Nothing has this address.
    #[error(
        "There is no view at this address.\nWhat helps: go by the links at the top of the page"
    )]
    NoView,
    /// A calibration that is not on the shelf.
    #[error(
        "The calibration {code} is not here: the page keeps what it was handed only while it runs.\nWhat helps: hand its file over again under 'Calibrations'; the same file gets the same address"
    )]
    NotOnShelf {
        /// The code in the address.
        code: String,
    },
    /// Something that the page no longer keeps.
    #[error("{message}")]
    Gone {
        /// What, and what helps.
        message: &'static str,
    },
    /// A request from elsewhere.
    #[error("{message}")]
    NotYours {
        /// Why.
        message: &'static str,
    },
    /// A body over the limit.
    #[error(
        "What was sent is over {limit}.\nWhat helps: split the table, or fit it with 'heatset fit' on the command line"
    )]
    TooLarge {
        /// The limit, in words.
        limit: &'static str,
    },
    /// An address over the limit.
    #[error(
        "What was asked is over {limit}, and no address here is: a price list that was pasted may be.\nWhat helps: go back and keep only the lines of the list that the sheet needs; or write the sheet with 'heatset sheet' and --prices on the command line"
    )]
    AddressTooLong {
        /// The limit, in words.
        limit: &'static str,
    },
    /// A body that did not come in time.
    #[error(
        "What was sent had not come whole after {within_s} s.\nWhat helps: send it again; a large table over a slow network is fitted with 'heatset fit' on the command line"
    )]
    TooSlow {
        /// The time, in seconds.
        within_s: u64,
    },
    /// What was sent cannot be read.
    #[error("{message}")]
    NotRead {
        /// What, and what helps.
        message: String,
    },
    /// Whatever the rooms below refuse, in their words.
    #[error(transparent)]
    Refused(#[from] Box<crate::face::cli::CliError>),
}

impl PageError {
    /// A question that cannot be served, in these words.
    pub(super) fn words(message: impl Into<String>) -> Self {
        Self::NotRead {
            message: message.into(),
        }
    }

    /// Something that the page no longer keeps, in these words.
    pub(super) fn gone(message: &'static str) -> Self {
        Self::Gone { message }
    }

    fn status(&self) -> StatusCode {
        match self {
            Self::Busy => StatusCode::SERVICE_UNAVAILABLE,
            Self::EndedEarly => StatusCode::INTERNAL_SERVER_ERROR,
            Self::NoView | Self::NotOnShelf { .. } | Self::Gone { .. } => StatusCode::NOT_FOUND,
            Self::NotYours { .. } => StatusCode::FORBIDDEN,
            Self::TooLarge { .. } => StatusCode::PAYLOAD_TOO_LARGE,
            Self::AddressTooLong { .. } => StatusCode::URI_TOO_LONG,
            Self::TooSlow { .. } => StatusCode::REQUEST_TIMEOUT,
            Self::NotRead { .. } | Self::Refused(_) => StatusCode::UNPROCESSABLE_ENTITY,
        }
    }
}

impl IntoResponse for PageError {
    fn into_response(self) -> Response {
        let words = self.to_string();
        let body = super::shell::bare(
            "Not served",
            &html! {
                section.problem role="alert" {
                    h1 { "That cannot be answered" }
                    @for line in words.lines() { p { (line) } }
                    p { a href="/" { "Back to the start" } }
                }
            },
        );
        (self.status(), body).into_response()
    }
}
