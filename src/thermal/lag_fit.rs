//! The one time constant that a measured warm-up trace asks for.

use serde::Serialize;

use super::input_error::ThermalInputError;
use super::lag::WarmUpLag;
use super::trace::{MeasuredTrace, TracePoint};

/// Time constants tried at first, evenly in the logarithm.
const GRID_STEPS: u32 = 240;
/// The search spans this fraction of the record's length ...
const SHORTEST_FRACTION: f64 = 1e-4;
/// ... to this many times it.
const LONGEST_RATIO: f64 = 1e3;

/// What the fit takes the start temperature to be.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum LagStart {
    /// The reading at time 0, or the first one where it comes later; the lag starts there.
    #[default]
    FirstReading,
    /// A known temperature at time 0, in K.
    KnownKelvin(f64),
    /// Whatever fits best at time 0. A thermocouple deep in the gel starts late: the fitted start
    /// then lies below the true one, and the time constant is that of the later warm-up.
    Fitted,
}

/// A lag fitted to a trace.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LagFit {
    /// Time constant, in s.
    pub time_constant_s: f64,
    /// Its standard error, in s, for readings that scatter independently of each other.
    pub time_constant_se_s: f64,
    /// Temperature that the trace nears, in K.
    #[serde(rename = "set_temp_K")]
    pub set_kelvin: f64,
    /// Its standard error, in K; nothing where it was stated.
    #[serde(rename = "set_temp_se_K")]
    pub set_se_kelvin: Option<f64>,
    /// Temperature at the start, in K.
    #[serde(rename = "start_temp_K")]
    pub start_kelvin: f64,
    /// Its standard error, in K; nothing where it was not fitted.
    #[serde(rename = "start_temp_se_K")]
    pub start_se_kelvin: Option<f64>,
    /// Root mean square of what the lag leaves of the trace, in K: over `points`, not over
    /// degrees of freedom.
    #[serde(rename = "rms_K")]
    pub rms_kelvin: f64,
    /// Scatter about the lag, over degrees of freedom, in K.
    #[serde(rename = "residual_sd_K")]
    pub residual_sd_kelvin: f64,
    /// Readings that the fit stands on.
    pub points: usize,
    /// Time of the last of them, in s: a cooling part is left out.
    pub used_until_s: f64,
}

impl LagFit {
    /// The lag for a gel that starts at this temperature.
    #[must_use]
    pub fn lag(&self, start_kelvin: f64) -> WarmUpLag {
        WarmUpLag {
            time_constant_s: self.time_constant_s,
            start_kelvin,
        }
    }
}

/// The lag that a measured warm-up asks for, started at the trace's first reading.
///
/// # Errors
/// As [`fit_lag_from`].
///
/// # Example
/// A trace that is a lag of 40 s gives 40 s back.
/// ```
/// use heatset::thermal::{MeasuredTrace, TracePoint, fit_lag};
/// let trace = MeasuredTrace::new(
///     (0..60)
///         .map(|n| 5.0 * f64::from(n))
///         .map(|time_s| TracePoint {
///             time_s,
///             temperature_kelvin: 359.15 - 64.0 * (-time_s / 40.0).exp(),
///         })
///         .collect(),
/// )?;
/// let fit = fit_lag(&trace, None)?;
/// assert!((fit.time_constant_s - 40.0).abs() < 1e-6);
/// assert!((fit.set_kelvin - 359.15).abs() < 1e-6);
/// # Ok::<(), heatset::thermal::ThermalInputError>(())
/// ```
pub fn fit_lag(
    trace: &MeasuredTrace,
    set_kelvin: Option<f64>,
) -> Result<LagFit, ThermalInputError> {
    fit_lag_from(trace, set_kelvin, LagStart::FirstReading)
}

/// The lag that a measured warm-up asks for, by least squares.
///
/// # Equation
/// `T(t) = T_set - (T_set - T_start) exp(-(t - t_0)/tau)`, fitted in `ln tau` and, where they are
/// not given, `T_set` and `T_start`, which are linear: they are solved for inside (variable
/// projection), and one number is searched, first on a grid, then by golden section.
/// Standard errors: `s^2 (J^T J)^-1`, `s^2` the residual sum of squares over readings less
/// parameters.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | tau | `time_constant_s` | s |
/// | T_set | `set_kelvin` | K |
/// | T_start | `start_kelvin` | K |
/// | t_0 | time 0, or that of the first reading | s |
///
/// # Valid for
/// Readings that scatter evenly and independently. Where the gel does not follow one time
/// constant (a wide barrel), the residuals are of one piece, `rms_kelvin` shows it, and the
/// standard errors are too small.
///
/// # Errors
/// Fewer readings than unknowns and one; a change under 1 K; a best fit at an end of the search.
///
/// # Source
/// G. Golub, V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413 (variable projection); D. Bates,
/// D. Watts, Nonlinear Regression Analysis and Its Applications, 1988, eq. 2.20 (standard errors;
/// from memory).
pub fn fit_lag_from(
    trace: &MeasuredTrace,
    set_kelvin: Option<f64>,
    start: LagStart,
) -> Result<LagFit, ThermalInputError> {
    trace.scale(set_kelvin)?;
    let used_until_s = trace.plateau().heating_end_s;
    let first_s = trace.first_s().max(0.0);
    let (zero_s, start_kelvin, from_s) = match start {
        LagStart::FirstReading => (first_s, Some(trace.start_kelvin()), first_s.next_up()),
        LagStart::KnownKelvin(kelvin) => (0.0, Some(kelvin), 0.0),
        LagStart::Fitted => (0.0, None, 0.0),
    };
    let points: Vec<TracePoint> = trace
        .points()
        .iter()
        .filter(|point| point.time_s >= from_s && point.time_s <= used_until_s)
        .map(|point| TracePoint {
            time_s: point.time_s - zero_s,
            ..*point
        })
        .collect();
    let unknowns = 1 + usize::from(set_kelvin.is_none()) + usize::from(start_kelvin.is_none());
    if points.len() <= unknowns {
        return Err(ThermalInputError::TooFewPoints {
            points: points.len(),
            purpose: "a time constant, after its first reading and before any cooling",
            needed: unknowns + 1,
        });
    }
    let problem = Problem {
        points: &points,
        set_kelvin,
        start_kelvin,
    };
    let duration_s = used_until_s - zero_s;
    let logarithm = problem.best_logarithm(duration_s)?;
    Ok(problem.result(logarithm, used_until_s))
}

/// The trace less what is not searched.
struct Problem<'a> {
    points: &'a [TracePoint],
    set_kelvin: Option<f64>,
    start_kelvin: Option<f64>,
}

/// The linear unknowns at one time constant, and what they leave.
#[derive(Clone, Copy)]
struct Solved {
    set_kelvin: f64,
    start_kelvin: f64,
    sum_of_squares: f64,
}

impl Problem<'_> {
    /// Set and start temperature at a time constant, by linear least squares.
    fn solve(&self, time_constant_s: f64) -> Solved {
        // T = T_set (1 - e) + T_start e; `rest` is what the given ones leave of the readings.
        let mut sums = [0.0; 5];
        for point in self.points {
            let e = (-point.time_s / time_constant_s).exp();
            let toward_set = -(-point.time_s / time_constant_s).exp_m1();
            let rest = point.temperature_kelvin
                - self.set_kelvin.map_or(0.0, |set| set * toward_set)
                - self.start_kelvin.map_or(0.0, |start| start * e);
            let terms = [
                toward_set * toward_set,
                toward_set * e,
                e * e,
                toward_set * rest,
                e * rest,
            ];
            for (sum, term) in sums.iter_mut().zip(terms) {
                *sum += term;
            }
        }
        let [aa, ab, bb, ar, br] = sums;
        let (set_kelvin, start_kelvin) = match (self.set_kelvin, self.start_kelvin) {
            (Some(set), Some(start)) => (set, start),
            (None, Some(start)) => (ar / aa, start),
            (Some(set), None) => (set, br / bb),
            (None, None) => {
                let determinant = aa * bb - ab * ab;
                (
                    (ar * bb - br * ab) / determinant,
                    (br * aa - ar * ab) / determinant,
                )
            }
        };
        let sum_of_squares = self
            .points
            .iter()
            .map(|point| {
                let e = (-point.time_s / time_constant_s).exp();
                (set_kelvin - (set_kelvin - start_kelvin) * e - point.temperature_kelvin).powi(2)
            })
            .sum::<f64>();
        Solved {
            set_kelvin,
            start_kelvin,
            sum_of_squares: if sum_of_squares.is_finite() {
                sum_of_squares
            } else {
                f64::INFINITY
            },
        }
    }

    fn cost(&self, logarithm: f64) -> f64 {
        self.solve(logarithm.exp()).sum_of_squares
    }

    /// Logarithm of the best time constant.
    fn best_logarithm(&self, duration_s: f64) -> Result<f64, ThermalInputError> {
        let low = (duration_s * SHORTEST_FRACTION).ln();
        let step = (LONGEST_RATIO / SHORTEST_FRACTION).ln() / f64::from(GRID_STEPS);
        let at = |place: u32| low + step * f64::from(place);
        let best = (0..=GRID_STEPS)
            .min_by(|a, b| self.cost(at(*a)).total_cmp(&self.cost(at(*b))))
            .unwrap_or(0);
        if best == 0 || best == GRID_STEPS {
            return Err(ThermalInputError::TimeConstantNotFound {
                time_constant_s: at(best).exp(),
                duration_s,
                remedy: if best == 0 {
                    "record more often while it warms up"
                } else {
                    "it rises in a straight line; record until it levels off, or state the set temperature"
                },
            });
        }
        let (mut left, mut right) = (at(best - 1), at(best + 1));
        let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
        let (mut inner_left, mut inner_right) = (
            right - golden * (right - left),
            left + golden * (right - left),
        );
        let (mut cost_left, mut cost_right) = (self.cost(inner_left), self.cost(inner_right));
        while right - left > 1e-9 {
            if cost_left <= cost_right {
                right = inner_right;
                (inner_right, cost_right) = (inner_left, cost_left);
                inner_left = right - golden * (right - left);
                cost_left = self.cost(inner_left);
            } else {
                left = inner_left;
                (inner_left, cost_left) = (inner_right, cost_right);
                inner_right = left + golden * (right - left);
                cost_right = self.cost(inner_right);
            }
        }
        Ok(self.polished(0.5 * (left + right)))
    }

    /// A least sum of squares can be located by its values only to the root of the rounding; two
    /// Gauss-Newton steps find where its slope is zero.
    fn polished(&self, logarithm: f64) -> f64 {
        let mut best = logarithm;
        for _ in 0..3 {
            let solved = self.solve(best.exp());
            let (matrix, gradient) = self.normal_equations(best.exp(), solved);
            let Some(inverse) = inverse(matrix) else {
                break;
            };
            let step: f64 = inverse[0].iter().zip(gradient).map(|(a, b)| a * b).sum();
            // Farther than the golden section left open, or no number: not a correction.
            if step.abs() < 1e-3 {
                best += step;
            } else {
                break;
            }
        }
        best
    }

    /// `J^T J` and `J^T r` over `ln tau`, `T_set`, `T_start`; one that is given has a unit row.
    fn normal_equations(&self, time_constant_s: f64, solved: Solved) -> ([[f64; 3]; 3], [f64; 3]) {
        let free = [true, self.set_kelvin.is_none(), self.start_kelvin.is_none()];
        let mut matrix = [[0.0; 3]; 3];
        let mut gradient = [0.0; 3];
        for point in self.points {
            let scaled = point.time_s / time_constant_s;
            let e = (-scaled).exp();
            let rest = point.temperature_kelvin
                - (solved.set_kelvin - (solved.set_kelvin - solved.start_kelvin) * e);
            let slopes = [
                (solved.start_kelvin - solved.set_kelvin) * e * scaled,
                1.0 - e,
                e,
            ];
            for (row, (slope, free_row)) in slopes.iter().zip(free).enumerate() {
                if !free_row {
                    continue;
                }
                gradient[row] += slope * rest;
                for (column, (other, free_column)) in slopes.iter().zip(free).enumerate() {
                    if free_column {
                        matrix[row][column] += slope * other;
                    }
                }
            }
        }
        for (place, free) in free.into_iter().enumerate() {
            if !free {
                matrix[place][place] = 1.0;
            }
        }
        (matrix, gradient)
    }

    fn result(&self, logarithm: f64, used_until_s: f64) -> LagFit {
        let time_constant_s = logarithm.exp();
        let solved = self.solve(time_constant_s);
        let count = self.points.len() as f64;
        let unknowns =
            1 + usize::from(self.set_kelvin.is_none()) + usize::from(self.start_kelvin.is_none());
        let variance = solved.sum_of_squares / (count - unknowns as f64);
        let (matrix, _) = self.normal_equations(time_constant_s, solved);
        let errors = inverse(matrix).map_or([f64::INFINITY; 3], |inverse| {
            [0, 1, 2].map(|place: usize| (variance * inverse[place][place]).max(0.0).sqrt())
        });
        LagFit {
            time_constant_s,
            time_constant_se_s: time_constant_s * errors[0],
            set_kelvin: solved.set_kelvin,
            set_se_kelvin: self.set_kelvin.is_none().then_some(errors[1]),
            start_kelvin: solved.start_kelvin,
            start_se_kelvin: self.start_kelvin.is_none().then_some(errors[2]),
            rms_kelvin: (solved.sum_of_squares / count).sqrt(),
            residual_sd_kelvin: variance.sqrt(),
            points: self.points.len(),
            used_until_s,
        }
    }
}

/// Inverse of a symmetric matrix of three rows by cofactors, its rows scaled to unit diagonal
/// first; nothing where it has none.
fn inverse(matrix: [[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let scale = [0, 1, 2].map(|place: usize| matrix[place][place].sqrt());
    if scale
        .iter()
        .any(|scale| !(scale.is_finite() && *scale > 0.0))
    {
        return None;
    }
    let mut m = matrix;
    for (row, left) in m.iter_mut().zip(scale) {
        for (value, right) in row.iter_mut().zip(scale) {
            *value /= left * right;
        }
    }
    let cofactor = |row: usize, column: usize| {
        let [r1, r2] = [(row + 1) % 3, (row + 2) % 3];
        let [c1, c2] = [(column + 1) % 3, (column + 2) % 3];
        m[r1][c1] * m[r2][c2] - m[r1][c2] * m[r2][c1]
    };
    let determinant: f64 = (0..3)
        .map(|column| m[0][column] * cofactor(0, column))
        .sum();
    if determinant.abs() < 1e-14 {
        return None;
    }
    let mut inverse = [[0.0; 3]; 3];
    for (row, values) in inverse.iter_mut().enumerate() {
        for (column, value) in values.iter_mut().enumerate() {
            *value = cofactor(column, row) / determinant / (scale[row] * scale[column]);
        }
    }
    Some(inverse)
}
