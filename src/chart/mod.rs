//! Pictures: one file a kind of chart. This room draws and computes nothing; every chart is a
//! plain struct that a face fills with finished numbers.
//!
//! [`BatchesChart`], [`ConsequencesChart`], [`ContributionsChart`], [`FirmnessChart`], [`ForceChart`], [`HistoryChart`],
//! [`IsoForceChart`], [`RatesChart`], [`ResidualsChart`], [`StandingChart`], [`SyringesChart`] and
//! [`WindowChart`] each implement [`Chart`]. A further kind is one more file: fill a `Plan`, lay it
//! out with a `Frame`, draw
//! into the plot rectangle that comes back.

mod axis;
mod batches;
mod bearing;
mod canvas;
mod clip;
mod consequences;
mod contributions;
mod error;
mod extent;
mod firmness;
mod force;
mod frame;
mod history;
mod iso_force;
mod label;
mod legend;
mod naming;
mod palette;
mod plot;
mod plot_axes;
mod rates;
mod residuals;
mod scene;
mod size;
mod standing;
mod strokes;
mod syringes;
mod text;
mod window;

pub use axis::AxisKind;
pub use batches::{BatchPoint, BatchesChart};
pub use consequences::{ConsequenceRow, ConsequenceZone, ConsequencesChart};
pub use contributions::{ContributionBar, ContributionsChart};
pub use error::ChartError;
pub use firmness::{CurvePoint, FirmnessChart, FirmnessSeries, ReadingBand, ReadingPoint};
pub use force::{ForceAxis, ForceBand, ForceChart, ForceLimit, ForceLine, ForcePoint, ForceZone};
pub use frame::{ChartWords, TimeSpan};
pub use history::{HistoryChart, HistoryPoint, HistoryStage, OutsidePoint};
pub use iso_force::{
    ContourRank, EffortBand, IsoForceChart, IsoForceContour, IsoForcePoint, MeasuredRange,
    TemperatureSpan,
};
pub use palette::Colour;
pub use rates::{RateLinePoint, RatePoint, RatesChart};
pub use residuals::{ResidualAgainst, ResidualPoint, ResidualSeries, ResidualsChart};
pub use scene::Picture;
pub use size::{ChartFormat, ChartSize};
pub use standing::{StandingChart, StandingLine};
pub use syringes::{SyringeLevel, SyringeLine, SyringePoint, SyringesChart};
pub use window::{ProbabilityPoint, WindowChart, WindowMark};

/// A kind of chart, filled and ready to be drawn.
pub trait Chart {
    /// Places every mark of the chart in a picture of the asked size.
    ///
    /// # Errors
    /// [`ChartError::NothingToDraw`] if no value of the chart is a number that its axes can
    /// show; [`ChartError::FontUnreadable`] if the embedded font cannot be read.
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError>;

    /// The chart as an SVG document: self-contained, and the same bytes for the same input.
    ///
    /// # Errors
    /// Those of [`Chart::compose`], and [`ChartError::DrawingFailed`].
    fn draw_svg(&self, size: ChartSize) -> Result<String, ChartError> {
        canvas::svg(&self.compose(size)?)
    }

    /// The chart as the bytes of a PNG file of exactly the asked size, edges smoothed.
    ///
    /// # Errors
    /// Those of [`Chart::compose`], [`ChartError::DrawingFailed`] and
    /// [`ChartError::PngNotWritten`].
    fn draw_png(&self, size: ChartSize) -> Result<Vec<u8>, ChartError> {
        canvas::png(&self.compose(size)?)
    }

    /// The bytes of the file that was asked for.
    ///
    /// # Errors
    /// Those of [`Chart::draw_svg`] and [`Chart::draw_png`].
    fn draw(&self, format: ChartFormat, size: ChartSize) -> Result<Vec<u8>, ChartError> {
        match format {
            ChartFormat::Svg => self.draw_svg(size).map(String::into_bytes),
            ChartFormat::Png => self.draw_png(size),
        }
    }
}
