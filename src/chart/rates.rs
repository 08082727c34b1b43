//! ln k against 1000/T with °C above: one rate a temperature, the fitted line, its band.

use super::axis::{AxisKind, AxisPlan};
use super::error::ChartError;
use super::extent::Extent;
use super::frame::{AXIS_TITLE, ChartWords, Frame, Unseen};
use super::legend::{Legend, Sample};
use super::naming::boxed_words;
use super::palette::{INK, MarkerLook, SeriesStyle, series_style};
use super::plot::{Plan, Plot};
use super::scene::{Dash, Layer, Picture, Spot, Weight};
use super::size::ChartSize;
use super::strokes::{LineLook, error_bar};
use super::{Chart, Colour};

/// The rate found at one temperature alone.
#[derive(Debug, Clone, PartialEq)]
pub struct RatePoint {
    /// Its name in the legend: `86 °C`. Empty: not named.
    pub label: String,
    /// Temperature in kelvins.
    pub temperature_kelvin: f64,
    /// Rate in 1/s.
    pub rate_per_s: f64,
    /// Lower end of its interval in 1/s.
    pub low_per_s: Option<f64>,
    /// Upper end of its interval in 1/s.
    pub high_per_s: Option<f64>,
    /// Whether the line was fitted with it; if not it is drawn hollow and grey.
    pub used: bool,
}

/// One place of the fitted line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateLinePoint {
    /// Temperature in kelvins.
    pub temperature_kelvin: f64,
    /// Fitted rate in 1/s.
    pub rate_per_s: f64,
    /// Lower edge of the line's band in 1/s.
    pub low_per_s: Option<f64>,
    /// Upper edge of the line's band in 1/s.
    pub high_per_s: Option<f64>,
}

/// ln k against 1000/T.
#[derive(Debug, Clone, PartialEq)]
pub struct RatesChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// Written in the plot: `activation energy 149 kJ/mol\n147 to 151`.
    pub activation_energy_words: String,
    /// Name of the line.
    pub line_words: String,
    /// Name of the line's band.
    pub band_words: String,
    /// Name of the bars at the points.
    pub interval_words: String,
    /// One a temperature, coldest first.
    pub points: Vec<RatePoint>,
    /// The line, by rising temperature.
    pub line: Vec<RateLinePoint>,
}

impl Default for RatesChart {
    fn default() -> Self {
        RatesChart {
            words: ChartWords::default(),
            activation_energy_words: String::new(),
            line_words: "fitted to all readings at once".to_string(),
            band_words: "95 % band of the line".to_string(),
            interval_words: "rate from one temperature alone, 95 % interval".to_string(),
            points: Vec::new(),
            line: Vec::new(),
        }
    }
}

const BAND: Colour = Colour::new(0x00, 0x72, 0xB2);
const BAND_OPACITY: f64 = 0.18;

/// Where a temperature lies on the axis of 1000/T.
fn place(temperature_kelvin: f64) -> f64 {
    if temperature_kelvin > 0.0 {
        1000.0 / temperature_kelvin
    } else {
        f64::NAN
    }
}

/// Where a rate lies on the axis of ln k.
fn height(rate_per_s: f64) -> f64 {
    if rate_per_s > 0.0 {
        rate_per_s.ln()
    } else {
        f64::NAN
    }
}

impl Chart for RatesChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let (x, y) = self.axes()?;
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let plan = Plan {
            x,
            y,
            celsius_above: true,
            legend: self.legend(),
            right_gutter: 0.0,
            top_gutter: 0.0,
        };
        let plot = frame.lay_out(plan);
        let picture = &mut frame.picture;
        let band: Vec<(f64, f64, f64)> = self
            .line
            .iter()
            .filter_map(|row| {
                Some((
                    place(row.temperature_kelvin),
                    height(row.low_per_s?),
                    height(row.high_per_s?),
                ))
            })
            .collect();
        plot.band(picture, &band, BAND, BAND_OPACITY);
        let line: Vec<(f64, f64)> = self
            .line
            .iter()
            .map(|row| (place(row.temperature_kelvin), height(row.rate_per_s)))
            .collect();
        let look = LineLook {
            colour: INK,
            width: 3.0 * plot.magnification,
            dash: Dash::Solid,
        };
        plot.curve(picture, Layer::Curves, &line, look);

        let mut obstacles = plot.obstacles(&line);
        for edge in [0, 1] {
            let rim: Vec<(f64, f64)> = band
                .iter()
                .map(|(x, low, high)| (*x, if edge == 0 { *low } else { *high }))
                .collect();
            obstacles.extend(plot.obstacles(&rim));
        }
        for (index, point) in self.points.iter().enumerate() {
            obstacles.extend(self.draw_point(&plot, picture, index, point));
        }
        self.write_energy(&plot, picture, &obstacles);
        Ok(frame.picture)
    }
}

impl RatesChart {
    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in &self.points {
            unseen.count([
                (point.temperature_kelvin, AxisKind::Log),
                (point.rate_per_s, AxisKind::Log),
            ]);
        }
        unseen
    }

    fn axes(&self) -> Result<(AxisPlan, AxisPlan), ChartError> {
        let mut x = Extent::default();
        let mut points = Extent::default();
        let mut around = Extent::default();
        let seen = |temperature: f64, rate: f64| {
            place(temperature).is_finite() && height(rate).is_finite()
        };
        for point in self
            .points
            .iter()
            .filter(|point| seen(point.temperature_kelvin, point.rate_per_s))
        {
            x.add(place(point.temperature_kelvin));
            points.add(height(point.rate_per_s));
            for end in [point.low_per_s, point.high_per_s].into_iter().flatten() {
                around.add(height(end));
            }
        }
        for row in self
            .line
            .iter()
            .filter(|row| seen(row.temperature_kelvin, row.rate_per_s))
        {
            x.add(place(row.temperature_kelvin));
            points.add(height(row.rate_per_s));
            for end in [row.low_per_s, row.high_per_s].into_iter().flatten() {
                around.add(height(end));
            }
        }
        let (Some((left, right)), Some((low, high))) =
            (x.ends(), points.ends_with(around, AxisKind::Linear))
        else {
            return Err(ChartError::NothingToDraw {
                chart: "rates",
                reason: "no rate above zero at a temperature above absolute zero was given",
            });
        };
        Ok((
            AxisPlan::new("1000 / T  (1/K)".to_string(), AxisKind::Linear, left, right)
                .with_margin(0.06),
            AxisPlan::new("ln k  (k in 1/s)".to_string(), AxisKind::Linear, low, high)
                .with_margin(0.07),
        ))
    }

    fn legend(&self) -> Legend {
        let mut legend = Legend::default();
        for (index, point) in self.points.iter().enumerate() {
            let SeriesStyle { colour, marker, .. } = series_style(index);
            let sample = if point.used {
                Sample::Series {
                    colour,
                    marker,
                    dash: None,
                }
            } else {
                Sample::Hollow
            };
            legend.add(sample, &point.label);
        }
        if self
            .points
            .iter()
            .any(|point| point.low_per_s.is_some() && point.high_per_s.is_some())
        {
            legend.add(Sample::Interval, &self.interval_words);
        }
        if self.line.len() > 1 {
            legend.add(
                Sample::Line {
                    colour: INK,
                    dash: Dash::Solid,
                },
                &self.line_words,
            );
        }
        if self
            .line
            .iter()
            .filter(|row| row.low_per_s.is_some() && row.high_per_s.is_some())
            .count()
            > 1
        {
            legend.add(
                Sample::Area {
                    colour: BAND,
                    opacity: BAND_OPACITY,
                },
                &self.band_words,
            );
        }
        legend
    }

    /// Draws a point with its interval; returns the spots that it covers.
    fn draw_point(
        &self,
        plot: &Plot,
        picture: &mut Picture,
        index: usize,
        point: &RatePoint,
    ) -> Vec<Spot> {
        let at = plot.spot(place(point.temperature_kelvin), height(point.rate_per_s));
        if !at.is_finite() || !plot.area.holds(at) {
            return Vec::new();
        }
        let mut covered = vec![at];
        if let (Some(low), Some(high)) = (point.low_per_s, point.high_per_s) {
            let top = plot.y_pixel(height(high)).max(plot.area.top);
            // An interval that reaches down to zero has no lower end on this axis.
            let bottom = plot.y_pixel(height(low)).min(plot.area.bottom);
            let bottom = if low <= 0.0 { plot.area.bottom } else { bottom };
            if top.is_finite() && bottom.is_finite() && bottom - top > 0.0 && high.is_finite() {
                error_bar(
                    picture,
                    Layer::Points,
                    at.x,
                    top,
                    bottom,
                    plot.magnification,
                );
                covered.extend([Spot::new(at.x, top), Spot::new(at.x, bottom)]);
            }
        }
        let SeriesStyle { colour, marker, .. } = series_style(index);
        let look = if point.used {
            MarkerLook::Filled(colour)
        } else {
            MarkerLook::Hollow
        };
        plot.point(picture, at, marker, look);
        covered
    }

    /// Writes the activation energy into the emptiest part of the plot.
    fn write_energy(&self, plot: &Plot, picture: &mut Picture, obstacles: &[Spot]) {
        boxed_words(
            plot,
            picture,
            &self.activation_energy_words,
            (AXIS_TITLE, Weight::Bold),
            3,
            obstacles,
        );
    }
}
