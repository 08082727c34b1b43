//! How a force chart is drawn.

use super::numbers::{ForceAxis, ForceChart, ForceLine, ForceZone};
use crate::chart::Chart;
use crate::chart::axis::{AxisKind, AxisPlan, can_show};
use crate::chart::error::ChartError;
use crate::chart::extent::Extent;
use crate::chart::frame::{Frame, TICK_LABEL, Unseen};
use crate::chart::legend::{Legend, Sample, unmeasured_entry};
use crate::chart::naming::{name_ends, name_strip};
use crate::chart::palette::{GREY, INK};
use crate::chart::plot::{Plan, Plot};
use crate::chart::scene::{Area, Dash, Layer, Pen, Picture, Spot, Weight};
use crate::chart::size::ChartSize;
use crate::chart::strokes::LineLook;
use crate::chart::text;

const BAND_OPACITY: f64 = 0.14;
const ZONE_OPACITY: f64 = 0.16;
/// Height above the plot for the labels of lines that leave through its top.
const TOP_GUTTER: f64 = 44.0;

impl Chart for ForceChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let (time, force) = self.axes()?;
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let m = frame.magnification;
        let widest = self
            .lines
            .iter()
            .map(|line| text::width(&line.end_label, TICK_LABEL * m, Weight::Regular))
            .fold(0.0, f64::max);
        let leaves_top = self
            .lines
            .iter()
            .flat_map(|line| &line.points)
            .any(|point| point.plunger_force_n > force.high);
        let plan = Plan {
            legend: self.legend(&force),
            x: time,
            y: force,
            celsius_above: false,
            right_gutter: widest + 30.0 * m,
            top_gutter: if leaves_top { TOP_GUTTER * m } else { 0.0 },
        };
        let plot = frame.lay_out(plan);
        let picture = &mut frame.picture;
        let zones: Vec<Option<Area>> = self
            .zones
            .iter()
            .map(|zone| {
                plot.zone_across(picture, zone.from_n, zone.to_n, zone.colour, ZONE_OPACITY)
            })
            .collect();
        let hatched = match self.measured_time {
            Some(span) => {
                let times = self
                    .lines
                    .iter()
                    .flat_map(|line| &line.points)
                    .map(|point| point.time_s);
                plot.hatch_unmeasured(picture, span, Extent::of(times))
            }
            None => Vec::new(),
        };
        let mut obstacles = Vec::new();
        let mut ends = Vec::new();
        for (line, dash) in self.lines.iter().zip(self.dashes()) {
            let rows: Vec<(f64, f64, f64)> = line
                .band
                .iter()
                .map(|row| (row.time_s, row.low_n, row.high_n))
                .collect();
            let shade = if line.hub_colour.is_pale() {
                GREY
            } else {
                line.hub_colour
            };
            plot.band(picture, &rows, shade, BAND_OPACITY);
            let values = values_of(line);
            let look = LineLook {
                colour: line.hub_colour,
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
            if let Some(end) = plot
                .pieces(&values)
                .last()
                .and_then(|piece| piece.last().copied())
            {
                ends.push((end, text::clean(&line.end_label)));
            }
        }
        let mut taken = name_ends(&plot, picture, &ends);
        taken.extend(hatched);
        self.draw_limit(&plot, picture, &obstacles, &mut taken);
        for (zone, area) in self.zones.iter().zip(zones) {
            if let Some(area) = area {
                name_zone(&plot, picture, zone, area, &obstacles, &mut taken);
            }
        }
        Ok(frame.picture)
    }
}

fn values_of(line: &ForceLine) -> Vec<(f64, f64)> {
    line.points
        .iter()
        .map(|point| (point.time_s, point.plunger_force_n))
        .collect()
}

impl ForceChart {
    fn force_kind(&self) -> AxisKind {
        match self.force_axis {
            ForceAxis::Linear { .. } => AxisKind::Linear,
            ForceAxis::Log => AxisKind::Log,
        }
    }

    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in self.lines.iter().flat_map(|line| &line.points) {
            unseen.count([
                (point.time_s, self.time_axis),
                (point.plunger_force_n, self.force_kind()),
            ]);
        }
        unseen
    }

    fn axes(&self) -> Result<(AxisPlan, AxisPlan), ChartError> {
        let mut time = Extent::default();
        let mut force = Extent::default();
        for point in self.lines.iter().flat_map(|line| &line.points) {
            if can_show(self.time_axis, point.time_s)
                && can_show(self.force_kind(), point.plunger_force_n)
            {
                time.add(point.time_s);
                force.add(point.plunger_force_n);
            }
        }
        let (Some((first_s, last_s)), Some((least_n, most_n))) = (time.ends(), force.ends()) else {
            return Err(ChartError::NothingToDraw {
                chart: "force",
                reason: "no needle's line has values that its axes can show",
            });
        };
        let first_s = if self.time_axis == AxisKind::Linear {
            first_s.min(0.0)
        } else {
            first_s
        };
        let name = "plunger force (N)".to_string();
        let force = match self.force_axis {
            ForceAxis::Log => AxisPlan::new(name, AxisKind::Log, least_n, most_n).with_margin(0.04),
            ForceAxis::Linear { up_to_n } => {
                let chosen = up_to_n.filter(|up_to_n| up_to_n.is_finite() && *up_to_n > 0.0);
                let up_to_n = chosen.unwrap_or_else(|| self.room_for(most_n));
                AxisPlan::new(name, AxisKind::Linear, 0.0, up_to_n)
            }
        };
        Ok((
            AxisPlan::time(&self.time_name, self.time_axis, first_s, last_s),
            force,
        ))
    }

    /// Half as much again as the limit and the zones; less where no line goes so far.
    fn room_for(&self, most_n: f64) -> f64 {
        let marks = self
            .zones
            .iter()
            .map(|zone| zone.to_n)
            .chain(self.limit.iter().map(|limit| limit.plunger_force_n));
        let highest = marks.filter(|force| force.is_finite()).fold(0.0, f64::max);
        if highest > 0.0 {
            (1.5 * highest).min((1.05 * most_n).max(1.1 * highest))
        } else {
            1.05 * most_n
        }
    }

    /// Needles with the same hub colour are told apart by their dashes.
    fn dashes(&self) -> Vec<Dash> {
        let dash_of = |earlier: usize| match earlier % 3 {
            0 => Dash::Solid,
            1 => Dash::Dashed,
            _ => Dash::LongShort,
        };
        self.lines
            .iter()
            .enumerate()
            .map(|(index, line)| {
                let earlier = self
                    .lines
                    .iter()
                    .take(index)
                    .filter(|before| before.hub_colour == line.hub_colour);
                dash_of(earlier.count())
            })
            .collect()
    }

    fn legend(&self, force: &AxisPlan) -> Legend {
        let mut legend = Legend {
            heading: self.legend_heading.clone(),
            entries: Vec::new(),
        };
        for (line, dash) in self.lines.iter().zip(self.dashes()) {
            let above = !line.points.is_empty()
                && line
                    .points
                    .iter()
                    .all(|point| point.plunger_force_n > force.high);
            let words = if above {
                format!(
                    "{} (over {} N throughout)",
                    line.label,
                    crate::units::display::at_most(force.high, 3)
                )
            } else {
                line.label.clone()
            };
            legend.add(
                Sample::Line {
                    colour: line.hub_colour,
                    dash,
                },
                &words,
            );
        }
        if self.lines.iter().any(|line| line.band.len() > 1) {
            legend.add(
                Sample::Area {
                    colour: GREY,
                    opacity: BAND_OPACITY,
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
        if let Some(span) = self.measured_time {
            unmeasured_entry(
                &mut legend,
                span,
                self.lines
                    .iter()
                    .flat_map(|line| &line.points)
                    .map(|point| point.time_s),
            );
        }
        legend
    }

    fn draw_limit(
        &self,
        plot: &Plot,
        picture: &mut Picture,
        obstacles: &[Spot],
        taken: &mut Vec<Area>,
    ) {
        let Some(limit) = &self.limit else {
            return;
        };
        let y = plot.y_pixel(limit.plunger_force_n);
        if !y.is_finite() || y < plot.area.top || y > plot.area.bottom {
            return;
        }
        let m = plot.magnification;
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
        name_strip(plot, picture, &limit.label, strip, obstacles, taken);
    }
}

/// Writes a zone's name at its top or its foot where no line runs; the legend names it anyway.
fn name_zone(
    plot: &Plot,
    picture: &mut Picture,
    zone: &ForceZone,
    area: Area,
    obstacles: &[Spot],
    taken: &mut Vec<Area>,
) {
    let height = 1.4 * TICK_LABEL * plot.magnification;
    for strip in [
        Area {
            bottom: area.top + height,
            ..area
        },
        Area {
            top: area.bottom - height,
            ..area
        },
    ] {
        if area.height() >= height
            && name_strip(plot, picture, &zone.words, strip, obstacles, taken)
        {
            return;
        }
    }
}
