//! What the barrel's outside meets: a coefficient, a temperature, and for how long.

use super::error::{ConductionError, checked_coefficient, checked_kelvin};

/// Temperature of the block or of the air, by the time since the stage began.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OutsideTemperature {
    /// One temperature throughout.
    Constant {
        /// The temperature.
        kelvin: f64,
    },
    /// A steady rise or fall that ends at a set value and stays there.
    Ramp {
        /// Temperature when the stage begins.
        start_kelvin: f64,
        /// Change by second; below 0 for cooling.
        rate_kelvin_per_s: f64,
        /// Temperature at which the ramp ends.
        end_kelvin: f64,
    },
}

impl OutsideTemperature {
    /// The temperature at a time since the stage began, in K.
    ///
    /// # Example
    /// ```
    /// use heatset::thermal::conduction::OutsideTemperature;
    /// let block = OutsideTemperature::Ramp {
    ///     start_kelvin: 300.0, rate_kelvin_per_s: 0.5, end_kelvin: 360.0,
    /// };
    /// assert_eq!(block.kelvin_at(60.0), 330.0);
    /// assert_eq!(block.kelvin_at(500.0), 360.0);
    /// ```
    #[must_use]
    pub fn kelvin_at(&self, time_s: f64) -> f64 {
        match *self {
            Self::Constant { kelvin } => kelvin,
            Self::Ramp {
                start_kelvin,
                rate_kelvin_per_s,
                end_kelvin,
            } => {
                let reached = start_kelvin + rate_kelvin_per_s * time_s;
                if rate_kelvin_per_s < 0.0 {
                    reached.max(end_kelvin)
                } else {
                    reached.min(end_kelvin)
                }
            }
        }
    }

    /// When the ramp ends, in s since the stage began: there the slope breaks, and a step must end.
    pub(super) fn break_s(&self) -> Option<f64> {
        match *self {
            Self::Constant { .. } => None,
            Self::Ramp {
                start_kelvin,
                rate_kelvin_per_s,
                end_kelvin,
            } if rate_kelvin_per_s != 0.0 => Some((end_kelvin - start_kelvin) / rate_kelvin_per_s),
            Self::Ramp { .. } => None,
        }
    }

    fn check(&self) -> Result<(), ConductionError> {
        match *self {
            Self::Constant { kelvin } => {
                checked_kelvin(kelvin)?;
            }
            Self::Ramp {
                start_kelvin,
                rate_kelvin_per_s,
                end_kelvin,
            } => {
                checked_kelvin(start_kelvin)?;
                checked_kelvin(end_kelvin)?;
                // The product has the sign of "leads there"; zero only where nothing is to ramp.
                let leads_there = (end_kelvin - start_kelvin) * rate_kelvin_per_s > 0.0;
                if !(rate_kelvin_per_s.is_finite() && (leads_there || end_kelvin == start_kelvin)) {
                    return Err(ConductionError::Ramp {
                        start_kelvin,
                        rate_kelvin_per_s,
                        end_kelvin,
                    });
                }
            }
        }
        Ok(())
    }
}

/// What acts on a surface: heat transfer coefficient and temperature beyond it.
///
/// # Equation
/// `q = h (T_outside - T_surface)`
///
/// | symbol | field | unit |
/// |---|---|---|
/// | h | `coefficient_w_per_m2_kelvin` | W/m2/K |
/// | T_outside | `temperature` | K |
///
/// # Source
/// Newton's law of cooling; F. Incropera, D. DeWitt, Fundamentals of Heat and Mass Transfer,
/// eq. 1.3 (from memory).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outside {
    /// Heat transfer coefficient at the surface.
    pub coefficient_w_per_m2_kelvin: f64,
    /// Temperature of the block or of the air.
    pub temperature: OutsideTemperature,
}

impl Outside {
    /// A surrounding of one temperature.
    #[must_use]
    pub fn constant(coefficient_w_per_m2_kelvin: f64, kelvin: f64) -> Self {
        Self {
            coefficient_w_per_m2_kelvin,
            temperature: OutsideTemperature::Constant { kelvin },
        }
    }

    pub(super) fn check(&self) -> Result<(), ConductionError> {
        checked_coefficient(self.coefficient_w_per_m2_kelvin)?;
        self.temperature.check()
    }
}

/// One stage of a heat schedule: what the barrel's outside meets, and how long.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConductionStage {
    /// How long the stage lasts.
    pub duration_s: f64,
    /// What the outside meets.
    pub outside: Outside,
}

/// Durations of a schedule, checked: at least one, each finite and above 0.
pub(super) fn checked_end_s(
    durations_s: impl Iterator<Item = f64>,
) -> Result<f64, ConductionError> {
    let mut end_s = 0.0;
    let mut stages = 0;
    for duration_s in durations_s {
        stages += 1;
        end_s += ConductionError::unless_positive(duration_s, |duration_s| {
            ConductionError::StageDuration {
                stage: stages,
                duration_s,
            }
        })?;
    }
    if stages == 0 {
        return Err(ConductionError::NoStage);
    }
    Ok(end_s)
}

/// The spans of a stage between which the outside changes its slope.
pub(super) fn smooth_spans_s(
    from_s: f64,
    to_s: f64,
    breaks_s: [Option<f64>; 2],
) -> impl Iterator<Item = (f64, f64)> {
    let inside = |time_s: f64| time_s > from_s && time_s < to_s;
    let mut cuts = [
        from_s,
        breaks_s[0].filter(|t| inside(*t)).unwrap_or(from_s),
        breaks_s[1].filter(|t| inside(*t)).unwrap_or(from_s),
        to_s,
    ];
    cuts.sort_by(f64::total_cmp);
    (0..3)
        .map(move |i| (cuts[i], cuts[i + 1]))
        .filter(|(start_s, end_s)| end_s > start_s)
}
