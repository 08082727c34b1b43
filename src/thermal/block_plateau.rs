//! The plateau of a block's trace, and what putting a syringe in does to it.

use serde::{Deserialize, Serialize};

use super::input_error::ThermalInputError;
use super::trace::{MeasuredTrace, TracePoint, median};

/// The band narrows to this many scatters of a quiet last window, so that the tail of a warm-up
/// does not count as plateau ...
const SCATTERS_OF_BAND: f64 = 4.0;
/// ... but to no less than this, in K.
const LEAST_BAND_KELVIN: f64 = 0.1;
/// Standard deviation of a normal distribution over its median distance from the median.
const SD_OF_MEDIAN_DISTANCE: f64 = 1.4826;
/// Batches into which a plateau is cut for the standard error of its mean.
const BATCHES: usize = 8;

/// How plateau and recovery are told.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BlockCheckOptions {
    /// The last part of a trace that must lie on the plateau, in s.
    pub plateau_window_s: f64,
    /// Readings of the last part farther than this from its median: not settled; in K.
    #[serde(rename = "plateau_band_K")]
    pub plateau_band_kelvin: f64,
    /// A dip has recovered when the block is back within this of where it was, in K.
    #[serde(rename = "recovery_band_K")]
    pub recovery_band_kelvin: f64,
    /// Standard uncertainty of the thermocouples against the true temperature, in K: common to
    /// all readings, so no trace shows it, and it goes on top of every standard error.
    #[serde(rename = "probe_uncertainty_K")]
    pub probe_uncertainty_kelvin: f64,
}

impl Default for BlockCheckOptions {
    /// Five minutes; one kelvin; half a kelvin; an exact thermocouple.
    fn default() -> Self {
        Self {
            plateau_window_s: 300.0,
            plateau_band_kelvin: 1.0,
            recovery_band_kelvin: 0.5,
            probe_uncertainty_kelvin: 0.0,
        }
    }
}

/// The plateau of a trace.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BlockPlateau {
    /// Its mean over time, in K.
    #[serde(rename = "mean_K")]
    pub mean_kelvin: f64,
    /// Standard error of that mean from batches of it, in K; nothing where it has under four
    /// readings.
    #[serde(rename = "std_error_K")]
    pub std_error_kelvin: Option<f64>,
    /// Standard deviation of its readings, in K: the swing of the thermostat and the noise.
    #[serde(rename = "swing_sd_K")]
    pub swing_sd_kelvin: f64,
    /// Its beginning, in s.
    pub from_s: f64,
    /// Its end, in s.
    pub to_s: f64,
    /// Readings on it.
    pub points: usize,
    /// False where readings of the last window lie outside the band: the block had not settled,
    /// and the mean is that of the window alone.
    pub settled: bool,
}

/// What putting a syringe in does to the block.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BlockDip {
    /// When the syringe went in, in s.
    pub insertion_s: f64,
    /// Where the block stood before, in K.
    #[serde(rename = "before_K")]
    pub before_kelvin: f64,
    /// False where the trace begins too late for that, and the plateau after it is taken.
    pub before_was_measured: bool,
    /// Largest fall below that, in K; zero where it does not fall.
    #[serde(rename = "fall_K")]
    pub fall_kelvin: f64,
    /// When it is lowest, in s after the insertion.
    pub lowest_after_s: f64,
    /// When it is back within the band, in s after the insertion: zero where it never left it,
    /// nothing where the trace ends before.
    pub recovered_after_s: Option<f64>,
}

/// The plateau at the end of a trace.
///
/// # Equation
/// The median of the last window is its middle. The block has settled where the whole window lies
/// within `plateau_band_kelvin` of it. The plateau then reaches back from the window to the last
/// reading that lies farther off than 4 scatters of the window (1.4826 times the median distance
/// from the middle; at least 0.1 K, at most the band), at the earliest to `not_before_s`. Its mean
/// is the integral of the straight lines between its readings over its length. Standard error: the
/// plateau is cut into 8 batches of equal time (fewer where it has under 16 readings),
/// `s/sqrt(b)` with `s` the standard deviation of their means. A swing of the thermostat that is
/// shorter than a batch drops out; one that is longer widens the error, as it should.
///
/// # Valid for
/// A thermostat whose swing is inside the band and shorter than the window.
///
/// # Errors
/// [`ThermalInputError::PlateauTooShort`] where the trace after `not_before_s` is shorter than the
/// window.
///
/// # Source
/// Batch means: A. M. Law, Simulation Modeling and Analysis, section 9.5.3 (from memory). The
/// plateau's definition is our own.
pub fn block_plateau(
    place: &str,
    trace: &MeasuredTrace,
    not_before_s: f64,
    options: &BlockCheckOptions,
) -> Result<BlockPlateau, ThermalInputError> {
    let begin_s = trace.first_s().max(not_before_s);
    let to_s = trace.last_s();
    let window_from_s = to_s - options.plateau_window_s;
    let mut window: Vec<f64> = trace
        .points()
        .iter()
        .filter(|point| point.time_s >= window_from_s && point.time_s >= begin_s)
        .map(|point| point.temperature_kelvin)
        .collect();
    let (true, Some(middle_kelvin)) = (begin_s <= window_from_s, median(&mut window)) else {
        return Err(ThermalInputError::PlateauTooShort {
            place: place.to_owned(),
            duration_s: (to_s - begin_s).max(0.0),
            window_s: options.plateau_window_s,
        });
    };
    let far_from_middle = |kelvin: f64| (kelvin - middle_kelvin).abs();
    let mut distances: Vec<f64> = window
        .iter()
        .map(|kelvin| far_from_middle(*kelvin))
        .collect();
    let settled = distances
        .iter()
        .all(|distance| *distance <= options.plateau_band_kelvin);
    let narrow_kelvin =
        (SCATTERS_OF_BAND * SD_OF_MEDIAN_DISTANCE * median(&mut distances).unwrap_or(0.0))
            .max(LEAST_BAND_KELVIN)
            .min(options.plateau_band_kelvin);
    let after_s = trace
        .points()
        .iter()
        .rfind(|point| {
            point.time_s < window_from_s
                && far_from_middle(point.temperature_kelvin) > narrow_kelvin
        })
        .map_or(begin_s, |point| point.time_s.next_up().max(begin_s));
    let after_s = if settled { after_s } else { window_from_s };
    let on: Vec<TracePoint> = trace
        .points()
        .iter()
        .filter(|point| point.time_s >= after_s)
        .copied()
        .collect();
    let from_s = on.first().map_or(after_s, |point| point.time_s);
    let mean_kelvin = mean_between(&on, from_s, to_s);
    let batches = BATCHES.min(on.len() / 2);
    let length_s = (to_s - from_s) / batches.max(1) as f64;
    let means: Vec<f64> = (0..batches)
        .map(|batch| {
            let start_s = from_s + length_s * batch as f64;
            mean_between(&on, start_s, start_s + length_s)
        })
        .collect();
    let readings: Vec<f64> = on.iter().map(|point| point.temperature_kelvin).collect();
    Ok(BlockPlateau {
        mean_kelvin,
        std_error_kelvin: standard_deviation(&means).map(|sd| sd / (batches as f64).sqrt()),
        swing_sd_kelvin: standard_deviation(&readings).unwrap_or(0.0),
        from_s,
        to_s,
        points: on.len(),
        settled,
    })
}

/// The fall of a block's temperature after a syringe went in, and when it is made good.
///
/// # Equation
/// Before: the mean over the last minute before the insertion (or what there is of it, at least
/// two readings), else the plateau. Fall: before less the lowest reading after. Recovered: the
/// first time after the lowest reading at which the straight line between two readings comes
/// within the band of before.
///
/// # Valid for
/// One insertion. What a thermocouple in one well reads: the block elsewhere may fall less.
///
/// # Source
/// Our own definition.
#[must_use]
pub fn block_dip(
    trace: &MeasuredTrace,
    insertion_s: f64,
    plateau: &BlockPlateau,
    options: &BlockCheckOptions,
) -> BlockDip {
    let before: Vec<TracePoint> = trace
        .points()
        .iter()
        .filter(|point| point.time_s <= insertion_s && point.time_s >= insertion_s - 60.0)
        .copied()
        .collect();
    let (before_kelvin, before_was_measured) = match (before.first(), before.last()) {
        (Some(first), Some(last)) if first.time_s < last.time_s => {
            (mean_between(&before, first.time_s, last.time_s), true)
        }
        _ => (plateau.mean_kelvin, false),
    };
    let after = trace
        .points()
        .iter()
        .filter(|point| point.time_s >= insertion_s);
    let Some(lowest) = after
        .clone()
        .min_by(|a, b| a.temperature_kelvin.total_cmp(&b.temperature_kelvin))
    else {
        return BlockDip {
            insertion_s,
            before_kelvin,
            before_was_measured,
            fall_kelvin: 0.0,
            lowest_after_s: 0.0,
            recovered_after_s: None,
        };
    };
    let back_kelvin = before_kelvin - options.recovery_band_kelvin;
    let recovered_after_s = if lowest.temperature_kelvin >= back_kelvin {
        Some(0.0)
    } else {
        let rising: Vec<&TracePoint> = after
            .filter(|point| point.time_s >= lowest.time_s)
            .collect();
        rising.windows(2).find_map(|pair| match pair {
            [a, b] if b.temperature_kelvin >= back_kelvin => {
                let part = (back_kelvin - a.temperature_kelvin)
                    / (b.temperature_kelvin - a.temperature_kelvin);
                Some(a.time_s + part * (b.time_s - a.time_s) - insertion_s)
            }
            _ => None,
        })
    };
    BlockDip {
        insertion_s,
        before_kelvin,
        before_was_measured,
        fall_kelvin: (before_kelvin - lowest.temperature_kelvin).max(0.0),
        lowest_after_s: lowest.time_s - insertion_s,
        recovered_after_s,
    }
}

/// Mean over time of the straight lines between readings, from one time to another.
fn mean_between(points: &[TracePoint], from_s: f64, to_s: f64) -> f64 {
    let mut area = 0.0;
    for pair in points.windows(2) {
        let [a, b] = pair else { continue };
        let (left_s, right_s) = (a.time_s.max(from_s), b.time_s.min(to_s));
        if right_s > left_s {
            let slope = (b.temperature_kelvin - a.temperature_kelvin) / (b.time_s - a.time_s);
            let middle_s = 0.5 * (left_s + right_s);
            area += (right_s - left_s) * (a.temperature_kelvin + slope * (middle_s - a.time_s));
        }
    }
    if to_s > from_s {
        area / (to_s - from_s)
    } else {
        points.last().map_or(0.0, |point| point.temperature_kelvin)
    }
}

/// Standard deviation with one degree of freedom taken off; nothing of fewer than two values.
pub(super) fn standard_deviation(values: &[f64]) -> Option<f64> {
    if values.len() < 2 {
        return None;
    }
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    Some((squares / (count - 1.0)).sqrt())
}
