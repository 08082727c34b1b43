//! Bagley's end correction: what a capillary's ends take, from two or more lengths of one bore.

use std::f64::consts::PI;

/// Steps of the look along end corrections before the finest search.
const SCAN_STEPS: usize = 200;
/// Rounds of the golden section.
const SECTION_ROUNDS: usize = 80;

/// One push through one length at the pressure that the needle took.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LengthPoint {
    /// Length of the needle over the radius of its bore.
    pub length_over_radius_ratio: f64,
    /// Pressure drop of needle and ends.
    pub pressure_pa: f64,
    /// Apparent shear rate at the wall.
    pub apparent_rate_per_s: f64,
}

/// What the ends take, as a length of needle that would take as much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndCorrection {
    /// The end correction, in radii of the bore.
    pub end_correction_radii: f64,
    /// Shear stress at the wall with the ends taken off, at one rate.
    pub wall_shear_stress_pa: f64,
}

/// The end correction of a creeping Newtonian liquid, in radii: 3 pi/8.
///
/// # Equation
/// e = 3 pi/8: the ends take 3 pi R/(8 L) of the developed loss 2 tau_w L/R
///
/// # Valid for
/// Newtonian liquids without inertia; what a gel's ends take can be many times more.
///
/// # Source
/// Z. Dagan, S. Weinbaum, R. Pfeffer, Journal of Fluid Mechanics 115, 1982, 505-523, from memory.
#[must_use]
pub fn creeping_end_correction_radii() -> f64 {
    3.0 * PI / 8.0
}

/// The end correction at one apparent rate: the straight line of pressure on length over radius.
///
/// # Equation
/// dP = 2 tau_w (L/R + e)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | dP | `pressure_pa` | Pa |
/// | L/R | `length_over_radius_ratio` | 1 |
/// | e | `end_correction_radii` | 1 |
/// | tau_w | `wall_shear_stress_pa` | Pa |
///
/// # Valid for
/// One bore and one apparent rate. `None` with fewer than two lengths, or where the pressure does
/// not rise with the length.
///
/// # Source
/// E. B. Bagley, End corrections in the capillary flow of polyethylene, Journal of Applied Physics
/// 28, 1957, 624-627, doi:10.1063/1.1722814.
///
/// # Example
/// ```
/// use heatset::flow::{LengthPoint, end_correction};
/// // A textbook's polypropylene at 190 C, capillary of 2 mm, 2e-7 m3/s: 1.502, 2.337 and
/// // 4.006 MPa over 5, 10 and 20 mm; the line cuts the axis at -4 mm, that is 4 radii
/// let rate_per_s = 4.0 * 2e-7 / (std::f64::consts::PI * 1e-9);
/// let points = [(5.0, 1.502e6), (10.0, 2.337e6), (20.0, 4.006e6)].map(|(radii, pressure_pa)| {
///     LengthPoint { length_over_radius_ratio: radii, pressure_pa, apparent_rate_per_s: rate_per_s }
/// });
/// let ends = end_correction(&points).unwrap();
/// assert!((ends.end_correction_radii - 4.0).abs() < 0.01);
/// ```
#[must_use]
pub fn end_correction(points: &[LengthPoint]) -> Option<EndCorrection> {
    let count = points.len() as f64;
    let mean = |pick: fn(&LengthPoint) -> f64| points.iter().map(pick).sum::<f64>() / count;
    let mean_x = mean(|point| point.length_over_radius_ratio);
    let mean_y = mean(|point| point.pressure_pa);
    let (mut xx, mut xy) = (0.0, 0.0);
    for point in points {
        let x = point.length_over_radius_ratio - mean_x;
        xx += x * x;
        xy += x * (point.pressure_pa - mean_y);
    }
    let slope = xy / xx;
    (points.len() > 1 && slope.is_finite() && slope > 0.0).then(|| EndCorrection {
        end_correction_radii: mean_y / slope - mean_x,
        wall_shear_stress_pa: 0.5 * slope,
    })
}

/// One end correction for pushes whose rates differ with the length, as they do under dead weights:
/// the one that brings the stresses of all lengths nearest to one line in ln rate.
///
/// # Equation
/// ln[dP/(2 (L/R + e))] = a + n' ln g_a: e of the least sum of squares
///
/// | symbol | field | unit |
/// |---|---|---|
/// | dP | `pressure_pa` | Pa |
/// | L/R | `length_over_radius_ratio` | 1 |
/// | g_a | `apparent_rate_per_s` | 1/s |
/// | e | returned | 1 |
///
/// # Valid for
/// One bore; an end correction and a slope that are the same at all these rates. `None` with fewer
/// than three points or one length.
///
/// # Source
/// Bagley's condition (see [`end_correction`]) with the rates carried along a power law.
#[must_use]
pub fn end_correction_along_rates(points: &[LengthPoint]) -> Option<f64> {
    let lengths = || points.iter().map(|point| point.length_over_radius_ratio);
    let shortest = lengths().fold(f64::INFINITY, f64::min);
    let longest = lengths().fold(0.0, f64::max);
    if points.len() < 3 || longest < shortest * 1.01 {
        return None;
    }
    let (low, high) = (-0.9 * shortest, 3.0 * longest);
    let step = (high - low) / SCAN_STEPS as f64;
    let best = (0..=SCAN_STEPS)
        .map(|number| low + number as f64 * step)
        .min_by(|a, b| scatter_about_line(points, *a).total_cmp(&scatter_about_line(points, *b)))?;
    if best <= low || best >= high {
        return None;
    }
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut from, mut to) = (best - step, best + step);
    for _ in 0..SECTION_ROUNDS {
        let (left, right) = (to - golden * (to - from), from + golden * (to - from));
        if scatter_about_line(points, left) < scatter_about_line(points, right) {
            to = right;
        } else {
            from = left;
        }
    }
    Some(0.5 * (from + to))
}

/// Sum of squares of ln stress about its line in ln rate.
fn scatter_about_line(points: &[LengthPoint], end_correction_radii: f64) -> f64 {
    let logs: Vec<(f64, f64)> = points
        .iter()
        .map(|point| {
            let radii = point.length_over_radius_ratio + end_correction_radii;
            (
                point.apparent_rate_per_s.ln(),
                (0.5 * point.pressure_pa / radii).ln(),
            )
        })
        .collect();
    let count = logs.len() as f64;
    let mean_x = logs.iter().map(|(x, _)| x).sum::<f64>() / count;
    let mean_y = logs.iter().map(|(_, y)| y).sum::<f64>() / count;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (x, y) in logs {
        xx += (x - mean_x).powi(2);
        xy += (x - mean_x) * (y - mean_y);
        yy += (y - mean_y).powi(2);
    }
    // Without a spread in rates the line is level.
    if xx > 1e-6 { yy - xy * xy / xx } else { yy }
}
