//! The settings at which a next reading could be taken.

use super::error::PlanError;
use super::range_check::check_temperature;
use crate::fit::{BlendCalibration, ErrorModel, FitError, ParameterName, Predictor};
use crate::kinetics::ShearThinning;
use crate::reference::constants::ZERO_CELSIUS_KELVIN;

/// Times looked at, at each temperature.
const TIMES: usize = 60;
/// How far past the longest measured time is looked.
const PAST_LONGEST_RATIO: f64 = 2.0;
/// Temperatures this near to each other are one, in K.
const SAME_KELVIN: f64 = 0.05;

/// A setting of the block and the clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Setting {
    pub(super) heat_temp_k: f64,
    pub(super) heat_time_s: f64,
    pub(super) outside_measured_times: bool,
    /// Shear rate of the reading, in 1/s, where a flow index was fitted.
    pub(super) shear_rate_per_s: Option<f64>,
}

/// Candidates with their derivatives, each divided by the standard deviation of its reading where
/// readings have their own.
#[derive(Debug, Clone, Default)]
pub(super) struct Candidates {
    pub(super) settings: Vec<Setting>,
    pub(super) derivatives: Vec<Vec<f64>>,
}

impl Candidates {
    fn at(blend: &BlendCalibration, predictor: &Predictor, settings: Vec<Setting>) -> Self {
        let mut found = Self::default();
        let alike = |a: &Setting, b: &Setting| {
            a.heat_temp_k == b.heat_temp_k && a.shear_rate_per_s == b.shear_rate_per_s
        };
        for same in settings.chunk_by(alike) {
            let Some(first) = same.first() else { continue };
            let times_s: Vec<f64> = same.iter().map(|s| s.heat_time_s).collect();
            let ln_shear_ratio = ln_shear_ratio(blend, first.shear_rate_per_s);
            let rows = predictor.derivatives(first.heat_temp_k, &times_s, ln_shear_ratio);
            for (setting, mut row) in same.iter().zip(rows) {
                let sd = reading_sd(blend, setting);
                row.iter_mut().for_each(|value| *value /= sd);
                if row.iter().all(|value| value.is_finite()) {
                    found.settings.push(*setting);
                    found.derivatives.push(row);
                }
            }
        }
        found
    }
}

/// What a reading is divided by: 1 unless readings have their own standard deviations; then that
/// of the measured reading nearest in size.
fn reading_sd(blend: &BlendCalibration, setting: &Setting) -> f64 {
    if blend.error != ErrorModel::Given {
        return 1.0;
    }
    let Ok(expected) = expected_reading(blend, setting) else {
        return 1.0;
    };
    blend
        .readings
        .iter()
        .filter(|r| r.used)
        .filter_map(|r| Some(((r.reading - expected).abs(), r.reading_sd?)))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(1.0, |(_, sd)| sd)
}

/// Settings inside the measured temperatures (whole degrees and the measured ones) and from the
/// shortest measured time to twice the longest, about 60 a temperature, evenly on the logarithm
/// and rounded to what a clock shows.
///
/// # Errors
/// Measured temperatures that are all at or too near boiling.
pub(super) fn new_settings(
    blend: &BlendCalibration,
    predictor: &Predictor,
    altitude_m: f64,
) -> Result<Candidates, PlanError> {
    let temperatures = temperatures_kelvin(blend, altitude_m)?;
    let [shortest, longest] = blend.range.heat_time_s;
    let shortest_heated = blend
        .readings
        .iter()
        .filter(|r| r.used && r.heat_time_s > 0.0)
        .map(|r| r.heat_time_s)
        .fold(longest, f64::min);
    let times_s = times_s(shortest_heated, longest);
    let shear_rates = shear_rates_per_s(blend);
    let mut settings = Vec::new();
    for (place, &heat_temp_k) in temperatures.iter().enumerate() {
        for &shear_rate_per_s in &shear_rates {
            // An unheated reading is the same at every temperature.
            let unheated = (place == 0 && shortest == 0.0).then_some(0.0);
            settings.extend(unheated.iter().chain(&times_s).map(|&heat_time_s| Setting {
                heat_temp_k,
                heat_time_s,
                outside_measured_times: heat_time_s > longest * (1.0 + 1e-9),
                shear_rate_per_s,
            }));
        }
    }
    Ok(Candidates::at(blend, predictor, settings))
}

/// Shear rates to read at: those of the bench where a flow index was fitted, else the bench's own
/// without a word.
fn shear_rates_per_s(blend: &BlendCalibration) -> Vec<Option<f64>> {
    if !blend
        .free_parameters()
        .contains(&ParameterName::FlowIndexPlateau)
    {
        return vec![None];
    }
    let mut found: Vec<f64> = blend
        .readings
        .iter()
        .filter(|r| r.used)
        .filter_map(|r| r.shear_rate_per_s)
        .collect();
    found.sort_by(f64::total_cmp);
    found.dedup();
    if found.is_empty() {
        vec![None]
    } else {
        found.into_iter().map(Some).collect()
    }
}

/// Logarithm of a shear rate over that at which initial and plateau hold; 0 where either is not
/// known.
pub(super) fn ln_shear_ratio(blend: &BlendCalibration, shear_rate_per_s: Option<f64>) -> f64 {
    match (shear_rate_per_s, blend.reference_shear_rate_per_s) {
        (Some(rate), Some(reference)) => (rate / reference).ln(),
        _ => 0.0,
    }
}

/// Reading that the fitted curve expects at a setting.
///
/// # Errors
/// A document without one of the main parameters.
pub(super) fn expected_reading(
    blend: &BlendCalibration,
    setting: &Setting,
) -> Result<f64, FitError> {
    let model = blend.setting()?;
    let fraction = model.conversion(setting.heat_temp_k, setting.heat_time_s);
    let thinning = ShearThinning {
        flow_index_plateau: blend.flow_index_plateau().unwrap_or(1.0),
        yield_share_plateau: blend.yield_share_plateau().unwrap_or(0.0),
        ..ShearThinning::NEWTONIAN
    };
    let ln_shear_ratio = ln_shear_ratio(blend, setting.shear_rate_per_s);
    Ok(model.reading_at_conversion(fraction) * thinning.viscosity_ratio(fraction, ln_shear_ratio))
}

/// The settings that were measured, each once.
pub(super) fn measured_settings(blend: &BlendCalibration, predictor: &Predictor) -> Candidates {
    let thins = blend
        .free_parameters()
        .contains(&ParameterName::FlowIndexPlateau);
    let mut settings: Vec<Setting> = blend
        .readings
        .iter()
        .filter(|r| r.used)
        .map(|r| Setting {
            heat_temp_k: r.heat_temp_k,
            heat_time_s: r.heat_time_s,
            outside_measured_times: false,
            shear_rate_per_s: if thins { r.shear_rate_per_s } else { None },
        })
        .collect();
    let shear = |setting: &Setting| setting.shear_rate_per_s.unwrap_or(0.0);
    settings.sort_by(|a, b| {
        (a.heat_temp_k.total_cmp(&b.heat_temp_k))
            .then(shear(a).total_cmp(&shear(b)))
            .then(a.heat_time_s.total_cmp(&b.heat_time_s))
    });
    settings.dedup();
    Candidates::at(blend, predictor, settings)
}

/// Whole degrees Celsius within the measured temperatures, and these themselves; none at boiling.
fn temperatures_kelvin(blend: &BlendCalibration, altitude_m: f64) -> Result<Vec<f64>, PlanError> {
    let [low, high] = blend.range.heat_temp_k;
    let mut found: Vec<f64> = blend
        .readings
        .iter()
        .filter(|r| r.used)
        .map(|r| r.heat_temp_k)
        .collect();
    found.extend([low, high]);
    found.sort_by(f64::total_cmp);
    found.dedup_by(|b, a| (*b - *a).abs() < 1e-9);
    let measured = found.clone();
    let mut celsius = (low - ZERO_CELSIUS_KELVIN).ceil();
    while celsius + ZERO_CELSIUS_KELVIN < high {
        let kelvin = celsius + ZERO_CELSIUS_KELVIN;
        if measured.iter().all(|m| (m - kelvin).abs() > SAME_KELVIN) {
            found.push(kelvin);
        }
        celsius += 1.0;
    }
    found.sort_by(f64::total_cmp);
    // The lowest is refused where all are.
    check_temperature(blend, low, altitude_m, true)?;
    found.retain(|kelvin| check_temperature(blend, *kelvin, altitude_m, true).is_ok());
    Ok(found)
}

/// Times evenly on the logarithm, rounded to steps that a clock shows; the measured ends as they
/// are.
fn times_s(shortest: f64, longest: f64) -> Vec<f64> {
    let last = PAST_LONGEST_RATIO * longest;
    let step = (last / shortest).ln() / (TIMES - 1) as f64;
    let mut times: Vec<f64> = (0..TIMES)
        .map(|place| on_the_clock_s(shortest * (step * place as f64).exp()))
        .filter(|t| *t >= shortest && *t <= last)
        .chain([shortest, longest])
        .collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    times
}

/// The nearest time that a person would set, within about 2 %.
fn on_the_clock_s(time_s: f64) -> f64 {
    let step_s = [1800.0, 600.0, 300.0, 60.0, 30.0, 10.0, 5.0, 1.0]
        .into_iter()
        .find(|step| *step <= 0.04 * time_s);
    step_s.map_or(time_s, |step| (time_s / step).round() * step)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_run_from_the_shortest_to_twice_the_longest_as_a_clock_shows_them() {
        let times = times_s(30.0, 5400.0);
        assert_eq!(times.first(), Some(&30.0));
        assert_eq!(times.last(), Some(&10800.0));
        assert!(times.contains(&5400.0));
        assert!((55..=61).contains(&times.len()), "{}", times.len());
        for pair in times.windows(2) {
            assert!(pair[1] / pair[0] < 1.16, "{pair:?}");
        }
        assert!(times.iter().filter(|t| **t > 125.0).all(|t| t % 5.0 == 0.0));
    }
}
