//! What the calibration document keeps of standing.

use super::SAME_STORAGE_KELVIN;
use super::choice::{StandingFit, StandingForm};
use super::gels::StandingRows;
use crate::fit::calibration_parts::{LackOfFit, Warning};
use crate::fit::interval::t_quantile;
use crate::fit::parameter::Scale;
use crate::kinetics::{ArrheniusRate, StandingCourse};
use serde::{Deserialize, Serialize};

/// An estimate with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StandingEstimate {
    /// Estimate, natural scale.
    pub estimate: f64,
    /// Scale of the standard error and of the covariance.
    pub scale: Scale,
    /// Standard error on that scale.
    pub std_error: f64,
    /// 95 % interval (Student's t), natural scale.
    pub ci95: [f64; 2],
}

/// What was measured at one storage temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StandingRange {
    /// Storage temperature, in K.
    #[serde(rename = "stand_temp_K")]
    pub stand_temp_k: f64,
    /// Shortest and longest standing time, in s.
    pub stand_time_s: [f64; 2],
    /// Readings.
    pub rows: usize,
}

/// A reading that the fit of standing stands on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StandingReading {
    /// Data row, counted from 1 over all tables.
    pub row: usize,
    /// Lot.
    pub lot: Option<String>,
    /// Set temperature of the block, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Heat time, in s.
    pub heat_time_s: f64,
    /// Standing time, in s; 0 for a reading taken at once.
    pub stand_time_s: f64,
    /// Storage temperature, in K; null for a reading taken at once.
    #[serde(rename = "stand_temp_K")]
    pub stand_temp_k: Option<f64>,
    /// Shear rate, in 1/s.
    pub shear_rate_per_s: Option<f64>,
    /// Reading, in `reading_unit`.
    pub reading: f64,
    /// Reading less model, of ln.
    pub residual: f64,
}

/// How the gel goes on thickening after cooling.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Standing {
    /// `levels-off` or `slope`.
    pub form: StandingForm,
    /// B, ln of the reading after endless standing over that at once; null where only the slope is
    /// known.
    pub gain_ln_ratio: Option<StandingEstimate>,
    /// Rate at the reference temperature; null where only the slope is known.
    pub rate_ref_per_s: Option<StandingEstimate>,
    /// Slope of ln of the reading at the reference temperature; null where gain and rate are known.
    pub slope_ref_per_s: Option<StandingEstimate>,
    /// Activation energy of rate or slope; null where storage temperatures are less than 5 K apart.
    #[serde(rename = "activation_energy_J_per_mol")]
    pub activation_energy_j_per_mol: Option<StandingEstimate>,
    /// Reference storage temperature, in K.
    #[serde(rename = "reference_temp_K")]
    pub reference_temp_k: f64,
    /// Covariance of gain, ln rate (or slope), activation energy, of those that are not null.
    pub covariance: Vec<Vec<f64>>,
    /// Scatter of ln of single readings.
    pub residual_sd: f64,
    /// Rows less fitted numbers, beginnings of gels counted.
    pub degrees_of_freedom: usize,
    /// Readings, those taken at once of the same gels counted.
    pub rows: usize,
    /// Gels, and how many of them have a beginning of their own.
    pub gels: usize,
    /// Gels whose beginning was fitted from their own readings.
    pub gels_with_own_start: usize,
    /// Lots; 0 where none is named.
    pub lots: usize,
    /// Replicate lack of fit; null without replicates.
    pub lack_of_fit: Option<LackOfFit>,
    /// What was measured, by storage temperature, the coolest first.
    pub range: Vec<StandingRange>,
    /// The readings.
    pub readings: Vec<StandingReading>,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

impl Standing {
    pub(super) fn new(
        rows: &StandingRows,
        fit: &StandingFit,
        readings: Vec<StandingReading>,
        lots: usize,
    ) -> Self {
        let t = t_quantile(0.975, fit.degrees_of_freedom).unwrap_or(f64::INFINITY);
        let estimate = |place: usize, scale: Scale, value: f64| {
            let std_error = fit.covariance[[place, place]].max(0.0).sqrt();
            let middle = scale.of(value);
            StandingEstimate {
                estimate: value,
                scale,
                std_error,
                ci95: [middle - t * std_error, middle + t * std_error].map(|end| scale.back(end)),
            }
        };
        let last = fit.covariance.nrows().saturating_sub(1);
        let (gain, rate, slope, energy, reference_temp_k) = match fit.course {
            StandingCourse::LevelsOff {
                gain_ln_ratio,
                rate,
            } => (
                Some(estimate(0, Scale::Linear, gain_ln_ratio)),
                Some(estimate(1, Scale::Log, rate.rate_ref_per_s)),
                None,
                rate.activation_energy_j_per_mol,
                rate.reference_kelvin,
            ),
            StandingCourse::Slope {
                slope_ref_per_s,
                activation_energy_j_per_mol,
                reference_kelvin,
            } => (
                None,
                None,
                Some(estimate(0, Scale::Linear, slope_ref_per_s)),
                activation_energy_j_per_mol,
                reference_kelvin,
            ),
        };
        Self {
            form: fit.form,
            gain_ln_ratio: gain,
            rate_ref_per_s: rate,
            slope_ref_per_s: slope,
            activation_energy_j_per_mol: fit
                .fits_energy
                .then(|| estimate(last, Scale::Linear, energy)),
            reference_temp_k,
            covariance: fit
                .covariance
                .rows()
                .into_iter()
                .map(|row| row.to_vec())
                .collect(),
            residual_sd: fit.residual_sd,
            degrees_of_freedom: fit.degrees_of_freedom,
            rows: rows.rows.len(),
            gels: rows.gels.len(),
            gels_with_own_start: rows.own_starts(),
            lots,
            lack_of_fit: fit.lack_of_fit,
            range: ranges(rows),
            readings,
            warnings: Vec::new(),
        }
    }

    /// The course at the estimates.
    #[must_use]
    pub fn course(&self) -> StandingCourse {
        let value = |found: &Option<StandingEstimate>| found.map_or(0.0, |e| e.estimate);
        let energy = value(&self.activation_energy_j_per_mol);
        match (self.gain_ln_ratio, self.rate_ref_per_s) {
            (Some(gain), Some(rate)) => StandingCourse::LevelsOff {
                gain_ln_ratio: gain.estimate,
                rate: ArrheniusRate {
                    rate_ref_per_s: rate.estimate,
                    activation_energy_j_per_mol: energy,
                    reference_kelvin: self.reference_temp_k,
                },
            },
            _ => StandingCourse::Slope {
                slope_ref_per_s: value(&self.slope_ref_per_s),
                activation_energy_j_per_mol: energy,
                reference_kelvin: self.reference_temp_k,
            },
        }
    }

    /// The course with its fitted numbers moved by these shifts, in the order of the covariance.
    #[must_use]
    pub fn moved(&self, shifts: &[f64]) -> StandingCourse {
        let mut shifts = shifts.iter().copied();
        let mut next = || shifts.next().unwrap_or(0.0);
        match self.course() {
            StandingCourse::LevelsOff {
                gain_ln_ratio,
                rate,
            } => {
                let (gain, ln_rate) = (next(), next());
                StandingCourse::LevelsOff {
                    gain_ln_ratio: gain_ln_ratio + gain,
                    rate: ArrheniusRate {
                        rate_ref_per_s: rate.rate_ref_per_s * ln_rate.exp(),
                        activation_energy_j_per_mol: rate.activation_energy_j_per_mol + next(),
                        ..rate
                    },
                }
            }
            StandingCourse::Slope {
                slope_ref_per_s,
                activation_energy_j_per_mol,
                reference_kelvin,
            } => StandingCourse::Slope {
                slope_ref_per_s: slope_ref_per_s + next(),
                activation_energy_j_per_mol: activation_energy_j_per_mol + next(),
                reference_kelvin,
            },
        }
    }

    /// Coolest and warmest storage temperature that was measured, in K.
    #[must_use]
    pub fn storage_kelvin(&self) -> [f64; 2] {
        let ends = (self.range.first(), self.range.last());
        match ends {
            (Some(first), Some(last)) => [first.stand_temp_k, last.stand_temp_k],
            _ => [f64::NAN, f64::NAN],
        }
    }

    /// The storage temperatures that were measured, in K, the coolest first; those within the
    /// steadiness of a refrigerator as one.
    #[must_use]
    pub fn storage_temperatures_kelvin(&self) -> Vec<f64> {
        let mut found: Vec<f64> = Vec::new();
        for range in &self.range {
            if found
                .last()
                .is_none_or(|last| range.stand_temp_k - last > SAME_STORAGE_KELVIN)
            {
                found.push(range.stand_temp_k);
            }
        }
        found
    }

    /// Longest standing time that was measured at a storage temperature, in s; between two measured
    /// ones the shorter of theirs, and outside them none.
    #[must_use]
    pub fn longest_measured_s(&self, stand_temp_kelvin: f64) -> Option<f64> {
        let near = self
            .range
            .iter()
            .filter(|range| (range.stand_temp_k - stand_temp_kelvin).abs() <= SAME_STORAGE_KELVIN)
            .map(|range| range.stand_time_s[1])
            .fold(None, |longest: Option<f64>, time| {
                Some(longest.map_or(time, |longest| longest.max(time)))
            });
        if near.is_some() {
            return near;
        }
        let below = self
            .range
            .iter()
            .rfind(|range| range.stand_temp_k < stand_temp_kelvin)?;
        let above = self
            .range
            .iter()
            .find(|range| range.stand_temp_k > stand_temp_kelvin)?;
        Some(below.stand_time_s[1].min(above.stand_time_s[1]))
    }

    /// What is wrong with a document that was changed by hand; none where nothing is.
    #[must_use]
    pub(in crate::fit) fn fault(&self) -> Option<&'static str> {
        let known = [
            self.gain_ln_ratio,
            self.rate_ref_per_s,
            self.slope_ref_per_s,
            self.activation_energy_j_per_mol,
        ];
        let free = known.iter().flatten().count();
        let is_whole = match self.form {
            StandingForm::LevelsOff => {
                self.gain_ln_ratio.is_some()
                    && self.rate_ref_per_s.is_some_and(|rate| rate.estimate > 0.0)
                    && self.slope_ref_per_s.is_none()
            }
            StandingForm::Slope => {
                self.slope_ref_per_s.is_some()
                    && self.gain_ln_ratio.is_none()
                    && self.rate_ref_per_s.is_none()
            }
        };
        let finite = known.iter().flatten().all(|e| e.estimate.is_finite());
        let is_square = self.covariance.len() == free
            && self.covariance.iter().all(|row| row.len() == free)
            && self.covariance.iter().flatten().all(|v| v.is_finite());
        if !is_whole || !finite {
            Some("its estimates are not those of its form")
        } else if !is_square {
            Some("its covariance does not go with its estimates")
        } else if !self.reference_temp_k.is_finite()
            || self.reference_temp_k <= 0.0
            || self.range.is_empty()
        {
            Some("its temperatures are missing")
        } else {
            None
        }
    }
}

fn ranges(rows: &StandingRows) -> Vec<StandingRange> {
    let mut temperatures: Vec<f64> = rows.stood().map(|row| row.stand_temp_kelvin).collect();
    temperatures.sort_by(f64::total_cmp);
    temperatures.dedup_by(|later, earlier| (*later - *earlier).abs() < 0.05);
    temperatures
        .into_iter()
        .map(|stand_temp_k| {
            let here = || {
                rows.stood()
                    .filter(|row| (row.stand_temp_kelvin - stand_temp_k).abs() < 0.05)
            };
            StandingRange {
                stand_temp_k,
                stand_time_s: here().fold([f64::INFINITY, 0.0], |[low, high], row| {
                    [low.min(row.stand_time_s), high.max(row.stand_time_s)]
                }),
                rows: here().count(),
            }
        })
        .collect()
}
