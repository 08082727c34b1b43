//! A measured temperature trace: what a thermocouple in the gel read, between and past its points.

use serde::{Deserialize, Serialize};

use super::input_error::ThermalInputError;
use super::monotone_cubic::MonotoneCubic;
use super::schedule_check::HIGHEST_KELVIN;

/// Temperature changes smaller than this cannot be scaled or fitted, in K.
const LEAST_CHANGE_KELVIN: f64 = 1.0;
/// The heating of a trace ends when it was last this near to its farthest reading, as a fraction
/// of the whole change.
const NEAR_FARTHEST_FRACTION: f64 = 0.05;
/// The last part of the heating that counts as the plateau, as a fraction of its time.
const PLATEAU_FRACTION: f64 = 0.1;
/// A plateau that still changes by more than this fraction of the whole has not levelled off.
const LEVEL_FRACTION: f64 = 0.01;

/// One reading of a trace.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TracePoint {
    /// Time on the clock, in s; zero is when the syringe goes in.
    pub time_s: f64,
    /// Temperature, in K.
    #[serde(rename = "temp_K")]
    pub temperature_kelvin: f64,
}

/// Where a temperature of a trace comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TraceReach {
    /// Between the first and the last reading.
    Measured,
    /// Before the first reading: its value is held.
    HeldBeforeFirst,
    /// After the last reading: its value is held, and an answer must say so.
    HeldAfterLast,
}

/// A temperature of a trace at some time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TraceTemperature {
    /// Temperature, in K.
    pub temperature_kelvin: f64,
    /// Its rate of change, in K/s.
    pub rate_kelvin_per_s: f64,
    /// Whether it was measured or is held.
    pub reach: TraceReach,
}

/// What a trace levels off at, as far as it does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TracePlateau {
    /// Median of the last tenth of the heating, in K.
    #[serde(rename = "temp_K")]
    pub temperature_kelvin: f64,
    /// False where that tenth still changes by more than 1 % of the whole: the temperature set
    /// lies farther on, and should be stated.
    pub levelled: bool,
    /// End of the heating, in s: the last time within 5 % of the farthest reading. What follows is
    /// cooling.
    pub heating_end_s: f64,
}

/// What stands for nothing and all in the scaling of a trace: 0 at the start, 1 at the temperature
/// set.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TraceScale {
    /// Temperature at the start, in K.
    #[serde(rename = "start_temp_K")]
    pub start_kelvin: f64,
    /// Temperature that the block was set to, in K.
    #[serde(rename = "set_temp_K")]
    pub set_kelvin: f64,
}

/// A measured temperature trace: at least two readings, times strictly rising.
///
/// Between the readings it is interpolated so that it keeps their shape (Fritsch & Carlson 1980);
/// past the ends the end readings are held, which [`TraceTemperature::reach`] tells.
///
/// # Example
/// ```
/// use heatset::thermal::{MeasuredTrace, TracePoint, TraceReach};
/// let trace = MeasuredTrace::new(
///     [(0.0, 295.15), (60.0, 340.0), (300.0, 359.0)]
///         .map(|(time_s, temperature_kelvin)| TracePoint { time_s, temperature_kelvin })
///         .to_vec(),
/// )?;
/// assert_eq!(trace.at(60.0).temperature_kelvin, 340.0);
/// assert_eq!(trace.at(400.0).reach, TraceReach::HeldAfterLast);
/// # Ok::<(), heatset::thermal::ThermalInputError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredTrace {
    points: Vec<TracePoint>,
    curve: MonotoneCubic,
}

impl MeasuredTrace {
    /// A trace from its readings, in the order of time.
    ///
    /// # Errors
    /// Fewer than two readings; times that do not rise strictly or are no numbers; temperatures
    /// not between 0 and 400 K.
    pub fn new(points: Vec<TracePoint>) -> Result<Self, ThermalInputError> {
        if points.len() < 2 {
            return Err(ThermalInputError::TooFewPoints {
                points: points.len(),
                purpose: "a temperature history",
                needed: 2,
            });
        }
        let mut before_s = f64::NEG_INFINITY;
        for (number, point) in (1..).zip(&points) {
            if !(point.time_s.is_finite() && point.time_s > before_s) {
                return Err(ThermalInputError::TimesDoNotRise {
                    point: number,
                    time_s: point.time_s,
                    before_s,
                });
            }
            if !(point.temperature_kelvin > 0.0 && point.temperature_kelvin <= HIGHEST_KELVIN) {
                return Err(ThermalInputError::OutOfRange {
                    quantity: "a temperature of the trace",
                    value: point.temperature_kelvin,
                    unit: "K",
                    low: 0.0,
                    high: HIGHEST_KELVIN,
                    remedy: "is the unit right, and the thermocouple whole?",
                });
            }
            before_s = point.time_s;
        }
        let curve = MonotoneCubic::through(
            points
                .iter()
                .map(|point| (point.time_s, point.temperature_kelvin)),
        );
        Ok(Self { points, curve })
    }

    /// The readings.
    #[must_use]
    pub fn points(&self) -> &[TracePoint] {
        &self.points
    }

    /// Time of the first reading, in s.
    #[must_use]
    pub fn first_s(&self) -> f64 {
        self.points.first().map_or(0.0, |point| point.time_s)
    }

    /// Time of the last reading, in s.
    #[must_use]
    pub fn last_s(&self) -> f64 {
        self.points.last().map_or(0.0, |point| point.time_s)
    }

    /// Temperature when the syringe goes in: at time 0, or the first reading where it comes later,
    /// in K.
    #[must_use]
    pub fn start_kelvin(&self) -> f64 {
        self.curve.at(self.first_s().max(0.0)).0
    }

    /// Temperature, its rate of change, and whether it was measured or is held.
    #[must_use]
    pub fn at(&self, time_s: f64) -> TraceTemperature {
        let (temperature_kelvin, rate_kelvin_per_s) = self.curve.at(time_s);
        TraceTemperature {
            temperature_kelvin,
            rate_kelvin_per_s,
            reach: if time_s < self.first_s() {
                TraceReach::HeldBeforeFirst
            } else if time_s > self.last_s() {
                TraceReach::HeldAfterLast
            } else {
                TraceReach::Measured
            },
        }
    }

    /// What the trace levels off at, and when its heating ends.
    ///
    /// The farthest reading from the start is looked for; the heating ends when the trace was last
    /// within 5 % of the change from it; the median of the last tenth of the heating's readings is
    /// the plateau.
    #[must_use]
    pub fn plateau(&self) -> TracePlateau {
        let start_s = self.first_s().max(0.0);
        let start_kelvin = self.start_kelvin();
        let heating = self.points.iter().filter(|point| point.time_s >= start_s);
        let farthest = heating
            .clone()
            .map(|point| point.temperature_kelvin - start_kelvin)
            .fold(0.0, |far: f64, change| {
                if change.abs() > far.abs() {
                    change
                } else {
                    far
                }
            });
        let near = |point: &&TracePoint| {
            (point.temperature_kelvin - start_kelvin - farthest).abs()
                <= NEAR_FARTHEST_FRACTION * farthest.abs()
        };
        let end_s = heating
            .clone()
            .rfind(near)
            .map_or(self.last_s(), |point| point.time_s);
        let from_s = end_s - PLATEAU_FRACTION * (end_s - start_s);
        let mut last: Vec<f64> = heating
            .filter(|point| point.time_s >= from_s && point.time_s <= end_s)
            .map(|point| point.temperature_kelvin)
            .collect();
        let change = self.curve.at(end_s).0 - self.curve.at(from_s).0;
        TracePlateau {
            temperature_kelvin: median(&mut last).unwrap_or(start_kelvin + farthest),
            levelled: change.abs() <= LEVEL_FRACTION * farthest.abs(),
            heating_end_s: end_s,
        }
    }

    /// The trace's own scale: its start, and the temperature set where it is stated, else what it
    /// levels off at.
    ///
    /// # Errors
    /// [`ThermalInputError::NoChange`] where the two lie less than 1 K apart.
    pub fn scale(&self, set_kelvin: Option<f64>) -> Result<TraceScale, ThermalInputError> {
        let scale = TraceScale {
            start_kelvin: self.start_kelvin(),
            set_kelvin: set_kelvin.unwrap_or_else(|| self.plateau().temperature_kelvin),
        };
        let change_kelvin = (scale.set_kelvin - scale.start_kelvin).abs();
        if change_kelvin >= LEAST_CHANGE_KELVIN {
            Ok(scale)
        } else {
            Err(ThermalInputError::NoChange {
                start_kelvin: scale.start_kelvin,
                set_kelvin: scale.set_kelvin,
                least_kelvin: LEAST_CHANGE_KELVIN,
            })
        }
    }

    /// The trace as it would have run with another start and another temperature set.
    ///
    /// # Equation
    /// `T' = T'_start + (T'_set - T'_start) (T - T_start)/(T_set - T_start)`
    ///
    /// | symbol | field | unit |
    /// |---|---|---|
    /// | T_start, T_set | `own` | K |
    /// | T'_start, T'_set | `other` | K |
    ///
    /// # Valid for
    /// Conduction with properties and coefficients that do not depend on temperature, and one
    /// outside temperature: the heat equation is linear then. A cooling part is scaled as well,
    /// as if the air had been scaled with the block.
    ///
    /// # Errors
    /// [`ThermalInputError::OutOfRange`] where a scaled temperature is not between 0 and 400 K.
    ///
    /// # Source
    /// H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 1.6
    /// (linearity; from memory).
    pub fn scaled(&self, own: TraceScale, other: TraceScale) -> Result<Self, ThermalInputError> {
        let factor = (other.set_kelvin - other.start_kelvin) / (own.set_kelvin - own.start_kelvin);
        Self::new(
            self.points
                .iter()
                .map(|point| TracePoint {
                    time_s: point.time_s,
                    temperature_kelvin: other.start_kelvin
                        + factor * (point.temperature_kelvin - own.start_kelvin),
                })
                .collect(),
        )
    }

    /// The readings from one time to another, both included, with the clock set back by
    /// `zero_s`: an insertion at 35 s becomes time 0.
    ///
    /// # Errors
    /// [`ThermalInputError::TooFewPoints`] where fewer than two readings lie there.
    pub fn between(&self, from_s: f64, to_s: f64, zero_s: f64) -> Result<Self, ThermalInputError> {
        Self::new(
            self.points
                .iter()
                .filter(|point| point.time_s >= from_s && point.time_s <= to_s)
                .map(|point| TracePoint {
                    time_s: point.time_s - zero_s,
                    ..*point
                })
                .collect(),
        )
    }
}

/// The median, of an even count the mean of the middle two; nothing of nothing.
pub(crate) fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = values.get(middle)?;
    if values.len() % 2 == 1 {
        return Some(*upper);
    }
    let lower = values.get(middle.checked_sub(1)?)?;
    Some(0.5 * (lower + upper))
}
