//! What every chart has around its plot: banners, title, subtitle, note, and the room left over.

use super::error::ChartError;
use super::palette::{BANNER, BANNER_INK, Colour, INK, SOFT_INK, WHITE};
use super::scene::{Align, Area, Layer, Lettering, Picture, Spot, Weight};
use super::size::ChartSize;
use super::text::{self, Block, LEADING};

/// The words around a chart.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ChartWords {
    /// States the finding. Wrapped, then made smaller, never cut.
    pub title: String,
    /// What it stands on: calibration, lots, readings.
    pub subtitle: String,
    /// At the foot: the cautions. A line break is kept.
    pub note: String,
    /// The readings were made up: said in a banner and across the plot.
    pub invented: bool,
    /// What is shown lies outside what was measured: said in a banner.
    pub extrapolated: bool,
}

/// A stretch of heat time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimeSpan {
    /// Its beginning in seconds.
    pub from_s: f64,
    /// Its end in seconds.
    pub to_s: f64,
}

const INVENTED: &str =
    "This chart shows invented data, made up to try the tool with; nothing here was measured.";
const EXTRAPOLATED: &str = "Extrapolated: part of this lies outside what was measured.";

/// Letter sizes in pixels of a 1200 x 800 picture.
pub(super) const AXIS_TITLE: f64 = 24.0;
pub(super) const TICK_LABEL: f64 = 20.0;
pub(super) const LEGEND: f64 = 20.0;
const TITLE: f64 = 30.0;
const SUBTITLE: f64 = 20.0;
const BANNER_WORDS: f64 = 21.0;
const NOTE: f64 = 16.0;
const MARGIN: f64 = 22.0;

/// A picture with its words in place, and the room left for the plot.
pub(super) struct Frame {
    pub(super) picture: Picture,
    pub(super) magnification: f64,
    pub(super) room: Area,
    pub(super) invented: bool,
}

impl Frame {
    /// Paints the ground white and sets the words. `unseen` counts the values that the axes
    /// cannot show; where there are any, the note says so.
    pub(super) fn open(
        size: ChartSize,
        words: &ChartWords,
        unseen: Unseen,
    ) -> Result<Self, ChartError> {
        text::prepare_fonts()?;
        let magnification = size.magnification();
        let (width, height) = (f64::from(size.width_px()), f64::from(size.height_px()));
        let whole = Area {
            left: 0.0,
            top: 0.0,
            right: width,
            bottom: height,
        };
        let banners: Vec<&str> = [
            (words.invented, INVENTED),
            (words.extrapolated, EXTRAPOLATED),
        ]
        .into_iter()
        .filter(|(shown, _)| *shown)
        .map(|(_, banner)| banner)
        .collect();
        let description = [&words.subtitle, &banners.join(" "), &words.note]
            .into_iter()
            .map(|part| text::clean(part))
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join(" ");
        let picture = Picture::new(size, text::clean(&words.title), description);
        let mut frame = Frame {
            picture,
            magnification,
            room: whole,
            invented: words.invented,
        };
        frame
            .picture
            .fill(Layer::Ground, whole.corners(), WHITE, 1.0);
        for banner in banners {
            frame.set_banner(banner);
        }
        let margin = MARGIN * magnification;
        frame.room = Area {
            left: margin,
            top: frame.room.top + 0.6 * margin,
            right: width - margin,
            bottom: height - 0.6 * margin,
        };
        frame.set_at_top(&words.title, TITLE, Weight::Bold, INK);
        frame.set_at_top(&words.subtitle, SUBTITLE, Weight::Regular, SOFT_INK);
        let note = [words.note.trim_end(), &unseen.in_words()].join("\n");
        frame.set_at_foot(note.trim());
        Ok(frame)
    }

    fn set_banner(&mut self, words: &str) {
        let size = BANNER_WORDS * self.magnification;
        let block = Block::fit(words, size, Weight::Bold, self.room.width() - 2.0 * size, 1);
        let strip = Area {
            bottom: self.room.top + block.height() + 0.6 * size,
            ..self.room
        };
        self.picture
            .fill(Layer::Ground, strip.corners(), BANNER, 1.0);
        let mut baseline = strip.top + 0.35 * size + block.size;
        for line in &block.lines {
            self.letter(
                line,
                Spot::new(strip.left + strip.width() / 2.0, baseline),
                Align::Centre,
                &block,
                BANNER_INK,
            );
            baseline += block.size * LEADING;
        }
        // A hair of white between two banners.
        self.room.top = strip.bottom + 2.0 * self.magnification;
    }

    fn set_at_top(&mut self, words: &str, size: f64, weight: Weight, colour: Colour) {
        let (room, size) = (self.room.width(), size * self.magnification);
        let two_lines = Block::fit(words, size, weight, room, 2);
        // Rather a third line than letters smaller than those of the axes.
        let block = if two_lines.size < 0.77 * size {
            Block::fit(words, size, weight, room, 3)
        } else {
            two_lines
        }
        .balanced(words, room);
        for line in &block.lines {
            let at = Spot::new(self.room.left, self.room.top + block.size);
            self.letter(line, at, Align::Left, &block, colour);
            self.room.top += block.size * LEADING;
        }
        if !block.lines.is_empty() {
            self.room.top += 4.0 * self.magnification;
        }
    }

    fn set_at_foot(&mut self, words: &str) {
        let block = Block::fit(
            words,
            NOTE * self.magnification,
            Weight::Regular,
            self.room.width(),
            4,
        );
        self.room.bottom -= block.height();
        let mut baseline = self.room.bottom + block.size;
        for line in &block.lines {
            let at = Spot::new(self.room.left, baseline);
            self.letter(line, at, Align::Left, &block, SOFT_INK);
            baseline += block.size * LEADING;
        }
        if !block.lines.is_empty() {
            self.room.bottom -= 6.0 * self.magnification;
        }
    }

    fn letter(&mut self, line: &str, at: Spot, align: Align, block: &Block, colour: Colour) {
        let lettering = Lettering {
            text: line.to_string(),
            at,
            align,
            size: block.size,
            weight: block.weight,
            colour,
            upwards: false,
        };
        self.picture.letter(Layer::Words, lettering);
    }
}

/// Values that the axes cannot show, counted so that none is dropped in silence.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Unseen {
    /// Not a number, or infinite.
    pub(super) not_finite: usize,
    /// Zero or less, for a logarithmic axis.
    pub(super) not_positive: usize,
}

impl Unseen {
    /// Counts a point with two coordinates, each with whether its axis is logarithmic.
    pub(super) fn count(&mut self, coordinates: [(f64, super::AxisKind); 2]) {
        if coordinates.iter().any(|(value, _)| !value.is_finite()) {
            self.not_finite += 1;
        } else if coordinates
            .iter()
            .any(|(value, kind)| !super::axis::can_show(*kind, *value))
        {
            self.not_positive += 1;
        }
    }

    fn in_words(self) -> String {
        let points = |count: usize| {
            if count == 1 {
                "1 point".to_string()
            } else {
                format!("{count} points")
            }
        };
        let mut parts = Vec::new();
        if self.not_positive > 0 {
            parts.push(format!(
                "{} at zero or less, which a logarithmic axis cannot show",
                points(self.not_positive)
            ));
        }
        if self.not_finite > 0 {
            parts.push(format!(
                "{} without a finite value",
                points(self.not_finite)
            ));
        }
        if parts.is_empty() {
            String::new()
        } else {
            format!("Not drawn: {}.", parts.join("; "))
        }
    }
}
