//! Fills the charts from a calibration: the one place where answers become pictures. One file a
//! kind of chart.

#[cfg(feature = "batches")]
mod batches;
mod error;
mod firmness;
mod force;
mod history;
mod rates;
mod residuals;
mod standing;
mod syringes;
mod words;

#[cfg(feature = "batches")]
pub use batches::batches;
pub use error::DrawingError;
pub use firmness::firmness;
pub use force::{ForceDrawing, force};
pub use history::{history, history_words};
pub use rates::rates;
pub use residuals::residuals;
pub use standing::{StandingDrawing, standing};
pub use syringes::{SyringeDrawn, SyringesDrawing, syringes};

/// Points along a curve.
const CURVE_POINTS: usize = 160;
