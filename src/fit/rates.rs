//! The rate at each measured temperature on its own: the points beside the Arrhenius line.

use super::bench::{BenchRows, Held, ReadTemperatures, Shape, fit_bench};
use super::calibration::BlendCalibration;
use super::error::FitError;
use super::interval::t_quantile;
use super::parameter::ParameterName;

/// Rate at one temperature, with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureRate {
    /// Set temperature, in K.
    pub temp_kelvin: f64,
    /// Rate, in 1/s.
    pub rate_per_s: f64,
    /// 95 % interval, in 1/s, where the readings give one.
    pub ci95_per_s: Option<[f64; 2]>,
    /// Readings at that temperature.
    pub rows: usize,
}

/// Fits the rate of each temperature alone, the readings at both ends held at their common
/// estimates. Under a declared warm-up the common activation energy converts doses.
///
/// # Errors
/// A document without one of the main parameters.
pub fn rates_by_temperature(blend: &BlendCalibration) -> Result<Vec<TemperatureRate>, FitError> {
    blend.setting()?;
    let mut found = Vec::new();
    for half in &blend.derived.half_time_s {
        let here: Vec<_> = blend
            .readings
            .iter()
            .filter(|r| r.used && (r.heat_temp_k - half.temp_k).abs() < 1e-6)
            .collect();
        let triples: Vec<(f64, f64, f64)> = here
            .iter()
            .map(|r| (r.heat_temp_k, r.heat_time_s, r.reading))
            .collect();
        if triples.is_empty() || triples.iter().all(|t| t.1 == 0.0) {
            continue;
        }
        let mut rows = BenchRows::new(&triples);
        rows.reading_sds = here.iter().map(|r| r.reading_sd.or(Some(1.0))).collect();
        if let (Some(reference), Some(_)) =
            (blend.reference_shear_rate_per_s, blend.flow_index_plateau())
        {
            rows.ln_shear_ratios = here
                .iter()
                .map(|r| {
                    r.shear_rate_per_s
                        .map_or(0.0, |rate| (rate / reference).ln())
                })
                .collect();
        }
        rows.read_temperatures = blend
            .flow_activation_energy()
            .and(blend.read_temp_k)
            .map(|kelvin| ReadTemperatures::new(kelvin, here.iter().map(|r| r.read_temp_k)));
        // Everything but the rate stands at its common estimate.
        let mut held = Held::default();
        for parameter in &blend.parameters {
            if parameter.name != ParameterName::RateRef {
                held = held.with(parameter.name, parameter.estimate);
            }
        }
        let shape = Shape {
            warm_up: blend.warm_up(),
            held,
            ..Shape::new(blend.law, blend.error, half.temp_k)
        };
        let fit = fit_bench(&rows, &shape);
        if !fit.termination.was_successful() {
            continue;
        }
        let rate_per_s = fit.estimates.get(ParameterName::RateRef);
        // The scatter of the whole fit: a handful of rows has none of its own to speak of.
        let ci95_per_s = fit.covariance.as_ref().and_then(|covariance| {
            let error = covariance.unscaled[[0, 0]].sqrt() * blend.fit.residual_sd;
            let half_width = t_quantile(0.975, blend.fit.degrees_of_freedom)? * error;
            Some([
                rate_per_s * (-half_width).exp(),
                rate_per_s * half_width.exp(),
            ])
        });
        found.push(TemperatureRate {
            temp_kelvin: half.temp_k,
            rate_per_s,
            ci95_per_s,
            rows: triples.len(),
        });
    }
    Ok(found)
}
