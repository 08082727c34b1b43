//! Lines that several charts share: cased lines, error bars, hatching, rings.

use super::clip::clip_line;
use super::palette::{Colour, HATCH, INK};
use super::scene::{Area, Dash, Layer, Pen, Picture, Spot};

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct LineLook {
    pub(super) colour: Colour,
    pub(super) width: f64,
    pub(super) dash: Dash,
}

/// A line that shows on white: a pale colour is laid on a wider dark one.
pub(super) fn cased_line(picture: &mut Picture, layer: Layer, path: &[Spot], look: LineLook) {
    if look.colour.is_pale() {
        let casing = Pen {
            colour: INK,
            width: 1.7 * look.width,
            dash: look.dash,
            dash_unit: look.width,
        };
        picture.stroke(layer, path, casing);
    }
    picture.stroke(layer, path, Pen::dashed(look.colour, look.width, look.dash));
}

/// An upright bar with a foot at each end.
pub(super) fn error_bar(
    picture: &mut Picture,
    layer: Layer,
    x: f64,
    top: f64,
    bottom: f64,
    magnification: f64,
) {
    let pen = Pen::solid(INK, 2.0 * magnification);
    let foot = 6.0 * magnification;
    picture.stroke(layer, &[Spot::new(x, top), Spot::new(x, bottom)], pen);
    for y in [top, bottom] {
        picture.stroke(
            layer,
            &[Spot::new(x - foot, y), Spot::new(x + foot, y)],
            pen,
        );
    }
}

/// Slanting lines over an area: nothing was measured there.
pub(super) fn hatch(picture: &mut Picture, layer: Layer, area: Area, magnification: f64) {
    let step = 12.0 * magnification;
    let rise = area.height();
    // One at a time from the left, each a diagonal cut to the area.
    let count = ((area.width() + rise) / step).ceil().clamp(0.0, 5_000.0) as usize;
    for index in 1..=count {
        let foot = area.left - rise + index as f64 * step;
        let line = [
            Spot::new(foot, area.bottom),
            Spot::new(foot + rise, area.top),
        ];
        for piece in clip_line(&line, area) {
            picture.stroke(layer, &piece, Pen::solid(HATCH, 1.3 * magnification));
        }
    }
}

/// A ring around a point, to say that its row is named.
pub(super) fn ring(picture: &mut Picture, layer: Layer, centre: Spot, magnification: f64) {
    let radius = 12.5 * magnification;
    let circle: Vec<Spot> = (0..=36)
        .map(|step| f64::from(step * 10).to_radians().sin_cos())
        .map(|(sine, cosine)| Spot::new(centre.x + radius * cosine, centre.y + radius * sine))
        .collect();
    picture.stroke(layer, &circle, Pen::solid(INK, 2.2 * magnification));
}
