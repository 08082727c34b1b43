//! Writing names into and around the plot: along a level strip, at the ends of lines, in a box.

use super::frame::TICK_LABEL;
use super::label::{emptiest, places_in, spread};
use super::palette::{GREY, INK, WHITE};
use super::plot::Plot;
use super::scene::{Align, Area, Layer, Lettering, Pen, Picture, Spot, Weight};
use super::text::{self, Block, CAPITAL, LEADING};

/// Writes words along a level strip where they touch nothing. Whether there was such a place.
pub(super) fn name_strip(
    plot: &Plot,
    picture: &mut Picture,
    words: &str,
    strip: Area,
    obstacles: &[Spot],
    taken: &mut Vec<Area>,
) -> bool {
    let words = text::clean(words);
    let size = TICK_LABEL * plot.magnification;
    let width = text::width(&words, size, Weight::Regular);
    let spare = strip.width() - width - size;
    if words.is_empty() || spare < 0.0 {
        return false;
    }
    let places: Vec<Area> = (0..=20)
        .map(|step| strip.left + size / 2.0 + spare * f64::from(step) / 20.0)
        .map(|left| Area {
            left,
            right: left + width,
            ..strip
        })
        .collect();
    let roomy: Vec<Area> = places
        .iter()
        .map(|place| place.grown(5.0 * plot.magnification))
        .collect();
    let Some((place, true)) = emptiest(&roomy, obstacles, taken) else {
        return false;
    };
    let baseline = (strip.top + strip.bottom) / 2.0 + CAPITAL * size / 2.0;
    let at = Spot::new(place.left + 5.0 * plot.magnification, baseline);
    plot.letter(picture, &words, at, Align::Left);
    taken.push(place);
    true
}

/// Writes names at the ends of lines: above the plot where a line leaves
/// through its top, else to the right of the end. Returns what the names cover.
pub(super) fn name_ends(plot: &Plot, picture: &mut Picture, ends: &[(Spot, String)]) -> Vec<Area> {
    let m = plot.magnification;
    let size = TICK_LABEL * m;
    let mut taken = Vec::new();
    let near = 0.5 * m;
    let (above, beside): (Vec<_>, Vec<_>) = ends
        .iter()
        .partition(|(end, _)| end.y <= plot.area.top + near && end.x < plot.area.right - near);
    let (at_right, inside): (Vec<_>, Vec<_>) = beside
        .into_iter()
        .partition(|(end, _)| end.x >= plot.area.right - near);

    let wanted: Vec<f64> = above.iter().map(|(end, _)| end.x).collect();
    let widths: Vec<f64> = above
        .iter()
        .map(|(_, name)| text::width(name, size, Weight::Regular) + 10.0 * m)
        .collect();
    if let Some(places) = spread(
        &wanted,
        &widths,
        plot.area.left - size,
        plot.area.right + 2.0 * size,
    ) {
        for ((end, name), x) in above.iter().zip(places) {
            let foot = plot.area.top - 16.0 * m;
            let leader = [*end, Spot::new(x, foot)];
            picture.stroke(Layer::Labels, &leader, Pen::solid(GREY, 1.5 * m));
            plot.letter(picture, name, Spot::new(x, foot - 5.0 * m), Align::Centre);
        }
    }
    let wanted: Vec<f64> = at_right.iter().map(|(end, _)| end.y).collect();
    let heights = vec![1.15 * size; at_right.len()];
    if let Some(places) = spread(
        &wanted,
        &heights,
        plot.area.top - size,
        plot.area.bottom + 0.6 * size,
    ) {
        for ((end, name), y) in at_right.iter().zip(places) {
            let left = plot.area.right + 20.0 * m;
            picture.stroke(
                Layer::Labels,
                &[*end, Spot::new(left - 3.0 * m, y)],
                Pen::solid(GREY, 1.5 * m),
            );
            plot.letter(
                picture,
                name,
                Spot::new(left, y + CAPITAL * size / 2.0),
                Align::Left,
            );
        }
    }
    for (end, name) in inside {
        let at = Spot::new(end.x + 8.0 * m, end.y + CAPITAL * size / 2.0);
        let width = text::width(name, size, Weight::Regular);
        taken.push(Area {
            left: at.x,
            right: at.x + width,
            top: at.y - size,
            bottom: at.y + (LEADING - 1.0) * size,
        });
        plot.letter(picture, name, at, Align::Left);
    }
    taken
}

/// Writes words into a box in the emptiest part of the plot, on a sheet so that the grid does not run
/// through them.
pub(super) fn boxed_words(
    plot: &Plot,
    picture: &mut Picture,
    words: &str,
    (size, weight): (f64, Weight),
    lines_wanted: usize,
    obstacles: &[Spot],
) {
    let m = plot.magnification;
    let inner = plot.area.grown(-14.0 * m);
    let block = Block::fit(words, size * m, weight, 0.55 * inner.width(), lines_wanted);
    let Some((area, _)) = emptiest(
        &places_in(inner, block.width(), block.height()),
        obstacles,
        &[],
    ) else {
        return;
    };
    let sheet: Area = area.grown(6.0 * m);
    picture.fill(Layer::Labels, sheet.corners(), WHITE, 0.85);
    let mut rim = sheet.corners();
    rim.extend(rim.first().copied());
    picture.stroke(Layer::Labels, &rim, Pen::solid(GREY, m));
    for (row, words) in block.lines.iter().enumerate() {
        let baseline = area.top + block.size + row as f64 * block.size * LEADING;
        picture.letter(
            Layer::Labels,
            Lettering {
                text: words.clone(),
                at: Spot::new(area.left, baseline),
                align: Align::Left,
                size: block.size,
                weight,
                colour: INK,
                upwards: false,
            },
        );
    }
}
