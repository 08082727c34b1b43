//! ln k against 1/T.

use super::error::DrawingError;
use super::words::words;
use crate::chart::{RateLinePoint, RatePoint, RatesChart};
use crate::face::sentences::ten_degrees_ratio;
use crate::fit::{BlendCalibration, Calibration, ParameterName, rates_by_temperature, t_quantile};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::units::display;

/// ln k against 1/T: the rate of each temperature alone, and the line fitted to all.
///
/// # Errors
/// A document without one of the main parameters.
pub fn rates(
    calibration: &Calibration,
    blend: &BlendCalibration,
) -> Result<RatesChart, DrawingError> {
    let setting = blend.setting()?;
    let alone = rates_by_temperature(blend)?;
    let [low, high] = blend.range.heat_temp_k;
    let margin = 0.04 * (high - low).max(1.0);
    let free = blend.free_parameters();
    let place = |name| free.iter().position(|f| *f == name);
    let covariance = |a: Option<usize>, b: Option<usize>| match (a, b) {
        (Some(a), Some(b)) => blend.covariance[a][b],
        _ => 0.0,
    };
    let (rate, energy) = (
        place(ParameterName::RateRef),
        place(ParameterName::ActivationEnergy),
    );
    let t = t_quantile(0.975, blend.interval_freedom()).unwrap_or(0.0);
    let line = (0..=60)
        .map(|i| {
            let kelvin = low - margin + (high - low + 2.0 * margin) * f64::from(i) / 60.0;
            // d ln k / d E = -(1/T - 1/T_ref)/R
            let by_energy =
                -(1.0 / kelvin - 1.0 / blend.reference_temp_k) / GAS_CONSTANT_J_PER_MOL_K;
            let variance = covariance(rate, rate)
                + 2.0 * by_energy * covariance(rate, energy)
                + by_energy * by_energy * covariance(energy, energy);
            let half = t * variance.max(0.0).sqrt();
            let rate_per_s = setting.rate.rate_per_s(kelvin);
            RateLinePoint {
                temperature_kelvin: kelvin,
                rate_per_s,
                low_per_s: Some(rate_per_s * (-half).exp()),
                high_per_s: Some(rate_per_s * half.exp()),
            }
        })
        .collect();
    let energy = blend.parameter(ParameterName::ActivationEnergy);
    let alone_at: Vec<f64> = alone.iter().map(|r| r.temp_kelvin).collect();
    let without: Vec<String> = blend
        .derived
        .half_time_s
        .iter()
        .filter(|half| !alone_at.contains(&half.temp_k))
        .map(|half| display::temperature(half.temp_k))
        .collect();
    let extra = if without.is_empty() {
        String::new()
    } else {
        format!("; {} gives no rate alone", without.join(", "))
    };
    let (title, label) = match energy {
        Some(p) => {
            let digits = p
                .ci95
                .map_or(3, |[l, h]| display::digits_for_interval(l, h).max(2));
            let value = display::energy_to(p.estimate, digits);
            let interval = p.ci95.map_or_else(
                || "held".to_owned(),
                |[l, h]| {
                    format!(
                        "{} to {} kJ/mol",
                        display::significant(l / 1e3, digits),
                        display::significant(h / 1e3, digits)
                    )
                },
            );
            (
                format!(
                    "Activation energy {value}: {} times as fast for ten degrees more",
                    display::significant(ten_degrees_ratio(blend), 2)
                ),
                format!("activation energy {value}\n95 %: {interval}"),
            )
        }
        None => ("Rate of setting".to_owned(), String::new()),
    };
    Ok(RatesChart {
        words: words(calibration, blend, title, &extra),
        activation_energy_words: label,
        points: alone
            .iter()
            .map(|r| RatePoint {
                label: display::temperature(r.temp_kelvin),
                temperature_kelvin: r.temp_kelvin,
                rate_per_s: r.rate_per_s,
                low_per_s: r.ci95_per_s.map(|c| c[0]),
                high_per_s: r.ci95_per_s.map(|c| c[1]),
                used: true,
            })
            .collect(),
        line,
        ..RatesChart::default()
    })
}
