//! The tabular cumulative sum.

use super::run_length::{gauss_legendre, normal_below, normal_density, solved};

/// Nodes of the integral equation: its kernel is smooth, and more change nothing in ten digits.
const NODES: usize = 48;

/// A two-sided cumulative sum.
///
/// # Equation
/// `C+_i = max(0, C+_(i-1) + x_i - target - K)`, `C-_i = max(0, C-_(i-1) + target - K - x_i)`,
/// both from 0; a signal where one exceeds H.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | target | `target_in_unit` | that of the chart |
/// | K | `allowance_in_unit` | that of the chart |
/// | H | `decision_in_unit` | that of the chart |
///
/// # Valid for
/// Independent values. A sum stays up after its signal until the values bring it down.
///
/// # Source
/// E. Page, Continuous inspection schemes, Biometrika 41 (1954) 100, doi:10.1093/biomet/41.1-2.100;
/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3.
///
/// # Example
/// ```
/// use heatset::batches::control::Cusum;
/// // The handbook's group means against a target of 325: the first signal at group 14.
/// let means = [
///     324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
///     324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
/// ];
/// let cusum = Cusum { target_in_unit: 325.0, allowance_in_unit: 0.3175, decision_in_unit: 4.1959 };
/// let first = cusum.course(&means).iter().position(|point| point.signals_above).unwrap();
/// assert_eq!(first + 1, 14);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cusum {
    /// What the values should be, in the chart's unit.
    pub target_in_unit: f64,
    /// Deviation that counts as none, in the chart's unit: half the shift to be found.
    pub allowance_in_unit: f64,
    /// Sum beyond which it signals, in the chart's unit.
    pub decision_in_unit: f64,
}

/// The two sums after one value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CusumPoint {
    /// Sum of what lay above the target, in the chart's unit.
    pub upper_in_unit: f64,
    /// Sum of what lay under it, in the chart's unit.
    pub lower_in_unit: f64,
    /// Whether the upper sum is over the decision value.
    pub signals_above: bool,
    /// Whether the lower sum is.
    pub signals_below: bool,
}

impl Cusum {
    /// The sums after each value.
    #[must_use]
    pub fn course(&self, values_in_unit: &[f64]) -> Vec<CusumPoint> {
        let (mut upper, mut lower) = (0.0_f64, 0.0_f64);
        values_in_unit
            .iter()
            .map(|value| {
                let away = value - self.target_in_unit;
                upper = (upper + away - self.allowance_in_unit).max(0.0);
                lower = (lower - away - self.allowance_in_unit).max(0.0);
                CusumPoint {
                    upper_in_unit: upper,
                    lower_in_unit: lower,
                    signals_above: upper > self.decision_in_unit,
                    signals_below: lower > self.decision_in_unit,
                }
            })
            .collect()
    }

    /// Mean number of batches until either sum signals, all values shifted by so many standard
    /// deviations.
    ///
    /// # Equation
    /// For one side, with `L(s)` the run length from a sum of s:
    /// `L(s) = 1 + L(0) Phi(k - s - d) + integral_0^h L(x) phi(x + k - s - d) dx`, by Gauss-Legendre
    /// nodes; both sides `1/ARL = 1/ARL+ + 1/ARL-`.
    ///
    /// | symbol | argument | unit |
    /// |---|---|---|
    /// | k | `allowance_sigmas` | standard deviations |
    /// | h | `decision_sigmas` | standard deviations |
    /// | d | `shift_sigmas` | standard deviations |
    ///
    /// # Valid for
    /// Independent normal values, target and sigma known; sums that begin at 0.
    ///
    /// # Source
    /// E. Page, Biometrika 41 (1954) 100 (the equation); K. Kemp, The average run length of the
    /// cumulative sum chart when a V-mask is used, J. R. Stat. Soc. B 23 (1961) 149 (both sides);
    /// both from memory.
    ///
    /// # Example
    /// ```
    /// use heatset::batches::control::Cusum;
    /// // Montgomery (from memory): 168 batches with h = 4, 465 with h = 5; 10.4 after one sigma.
    /// assert!((Cusum::run_length_batches(0.5, 4.0, 0.0) - 168.0).abs() < 0.5);
    /// assert!((Cusum::run_length_batches(0.5, 5.0, 0.0) - 465.0).abs() < 0.5);
    /// assert!((Cusum::run_length_batches(0.5, 5.0, 1.0) - 10.4).abs() < 0.05);
    /// ```
    #[must_use]
    pub fn run_length_batches(
        allowance_sigmas: f64,
        decision_sigmas: f64,
        shift_sigmas: f64,
    ) -> f64 {
        let one_side = |shift| one_sided_batches(allowance_sigmas, decision_sigmas, shift);
        1.0 / (1.0 / one_side(shift_sigmas) + 1.0 / one_side(-shift_sigmas))
    }
}

/// Run length of the upper sum from 0.
fn one_sided_batches(allowance: f64, decision: f64, shift: f64) -> f64 {
    let nodes = gauss_legendre(NODES, 0.0, decision);
    // Unknowns: the run length from each node, and from 0 in the last place.
    let places: Vec<f64> = nodes.iter().map(|(x, _)| *x).chain([0.0]).collect();
    let matrix = places
        .iter()
        .enumerate()
        .map(|(row, from)| {
            let start = allowance - from - shift;
            let mut cells: Vec<f64> = nodes
                .iter()
                .map(|(to, weight)| -weight * normal_density(to + start))
                .chain([-normal_below(start)])
                .collect();
            if let Some(own) = cells.get_mut(row) {
                *own += 1.0;
            }
            cells
        })
        .collect();
    solved(matrix, vec![1.0; places.len()])
        .and_then(|lengths| lengths.last().copied())
        // So long that the equation has lost its digits: no signal worth counting on.
        .filter(|length| *length >= 1.0)
        .unwrap_or(f64::INFINITY)
}
