//! Weissenberg and Rabinowitsch from data: the true shear rate at a capillary's wall, from pushes
//! at several rates.

use serde::Serialize;

use super::pipe::rabinowitsch_ratio;

/// Distinct rates that a bent line needs.
const LEAST_RATES_FOR_A_BEND: usize = 5;
/// Rates nearer to one another than this share are the same rate, taken again.
const SAME_RATE_RATIO: f64 = 0.02;

/// Stress and apparent rate at the wall of one push.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallPoint {
    /// Shear stress at the wall.
    pub shear_stress_pa: f64,
    /// Apparent shear rate at the wall, 4 Q/(pi R^3).
    pub apparent_rate_per_s: f64,
}

/// The slope of ln stress on ln apparent rate: a straight line, or one that bends.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WallSlope {
    middle_ln_rate: f64,
    slope: f64,
    bend: f64,
}

/// What the slope may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SlopeShape {
    /// One slope for every rate.
    Straight,
    /// A slope that changes with the rate.
    Bent,
}

impl WallSlope {
    /// The local slope n' at an apparent rate.
    #[must_use]
    pub fn at(&self, apparent_rate_per_s: f64) -> f64 {
        self.slope + 2.0 * self.bend * (apparent_rate_per_s.ln() - self.middle_ln_rate)
    }

    /// The true shear rate at the wall.
    ///
    /// # Equation
    /// g_w = g_a (3 n' + 1)/(4 n'), n' = d ln tau_w/d ln g_a
    ///
    /// | symbol | field | unit |
    /// |---|---|---|
    /// | g_w | returned | 1/s |
    /// | g_a | `apparent_rate_per_s` | 1/s |
    /// | n' | [`WallSlope::at`] | 1 |
    ///
    /// # Valid for
    /// Any curve of laminar flow without slip at the wall; n' above zero.
    ///
    /// # Source
    /// Weissenberg, Rabinowitsch; R. B. Bird, R. C. Armstrong, O. Hassager, Dynamics of Polymeric
    /// Liquids, vol. 1, 2nd ed., 1987, section 10.2 (from memory).
    #[must_use]
    pub fn true_rate_per_s(&self, apparent_rate_per_s: f64) -> f64 {
        rabinowitsch_ratio(self.at(apparent_rate_per_s)) * apparent_rate_per_s
    }
}

/// The slope of ln stress on ln apparent rate by least squares.
///
/// # Equation
/// ln tau_w = a + n' x (straight), or a + b x + c x^2 (bent; n' = b + 2 c x), x = ln g_a - mean
///
/// | symbol | field | unit |
/// |---|---|---|
/// | tau_w | `shear_stress_pa` | Pa |
/// | g_a | `apparent_rate_per_s` | 1/s |
///
/// # Valid for
/// Relative scatter of equal size. `None` where the points have too few distinct rates: two for a
/// line, three for a bend.
///
/// # Source
/// C. W. Macosko, Rheology: Principles, Measurements and Applications, 1994, section 6.2 (from
/// memory).
///
/// # Example
/// ```
/// use heatset::flow::{SlopeShape, WallPoint, wall_slope};
/// // tau = 3 g^0.5 in a tube has n' = 0.5 at every rate (Chhabra & Richardson 2008, Example 3.1:
/// // the true rate is 1.25 of the apparent one)
/// let point = |rate: f64| WallPoint { shear_stress_pa: 3.0 * rate.sqrt(), apparent_rate_per_s: rate };
/// let slope = wall_slope(&[point(10.0), point(40.0)], SlopeShape::Straight).unwrap();
/// assert!((slope.true_rate_per_s(421.1) - 526.4).abs() < 0.1);
/// ```
#[must_use]
pub fn wall_slope(points: &[WallPoint], shape: SlopeShape) -> Option<WallSlope> {
    let rates = distinct_rates(points);
    let needed = match shape {
        SlopeShape::Straight => 2,
        SlopeShape::Bent => 3,
    };
    if rates < needed {
        return None;
    }
    let count = points.len() as f64;
    let logs: Vec<(f64, f64)> = points
        .iter()
        .map(|point| (point.apparent_rate_per_s.ln(), point.shear_stress_pa.ln()))
        .collect();
    let middle_ln_rate = logs.iter().map(|(x, _)| x).sum::<f64>() / count;
    let mean_y = logs.iter().map(|(_, y)| y).sum::<f64>() / count;
    // About their means the sums stay small; the mean of the squares comes off the bend's column.
    let mean_square = logs
        .iter()
        .map(|(x, _)| (x - middle_ln_rate).powi(2))
        .sum::<f64>()
        / count;
    let (mut xx, mut xq, mut qq, mut xy, mut qy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (x, y) in &logs {
        let (x, y) = (x - middle_ln_rate, y - mean_y);
        let q = x * x - mean_square;
        xx += x * x;
        xq += x * q;
        qq += q * q;
        xy += x * y;
        qy += q * y;
    }
    let (slope, bend) = match shape {
        SlopeShape::Straight => (xy / xx, 0.0),
        SlopeShape::Bent => {
            let determinant = xx * qq - xq * xq;
            (
                (xy * qq - qy * xq) / determinant,
                (qy * xx - xy * xq) / determinant,
            )
        }
    };
    (slope.is_finite() && bend.is_finite()).then_some(WallSlope {
        middle_ln_rate,
        slope,
        bend,
    })
}

/// The shape that the points ask for: straight, and bent only with five distinct rates or more
/// where the corrected criterion of Akaike prefers it.
///
/// # Source
/// C. Hurvich, C. Tsai, Biometrika 76 (1989) 297, doi:10.1093/biomet/76.2.297.
#[must_use]
pub fn slope_shape(points: &[WallPoint]) -> SlopeShape {
    if distinct_rates(points) < LEAST_RATES_FOR_A_BEND {
        return SlopeShape::Straight;
    }
    let criterion = |shape, parameters: f64| {
        let slope = wall_slope(points, shape)?;
        let count = points.len() as f64;
        let spare = count - parameters - 2.0;
        (spare > 0.0).then(|| {
            let sum = sum_of_squares(points, &slope).max(f64::MIN_POSITIVE);
            let k = parameters + 1.0;
            count * (sum / count).ln() + 2.0 * k + 2.0 * k * (k + 1.0) / spare
        })
    };
    match (
        criterion(SlopeShape::Straight, 2.0),
        criterion(SlopeShape::Bent, 3.0),
    ) {
        (Some(straight), Some(bent)) if bent < straight => SlopeShape::Bent,
        _ => SlopeShape::Straight,
    }
}

fn sum_of_squares(points: &[WallPoint], slope: &WallSlope) -> f64 {
    let rest: Vec<f64> = points
        .iter()
        .map(|point| {
            let x = point.apparent_rate_per_s.ln() - slope.middle_ln_rate;
            point.shear_stress_pa.ln() - slope.slope * x - slope.bend * x * x
        })
        .collect();
    let mean = rest.iter().sum::<f64>() / rest.len() as f64;
    rest.iter().map(|rest| (rest - mean).powi(2)).sum()
}

/// How many rates there are, repeats counted once.
#[must_use]
pub fn distinct_rates(points: &[WallPoint]) -> usize {
    let mut rates: Vec<f64> = points
        .iter()
        .map(|point| point.apparent_rate_per_s)
        .collect();
    rates.sort_by(f64::total_cmp);
    let mut last = f64::NEG_INFINITY;
    rates
        .into_iter()
        .filter(|&rate| {
            let new = rate > last * (1.0 + SAME_RATE_RATIO) || last == f64::NEG_INFINITY;
            if new {
                last = rate;
            }
            new
        })
        .count()
}
