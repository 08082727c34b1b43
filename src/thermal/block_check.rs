//! What a heating block really does: offset, spread by place, dip under load and recovery, from
//! thermocouple traces.
//!
//! # Files
//! A trace as everywhere (`time_s` or `time_min`, `temp_C` or `temp_K`), and two columns more, both
//! optional: `place`, a code of the well (without it the whole file is one place, named after the
//! file), and `set_temp_C` or `set_temp_K`, what the block was set to (without it the caller says).
//! One file may hold many places; times rise within each place and set temperature. When a syringe
//! was put in is said by the caller.
//!
//! ```csv
//! time_s,temp_C,place,set_temp_C
//! 0,85.6,A1,86
//! 0,85.1,D6,86
//! 10,85.7,A1,86
//! ```

use serde::{Deserialize, Serialize};

use super::block_plateau::{
    BlockCheckOptions, BlockDip, BlockPlateau, block_dip, block_plateau, standard_deviation,
};
use super::input_error::ThermalInputError;
use super::trace::MeasuredTrace;

/// The trace of one place of a block at one set temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockTrace {
    /// Code of the place.
    pub place: String,
    /// What the block was set to, in K; nothing where nobody said.
    pub set_kelvin: Option<f64>,
    /// When a syringe was put in, in s on the trace's clock; nothing where none was.
    pub insertion_s: Option<f64>,
    /// The readings.
    pub trace: MeasuredTrace,
}

/// What one trace says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlaceCheck {
    /// Code of the place.
    pub place: String,
    /// What the block was set to, in K.
    #[serde(rename = "set_temp_K")]
    pub set_kelvin: f64,
    /// Plateau less set temperature, in K.
    #[serde(rename = "offset_K")]
    pub offset_kelvin: f64,
    /// Its standard error with that of the thermocouple, in K.
    #[serde(rename = "offset_std_error_K")]
    pub offset_std_error_kelvin: Option<f64>,
    /// The plateau.
    pub plateau: BlockPlateau,
    /// What putting a syringe in did; nothing where none was put in.
    pub dip: Option<BlockDip>,
}

/// All places at one set temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetCheck {
    /// What the block was set to, in K.
    #[serde(rename = "set_temp_K")]
    pub set_kelvin: f64,
    /// Number of places.
    pub places: usize,
    /// Mean over the places of plateau less set temperature, in K: add it to a set temperature to
    /// know what a place of this block has on average.
    #[serde(rename = "offset_K")]
    pub offset_kelvin: f64,
    /// Its standard error, in K: from the spread of the places, and of the one trace where there is
    /// one place; with that of the thermocouple. Nothing where neither is known.
    #[serde(rename = "offset_std_error_K")]
    pub offset_std_error_kelvin: Option<f64>,
    /// Standard deviation between places, in K: how far another place of this block may lie off.
    /// Nothing with one place.
    #[serde(rename = "place_sd_K")]
    pub place_sd_kelvin: Option<f64>,
    /// Hottest less coldest place, in K; nothing with one place.
    #[serde(rename = "place_spread_K")]
    pub place_spread_kelvin: Option<f64>,
    /// The hottest place.
    pub hottest_place: String,
    /// The coldest place.
    pub coldest_place: String,
}

/// What a heating block really does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlockCheck {
    /// How plateau and recovery were told.
    pub options: BlockCheckOptions,
    /// One entry a trace, in the order given.
    pub traces: Vec<PlaceCheck>,
    /// One entry a set temperature, by rising temperature.
    pub by_set: Vec<SetCheck>,
    /// The largest fall after putting a syringe in, over all traces, in K.
    #[serde(rename = "largest_fall_K")]
    pub largest_fall_kelvin: Option<f64>,
    /// The longest recovery, in s; nothing where no syringe was put in or one trace ends before.
    pub longest_recovery_s: Option<f64>,
}

impl BlockCheck {
    /// The check at the set temperature nearest to one that is asked for.
    #[must_use]
    pub fn nearest(&self, set_kelvin: f64) -> Option<&SetCheck> {
        self.by_set.iter().min_by(|a, b| {
            let from = |check: &SetCheck| (check.set_kelvin - set_kelvin).abs();
            from(a).total_cmp(&from(b))
        })
    }
}

/// Offset, spread, dip and recovery of a block from its traces.
///
/// # Equation
/// Offset of a trace: mean of its plateau less set temperature. With a syringe put in, the plateau
/// is looked for after the insertion. Several traces of one place at one set temperature are
/// averaged first; the block's offset is the mean over places, its standard error the standard
/// deviation between places over the root of their number. The thermocouple's own uncertainty,
/// common to all, is added in squares.
///
/// # Valid for
/// Places that were chosen without looking: the places of one edge say nothing of the middle.
///
/// # Errors
/// No trace; a trace without a set temperature; a trace too short for the plateau asked for.
///
/// # Source
/// JCGM 100:2008 (GUM), 4.2 and 5.1.2: mean, its standard uncertainty, combination in squares (from
/// memory).
pub fn check_block(
    traces: &[BlockTrace],
    options: &BlockCheckOptions,
) -> Result<BlockCheck, ThermalInputError> {
    if traces.is_empty() {
        return Err(ThermalInputError::NoTrace);
    }
    let checked: Vec<PlaceCheck> = traces
        .iter()
        .map(|trace| check_place(trace, options))
        .collect::<Result<_, _>>()?;
    let dips = || checked.iter().filter_map(|check| check.dip);
    let recoveries: Option<Vec<f64>> = dips().map(|dip| dip.recovered_after_s).collect();
    Ok(BlockCheck {
        options: *options,
        by_set: by_set(&checked, options),
        largest_fall_kelvin: dips().map(|dip| dip.fall_kelvin).reduce(f64::max),
        longest_recovery_s: recoveries.and_then(|times| times.into_iter().reduce(f64::max)),
        traces: checked,
    })
}

fn check_place(
    trace: &BlockTrace,
    options: &BlockCheckOptions,
) -> Result<PlaceCheck, ThermalInputError> {
    let Some(set_kelvin) = trace.set_kelvin else {
        return Err(ThermalInputError::NoSetTemperature {
            place: trace.place.clone(),
        });
    };
    let not_before_s = trace.insertion_s.unwrap_or(f64::NEG_INFINITY);
    let plateau = block_plateau(&trace.place, &trace.trace, not_before_s, options)?;
    Ok(PlaceCheck {
        place: trace.place.clone(),
        set_kelvin,
        offset_kelvin: plateau.mean_kelvin - set_kelvin,
        offset_std_error_kelvin: plateau
            .std_error_kelvin
            .map(|error| error.hypot(options.probe_uncertainty_kelvin)),
        dip: trace
            .insertion_s
            .map(|insertion_s| block_dip(&trace.trace, insertion_s, &plateau, options)),
        plateau,
    })
}

/// The offset of one place at one set temperature, over its traces.
struct PlaceOffset {
    place: String,
    offset_kelvin: f64,
    /// Of one trace alone; several of one place count through their mean.
    std_error_kelvin: Option<f64>,
}

fn by_set(checked: &[PlaceCheck], options: &BlockCheckOptions) -> Vec<SetCheck> {
    let mut sets: Vec<f64> = checked.iter().map(|check| check.set_kelvin).collect();
    sets.sort_by(f64::total_cmp);
    sets.dedup_by(|a, b| same_temperature(*a, *b));
    sets.into_iter()
        .filter_map(|set_kelvin| {
            let mut offsets = place_offsets(checked, set_kelvin);
            offsets.sort_by(|a, b| a.offset_kelvin.total_cmp(&b.offset_kelvin));
            let values: Vec<f64> = offsets.iter().map(|place| place.offset_kelvin).collect();
            let (coldest, hottest) = (offsets.first()?, offsets.last()?);
            let sd = standard_deviation(&values);
            let own_error = match sd {
                Some(sd) => Some(sd / (values.len() as f64).sqrt()),
                None => coldest.std_error_kelvin,
            };
            Some(SetCheck {
                set_kelvin,
                places: values.len(),
                offset_kelvin: values.iter().sum::<f64>() / values.len() as f64,
                offset_std_error_kelvin: own_error
                    .map(|error| error.hypot(options.probe_uncertainty_kelvin)),
                place_sd_kelvin: sd,
                place_spread_kelvin: sd.map(|_| hottest.offset_kelvin - coldest.offset_kelvin),
                hottest_place: hottest.place.clone(),
                coldest_place: coldest.place.clone(),
            })
        })
        .collect()
}

fn place_offsets(checked: &[PlaceCheck], set_kelvin: f64) -> Vec<PlaceOffset> {
    let here = || {
        checked
            .iter()
            .filter(move |check| same_temperature(check.set_kelvin, set_kelvin))
    };
    let mut names: Vec<&str> = here().map(|check| check.place.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    names
        .into_iter()
        .map(|name| {
            let of_place: Vec<&PlaceCheck> = here().filter(|check| check.place == name).collect();
            let count = of_place.len() as f64;
            let squares: Option<f64> = of_place
                .iter()
                .map(|check| check.plateau.std_error_kelvin.map(|error| error * error))
                .sum();
            PlaceOffset {
                place: name.to_owned(),
                offset_kelvin: of_place
                    .iter()
                    .map(|check| check.offset_kelvin)
                    .sum::<f64>()
                    / count,
                std_error_kelvin: squares.map(|sum| sum.sqrt() / count),
            }
        })
        .collect()
}

/// Set temperatures are typed numbers: 86 °C read as °C and as K differ in rounding alone.
fn same_temperature(a_kelvin: f64, b_kelvin: f64) -> bool {
    (a_kelvin - b_kelvin).abs() < 1e-6
}
