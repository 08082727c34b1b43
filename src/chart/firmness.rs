//! Firmness against heat time: one colour and marker a temperature; points, curve and band.

use super::Chart;
use super::axis::{AxisKind, AxisPlan, can_show};
use super::error::ChartError;
use super::extent::Extent;
use super::frame::{ChartWords, Frame, TimeSpan, Unseen};
use super::legend::{Legend, Sample, unmeasured_entry};
use super::palette::{GREY, MarkerLook, SeriesStyle, series_style};
use super::plot::Plan;
use super::scene::Picture;
use super::size::ChartSize;
use super::strokes::LineLook;

/// One measured reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingPoint {
    /// Heat time in seconds.
    pub time_s: f64,
    /// The reading in the chart's unit.
    pub reading_in_unit: f64,
    /// Whether the fit used it; if not it is drawn hollow and grey.
    pub used: bool,
}

/// One place of a fitted curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// Heat time in seconds.
    pub time_s: f64,
    /// The fitted reading in the chart's unit.
    pub reading_in_unit: f64,
}

/// One place of a band around a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingBand {
    /// Heat time in seconds.
    pub time_s: f64,
    /// Lower edge in the chart's unit.
    pub low_in_unit: f64,
    /// Upper edge in the chart's unit.
    pub high_in_unit: f64,
}

/// What was measured and fitted at one temperature.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FirmnessSeries {
    /// Its name in the legend: `86 °C`.
    pub label: String,
    /// The readings.
    pub points: Vec<ReadingPoint>,
    /// The fitted curve, by rising time; empty where there is none.
    pub curve: Vec<CurvePoint>,
    /// The band, by rising time; empty where there is none.
    pub band: Vec<ReadingBand>,
}

/// Firmness against heat time.
#[derive(Debug, Clone, PartialEq)]
pub struct FirmnessChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// What was read: `viscosity`.
    pub reading_name: String,
    /// Its unit: `Pa.s`.
    pub reading_unit: String,
    /// How the reading's axis is divided.
    pub reading_axis: AxisKind,
    /// How the time axis is divided.
    pub time_axis: AxisKind,
    /// Heading of the legend.
    pub legend_heading: String,
    /// Name of the bands: what they hold, and how often.
    pub band_words: String,
    /// Name of the points that the fit left out.
    pub left_out_words: String,
    /// The heat times that were measured: what lies outside is hatched as extrapolated.
    pub measured_time: Option<TimeSpan>,
    /// One a temperature, coldest first.
    pub series: Vec<FirmnessSeries>,
}

impl Default for FirmnessChart {
    fn default() -> Self {
        FirmnessChart {
            words: ChartWords::default(),
            reading_name: "viscosity".to_string(),
            reading_unit: "Pa.s".to_string(),
            reading_axis: AxisKind::Log,
            time_axis: AxisKind::Linear,
            legend_heading: "heated at".to_string(),
            band_words: "95 % band of single readings".to_string(),
            left_out_words: "left out of the fit".to_string(),
            measured_time: None,
            series: Vec::new(),
        }
    }
}

/// How dark a band is.
const BAND_OPACITY: f64 = 0.16;

impl Chart for FirmnessChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let (time, reading) = self.axes()?;
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let plan = Plan {
            x: time,
            y: reading,
            celsius_above: false,
            legend: self.legend(),
            right_gutter: 0.0,
            top_gutter: 0.0,
        };
        let plot = frame.lay_out(plan);
        let picture = &mut frame.picture;
        if let Some(span) = self.measured_time {
            let times = self
                .series
                .iter()
                .flat_map(|series| &series.curve)
                .map(|place| place.time_s);
            plot.hatch_unmeasured(picture, span, Extent::of(times));
        }
        for (index, series) in self.series.iter().enumerate() {
            let SeriesStyle {
                colour,
                marker,
                dash,
            } = series_style(index);
            let rows: Vec<(f64, f64, f64)> = series
                .band
                .iter()
                .map(|row| (row.time_s, row.low_in_unit, row.high_in_unit))
                .collect();
            plot.band(picture, &rows, colour, BAND_OPACITY);
            let curve: Vec<(f64, f64)> = series
                .curve
                .iter()
                .map(|place| (place.time_s, place.reading_in_unit))
                .collect();
            let look = LineLook {
                colour,
                width: 3.2 * plot.magnification,
                dash,
            };
            plot.curve_within(
                picture,
                &curve,
                look,
                self.measured_time.map(|span| (span.from_s, span.to_s)),
            );
            for point in &series.points {
                let look = if point.used {
                    MarkerLook::Filled(colour)
                } else {
                    MarkerLook::Hollow
                };
                plot.point(
                    picture,
                    plot.spot(point.time_s, point.reading_in_unit),
                    marker,
                    look,
                );
            }
        }
        Ok(frame.picture)
    }
}

impl FirmnessChart {
    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in self.series.iter().flat_map(|series| &series.points) {
            unseen.count([
                (point.time_s, self.time_axis),
                (point.reading_in_unit, self.reading_axis),
            ]);
        }
        unseen
    }

    /// Axes around every point, every curve, and as much of the bands as leaves those large.
    fn axes(&self) -> Result<(AxisPlan, AxisPlan), ChartError> {
        let mut time = Extent::default();
        let mut points = Extent::default();
        let mut around = Extent::default();
        let seen = |time_s: f64, reading: f64| {
            can_show(self.time_axis, time_s) && can_show(self.reading_axis, reading)
        };
        for series in &self.series {
            for point in series
                .points
                .iter()
                .filter(|point| seen(point.time_s, point.reading_in_unit))
            {
                time.add(point.time_s);
                points.add(point.reading_in_unit);
            }
            for place in series
                .curve
                .iter()
                .filter(|place| seen(place.time_s, place.reading_in_unit))
            {
                time.add(place.time_s);
                around.add(place.reading_in_unit);
            }
            for row in &series.band {
                for edge in [row.low_in_unit, row.high_in_unit] {
                    if seen(row.time_s, edge) {
                        around.add(edge);
                    }
                }
            }
        }
        let (Some((first_s, last_s)), Some((low, high))) =
            (time.ends(), points.ends_with(around, self.reading_axis))
        else {
            return Err(ChartError::NothingToDraw {
                chart: "firmness",
                reason: "no reading and no curve has values that its axes can show",
            });
        };
        let first_s = if self.time_axis == AxisKind::Linear {
            first_s.min(0.0)
        } else {
            first_s
        };
        let name = format!("{} ({})", self.reading_name, self.reading_unit);
        Ok((
            AxisPlan::time("heat time", self.time_axis, first_s, last_s).with_margin(0.03),
            AxisPlan::new(name, self.reading_axis, low, high).with_margin(0.04),
        ))
    }

    fn legend(&self) -> Legend {
        let mut legend = Legend {
            heading: self.legend_heading.clone(),
            entries: Vec::new(),
        };
        for (index, series) in self.series.iter().enumerate() {
            let SeriesStyle {
                colour,
                marker,
                dash,
            } = series_style(index);
            let dash = (!series.curve.is_empty()).then_some(dash);
            legend.add(
                Sample::Series {
                    colour,
                    marker,
                    dash,
                },
                &series.label,
            );
        }
        if self.series.iter().any(|series| series.band.len() > 1) {
            legend.add(
                Sample::Area {
                    colour: GREY,
                    opacity: 1.8 * BAND_OPACITY,
                },
                &self.band_words,
            );
        }
        if self
            .series
            .iter()
            .flat_map(|series| &series.points)
            .any(|point| !point.used)
        {
            legend.add(Sample::Hollow, &self.left_out_words);
        }
        if let Some(span) = self.measured_time {
            unmeasured_entry(
                &mut legend,
                span,
                self.series
                    .iter()
                    .flat_map(|series| &series.curve)
                    .map(|place| place.time_s),
            );
        }
        legend
    }
}
