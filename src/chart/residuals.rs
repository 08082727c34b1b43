//! Residuals against heat time or against the fitted reading: what the fit left over.

use super::Chart;
use super::axis::{AxisKind, AxisPlan, can_show};
use super::error::ChartError;
use super::extent::Extent;
use super::frame::{ChartWords, Frame, TICK_LABEL, Unseen};
use super::label::emptiest;
use super::legend::{Legend, Sample};
use super::palette::{INK, MarkerLook, SOFT_INK, SeriesStyle, series_style};
use super::plot::{Plan, Plot};
use super::scene::{Align, Area, Dash, Layer, Pen, Picture, Spot, Weight};
use super::size::ChartSize;
use super::strokes::ring;
use super::text::{self, CAPITAL};

/// What the residuals are drawn against.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ResidualAgainst {
    /// Heat time; the points' places are in seconds.
    HeatTime {
        /// How its axis is divided.
        axis: AxisKind,
    },
    /// The fitted reading; the points' places are in the named unit.
    FittedReading {
        /// What the axis shows: `fitted viscosity`.
        name: String,
        /// Its unit: `Pa.s`.
        unit: String,
        /// How its axis is divided.
        axis: AxisKind,
    },
}

/// One reading's residual.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResidualPoint {
    /// Heat time in seconds, or the fitted reading in its unit.
    pub place_in_unit: f64,
    /// The residual in the unit of the residual axis.
    pub residual_in_unit: f64,
    /// Row of the bench table.
    pub row: usize,
    /// Pulls hard on the fit: ringed, its row number written beside it.
    pub influential: bool,
    /// Whether the fit used it; if not it is drawn hollow and grey.
    pub used: bool,
}

/// The residuals of one temperature.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ResidualSeries {
    /// Its name in the legend: `86 °C`.
    pub label: String,
    /// The residuals.
    pub points: Vec<ResidualPoint>,
}

/// Residuals of a fit.
#[derive(Debug, Clone, PartialEq)]
pub struct ResidualsChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// What the upright axis shows, with its unit: `residual of ln viscosity`.
    pub residual_name: String,
    /// What the level axis shows.
    pub against: ResidualAgainst,
    /// Residual standard deviation in the unit of the residual axis: lines at twice it.
    pub residual_sd_in_unit: Option<f64>,
    /// Heading of the legend.
    pub legend_heading: String,
    /// What a ring with a row number means.
    pub influential_words: String,
    /// Name of the points that the fit left out.
    pub left_out_words: String,
    /// One a temperature, coldest first.
    pub series: Vec<ResidualSeries>,
}

impl Default for ResidualsChart {
    fn default() -> Self {
        ResidualsChart {
            words: ChartWords::default(),
            residual_name: "residual of ln reading".to_string(),
            against: ResidualAgainst::HeatTime {
                axis: AxisKind::Log,
            },
            residual_sd_in_unit: None,
            legend_heading: "heated at".to_string(),
            influential_words: "ringed, with row number: pulls hardest on the fit".to_string(),
            left_out_words: "left out of the fit".to_string(),
            series: Vec::new(),
        }
    }
}

impl Chart for ResidualsChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let (x, y) = self.axes()?;
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let m = frame.magnification;
        let plan = Plan {
            x,
            y,
            celsius_above: false,
            legend: self.legend(),
            right_gutter: text::width("+2 sd", TICK_LABEL * m, Weight::Regular) + 16.0 * m,
            top_gutter: 0.0,
        };
        let plot = frame.lay_out(plan);
        let picture = &mut frame.picture;
        self.draw_levels(&plot, picture);
        let mut centres = Vec::new();
        let mut named = Vec::new();
        for (index, series) in self.series.iter().enumerate() {
            let SeriesStyle { colour, marker, .. } = series_style(index);
            for point in &series.points {
                let at = plot.spot(point.place_in_unit, point.residual_in_unit);
                if !at.is_finite() || !plot.area.holds(at) {
                    continue;
                }
                let look = if point.used {
                    MarkerLook::Filled(colour)
                } else {
                    MarkerLook::Hollow
                };
                plot.point(picture, at, marker, look);
                centres.push(at);
                if point.influential {
                    named.push((at, format!("row {}", point.row)));
                }
            }
        }
        // Over every marker, so that no later point hides a ring.
        for (at, _) in &named {
            ring(picture, Layer::Points, *at, m);
        }
        name_rows(&plot, picture, &centres, &named);
        Ok(frame.picture)
    }
}

impl ResidualsChart {
    fn place_kind(&self) -> AxisKind {
        match &self.against {
            ResidualAgainst::HeatTime { axis } | ResidualAgainst::FittedReading { axis, .. } => {
                *axis
            }
        }
    }

    fn sd(&self) -> Option<f64> {
        self.residual_sd_in_unit
            .filter(|sd| sd.is_finite() && *sd > 0.0)
    }

    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for point in self.series.iter().flat_map(|series| &series.points) {
            unseen.count([
                (point.place_in_unit, self.place_kind()),
                (point.residual_in_unit, AxisKind::Linear),
            ]);
        }
        unseen
    }

    fn axes(&self) -> Result<(AxisPlan, AxisPlan), ChartError> {
        let mut places = Extent::default();
        let mut residuals = Extent::default();
        for point in self.series.iter().flat_map(|series| &series.points) {
            if can_show(self.place_kind(), point.place_in_unit)
                && point.residual_in_unit.is_finite()
            {
                places.add(point.place_in_unit);
                residuals.add(point.residual_in_unit);
            }
        }
        let (Some((first, last)), Some((low, high))) = (places.ends(), residuals.ends()) else {
            return Err(ChartError::NothingToDraw {
                chart: "residuals",
                reason: "no residual has values that its axes can show",
            });
        };
        // Zero in the middle, the lines at twice the standard deviation always in sight.
        let widest = low
            .abs()
            .max(high.abs())
            .max(self.sd().map_or(0.0, |sd| 2.2 * sd));
        let widest = if widest > 0.0 { widest } else { 1.0 };
        let residual = AxisPlan::new(
            self.residual_name.clone(),
            AxisKind::Linear,
            -widest,
            widest,
        )
        .with_margin(0.05);
        let place = match &self.against {
            ResidualAgainst::HeatTime {
                axis: AxisKind::Linear,
            } => AxisPlan::time("heat time", AxisKind::Linear, first.min(0.0), last),
            ResidualAgainst::HeatTime { axis } => AxisPlan::time("heat time", *axis, first, last),
            ResidualAgainst::FittedReading { name, unit, axis } => {
                AxisPlan::new(format!("{name} ({unit})"), *axis, first, last)
            }
        };
        Ok((place.with_margin(0.05), residual))
    }

    fn legend(&self) -> Legend {
        let mut legend = Legend {
            heading: self.legend_heading.clone(),
            entries: Vec::new(),
        };
        for (index, series) in self.series.iter().enumerate() {
            let SeriesStyle { colour, marker, .. } = series_style(index);
            legend.add(
                Sample::Series {
                    colour,
                    marker,
                    dash: None,
                },
                &series.label,
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
        if self.sd().is_some() {
            legend.add(
                Sample::Line {
                    colour: SOFT_INK,
                    dash: Dash::Dashed,
                },
                "twice the residual sd: about 19 of 20 readings lie between",
            );
        }
        if self
            .series
            .iter()
            .flat_map(|series| &series.points)
            .any(|point| point.influential)
        {
            legend.add(Sample::Ringed, &self.influential_words);
        }
        legend
    }

    /// The zero line, and those at twice the residual standard deviation, named at their ends.
    fn draw_levels(&self, plot: &Plot, picture: &mut Picture) {
        let m = plot.magnification;
        let size = TICK_LABEL * m;
        let mut level = |value: f64, name: &str, pen: Pen| {
            let y = plot.y_pixel(value);
            let ends = [Spot::new(plot.area.left, y), Spot::new(plot.area.right, y)];
            picture.stroke(Layer::Curves, &ends, pen);
            let at = Spot::new(plot.area.right + 8.0 * m, y + CAPITAL * size / 2.0);
            plot.letter(picture, name, at, Align::Left);
        };
        level(0.0, "0", Pen::solid(INK, 2.5 * m));
        if let Some(sd) = self.sd() {
            let pen = Pen::dashed(SOFT_INK, 2.0 * m, Dash::Dashed);
            level(2.0 * sd, "+2 sd", pen);
            level(-2.0 * sd, "−2 sd", pen);
        }
    }
}

/// Writes row numbers beside their points, where they cover no other point and no other number.
fn name_rows(plot: &Plot, picture: &mut Picture, centres: &[Spot], named: &[(Spot, String)]) {
    let m = plot.magnification;
    let size = TICK_LABEL * m;
    let obstacles: Vec<Spot> = centres
        .iter()
        .flat_map(|centre| {
            (0..8).map(|eighth| {
                let (sine, cosine) = f64::from(45 * eighth).to_radians().sin_cos();
                Spot::new(centre.x + 11.0 * m * cosine, centre.y + 11.0 * m * sine)
            })
        })
        .chain(centres.iter().copied())
        .collect();
    let mut taken: Vec<Area> = Vec::new();
    for (at, name) in named {
        let (width, height) = (text::width(name, size, Weight::Regular), 1.05 * size);
        let mut places = Vec::new();
        for away in [18.0, 28.0, 42.0, 60.0, 85.0, 120.0, 160.0] {
            let away = away * m;
            for (across, down) in [
                (1.0, 0.0),
                (-1.0, 0.0),
                (0.0, -1.0),
                (0.0, 1.0),
                (0.7, -0.7),
                (-0.7, -0.7),
                (0.7, 0.7),
                (-0.7, 0.7),
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
        let Some((place, _)) = emptiest(&places, &obstacles, &taken) else {
            continue;
        };
        let middle = Spot::new(
            (place.left + place.right) / 2.0,
            (place.top + place.bottom) / 2.0,
        );
        // Far from its point: a leader says whose number it is.
        let edge = Spot::new(
            at.x.clamp(place.left - 4.0 * m, place.right + 4.0 * m),
            at.y.clamp(place.top, place.bottom),
        );
        let apart = edge.distance_to(*at);
        if apart > 20.0 * m {
            let start = at.towards(edge, 13.5 * m / apart);
            picture.stroke(Layer::Labels, &[start, edge], Pen::solid(INK, 1.8 * m));
        }
        plot.letter(
            picture,
            name,
            Spot::new(middle.x, middle.y + CAPITAL * size / 2.0),
            Align::Centre,
        );
        taken.push(place.grown(2.0 * m));
    }
}
