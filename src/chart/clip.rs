//! Cutting lines and bands to the plot rectangle. The drawing library would press points that
//! lie outside onto the frame and draw a false line along it.

use super::scene::{Area, Spot};

/// Places further off are drawn to here: lines to them run just as steeply to the eye, and
/// cutting them does not lose all digits.
const FARTHEST: f64 = 1e7;

/// The place, or the one nearest to it that can be calculated with; `None` if it is no number.
fn within_reach(spot: Spot) -> Option<Spot> {
    spot.is_finite().then(|| {
        Spot::new(
            spot.x.clamp(-FARTHEST, FARTHEST),
            spot.y.clamp(-FARTHEST, FARTHEST),
        )
    })
}

/// The parts of a line that lie in the area. Breaks where a place is no number.
pub(super) fn clip_line(path: &[Spot], area: Area) -> Vec<Vec<Spot>> {
    let mut pieces: Vec<Vec<Spot>> = Vec::new();
    let mut piece: Vec<Spot> = Vec::new();
    for (from, to) in path.iter().zip(path.iter().skip(1)) {
        match clip_segment(*from, *to, area) {
            Some((start, end)) => {
                if piece.last() != Some(&start) {
                    if piece.len() > 1 {
                        pieces.push(std::mem::take(&mut piece));
                    }
                    piece = vec![start];
                }
                piece.push(end);
            }
            None => {
                if piece.len() > 1 {
                    pieces.push(std::mem::take(&mut piece));
                }
                piece.clear();
            }
        }
    }
    if piece.len() > 1 {
        pieces.push(piece);
    }
    pieces
}

/// Y.-D. Liang and B. A. Barsky, A new concept and method for line clipping, ACM Transactions
/// on Graphics 3 (1984) 1-22.
fn clip_segment(from: Spot, to: Spot, area: Area) -> Option<(Spot, Spot)> {
    let (from, to) = (within_reach(from)?, within_reach(to)?);
    let (run, rise) = (to.x - from.x, to.y - from.y);
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (toward, room) in [
        (-run, from.x - area.left),
        (run, area.right - from.x),
        (-rise, from.y - area.top),
        (rise, area.bottom - from.y),
    ] {
        if toward == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if toward < 0.0 {
            enter = enter.max(room / toward);
        } else {
            leave = leave.min(room / toward);
        }
    }
    if enter > leave {
        return None;
    }
    let inside = |spot: Spot| {
        // Rounding may leave the edge by the last digit.
        Spot::new(
            spot.x.clamp(area.left, area.right),
            spot.y.clamp(area.top, area.bottom),
        )
    };
    let start = if enter > 0.0 {
        inside(from.towards(to, enter))
    } else {
        from
    };
    let end = if leave < 1.0 {
        inside(from.towards(to, leave))
    } else {
        to
    };
    Some((start, end))
}

/// The part of a filled outline that lies in the area.
///
/// I. E. Sutherland and G. W. Hodgman, Reentrant polygon clipping, Communications of the ACM 17
/// (1974) 32-42.
pub(super) fn clip_outline(outline: &[Spot], area: Area) -> Vec<Spot> {
    type Inside = fn(Spot, Area) -> f64;
    // Each: how far inside of one edge, negative outside.
    let edges: [Inside; 4] = [
        |spot, area| spot.x - area.left,
        |spot, area| area.right - spot.x,
        |spot, area| spot.y - area.top,
        |spot, area| area.bottom - spot.y,
    ];
    let mut kept: Vec<Spot> = outline.iter().copied().filter_map(within_reach).collect();
    for inside in edges {
        let mut next = Vec::with_capacity(kept.len() + 4);
        let before = kept.last().copied().into_iter().chain(kept.iter().copied());
        for (from, to) in before.zip(kept.iter().copied()) {
            let (from_depth, to_depth) = (inside(from, area), inside(to, area));
            if (from_depth >= 0.0) != (to_depth >= 0.0) {
                next.push(from.towards(to, from_depth / (from_depth - to_depth)));
            }
            if to_depth >= 0.0 {
                next.push(to);
            }
        }
        kept = next;
    }
    kept.iter()
        .map(|spot| {
            Spot::new(
                spot.x.clamp(area.left, area.right),
                spot.y.clamp(area.top, area.bottom),
            )
        })
        .collect()
}
