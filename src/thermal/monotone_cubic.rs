//! Interpolation that keeps the shape of its points: no overshoot, no wiggle between two readings.

/// A piecewise cubic that rises where its points rise, falls where they fall and is level where
/// they are level; its slope has no jump.
///
/// # Equation
/// Between two points the cubic Hermite polynomial of the values and the slopes `d`. At an inner
/// point between chords of slope `m1` (length `h1`) and `m2` (`h2`): `d = 0` where they differ in
/// sign or one is zero, else the weighted harmonic mean
/// `(w1 + w2)/d = w1/m1 + w2/m2`, `w1 = 2 h2 + h1`, `w2 = h2 + 2 h1`. At an end
/// `d = [(2 h1 + h2) m1 - h1 m2]/(h1 + h2)`, zero where it differs in sign from `m1`, at most
/// `3 m1` where `m1` and `m2` differ in sign. Two points: a straight line.
///
/// # Valid for
/// Strictly rising abscissas.
///
/// # Source
/// F. N. Fritsch, R. E. Carlson, Monotone piecewise cubic interpolation, SIAM J. Numer. Anal. 17
/// (1980) 238, doi 10.1137/0717021 (the condition on the slopes); F. N. Fritsch, J. Butland, A
/// method for constructing local monotone piecewise cubic interpolants, SIAM J. Sci. Stat. Comput.
/// 5 (1984) 300, doi 10.1137/0905021 (the slopes); ends: C. Moler, Numerical Computing with
/// MATLAB, 2004, section 3.6 (all from memory). The same choices as scipy's `PchipInterpolator`.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct MonotoneCubic {
    knots: Vec<Knot>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Knot {
    at: f64,
    value: f64,
    slope: f64,
}

impl MonotoneCubic {
    /// Through points whose abscissas rise strictly; the caller has checked that they do.
    pub(crate) fn through(points: impl IntoIterator<Item = (f64, f64)>) -> Self {
        let mut knots: Vec<Knot> = points
            .into_iter()
            .map(|(at, value)| Knot {
                at,
                value,
                slope: 0.0,
            })
            .collect();
        let chords: Vec<(f64, f64)> = knots
            .windows(2)
            .filter_map(|pair| match pair {
                [a, b] => Some((b.at - a.at, (b.value - a.value) / (b.at - a.at))),
                _ => None,
            })
            .collect();
        let count = knots.len();
        for (number, knot) in knots.iter_mut().enumerate() {
            let before = number.checked_sub(1).and_then(|place| chords.get(place));
            let after = chords.get(number);
            knot.slope = match (before, after) {
                (Some(before), Some(after)) => inner_slope(*before, *after),
                (None, Some(first)) => end_slope(*first, chords.get(1).copied()),
                (Some(last), None) => end_slope(
                    *last,
                    count
                        .checked_sub(3)
                        .and_then(|place| chords.get(place))
                        .copied(),
                ),
                (None, None) => 0.0,
            };
        }
        Self { knots }
    }

    /// Value and slope; held constant outside the points.
    pub(crate) fn at(&self, at: f64) -> (f64, f64) {
        let above = self.knots.partition_point(|knot| knot.at <= at);
        let (Some(left), Some(right)) = (
            above.checked_sub(1).and_then(|place| self.knots.get(place)),
            self.knots.get(above),
        ) else {
            return match (self.knots.first(), self.knots.last()) {
                (Some(first), _) if at < first.at => (first.value, 0.0),
                (_, Some(last)) if at > last.at => (last.value, 0.0),
                (_, Some(last)) => (last.value, last.slope),
                _ => (0.0, 0.0),
            };
        };
        let length = right.at - left.at;
        let chord = (right.value - left.value) / length;
        let s = at - left.at;
        let quadratic = (3.0 * chord - 2.0 * left.slope - right.slope) / length;
        let cubic = (left.slope + right.slope - 2.0 * chord) / (length * length);
        (
            left.value + s * (left.slope + s * (quadratic + s * cubic)),
            left.slope + s * (2.0 * quadratic + s * 3.0 * cubic),
        )
    }
}

fn inner_slope((h1, m1): (f64, f64), (h2, m2): (f64, f64)) -> f64 {
    if m1 * m2 <= 0.0 {
        return 0.0;
    }
    let (w1, w2) = (2.0 * h2 + h1, h2 + 2.0 * h1);
    (w1 + w2) / (w1 / m1 + w2 / m2)
}

fn end_slope((h1, m1): (f64, f64), next: Option<(f64, f64)>) -> f64 {
    let Some((h2, m2)) = next else {
        return m1;
    };
    let slope = ((2.0 * h1 + h2) * m1 - h1 * m2) / (h1 + h2);
    if slope * m1 <= 0.0 {
        0.0
    } else if m1 * m2 < 0.0 && slope.abs() > 3.0 * m1.abs() {
        3.0 * m1
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Values and slopes of scipy 1.17.1 PchipInterpolator, written by tests/references/pchip.py;
    /// the set rpn14 is that of Fritsch & Carlson 1980.
    const SCIPY: &str = include_str!("../../tests/data/pchip.csv");

    fn rows(set: &str, kind: &str) -> Vec<[f64; 3]> {
        SCIPY
            .lines()
            .skip(2)
            .map(|line| line.split(',').collect::<Vec<_>>())
            .filter(|cells| cells[0] == set && cells[1] == kind)
            .map(|cells| [2, 3, 4].map(|place| cells[place].parse().unwrap_or(f64::NAN)))
            .collect()
    }

    #[test]
    fn values_and_slopes_are_scipys() {
        for set in ["rpn14", "warm_up", "two_points", "ends"] {
            let spline =
                MonotoneCubic::through(rows(set, "knot").iter().map(|row| (row[0], row[1])));
            let values = rows(set, "value");
            assert!(values.len() >= 25, "{set} {}", values.len());
            for [at, value, slope] in values {
                let (ours, our_slope) = spline.at(at);
                assert_abs_diff_eq!(ours, value, epsilon = 1e-12 * value.abs().max(1.0));
                assert_abs_diff_eq!(our_slope, slope, epsilon = 1e-10 * slope.abs().max(1.0));
            }
        }
    }

    /// F. N. Fritsch, R. E. Carlson 1980: the interpolant of monotone data is monotone.
    #[test]
    fn the_rpn14_data_stay_monotone_where_a_spline_swings() {
        let knots = rows("rpn14", "knot");
        let spline = MonotoneCubic::through(knots.iter().map(|row| (row[0], row[1])));
        let mut before = 0.0;
        for step in 0..=12_010 {
            let value = spline.at(7.99 + f64::from(step) * 1e-3).0;
            assert!(
                value >= before && (0.0..=1.0).contains(&value),
                "{step} {value}"
            );
            before = value;
        }
    }

    #[test]
    fn outside_the_points_the_end_values_are_held() {
        let spline = MonotoneCubic::through([(0.0, 1.0), (1.0, 2.0), (3.0, 3.0)]);
        assert_eq!(spline.at(-5.0), (1.0, 0.0));
        assert_eq!(spline.at(9.0), (3.0, 0.0));
    }
}
