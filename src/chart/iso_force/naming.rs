//! Writing the names of bands into them.

use crate::chart::frame::TICK_LABEL;
use crate::chart::label::emptiest;
use crate::chart::plot::Plot;
use crate::chart::scene::{Align, Area, Picture, Spot, Weight};
use crate::chart::text::{self, CAPITAL, LEADING};

/// Places across and down at which a name is tried.
const TRIED: u32 = 30;

/// Whether an outline holds a spot: an upward ray crosses its edge an odd number of times.
fn holds(outline: &[Spot], spot: Spot) -> bool {
    let next = outline.iter().skip(1).chain(outline.first());
    let crossed = outline.iter().zip(next).filter(|(from, to)| {
        if (from.x > spot.x) == (to.x > spot.x) {
            return false;
        }
        let share = (spot.x - from.x) / (to.x - from.x);
        from.y + share * (to.y - from.y) < spot.y
    });
    crossed.count() % 2 == 1
}

/// Writes a band's name where it lies in the band and on no line, on one line or on two; the legend
/// names it anyway.
pub(super) fn name_band(
    plot: &Plot,
    picture: &mut Picture,
    words: &str,
    outline: &[Spot],
    obstacles: &[Spot],
    taken: &mut Vec<Area>,
) {
    let size = TICK_LABEL * plot.magnification;
    let whole = text::width(words, size, Weight::Regular);
    for room in [1.01 * whole, 0.65 * whole] {
        let lines = text::wrap(words, size, Weight::Regular, room);
        let widest = lines
            .iter()
            .map(|line| text::width(line, size, Weight::Regular))
            .fold(0.0, f64::max);
        let (width, height) = (widest + size, (lines.len() as f64 + 0.25) * LEADING * size);
        let places = places_inside(plot.area, outline, width, height);
        let Some((place, true)) = emptiest(&places, obstacles, taken) else {
            continue;
        };
        for (row, line) in lines.iter().enumerate() {
            let baseline = place.top + (row as f64 + 0.75) * LEADING * size;
            let at = Spot::new(place.left + 0.5 * size, baseline + 0.1 * CAPITAL * size);
            plot.letter(picture, line, at, Align::Left);
        }
        taken.push(place);
        return;
    }
}

/// Places of a size whose corners lie in an outline, the nearest to the middle of them all first.
fn places_inside(area: Area, outline: &[Spot], width: f64, height: f64) -> Vec<Area> {
    let (spare_x, spare_y) = (area.width() - width, area.height() - height);
    if spare_x < 0.0 || spare_y < 0.0 {
        return Vec::new();
    }
    let share = |step: u32| f64::from(step) / f64::from(TRIED);
    let mut places: Vec<Area> = (0..=TRIED)
        .flat_map(|down| (0..=TRIED).map(move |across| (across, down)))
        .map(|(across, down)| {
            let left = area.left + spare_x * share(across);
            let top = area.top + spare_y * share(down);
            Area {
                left,
                top,
                right: left + width,
                bottom: top + height,
            }
        })
        .filter(|place| place.corners().iter().all(|spot| holds(outline, *spot)))
        .collect();
    let count = places.len().max(1) as f64;
    let middle = Spot::new(
        places.iter().map(|place| place.left).sum::<f64>() / count,
        places.iter().map(|place| place.top).sum::<f64>() / count,
    );
    let off = |place: &Area| middle.distance_to(Spot::new(place.left, place.top));
    places.sort_by(|one, other| off(one).total_cmp(&off(other)));
    places
}
