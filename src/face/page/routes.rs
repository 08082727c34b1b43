//! Which address shows what.

use super::problem::PageError;
use super::state::{PageState, Shared};
use super::{assets, bench, calibrations, charts, guard, heat, session, start, uploads};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware;
use axum::routing::get;
use std::sync::Arc;

/// The largest body that is read, in bytes: a bench of a hundred thousand rows is well under it.
const LARGEST: usize = 8 * 1024 * 1024;
/// The same in words.
pub(super) const LARGEST_WORDS: &str = "8 MB";

/// All views.
pub(super) fn router(state: PageState) -> Router {
    let shared: Shared = Arc::new(state);
    Router::new()
        .route("/", get(start::start))
        .route("/cautions", get(start::cautions))
        .route("/heat", get(heat::heat))
        .route("/heat/window.svg", get(heat::window_picture))
        .route("/heat/force.svg", get(heat::force_picture))
        .route(
            "/calibrations",
            get(calibrations::list).post(calibrations::hand_over),
        )
        .route("/calibrations/{file}", get(calibrations::save))
        .route("/assets/page.css", get(assets::serve_style))
        .route("/assets/page.js", get(assets::serve_script))
        .route("/assets/icon.svg", get(assets::serve_icon))
        .merge(bench::routes())
        .merge(charts::routes())
        .merge(session::routes())
        .fallback(async || PageError::NoView)
        // Inside the guard: of a stranger no body is read.
        .layer(middleware::from_fn_with_state(
            Arc::clone(&shared),
            uploads::whole,
        ))
        .layer(DefaultBodyLimit::max(LARGEST))
        .layer(middleware::from_fn_with_state(
            Arc::clone(&shared),
            guard::guard,
        ))
        .with_state(shared)
}
