//! The run sheet on paper: one form, written as text, as CSV, as an HTML page and as labels.
//!
//! [`form`] decides what stands on it; the others only lay it out, so that no form leaves out a mark
//! or a caution that another one has.

mod csv;
mod facts;
mod form;
mod html;
mod labels;
#[cfg(feature = "page")]
mod part;
mod text;

pub(crate) use csv::csv;
pub(crate) use form::{Form, FormRequest, form};
pub(crate) use html::html;
pub(crate) use labels::labels;
#[cfg(feature = "page")]
pub(crate) use part::in_page;
pub(crate) use text::text;
