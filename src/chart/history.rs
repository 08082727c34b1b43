//! Temperature in the syringe against the clock: core, mean and edge, with what is outside; and
//! below it the conversion, where it is known.

use super::Chart;
use super::axis::{AxisKind, AxisPlan, can_show};
use super::error::ChartError;
use super::extent::Extent;
use super::frame::{ChartWords, Frame, TICK_LABEL, TimeSpan, Unseen};
use super::legend::{Legend, Sample};
use super::palette::{Colour, GREY, SOFT_INK};
use super::plot::{Plan, Plot};
use super::scene::{Align, Area, Dash, Layer, Pen, Picture, Spot, Weight};
use super::size::ChartSize;
use super::strokes::LineLook;
use super::text;

/// A value at core, mean and edge of the gel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HistoryPoint {
    /// Time on the clock in seconds.
    pub time_s: f64,
    /// At r = 0, in the panel's unit.
    pub core_in_unit: f64,
    /// Volume mean, in the panel's unit.
    pub mean_in_unit: f64,
    /// At the wall, in the panel's unit.
    pub edge_in_unit: f64,
}

/// Temperature of what is outside the barrel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutsidePoint {
    /// Time on the clock in seconds.
    pub time_s: f64,
    /// Temperature in the panel's unit.
    pub temperature_in_unit: f64,
}

/// A stage of the schedule.
#[derive(Debug, Clone, PartialEq)]
pub struct HistoryStage {
    /// From when to when.
    pub span: TimeSpan,
    /// What stands above it: `in the block at 90 °C`.
    pub label: String,
    /// Whether the syringe is in air: shaded.
    pub in_air: bool,
}

/// Temperature, and conversion, in the syringe against the clock.
#[derive(Debug, Clone, PartialEq)]
pub struct HistoryChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// Unit of the temperatures: `°C`.
    pub temperature_unit: String,
    /// Temperatures of the gel by rising time.
    pub temperatures: Vec<HistoryPoint>,
    /// Temperature of block and air by rising time; two points at one time make a step.
    pub outside: Vec<OutsidePoint>,
    /// Stages, in order.
    pub stages: Vec<HistoryStage>,
    /// Conversion in per cent by rising time; empty where none is known.
    pub conversions: Vec<HistoryPoint>,
}

impl Default for HistoryChart {
    fn default() -> Self {
        HistoryChart {
            words: ChartWords::default(),
            temperature_unit: "°C".to_string(),
            temperatures: Vec::new(),
            outside: Vec::new(),
            stages: Vec::new(),
            conversions: Vec::new(),
        }
    }
}

/// One of the three courses.
struct Course {
    words: &'static str,
    colour: Colour,
    dash: Dash,
    of: fn(&HistoryPoint) -> f64,
}

/// From the Okabe-Ito palette; the dashes tell them apart without colour.
const COURSES: [Course; 3] = [
    Course {
        words: "edge, at the wall",
        colour: Colour::new(0xD5, 0x5E, 0x00),
        dash: Dash::LongShort,
        of: |point| point.edge_in_unit,
    },
    Course {
        words: "mean over the gel",
        colour: Colour::new(0x00, 0x9E, 0x73),
        dash: Dash::Dashed,
        of: |point| point.mean_in_unit,
    },
    Course {
        words: "core",
        colour: Colour::new(0x00, 0x72, 0xB2),
        dash: Dash::Solid,
        of: |point| point.core_in_unit,
    },
];

/// The ground of a stage in air.
const AIR: Colour = Colour::new(0x56, 0xB4, 0xE9);
const AIR_OPACITY: f64 = 0.13;
/// Share of the height that the upper of two panels takes.
const UPPER_SHARE: f64 = 0.56;

impl Chart for HistoryChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let (time, temperature) = self.axes()?;
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let m = frame.magnification;
        let room = frame.room;
        let two_panels = !self.conversions.is_empty();
        let below = Plan {
            x: time.clone(),
            y: AxisPlan::new("set (%)".to_string(), AxisKind::Linear, 0.0, 100.0),
            celsius_above: false,
            legend: Legend::default(),
            right_gutter: 0.0,
            top_gutter: 0.0,
        };
        let above = Plan {
            x: AxisPlan {
                title: if two_panels {
                    String::new()
                } else {
                    time.title.clone()
                },
                ..time
            },
            y: temperature,
            celsius_above: false,
            legend: self.legend(),
            right_gutter: 0.0,
            top_gutter: 1.5 * TICK_LABEL * m,
        };
        if !two_panels {
            let plot = frame.lay_out(above);
            self.draw_upper(&mut frame.picture, &plot);
            return Ok(frame.picture);
        }
        let beside = room.width() > 1.1 * room.height();
        // Both panels begin at the same place, whichever has the wider labels.
        let middle = room.top + UPPER_SHARE * room.height();
        let upper = Area {
            bottom: middle,
            ..room
        };
        let least_left = above.left_room(upper, m).max(below.left_room(
            Area {
                top: middle,
                ..room
            },
            m,
        ));
        frame.room = upper;
        let plot = frame.lay_out_panel(above, beside, least_left);
        self.draw_upper(&mut frame.picture, &plot);
        frame.room = Area {
            top: middle + 6.0 * m,
            right: plot.area.right + 1.2 * TICK_LABEL * m,
            ..room
        };
        let plot = frame.lay_out_panel(below, beside, least_left);
        self.draw_stages(&mut frame.picture, &plot);
        draw_courses(&mut frame.picture, &plot, &self.conversions);
        Ok(frame.picture)
    }
}

impl HistoryChart {
    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in self.temperatures.iter().chain(&self.conversions) {
            for course in &COURSES {
                unseen.count([
                    (point.time_s, AxisKind::Linear),
                    ((course.of)(point), AxisKind::Linear),
                ]);
            }
        }
        unseen
    }

    fn axes(&self) -> Result<(AxisPlan, AxisPlan), ChartError> {
        let mut times = Extent::default();
        let mut temperatures = Extent::default();
        for point in &self.temperatures {
            for course in &COURSES {
                let value = (course.of)(point);
                if can_show(AxisKind::Linear, point.time_s) && can_show(AxisKind::Linear, value) {
                    times.add(point.time_s);
                    temperatures.add(value);
                }
            }
        }
        for point in &self.outside {
            temperatures.add(point.temperature_in_unit);
        }
        let (Some((first_s, last_s)), Some((low, high))) = (times.ends(), temperatures.ends())
        else {
            return Err(ChartError::NothingToDraw {
                chart: "history",
                reason: "no temperature is a number",
            });
        };
        Ok((
            AxisPlan::time("clock", AxisKind::Linear, first_s.min(0.0), last_s),
            AxisPlan::new(
                format!("temperature ({})", self.temperature_unit),
                AxisKind::Linear,
                low,
                high,
            )
            .with_margin(0.05),
        ))
    }

    fn legend(&self) -> Legend {
        let mut legend = Legend {
            heading: "place in the gel".to_string(),
            entries: Vec::new(),
        };
        for course in &COURSES {
            legend.add(
                Sample::Line {
                    colour: course.colour,
                    dash: course.dash,
                },
                course.words,
            );
        }
        if !self.outside.is_empty() {
            legend.add(
                Sample::Line {
                    colour: GREY,
                    dash: Dash::Dotted,
                },
                if self.stages.iter().any(|stage| stage.in_air) {
                    "outside: block, air"
                } else {
                    "outside: block"
                },
            );
        }
        if self.stages.iter().any(|stage| stage.in_air) {
            legend.add(
                Sample::Area {
                    colour: AIR,
                    opacity: 2.0 * AIR_OPACITY,
                },
                "cooling in air",
            );
        }
        legend
    }

    fn draw_upper(&self, picture: &mut Picture, plot: &Plot) {
        self.draw_stages(picture, plot);
        self.label_stages(picture, plot);
        let look = LineLook {
            colour: GREY,
            width: 3.0 * plot.magnification,
            dash: Dash::Dotted,
        };
        // Stage by stage: a step from block to air is no line.
        for piece in self.outside.chunk_by(|a, b| b.time_s > a.time_s) {
            let course: Vec<(f64, f64)> = piece
                .iter()
                .map(|point| (point.time_s, point.temperature_in_unit))
                .collect();
            plot.curve(picture, Layer::Curves, &course, look);
        }
        draw_courses(picture, plot, &self.temperatures);
    }

    /// The left and right edge of a stage in the plot.
    fn edges(plot: &Plot, stage: &HistoryStage) -> Option<(f64, f64)> {
        let pixel = |time_s: f64| {
            // A place that is no number stays none.
            let pixel = plot.x_pixel(time_s);
            if pixel.is_nan() {
                pixel
            } else {
                pixel.max(plot.area.left).min(plot.area.right)
            }
        };
        let (left, right) = (pixel(stage.span.from_s), pixel(stage.span.to_s));
        (right > left).then_some((left, right))
    }

    fn draw_stages(&self, picture: &mut Picture, plot: &Plot) {
        for stage in &self.stages {
            let Some((left, right)) = Self::edges(plot, stage) else {
                continue;
            };
            if stage.in_air {
                let area = Area {
                    left,
                    right,
                    ..plot.area
                };
                picture.fill(Layer::Zones, area.corners(), AIR, AIR_OPACITY);
            }
            if left > plot.area.left + plot.magnification {
                picture.stroke(
                    Layer::Zones,
                    &[
                        Spot::new(left, plot.area.top),
                        Spot::new(left, plot.area.bottom),
                    ],
                    Pen::dashed(SOFT_INK, 1.5 * plot.magnification, Dash::Dashed),
                );
            }
        }
    }

    /// Names the stages above the plot, those that are wide enough for their name.
    fn label_stages(&self, picture: &mut Picture, plot: &Plot) {
        let size = TICK_LABEL * plot.magnification;
        for stage in &self.stages {
            let Some((left, right)) = Self::edges(plot, stage) else {
                continue;
            };
            let words = text::clean(&stage.label);
            if text::width(&words, size, Weight::Regular) <= right - left {
                let at = Spot::new(0.5 * (left + right), plot.area.top - 0.45 * size);
                plot.letter(picture, &words, at, Align::Centre);
            }
        }
    }
}

fn draw_courses(picture: &mut Picture, plot: &Plot, points: &[HistoryPoint]) {
    for course in &COURSES {
        let values: Vec<(f64, f64)> = points
            .iter()
            .map(|point| (point.time_s, (course.of)(point)))
            .collect();
        let look = LineLook {
            colour: course.colour,
            width: 3.2 * plot.magnification,
            dash: course.dash,
        };
        plot.curve(picture, Layer::Curves, &values, look);
    }
}
