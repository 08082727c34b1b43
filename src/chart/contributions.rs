//! How much each input adds to what is not known: one bar an input, the longest first.

use super::axis::{AxisKind, AxisPlan};
use super::error::ChartError;
use super::frame::{AXIS_TITLE, ChartWords, Frame, TICK_LABEL, Unseen};
use super::palette::{INK, SOFT_INK};
use super::plot::Plot;
use super::scene::{Align, Area, Layer, Lettering, Pen, Picture, Spot, Weight};
use super::size::ChartSize;
use super::text::{self, Block, CAPITAL, LEADING};
use super::{Chart, Colour};

/// One input.
#[derive(Debug, Clone, PartialEq)]
pub struct ContributionBar {
    /// What it is: `the needle's bore`.
    pub label: String,
    /// What would narrow it; empty where nothing is said.
    pub helps: String,
    /// Its share, 0 to 1; none where it is not known, which is drawn as such.
    pub share: Option<f64>,
    /// What stands at the bar's end: `38 %`.
    pub share_words: String,
}

/// Shares of the inputs in what is not known.
#[derive(Debug, Clone, PartialEq)]
pub struct ContributionsChart {
    /// Title, subtitle, note.
    pub words: ChartWords,
    /// What the bars measure, with its unit.
    pub share_name: String,
    /// The inputs, in the order in which they are drawn from the top.
    pub bars: Vec<ContributionBar>,
}

impl Default for ContributionsChart {
    fn default() -> Self {
        ContributionsChart {
            words: ChartWords::default(),
            share_name: "share of what is not known (%)".to_string(),
            bars: Vec::new(),
        }
    }
}

const BAR: Colour = Colour::new(0x00, 0x72, 0xB2);
/// How dark the bars after the first are.
const OTHERS_OPACITY: f64 = 0.45;
const PERCENT: f64 = 100.0;
/// Letter size of what would narrow an input, in pixels of a 1200 x 800 picture.
const HELPS: f64 = 17.0;
/// Share of the width that the names may take.
const NAMES: f64 = 0.42;
/// Share of a row that its bar fills.
const FILLED: f64 = 0.62;

impl Chart for ContributionsChart {
    fn compose(&self, size: ChartSize) -> Result<Picture, ChartError> {
        let largest = self
            .bars
            .iter()
            .filter_map(share_of)
            .fold(0.0_f64, f64::max);
        if largest <= 0.0 {
            return Err(ChartError::NothingToDraw {
                chart: "contributions",
                reason: "no input has a share above zero",
            });
        }
        let mut frame = Frame::open(size, &self.words, self.unseen())?;
        let plot = self.lay_out(&mut frame, PERCENT * largest);
        let rows = self.bars.len() as f64;
        let height = plot.area.height() / rows;
        for (index, bar) in self.bars.iter().enumerate() {
            let middle = plot.area.top + (index as f64 + 0.5) * height;
            self.draw_bar(&plot, &mut frame.picture, bar, middle, height);
            write_name(&plot, &mut frame.picture, bar, frame.room, middle, height);
        }
        Ok(frame.picture)
    }
}

/// The share where it is a number that a bar can show.
fn share_of(bar: &ContributionBar) -> Option<f64> {
    bar.share
        .filter(|share| share.is_finite() && (0.0..=1.0).contains(share))
}

impl ContributionsChart {
    fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for share in self.bars.iter().filter_map(|bar| bar.share) {
            let seen = if (0.0..=1.0).contains(&share) {
                share
            } else {
                f64::NAN
            };
            unseen.count([(seen, AxisKind::Linear), (0.0, AxisKind::Linear)]);
        }
        unseen
    }

    fn is_largest(&self, bar: &ContributionBar) -> bool {
        share_of(bar).is_some_and(|own| self.bars.iter().filter_map(share_of).all(|s| s <= own))
    }

    /// Finds the plot beside the names and draws its axes.
    fn lay_out(&self, frame: &mut Frame, most_percent: f64) -> Plot {
        let m = frame.magnification;
        let room = frame.room;
        let tick_size = TICK_LABEL * m;
        let title = Block::fit(
            &self.share_name,
            AXIS_TITLE * m,
            Weight::Regular,
            0.95 * (1.0 - NAMES) * room.width(),
            1,
        );
        let at_end = self
            .bars
            .iter()
            .map(|bar| text::width(&bar.share_words, tick_size, Weight::Bold))
            .fold(0.0, f64::max);
        let left = room.left + NAMES * room.width();
        let area = Area {
            left,
            top: room.top + 6.0 * m,
            right: (room.right - at_end - 16.0 * m).max(left + 0.1 * room.width()),
            bottom: (room.bottom - 9.0 * m - 1.4 * tick_size - title.height())
                .max(room.top + 7.0 * m),
        };
        let plot = Plot {
            area,
            x: AxisPlan::new(
                self.share_name.clone(),
                AxisKind::Linear,
                0.0,
                (1.05 * most_percent).min(PERCENT),
            ),
            y: AxisPlan::new(
                String::new(),
                AxisKind::Linear,
                0.0,
                self.bars.len().max(1) as f64,
            ),
            magnification: m,
        };
        let across = |label: &str| text::width(label, tick_size, Weight::Regular) + 1.4 * tick_size;
        let ticks = plot.x.ticks(area.width(), &across);
        if frame.invented {
            plot.draw_watermark(&mut frame.picture);
        }
        plot.draw_grid(&mut frame.picture, &ticks, &[]);
        plot.draw_x_axis(&mut frame.picture, &ticks, &title);
        frame.picture.stroke(
            Layer::YAxis,
            &[
                Spot::new(area.left, area.bottom),
                Spot::new(area.left, area.top),
            ],
            Pen::solid(SOFT_INK, 2.0 * m),
        );
        plot
    }

    fn draw_bar(
        &self,
        plot: &Plot,
        picture: &mut Picture,
        bar: &ContributionBar,
        middle: f64,
        height: f64,
    ) {
        let m = plot.magnification;
        let share = share_of(bar);
        let right = plot
            .x_pixel(PERCENT * share.unwrap_or(0.0))
            .clamp(plot.area.left, plot.area.right);
        let largest = self.is_largest(bar);
        let area = Area {
            left: plot.area.left,
            right,
            top: middle - 0.5 * FILLED * height,
            bottom: middle + 0.5 * FILLED * height,
        };
        if share.is_some() && area.width() > 0.0 {
            let opacity = if largest { 1.0 } else { OTHERS_OPACITY };
            picture.fill(Layer::Bands, area.corners(), BAR, opacity);
            let mut rim = area.corners();
            rim.extend(rim.first().copied());
            picture.stroke(Layer::Bands, &rim, Pen::solid(BAR, 1.5 * m));
        }
        let size = TICK_LABEL * m;
        picture.letter(
            Layer::Labels,
            Lettering {
                text: text::clean(&bar.share_words),
                at: Spot::new(right + 8.0 * m, middle + CAPITAL * size / 2.0),
                align: Align::Left,
                size,
                weight: if largest {
                    Weight::Bold
                } else {
                    Weight::Regular
                },
                colour: INK,
                upwards: false,
            },
        );
    }
}

/// Writes an input's name beside its bar and what would narrow it below.
fn write_name(
    plot: &Plot,
    picture: &mut Picture,
    bar: &ContributionBar,
    room: Area,
    middle: f64,
    height: f64,
) {
    let m = plot.magnification;
    let width = plot.area.left - room.left - 12.0 * m;
    let name = |share: f64| {
        let fit = |words: &str, size: f64, lines: usize| {
            Block::fit(words, share * size * m, Weight::Regular, width, lines)
        };
        (fit(&bar.label, TICK_LABEL, 1), fit(&bar.helps, HELPS, 2))
    };
    // Smaller where many inputs leave little room; the words are never cut.
    let (label, helps) = [1.0, 0.9, 0.8, 0.7, 0.6, 0.5]
        .into_iter()
        .map(name)
        .find(|(label, helps)| label.height() + helps.height() <= height)
        .unwrap_or_else(|| name(0.4));
    let mut top = middle - 0.5 * (label.height() + helps.height());
    for (block, colour) in [(&label, INK), (&helps, SOFT_INK)] {
        for line in &block.lines {
            picture.letter(
                Layer::YAxis,
                Lettering {
                    text: line.clone(),
                    at: Spot::new(plot.area.left - 12.0 * m, top + 0.95 * block.size),
                    align: Align::Right,
                    size: block.size,
                    weight: Weight::Regular,
                    colour,
                    upwards: false,
                },
            );
            top += block.size * LEADING;
        }
    }
}
