//! Drawing what surrounds the data: watermark, grid, axes.

use super::axis::Tick;
use super::frame::{AXIS_TITLE, TICK_LABEL};
use super::palette::{GRID, INK, SOFT_INK, WATERMARK};
use super::plot::Plot;
use super::scene::{Align, Layer, Lettering, Pen, Picture, Spot, Weight};
use super::text::{self, Block, CAPITAL, LEADING};

impl Plot {
    pub(super) fn draw_watermark(&self, picture: &mut Picture) {
        let words = "invented data";
        let at_one = text::width(words, 1.0, Weight::Bold);
        let size = (0.86 * self.area.width() / at_one).min(0.8 * self.area.height());
        let middle = Spot::new(
            self.area.left + self.area.width() / 2.0,
            self.area.top + self.area.height() / 2.0 + size * CAPITAL / 2.0,
        );
        picture.letter(
            Layer::Watermark,
            Lettering {
                text: words.to_string(),
                at: middle,
                align: Align::Centre,
                size,
                weight: Weight::Bold,
                colour: WATERMARK,
                upwards: false,
            },
        );
    }

    pub(super) fn draw_grid(&self, picture: &mut Picture, x_ticks: &[Tick], y_ticks: &[Tick]) {
        let pen = Pen::solid(GRID, self.magnification);
        for tick in x_ticks.iter().filter(|tick| !tick.label.is_empty()) {
            let x = self.x_pixel(tick.at);
            picture.stroke(
                Layer::Grid,
                &[Spot::new(x, self.area.top), Spot::new(x, self.area.bottom)],
                pen,
            );
        }
        for tick in y_ticks.iter().filter(|tick| !tick.label.is_empty()) {
            let y = self.y_pixel(tick.at);
            picture.stroke(
                Layer::Grid,
                &[Spot::new(self.area.left, y), Spot::new(self.area.right, y)],
                pen,
            );
        }
    }

    fn tick_label(&self, layer: Layer, picture: &mut Picture, words: &str, at: Spot, align: Align) {
        picture.letter(
            layer,
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

    fn title(
        &self,
        layer: Layer,
        picture: &mut Picture,
        line: &str,
        at: Spot,
        size: f64,
        upwards: bool,
    ) {
        picture.letter(
            layer,
            Lettering {
                text: line.to_string(),
                at,
                align: Align::Centre,
                size,
                weight: Weight::Regular,
                colour: INK,
                upwards,
            },
        );
    }

    fn spine(&self) -> Pen {
        Pen::solid(SOFT_INK, 2.0 * self.magnification)
    }

    fn tick_length(&self, tick: &Tick) -> f64 {
        if tick.label.is_empty() {
            4.0 * self.magnification
        } else {
            7.0 * self.magnification
        }
    }

    pub(super) fn draw_x_axis(&self, picture: &mut Picture, ticks: &[Tick], title: &Block) {
        let (m, bottom) = (self.magnification, self.area.bottom);
        let size = TICK_LABEL * m;
        picture.stroke(
            Layer::XAxis,
            &[
                Spot::new(self.area.left, bottom),
                Spot::new(self.area.right, bottom),
            ],
            self.spine(),
        );
        for tick in ticks {
            let x = self.x_pixel(tick.at);
            let foot = bottom + self.tick_length(tick);
            picture.stroke(
                Layer::XAxis,
                &[Spot::new(x, bottom), Spot::new(x, foot)],
                self.spine(),
            );
            let at = Spot::new(x, foot + 0.35 * size + CAPITAL * size);
            self.tick_label(Layer::XAxis, picture, &tick.label, at, Align::Centre);
        }
        let mut baseline = bottom + 7.0 * m + 1.4 * size + title.size;
        let middle = self.area.left + self.area.width() / 2.0;
        for line in &title.lines {
            self.title(
                Layer::XAxis,
                picture,
                line,
                Spot::new(middle, baseline),
                title.size,
                false,
            );
            baseline += title.size * LEADING;
        }
    }

    pub(super) fn draw_y_axis(
        &self,
        picture: &mut Picture,
        ticks: &[Tick],
        title: &Block,
        left_of_all: f64,
    ) {
        let left = self.area.left;
        let size = TICK_LABEL * self.magnification;
        picture.stroke(
            Layer::YAxis,
            &[
                Spot::new(left, self.area.bottom),
                Spot::new(left, self.area.top),
            ],
            self.spine(),
        );
        for tick in ticks {
            let y = self.y_pixel(tick.at);
            let foot = left - self.tick_length(tick);
            picture.stroke(
                Layer::YAxis,
                &[Spot::new(foot, y), Spot::new(left, y)],
                self.spine(),
            );
            let at = Spot::new(foot - 4.0 * self.magnification, y + CAPITAL * size / 2.0);
            self.tick_label(Layer::YAxis, picture, &tick.label, at, Align::Right);
        }
        let mut baseline = left_of_all + title.size * 0.95;
        let middle = self.area.top + self.area.height() / 2.0;
        for line in &title.lines {
            self.title(
                Layer::YAxis,
                picture,
                line,
                Spot::new(baseline, middle),
                title.size,
                true,
            );
            baseline += title.size * LEADING;
        }
    }

    pub(super) fn draw_top_axis(&self, picture: &mut Picture, ticks: &[Tick], title: &str) {
        let (m, top) = (self.magnification, self.area.top);
        let size = TICK_LABEL * m;
        picture.stroke(
            Layer::TopAxis,
            &[
                Spot::new(self.area.left, top),
                Spot::new(self.area.right, top),
            ],
            self.spine(),
        );
        for tick in ticks {
            let x = self.x_pixel(tick.at);
            picture.stroke(
                Layer::TopAxis,
                &[Spot::new(x, top - 7.0 * m), Spot::new(x, top)],
                self.spine(),
            );
            let at = Spot::new(x, top - 7.0 * m - 0.35 * size);
            self.tick_label(Layer::TopAxis, picture, &tick.label, at, Align::Centre);
        }
        let at = Spot::new(
            self.area.left + self.area.width() / 2.0,
            top - 7.0 * m - 1.5 * size,
        );
        self.title(Layer::TopAxis, picture, title, at, AXIS_TITLE * m, false);
    }
}
