//! The exponentially weighted moving average.

use super::run_length::{gauss_legendre, normal_density, solved};

/// Nodes of the integral equation: enough for weights from 0.02.
const NODES: usize = 96;

/// A chart of the exponentially weighted moving average.
///
/// # Equation
/// `E_i = w x_i + (1 - w) E_(i-1)`, `E_0 = centre`; a signal beyond
/// `centre ± L sigma sqrt{ w/(2-w) [1 - (1-w)^(2i)] }`.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | centre | `centre_in_unit` | that of the chart |
/// | sigma | `sigma_in_unit` | that of the chart |
/// | w | `weight_ratio` | |
/// | L | `width_sigmas` | standard deviations of the average |
///
/// # Valid for
/// Weights over 0 up to 1 (1 is Shewhart's chart); independent values.
///
/// # Source
/// S. Roberts, Control chart tests based on geometric moving averages, Technometrics 1 (1959) 239,
/// doi:10.1080/00401706.1959.10489860; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
///
/// # Example
/// ```
/// use heatset::batches::control::Ewma;
/// // The handbook: target 50, s 2.0539, weight 0.3; the first three averages.
/// let ewma = Ewma { centre_in_unit: 50.0, sigma_in_unit: 2.0539, weight_ratio: 0.3, width_sigmas: 3.0 };
/// let course = ewma.course(&[52.0, 47.0, 53.0]);
/// for (point, expected) in course.iter().zip([50.60, 49.52, 50.56]) {
///     assert!((point.average_in_unit - expected).abs() < 0.005);
/// }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ewma {
    /// Centre, in the chart's unit.
    pub centre_in_unit: f64,
    /// Standard deviation of one value, in the chart's unit.
    pub sigma_in_unit: f64,
    /// Weight of the newest value.
    pub weight_ratio: f64,
    /// Half the width between the limits, in standard deviations of the average.
    pub width_sigmas: f64,
}

/// The average after one value, and its limits there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EwmaPoint {
    /// The average, in the chart's unit.
    pub average_in_unit: f64,
    /// Its lower limit, in the chart's unit.
    pub lower_in_unit: f64,
    /// Its upper limit, in the chart's unit.
    pub upper_in_unit: f64,
}

impl EwmaPoint {
    /// Whether the average is over its upper limit.
    #[must_use]
    pub fn signals_above(&self) -> bool {
        self.average_in_unit > self.upper_in_unit
    }

    /// Whether it is under its lower limit.
    #[must_use]
    pub fn signals_below(&self) -> bool {
        self.average_in_unit < self.lower_in_unit
    }
}

impl Ewma {
    /// The average after each value, with the exact limits of so few or so many values.
    #[must_use]
    pub fn course(&self, values_in_unit: &[f64]) -> Vec<EwmaPoint> {
        let kept = 1.0 - self.weight_ratio;
        let mut average = self.centre_in_unit;
        let mut forgotten = 1.0;
        values_in_unit
            .iter()
            .map(|value| {
                average = self.weight_ratio * value + kept * average;
                forgotten *= kept * kept;
                let half = self.widest_in_unit() * (1.0 - forgotten).sqrt();
                EwmaPoint {
                    average_in_unit: average,
                    lower_in_unit: self.centre_in_unit - half,
                    upper_in_unit: self.centre_in_unit + half,
                }
            })
            .collect()
    }

    /// Half the width between the limits after many values, in the chart's unit.
    #[must_use]
    pub fn widest_in_unit(&self) -> f64 {
        let variance_ratio = self.weight_ratio / (2.0 - self.weight_ratio);
        self.width_sigmas * self.sigma_in_unit * variance_ratio.sqrt()
    }

    /// Mean number of batches until the average signals, all values shifted by so many standard
    /// deviations.
    ///
    /// # Equation
    /// With `R(u)` the run length from an average of u and b the limit:
    /// `R(u) = 1 + (1/w) integral_-b^b R(x) phi{ [x - (1-w) u]/w - d } dx`, by Gauss-Legendre nodes;
    /// `ARL = R(0)`.
    ///
    /// | symbol | argument | unit |
    /// |---|---|---|
    /// | w | `weight_ratio` | |
    /// | b | `width_sigmas` times sqrt(w/(2-w)) | standard deviations |
    /// | d | `shift_sigmas` | standard deviations |
    ///
    /// # Valid for
    /// Independent normal values, centre and sigma known, the limits of many values: the exact limits
    /// of the first few are narrower and signal a little sooner. Weights from 0.02 to 1.
    ///
    /// # Source
    /// S. Crowder, A simple method for studying run-length distributions of exponentially weighted
    /// moving average charts, Technometrics 29 (1987) 401, doi:10.1080/00401706.1987.10488267.
    ///
    /// # Example
    /// ```
    /// use heatset::batches::control::Ewma;
    /// // Lucas and Saccucci, Technometrics 32 (1990) 1, table 3 (from memory): 500 in control.
    /// for (weight, width) in [(0.4, 3.054), (0.25, 2.998), (0.2, 2.962), (0.1, 2.814), (0.05, 2.615)] {
    ///     assert!((Ewma::run_length_batches(weight, width, 0.0) - 500.0).abs() < 1.5);
    /// }
    /// ```
    #[must_use]
    pub fn run_length_batches(weight_ratio: f64, width_sigmas: f64, shift_sigmas: f64) -> f64 {
        let limit = width_sigmas * (weight_ratio / (2.0 - weight_ratio)).sqrt();
        let nodes = gauss_legendre(NODES, -limit, limit);
        let places: Vec<f64> = nodes.iter().map(|(x, _)| *x).chain([0.0]).collect();
        let matrix = places
            .iter()
            .enumerate()
            .map(|(row, from)| {
                let kept = (1.0 - weight_ratio) * from;
                let mut cells: Vec<f64> = nodes
                    .iter()
                    .map(|(to, weight)| {
                        let needed = (to - kept) / weight_ratio - shift_sigmas;
                        -weight * normal_density(needed) / weight_ratio
                    })
                    .chain([0.0])
                    .collect();
                if let Some(own) = cells.get_mut(row) {
                    *own += 1.0;
                }
                cells
            })
            .collect();
        solved(matrix, vec![1.0; places.len()])
            .and_then(|lengths| lengths.last().copied())
            .filter(|length| *length >= 1.0)
            .unwrap_or(f64::INFINITY)
    }
}
