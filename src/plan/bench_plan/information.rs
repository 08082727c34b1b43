//! What readings tell of the numbers of one case: covariance of the estimates, reading by reading.

/// Covariance of the estimates of one lot, from readings added and taken away.
///
/// It starts from the identity: parameters come in units of a standard deviation so wide that it
/// tells nothing, which keeps the covariance finite where the readings alone do not tell.
///
/// # Equation
/// `C' = C - C x x^T C / (1 + x^T C x)`, `det C' = det C / (1 + x^T C x)`; with a minus sign before
/// `x^T C x`, and a plus before the fraction, a reading is taken away.
///
/// # Assumed of the noise
/// `x` is the derivative of a reading by the parameters over the reading's standard deviation;
/// readings scatter independently.
///
/// # Source
/// J. Sherman, W. Morrison, Ann. Math. Stat. 21 (1950) 124, doi:10.1214/aoms/1177729893.
#[derive(Debug, Clone)]
pub(super) struct Information {
    parameters: usize,
    covariance: Vec<f64>,
    pub(super) ln_determinant: f64,
}

impl Information {
    pub(super) fn of_none(parameters: usize) -> Self {
        let mut covariance = vec![0.0; parameters * parameters];
        covariance
            .iter_mut()
            .step_by(parameters + 1)
            .for_each(|value| *value = 1.0);
        Self {
            parameters,
            covariance,
            ln_determinant: 0.0,
        }
    }

    /// `a^T C b`.
    pub(super) fn between(&self, a: &[f64], b: &[f64]) -> f64 {
        self.covariance
            .chunks_exact(self.parameters)
            .zip(a)
            .map(|(row, left)| {
                let along: f64 = row.iter().zip(b).map(|(c, right)| c * right).sum();
                left * along
            })
            .sum()
    }

    pub(super) fn add(&mut self, derivative: &[f64]) {
        self.change(derivative, 1.0);
    }

    pub(super) fn take_away(&mut self, derivative: &[f64]) {
        self.change(derivative, -1.0);
    }

    fn change(&mut self, derivative: &[f64], sign: f64) {
        let along: Vec<f64> = self
            .covariance
            .chunks_exact(self.parameters)
            .map(|row| row.iter().zip(derivative).map(|(c, x)| c * x).sum())
            .collect();
        let leverage: f64 = along.iter().zip(derivative).map(|(a, x)| a * x).sum();
        // The identity it starts from keeps a reading's share of its own fit under one.
        let whole = (1.0 + sign * leverage).max(f64::EPSILON);
        for (row, left) in self
            .covariance
            .chunks_exact_mut(self.parameters)
            .zip(&along)
        {
            for (value, right) in row.iter_mut().zip(&along) {
                *value -= sign * left * right / whole;
            }
        }
        self.ln_determinant -= whole.ln();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Weighing one thing n times with unit scatter: variance 1/(1 + n) beside a prior of unit variance
    /// (conjugate normal mean, for instance A. Gelman et al., Bayesian Data Analysis, 2.12, from memory).
    #[test]
    fn readings_of_one_number_add_their_weights_and_take_them_away_again() {
        let mut one = Information::of_none(1);
        for _ in 0..9 {
            one.add(&[1.0]);
        }
        assert!((one.between(&[1.0], &[1.0]) - 0.1).abs() < 1e-12);
        assert!((one.ln_determinant - 0.1_f64.ln()).abs() < 1e-12);
        for _ in 0..9 {
            one.take_away(&[1.0]);
        }
        assert!((one.between(&[1.0], &[1.0]) - 1.0).abs() < 1e-9);
    }
}
