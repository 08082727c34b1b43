//! Firmness against heat time.

use super::CURVE_POINTS;
use super::error::DrawingError;
use super::words::{quantity, words};
use crate::chart::{
    AxisKind, CurvePoint, FirmnessChart, FirmnessSeries, ReadingBand, ReadingPoint,
};
use crate::face::sentences::headline;
use crate::fit::{BlendCalibration, Calibration, ErrorModel, Predictor, heat_temperatures_kelvin};
use crate::units::display;

/// Firmness against heat time: points, curve and band, one series a temperature.
///
/// # Errors
/// A document without one of the main parameters.
pub fn firmness(
    calibration: &Calibration,
    blend: &BlendCalibration,
) -> Result<FirmnessChart, DrawingError> {
    let predictor = Predictor::new(blend)?;
    let longest = blend.range.heat_time_s[1];
    let relative = blend.error == ErrorModel::Relative;
    let positive = relative && blend.readings.iter().all(|r| r.reading > 0.0);
    let several_rates = blend.flow_index_plateau().is_some();
    let read_apart = blend.flow_activation_energy().is_some();
    let is_carried = several_rates || read_apart;
    let [shortest, _] = blend.range.heat_time_s;
    let logarithmic_time = shortest > 0.0 && longest / shortest > 50.0;
    let series = heat_temperatures_kelvin(&blend.readings)
        .into_iter()
        .map(|kelvin| {
            let here: Vec<_> = blend
                .readings
                .iter()
                .filter(|r| r.heat_temp_k == kelvin)
                .collect();
            let used = here.iter().filter(|r| r.used);
            let last = used.clone().map(|r| r.heat_time_s).fold(0.0_f64, f64::max);
            let first = used.map(|r| r.heat_time_s).fold(f64::INFINITY, f64::min);
            let times: Vec<f64> = (0..=CURVE_POINTS)
                .map(|i| {
                    let share = i as f64 / CURVE_POINTS as f64;
                    if logarithmic_time {
                        first * (last / first).powf(share)
                    } else {
                        last * share
                    }
                })
                .collect();
            let bands = predictor.prediction_band(kelvin, &times);
            let points = here
                .iter()
                .map(|r| ReadingPoint {
                    time_s: r.heat_time_s,
                    reading_in_unit: carried(r.reading, r.residual, is_carried, || {
                        predictor
                            .confidence_band(kelvin, &[r.heat_time_s])
                            .first()
                            .map_or(r.reading, |b| b.estimate)
                    }),
                    used: r.used,
                })
                .collect();
            FirmnessSeries {
                label: display::temperature(kelvin),
                points,
                curve: times
                    .iter()
                    .zip(&bands)
                    .map(|(t, b)| CurvePoint {
                        time_s: *t,
                        reading_in_unit: b.estimate,
                    })
                    .collect(),
                band: times
                    .iter()
                    .zip(&bands)
                    .map(|(t, b)| ReadingBand {
                        time_s: *t,
                        low_in_unit: b.lower,
                        high_in_unit: b.upper,
                    })
                    .collect(),
            }
        })
        .collect();
    let rate = blend
        .reference_shear_rate_per_s
        .filter(|_| several_rates)
        .map(|rate| format!("{} 1/s", display::at_most(rate, 3)));
    let read_at = blend
        .read_temp_k
        .filter(|_| read_apart)
        .map(display::temperature);
    let to: Vec<String> = [rate, read_at].into_iter().flatten().collect();
    let extra = if to.is_empty() {
        String::new()
    } else {
        format!(", all carried to {}", to.join(" and "))
    };
    Ok(FirmnessChart {
        words: words(calibration, blend, headline(blend), &extra),
        reading_name: quantity(blend).to_owned(),
        reading_unit: blend.reading_unit.clone(),
        reading_axis: if positive {
            AxisKind::Log
        } else {
            AxisKind::Linear
        },
        time_axis: if logarithmic_time {
            AxisKind::Log
        } else {
            AxisKind::Linear
        },
        series,
        ..FirmnessChart::default()
    })
}

/// A reading carried to the reference shear rate and temperature of reading: the curve there, times
/// its own residual.
fn carried(reading: f64, residual: Option<f64>, is_carried: bool, curve: impl Fn() -> f64) -> f64 {
    match residual {
        Some(residual) if is_carried => curve() * residual.exp(),
        _ => reading,
    }
}
