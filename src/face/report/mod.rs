//! One self-contained HTML document for a calibration: it is filed, printed and read on a phone.
//!
//! [`document()`] puts it together; each of its parts stands in a file of its own.

mod document;
mod error;
mod fitted;
mod heat_times;
mod heat_times_table;
mod markup;
mod measured;
mod pictures;
mod verdicts;

pub use document::{ReportRequest, document};
pub use error::ReportError;
#[cfg(feature = "page")]
pub(crate) use fitted::part as fitted_part;
pub(crate) use heat_times::DRAWS;
pub(crate) use pictures::usual_force_drawing;
#[cfg(feature = "page")]
pub(crate) use verdicts::lines as verdict_lines;
