//! Contours of equal plunger force over block temperature and heat time: a chart for the wall.

mod naming;
mod numbers;
mod picture;

pub use numbers::{
    ContourRank, EffortBand, IsoForceChart, IsoForceContour, IsoForcePoint, MeasuredRange,
    TemperatureSpan,
};
