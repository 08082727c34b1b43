//! The set temperatures that readings were heated at.

use super::calibration_parts::FittedReading;

/// The distinct set temperatures of readings, in K, rising.
#[must_use]
pub fn heat_temperatures_kelvin<'a>(
    readings: impl IntoIterator<Item = &'a FittedReading>,
) -> Vec<f64> {
    let mut found: Vec<f64> = readings.into_iter().map(|r| r.heat_temp_k).collect();
    found.sort_by(f64::total_cmp);
    found.dedup();
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heated_at(heat_temp_k: f64) -> FittedReading {
        FittedReading {
            row: 1,
            heat_temp_k,
            heat_time_s: 60.0,
            reading: 1.0,
            reading_sd: None,
            shear_rate_per_s: None,
            read_temp_k: None,
            lot: None,
            used: true,
            residual: None,
        }
    }

    #[test]
    fn every_temperature_is_named_once_the_coldest_first() {
        let readings = [363.15, 343.15, 363.15, 353.15, 343.15].map(heated_at);
        assert_eq!(
            heat_temperatures_kelvin(&readings),
            [343.15, 353.15, 363.15]
        );
        let none: [FittedReading; 0] = [];
        assert!(heat_temperatures_kelvin(&none).is_empty());
    }
}
