//! The plot rectangle: its axes, and drawing into it.

use super::axis::{AxisPlan, celsius_ticks};
use super::clip::{clip_line, clip_outline};
use super::extent::Extent;
use super::frame::{AXIS_TITLE, Frame, LEGEND, TICK_LABEL, TimeSpan};
use super::label::sampled;
use super::legend::{Legend, LegendBlock};
use super::palette::{Colour, INK, Marker, MarkerLook, draw_marker};
use super::scene::{Align, Area, Dash, Layer, Lettering, Picture, Spot, Weight};
use super::strokes::{LineLook, cased_line, hatch};
use super::text::{self, Block, LEADING};

/// What is to stand around the plot rectangle.
pub(super) struct Plan {
    pub(super) x: AxisPlan,
    pub(super) y: AxisPlan,
    /// The x axis is 1000/T; °C are written above.
    pub(super) celsius_above: bool,
    pub(super) legend: Legend,
    /// Width to the right of the plot for labels, in pixels.
    pub(super) right_gutter: f64,
    /// Height above the plot for labels, in pixels.
    pub(super) top_gutter: f64,
}

impl Plan {
    /// About how much room the upright axis takes at the left of the plot: exact where its ticks
    /// come out alike in a height a little less than the room's.
    pub(super) fn left_room(&self, room: Area, magnification: f64) -> f64 {
        let m = magnification;
        let tick_size = TICK_LABEL * m;
        let height = room.height() - 4.0 * tick_size;
        let title = Block::fit(&self.y.title, AXIS_TITLE * m, Weight::Regular, height, 2);
        let widest = self
            .y
            .ticks(height, &|_| 1.9 * tick_size)
            .iter()
            .map(|tick| text::width(&tick.label, tick_size, Weight::Regular))
            .fold(0.0, f64::max);
        title.height() + widest + 17.0 * m
    }
}

/// A plot rectangle with its axes drawn.
pub(super) struct Plot {
    pub(super) area: Area,
    pub(super) x: AxisPlan,
    pub(super) y: AxisPlan,
    pub(super) magnification: f64,
}

impl Frame {
    /// Finds the plot rectangle in the room that is left, and draws legend and axes.
    pub(super) fn lay_out(&mut self, plan: Plan) -> Plot {
        let beside = self.room.width() > 1.1 * self.room.height();
        self.lay_out_panel(plan, beside, 0.0)
    }

    /// The same for one of two panels: the legend beside the plot or above it as is said, and at
    /// least this much room to the left of the plot, so that the panels align.
    pub(super) fn lay_out_panel(&mut self, plan: Plan, beside: bool, least_left: f64) -> Plot {
        let m = self.magnification;
        let mut room = self.room;
        let legend = &plan.legend;
        let block = if beside {
            LegendBlock::beside(legend, LEGEND * m, 0.25 * room.width(), room.height())
        } else {
            LegendBlock::above(legend, LEGEND * m, room.width(), 0.35 * room.height())
        };
        let mut legend_at = Spot::new(room.left, room.top + 4.0 * m);
        if legend.entries.is_empty() {
        } else if beside {
            room.right -= block.width + 14.0 * m;
            legend_at.x = room.right + 14.0 * m;
        } else {
            room.top += block.height + 10.0 * m;
        }

        let tick_size = TICK_LABEL * m;
        let title_size = AXIS_TITLE * m;
        let tick_length = 7.0 * m;
        let label_height = 1.4 * tick_size;
        room.top += plan.top_gutter;
        if plan.celsius_above {
            room.top += tick_length + label_height + title_size * LEADING;
        } else {
            // The uppermost label stands half above the plot.
            room.top += 0.5 * tick_size;
        }
        let x_title = Block::fit(
            &plan.x.title,
            title_size,
            Weight::Regular,
            0.8 * room.width(),
            1,
        );
        room.bottom -= tick_length + label_height + x_title.height() + 2.0 * m;

        let y_ticks = plan.y.ticks(room.height(), &|_| 1.9 * tick_size);
        let y_title = Block::fit(&plan.y.title, title_size, Weight::Regular, room.height(), 2);
        let widest = y_ticks
            .iter()
            .map(|tick| text::width(&tick.label, tick_size, Weight::Regular))
            .fold(0.0, f64::max);
        let beside_axis = y_title.height() + 6.0 * m + widest + tick_length + 4.0 * m;
        let left = room.left + beside_axis.max(least_left);
        // Half of the last label of the x axis may stand past the corner.
        let right = room.right - plan.right_gutter.max(1.2 * tick_size);
        let least = 0.2 * room.width();
        let area = Area {
            left,
            top: room.top,
            right: right.max(left + least),
            bottom: room.bottom.max(room.top + 1.0),
        };
        let across = |label: &str| text::width(label, tick_size, Weight::Regular) + 1.4 * tick_size;
        let x_ticks = plan.x.ticks(area.width(), &across);

        if beside {
            legend_at.y = area.top;
            if legend_at.y + block.height > self.room.bottom {
                legend_at.y = (self.room.bottom - block.height).max(self.room.top);
            }
        }
        block.draw(&mut self.picture, legend_at);

        let plot = Plot {
            area,
            x: plan.x,
            y: plan.y,
            magnification: m,
        };
        if self.invented {
            plot.draw_watermark(&mut self.picture);
        }
        plot.draw_grid(&mut self.picture, &x_ticks, &y_ticks);
        plot.draw_x_axis(&mut self.picture, &x_ticks, &x_title);
        plot.draw_y_axis(&mut self.picture, &y_ticks, &y_title, self.room.left);
        if plan.celsius_above {
            let ticks = celsius_ticks(&plot.x, area.width(), &across);
            plot.draw_top_axis(&mut self.picture, &ticks, "temperature (°C)");
        }
        plot
    }
}

impl Plot {
    /// The place of a value; not a number where the axes have none for it.
    pub(super) fn spot(&self, x: f64, y: f64) -> Spot {
        Spot::new(self.x_pixel(x), self.y_pixel(y))
    }

    pub(super) fn x_pixel(&self, x: f64) -> f64 {
        self.area.left + self.x.fraction(x) * self.area.width()
    }

    pub(super) fn y_pixel(&self, y: f64) -> f64 {
        self.area.bottom - self.y.fraction(y) * self.area.height()
    }

    /// As [`Plot::spot`], for the edges of a band.
    pub(super) fn edge_spot(&self, x: f64, y: f64) -> Spot {
        Spot::new(
            self.x_pixel(x),
            self.area.bottom - self.y.fraction_or_below(y) * self.area.height(),
        )
    }

    /// The pieces of a curve that lie in the plot.
    pub(super) fn pieces(&self, values: &[(f64, f64)]) -> Vec<Vec<Spot>> {
        let path: Vec<Spot> = values.iter().map(|(x, y)| self.spot(*x, *y)).collect();
        clip_line(&path, self.area)
    }

    /// Draws a curve; what lies outside the plot is left out.
    pub(super) fn curve(
        &self,
        picture: &mut Picture,
        layer: Layer,
        values: &[(f64, f64)],
        look: LineLook,
    ) {
        for piece in self.pieces(values) {
            cased_line(picture, layer, &piece, look);
        }
    }

    /// Draws a curve whose part outside a stretch of x is dashed, being extrapolated.
    pub(super) fn curve_within(
        &self,
        picture: &mut Picture,
        values: &[(f64, f64)],
        look: LineLook,
        measured: Option<(f64, f64)>,
    ) {
        let Some((from, to)) = measured else {
            return self.curve(picture, Layer::Curves, values, look);
        };
        let beyond = LineLook {
            dash: Dash::Dotted,
            ..look
        };
        let (from_px, to_px) = (
            self.x_pixel(from).max(self.area.left),
            self.x_pixel(to).min(self.area.right),
        );
        let path: Vec<Spot> = values.iter().map(|(x, y)| self.spot(*x, *y)).collect();
        for (left, right, look) in [
            (self.area.left, from_px, beyond),
            (from_px, to_px, look),
            (to_px, self.area.right, beyond),
        ] {
            // An axis that has no place for the end of the stretch (zero on a logarithmic one).
            let (left, right) = (
                if left.is_finite() {
                    left
                } else {
                    self.area.left
                },
                if right.is_finite() {
                    right
                } else {
                    self.area.left
                },
            );
            if right > left {
                for piece in clip_line(
                    &path,
                    Area {
                        left,
                        right,
                        ..self.area
                    },
                ) {
                    cased_line(picture, Layer::Curves, &piece, look);
                }
            }
        }
    }

    /// Fills between a lower and an upper curve (x, low, high), cut to the plot.
    pub(super) fn band(
        &self,
        picture: &mut Picture,
        rows: &[(f64, f64, f64)],
        colour: Colour,
        opacity: f64,
    ) {
        let whole =
            |row: &&(f64, f64, f64)| row.0.is_finite() && row.1.is_finite() && row.2.is_finite();
        let upper = rows
            .iter()
            .filter(whole)
            .map(|(x, _, high)| self.edge_spot(*x, *high));
        let lower = rows
            .iter()
            .rev()
            .filter(whole)
            .map(|(x, low, _)| self.edge_spot(*x, *low));
        let outline: Vec<Spot> = upper.chain(lower).collect();
        picture.fill(
            Layer::Bands,
            clip_outline(&outline, self.area),
            colour,
            opacity,
        );
    }

    /// Draws a point if it lies in the plot.
    pub(super) fn point(&self, picture: &mut Picture, at: Spot, marker: Marker, look: MarkerLook) {
        if at.is_finite() && self.area.holds(at) {
            draw_marker(
                picture,
                Layer::Points,
                marker,
                at,
                7.5 * self.magnification,
                look,
            );
        }
    }

    /// An upright or level stretch between two values, as wide or as high as the plot.
    pub(super) fn zone_across(
        &self,
        picture: &mut Picture,
        from_y: f64,
        to_y: f64,
        colour: Colour,
        opacity: f64,
    ) -> Option<Area> {
        let limit = |pixel: f64| pixel.clamp(self.area.top, self.area.bottom);
        let edge =
            |y: f64| limit(self.area.bottom - self.y.fraction_or_below(y) * self.area.height());
        let zone = Area {
            top: edge(to_y),
            bottom: edge(from_y),
            ..self.area
        };
        if zone.top.is_nan() || zone.bottom.is_nan() || zone.height() <= 0.0 {
            return None;
        }
        picture.fill(Layer::Zones, zone.corners(), colour, opacity);
        Some(zone)
    }

    /// Hatches the heat times outside the measured ones, as far as a curve runs there; returns
    /// what it hatched.
    pub(super) fn hatch_unmeasured(
        &self,
        picture: &mut Picture,
        measured: TimeSpan,
        curves: Extent,
    ) -> Vec<Area> {
        let Some((first_s, last_s)) = curves.ends() else {
            return Vec::new();
        };
        let pixel = |time_s: f64| {
            let pixel = self.x_pixel(time_s);
            // Zero has no place on a logarithmic axis: left of everything.
            if pixel.is_finite() {
                pixel.clamp(self.area.left, self.area.right)
            } else {
                self.area.left
            }
        };
        let mut hatched = Vec::new();
        for (from_s, to_s) in [(first_s, measured.from_s), (measured.to_s, last_s)] {
            let (left, right) = (pixel(from_s), pixel(to_s));
            if to_s > from_s && right - left > self.magnification {
                let zone = Area {
                    left,
                    right,
                    ..self.area
                };
                hatch(picture, Layer::Zones, zone, self.magnification);
                hatched.push(zone);
            }
        }
        hatched
    }

    /// A text in the plot's letters.
    pub(super) fn letter(&self, picture: &mut Picture, words: &str, at: Spot, align: Align) {
        picture.letter(
            Layer::Labels,
            Lettering {
                text: words.to_string(),
                at,
                align,
                size: TICK_LABEL * self.magnification,
                weight: Weight::Regular,
                colour: INK,
                upwards: false,
            },
        );
    }

    /// Where lines run, as spots that a label must not cover.
    pub(super) fn obstacles(&self, values: &[(f64, f64)]) -> Vec<Spot> {
        self.pieces(values)
            .iter()
            .flat_map(|piece| sampled(piece, 4.0 * self.magnification))
            .collect()
    }
}
