//! Whose requests are served, and with which headers.
//!
//! A page on the loopback address can be reached by every site that the same browser shows. Three
//! checks keep those out: the Host must be an address of this page, so that a foreign name that was
//! turned to the loopback address (DNS rebinding) gets nothing; what changes anything must come from
//! this page's own origin, so that a foreign form cannot post; and what a foreign page embeds is
//! refused, so that no image or script tag there can make this machine reckon.

use super::problem::PageError;
use super::state::Shared;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};
use std::net::SocketAddr;

/// Headers of every response.
const HEADERS: [(&str, &str); 7] = [
    (
        "content-security-policy",
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; \
         form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    // With no-referrer a browser says Origin: null of this page's own forms too, and they were refused.
    ("referrer-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("x-frame-options", "DENY"),
    (
        "permissions-policy",
        "camera=(), microphone=(), geolocation=(), interest-cohort=()",
    ),
];

/// The style that a document of our own carries within itself, by its SHA-256: a document to print
/// needs no file beside it. On a response it allows that style and nothing else: no script, no picture,
/// no form.
#[derive(Debug, Clone)]
pub(super) struct OwnStyle {
    sha256: String,
}

impl OwnStyle {
    /// The style of a document that has one.
    pub(super) fn of(document: &str) -> Option<Self> {
        let (_, rest) = document.split_once("<style>")?;
        let (style, _) = rest.split_once("</style>")?;
        Some(Self {
            sha256: STANDARD.encode(Sha256::digest(style.as_bytes())),
        })
    }

    fn policy(&self) -> String {
        format!(
            "default-src 'none'; style-src 'sha256-{}'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'",
            self.sha256
        )
    }
}

/// The names under which the page may be asked.
#[derive(Debug, Clone)]
pub struct Whom {
    hosts: Vec<String>,
}

impl Whom {
    /// Whoever reaches this address by its own name. On a loopback address 'localhost' is one too.
    #[must_use]
    pub fn at(address: SocketAddr) -> Self {
        let port = address.port();
        let mut hosts = vec![address.to_string()];
        if address.ip().is_loopback() {
            hosts.push(format!("localhost:{port}"));
        }
        if port == 80 {
            let bare: Vec<String> = hosts
                .iter()
                .filter_map(|host| host.strip_suffix(":80").map(str::to_owned))
                .collect();
            hosts.extend(bare);
        }
        Self { hosts }
    }

    fn knows(&self, host: &str) -> bool {
        self.hosts
            .iter()
            .any(|known| known.eq_ignore_ascii_case(host))
    }

    fn is_own_origin(&self, origin: &str) -> bool {
        origin
            .strip_prefix("http://")
            .is_some_and(|host| self.knows(host))
    }
}

/// Serves what comes from this page, and says why where it does not; puts the headers on either.
pub(super) async fn guard(State(state): State<Shared>, request: Request, next: Next) -> Response {
    let mut response = match checked(&state.whom, &request) {
        Ok(()) => next.run(request).await,
        Err(error) => error.into_response(),
    };
    let own_style = response.extensions_mut().remove::<OwnStyle>();
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(
            HeaderName::from_static(name),
            HeaderValue::from_static(value),
        );
    }
    if let Some(policy) = own_style.and_then(|style| HeaderValue::try_from(style.policy()).ok()) {
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

fn checked(whom: &Whom, request: &Request) -> Result<(), PageError> {
    let headers = request.headers();
    // More than one Host, or none, is nobody's browser.
    let mut hosts = headers.get_all(header::HOST).iter();
    let host = hosts.next().and_then(|host| host.to_str().ok());
    if !host.is_some_and(|host| whom.knows(host)) || hosts.next().is_some() {
        return Err(PageError::NotYours {
            message: "This page answers only under its own address.\nWhat helps: open the address that 'heatset page' printed",
        });
    }
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    if changes && !from_own_origin(whom, headers) {
        return Err(PageError::NotYours {
            message: "What changes something here must come from this page itself, and this came from elsewhere.\nWhat helps: open the page by its own address and send it from there",
        });
    }
    // A link from elsewhere may lead here; nothing from elsewhere may embed what is here. A frame is
    // navigated too: what it is for tells it from a view of its own.
    let from_elsewhere = said(headers, "sec-fetch-site")
        .is_some_and(|site| site == "cross-site" || site == "same-site");
    let is_own_view = said(headers, "sec-fetch-mode") == Some("navigate")
        && said(headers, "sec-fetch-dest") == Some("document");
    if from_elsewhere && !is_own_view {
        return Err(PageError::NotYours {
            message: "Another site asked for this, not the page itself.\nWhat helps: open the page by its own address",
        });
    }
    Ok(())
}

/// Browsers name the origin of whatever changes something; programs that are no browsers carry nothing
/// of the person's and may leave it out.
fn from_own_origin(whom: &Whom, headers: &HeaderMap) -> bool {
    match headers.get(header::ORIGIN) {
        Some(origin) => origin
            .to_str()
            .is_ok_and(|origin| whom.is_own_origin(origin)),
        None => said(headers, "sec-fetch-site")
            .is_none_or(|site| site == "same-origin" || site == "none"),
    }
}

fn said<'a>(headers: &'a HeaderMap, name: &'static str) -> Option<&'a str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whom() -> Whom {
        Whom::at(SocketAddr::from(([127, 0, 0, 1], 8642)))
    }

    #[test]
    fn a_foreign_name_for_the_loopback_address_is_not_known() {
        let whom = whom();
        assert!(whom.knows("127.0.0.1:8642"));
        assert!(whom.knows("LocalHost:8642"));
        for host in [
            "rebound.example:8642",
            "127.0.0.1",
            "127.0.0.1:80",
            "localhost:8642.example",
            "",
        ] {
            assert!(!whom.knows(host), "{host}");
        }
    }

    /// SHA-256 of 'abc': FIPS 180-4, example of the Secure Hash Standard, in base 64 (RFC 4648) as CSP 3
    /// has it.
    #[test]
    fn a_style_within_a_document_is_allowed_by_its_sum() {
        let style = OwnStyle::of("<head><style>abc</style></head>").unwrap();
        assert!(
            style
                .policy()
                .contains("style-src 'sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0='")
        );
        assert!(OwnStyle::of("<p>no style</p>").is_none());
    }

    #[test]
    fn only_the_own_origin_may_change_anything() {
        let whom = whom();
        assert!(whom.is_own_origin("http://127.0.0.1:8642"));
        for origin in ["null", "https://127.0.0.1:8642", "http://elsewhere.example"] {
            assert!(!whom.is_own_origin(origin), "{origin}");
        }
    }
}
