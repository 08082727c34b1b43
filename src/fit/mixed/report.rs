//! The report at the end of a fit: estimates on the scale of the readings, and their errors.

use super::linear::{LinearFit, Setting};
use super::outcome::{MixedFit, MixedTermination, MixedUncertainty};
use super::penalised::Present;
use super::turns::Turns;
use super::variance::{by_logarithms, solved_positive};
use ndarray::Array2;

/// Standard error of the logarithm of a standard deviation beyond which nothing is known of it.
const UNKNOWN_LOG_ERROR: f64 = 1e3;

impl Turns {
    /// The fit as it stands, and whether it is one.
    pub fn report(
        self,
        present: &Present,
        setting: Setting<'_>,
        termination: MixedTermination,
    ) -> MixedFit {
        let residual_sd = match &self.linear {
            Some(linear) => (linear.sum_of_squares / setting.effective_rows()).sqrt(),
            None => {
                let sum: f64 = present.evaluated.residuals.iter().map(|r| r * r).sum();
                (sum / setting.effective_rows()).sqrt()
            }
        };
        let each = setting.shape.random.len();
        let effects = present
            .blocks
            .iter()
            .enumerate()
            .map(|(group, _)| present.point.effects[group * each..(group + 1) * each].to_vec())
            .collect();
        let mut termination = termination;
        let mut uncertainty = None;
        if let (MixedTermination::Converged, Some(linear)) = (termination, &self.linear) {
            uncertainty = self.uncertainty(linear, residual_sd, setting);
            if uncertainty.is_none() {
                termination = MixedTermination::SpreadNotFound;
            }
        }
        MixedFit {
            fixed: present.point.fixed.clone(),
            random: setting.shape.random.to_vec(),
            random_sd: self.relative_sds.iter().map(|r| r * residual_sd).collect(),
            residual_sd,
            effects,
            uncertainty,
            log_likelihood: self.linear.as_ref().map_or(f64::NAN, |l| l.log_likelihood),
            rows: setting.rows,
            iterations: self.iterations,
            converged: termination == MixedTermination::Converged,
            termination,
        }
    }

    /// Errors of the estimates; `None` where the likelihood does not change with the spread.
    fn uncertainty(
        &self,
        linear: &LinearFit,
        residual_sd: f64,
        setting: Setting<'_>,
    ) -> Option<MixedUncertainty> {
        let (random_log_sd_errors, residual_log_sd_error) =
            log_sd_errors(&self.relative_sds, linear, setting)?;
        let shape = setting.shape;
        let (parameters, each) = (shape.parameters, shape.random.len());
        let variance = linear.sum_of_squares / (setting.rows - parameters) as f64;
        let fixed_covariance = Array2::from_shape_fn((parameters, parameters), |(a, b)| {
            variance * linear.unscaled[a * parameters + b]
        });
        let mut effect_sds = Vec::with_capacity(linear.projections.len());
        let mut group_covariances = Vec::with_capacity(linear.projections.len());
        for projection in &linear.projections {
            let conditional = projection.conditional(each);
            effect_sds.push(
                (0..each)
                    .map(|k| residual_sd * self.relative_sds[k] * conditional[k * each + k].sqrt())
                    .collect(),
            );
            let sensitivity = Array2::from_shape_fn((parameters, parameters), {
                let entries = projection.sensitivity(&self.relative_sds, shape);
                move |(a, b)| entries[a * parameters + b]
            });
            let mut covariance = sensitivity.dot(&fixed_covariance).dot(&sensitivity.t());
            for k in 0..each {
                for l in 0..each {
                    covariance[[shape.random[k], shape.random[l]]] += variance
                        * self.relative_sds[k]
                        * self.relative_sds[l]
                        * conditional[k * each + l];
                }
            }
            group_covariances.push(covariance);
        }
        Some(MixedUncertainty {
            fixed_covariance,
            effect_sds,
            group_covariances,
            random_log_sd_errors,
            residual_log_sd_error,
        })
    }
}

/// Standard errors of `ln sd_k` and `ln sigma` from the curvature of the likelihood; `None` where
/// it has none.
///
/// The likelihood is known as a function of `ln lambda_k` with sigma profiled out; with
/// `eta = ln sigma` it has the second derivatives `-2 n` by eta and `-n d ln rss` across.
fn log_sd_errors(
    relative_sds: &[f64],
    linear: &LinearFit,
    setting: Setting<'_>,
) -> Option<(Vec<Option<f64>>, f64)> {
    let active: Vec<usize> = (0..relative_sds.len())
        .filter(|&k| relative_sds[k] > 0.0)
        .collect();
    let curvature = linear.curvature(setting);
    let (_, hessian) = by_logarithms(relative_sds, &curvature);
    let (n, each) = (active.len(), relative_sds.len());
    let count = setting.effective_rows();
    let total = linear.sum_of_squares;
    // d eta-hat / d ln lambda_k along the profile: sigma^2 = rss / n.
    let slopes: Vec<f64> = active
        .iter()
        .map(|&k| relative_sds[k].powi(2) * curvature.square_gradient[k] / total)
        .collect();
    let information: Vec<f64> = (0..n * n)
        .map(|place| -hessian[active[place / n] * each + active[place % n]])
        .collect();
    let mut errors = vec![None; each];
    let mut residual_variance = 1.0 / (2.0 * count);
    for a in 0..n {
        let mut unit = vec![0.0; n];
        unit[a] = 1.0;
        let column = solved_positive(&information, &unit)?;
        // cov(eta, ln lambda_a) = sum_b slope_b cov(ln lambda_b, ln lambda_a).
        let across: f64 = column.iter().zip(&slopes).map(|(c, s)| c * s).sum();
        residual_variance += slopes[a] * across;
        errors[active[a]] = Some((column[a], across));
    }
    let own: Vec<Option<f64>> = errors
        .iter()
        .map(|entry| entry.map(|(own, across)| (own + 2.0 * across + residual_variance).sqrt()))
        .collect();
    let known = own.iter().flatten().all(|e| *e <= UNKNOWN_LOG_ERROR);
    known.then(|| (own, residual_variance.sqrt()))
}
