//! A warm-up as it is stated with a fit or a question, before it is computed.

use super::declared_history::{DeclaredCooling, DeclaredHistory, DeclaredSyringe, HistorySource};
use super::trace::MeasuredTrace;
use super::warm_up::{ThermalError, WarmUp};

/// A warm-up as it is stated.
#[derive(Debug, Clone, PartialEq)]
pub enum StatedWarmUp {
    /// The gel is at the set temperature from the first moment.
    None,
    /// One time constant.
    Lag {
        /// Time constant, in s.
        time_constant_s: f64,
    },
    /// A thermocouple's record.
    Trace {
        /// Its file.
        file: String,
        /// The record.
        trace: MeasuredTrace,
    },
    /// Conduction in a syringe.
    Syringe(DeclaredSyringe),
}

impl StatedWarmUp {
    /// The warm-up of a gel that starts at a temperature, with the cooling that counts.
    ///
    /// # Errors
    /// A time constant, start, trace or syringe that cannot be; cooling without a warm-up; a trace
    /// that does not level off, so that nobody knows what the block was set to.
    pub fn history(
        self,
        start_kelvin: f64,
        cooling: Option<DeclaredCooling>,
    ) -> Result<WarmUp, ThermalError> {
        let declared = |source| DeclaredHistory {
            source,
            start_kelvin,
            cooling,
        };
        match self {
            Self::None if cooling.is_some() => Err(ThermalError::CoolTimeAlone),
            Self::None => Ok(WarmUp::None),
            Self::Lag { time_constant_s } => {
                let lag = WarmUp::lag(time_constant_s, start_kelvin)?;
                if cooling.is_none() {
                    return Ok(lag);
                }
                WarmUp::sampled(declared(HistorySource::Lag { time_constant_s }))
            }
            Self::Trace { file, trace } => {
                let plateau = trace.plateau();
                if !plateau.levelled {
                    return Err(ThermalError::TraceNotLevel {
                        file,
                        reached_kelvin: plateau.temperature_kelvin,
                    });
                }
                WarmUp::sampled(declared(HistorySource::Trace {
                    file,
                    set_kelvin: plateau.temperature_kelvin,
                    points: trace.points().to_vec(),
                }))
            }
            Self::Syringe(syringe) => WarmUp::sampled(declared(HistorySource::Syringe(syringe))),
        }
    }
}

/// Number of contact coefficients that stand for a range.
const CONTACTS: usize = 9;

impl DeclaredHistory {
    /// Warm-ups over a range of the contact coefficient, all as likely as each other: the contact's
    /// resistance `1/h` is taken as rectangular, of which these are the middles of equal parts.
    /// Nothing where no contact enters.
    ///
    /// # Errors
    /// Whatever [`WarmUp::sampled`] refuses.
    pub fn over_contact(
        &self,
        (low_w_per_m2_kelvin, high_w_per_m2_kelvin): (f64, f64),
    ) -> Result<Vec<WarmUp>, ThermalError> {
        let HistorySource::Syringe(syringe) = &self.source else {
            return Ok(Vec::new());
        };
        let (least, most) = (1.0 / high_w_per_m2_kelvin, 1.0 / low_w_per_m2_kelvin);
        (0..CONTACTS)
            .map(|i| {
                let resistance = least + (most - least) * (i as f64 + 0.5) / CONTACTS as f64;
                WarmUp::sampled(Self {
                    source: HistorySource::Syringe(DeclaredSyringe {
                        contact_w_per_m2_kelvin: 1.0 / resistance,
                        ..syringe.clone()
                    }),
                    ..self.clone()
                })
            })
            .collect()
    }
}
