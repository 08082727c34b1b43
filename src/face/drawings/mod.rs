//! Fills the charts from a calibration: the one place where answers become pictures. One file a
//! kind of chart.

#[cfg(feature = "batches")]
mod batches;
mod consequences;
mod contributions;
mod error;
mod firmness;
mod force;
mod history;
mod iso_force;
mod rates;
mod residuals;
mod standing;
mod syringes;
mod window;
mod words;

#[cfg(feature = "batches")]
pub use batches::batches;
pub use consequences::consequences;
pub(crate) use consequences::{change_words, consequences_in_words, push_words};
pub use contributions::contributions;
pub use error::DrawingError;
pub use firmness::firmness;
pub use force::{ForceDrawing, force};
pub use history::{history, history_words};
pub use iso_force::iso_force;
pub use rates::rates;
pub use residuals::residuals;
pub use standing::{StandingDrawing, standing};
pub use syringes::{SyringeDrawn, SyringesDrawing, syringes};
#[cfg(feature = "page")]
pub(crate) use window::window_finding;
pub use window::{window, window_of};

/// Points along a curve.
const CURVE_POINTS: usize = 160;
