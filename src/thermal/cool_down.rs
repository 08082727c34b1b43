//! How long a syringe takes until its core has the temperature that is asked for, out of the
//! block or out of the refrigerator.

use super::conduction::{AxialCoefficients, ConductionError, axial_unit_cooling, unit_cooling};
use super::syringe_setup::{SyringeModel, SyringeSetup};

/// Times at which the course is computed: evenly in the logarithm up to this many time constants.
const TIMES: usize = 96;
const TIME_CONSTANTS: f64 = 8.0;
const FIRST_RATIO: f64 = 1e-3;

/// Which side of a temperature the core is to be on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CoreUntil {
    /// Under it: out of the block.
    Under {
        /// The temperature.
        kelvin: f64,
    },
    /// Over it: out of the refrigerator.
    Over {
        /// The temperature.
        kelvin: f64,
    },
}

/// The core's way to the temperature of the air, computed once and asked many times.
#[derive(Debug, Clone, PartialEq)]
pub struct CoolDown {
    air_kelvin: f64,
    times_s: Vec<f64>,
    /// Core less air; of a barrel with ends the place that is farthest behind.
    excess_kelvin: Vec<f64>,
}

impl CoolDown {
    /// From one temperature throughout.
    ///
    /// # Errors
    /// As [`CoolDown::from_field`].
    pub fn from_uniform(
        setup: &SyringeSetup,
        start_kelvin: f64,
        air_w_per_m2_kelvin: f64,
        air_kelvin: f64,
    ) -> Result<Self, ConductionError> {
        let model = setup.model()?;
        let field = vec![start_kelvin; model.cell_count()];
        Self::from_field(setup, &model, &field, air_w_per_m2_kelvin, air_kelvin)
    }

    /// From a temperature for every cell of gel and wall.
    ///
    /// # Equation
    /// Conduction is linear: the excess over the air is that of [`unit_cooling`]. Past eight time
    /// constants one exponential is left of it and carried on.
    ///
    /// # Valid for
    /// Air of one temperature and one coefficient all round.
    ///
    /// # Errors
    /// A coefficient not above 0; a field of another length than the model's.
    ///
    /// # Source
    /// H. Carslaw, J. Jaeger, Conduction of Heat in Solids, section 1.14 (from memory).
    pub fn from_field(
        setup: &SyringeSetup,
        model: &SyringeModel,
        field_kelvin: &[f64],
        air_w_per_m2_kelvin: f64,
        air_kelvin: f64,
    ) -> Result<Self, ConductionError> {
        let radius_m = setup.barrel.gel_radius_m();
        let time_constant_s = setup.lumped_time_s(air_w_per_m2_kelvin)
            + radius_m * radius_m / setup.barrel.gel().diffusivity_m2_per_s() / 4.0;
        let last_s = TIME_CONSTANTS * time_constant_s;
        let times_s: Vec<f64> = std::iter::once(0.0)
            .chain((0..TIMES).map(|step| {
                let share = step as f64 / (TIMES - 1) as f64;
                last_s * FIRST_RATIO.powf(1.0 - share)
            }))
            .collect();
        let start: Vec<f64> = field_kelvin
            .iter()
            .map(|kelvin| kelvin - air_kelvin)
            .collect();
        let excess_kelvin = match model {
            SyringeModel::Radial(radial) => {
                unit_cooling(radial, air_w_per_m2_kelvin, &start, &times_s)?
                    .core_fractions()
                    .to_vec()
            }
            SyringeModel::Axial(axial) => {
                let coefficients = AxialCoefficients {
                    block_w_per_m2_kelvin: air_w_per_m2_kelvin,
                    air_w_per_m2_kelvin,
                };
                axial_unit_cooling(axial, coefficients, &start, &times_s)?
                    .core_by_row_fractions()
                    .map(|rows| {
                        rows.iter().copied().fold(0.0, |far: f64, row| {
                            if row.abs() > far.abs() { row } else { far }
                        })
                    })
                    .collect()
            }
        };
        Ok(Self {
            air_kelvin,
            times_s,
            excess_kelvin,
        })
    }

    /// How long until the core is on the asked side of a temperature and stays there, in s; 0 where
    /// it is there already, nothing where the air lies on the other side, so that it never stays.
    #[must_use]
    pub fn time_s(&self, until: CoreUntil) -> Option<f64> {
        let (wanted, sign) = match until {
            CoreUntil::Under { kelvin } => (kelvin - self.air_kelvin, 1.0),
            CoreUntil::Over { kelvin } => (kelvin - self.air_kelvin, -1.0),
        };
        if sign * wanted <= 0.0 {
            return None;
        }
        let last = self.excess_kelvin.last().copied()?;
        let not_yet = |excess: f64| sign * excess > sign * wanted;
        if not_yet(last) {
            return self.tail_s(wanted);
        }
        let Some(before) = self.excess_kelvin.iter().rposition(|e| not_yet(*e)) else {
            return Some(0.0);
        };
        let (from, to) = (
            *self.excess_kelvin.get(before)?,
            *self.excess_kelvin.get(before + 1)?,
        );
        let (from_s, to_s) = (*self.times_s.get(before)?, *self.times_s.get(before + 1)?);
        // An excess decays as an exponential: its logarithm is nearly straight in time.
        let share = if from / to > 0.0 {
            (from / wanted).ln() / (from / to).ln()
        } else {
            (from - wanted) / (from - to)
        };
        Some(from_s + share * (to_s - from_s))
    }

    /// Past the last time: the one exponential that is left.
    fn tail_s(&self, wanted: f64) -> Option<f64> {
        let end = self.times_s.len().checked_sub(1)?;
        let early = end.checked_sub(6)?;
        let ratio = self.excess_kelvin.get(early)? / self.excess_kelvin.get(end)?;
        let rate_per_s = ratio.ln() / (self.times_s.get(end)? - self.times_s.get(early)?);
        let more_s = (self.excess_kelvin.get(end)? / wanted).ln() / rate_per_s;
        (more_s.is_finite() && more_s >= 0.0).then(|| self.times_s[end] + more_s)
    }
}

/// A time, and what it may be over the range of the air's coefficient.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct CoolTime {
    /// With the coefficient as stated or assumed.
    pub time_s: Option<f64>,
    /// In the air that brings it there soonest, and latest; nothing where the coefficient was
    /// stated.
    pub range_s: Option<[Option<f64>; 2]>,
}

/// How long until the core is at a temperature, with its range over the air's coefficient.
///
/// # Errors
/// As [`CoolDown::from_field`].
///
/// # Example
/// A bare cylinder of 12 mm at 80 °C in air at 22 °C, 29 W/m2K, so Bi = 0.3: its centre passes
/// 40 °C when 1.0712 exp(-0.746461^2 Fo) = 18/58 (Incropera & DeWitt, table 5.1, one-term series),
/// at Fo = 2.223, after 552 s.
/// ```
/// use heatset::reference::plasma;
/// use heatset::thermal::conduction::Barrel;
/// use heatset::thermal::{CoolDown, CoreUntil, SyringeSetup};
/// let gel = plasma()?.into();
/// let setup = SyringeSetup {
///     barrel: Barrel::new(12e-3, 0.0, gel, gel)?,
///     contact_w_per_m2_kelvin: 150.0,
///     air_w_per_m2_kelvin: 29.0,
///     room_kelvin: 295.15,
///     length: None,
/// };
/// let course = CoolDown::from_uniform(&setup, 353.15, 29.0, 295.15)?;
/// let time_s = course.time_s(CoreUntil::Under { kelvin: 313.15 }).unwrap_or(f64::NAN);
/// assert!((time_s - 552.0).abs() < 2.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn cool_time(
    setup: &SyringeSetup,
    model: &SyringeModel,
    field_kelvin: &[f64],
    air_kelvin: f64,
    air_range_w_per_m2_kelvin: Option<(f64, f64)>,
    until: CoreUntil,
) -> Result<CoolTime, ConductionError> {
    let with = |coefficient: f64| -> Result<Option<f64>, ConductionError> {
        let course = CoolDown::from_field(setup, model, field_kelvin, coefficient, air_kelvin)?;
        Ok(course.time_s(until))
    };
    Ok(CoolTime {
        time_s: with(setup.air_w_per_m2_kelvin)?,
        range_s: match air_range_w_per_m2_kelvin {
            Some((low, high)) => Some([with(high)?, with(low)?]),
            None => None,
        },
    })
}
