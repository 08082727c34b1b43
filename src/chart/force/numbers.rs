//! What a force chart is filled with: finished numbers and words.

use crate::chart::Colour;
use crate::chart::axis::AxisKind;
use crate::chart::frame::{ChartWords, TimeSpan};

/// One place of a needle's line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForcePoint {
    /// Heat time in seconds.
    pub time_s: f64,
    /// Plunger force in newtons.
    pub plunger_force_n: f64,
}

/// One place of a band around a needle's line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForceBand {
    /// Heat time in seconds.
    pub time_s: f64,
    /// Lower edge in newtons.
    pub low_n: f64,
    /// Upper edge in newtons.
    pub high_n: f64,
}

/// The line of one needle.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceLine {
    /// Its name in the legend: `27G x 13 mm`.
    pub label: String,
    /// Its name at the line's end: `27G`.
    pub end_label: String,
    /// Colour of its hub. Pale ones are drawn with a dark edge.
    pub hub_colour: Colour,
    /// The line, by rising time.
    pub points: Vec<ForcePoint>,
    /// Its band, by rising time; empty where there is none.
    pub band: Vec<ForceBand>,
}

/// A stretch of force with a name, such as what hands find easy.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceZone {
    /// Lower end in newtons.
    pub from_n: f64,
    /// Upper end in newtons.
    pub to_n: f64,
    /// What it is, with its source where one is wanted: `easy to push (under 12 N)`.
    pub words: String,
    /// Its shade; drawn pale.
    pub colour: Colour,
}

/// A force that is not to be passed.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceLimit {
    /// The force in newtons.
    pub plunger_force_n: f64,
    /// What it is: `limit asked 20 N`.
    pub label: String,
}

/// How the force's axis runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ForceAxis {
    /// From 0 to a force in newtons; lines are cut there. `None`: room for the limit and the
    /// zones, or for every line where they need less.
    Linear {
        /// Its end in newtons.
        up_to_n: Option<f64>,
    },
    /// Equal ratios, around every line.
    Log,
}

/// Plunger force against heat time.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// What the time axis shows, without its unit: `heat time at 86 °C`.
    pub time_name: String,
    /// How the time axis is divided.
    pub time_axis: AxisKind,
    /// How the force axis runs.
    pub force_axis: ForceAxis,
    /// Heading of the legend.
    pub legend_heading: String,
    /// Name of the bands: what they hold, and how often.
    pub band_words: String,
    /// Shaded stretches of force.
    pub zones: Vec<ForceZone>,
    /// The force asked.
    pub limit: Option<ForceLimit>,
    /// The heat times that were measured: what lies outside is hatched as extrapolated.
    pub measured_time: Option<TimeSpan>,
    /// One a needle.
    pub lines: Vec<ForceLine>,
}

impl Default for ForceChart {
    fn default() -> Self {
        ForceChart {
            words: ChartWords::default(),
            time_name: "heat time".to_string(),
            time_axis: AxisKind::Linear,
            force_axis: ForceAxis::Linear { up_to_n: None },
            legend_heading: "needle".to_string(),
            band_words: "95 % band of single pushes".to_string(),
            zones: Vec::new(),
            limit: None,
            measured_time: None,
            lines: Vec::new(),
        }
    }
}
