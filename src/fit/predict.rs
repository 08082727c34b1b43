//! The fitted curve and its bands.

use super::bench::{BenchModel, BenchRows, ErrorModel, Estimates, Held, ReadTemperatures, Shape};
use super::calibration::BlendCalibration;
use super::error::FitError;
use super::interval::t_quantile;
use super::parameter::ParameterName;
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
    has_thinning: bool,
    /// Reference temperature of reading, in K, where an activation energy of flow was fitted.
    read_kelvin: Option<f64>,
    search: Vec<f64>,
    linear: Vec<f64>,
    covariance: Array2<f64>,
    residual_variance: f64,
    /// Variance between lots of each free parameter, on its scale.
    lot_variances: Vec<f64>,
    t: f64,
}

impl Predictor {
    /// Sets up from the document.
    ///
    /// # Errors
    /// A document without one of the main parameters.
    pub fn new(blend: &BlendCalibration) -> Result<Self, FitError> {
        blend.setting()?;
        let mut values = Estimates::neutral();
        let mut held = Held::default();
        for parameter in &blend.parameters {
            values = values.with(parameter.name, parameter.estimate);
            if parameter.held {
                held = held.with(parameter.name, parameter.estimate);
            }
        }
        let is_free = |name: ParameterName| blend.parameter(name).is_some_and(|p| !p.held);
        let shape = Shape {
            warm_up: blend.warm_up(),
            held,
            fits_order: is_free(ParameterName::Order),
            fits_dose_lag: is_free(ParameterName::DoseLag),
            fits_warm_up: is_free(ParameterName::WarmUp),
            fits_yield_stress: is_free(ParameterName::YieldSharePlateau),
            ..Shape::new(blend.law, blend.error, blend.reference_temp_k)
        };
        let has_thinning = blend.flow_index_plateau().is_some();
        let read_kelvin = blend.flow_activation_energy().and(blend.read_temp_k);
        let probe = probe_rows(blend.reference_temp_k, &[1.0], has_thinning, read_kelvin);
        let (search, linear) = BenchModel::new(&probe, shape.clone()).point(&values);
        let free = blend.covariance.len();
        let flat: Vec<f64> = blend.covariance.iter().flatten().copied().collect();
        let covariance = Array2::from_shape_vec((free, free), flat)
            .unwrap_or_else(|_| Array2::zeros((free, free)));
        Ok(Self {
            shape,
            has_thinning,
            read_kelvin,
            search,
            linear,
            covariance,
            residual_variance: blend.fit.residual_sd * blend.fit.residual_sd,
            lot_variances: blend
                .free_parameters()
                .iter()
                .map(|name| {
                    let sd = blend
                        .lots
                        .as_ref()
                        .and_then(|l| l.sd.get(name.as_str()).copied());
                    sd.map_or(0.0, |sd| sd * sd)
                })
                .collect(),
            t: t_quantile(0.975, blend.interval_freedom()).unwrap_or(f64::INFINITY),
        })
    }

    /// Where 95 % of fitted curves would run: the band of the curve.
    #[must_use]
    pub fn confidence_band(&self, set_kelvin: f64, times_s: &[f64]) -> Vec<Band> {
        self.band(set_kelvin, times_s, 0.0, false)
    }

    /// Where 95 % of single readings would lie: the band of the curve, the spread between lots where
    /// it is known, and the scatter of readings.
    ///
    /// With standard deviations given row by row there is no one scatter; one standard unit is
    /// meant then.
    #[must_use]
    pub fn prediction_band(&self, set_kelvin: f64, times_s: &[f64]) -> Vec<Band> {
        self.band(set_kelvin, times_s, self.residual_variance, true)
    }

    /// Derivatives of the response by the free parameters on their scales, in the order of the
    /// covariance, a vector for each time; of ln P under relative errors, else of the reading.
    ///
    /// `ln_shear_ratio` is the logarithm of the shear rate over that at which initial and plateau
    /// hold; it plays no part where no flow index was fitted.
    #[must_use]
    pub fn derivatives(
        &self,
        set_kelvin: f64,
        times_s: &[f64],
        ln_shear_ratio: f64,
    ) -> Vec<Vec<f64>> {
        if times_s.is_empty() {
            return Vec::new();
        }
        let mut bench = probe_rows(set_kelvin, times_s, self.has_thinning, self.read_kelvin);
        if self.has_thinning {
            bench.ln_shear_ratios = vec![ln_shear_ratio; times_s.len()];
        }
        let mut model = BenchModel::new(&bench, self.shape.clone());
        let (columns, _) = model.full_derivatives(&self.search, &self.linear);
        (0..times_s.len())
            .map(|row| {
                columns
                    .chunks_exact(times_s.len())
                    .map(|c| c[row])
                    .collect()
            })
            .collect()
    }

    /// Covariance of the free parameters on their scales.
    #[must_use]
    pub fn covariance(&self) -> &Array2<f64> {
        &self.covariance
    }

    /// Variance of the residuals, on the scale that was fitted.
    #[must_use]
    pub fn residual_variance(&self) -> f64 {
        self.residual_variance
    }

    fn band(&self, set_kelvin: f64, times_s: &[f64], scatter: f64, of_any_lot: bool) -> Vec<Band> {
        if times_s.is_empty() {
            return Vec::new();
        }
        let bench = probe_rows(set_kelvin, times_s, self.has_thinning, self.read_kelvin);
        let mut model = BenchModel::new(&bench, self.shape.clone());
        let (derivatives, residuals) = model.full_derivatives(&self.search, &self.linear);
        let free = self.covariance.nrows();
        let columns = ArrayView2::from_shape((free, times_s.len()), &derivatives);
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
                let between: f64 = derivative
                    .iter()
                    .zip(&self.lot_variances)
                    .map(|(d, variance)| if of_any_lot { d * d * variance } else { 0.0 })
                    .sum();
                let variance =
                    derivative.dot(&self.covariance.dot(&derivative)) + between + scatter;
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
}

/// Rows without readings at one temperature, for asking the model; read at the reference.
fn probe_rows(
    set_kelvin: f64,
    times_s: &[f64],
    has_thinning: bool,
    read_kelvin: Option<f64>,
) -> BenchRows {
    let rows: Vec<(f64, f64, f64)> = times_s.iter().map(|t| (set_kelvin, *t, 1.0)).collect();
    let mut bench = BenchRows::new(&rows);
    bench.reading_sds = vec![Some(1.0); rows.len()];
    if has_thinning {
        bench.ln_shear_ratios = vec![0.0; rows.len()];
    }
    bench.read_temperatures =
        read_kelvin.map(|kelvin| ReadTemperatures::new(kelvin, times_s.iter().map(|_| None)));
    bench
}
