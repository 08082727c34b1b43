//! Probability that a syringe passes, and that it is firm enough, against heat time.

use super::axis::{AxisKind, AxisPlan, can_show};
use super::error::ChartError;
use super::extent::Extent;
use super::frame::{ChartWords, Frame, TICK_LABEL, TimeSpan, Unseen};
use super::label::sampled;
use super::legend::{Legend, Sample, unmeasured_entry};
use super::naming::{boxed_words, name_ends};
use super::palette::{INK, SOFT_INK};
use super::plot::{Plan, Plot};
use super::scene::{Area, Dash, Layer, Pen, Picture, Spot, Weight};
use super::size::ChartSize;
use super::strokes::LineLook;
use super::{Chart, Colour};

/// One place of a probability's curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProbabilityPoint {
    /// Heat time in seconds.
    pub time_s: f64,
    /// Probability, 0 to 1.
    pub probability: f64,
}

/// A heat time that is marked, with its words: `aim 14 min`.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowMark {
    /// Heat time in seconds.
    pub time_s: f64,
    /// What it is.
    pub words: String,
}

/// Probability of passing and of being firm enough against heat time, and the window between.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// What the time axis shows, without its unit: `heat time at 86 °C`.
    pub time_name: String,
    /// Probability of passing, by rising time.
    pub passing: Vec<ProbabilityPoint>,
    /// Name of that curve.
    pub passing_words: String,
    /// Probability of being firm enough, by rising time; empty where nothing was asked.
    pub firmness: Vec<ProbabilityPoint>,
    /// Name of that curve.
    pub firmness_words: String,
    /// Probability that both ends of the window stand for, 0 to 1.
    pub level: f64,
    /// Name of its line.
    pub level_words: String,
    /// The window; none where it is empty.
    pub window: Option<TimeSpan>,
    /// Name of its shade.
    pub window_words: String,
    /// The heat time to aim at.
    pub aim: Option<WindowMark>,
    /// Where the gel is firm enough, and until when it passes.
    pub ends: Vec<WindowMark>,
    /// Written in the plot: what would open an empty window. Empty: nothing.
    pub boxed_words: String,
    /// The heat times that were measured: what lies outside is hatched as extrapolated.
    pub measured_time: Option<TimeSpan>,
}

impl Default for WindowChart {
    fn default() -> Self {
        WindowChart {
            words: ChartWords::default(),
            time_name: "heat time".to_string(),
            passing: Vec::new(),
            passing_words: "passes".to_string(),
            firmness: Vec::new(),
            firmness_words: "firm enough".to_string(),
            level: 0.95,
            // Kept together where the legend is wrapped.
            level_words: "95 %: 19\u{a0}syringes\u{a0}of\u{a0}20".to_string(),
            window: None,
            window_words: "heat window".to_string(),
            aim: None,
            ends: Vec::new(),
            boxed_words: String::new(),
            measured_time: None,
        }
    }
}

const PASSING: Colour = Colour::new(0x00, 0x72, 0xB2);
const FIRMNESS: Colour = Colour::new(0xD5, 0x5E, 0x00);
const WINDOW: Colour = Colour::new(0x00, 0x9E, 0x73);
const WINDOW_OPACITY: f64 = 0.2;
const PERCENT: f64 = 100.0;
/// Height above the plot for the words of the marks.
const TOP_GUTTER: f64 = 44.0;
/// Letter size of what is written in the plot, in pixels of a 1200 x 800 picture.
const BOXED: f64 = 22.0;

impl Chart for WindowChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let x = self.time_axis()?;
        let y = AxisPlan::new(
            "probability (%)".to_string(),
            AxisKind::Linear,
            0.0,
            PERCENT,
        )
        .with_margin(0.04);
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let m = frame.magnification;
        let marked = self.aim.is_some() || !self.ends.is_empty();
        let plan = Plan {
            legend: self.legend(),
            x,
            y,
            celsius_above: false,
            right_gutter: 0.0,
            top_gutter: if marked { TOP_GUTTER * m } else { 0.0 },
        };
        let plot = frame.lay_out(plan);
        let picture = &mut frame.picture;
        if let Some(span) = self.window {
            shade(&plot, picture, span);
        }
        if let Some(span) = self.measured_time {
            let times = self.passing.iter().map(|point| point.time_s);
            plot.hatch_unmeasured(picture, span, Extent::of(times));
        }
        let mut obstacles = self.draw_level(&plot, picture);
        for (points, colour, dash) in [
            (&self.passing, PASSING, Dash::Solid),
            (&self.firmness, FIRMNESS, Dash::LongShort),
        ] {
            let values: Vec<(f64, f64)> = points
                .iter()
                .map(|point| (point.time_s, PERCENT * point.probability))
                .collect();
            let look = LineLook {
                colour,
                width: 4.5 * m,
                dash,
            };
            plot.curve_within(
                picture,
                &values,
                look,
                self.measured_time.map(|span| (span.from_s, span.to_s)),
            );
            obstacles.extend(plot.obstacles(&values));
        }
        obstacles.extend(self.draw_marks(&plot, picture));
        if !self.boxed_words.is_empty() {
            boxed_words(
                &plot,
                picture,
                &self.boxed_words,
                (BOXED, Weight::Regular),
                6,
                &obstacles,
            );
        }
        Ok(frame.picture)
    }
}

fn shade(plot: &Plot, picture: &mut Picture, span: TimeSpan) {
    let limit = |pixel: f64| pixel.clamp(plot.area.left, plot.area.right);
    let (left, right) = (plot.x_pixel(span.from_s), plot.x_pixel(span.to_s));
    if left.is_nan() || right.is_nan() || right <= left {
        return;
    }
    let zone = Area {
        left: limit(left),
        right: limit(right),
        ..plot.area
    };
    if zone.width() > 0.0 {
        picture.fill(Layer::Zones, zone.corners(), WINDOW, WINDOW_OPACITY);
    }
}

impl WindowChart {
    fn points(&self) -> impl Iterator<Item = &ProbabilityPoint> {
        self.passing.iter().chain(&self.firmness)
    }

    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in self.points() {
            unseen.count([
                (point.time_s, AxisKind::Linear),
                (point.probability, AxisKind::Linear),
            ]);
        }
        unseen
    }

    fn time_axis(&self) -> Result<AxisPlan, ChartError> {
        let times = self
            .points()
            .filter(|point| can_show(AxisKind::Linear, point.probability))
            .map(|point| point.time_s);
        let Some((first_s, last_s)) = Extent::of(times).ends() else {
            return Err(ChartError::NothingToDraw {
                chart: "window",
                reason: "no probability has a heat time that the axis can show",
            });
        };
        Ok(AxisPlan::time(
            &self.time_name,
            AxisKind::Linear,
            first_s,
            last_s,
        ))
    }

    fn legend(&self) -> Legend {
        let mut legend = Legend::default();
        let line = |colour, dash| Sample::Line { colour, dash };
        if !self.passing.is_empty() {
            legend.add(line(PASSING, Dash::Solid), &self.passing_words);
        }
        if !self.firmness.is_empty() {
            legend.add(line(FIRMNESS, Dash::LongShort), &self.firmness_words);
        }
        legend.add(line(INK, Dash::Dotted), &self.level_words);
        if self.window.is_some() {
            let area = Sample::Area {
                colour: WINDOW,
                opacity: WINDOW_OPACITY,
            };
            legend.add(area, &self.window_words);
        }
        if let Some(aim) = &self.aim {
            legend.add(line(INK, Dash::Solid), &aim.words);
        }
        for end in &self.ends {
            legend.add(line(SOFT_INK, Dash::Dashed), &end.words);
        }
        if let Some(span) = self.measured_time {
            unmeasured_entry(&mut legend, span, self.passing.iter().map(|p| p.time_s));
        }
        legend
    }

    /// Draws the level; returns the spots that it covers.
    fn draw_level(&self, plot: &Plot, picture: &mut Picture) -> Vec<Spot> {
        let y = plot.y_pixel(PERCENT * self.level);
        if !y.is_finite() || y < plot.area.top || y > plot.area.bottom {
            return Vec::new();
        }
        let line = [Spot::new(plot.area.left, y), Spot::new(plot.area.right, y)];
        let pen = Pen::dashed(INK, 2.5 * plot.magnification, Dash::Dotted);
        picture.stroke(Layer::Curves, &line, pen);
        sampled(&line, 4.0 * plot.magnification)
    }

    /// Draws the marks, their words above the plot; returns the spots that they cover.
    fn draw_marks(&self, plot: &Plot, picture: &mut Picture) -> Vec<Spot> {
        let m = plot.magnification;
        let aim = self.aim.iter().map(|mark| (mark, Pen::solid(INK, 4.0 * m)));
        let ends = self
            .ends
            .iter()
            .map(|mark| (mark, Pen::dashed(SOFT_INK, 3.0 * m, Dash::Dashed)));
        let mut covered = Vec::new();
        let mut names = Vec::new();
        for (mark, pen) in aim.chain(ends) {
            let x = plot.x_pixel(mark.time_s);
            if !x.is_finite() || x < plot.area.left || x > plot.area.right {
                continue;
            }
            let top = Spot::new(x, plot.area.top);
            let line = [Spot::new(x, plot.area.bottom), top];
            picture.stroke(Layer::Curves, &line, pen);
            covered.extend(sampled(&line, 4.0 * m));
            // A hair inside, so that a mark on the last heat time is named above the plot too.
            let inside = x.min(plot.area.right - 0.05 * TICK_LABEL * m);
            names.push((Spot::new(inside, top.y), super::text::clean(&mark.words)));
        }
        name_ends(plot, picture, &names);
        covered
    }
}
