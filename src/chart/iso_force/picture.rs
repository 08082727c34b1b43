//! How a chart of equal forces is drawn.

use super::naming::name_band;
use super::numbers::{ContourRank, EffortBand, IsoForceChart, IsoForceContour, IsoForcePoint};
use crate::chart::Chart;
use crate::chart::axis::{AxisKind, AxisPlan, can_show};
use crate::chart::clip::{clip_line, clip_outline};
use crate::chart::error::ChartError;
use crate::chart::frame::{Frame, TICK_LABEL, Unseen};
use crate::chart::label::sampled;
use crate::chart::legend::{Legend, Sample};
use crate::chart::naming::name_ends;
use crate::chart::palette::{GREY, INK, SOFT_INK};
use crate::chart::plot::{Plan, Plot};
use crate::chart::scene::{Area, Dash, Layer, Pen, Picture, Spot, Weight};
use crate::chart::size::ChartSize;
use crate::chart::strokes::{LineLook, cased_line, hatch};
use crate::chart::text;

const BAND_OPACITY: f64 = 0.28;
/// Height above the plot for the labels of contours that leave through its top.
const TOP_GUTTER: f64 = 44.0;
/// Heights of the axis above its top at which what is never reached is drawn.
const NEVER: f64 = 50.0;

impl Chart for IsoForceChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let (temperature, time) = self.axes()?;
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let m = frame.magnification;
        let widest = self
            .contours
            .iter()
            .map(|contour| text::width(&contour.label, TICK_LABEL * m, Weight::Regular))
            .fold(0.0, f64::max);
        let plan = Plan {
            legend: self.legend(),
            x: temperature,
            y: time,
            celsius_above: false,
            right_gutter: widest + 30.0 * m,
            top_gutter: TOP_GUTTER * m,
        };
        let plot = frame.lay_out(plan);
        let picture = &mut frame.picture;
        let measured = self.measured_area(&plot);
        let shown = if self.words.extrapolated {
            plot.area
        } else {
            measured
        };
        let outlines: Vec<Vec<Spot>> = self
            .bands
            .iter()
            .map(|band| clip_outline(&outline(&plot, band), shown))
            .collect();
        for (band, outline) in self.bands.iter().zip(&outlines) {
            picture.fill(Layer::Zones, outline.clone(), band.colour, BAND_OPACITY);
        }
        if self.words.extrapolated {
            for outside in around(plot.area, measured, m) {
                hatch(picture, Layer::Zones, outside, m);
            }
        }
        let mut obstacles = Vec::new();
        for contour in &self.contours {
            self.draw_contour(&plot, picture, contour, measured);
            for piece in clip_line(&path(&plot, &contour.points), shown) {
                obstacles.extend(sampled(&piece, 4.0 * m));
            }
        }
        if self.measured.is_some() && measured.width() > 0.0 && measured.height() > 0.0 {
            let mut rim = measured.corners();
            rim.extend(rim.first().copied());
            let pen = Pen::dashed(GREY, 2.5 * m, Dash::LongShort);
            picture.stroke(Layer::Curves, &rim, pen);
            obstacles.extend(sampled(&rim, 4.0 * m));
        }
        let mut taken = self.name_contours(&plot, picture, shown);
        for (band, outline) in self.bands.iter().zip(&outlines) {
            name_band(&plot, picture, &band.words, outline, &obstacles, &mut taken);
        }
        Ok(frame.picture)
    }
}

/// A contour in pixels; not a number where it is never reached, so that the line breaks there.
fn path(plot: &Plot, points: &[IsoForcePoint]) -> Vec<Spot> {
    points
        .iter()
        .map(|point| plot.spot(point.temperature_celsius, point.time_s))
        .collect()
}

/// The edge of a band in pixels, above the plot where it is never reached.
fn edge(plot: &Plot, points: &[IsoForcePoint]) -> Vec<Spot> {
    points
        .iter()
        .filter(|point| point.temperature_celsius.is_finite() && !point.time_s.is_nan())
        .map(|point| {
            if point.time_s == f64::INFINITY {
                let above = plot.area.top - NEVER * plot.area.height();
                Spot::new(plot.x_pixel(point.temperature_celsius), above)
            } else {
                plot.edge_spot(point.temperature_celsius, point.time_s)
            }
        })
        .collect()
}

/// A band as a closed outline, not yet cut to what is shown.
fn outline(plot: &Plot, band: &EffortBand) -> Vec<Spot> {
    let away = NEVER * plot.area.height();
    let level = |points: &[IsoForcePoint], y: f64| -> Vec<Spot> {
        points
            .iter()
            .map(|point| Spot::new(plot.x_pixel(point.temperature_celsius), y))
            .filter(|spot| spot.is_finite())
            .collect()
    };
    let from = if band.from.is_empty() {
        level(&band.to, plot.area.bottom + away)
    } else {
        edge(plot, &band.from)
    };
    let to = if band.to.is_empty() {
        level(&band.from, plot.area.top - away)
    } else {
        edge(plot, &band.to)
    };
    from.into_iter().chain(to.into_iter().rev()).collect()
}

/// What of the plot lies around an area in it.
fn around(plot: Area, inner: Area, magnification: f64) -> Vec<Area> {
    let beside = |left: f64, right: f64| Area {
        left,
        right,
        ..plot
    };
    let level = |top: f64, bottom: f64| Area {
        top,
        bottom,
        ..inner
    };
    [
        beside(plot.left, inner.left),
        beside(inner.right, plot.right),
        level(plot.top, inner.top),
        level(inner.bottom, plot.bottom),
    ]
    .into_iter()
    .filter(|area| area.width() > magnification && area.height() > magnification)
    .collect()
}

impl IsoForceChart {
    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in self.contours.iter().flat_map(|contour| &contour.points) {
            // What is never reached, or reached at once, has no place and needs none.
            if point.time_s == f64::INFINITY || point.time_s == 0.0 {
                continue;
            }
            unseen.count([
                (point.temperature_celsius, AxisKind::Linear),
                (point.time_s, self.time_axis),
            ]);
        }
        unseen
    }

    fn axes(&self) -> Result<(AxisPlan, AxisPlan), ChartError> {
        let nothing = |reason| ChartError::NothingToDraw {
            chart: "iso-force",
            reason,
        };
        let (low, high) = (self.temperatures.from_celsius, self.temperatures.to_celsius);
        let (first_s, last_s) = (self.times.from_s, self.times.to_s);
        let shown = [first_s, last_s]
            .iter()
            .all(|time_s| can_show(self.time_axis, *time_s));
        if !shown || !low.is_finite() || !high.is_finite() || high <= low || last_s <= first_s {
            return Err(nothing(
                "it needs several temperatures and heat times that its axes can show",
            ));
        }
        if self.contours.is_empty() && self.bands.is_empty() {
            return Err(nothing("no force and no band was given"));
        }
        Ok((
            AxisPlan::new(
                "block temperature (°C)".to_string(),
                AxisKind::Linear,
                low,
                high,
            ),
            self.time_axis(first_s, last_s),
        ))
    }

    /// The unit of a logarithmic axis is that of its middle: few hours are no reason for 0.1 h.
    fn time_axis(&self, first_s: f64, last_s: f64) -> AxisPlan {
        let about_s = match self.time_axis {
            AxisKind::Linear => last_s,
            AxisKind::Log => (first_s.sqrt() * last_s.sqrt()).max(first_s),
        };
        AxisPlan {
            low: first_s,
            high: last_s,
            ..AxisPlan::time(&self.time_name, self.time_axis, first_s, about_s)
        }
    }

    /// Whether any of a band lies at the heat times that are shown.
    fn shows(&self, band: &EffortBand) -> bool {
        let begins =
            band.from.is_empty() || band.from.iter().any(|point| point.time_s < self.times.to_s);
        let ends =
            band.to.is_empty() || band.to.iter().any(|point| point.time_s > self.times.from_s);
        begins && ends
    }

    /// Whether any of a contour lies at the heat times that are shown.
    fn draws(&self, contour: &IsoForceContour) -> bool {
        let shown = self.times.from_s..=self.times.to_s;
        contour
            .points
            .iter()
            .any(|point| shown.contains(&point.time_s))
    }

    /// The measured range in pixels, as far as it is shown; the whole plot where none is stated.
    fn measured_area(&self, plot: &Plot) -> Area {
        let Some(measured) = self.measured else {
            return plot.area;
        };
        let across = |celsius: f64| {
            let pixel = plot.x_pixel(celsius);
            if pixel.is_nan() {
                plot.area.left
            } else {
                pixel
            }
        };
        let up = |time_s: f64| {
            let pixel = plot.y_pixel(time_s);
            // Zero has no place on a logarithmic axis: under everything.
            if pixel.is_nan() {
                plot.area.bottom
            } else {
                pixel
            }
        };
        let level = |pixel: f64| pixel.clamp(plot.area.left, plot.area.right);
        let upright = |pixel: f64| pixel.clamp(plot.area.top, plot.area.bottom);
        Area {
            left: level(across(measured.temperatures.from_celsius)),
            right: level(across(measured.temperatures.to_celsius)),
            top: upright(up(measured.times.to_s)),
            bottom: upright(up(measured.times.from_s)),
        }
    }

    fn draw_contour(
        &self,
        plot: &Plot,
        picture: &mut Picture,
        contour: &IsoForceContour,
        measured: Area,
    ) {
        let m = plot.magnification;
        let look = look_of(contour.rank, m);
        let path = path(plot, &contour.points);
        if self.words.extrapolated {
            let dotted = LineLook {
                dash: Dash::Dotted,
                ..look
            };
            for outside in around(plot.area, measured, m) {
                for piece in clip_line(&path, outside) {
                    cased_line(picture, Layer::Curves, &piece, dotted);
                }
            }
        }
        for piece in clip_line(&path, measured) {
            cased_line(picture, Layer::Curves, &piece, look);
        }
    }

    /// Names each contour at its hot end, and above the plot where it leaves there. Returns what the
    /// names cover.
    fn name_contours(&self, plot: &Plot, picture: &mut Picture, shown: Area) -> Vec<Area> {
        let mut names = Vec::new();
        for contour in &self.contours {
            let pieces = clip_line(&path(plot, &contour.points), shown);
            let label = text::clean(&contour.label);
            if let Some(end) = pieces.last().and_then(|piece| piece.last()) {
                names.push((*end, label.clone()));
            }
            let start = pieces.first().and_then(|piece| piece.first());
            let near = plot.magnification;
            if let Some(start) = start.filter(|start| {
                start.y <= plot.area.top + 0.5 * near && start.x < plot.area.right - near
            }) {
                names.push((*start, label));
            }
        }
        name_ends(plot, picture, &names)
    }

    fn legend(&self) -> Legend {
        let mut legend = Legend {
            heading: self.legend_heading.clone(),
            entries: Vec::new(),
        };
        for band in self.bands.iter().rev().filter(|band| self.shows(band)) {
            let area = Sample::Area {
                colour: band.colour,
                opacity: BAND_OPACITY,
            };
            legend.add(area, &band.words);
        }
        for contour in self.contours.iter().filter(|contour| self.draws(contour)) {
            let look = look_of(contour.rank, 1.0);
            let line = Sample::Line {
                colour: look.colour,
                dash: look.dash,
            };
            legend.add(line, &contour.words);
        }
        if self.measured.is_some() {
            let line = Sample::Line {
                colour: GREY,
                dash: Dash::LongShort,
            };
            legend.add(line, "measured range");
            if self.words.extrapolated {
                legend.add(Sample::Hatched, "not measured (extrapolated)");
            }
        }
        legend
    }
}

fn look_of(rank: ContourRank, magnification: f64) -> LineLook {
    let (colour, width, dash) = match rank {
        ContourRank::Round => (SOFT_INK, 2.0, Dash::Solid),
        ContourRank::Limit => (INK, 6.0, Dash::Solid),
        ContourRank::OneInTwenty => (INK, 4.0, Dash::Dashed),
    };
    LineLook {
        colour,
        width: width * magnification,
        dash,
    }
}
