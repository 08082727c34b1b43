//! Which reading to take next: what one more reading would do to the covariance of the estimates.
//!
//! It knows estimates, their covariance and derivatives, and no chemistry.

use super::least_squares::covariance_from_jacobian;
use ndarray::{Array1, Array2, ArrayView1};

/// What a next reading is to narrow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Criterion<'a> {
    /// All parameters together: the determinant of their covariance (D-optimal).
    Parameters,
    /// One answer, given by its gradient by the parameters: its variance (c-optimal).
    Answer(&'a [f64]),
}

/// A candidate and what it is worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proposal {
    /// Place among the candidates.
    pub place: usize,
    /// Logarithm of the factor by which standard errors fall: see [`Design::gain`].
    pub gain_ratio: f64,
}

/// Covariance of the estimates and variance of one more reading, as they stand now.
///
/// A derivative is that of the response of one reading by the parameters, on the scales of the
/// covariance, divided by the reading's standard deviation where readings have their own.
///
/// # Assumed of the noise
/// The next reading scatters as those before it, independently of them, and the model is straight
/// enough within the uncertainty of its parameters for its derivatives to serve.
///
/// # Source
/// V. Fedorov, Theory of Optimal Experiments, 1972, chapter 2; A. Atkinson, A. Donev, R. Tobias,
/// Optimum Experimental Designs, with SAS, 2007, chapters 10, 11 and 17 (both from memory).
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    covariance: Array2<f64>,
    residual_variance: f64,
}

impl Design {
    /// Sets up from the covariance of the estimates and the variance of a reading; `None` where
    /// the one is not square and finite or the other not above 0.
    #[must_use]
    pub fn new(covariance: Array2<f64>, residual_variance: f64) -> Option<Self> {
        let usable = covariance.is_square()
            && !covariance.is_empty()
            && covariance.iter().all(|v| v.is_finite())
            && residual_variance.is_finite()
            && residual_variance > 0.0;
        usable.then_some(Self {
            covariance,
            residual_variance,
        })
    }

    /// Sets up from the derivatives of the readings taken so far; `None` where they do not tell
    /// all parameters.
    #[must_use]
    pub fn from_derivatives(derivatives: &[Vec<f64>], residual_variance: f64) -> Option<Self> {
        let columns = derivatives.first()?.len();
        if derivatives.iter().any(|row| row.len() != columns) {
            return None;
        }
        let jacobian: Vec<f64> = (0..columns)
            .flat_map(|column| derivatives.iter().map(move |row| row[column]))
            .collect();
        let found = covariance_from_jacobian(&jacobian, derivatives.len(), columns)?;
        Self::new(found.unscaled * residual_variance, residual_variance)
    }

    /// Covariance of the estimates.
    #[must_use]
    pub fn covariance(&self) -> &Array2<f64> {
        &self.covariance
    }

    /// Variance of an answer with this gradient by the parameters: `g^T C g`.
    #[must_use]
    pub fn variance(&self, gradient: &[f64]) -> f64 {
        self.between(gradient, gradient).max(0.0)
    }

    /// Variance of the fitted curve at a candidate over that of a reading: `x^T C x / s^2`.
    #[must_use]
    pub fn leverage_ratio(&self, derivative: &[f64]) -> f64 {
        self.variance(derivative) / self.residual_variance
    }

    /// Determinant of the covariance with one more reading over that without.
    ///
    /// # Equation
    /// `det C' / det C = 1 / (1 + x^T C x / s^2)`
    ///
    /// # Source
    /// The matrix determinant lemma, for instance D. Harville, Matrix Algebra From a
    /// Statistician's Perspective, 1997, theorem 18.1.1 (from memory).
    #[must_use]
    pub fn determinant_ratio(&self, derivative: &[f64]) -> f64 {
        1.0 / (1.0 + self.leverage_ratio(derivative))
    }

    /// Variance of an answer with one more reading.
    ///
    /// # Equation
    /// `g^T C' g = g^T C g - (g^T C x)^2 / (s^2 + x^T C x)`
    ///
    /// # Source
    /// As [`Design::with_reading`].
    #[must_use]
    pub fn variance_with(&self, gradient: &[f64], derivative: &[f64]) -> f64 {
        let common = self.between(gradient, derivative);
        let fall = common * common / (self.residual_variance + self.variance(derivative));
        (self.variance(gradient) - fall).max(0.0)
    }

    /// The design with one more reading taken.
    ///
    /// # Equation
    /// `C' = C - C x x^T C / (s^2 + x^T C x)`
    ///
    /// # Source
    /// J. Sherman, W. Morrison, Ann. Math. Stat. 21 (1950) 124,
    /// doi:10.1214/aoms/1177729893.
    #[must_use]
    pub fn with_reading(&self, derivative: &[f64]) -> Self {
        let along: Array1<f64> = self.covariance.dot(&ArrayView1::from(derivative));
        let whole = self.residual_variance + self.variance(derivative);
        let mut covariance = self.covariance.clone();
        for (i, mut row) in covariance.rows_mut().into_iter().enumerate() {
            for (value, other) in row.iter_mut().zip(&along) {
                *value -= along[i] * other / whole;
            }
        }
        Self {
            covariance,
            residual_variance: self.residual_variance,
        }
    }

    /// What a candidate is worth: the logarithm of the factor by which the standard error of the
    /// answer falls, or for all parameters that by which the root of the determinant does.
    ///
    /// `None` where the derivative has another length than the parameters or is not finite.
    #[must_use]
    pub fn gain(&self, criterion: Criterion<'_>, derivative: &[f64]) -> Option<f64> {
        let finite = derivative.iter().all(|d| d.is_finite());
        if derivative.len() != self.covariance.nrows() || !finite {
            return None;
        }
        let gain = match criterion {
            Criterion::Parameters => 0.5 * self.leverage_ratio(derivative).ln_1p(),
            Criterion::Answer(gradient) => {
                let now = self.variance(gradient);
                if now == 0.0 {
                    0.0
                } else {
                    0.5 * (now / self.variance_with(gradient, derivative)).ln()
                }
            }
        };
        gain.is_finite().then_some(gain)
    }

    /// The candidates by worth, the best first; equal ones in the order in which they came, and
    /// those without a finite derivative left out.
    #[must_use]
    pub fn ranking(&self, criterion: Criterion<'_>, candidates: &[Vec<f64>]) -> Vec<Proposal> {
        let mut found: Vec<Proposal> = candidates
            .iter()
            .enumerate()
            .filter_map(|(place, derivative)| {
                let gain_ratio = self.gain(criterion, derivative)?;
                Some(Proposal { place, gain_ratio })
            })
            .collect();
        found.sort_by(|a, b| b.gain_ratio.total_cmp(&a.gain_ratio));
        found
    }

    /// The best candidate, the first of equal ones.
    #[must_use]
    pub fn best_next(&self, criterion: Criterion<'_>, candidates: &[Vec<f64>]) -> Option<Proposal> {
        let mut best: Option<Proposal> = None;
        for (place, derivative) in candidates.iter().enumerate() {
            let Some(gain_ratio) = self.gain(criterion, derivative) else {
                continue;
            };
            if best.is_none_or(|b| gain_ratio > b.gain_ratio) {
                best = Some(Proposal { place, gain_ratio });
            }
        }
        best
    }

    fn between(&self, left: &[f64], right: &[f64]) -> f64 {
        let mut sum = 0.0;
        for (row, l) in self.covariance.rows().into_iter().zip(left) {
            let along: f64 = row.iter().zip(right).map(|(c, r)| c * r).sum();
            sum += l * along;
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// A straight line through x = 0, 1, 2, 3, its covariance by hand, and x = 4 added: the
    /// covariance of five points by hand (n 5, mean 2, sum of squares 10).
    #[test]
    fn a_fifth_point_of_a_straight_line_gives_the_covariance_of_five() {
        let line = |x: f64| vec![1.0, x];
        let four = Design::from_derivatives(&[0.0, 1.0, 2.0, 3.0].map(line), 1.0).unwrap();
        assert_relative_eq!(four.covariance()[[0, 0]], 0.7, max_relative = 1e-12);
        let five = four.with_reading(&line(4.0));
        for ((i, j), expected) in [((0, 0), 0.6), ((0, 1), -0.2), ((1, 1), 0.1)] {
            assert_relative_eq!(five.covariance()[[i, j]], expected, max_relative = 1e-12);
        }
        // Determinants 1/20 and 1/50 by hand; the slope's variance 1/5 and 1/10.
        assert_relative_eq!(
            four.determinant_ratio(&line(4.0)),
            0.4,
            max_relative = 1e-12
        );
        assert_relative_eq!(
            four.variance_with(&[0.0, 1.0], &line(4.0)),
            0.1,
            max_relative = 1e-12
        );
    }

    #[test]
    fn what_cannot_be_weighed_is_left_out() {
        let design = Design::from_derivatives(&[vec![1.0, 0.0], vec![1.0, 1.0]], 1.0).unwrap();
        let candidates = vec![vec![f64::NAN, 1.0], vec![1.0], vec![1.0, 0.5]];
        let ranking = design.ranking(Criterion::Parameters, &candidates);
        assert_eq!(ranking.len(), 1);
        assert_eq!(ranking[0].place, 2);
        assert!(Design::new(Array2::eye(2), 0.0).is_none());
        assert!(Design::from_derivatives(&[vec![1.0, 1.0], vec![2.0, 2.0]], 1.0).is_none());
    }
}
