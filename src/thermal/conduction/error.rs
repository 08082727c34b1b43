//! What cannot be computed as conduction, said in words.

use thiserror::Error;

/// Input that no conduction can be computed from.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ConductionError {
    /// A conductivity that is not above zero.
    #[error(
        "a conductivity of {conductivity_w_per_m_kelvin} W/m/K is none: it must be a number above 0 (plasma about 0.58, plastics 0.1 to 0.3, glass 1.1 to 1.4)"
    )]
    Conductivity {
        /// The refused conductivity, in W/m/K.
        conductivity_w_per_m_kelvin: f64,
    },
    /// A density that is not above zero.
    #[error(
        "a density of {density_kg_per_m3} kg/m3 is none: it must be a number above 0 (plasma about 1025, plastics 900 to 1200, glass 2230)"
    )]
    Density {
        /// The refused density, in kg/m3.
        density_kg_per_m3: f64,
    },
    /// A specific heat that is not above zero.
    #[error(
        "a specific heat of {specific_heat_j_per_kg_kelvin} J/kg/K is none: it must be a number above 0 (plasma about 3900, plastics 1900, glass 850)"
    )]
    SpecificHeat {
        /// The refused specific heat, in J/kg/K.
        specific_heat_j_per_kg_kelvin: f64,
    },
    /// A bore that is not above zero.
    #[error(
        "a bore of {bore_m} m is none: give the barrel's inner diameter, for instance 0.0047 (4.7 mm)"
    )]
    Bore {
        /// The refused bore, in m.
        bore_m: f64,
    },
    /// A wall thickness below zero.
    #[error(
        "a wall of {wall_thickness_m} m is none: give its thickness, for instance 0.0009 (0.9 mm), or 0 where the contact acts on the gel itself"
    )]
    WallThickness {
        /// The refused thickness, in m.
        wall_thickness_m: f64,
    },
    /// A heat transfer coefficient that is not above zero.
    #[error(
        "a heat transfer coefficient of {coefficient_w_per_m2_kelvin} W/m2K is none: give a number above 0 (block contact 100 to 300, moving air 25 to 85, still air 15 to 18)"
    )]
    Coefficient {
        /// The refused coefficient, in W/m2/K.
        coefficient_w_per_m2_kelvin: f64,
    },
    /// A temperature not above absolute zero.
    #[error(
        "a temperature of {kelvin} K is none: it must be a number above 0 K (20 °C is 293.15 K)"
    )]
    Temperature {
        /// The refused temperature, in K.
        kelvin: f64,
    },
    /// A ramp that does not lead from its start to its end.
    #[error(
        "a ramp of {rate_kelvin_per_s} K/s never gets from {start_kelvin} K to {end_kelvin} K: give a rate above 0 to warm, below 0 to cool"
    )]
    Ramp {
        /// Temperature at the ramp's start, in K.
        start_kelvin: f64,
        /// The refused rate, in K/s.
        rate_kelvin_per_s: f64,
        /// Temperature at the ramp's end, in K.
        end_kelvin: f64,
    },
    /// A stage that lasts no time.
    #[error(
        "stage {stage} lasts {duration_s} s: a stage lasts longer than 0 s; leave it out if there is none"
    )]
    StageDuration {
        /// Which stage, counted from 1.
        stage: usize,
        /// The refused duration, in s.
        duration_s: f64,
    },
    /// A schedule without a stage.
    #[error("the schedule has no stage: give at least one, for instance 6 min in the block")]
    NoStage,
    /// Output times that do not rise, or are no times.
    #[error(
        "output time {place} of {count} ({time_s} s) does not follow {before_s} s: times must be numbers from 0 s on, in rising order"
    )]
    OutputTimes {
        /// Which time, counted from 1.
        place: usize,
        /// How many there are.
        count: usize,
        /// The refused time, in s.
        time_s: f64,
        /// The time before it, in s.
        before_s: f64,
    },
    /// An output time after the end of the schedule.
    #[error(
        "output at {time_s} s is asked for, but the schedule ends at {end_s} s: lengthen its last stage, or leave the time out"
    )]
    OutputPastEnd {
        /// The refused time, in s.
        time_s: f64,
        /// End of the schedule, in s.
        end_s: f64,
    },
    /// A grid too coarse to be one.
    #[error(
        "{cells} {direction} are too few: at least {least} are needed (more make the answer finer and slower)"
    )]
    Grid {
        /// What is counted.
        direction: &'static str,
        /// The refused number.
        cells: usize,
        /// The least number.
        least: usize,
    },
    /// A field of temperatures that does not fit the model.
    #[error(
        "a field of {found} values does not fit a model of {expected} cells: give one for every cell of gel and wall, from the middle outwards"
    )]
    FieldLength {
        /// Values given.
        found: usize,
        /// Cells of the model.
        expected: usize,
    },
    /// A field with a value that is no number.
    #[error("value {place} of the field is no finite number: give one for every cell")]
    FieldValue {
        /// Which value, counted from 1.
        place: usize,
    },
    /// A span of time that cannot be stepped through.
    #[error(
        "no step leads from {from_s} s to {to_s} s: the end must come after the start, both from 0 s on"
    )]
    Span {
        /// Start, in s.
        from_s: f64,
        /// End, in s.
        to_s: f64,
    },
    /// A choice of steps that gives none.
    #[error(
        "{count} steps of first length {first_step_s} s are none: give at least 1 step and a length above 0 s"
    )]
    Steps {
        /// The number asked for.
        count: usize,
        /// The first step asked for, in s (NaN where it was left to the solver).
        first_step_s: f64,
    },
    /// A filled length that is not above zero.
    #[error(
        "a filled length of {filled_length_m} m is none: give the length of the gel column, for instance 0.0577 (1 mL at a bore of 4.7 mm)"
    )]
    FilledLength {
        /// The refused length, in m.
        filled_length_m: f64,
    },
    /// A length standing out that the barrel does not have.
    #[error(
        "{stands_out_m} m cannot stand out of the block: give 0 up to the filled length, {filled_length_m} m"
    )]
    StandsOut {
        /// The refused length, in m.
        stands_out_m: f64,
        /// The filled length, in m.
        filled_length_m: f64,
    },
}

impl ConductionError {
    /// `value` where it is finite and above zero, the error otherwise.
    pub(super) fn unless_positive(
        value: f64,
        error: impl FnOnce(f64) -> Self,
    ) -> Result<f64, Self> {
        if value.is_finite() && value > 0.0 {
            Ok(value)
        } else {
            Err(error(value))
        }
    }
}

/// A temperature above absolute zero, or the error that says so.
pub(super) fn checked_kelvin(kelvin: f64) -> Result<f64, ConductionError> {
    ConductionError::unless_positive(kelvin, |kelvin| ConductionError::Temperature { kelvin })
}

/// A heat transfer coefficient above zero, or the error that says so.
pub(super) fn checked_coefficient(value: f64) -> Result<f64, ConductionError> {
    ConductionError::unless_positive(value, |coefficient_w_per_m2_kelvin| {
        ConductionError::Coefficient {
            coefficient_w_per_m2_kelvin,
        }
    })
}

/// One number for every cell, or the error that says which is missing.
pub(super) fn checked_field(field: &[f64], cells: usize) -> Result<(), ConductionError> {
    if field.len() != cells {
        return Err(ConductionError::FieldLength {
            found: field.len(),
            expected: cells,
        });
    }
    match field.iter().position(|value| !value.is_finite()) {
        Some(place) => Err(ConductionError::FieldValue { place: place + 1 }),
        None => Ok(()),
    }
}
