//! Plunger force against standing time: one colour and marker a storage temperature.

use super::Chart;
use super::axis::{AxisKind, AxisPlan, can_show};
use super::error::ChartError;
use super::extent::Extent;
use super::force::{ForceBand, ForceLimit, ForcePoint, ForceZone};
use super::frame::{ChartWords, Frame, TICK_LABEL, Unseen};
use super::legend::{Legend, Sample};
use super::naming::name_strip;
use super::palette::{GREY, INK, MarkerLook, SeriesStyle, series_style};
use super::plot::Plan;
use super::scene::{Area, Dash, Layer, Pen, Picture, Spot};
use super::size::ChartSize;
use super::strokes::LineLook;

/// What was measured and fitted at one storage temperature.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StandingLine {
    /// Its name in the legend: `4 °C`.
    pub label: String,
    /// Readings as pushes.
    pub points: Vec<ForcePoint>,
    /// The curve, by rising standing time.
    pub curve: Vec<ForcePoint>,
    /// Its band, by rising standing time; empty where there is none.
    pub band: Vec<ForceBand>,
}

/// Plunger force against standing time.
#[derive(Debug, Clone, PartialEq)]
pub struct StandingChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// Heading of the legend.
    pub legend_heading: String,
    /// Name of the bands: what they hold, and how often.
    pub band_words: String,
    /// Shaded stretches of force.
    pub zones: Vec<ForceZone>,
    /// The force asked.
    pub limit: Option<ForceLimit>,
    /// Upper end of the force axis in newtons; room for every line where there is none or where
    /// they need less.
    pub up_to_n: Option<f64>,
    /// One a storage temperature, coolest first.
    pub lines: Vec<StandingLine>,
}

impl Default for StandingChart {
    fn default() -> Self {
        StandingChart {
            words: ChartWords::default(),
            legend_heading: "standing at".to_string(),
            band_words: "95 % band of single pushes".to_string(),
            zones: Vec::new(),
            limit: None,
            up_to_n: None,
            lines: Vec::new(),
        }
    }
}

const BAND_OPACITY: f64 = 0.16;
const ZONE_OPACITY: f64 = 0.16;

impl Chart for StandingChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let (time, force) = self.axes()?;
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let m = frame.magnification;
        let plot = frame.lay_out(Plan {
            x: time,
            y: force,
            celsius_above: false,
            legend: self.legend(),
            right_gutter: 0.0,
            top_gutter: 0.0,
        });
        let picture = &mut frame.picture;
        for zone in &self.zones {
            plot.zone_across(picture, zone.from_n, zone.to_n, zone.colour, ZONE_OPACITY);
        }
        let mut obstacles: Vec<Spot> = Vec::new();
        for (index, line) in self.lines.iter().enumerate() {
            let SeriesStyle {
                colour,
                marker,
                dash,
            } = series_style(index);
            let rows: Vec<(f64, f64, f64)> = line
                .band
                .iter()
                .map(|row| (row.time_s, row.low_n, row.high_n))
                .collect();
            plot.band(picture, &rows, colour, BAND_OPACITY);
            let curve: Vec<(f64, f64)> = line
                .curve
                .iter()
                .map(|point| (point.time_s, point.plunger_force_n))
                .collect();
            let look = LineLook {
                colour,
                width: 3.6 * m,
                dash,
            };
            plot.curve(picture, Layer::Curves, &curve, look);
            obstacles.extend(plot.obstacles(&curve));
            for point in &line.points {
                let at = plot.spot(point.time_s, point.plunger_force_n);
                plot.point(picture, at, marker, MarkerLook::Filled(colour));
                obstacles.push(at);
            }
        }
        if let Some(limit) = &self.limit {
            let y = plot.y_pixel(limit.plunger_force_n);
            if y.is_finite() && y >= plot.area.top && y <= plot.area.bottom {
                let ends = [Spot::new(plot.area.left, y), Spot::new(plot.area.right, y)];
                picture.stroke(
                    Layer::Curves,
                    &ends,
                    Pen::dashed(INK, 2.5 * m, Dash::Dashed),
                );
                let strip = Area {
                    top: y - 1.5 * TICK_LABEL * m,
                    bottom: y - 3.0 * m,
                    ..plot.area
                };
                let mut taken = Vec::new();
                name_strip(&plot, picture, &limit.label, strip, &obstacles, &mut taken);
            }
        }
        Ok(frame.picture)
    }
}

impl StandingChart {
    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in self.lines.iter().flat_map(|line| &line.points) {
            unseen.count([
                (point.time_s, AxisKind::Linear),
                (point.plunger_force_n, AxisKind::Linear),
            ]);
        }
        unseen
    }

    fn axes(&self) -> Result<(AxisPlan, AxisPlan), ChartError> {
        let mut time = Extent::default();
        let mut force = Extent::default();
        let places = self
            .lines
            .iter()
            .flat_map(|line| line.curve.iter().chain(&line.points));
        for place in places.filter(|place| {
            can_show(AxisKind::Linear, place.time_s)
                && can_show(AxisKind::Linear, place.plunger_force_n)
        }) {
            time.add(place.time_s);
            force.add(place.plunger_force_n);
        }
        for row in self.lines.iter().flat_map(|line| &line.band) {
            force.add(row.high_n);
        }
        let (Some((first_s, last_s)), Some((_, most_n))) = (time.ends(), force.ends()) else {
            return Err(ChartError::NothingToDraw {
                chart: "standing",
                reason: "no line has values that its axes can show",
            });
        };
        let limit_n = self.limit.as_ref().map_or(0.0, |l| l.plunger_force_n);
        let needed_n = (1.08 * most_n).max(1.15 * limit_n);
        let up_to_n = self
            .up_to_n
            .filter(|up_to_n| up_to_n.is_finite() && *up_to_n > 0.0)
            .map_or(needed_n, |up_to_n| up_to_n.min(needed_n));
        Ok((
            AxisPlan::time("standing time", AxisKind::Linear, first_s.min(0.0), last_s)
                .with_margin(0.02),
            AxisPlan::new(
                "plunger force (N)".to_string(),
                AxisKind::Linear,
                0.0,
                up_to_n,
            ),
        ))
    }

    fn legend(&self) -> Legend {
        let mut legend = Legend {
            heading: self.legend_heading.clone(),
            entries: Vec::new(),
        };
        for (index, line) in self.lines.iter().enumerate() {
            let SeriesStyle {
                colour,
                marker,
                dash,
            } = series_style(index);
            let sample = if line.points.is_empty() {
                Sample::Line { colour, dash }
            } else {
                Sample::Series {
                    colour,
                    marker,
                    dash: Some(dash),
                }
            };
            legend.add(sample, &line.label);
        }
        if self.lines.iter().any(|line| line.band.len() > 1) {
            legend.add(
                Sample::Area {
                    colour: GREY,
                    opacity: 1.8 * BAND_OPACITY,
                },
                &self.band_words,
            );
        }
        for zone in &self.zones {
            legend.add(
                Sample::Area {
                    colour: zone.colour,
                    opacity: ZONE_OPACITY,
                },
                &zone.words,
            );
        }
        if let Some(limit) = &self.limit {
            legend.add(
                Sample::Line {
                    colour: INK,
                    dash: Dash::Dashed,
                },
                &limit.label,
            );
        }
        legend
    }
}
