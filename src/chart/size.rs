//! The size of a picture and the kind of file.

use std::path::Path;

use super::error::ChartError;

/// Least side of a picture.
const LEAST_PX: u32 = 200;
/// Greatest side of a picture: A0 at 170 dots an inch.
const MOST_PX: u32 = 8000;

/// Width and height of a picture in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChartSize {
    width_px: u32,
    height_px: u32,
}

impl Default for ChartSize {
    /// 1200 x 800: readable from the back of a classroom.
    fn default() -> Self {
        ChartSize {
            width_px: 1200,
            height_px: 800,
        }
    }
}

impl ChartSize {
    /// A sheet of A3 lying, at 300 dots an inch: 420 x 297 mm (ISO 216:2007).
    pub const A3_SHEET: ChartSize = ChartSize {
        width_px: 4961,
        height_px: 3508,
    };

    /// A size of 200 to 8000 pixels a side.
    ///
    /// # Errors
    /// [`ChartError::SizeOutOfRange`] naming the side.
    pub fn new(width_px: u32, height_px: u32) -> Result<Self, ChartError> {
        for (side, found_px) in [("width", width_px), ("height", height_px)] {
            if !(LEAST_PX..=MOST_PX).contains(&found_px) {
                return Err(out_of_range(side, &found_px.to_string()));
            }
        }
        Ok(ChartSize {
            width_px,
            height_px,
        })
    }

    /// Reads `1200x800`.
    ///
    /// # Errors
    /// [`ChartError::SizeNotUnderstood`] or [`ChartError::SizeOutOfRange`].
    ///
    /// # Example
    /// ```
    /// use heatset::chart::ChartSize;
    /// let size = ChartSize::parse("1600x900")?;
    /// assert_eq!((size.width_px(), size.height_px()), (1600, 900));
    /// assert!(ChartSize::parse("big").is_err());
    /// # Ok::<(), heatset::chart::ChartError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, ChartError> {
        let not_understood = || ChartError::SizeNotUnderstood {
            found: text.to_string(),
        };
        let (width, height) = text
            .trim()
            .split_once(['x', 'X', '×'])
            .ok_or_else(not_understood)?;
        let side_px = |side: &'static str, digits: &str| -> Result<u32, ChartError> {
            let digits = digits.trim();
            if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
                return Err(not_understood());
            }
            // All digits: what does not fit into 32 bits is too large, not misspelt.
            digits
                .parse::<u32>()
                .map_err(|_| out_of_range(side, digits))
        };
        ChartSize::new(side_px("width", width)?, side_px("height", height)?)
    }

    /// Width in pixels.
    pub fn width_px(self) -> u32 {
        self.width_px
    }

    /// Height in pixels.
    pub fn height_px(self) -> u32 {
        self.height_px
    }

    /// How much larger than 1200 x 800 letters and lines are drawn.
    pub(super) fn magnification(self) -> f64 {
        (f64::from(self.width_px) / 1200.0).min(f64::from(self.height_px) / 800.0)
    }
}

fn out_of_range(side: &'static str, found_px: &str) -> ChartError {
    ChartError::SizeOutOfRange {
        side,
        found_px: found_px.to_string(),
        least_px: LEAST_PX,
        most_px: MOST_PX,
    }
}

/// The kind of file a chart is written to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChartFormat {
    /// Scalable vector graphics.
    Svg,
    /// Portable network graphics.
    Png,
}

impl ChartFormat {
    /// By the ending of the file's name, in capitals or not.
    ///
    /// # Errors
    /// [`ChartError::FormatNotKnown`].
    ///
    /// # Example
    /// ```
    /// use heatset::chart::ChartFormat;
    /// use std::path::Path;
    /// assert_eq!(ChartFormat::of_file(Path::new("force.PNG"))?, ChartFormat::Png);
    /// # Ok::<(), heatset::chart::ChartError>(())
    /// ```
    pub fn of_file(file: &Path) -> Result<Self, ChartError> {
        let ending = file
            .extension()
            .and_then(|ending| ending.to_str())
            .unwrap_or_default();
        match ending.to_ascii_lowercase().as_str() {
            "svg" => Ok(ChartFormat::Svg),
            "png" => Ok(ChartFormat::Png),
            _ => Err(ChartError::FormatNotKnown {
                file: file.display().to_string(),
            }),
        }
    }
}
