//! The settings that a bench may be read at: temperatures of the block, round times of the clock.

use super::error::BenchPlanError;
use crate::reference::constants::ZERO_CELSIUS_KELVIN;
use serde::Serialize;

/// Most temperatures that are chosen from.
const MOST_TEMPERATURES: usize = 7;
/// Steps of the block's temperature, in K, the finest first.
const STEPS_K: [f64; 3] = [5.0, 10.0, 15.0];
/// Round times in whole half minutes, in min: each about a third longer than the one before.
const ROUND_MIN: [f64; 22] = [
    0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0,
    60.0, 80.0, 100.0, 120.0, 150.0,
];

/// What the bench and the days allow.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchLimits {
    /// Temperatures that the block may be set to, in K.
    #[serde(rename = "block_temp_K")]
    pub block_kelvin: [f64; 2],
    /// Places in the block.
    pub places: usize,
    /// How long a session lasts, in s.
    pub session_s: f64,
    /// Bringing the block to a temperature, in s.
    pub block_change_s: f64,
    /// Readings that can be taken in a day.
    pub readings_a_day: usize,
    /// Readings of a lot at most.
    pub readings_a_lot: usize,
    /// Lots that can be had at most.
    pub lots: usize,
    /// What a further lot costs, in readings' worth of work.
    pub lot_costs_readings: f64,
}

impl Default for BenchLimits {
    fn default() -> Self {
        Self {
            block_kelvin: [70.0, 90.0].map(|celsius| celsius + ZERO_CELSIUS_KELVIN),
            places: 6,
            session_s: 3.0 * 3600.0,
            block_change_s: 900.0,
            readings_a_day: 16,
            readings_a_lot: 16,
            lots: 8,
            lot_costs_readings: 4.0,
        }
    }
}

/// A temperature of the block and a time on the clock.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BenchSetting {
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Heat time on the clock, in s; 0 for an unheated gel.
    pub heat_time_s: f64,
}

/// Temperatures to choose from: the ends of the block's range, whole steps of 5, 10 or 15 degrees
/// between them, and those asked about; seven or so at most.
#[must_use]
pub fn candidate_temperatures_kelvin(block_kelvin: [f64; 2], asked_kelvin: &[f64]) -> Vec<f64> {
    let [low, high] = block_kelvin;
    let inside = |step: f64| {
        let mut found = vec![low, high];
        let mut celsius = ((low - ZERO_CELSIUS_KELVIN) / step).ceil() * step;
        while celsius + ZERO_CELSIUS_KELVIN < high {
            found.push(celsius + ZERO_CELSIUS_KELVIN);
            celsius += step;
        }
        sorted_apart(found)
    };
    let mut found = STEPS_K
        .into_iter()
        .map(inside)
        .find(|found| found.len() <= MOST_TEMPERATURES)
        .unwrap_or_else(|| inside(20.0));
    found.extend(
        asked_kelvin
            .iter()
            .filter(|kelvin| (low..=high).contains(*kelvin)),
    );
    sorted_apart(found)
}

fn sorted_apart(mut kelvin: Vec<f64>) -> Vec<f64> {
    kelvin.sort_by(f64::total_cmp);
    kelvin.dedup_by(|b, a| (*b - *a).abs() < 0.5);
    kelvin
}

/// Round times that fit into a session, in s, the shortest first.
///
/// # Errors
/// A session that bringing the block to its temperature fills.
pub fn candidate_times_s(limits: &BenchLimits) -> Result<Vec<f64>, BenchPlanError> {
    let left_s = limits.session_s - limits.block_change_s;
    let found: Vec<f64> = ROUND_MIN
        .iter()
        .map(|minutes| minutes * 60.0)
        .filter(|time_s| *time_s <= left_s)
        .collect();
    if found.len() < 4 {
        return Err(BenchPlanError::SessionTooShort {
            session_s: limits.session_s,
            block_change_s: limits.block_change_s,
        });
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperatures_are_round_and_hold_the_ends_and_the_one_asked_about() {
        let kelvin = |celsius: f64| celsius + ZERO_CELSIUS_KELVIN;
        let found = candidate_temperatures_kelvin([kelvin(72.0), kelvin(90.0)], &[kelvin(86.0)]);
        let celsius: Vec<f64> = found
            .iter()
            .map(|k| (k - ZERO_CELSIUS_KELVIN).round())
            .collect();
        assert_eq!(celsius, [72.0, 75.0, 80.0, 85.0, 86.0, 90.0]);
    }

    #[test]
    fn times_are_whole_half_minutes_that_fit_into_the_session() {
        let limits = BenchLimits {
            session_s: 3600.0,
            block_change_s: 600.0,
            ..BenchLimits::default()
        };
        let times = candidate_times_s(&limits).unwrap_or_default();
        assert!(times.iter().all(|s| s % 30.0 == 0.0));
        assert_eq!(times.last(), Some(&3000.0));
        let short = BenchLimits {
            session_s: 600.0,
            ..limits
        };
        assert!(candidate_times_s(&short).is_err());
    }
}
