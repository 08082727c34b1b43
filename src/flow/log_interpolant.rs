//! A curve through measured points in logarithms, that rises wherever its points rise.

/// A point of a table in logarithms, with the slope of the curve there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Knot {
    pub ln_rate: f64,
    pub ln_stress: f64,
    pub slope: f64,
}

/// ln stress over ln rate by piecewise cubics; a straight line past both ends, which is a
/// power law.
///
/// Slopes at inner points: the weighted harmonic mean of the slopes of the chords on both
/// sides, w1 = 2 h2 + h1, w2 = h2 + 2 h1 (F. N. Fritsch, J. Butland, SIAM Journal on
/// Scientific and Statistical Computing 5, 1984, 300-304, from memory), which keep the
/// curve monotone between two points (F. N. Fritsch, R. E. Carlson, SIAM Journal on
/// Numerical Analysis 17, 1980, 238-246, from memory). At an end the slope is that of the
/// outermost chord, so that the power law past it is the one through the last two points.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LogInterpolant {
    knots: Vec<Knot>,
}

/// ln stress and d ln stress/d ln rate at a place.
pub(super) struct LogPoint {
    pub ln_stress: f64,
    pub slope: f64,
}

impl LogInterpolant {
    /// Through at least two points whose rates and stresses rise strictly; the caller has
    /// checked that they do.
    pub(super) fn through(points: impl Iterator<Item = (f64, f64)>) -> Self {
        let mut knots: Vec<Knot> = points
            .map(|(rate, stress)| Knot {
                ln_rate: rate.ln(),
                ln_stress: stress.ln(),
                slope: 1.0,
            })
            .collect();
        let chords: Vec<(f64, f64)> = knots
            .iter()
            .zip(knots.iter().skip(1))
            .map(|(a, b)| {
                let length = b.ln_rate - a.ln_rate;
                (length, (b.ln_stress - a.ln_stress) / length)
            })
            .collect();
        for (number, knot) in knots.iter_mut().enumerate() {
            let before = number.checked_sub(1).and_then(|place| chords.get(place));
            knot.slope = match (before, chords.get(number)) {
                (Some(&(h1, m1)), Some(&(h2, m2))) => {
                    let (w1, w2) = (2.0 * h2 + h1, h2 + 2.0 * h1);
                    (w1 + w2) / (w1 / m1 + w2 / m2)
                }
                (Some(&(_, slope)), None) | (None, Some(&(_, slope))) => slope,
                (None, None) => 1.0,
            };
        }
        Self { knots }
    }

    pub(super) fn knots(&self) -> &[Knot] {
        &self.knots
    }

    /// Number of knots at or under a place.
    pub(super) fn knots_up_to(&self, ln_rate: f64) -> usize {
        self.knots.partition_point(|knot| knot.ln_rate <= ln_rate)
    }

    pub(super) fn at(&self, ln_rate: f64) -> LogPoint {
        let above = self.knots_up_to(ln_rate);
        let left = above.checked_sub(1).and_then(|place| self.knots.get(place));
        match (left, self.knots.get(above)) {
            (Some(left), Some(right)) => between(left, right, ln_rate),
            (Some(end), None) | (None, Some(end)) => LogPoint {
                ln_stress: end.ln_stress + end.slope * (ln_rate - end.ln_rate),
                slope: end.slope,
            },
            (None, None) => LogPoint {
                ln_stress: ln_rate,
                slope: 1.0,
            },
        }
    }
}

/// The cubic of two knots' values and slopes.
fn between(left: &Knot, right: &Knot, ln_rate: f64) -> LogPoint {
    let length = right.ln_rate - left.ln_rate;
    let chord = (right.ln_stress - left.ln_stress) / length;
    let s = ln_rate - left.ln_rate;
    let quadratic = (3.0 * chord - 2.0 * left.slope - right.slope) / length;
    let cubic = (left.slope + right.slope - 2.0 * chord) / (length * length);
    LogPoint {
        ln_stress: left.ln_stress + s * (left.slope + s * (quadratic + s * cubic)),
        slope: left.slope + s * (2.0 * quadratic + s * 3.0 * cubic),
    }
}
