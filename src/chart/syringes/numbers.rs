//! What a chart of syringes is filled with: finished numbers and words.

use crate::chart::axis::AxisKind;
use crate::chart::frame::{ChartWords, TimeSpan};

/// One place of a syringe's line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SyringePoint {
    /// Heat time on the clock in seconds.
    pub time_s: f64,
    /// Force or reading, in the chart's unit.
    pub value_in_unit: f64,
}

/// The line of one syringe.
#[derive(Debug, Clone, PartialEq)]
pub struct SyringeLine {
    /// Its name in the legend, with what the name at the mark leaves out.
    pub label: String,
    /// Its name at the mark: `5 mL`.
    pub name: String,
    /// The line, by rising time, warm-up by conduction counted.
    pub points: Vec<SyringePoint>,
    /// The same gel and push, the gel hot at once; empty where `SyringesChart::at_once` holds for
    /// every syringe.
    pub at_once: Vec<SyringePoint>,
    /// When it reaches the level, in seconds; none where it never does.
    pub reached_s: Option<f64>,
    /// That time as people say it.
    pub reached_words: String,
}

/// What the lines are compared at.
#[derive(Debug, Clone, PartialEq)]
pub struct SyringeLevel {
    /// The force or the reading, in the chart's unit.
    pub value_in_unit: f64,
    /// What it is: `limit 20 N`.
    pub label: String,
}

/// Plunger force or reading of the same gel in several syringes against the clock.
#[derive(Debug, Clone, PartialEq)]
pub struct SyringesChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// What the time axis shows, without its unit: `heat time at 90 °C`.
    pub time_name: String,
    /// What is compared, without its unit: `plunger force`.
    pub value_name: String,
    /// Its unit: `N`.
    pub value_unit: String,
    /// How its axis is divided.
    pub value_axis: AxisKind,
    /// Where the axis ends and lines are cut, in its unit; none: room for every line.
    pub up_to_in_unit: Option<f64>,
    /// Heading of the legend.
    pub legend_heading: String,
    /// The gel hot at once, where that is the same in every syringe; else empty.
    pub at_once: Vec<SyringePoint>,
    /// Name of the lines of gel that is hot at once.
    pub at_once_words: String,
    /// What the lines are compared at.
    pub level: Option<SyringeLevel>,
    /// The heat times that were measured: what lies outside is hatched as extrapolated.
    pub measured_time: Option<TimeSpan>,
    /// One a syringe, the smallest first.
    pub lines: Vec<SyringeLine>,
}

impl Default for SyringesChart {
    fn default() -> Self {
        SyringesChart {
            words: ChartWords::default(),
            time_name: "heat time".to_string(),
            value_name: "viscosity".to_string(),
            value_unit: "Pa.s".to_string(),
            value_axis: AxisKind::Log,
            up_to_in_unit: None,
            legend_heading: "syringe".to_string(),
            at_once: Vec::new(),
            at_once_words: "gel hot at once".to_string(),
            level: None,
            measured_time: None,
            lines: Vec::new(),
        }
    }
}
