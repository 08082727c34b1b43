//! Style, script and icon: embedded, served from this page alone.

use axum::http::header;
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

const STYLE: &str = include_str!("assets/page.css");
const SCRIPT: &str = include_str!("assets/page.js");
/// A barrel, its gel and a needle.
const ICON: &str = include_str!("assets/icon.svg");

/// Addresses change with the content, so that a browser may keep what it has.
static ADDRESSES: LazyLock<[String; 3]> = LazyLock::new(|| {
    [("page.css", STYLE), ("page.js", SCRIPT), ("icon.svg", ICON)].map(|(name, content)| {
        let sum = crate::readings::table::hexadecimal(&Sha256::digest(content.as_bytes()));
        format!("/assets/{name}?v={}", &sum[..8])
    })
});

/// Address of the style.
pub(super) fn style() -> &'static str {
    &ADDRESSES[0]
}

/// Address of the script.
pub(super) fn script() -> &'static str {
    &ADDRESSES[1]
}

/// Address of the icon.
pub(super) fn icon() -> &'static str {
    &ADDRESSES[2]
}

/// Serves the style.
pub(super) async fn serve_style() -> Response {
    kept("text/css; charset=utf-8", STYLE)
}

/// Serves the script.
pub(super) async fn serve_script() -> Response {
    kept("text/javascript; charset=utf-8", SCRIPT)
}

/// Serves the icon.
pub(super) async fn serve_icon() -> Response {
    kept("image/svg+xml", ICON)
}

fn kept(kind: &'static str, content: &'static str) -> Response {
    (
        [
            (header::CONTENT_TYPE, kind),
            (header::CACHE_CONTROL, "max-age=31536000, immutable"),
        ],
        content,
    )
        .into_response()
}
