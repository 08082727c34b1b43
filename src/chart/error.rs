//! What can keep a chart from being drawn.

use thiserror::Error;

/// Why a chart was not drawn, in words for the person who asked for it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ChartError {
    /// The text for the size is not two whole numbers with an x between them.
    #[error(
        "the chart size \"{found}\" is not a width and a height in pixels\nWhat helps: write it as 1200x800"
    )]
    SizeNotUnderstood {
        /// What was written.
        found: String,
    },
    /// One side of the picture is smaller or larger than can be drawn.
    #[error(
        "the chart's {side} of {found_px} pixels is outside {least_px} to {most_px}\nWhat helps: 1200x800 suits a screen and a page, 2400x1600 a poster"
    )]
    SizeOutOfRange {
        /// `width` or `height`.
        side: &'static str,
        /// What was asked for.
        found_px: String,
        /// The least that is drawn.
        least_px: u32,
        /// The most that is drawn.
        most_px: u32,
    },
    /// The file's ending names no format that is drawn.
    #[error(
        "the ending of \"{file}\" does not say how to draw the chart\nWhat helps: end the name in .svg (print, web) or .png (slides)"
    )]
    FormatNotKnown {
        /// The file's name as given.
        file: String,
    },
    /// No value can be shown on the chart's axes.
    #[error("the {chart} chart has nothing to draw: {reason}")]
    NothingToDraw {
        /// The kind of chart.
        chart: &'static str,
        /// What is missing, in words.
        reason: &'static str,
    },
    /// A colour is not six hexadecimal digits.
    #[error(
        "the colour \"{found}\" is not six hexadecimal digits\nWhat helps: write it as #0072B2"
    )]
    ColourNotUnderstood {
        /// What was written.
        found: String,
    },
    /// The embedded font could not be read.
    #[error(
        "the embedded font could not be read; this copy of heatset is damaged, install it again"
    )]
    FontUnreadable,
    /// The drawing library refused a mark.
    #[error("the chart could not be drawn: {reason}")]
    DrawingFailed {
        /// What the drawing library said.
        reason: String,
    },
    /// The pixels could not be packed into a PNG file.
    #[error("the PNG picture could not be written: {reason}\nWhat helps: draw it as .svg")]
    PngNotWritten {
        /// What the PNG library said.
        reason: String,
    },
}
