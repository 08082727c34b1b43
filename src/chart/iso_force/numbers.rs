//! What a chart of equal forces is filled with: finished numbers and words.

use crate::chart::Colour;
use crate::chart::axis::AxisKind;
use crate::chart::frame::{ChartWords, TimeSpan};

/// One place of a contour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IsoForcePoint {
    /// Temperature of the block in °C.
    pub temperature_celsius: f64,
    /// Heat time in seconds: infinite where the force is never reached.
    pub time_s: f64,
}

/// What a contour stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ContourRank {
    /// A round force.
    Round,
    /// The force limit, by the point estimates: drawn thick.
    Limit,
    /// Where one syringe in 20 is over the limit: drawn dashed.
    OneInTwenty,
}

/// A line of equal force.
#[derive(Debug, Clone, PartialEq)]
pub struct IsoForceContour {
    /// Its name at its ends: `20 N`.
    pub label: String,
    /// Its name in the legend; empty for a round force.
    pub words: String,
    /// What it stands for.
    pub rank: ContourRank,
    /// The line, by rising temperature.
    pub points: Vec<IsoForcePoint>,
}

/// A stretch of force with a name, such as what hands find easy.
#[derive(Debug, Clone, PartialEq)]
pub struct EffortBand {
    /// What it is: `easy, under 12 N`.
    pub words: String,
    /// Its shade; drawn pale.
    pub colour: Colour,
    /// Where it begins, by rising temperature; empty where it begins with no heat.
    pub from: Vec<IsoForcePoint>,
    /// Where it ends, at the same temperatures; empty where nothing comes after it.
    pub to: Vec<IsoForcePoint>,
}

/// A stretch of block temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureSpan {
    /// Its lower end in °C.
    pub from_celsius: f64,
    /// Its upper end in °C.
    pub to_celsius: f64,
}

/// What was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredRange {
    /// The temperatures.
    pub temperatures: TemperatureSpan,
    /// The heat times.
    pub times: TimeSpan,
}

/// Contours of equal plunger force over block temperature and heat time.
#[derive(Debug, Clone, PartialEq)]
pub struct IsoForceChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// What the time axis shows, without its unit.
    pub time_name: String,
    /// How the time axis is divided.
    pub time_axis: AxisKind,
    /// Temperatures that are shown.
    pub temperatures: TemperatureSpan,
    /// Heat times that are shown.
    pub times: TimeSpan,
    /// Heading of the legend.
    pub legend_heading: String,
    /// Filled stretches of force, the least first.
    pub bands: Vec<EffortBand>,
    /// The lines.
    pub contours: Vec<IsoForceContour>,
    /// What was measured, outlined. What lies outside is left empty; where [`ChartWords`] say that the
    /// chart is extrapolated, it is filled, hatched, and its lines are dotted.
    pub measured: Option<MeasuredRange>,
}

impl Default for IsoForceChart {
    fn default() -> Self {
        IsoForceChart {
            words: ChartWords::default(),
            time_name: "heat time on the clock".to_string(),
            time_axis: AxisKind::Log,
            temperatures: TemperatureSpan {
                from_celsius: f64::NAN,
                to_celsius: f64::NAN,
            },
            times: TimeSpan {
                from_s: f64::NAN,
                to_s: f64::NAN,
            },
            legend_heading: "push by hand".to_string(),
            bands: Vec::new(),
            contours: Vec::new(),
            measured: None,
        }
    }
}
