//! The readings of a study, taken from a bench table.

use super::error::PrecisionError;
use super::study::StudyReading;
use crate::fit::{Calibration, Predictor};
use crate::readings::BenchTable;
use crate::units::{self, display};

/// Gels read at temperatures this far apart differ in viscosity for that alone.
const READ_APART_KELVIN: f64 = 3.0;

/// Readings of a table, ready for a study.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StudyTable {
    /// The readings.
    pub readings: Vec<StudyReading>,
    /// Rows that are not used.
    pub rows_left_out: usize,
    /// Rows outside what the calibration was measured at.
    pub rows_outside_calibration: usize,
    /// Rows without a lot.
    pub rows_without_lot: usize,
    /// Whether gels of one cell were read at temperatures more than 3 K apart.
    pub read_temperatures_differ: bool,
}

/// Takes a study from a table: ln of the reading; with a calibration ln of the reading over the fitted
/// curve, so that times and temperatures need not be the same.
///
/// A cell is what is alike: blend, lot, way of reading (shear rate, standing), and without a calibration
/// temperature and time. Readings that stood, and readings outside what the calibration was measured
/// at, are left out where a calibration is given.
///
/// # Valid for
/// Readings above zero. The calibration's own error is common to readings heated alike, and counts where
/// they were not.
///
/// # Errors
/// A calibration without the blend of a row, or of another kind of reading; readings not above zero.
pub fn study_readings(
    table: &BenchTable,
    calibration: Option<&Calibration>,
) -> Result<StudyTable, PrecisionError> {
    let mut study = StudyTable::default();
    let mut read_at: Vec<(String, f64, f64)> = Vec::new();
    let mut predictors: Vec<(String, Predictor)> = Vec::new();
    for (number, row) in table.rows.iter().enumerate() {
        let (Some(&kelvin), Some(&time_s), Some(&reading)) = (
            table.heat_temp_kelvin.get(number),
            table.heat_time_s.get(number),
            table.reading.get(number),
        ) else {
            continue;
        };
        let stood = row.stand_time_s.is_some_and(|s| s > 0.0);
        if !row.used || (stood && calibration.is_some()) {
            study.rows_left_out += 1;
            continue;
        }
        if reading.is_nan() || reading <= 0.0 {
            return Err(PrecisionError::NotFinite {
                number: number + 1,
                value: reading,
            });
        }
        let name = row.blend_name();
        let mut parts = vec![name.clone()];
        match &row.lot {
            Some(lot) => parts.push(format!("lot {lot}")),
            None => study.rows_without_lot += 1,
        }
        let mut ln_reading = reading.ln();
        match calibration {
            Some(calibration) => {
                let blend = calibration
                    .blends
                    .iter()
                    .find(|b| b.blend == name)
                    .ok_or_else(|| PrecisionError::NoSuchBlend {
                        blend: name.clone(),
                    })?;
                if blend.reading_unit != table.kind.unit() {
                    return Err(PrecisionError::OtherReading {
                        predicted: blend.reading.to_string(),
                        read: table.kind.quantity().to_owned(),
                    });
                }
                let range = &blend.range;
                let inside = |range: [f64; 2], value: f64, slack: f64| {
                    range[0] - slack <= value && value <= range[1] + slack
                };
                if !inside(range.heat_temp_k, kelvin, 1e-6)
                    || !inside(range.heat_time_s, time_s, 1e-6)
                {
                    study.rows_outside_calibration += 1;
                    continue;
                }
                let place = match predictors.iter().position(|(known, _)| *known == name) {
                    Some(place) => place,
                    None => {
                        predictors.push((name.clone(), Predictor::new(blend)?));
                        predictors.len() - 1
                    }
                };
                let predicted = predictors
                    .get(place)
                    .and_then(|(_, p)| p.confidence_band(kelvin, &[time_s]).pop())
                    .map_or(f64::NAN, |band| band.estimate);
                ln_reading -= predicted.ln();
                if !ln_reading.is_finite() {
                    return Err(PrecisionError::NotFinite {
                        number: number + 1,
                        value: predicted,
                    });
                }
            }
            None => {
                parts.push(exactly(display::temperature(kelvin), kelvin, || {
                    format!("{} °C", display::at_most(kelvin - 273.15, 7))
                }));
                parts.push(exactly(display::duration(time_s), time_s, || {
                    format!("{} min", display::at_most(time_s / 60.0, 7))
                }));
            }
        }
        if let Some(rate) = row.shear_rate_per_s {
            parts.push(format!("{} 1/s", display::at_most(rate, 7)));
        }
        if let Some(stand) = row.stand_time_s.filter(|s| *s > 0.0) {
            let words = exactly(display::duration(stand), stand, || {
                format!("{} min", display::at_most(stand / 60.0, 7))
            });
            parts.push(format!("stood {words}"));
        }
        let cell = parts.join(", ");
        if let Some(at) = row.read_temp_kelvin {
            match read_at.iter_mut().find(|(known, _, _)| *known == cell) {
                Some((_, low, high)) => {
                    *low = low.min(at);
                    *high = high.max(at);
                }
                None => read_at.push((cell.clone(), at, at)),
            }
        }
        study.readings.push(StudyReading {
            ln_reading,
            cell,
            lot: row.lot.clone(),
            operator: row.operator.clone(),
            block: row.block.clone(),
            place: row.place.clone(),
            session: row.session.clone(),
        });
    }
    study.read_temperatures_differ = read_at
        .iter()
        .any(|(_, low, high)| high - low > READ_APART_KELVIN);
    Ok(study)
}

/// Words that stand for a temperature or a time, where they are no rounding of it: a cell is what is heated
/// alike, and 60 min 27 s is not an hour.
fn exactly(words: String, value: f64, precise: impl FnOnce() -> String) -> String {
    let plain = words.replace([' ', '\u{a0}'], "");
    let read = units::temperature_kelvin(&plain).or_else(|_| units::duration_s(&plain));
    match read {
        Ok(read) if (read - value).abs() <= 1e-9 * value.abs() => words,
        _ => precise(),
    }
}
