//! The legend: beside the plot where the picture is wide, above it where it is tall; never
//! over the data.

use super::frame::TimeSpan;
use super::palette::{Colour, GREY, INK, Marker, MarkerLook, draw_marker};
use super::scene::{Align, Area, Dash, Layer, Lettering, Pen, Picture, Spot, Weight};
use super::strokes::{LineLook, cased_line, error_bar, hatch, ring};
use super::text::{self, Block, CAPITAL, LEADING};

/// What stands before the words of an entry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Sample {
    /// A series of points, with its curve where it has one.
    Series {
        colour: Colour,
        marker: Marker,
        dash: Option<Dash>,
    },
    /// A point left out of the fit.
    Hollow,
    /// A line; pale colours get a dark edge.
    Line { colour: Colour, dash: Dash },
    /// A filled area, edged by a thin line.
    Area { colour: Colour, opacity: f64 },
    /// An area hatched as not measured.
    Hatched,
    /// A point with its interval.
    Interval,
    /// A ring around a point.
    Ringed,
}

/// Samples and their words.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Legend {
    pub(super) heading: String,
    pub(super) entries: Vec<(Sample, String)>,
}

impl Legend {
    pub(super) fn add(&mut self, sample: Sample, words: &str) {
        let words = text::clean(words);
        if !words.is_empty() {
            self.entries.push((sample, words));
        }
    }
}

/// A legend broken into lines and columns, its size known.
pub(super) struct LegendBlock<'a> {
    legend: &'a Legend,
    columns: Vec<Vec<(Sample, Block)>>,
    heading: Block,
    column_width: f64,
    /// Height of a sample and of a line's letters.
    size: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

/// Width of a sample in letter sizes, gap included.
const SAMPLE: f64 = 2.7;

impl<'a> LegendBlock<'a> {
    /// One column, or two if it must, in the height there is.
    pub(super) fn beside(legend: &'a Legend, size: f64, room_width: f64, room_height: f64) -> Self {
        for share in [1.0, 0.9, 0.8, 0.7] {
            let block = LegendBlock::broken(legend, size * share, room_width, 1);
            if block.height <= room_height {
                return block;
            }
        }
        for share in [0.8, 0.7, 0.6, 0.5, 0.4] {
            let block = LegendBlock::broken(legend, size * share, room_width, 2);
            if block.height <= room_height {
                return block;
            }
        }
        LegendBlock::broken(legend, size * 0.3, room_width, 3)
    }

    /// As many columns as the width takes.
    pub(super) fn above(legend: &'a Legend, size: f64, room_width: f64, room_height: f64) -> Self {
        let widest = legend
            .entries
            .iter()
            .map(|(_, words)| text::width(words, size, Weight::Regular) + (SAMPLE + 1.0) * size)
            .fold(size, f64::max);
        let columns = (room_width / widest).floor().clamp(1.0, 8.0) as usize;
        for share in [1.0, 0.9, 0.8, 0.7, 0.6, 0.5] {
            let block = LegendBlock::broken(legend, size * share, room_width, columns);
            if block.height <= room_height {
                return block;
            }
        }
        LegendBlock::broken(legend, size * 0.4, room_width, columns)
    }

    fn broken(legend: &'a Legend, size: f64, room_width: f64, columns: usize) -> Self {
        let room = (room_width / columns as f64 - (SAMPLE + 0.5) * size).max(size);
        let blocks: Vec<(Sample, Block)> = legend
            .entries
            .iter()
            .map(|(sample, words)| {
                let lines = text::wrap(words, size, Weight::Regular, room);
                (
                    *sample,
                    Block {
                        lines,
                        size,
                        weight: Weight::Regular,
                    },
                )
            })
            .collect();
        let heading = Block {
            lines: text::wrap(&legend.heading, size, Weight::Bold, room_width),
            size,
            weight: Weight::Bold,
        };
        let a_column = blocks.len().div_ceil(columns).max(1);
        let words_width = blocks
            .iter()
            .map(|(_, block)| block.width())
            .fold(0.0, f64::max);
        let column_width = words_width + (SAMPLE + 0.5) * size;
        let columns: Vec<Vec<(Sample, Block)>> =
            blocks.chunks(a_column).map(<[_]>::to_vec).collect();
        let height = columns
            .iter()
            .map(|column| {
                column
                    .iter()
                    .map(|(_, block)| entry_height(block))
                    .sum::<f64>()
            })
            .fold(0.0, f64::max);
        LegendBlock {
            legend,
            width: (column_width * columns.len() as f64).max(heading.width()),
            height: height
                + if heading.lines.is_empty() {
                    0.0
                } else {
                    heading.height() + 0.25 * size
                },
            columns,
            heading,
            column_width,
            size,
        }
    }

    pub(super) fn draw(&self, picture: &mut Picture, corner: Spot) {
        if self.legend.entries.is_empty() {
            return;
        }
        let mut top = corner.y;
        for line in &self.heading.lines {
            self.letter(picture, line, corner.x, top + self.size, Weight::Bold);
            top += self.size * LEADING;
        }
        if !self.heading.lines.is_empty() {
            top += 0.25 * self.size;
        }
        let mut left = corner.x;
        for column in &self.columns {
            let mut y = top;
            for (sample, block) in column {
                let middle = y + self.size * (1.0 - CAPITAL / 2.0);
                self.draw_sample(picture, *sample, left, middle);
                for (row, line) in block.lines.iter().enumerate() {
                    let baseline = y + self.size + row as f64 * self.size * LEADING;
                    self.letter(
                        picture,
                        line,
                        left + SAMPLE * self.size,
                        baseline,
                        Weight::Regular,
                    );
                }
                y += entry_height(block);
            }
            left += self.column_width;
        }
    }

    fn letter(&self, picture: &mut Picture, line: &str, x: f64, y: f64, weight: Weight) {
        let lettering = Lettering {
            text: line.to_string(),
            at: Spot::new(x, y),
            align: Align::Left,
            size: self.size,
            weight,
            colour: INK,
            upwards: false,
        };
        picture.letter(Layer::Legend, lettering);
    }

    fn draw_sample(&self, picture: &mut Picture, sample: Sample, left: f64, middle: f64) {
        let size = self.size;
        let right = left + (SAMPLE - 0.5) * size;
        let ends = [Spot::new(left, middle), Spot::new(right, middle)];
        let centre = Spot::new((left + right) / 2.0, middle);
        match sample {
            Sample::Series {
                colour,
                marker,
                dash,
            } => {
                if let Some(dash) = dash {
                    cased_line(
                        picture,
                        Layer::Legend,
                        &ends,
                        LineLook {
                            colour,
                            width: 0.16 * size,
                            dash,
                        },
                    );
                }
                let look = MarkerLook::Filled(colour);
                draw_marker(picture, Layer::Legend, marker, centre, 0.36 * size, look);
            }
            Sample::Hollow => {
                draw_marker(
                    picture,
                    Layer::Legend,
                    Marker::Circle,
                    centre,
                    0.36 * size,
                    MarkerLook::Hollow,
                );
            }
            Sample::Line { colour, dash } => {
                cased_line(
                    picture,
                    Layer::Legend,
                    &ends,
                    LineLook {
                        colour,
                        width: 0.22 * size,
                        dash,
                    },
                );
            }
            Sample::Area { colour, opacity } => {
                let area = Area {
                    left,
                    right,
                    top: middle - 0.42 * size,
                    bottom: middle + 0.42 * size,
                };
                picture.fill(Layer::Legend, area.corners(), colour, opacity);
                let mut rim = area.corners();
                rim.extend(rim.first().copied());
                picture.stroke(Layer::Legend, &rim, Pen::solid(GREY, 0.05 * size));
            }
            Sample::Interval => {
                error_bar(
                    picture,
                    Layer::Legend,
                    centre.x,
                    middle - 0.5 * size,
                    middle + 0.5 * size,
                    size / 20.0,
                );
                let look = MarkerLook::Filled(GREY);
                draw_marker(
                    picture,
                    Layer::Legend,
                    Marker::Circle,
                    centre,
                    0.3 * size,
                    look,
                );
            }
            Sample::Hatched => {
                let area = Area {
                    left,
                    right,
                    top: middle - 0.42 * size,
                    bottom: middle + 0.42 * size,
                };
                hatch(picture, Layer::Legend, area, size / 20.0);
                let mut rim = area.corners();
                rim.extend(rim.first().copied());
                picture.stroke(Layer::Legend, &rim, Pen::solid(GREY, 0.05 * size));
            }
            Sample::Ringed => {
                let look = MarkerLook::Filled(GREY);
                draw_marker(
                    picture,
                    Layer::Legend,
                    Marker::Circle,
                    centre,
                    0.3 * size,
                    look,
                );
                ring(picture, Layer::Legend, centre, size / 20.0);
            }
        }
    }
}

fn entry_height(block: &Block) -> f64 {
    block.height() + 0.2 * block.size
}

/// Names the hatched heat times where a curve runs into them.
pub(super) fn unmeasured_entry(
    legend: &mut Legend,
    span: TimeSpan,
    mut times_s: impl Iterator<Item = f64>,
) {
    if times_s.any(|time_s| time_s < span.from_s || time_s > span.to_s) {
        legend.add(Sample::Hatched, "heat times not measured (extrapolated)");
        legend.add(
            Sample::Line {
                colour: GREY,
                dash: Dash::Dotted,
            },
            "extrapolated curve",
        );
    }
}
