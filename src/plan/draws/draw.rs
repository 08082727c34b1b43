//! One draw: a gel, the scatter of its reading, a bore, a friction and a flow.

use crate::plan::gel::Gel;
use crate::plan::setup::NeedleUsed;

/// One draw: a gel, the scatter of its reading, and a bore.
#[derive(Debug, Clone)]
pub struct Draw {
    /// The gel.
    pub gel: Gel,
    /// Deviation of the reading: on its logarithm under relative errors, else in its unit.
    pub deviation: f64,
    /// Whether the deviation is on the logarithm.
    pub deviation_is_relative: bool,
    /// Bore over the stated bore.
    pub bore_ratio: f64,
    /// Friction less the stated friction, in N.
    pub friction_shift_n: f64,
    /// Flow rate over the stated flow rate.
    pub flow_ratio: f64,
}

impl Draw {
    /// The estimates, without any deviation.
    #[must_use]
    pub const fn of_estimates(gel: Gel) -> Self {
        Self {
            gel,
            deviation: 0.0,
            deviation_is_relative: true,
            bore_ratio: 1.0,
            friction_shift_n: 0.0,
            flow_ratio: 1.0,
        }
    }

    /// Ratio of a needle's bore to its stated one, in a draw for all needles.
    #[must_use]
    pub fn bore_ratio_of(&self, needle: &NeedleUsed) -> f64 {
        1.0 + needle.bore_tolerance_m.unwrap_or(0.0) / needle.bore_m * (self.bore_ratio - 1.0)
    }

    /// Reading at a conversion, scatter included; never below zero.
    #[must_use]
    pub fn reading(&self, fraction: f64) -> f64 {
        let plain = self.gel.setting.reading_at_conversion(fraction);
        if self.deviation_is_relative {
            plain * self.deviation.exp()
        } else {
            (plain + self.deviation).max(0.0)
        }
    }

    /// Logarithm of [`Draw::reading`], for many conversions of one draw.
    pub(in crate::plan) fn ln_reading(&self) -> impl Fn(f64) -> f64 + '_ {
        let plain = self.gel.setting.firmness.ln_reading();
        move |fraction| {
            if self.deviation_is_relative {
                plain(fraction) + self.deviation
            } else {
                self.reading(fraction).ln()
            }
        }
    }

    /// Reading without scatter that the scatter turns into `reading`.
    #[must_use]
    pub fn underlying(&self, reading: f64) -> f64 {
        if self.deviation_is_relative {
            reading * (-self.deviation).exp()
        } else {
            reading - self.deviation
        }
    }
}
