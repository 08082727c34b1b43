//! The fitted curve and its bands.

use super::bench::{BenchModel, BenchRows, ErrorModel, Held, Shape};
use super::calibration::BlendCalibration;
use super::error::FitError;
use super::interval::t_quantile;
use super::parameter::ParameterName;
use crate::kinetics::ReactionOrder;
use ndarray::{Array1, Array2, ArrayView2};

/// A predicted reading with its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The fitted curve.
    pub estimate: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

/// Curve and bands of one blend, ready for many points.
#[derive(Debug, Clone)]
pub struct Predictor {
    shape: Shape,
    search: Vec<f64>,
    linear: Vec<f64>,
    covariance: Array2<f64>,
    residual_variance: f64,
    t: f64,
}

impl Predictor {
    /// Sets up from the document.
    ///
    /// # Errors
    /// A document without one of the main parameters.
    pub fn new(blend: &BlendCalibration) -> Result<Self, FitError> {
        let setting = blend.setting()?;
        let held_value =
            |name: ParameterName| blend.parameter(name).filter(|p| p.held).map(|p| p.estimate);
        let shape = Shape {
            law: blend.law,
            order: ReactionOrder(blend.order),
            errors: blend.error,
            warm_up: blend.warm_up(),
            reference_kelvin: blend.reference_temp_k,
            held: Held {
                initial: held_value(ParameterName::Initial),
                plateau: held_value(ParameterName::Plateau),
                rate_ref_per_s: held_value(ParameterName::RateRef),
                activation_energy_j_per_mol: held_value(ParameterName::ActivationEnergy),
                flow_index_plateau: held_value(ParameterName::FlowIndexPlateau),
            },
        };
        let mut probe = BenchRows::new(&[(blend.reference_temp_k, 1.0, 1.0)]);
        if blend.flow_index_plateau().is_some() {
            probe.ln_shear_ratios = vec![0.0];
        }
        probe.reading_sds = vec![Some(1.0)];
        let model = BenchModel::new(&probe, shape);
        let (search, linear) = model.point(
            setting.rate.rate_ref_per_s,
            setting.rate.activation_energy_j_per_mol,
            setting.initial,
            setting.plateau,
            blend.flow_index_plateau().unwrap_or(1.0),
        );
        let free = blend.covariance.len();
        let flat: Vec<f64> = blend.covariance.iter().flatten().copied().collect();
        let covariance = Array2::from_shape_vec((free, free), flat)
            .unwrap_or_else(|_| Array2::zeros((free, free)));
        Ok(Self {
            shape,
            search,
            linear,
            covariance,
            residual_variance: blend.fit.residual_sd * blend.fit.residual_sd,
            t: t_quantile(0.975, blend.fit.degrees_of_freedom).unwrap_or(f64::INFINITY),
        })
    }

    /// Where 95 % of fitted curves would run: the band of the curve.
    #[must_use]
    pub fn confidence_band(&self, set_kelvin: f64, times_s: &[f64]) -> Vec<Band> {
        self.band(set_kelvin, times_s, 0.0)
    }

    /// Where 95 % of single readings would lie: the band of the curve and their scatter.
    ///
    /// With standard deviations given row by row there is no one scatter; one standard unit is
    /// meant then.
    #[must_use]
    pub fn prediction_band(&self, set_kelvin: f64, times_s: &[f64]) -> Vec<Band> {
        self.band(set_kelvin, times_s, self.residual_variance)
    }

    fn band(&self, set_kelvin: f64, times_s: &[f64], scatter: f64) -> Vec<Band> {
        let rows: Vec<(f64, f64, f64)> = times_s.iter().map(|t| (set_kelvin, *t, 1.0)).collect();
        if rows.is_empty() {
            return Vec::new();
        }
        let mut bench = BenchRows::new(&rows);
        bench.reading_sds = vec![Some(1.0); rows.len()];
        if !self.linear.is_empty() || !self.search.is_empty() {
            let thins = self.has_thinning();
            if thins {
                bench.ln_shear_ratios = vec![0.0; rows.len()];
            }
        }
        let mut model = BenchModel::new(&bench, self.shape);
        let (derivatives, residuals) = model.full_derivatives(&self.search, &self.linear);
        let free = self.covariance.nrows();
        let columns = ArrayView2::from_shape((free, rows.len()), &derivatives);
        // The dummy reading is 1, so the response is the residual plus ln 1 or plus 1.
        let shift = if self.shape.errors == ErrorModel::Relative {
            0.0
        } else {
            1.0
        };
        residuals
            .iter()
            .enumerate()
            .map(|(i, residual)| {
                let response = residual + shift;
                let derivative = columns
                    .as_ref()
                    .map_or_else(|_| Array1::zeros(free), |c| c.column(i).to_owned());
                let variance = derivative.dot(&self.covariance.dot(&derivative)) + scatter;
                let half = self.t * variance.max(0.0).sqrt();
                match self.shape.errors {
                    ErrorModel::Relative => Band {
                        estimate: response.exp(),
                        lower: (response - half).exp(),
                        upper: (response + half).exp(),
                    },
                    ErrorModel::Absolute | ErrorModel::Given => Band {
                        estimate: response,
                        lower: response - half,
                        upper: response + half,
                    },
                }
            })
            .collect()
    }

    fn has_thinning(&self) -> bool {
        let probe_free = self.covariance.nrows();
        let held = [
            self.shape.held.initial,
            self.shape.held.plateau,
            self.shape.held.rate_ref_per_s,
            self.shape.held.activation_energy_j_per_mol,
        ];
        self.shape.held.flow_index_plateau.is_some()
            || probe_free > held.iter().filter(|h| h.is_none()).count()
    }
}
