//! The time stamp of a document.

use jiff::Timestamp;

/// Now as RFC 3339 to the second, or SOURCE_DATE_EPOCH where that is set, so that builds can be
/// repeated to the byte.
#[must_use]
pub(crate) fn created_now() -> String {
    let fixed = std::env::var("SOURCE_DATE_EPOCH")
        .ok()
        .and_then(|text| text.trim().parse::<i64>().ok())
        .and_then(|seconds| Timestamp::from_second(seconds).ok());
    let now = fixed.unwrap_or_else(Timestamp::now);
    let whole = Timestamp::from_second(now.as_second()).unwrap_or(now);
    whole.to_string()
}
