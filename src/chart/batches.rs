//! Batches against their predictions: each one's deviation with Shewhart's limits and the moving
//! average above, the cumulative sums below, every signal named where it falls.

use super::Chart;
use super::axis::{AxisKind, AxisPlan};
use super::error::ChartError;
use super::extent::Extent;
use super::frame::{ChartWords, Frame, TICK_LABEL, Unseen};
use super::label::emptiest;
use super::legend::{Legend, Sample};
use super::palette::{Colour, INK, Marker, MarkerLook, SOFT_INK};
use super::plot::{Plan, Plot};
use super::scene::{Align, Area, Dash, Layer, Pen, Picture, Spot, Weight};
use super::size::ChartSize;
use super::strokes::{LineLook, ring};
use super::text::{self, CAPITAL};

/// One batch, with every chart's value there.
#[derive(Debug, Clone, PartialEq)]
pub struct BatchPoint {
    /// Number of its entry in the log.
    pub entry: u64,
    /// Its deviation, in the chart's unit.
    pub deviation_in_unit: f64,
    /// Whether its reading lies inside its own prediction interval; if not it is drawn hollow.
    pub inside: bool,
    /// The moving average, in the chart's unit.
    pub average_in_unit: f64,
    /// Its limits, in the chart's unit.
    pub average_limits_in_unit: [f64; 2],
    /// The upper cumulative sum, in the chart's unit.
    pub upper_sum_in_unit: f64,
    /// The lower cumulative sum, in the chart's unit.
    pub lower_sum_in_unit: f64,
    /// What signals here, named beside its ring; empty for nothing.
    pub signal: String,
}

/// Batches against their predictions.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct BatchesChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// What the upper axis shows, with its unit.
    pub deviation_name: String,
    /// What the lower axis shows, with its unit.
    pub sum_name: String,
    /// Shewhart's limits, in the chart's unit.
    pub limits_in_unit: [f64; 2],
    /// What those limits are called at their ends: `+3 sd`.
    pub limit_labels: [String; 2],
    /// Decision value of the sums, in the chart's unit.
    pub decision_in_unit: f64,
    /// The batches, the oldest first.
    pub points: Vec<BatchPoint>,
}

const BLUE: Colour = Colour::new(0x00, 0x72, 0xB2);
const VERMILION: Colour = Colour::new(0xD5, 0x5E, 0x00);
const GREEN: Colour = Colour::new(0x00, 0x9E, 0x73);
/// Share of the height that the upper panel takes.
const UPPER_SHARE: f64 = 0.6;

impl Chart for BatchesChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let (entries, deviations, sums) = self.axes()?;
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let m = frame.magnification;
        let room = frame.room;
        let gutter = self
            .limit_labels
            .iter()
            .map(String::as_str)
            .chain(["decision"])
            .map(|label| text::width(label, TICK_LABEL * m, Weight::Regular))
            .fold(0.0, f64::max)
            + 16.0 * m;
        let plan = |y: AxisPlan, title: &str, legend: Legend| Plan {
            x: AxisPlan {
                title: title.to_owned(),
                ..entries.clone()
            },
            y,
            celsius_above: false,
            legend,
            right_gutter: gutter,
            top_gutter: 0.0,
        };
        let above = plan(deviations, "", self.legend());
        let below = plan(sums, "entry of the log", sum_legend());
        let beside = room.width() > 1.1 * room.height();
        let middle = room.top + UPPER_SHARE * room.height();
        let upper = Area {
            bottom: middle,
            ..room
        };
        let lower = Area {
            top: middle + 6.0 * m,
            ..room
        };
        let least_left = above.left_room(upper, m).max(below.left_room(lower, m));
        frame.room = upper;
        let plot = frame.lay_out_panel(above, beside, least_left);
        self.draw_deviations(&mut frame.picture, &plot);
        // The narrower legend below leaves the same width to its plot.
        let plot_right = plot.area.right;
        frame.room = lower;
        let plot = frame.lay_out_sums(below, beside, least_left, plot_right);
        self.draw_sums(&mut frame.picture, &plot);
        Ok(frame.picture)
    }
}

impl Frame {
    /// The lower panel, its plot as wide as that above, whichever legend is the wider.
    fn lay_out_sums(
        &mut self,
        mut plan: Plan,
        beside: bool,
        least_left: f64,
        plot_right: f64,
    ) -> Plot {
        if !beside {
            return self.lay_out_panel(plan, beside, least_left);
        }
        let legend = std::mem::take(&mut plan.legend);
        let room = self.room;
        self.room.right = plot_right + plan.right_gutter;
        let plot = self.lay_out_panel(plan, beside, least_left);
        let m = self.magnification;
        let left = self.room.right + 14.0 * m;
        let block = super::legend::LegendBlock::beside(
            &legend,
            super::frame::LEGEND * m,
            room.right - left,
            plot.area.height(),
        );
        block.draw(&mut self.picture, Spot::new(left, plot.area.top));
        self.room = room;
        plot
    }
}

impl BatchesChart {
    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in &self.points {
            unseen.count([
                (point.entry as f64, AxisKind::Linear),
                (point.deviation_in_unit, AxisKind::Linear),
            ]);
        }
        unseen
    }

    fn axes(&self) -> Result<(AxisPlan, AxisPlan, AxisPlan), ChartError> {
        let drawn = || {
            self.points
                .iter()
                .filter(|point| point.deviation_in_unit.is_finite())
        };
        let entries = Extent::of(drawn().map(|point| point.entry as f64));
        let Some((first, last)) = entries.ends() else {
            return Err(ChartError::NothingToDraw {
                chart: "batches",
                reason: "no batch has a deviation that is a number",
            });
        };
        let widest = drawn()
            .map(|point| point.deviation_in_unit)
            .chain(self.limits_in_unit)
            .filter(|value| value.is_finite())
            .fold(0.0_f64, |widest, value| widest.max(value.abs()));
        let widest = if widest > 0.0 { widest } else { 1.0 };
        let highest = |sum: fn(&BatchPoint) -> f64| {
            let most = drawn()
                .map(sum)
                .chain([self.decision_in_unit])
                .filter(|value| value.is_finite())
                .fold(0.0_f64, f64::max);
            if most > 0.0 { most } else { 1.0 }
        };
        // A batch's width to either side.
        let entries = AxisPlan::new(String::new(), AxisKind::Linear, first - 0.5, last + 0.5);
        let deviation = AxisPlan::new(
            self.deviation_name.clone(),
            AxisKind::Linear,
            -widest,
            widest,
        );
        let sums = AxisPlan::new(
            self.sum_name.clone(),
            AxisKind::Linear,
            -highest(|point| point.lower_sum_in_unit),
            highest(|point| point.upper_sum_in_unit),
        );
        Ok((
            entries.with_margin(0.01),
            deviation.with_margin(0.08),
            sums.with_margin(0.08),
        ))
    }

    fn legend(&self) -> Legend {
        let mut legend = Legend {
            heading: "batch against prediction".to_owned(),
            entries: Vec::new(),
        };
        legend.add(
            Sample::Series {
                colour: BLUE,
                marker: Marker::Circle,
                dash: None,
            },
            "one batch",
        );
        if self.points.iter().any(|point| !point.inside) {
            legend.add(Sample::Hollow, "outside its own 95 % interval");
        }
        legend.add(
            Sample::Line {
                colour: VERMILION,
                dash: Dash::Solid,
            },
            "moving average (EWMA)",
        );
        legend.add(
            Sample::Line {
                colour: VERMILION,
                dash: Dash::Dotted,
            },
            "limits of the average",
        );
        legend.add(
            Sample::Line {
                colour: SOFT_INK,
                dash: Dash::Dashed,
            },
            "limits of a single batch (Shewhart)",
        );
        if self.points.iter().any(|point| !point.signal.is_empty()) {
            legend.add(Sample::Ringed, "a rule signals, named beside it");
        }
        legend
    }

    fn draw_deviations(&self, picture: &mut Picture, plot: &Plot) {
        let m = plot.magnification;
        level(picture, plot, 0.0, "0", Pen::solid(INK, 2.5 * m));
        let pen = Pen::dashed(SOFT_INK, 2.2 * m, Dash::Dashed);
        for (value, label) in self.limits_in_unit.iter().zip(&self.limit_labels) {
            level(picture, plot, *value, label, pen);
        }
        let course = |pick: fn(&BatchPoint) -> f64| -> Vec<(f64, f64)> {
            let at = |point: &BatchPoint| (point.entry as f64, pick(point));
            self.points.iter().map(at).collect()
        };
        let average = course(|point| point.average_in_unit);
        let dotted = LineLook {
            colour: VERMILION,
            width: 2.2 * m,
            dash: Dash::Dotted,
        };
        for limit in [
            course(|point| point.average_limits_in_unit[0]),
            course(|point| point.average_limits_in_unit[1]),
        ] {
            plot.curve(picture, Layer::Curves, &limit, dotted);
        }
        let solid = LineLook {
            width: 3.2 * m,
            dash: Dash::Solid,
            ..dotted
        };
        plot.curve(picture, Layer::Curves, &average, solid);
        let mut centres = Vec::new();
        let mut named = Vec::new();
        for point in &self.points {
            let at = plot.spot(point.entry as f64, point.deviation_in_unit);
            if !at.is_finite() || !plot.area.holds(at) {
                continue;
            }
            let look = if point.inside {
                MarkerLook::Filled(BLUE)
            } else {
                MarkerLook::Hollow
            };
            plot.point(picture, at, Marker::Circle, look);
            centres.push(at);
            if !point.signal.is_empty() {
                named.push((at, point.signal.as_str()));
            }
        }
        for (at, _) in &named {
            ring(picture, Layer::Points, *at, m);
        }
        centres.extend(plot.obstacles(&average));
        name_signals(picture, plot, &centres, &named);
    }

    fn draw_sums(&self, picture: &mut Picture, plot: &Plot) {
        let m = plot.magnification;
        level(picture, plot, 0.0, "", Pen::solid(INK, 2.0 * m));
        let pen = Pen::dashed(SOFT_INK, 2.2 * m, Dash::Dashed);
        for value in [self.decision_in_unit, -self.decision_in_unit] {
            level(picture, plot, value, "decision", pen);
        }
        let upper: fn(&BatchPoint) -> f64 = |point| point.upper_sum_in_unit;
        let lower: fn(&BatchPoint) -> f64 = |point| -point.lower_sum_in_unit;
        for (pick, colour, dash) in [(upper, BLUE, Dash::Solid), (lower, GREEN, Dash::LongShort)] {
            let course: Vec<(f64, f64)> = self
                .points
                .iter()
                .map(|point| (point.entry as f64, pick(point)))
                .collect();
            let look = LineLook {
                colour,
                width: 3.2 * m,
                dash,
            };
            plot.curve(picture, Layer::Curves, &course, look);
        }
    }
}

fn sum_legend() -> Legend {
    let mut legend = Legend {
        heading: "sum of deviations (CUSUM)".to_owned(),
        entries: Vec::new(),
    };
    for (colour, dash, words) in [
        (BLUE, Dash::Solid, "of firmer batches"),
        (GREEN, Dash::LongShort, "of softer ones, downwards"),
        (SOFT_INK, Dash::Dashed, "decision value"),
    ] {
        legend.add(Sample::Line { colour, dash }, words);
    }
    legend
}

/// A level line across the plot, named at its right end.
fn level(picture: &mut Picture, plot: &Plot, value: f64, name: &str, pen: Pen) {
    let m = plot.magnification;
    let y = plot.y_pixel(value);
    if !y.is_finite() || y < plot.area.top - 1.0 || y > plot.area.bottom + 1.0 {
        return;
    }
    let ends = [Spot::new(plot.area.left, y), Spot::new(plot.area.right, y)];
    picture.stroke(Layer::Curves, &ends, pen);
    let at = Spot::new(
        plot.area.right + 8.0 * m,
        y + CAPITAL * TICK_LABEL * m / 2.0,
    );
    plot.letter(picture, name, at, Align::Left);
}

/// Writes what signals beside each ring, where it covers neither point nor line nor another name.
fn name_signals(picture: &mut Picture, plot: &Plot, obstacles: &[Spot], named: &[(Spot, &str)]) {
    let m = plot.magnification;
    let size = TICK_LABEL * m;
    let mut taken: Vec<Area> = Vec::new();
    for (at, name) in named {
        let (width, height) = (text::width(name, size, Weight::Regular), 1.05 * size);
        let mut places = Vec::new();
        for away in [20.0, 34.0, 52.0, 74.0, 100.0, 130.0] {
            let away = away * m;
            for (across, down) in [
                (0.0, -1.0),
                (0.0, 1.0),
                (-1.0, 0.0),
                (1.0, 0.0),
                (-0.7, -0.7),
                (0.7, -0.7),
                (-0.7, 0.7),
                (0.7, 0.7),
            ] {
                let middle_x = at.x + across * (away + width / 2.0);
                let middle_y = at.y + down * (away + height / 2.0);
                let place = Area {
                    left: middle_x - width / 2.0,
                    right: middle_x + width / 2.0,
                    top: middle_y - height / 2.0,
                    bottom: middle_y + height / 2.0,
                };
                let inside = plot.area.grown(-2.0 * m);
                if inside.left <= place.left
                    && place.right <= inside.right
                    && inside.top <= place.top
                    && place.bottom <= inside.bottom
                {
                    places.push(place);
                }
            }
        }
        let Some((place, _)) = emptiest(&places, obstacles, &taken) else {
            continue;
        };
        let edge = Spot::new(
            at.x.clamp(place.left - 4.0 * m, place.right + 4.0 * m),
            at.y.clamp(place.top, place.bottom),
        );
        let apart = edge.distance_to(*at);
        if apart > 24.0 * m {
            let start = at.towards(edge, 13.5 * m / apart);
            picture.stroke(Layer::Labels, &[start, edge], Pen::solid(INK, 1.8 * m));
        }
        let baseline = Spot::new(
            (place.left + place.right) / 2.0,
            (place.top + place.bottom) / 2.0 + CAPITAL * size / 2.0,
        );
        plot.letter(picture, name, baseline, Align::Centre);
        taken.push(place.grown(2.0 * m));
    }
}
