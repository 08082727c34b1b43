//! Finding places for words where they cover nothing.

use super::scene::{Area, Spot};

/// Moves labels along a line so that none overlaps, each as near to its wanted centre as the
/// others let it (least squares). `None` if they do not all fit between the ends.
///
/// R. E. Barlow et al., Statistical Inference under Order Restrictions (1972): pooling of
/// adjacent violators.
pub(super) fn spread(wanted: &[f64], sizes: &[f64], low: f64, high: f64) -> Option<Vec<f64>> {
    if wanted.len() != sizes.len() || sizes.iter().sum::<f64>() > high - low {
        return None;
    }
    let mut order: Vec<(usize, f64, f64)> = wanted
        .iter()
        .zip(sizes)
        .enumerate()
        .map(|(index, (centre, size))| (index, *centre, *size))
        .collect();
    order.sort_by(|left, right| left.1.total_cmp(&right.1).then(left.0.cmp(&right.0)));
    // How far each label's centre lies behind the first's lower edge when they stand close.
    let mut behind = 0.0;
    let offsets: Vec<f64> = order
        .iter()
        .map(|(_, _, size)| {
            let centre = behind + size / 2.0;
            behind += size;
            centre
        })
        .collect();
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for ((_, centre, _), offset) in order.iter().zip(&offsets) {
        let mut pool = (centre - offset, 1);
        while let Some(before) = pools.pop_if(|before| before.0 > pool.0) {
            let count = before.1 + pool.1;
            pool = (
                (before.0 * before.1 as f64 + pool.0 * pool.1 as f64) / count as f64,
                count,
            );
        }
        pools.push(pool);
    }
    let starts = pools
        .iter()
        .flat_map(|(start, count)| std::iter::repeat_n(*start, *count));
    let mut placed = vec![0.0; wanted.len()];
    for (((index, _, _), offset), start) in order.iter().zip(&offsets).zip(starts) {
        if let Some(place) = placed.get_mut(*index) {
            *place = start.clamp(low, high - behind) + offset;
        }
    }
    Some(placed)
}

/// The first of the places that touches nothing; else the one that touches least.
pub(super) fn emptiest(
    places: &[Area],
    obstacles: &[Spot],
    taken: &[Area],
) -> Option<(Area, bool)> {
    let hits = |place: &Area| {
        let spots = obstacles.iter().filter(|spot| place.holds(**spot)).count();
        spots + 1000 * taken.iter().filter(|area| area.overlaps(*place)).count()
    };
    let best = places
        .iter()
        .map(|place| (hits(place), place))
        .min_by_key(|(count, _)| *count)?;
    Some((*best.1, best.0 == 0))
}

/// Places of a size all over an area: its corners first, then its edges, then inside.
pub(super) fn places_in(area: Area, width: f64, height: f64) -> Vec<Area> {
    let (spare_x, spare_y) = (area.width() - width, area.height() - height);
    if spare_x < 0.0 || spare_y < 0.0 {
        return Vec::new();
    }
    let at = |across: f64, down: f64| {
        let (left, top) = (area.left + spare_x * across, area.top + spare_y * down);
        Area {
            left,
            top,
            right: left + width,
            bottom: top + height,
        }
    };
    let steps = [0.0, 1.0, 0.5, 0.25, 0.75];
    let mut places = vec![at(1.0, 0.0), at(0.0, 0.0), at(1.0, 1.0), at(0.0, 1.0)];
    for down in steps {
        for across in steps {
            places.push(at(across, down));
        }
    }
    places
}

/// Spots along a line no further apart than a step: what a label must not cover.
pub(super) fn sampled(path: &[Spot], step: f64) -> Vec<Spot> {
    let mut spots: Vec<Spot> = path.first().copied().into_iter().collect();
    for (from, to) in path.iter().zip(path.iter().skip(1)) {
        let count = (from.distance_to(*to) / step).ceil().clamp(1.0, 10_000.0) as usize;
        spots.extend((1..=count).map(|index| from.towards(*to, index as f64 / count as f64)));
    }
    spots
}
