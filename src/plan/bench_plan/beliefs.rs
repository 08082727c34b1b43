//! What is believed of a gel before anything was read.

use super::error::BenchPlanError;
use crate::reference::constants::ZERO_CELSIUS_KELVIN;
use serde::Serialize;

/// A range that a number is believed to lie in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Span {
    /// Least.
    pub least: f64,
    /// Most.
    pub most: f64,
}

impl Span {
    /// One value.
    #[must_use]
    pub const fn exactly(value: f64) -> Self {
        Self {
            least: value,
            most: value,
        }
    }

    /// The middle, on the logarithm.
    #[must_use]
    pub fn middle(self) -> f64 {
        (self.least * self.most).sqrt()
    }

    /// Whether it is one value.
    #[must_use]
    pub fn is_one_value(self) -> bool {
        self.least == self.most
    }
}

/// What is believed of a gel: ranges that a plan must serve all of, and spreads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beliefs {
    /// Activation energy of setting, in J/mol.
    #[serde(rename = "activation_energy_J_per_mol")]
    pub activation_energy_j_per_mol: Span,
    /// Time in which half has set at `half_time_temp_k`, in s.
    pub half_time_s: Span,
    /// Temperature of that half time, in K.
    #[serde(rename = "half_time_temp_K")]
    pub half_time_temp_k: f64,
    /// Viscosity before heat, in Pa.s.
    #[serde(rename = "initial_Pa_s")]
    pub initial_pa_s: Span,
    /// Viscosity when all has set, in Pa.s.
    #[serde(rename = "plateau_Pa_s")]
    pub plateau_pa_s: Span,
    /// Scatter of a reading: standard deviation of its logarithm.
    pub reading_scatter_ratio: f64,
    /// Spread between lots of the rate: standard deviation of its logarithm.
    pub lot_spread_rate_ratio: f64,
    /// Spread between lots of the initial viscosity, likewise.
    pub lot_spread_initial_ratio: f64,
    /// Spread between lots of the plateau, likewise.
    pub lot_spread_plateau_ratio: f64,
}

impl Default for Beliefs {
    fn default() -> Self {
        Self {
            activation_energy_j_per_mol: Span {
                least: 250e3,
                most: 550e3,
            },
            half_time_s: Span {
                least: 300.0,
                most: 1200.0,
            },
            half_time_temp_k: ZERO_CELSIUS_KELVIN + 85.0,
            initial_pa_s: Span {
                least: 1.3e-3,
                most: 2e-3,
            },
            plateau_pa_s: Span {
                least: 3.0,
                most: 30.0,
            },
            reading_scatter_ratio: 0.08,
            lot_spread_rate_ratio: 0.15,
            lot_spread_initial_ratio: 0.05,
            lot_spread_plateau_ratio: 0.1,
        }
    }
}

impl Beliefs {
    /// Where each default comes from, in the order of the fields.
    pub const SOURCES: [(&'static str, &'static str); 8] = [
        (
            "activation_energy",
            "published band of protein setting, 250 to 550 kJ/mol (none is published for whole plasma)",
        ),
        ("half_time", "common practice, no source"),
        (
            "initial",
            "plasma at room temperature, 1.5 to 1.7 mPa.s at 25 °C (from memory), with room for the draw",
        ),
        ("plateau", "common practice, no source"),
        ("scatter", "common practice, no source"),
        (
            "lot_spread_rate",
            "common practice, no source; albumin of one lot was seen to set up to ten times faster than another's (Sontum and Christiansen 1997)",
        ),
        ("lot_spread_initial", "common practice, no source"),
        ("lot_spread_plateau", "common practice, no source"),
    ];

    /// Refuses ranges that are none.
    ///
    /// # Errors
    /// Ends the wrong way round or not above zero; a plateau no firmer than the gel before heat.
    pub fn check(&self) -> Result<(), BenchPlanError> {
        for (what, span) in [
            ("the activation energy", self.activation_energy_j_per_mol),
            ("the half time", self.half_time_s),
            ("the initial viscosity", self.initial_pa_s),
            ("the plateau", self.plateau_pa_s),
        ] {
            let ordered = span.least > 0.0 && span.most >= span.least && span.most.is_finite();
            if !ordered {
                return Err(BenchPlanError::NoRange {
                    what,
                    least: span.least,
                    most: span.most,
                });
            }
        }
        if self.plateau_pa_s.least <= 2.0 * self.initial_pa_s.most {
            return Err(BenchPlanError::DoesNotSet {
                plateau_pa_s: self.plateau_pa_s.least,
                initial_pa_s: self.initial_pa_s.most,
            });
        }
        Ok(())
    }

    /// The cases that a plan is held against: the middle of all ranges, their corners, and each range
    /// at its ends with the others in the middle; equal cases once.
    ///
    /// The initial viscosity stays in its middle: it is read directly, without any heat.
    ///
    /// # Source
    /// The points of a face-centred central composite design: G. Box, K. Wilson, J. R. Stat. Soc. B 13
    /// (1951) 1, doi:10.1111/j.2517-6161.1951.tb00067.x.
    #[must_use]
    pub fn cases(&self) -> Vec<BeliefCase> {
        let levels = |span: Span| [span.least, span.middle(), span.most];
        let energies = levels(self.activation_energy_j_per_mol);
        let half_times = levels(self.half_time_s);
        let plateaus = levels(self.plateau_pa_s);
        let mut places = vec![[1, 1, 1]];
        for energy in [0, 2] {
            for half_time in [0, 2] {
                for plateau in [0, 2] {
                    places.push([energy, half_time, plateau]);
                }
            }
        }
        for which in 0..3 {
            for end in [0, 2] {
                let mut face = [1, 1, 1];
                face[which] = end;
                places.push(face);
            }
        }
        let mut cases: Vec<BeliefCase> = Vec::new();
        for [energy, half_time, plateau] in places {
            let case = BeliefCase {
                activation_energy_j_per_mol: energies[energy],
                half_time_s: half_times[half_time],
                plateau_pa_s: plateaus[plateau],
                initial_pa_s: self.initial_pa_s.middle(),
            };
            if !cases.contains(&case) {
                cases.push(case);
            }
        }
        cases
    }
}

/// One gel that the beliefs allow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BeliefCase {
    /// Activation energy, in J/mol.
    #[serde(rename = "activation_energy_J_per_mol")]
    pub activation_energy_j_per_mol: f64,
    /// Half time, in s.
    pub half_time_s: f64,
    /// Plateau, in Pa.s.
    #[serde(rename = "plateau_Pa_s")]
    pub plateau_pa_s: f64,
    /// Initial viscosity, in Pa.s.
    #[serde(rename = "initial_Pa_s")]
    pub initial_pa_s: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A face-centred central composite design of three factors has 2^3 + 2*3 + 1 points.
    #[test]
    fn three_ranges_make_fifteen_cases_and_known_values_fewer() {
        let beliefs = Beliefs::default();
        assert_eq!(beliefs.cases().len(), 15);
        let known = Beliefs {
            activation_energy_j_per_mol: Span::exactly(390e3),
            half_time_s: Span::exactly(480.0),
            plateau_pa_s: Span::exactly(10.0),
            ..beliefs
        };
        assert_eq!(known.cases().len(), 1);
    }

    #[test]
    fn ranges_that_are_none_are_refused() {
        let turned = Beliefs {
            half_time_s: Span {
                least: 600.0,
                most: 60.0,
            },
            ..Beliefs::default()
        };
        assert!(matches!(
            turned.check(),
            Err(BenchPlanError::NoRange {
                what: "the half time",
                ..
            })
        ));
        let liquid = Beliefs {
            plateau_pa_s: Span::exactly(2e-3),
            ..Beliefs::default()
        };
        assert!(matches!(
            liquid.check(),
            Err(BenchPlanError::DoesNotSet { .. })
        ));
        assert!(Beliefs::default().check().is_ok());
    }
}
