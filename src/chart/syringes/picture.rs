//! How a chart of syringes is drawn.

use super::numbers::{SyringeLine, SyringePoint, SyringesChart};
use crate::chart::Chart;
use crate::chart::axis::{AxisKind, AxisPlan, can_show};
use crate::chart::error::ChartError;
use crate::chart::extent::Extent;
use crate::chart::frame::{Frame, TICK_LABEL, Unseen};
use crate::chart::label::{sampled, spread};
use crate::chart::legend::{Legend, Sample, unmeasured_entry};
use crate::chart::naming::name_strip;
use crate::chart::palette::{GREY, INK, MarkerLook, SeriesStyle, series_style};
use crate::chart::plot::{Plan, Plot};
use crate::chart::scene::{Align, Area, Dash, Layer, Pen, Picture, Spot, Weight};
use crate::chart::size::ChartSize;
use crate::chart::strokes::LineLook;
use crate::chart::text::{self, LEADING};

/// Width of a syringe's line, and of that of gel that is hot at once, in pixels of 1200 x 800.
const LINE: f64 = 4.5;
const AT_ONCE: f64 = 2.8;
/// Height above the plot for the names of the marks.
const NAMES: f64 = 84.0;

impl Chart for SyringesChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let (time, value) = self.axes()?;
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let m = frame.magnification;
        let plot = frame.lay_out(Plan {
            legend: self.legend(),
            x: time,
            y: value,
            celsius_above: false,
            right_gutter: 0.0,
            top_gutter: if self.marks().next().is_some() {
                NAMES * m
            } else {
                0.0
            },
        });
        let picture = &mut frame.picture;
        let mut taken = match self.measured_time {
            Some(span) => {
                let times = self.all_points().map(|point| point.time_s);
                plot.hatch_unmeasured(picture, span, Extent::of(times))
            }
            None => Vec::new(),
        };
        let mut obstacles = Vec::new();
        let dashed = |colour| LineLook {
            colour,
            width: AT_ONCE * m,
            dash: Dash::Dashed,
        };
        let hot = values_of(&self.at_once);
        plot.curve(picture, Layer::Curves, &hot, dashed(INK));
        obstacles.extend(plot.obstacles(&hot));
        for (line, style) in self.lines.iter().zip(styles()) {
            let hot = values_of(&line.at_once);
            plot.curve(picture, Layer::Curves, &hot, dashed(style.colour));
            let values = values_of(&line.points);
            let look = LineLook {
                colour: style.colour,
                width: LINE * m,
                dash: Dash::Solid,
            };
            plot.curve_within(
                picture,
                &values,
                look,
                self.measured_time.map(|span| (span.from_s, span.to_s)),
            );
            obstacles.extend(plot.obstacles(&hot));
            obstacles.extend(plot.obstacles(&values));
        }
        self.draw_marks(&plot, picture, &mut obstacles);
        self.draw_level(&plot, picture, &obstacles, &mut taken);
        Ok(frame.picture)
    }
}

fn values_of(points: &[SyringePoint]) -> Vec<(f64, f64)> {
    points
        .iter()
        .map(|point| (point.time_s, point.value_in_unit))
        .collect()
}

fn styles() -> impl Iterator<Item = SeriesStyle> {
    (0..).map(series_style)
}

impl SyringesChart {
    fn all_points(&self) -> impl Iterator<Item = &SyringePoint> {
        let lines = self
            .lines
            .iter()
            .flat_map(|line| line.points.iter().chain(&line.at_once));
        lines.chain(&self.at_once)
    }

    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in self.all_points() {
            unseen.count([
                (point.time_s, AxisKind::Linear),
                (point.value_in_unit, self.value_axis),
            ]);
        }
        unseen
    }

    fn axes(&self) -> Result<(AxisPlan, AxisPlan), ChartError> {
        let (mut time, mut value) = (Extent::default(), Extent::default());
        for point in self.all_points() {
            if can_show(AxisKind::Linear, point.time_s)
                && can_show(self.value_axis, point.value_in_unit)
            {
                time.add(point.time_s);
                value.add(point.value_in_unit);
            }
        }
        let (Some((first_s, last_s)), Some((least, most))) = (time.ends(), value.ends()) else {
            return Err(ChartError::NothingToDraw {
                chart: "syringes",
                reason: "no syringe's line has values that its axes can show",
            });
        };
        let title = format!("{} ({})", self.value_name, self.value_unit);
        let top = self
            .up_to_in_unit
            .filter(|top| top.is_finite() && *top > 0.0);
        let value = match (self.value_axis, top) {
            (AxisKind::Linear, Some(top)) => {
                AxisPlan::new(title, AxisKind::Linear, least.min(0.0), top)
            }
            (AxisKind::Linear, None) => {
                AxisPlan::new(title, AxisKind::Linear, least.min(0.0), most).with_margin(0.05)
            }
            (AxisKind::Log, _) => {
                AxisPlan::new(title, AxisKind::Log, least, top.unwrap_or(most)).with_margin(0.05)
            }
        };
        Ok((
            AxisPlan::time(&self.time_name, AxisKind::Linear, first_s.min(0.0), last_s),
            value,
        ))
    }

    fn legend(&self) -> Legend {
        let mut legend = Legend {
            heading: self.legend_heading.clone(),
            entries: Vec::new(),
        };
        for (line, style) in self.lines.iter().zip(styles()) {
            legend.add(
                Sample::Series {
                    colour: style.colour,
                    marker: style.marker,
                    dash: Some(Dash::Solid),
                },
                &line.label,
            );
        }
        let shared = !self.at_once.is_empty();
        if shared || self.lines.iter().any(|line| !line.at_once.is_empty()) {
            legend.add(
                Sample::Line {
                    colour: if shared { INK } else { GREY },
                    dash: Dash::Dashed,
                },
                &self.at_once_words,
            );
        }
        if let Some(level) = &self.level {
            legend.add(
                Sample::Line {
                    colour: INK,
                    dash: Dash::LongShort,
                },
                &level.label,
            );
        }
        if let Some(span) = self.measured_time {
            unmeasured_entry(
                &mut legend,
                span,
                self.all_points().map(|point| point.time_s),
            );
        }
        legend
    }

    /// The lines that reach the level, with their looks and when.
    fn marks(&self) -> impl Iterator<Item = (&SyringeLine, SeriesStyle, f64)> {
        let at_level = self.level.is_some();
        self.lines
            .iter()
            .zip(styles())
            .filter_map(move |(line, style)| {
                let reached_s = line.reached_s.filter(|s| at_level && s.is_finite())?;
                Some((line, style, reached_s))
            })
    }

    /// Where each line reaches the level: a marker, a plumb line from the clock to the top, and name
    /// and time above it.
    fn draw_marks(&self, plot: &Plot, picture: &mut Picture, obstacles: &mut Vec<Spot>) {
        let Some(level) = &self.level else {
            return;
        };
        let m = plot.magnification;
        let size = TICK_LABEL * m;
        let seen: Vec<(&SyringeLine, SeriesStyle, Spot)> = self
            .marks()
            .map(|(line, style, reached_s)| {
                (line, style, plot.spot(reached_s, level.value_in_unit))
            })
            .filter(|(_, _, at)| at.is_finite() && plot.area.holds(*at))
            .collect();
        let words: Vec<[String; 2]> = seen
            .iter()
            .map(|(line, _, _)| [&line.name, &line.reached_words].map(|words| text::clean(words)))
            .collect();
        let wanted: Vec<f64> = seen.iter().map(|(_, _, at)| at.x).collect();
        let widths: Vec<f64> = words
            .iter()
            .map(|both| {
                let width = |words: &String| text::width(words, size, Weight::Regular);
                both.iter().map(width).fold(0.0, f64::max) + 12.0 * m
            })
            .collect();
        let (low, high) = (plot.area.left - size, plot.area.right + 1.2 * size);
        // Where they do not all fit, the legend has to do.
        let places = spread(&wanted, &widths, low, high);
        for (place, (_, style, at)) in seen.iter().enumerate() {
            let foot = plot.area.top - 18.0 * m;
            let mut plumb = vec![
                Spot::new(at.x, plot.area.bottom),
                Spot::new(at.x, plot.area.top),
            ];
            obstacles.extend(sampled(&plumb, 4.0 * m));
            plumb.extend(
                places
                    .as_ref()
                    .and_then(|places| places.get(place))
                    .map(|x| Spot::new(*x, foot)),
            );
            let pen = Pen::dashed(style.colour, 2.0 * m, Dash::Dotted);
            picture.stroke(Layer::Curves, &plumb, pen);
            plot.point(picture, *at, style.marker, MarkerLook::Filled(style.colour));
        }
        for (x, both) in places.iter().flatten().zip(&words) {
            for (row, words) in both.iter().rev().enumerate() {
                let baseline = plot.area.top - 23.0 * m - row as f64 * LEADING * size;
                plot.letter(picture, words, Spot::new(*x, baseline), Align::Centre);
            }
        }
    }

    fn draw_level(
        &self,
        plot: &Plot,
        picture: &mut Picture,
        obstacles: &[Spot],
        taken: &mut Vec<Area>,
    ) {
        let Some(level) = &self.level else {
            return;
        };
        let y = plot.y_pixel(level.value_in_unit);
        if !y.is_finite() || y < plot.area.top || y > plot.area.bottom {
            return;
        }
        let m = plot.magnification;
        let ends = [Spot::new(plot.area.left, y), Spot::new(plot.area.right, y)];
        picture.stroke(
            Layer::Curves,
            &ends,
            Pen::dashed(INK, 2.0 * m, Dash::LongShort),
        );
        let above = Area {
            top: y - 1.5 * TICK_LABEL * m,
            bottom: y - 3.0 * m,
            ..plot.area
        };
        let below = Area {
            top: y + 3.0 * m,
            bottom: y + 1.5 * TICK_LABEL * m,
            ..plot.area
        };
        let _ = name_strip(plot, picture, &level.label, above, obstacles, taken)
            || name_strip(plot, picture, &level.label, below, obstacles, taken);
    }
}
