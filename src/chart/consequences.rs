//! What single changes do to a push: one row a change, a dot with its interval, around today's push.

use super::axis::{AxisKind, AxisPlan};
use super::error::ChartError;
use super::frame::{AXIS_TITLE, ChartWords, Frame, TICK_LABEL, Unseen};
use super::palette::{GREY, INK, Marker, MarkerLook, SOFT_INK, draw_marker};
use super::plot::Plot;
use super::scene::{Align, Area, Dash, Layer, Lettering, Pen, Picture, Spot, Weight};
use super::size::ChartSize;
use super::text::{self, Block, CAPITAL, LEADING};
use super::{Chart, Colour};

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct ConsequenceRow {
    /// What is changed: `one minute more`.
    pub label: String,
    /// To what, and what is not in it; empty where nothing is said.
    pub detail: String,
    /// Push in N: median, and the ends of its 95 % interval; none where it cannot be said.
    pub push_n: Option<[f64; 3]>,
    /// What stands at the row's end: `14 N (10 to 19)`, or why there is no push.
    pub words: String,
    /// Today's push, which the others are held against.
    pub is_today: bool,
    /// Whether it lies outside what was measured: drawn hollow.
    pub extrapolated: bool,
}

/// A stretch of pushes that hands find alike.
#[derive(Debug, Clone, PartialEq)]
pub struct ConsequenceZone {
    /// From, in N.
    pub from_n: f64,
    /// To, in N.
    pub to_n: f64,
    /// Its name.
    pub words: String,
    /// Its colour.
    pub colour: Colour,
}

/// Pushes with single changes around today's.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ConsequencesChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// What the axis measures.
    pub force_name: String,
    /// Rows, from the top.
    pub rows: Vec<ConsequenceRow>,
    /// Zones of hands.
    pub zones: Vec<ConsequenceZone>,
    /// Force limit, in N, with its words.
    pub limit: Option<(f64, String)>,
}

const TODAY: Colour = Colour::new(0x00, 0x72, 0xB2);
const CHANGED: Colour = Colour::new(0xD5, 0x5E, 0x00);
const ZONE_OPACITY: f64 = 0.16;
/// Share of the width that names and pushes in words may take.
const NAMES: f64 = 0.31;
const AT_END: f64 = 0.19;
/// Letter size of details, in pixels of a 1200 x 800 picture.
const DETAIL: f64 = 17.0;
/// Letter size of what stands above the plot.
const ABOVE: f64 = 17.0;

impl Chart for ConsequencesChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let Some((least, most)) = self.ends() else {
            return Err(ChartError::NothingToDraw {
                chart: "consequences",
                reason: "no change has a push above zero",
            });
        };
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let plot = self.lay_out(&mut frame, least, most);
        let height = plot.area.height() / self.rows.len().max(1) as f64;
        let room = frame.room;
        let picture = &mut frame.picture;
        if let Some(row) = self.rows.iter().find(|row| row.is_today)
            && let Some([median, ..]) = row.push_n
        {
            upright(
                &plot,
                picture,
                median,
                Pen::dashed(TODAY, 2.0 * plot.magnification, Dash::Dashed),
            );
        }
        for (index, row) in self.rows.iter().enumerate() {
            let middle = plot.area.top + (index as f64 + 0.5) * height;
            draw_row(&plot, picture, row, middle);
            write_row(&plot, picture, row, room, middle, height);
        }
        Ok(frame.picture)
    }
}

impl ConsequencesChart {
    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for value in self.rows.iter().filter_map(|row| row.push_n).flatten() {
            unseen.count([(value, AxisKind::Log), (0.0, AxisKind::Linear)]);
        }
        unseen
    }

    /// Least and greatest push to be seen.
    fn ends(&self) -> Option<(f64, f64)> {
        let mut values: Vec<f64> = self
            .rows
            .iter()
            .filter_map(|row| row.push_n)
            .flatten()
            .filter(|value| value.is_finite() && *value > 0.0)
            .collect();
        if values.is_empty() {
            return None;
        }
        values.extend(self.limit.iter().map(|(force, _)| *force));
        values.sort_by(f64::total_cmp);
        Some((*values.first()?, *values.last()?))
    }

    fn lay_out(&self, frame: &mut Frame, least: f64, most: f64) -> Plot {
        let m = frame.magnification;
        let room = frame.room;
        let tick_size = TICK_LABEL * m;
        let left = room.left + NAMES * room.width();
        let right = room.right - AT_END * room.width();
        let title = Block::fit(
            &self.force_name,
            AXIS_TITLE * m,
            Weight::Regular,
            0.95 * (right - left),
            1,
        );
        let plot = Plot {
            area: Area {
                left,
                top: room.top + (6.0 + 2.0 * ABOVE * LEADING) * m,
                right,
                bottom: room.bottom - 9.0 * m - 1.4 * tick_size - title.height(),
            },
            x: AxisPlan::new(self.force_name.clone(), AxisKind::Log, least, most).with_margin(0.05),
            y: AxisPlan::new(
                String::new(),
                AxisKind::Linear,
                0.0,
                self.rows.len().max(1) as f64,
            ),
            magnification: m,
        };
        let across = |label: &str| text::width(label, tick_size, Weight::Regular) + 1.0 * tick_size;
        let ticks = plot.x.ticks(plot.area.width(), &across);
        if frame.invented {
            plot.draw_watermark(&mut frame.picture);
        }
        for zone in &self.zones {
            self.draw_zone(&plot, &mut frame.picture, zone);
        }
        plot.draw_grid(&mut frame.picture, &ticks, &[]);
        plot.draw_x_axis(&mut frame.picture, &ticks, &title);
        if let Some((force, words)) = &self.limit {
            upright(&plot, &mut frame.picture, *force, Pen::solid(INK, 2.5 * m));
            let at = Spot::new(
                plot.x_pixel(*force),
                plot.area.top - (ABOVE * LEADING + 6.0) * m,
            );
            above(
                &plot,
                &mut frame.picture,
                words,
                at,
                Weight::Bold,
                plot.area.width(),
            );
        }
        plot
    }

    fn draw_zone(&self, plot: &Plot, picture: &mut Picture, zone: &ConsequenceZone) {
        let low = zone.from_n.max(plot.x.low);
        let high = zone.to_n.min(plot.x.high);
        if high <= low {
            return;
        }
        let area = Area {
            left: plot.x_pixel(low),
            right: plot.x_pixel(high),
            ..plot.area
        };
        picture.fill(Layer::Zones, area.corners(), zone.colour, ZONE_OPACITY);
        let at = Spot::new(
            0.5 * (area.left + area.right),
            plot.area.top - 5.0 * plot.magnification,
        );
        above(
            plot,
            picture,
            &zone.words,
            at,
            Weight::Regular,
            area.width(),
        );
    }
}

/// A line across all rows at a push.
fn upright(plot: &Plot, picture: &mut Picture, force_n: f64, pen: Pen) {
    let x = plot.x_pixel(force_n);
    if x.is_finite() && x >= plot.area.left && x <= plot.area.right {
        picture.stroke(
            Layer::Bands,
            &[Spot::new(x, plot.area.top), Spot::new(x, plot.area.bottom)],
            pen,
        );
    }
}

/// Words above the plot, centred as far as the plot's ends let them; none where there is no room.
fn above(plot: &Plot, picture: &mut Picture, words: &str, at: Spot, weight: Weight, room: f64) {
    let size = ABOVE * plot.magnification;
    let half = 0.5 * text::width(words, size, weight);
    if 2.0 * half > room {
        return;
    }
    picture.letter(
        Layer::Labels,
        Lettering {
            text: text::clean(words),
            at: Spot::new(
                at.x.clamp(plot.area.left + half, plot.area.right - half),
                at.y,
            ),
            align: Align::Centre,
            size,
            weight,
            colour: SOFT_INK,
            upwards: false,
        },
    );
}

fn draw_row(plot: &Plot, picture: &mut Picture, row: &ConsequenceRow, middle: f64) {
    let Some(push) = row.push_n else { return };
    let [median, low, high] = push.map(|value| plot.x_pixel(value));
    let m = plot.magnification;
    let colour = if row.is_today { TODAY } else { CHANGED };
    picture.stroke(
        Layer::Curves,
        &[Spot::new(low, middle), Spot::new(high, middle)],
        Pen::solid(colour, 5.0 * m),
    );
    for end in [low, high] {
        picture.stroke(
            Layer::Curves,
            &[
                Spot::new(end, middle - 7.0 * m),
                Spot::new(end, middle + 7.0 * m),
            ],
            Pen::solid(colour, 3.0 * m),
        );
    }
    let (marker, look) = match (row.is_today, row.extrapolated) {
        (true, _) => (Marker::Circle, MarkerLook::Filled(colour)),
        (false, false) => (Marker::Diamond, MarkerLook::Filled(colour)),
        (false, true) => (Marker::Diamond, MarkerLook::Hollow),
    };
    draw_marker(
        picture,
        Layer::Points,
        marker,
        Spot::new(median, middle),
        10.0 * m,
        look,
    );
}

/// Writes a row's name and detail at the left, its push in words at the right.
fn write_row(
    plot: &Plot,
    picture: &mut Picture,
    row: &ConsequenceRow,
    room: Area,
    middle: f64,
    height: f64,
) {
    let m = plot.magnification;
    let weight = if row.is_today {
        Weight::Bold
    } else {
        Weight::Regular
    };
    let width = plot.area.left - room.left - 12.0 * m;
    let name = |share: f64| {
        // The detail gives way before the name does.
        let of_name = share.max(0.85);
        (
            Block::fit(&row.label, of_name * TICK_LABEL * m, weight, width, 1),
            Block::fit(&row.detail, share * DETAIL * m, Weight::Regular, width, 2),
        )
    };
    // Smaller where many rows leave little room; the words are never cut.
    let (label, detail) = [1.0, 0.9, 0.8, 0.75, 0.7, 0.65, 0.6, 0.5]
        .into_iter()
        .map(name)
        .find(|(label, detail)| label.height() + detail.height() <= height)
        .unwrap_or_else(|| name(0.4));
    let mut top = middle - 0.5 * (label.height() + detail.height());
    for (block, colour) in [(&label, INK), (&detail, SOFT_INK)] {
        for line in &block.lines {
            picture.letter(
                Layer::YAxis,
                Lettering {
                    text: line.clone(),
                    at: Spot::new(plot.area.left - 12.0 * m, top + 0.95 * block.size),
                    align: Align::Right,
                    size: block.size,
                    weight: block.weight,
                    colour,
                    upwards: false,
                },
            );
            top += block.size * LEADING;
        }
    }
    let told = row.push_n.is_some();
    let room_right = room.right - plot.area.right - 12.0 * m;
    let size = if told { TICK_LABEL } else { DETAIL } * m;
    let block = Block::fit(
        &row.words,
        size,
        weight,
        room_right,
        if told { 2 } else { 4 },
    );
    let mut baseline = middle - 0.5 * block.height() + 0.5 * (LEADING + CAPITAL) * block.size;
    for line in &block.lines {
        picture.letter(
            Layer::Labels,
            Lettering {
                text: line.clone(),
                at: Spot::new(plot.area.right + 12.0 * m, baseline),
                align: Align::Left,
                size: block.size,
                weight,
                colour: if told { INK } else { GREY },
                upwards: false,
            },
        );
        baseline += block.size * LEADING;
    }
}
