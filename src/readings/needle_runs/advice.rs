//! What would make a needle bench surer. Advice, never a refusal.

use super::super::kind::ReadingKind;
use super::super::row::Content;
use super::super::table::BenchTable;
use super::assumptions::{at_lines, percent};
use super::bores::{BoreSource, Bores};
use super::frictions::{FrictionSource, Frictions};
use super::gels::Gel;
use super::reduction::Plan;
use super::runs::Run;
use super::{NeedleCoverage, NeedleReading};
use crate::units::display;

/// A bore that moves a viscosity by more than this is worth measuring.
const BORE_WORTH_MEASURING_RATIO: f64 = 0.05;

/// Something that would help a needle bench.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum NeedleAdvice {
    /// No push without gel: the friction is the usual one.
    NoEmptyRun {
        /// The greatest part of a viscosity that it may move, as a standard deviation.
        friction_ratio: f64,
    },
    /// One push without gel alone.
    OneEmptyRun,
    /// Every gel was read at one rate.
    OneRate,
    /// Rates of a gel too near to one another.
    RatesTooNear {
        /// Gels.
        gels: usize,
    },
    /// Stress that does not rise with the rate.
    NoSlope {
        /// Lines of the rows.
        lines: Vec<usize>,
    },
    /// Every gel was read through one length.
    OneLength,
    /// Two lengths, but through different bores.
    LengthsOfOtherBores,
    /// Two lengths whose end correction is not told from none.
    EndsNotTold {
        /// Gels.
        gels: usize,
        /// The mean end correction and its standard deviation of the first, in radii.
        first_radii: (f64, f64),
    },
    /// Nothing was pushed twice, and no standard deviation is given.
    NoRepeats,
    /// The bore is the least sure.
    BoreUnsure {
        /// The needle.
        needle: String,
        /// Part of a viscosity, as a standard deviation.
        ratio: f64,
    },
}

impl NeedleAdvice {
    /// A short code, for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            NeedleAdvice::NoEmptyRun { .. } => "no_empty_run",
            NeedleAdvice::OneEmptyRun => "one_empty_run",
            NeedleAdvice::OneRate => "one_rate",
            NeedleAdvice::RatesTooNear { .. } => "rates_too_near",
            NeedleAdvice::NoSlope { .. } => "no_slope",
            NeedleAdvice::OneLength => "one_length",
            NeedleAdvice::LengthsOfOtherBores => "lengths_of_other_bores",
            NeedleAdvice::EndsNotTold { .. } => "ends_not_told",
            NeedleAdvice::NoRepeats => "no_repeats",
            NeedleAdvice::BoreUnsure { .. } => "bore_unsure",
        }
    }

    /// What is missing, what that means, and what to do.
    #[must_use]
    pub fn message(&self) -> String {
        match self {
            NeedleAdvice::NoEmptyRun { friction_ratio } => format!(
                "no push with an empty barrel: the stopper's friction is a guess, up to {} of a viscosity. Push the empty barrel two or three times, as rows with content = empty",
                percent(*friction_ratio)
            ),
            NeedleAdvice::OneEmptyRun => {
                "one push without gel: how much the friction differs from push to push does not show. Push the empty barrel twice more".to_string()
            }
            NeedleAdvice::OneRate => {
                "every gel was read at one rate: how far it thins does not show, and a needle's rate is far from rest. Read a few gels at two rates or more, a factor of three apart".to_string()
            }
            NeedleAdvice::RatesTooNear { gels } => format!(
                "{} read at rates within a factor of 1.25 of one another: that is too near for a slope, and they stay apparent. Take rates a factor of three apart",
                count(*gels, "gel was", "gels were")
            ),
            NeedleAdvice::NoSlope { lines } => format!(
                "{} of a gel whose stress does not rise with the rate: it stays uncorrected. Was it the same gel, with all of it in the barrel and the same stopper?",
                at_lines(lines)
            ),
            NeedleAdvice::OneLength => {
                "every gel was read through one needle length: what the needle's ends take stays in. Read a few gels through a second length of the same gauge, at the same rate or under the same weights".to_string()
            }
            NeedleAdvice::LengthsOfOtherBores => {
                "needles of different lengths have different bores here: end losses need two lengths of one gauge".to_string()
            }
            NeedleAdvice::EndsNotTold { gels, first_radii: (radii, sd) } => {
                let found = if sd.is_nan() {
                    "under nothing".to_string()
                } else {
                    format!("{} ± {} radii", display::at_most(*radii, 2), display::at_most(*sd, 2))
                };
                format!(
                    "{} read through two lengths, and the end correction is not told from none (first: {found}): it is left in. More repeats, or a shorter needle beside the longest, tell more",
                    count(*gels, "gel was", "gels were")
                )
            }
            NeedleAdvice::NoRepeats => {
                "nothing was pushed twice, and no reading_sd is given: how much a reading scatters does not show. Repeat a few pushes".to_string()
            }
            NeedleAdvice::BoreUnsure { needle, ratio } => format!(
                "the bore of {needle} is the least sure: {} of every viscosity through it, all in one direction. Push a liquid of known viscosity (glycerol and water, content = known), or measure the bore (needle_bore_mm); use needles of one box",
                percent(*ratio)
            ),
        }
    }
}

fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// What the pushes of a table cover.
pub(super) fn coverage(table: &BenchTable, gels: &[Gel], plans: &[Plan]) -> NeedleCoverage {
    let pushed = |content: Content| {
        table
            .runs_without_gel
            .iter()
            .filter(|run| run.content == content && run.details.used)
            .count()
    };
    let number = |wanted: &dyn Fn(&Plan) -> bool| {
        let mut found: Vec<usize> = gels
            .iter()
            .zip(plans)
            .filter(|(_, plan)| wanted(plan))
            .map(|(gel, _)| gel.gel)
            .collect();
        found.dedup();
        found.len()
    };
    NeedleCoverage {
        empty_runs: pushed(Content::Empty),
        water_runs: pushed(Content::Water),
        known_runs: pushed(Content::Known),
        gels: number(&|_| true),
        gels_with_rates: number(&|plan| plan.rates > 1),
        gels_with_lengths: number(&|plan| plan.lengths > 1),
    }
}

#[allow(clippy::too_many_arguments)]
pub(super) fn advice(
    table: &BenchTable,
    runs: &[Run],
    readings: &[NeedleReading],
    gels: &[Gel],
    plans: &[Plan],
    bores: &Bores,
    frictions: &Frictions,
    coverage: &NeedleCoverage,
) -> Vec<NeedleAdvice> {
    let mut found = Vec::new();
    let of_friction = |wanted: FrictionSource| {
        readings.iter().filter(move |one| {
            frictions
                .used
                .get(one.friction)
                .is_some_and(|used| used.source == wanted)
        })
    };
    let guessed = of_friction(FrictionSource::Default)
        .map(|one| one.common_parts.friction_ratio)
        .fold(0.0, f64::max);
    if guessed > 0.0 {
        found.push(NeedleAdvice::NoEmptyRun {
            friction_ratio: guessed,
        });
    }
    if frictions
        .used
        .iter()
        .any(|used| used.rows > 0 && used.runs == 1)
    {
        found.push(NeedleAdvice::OneEmptyRun);
    }
    if coverage.gels_with_rates == 0 {
        found.push(NeedleAdvice::OneRate);
    }
    let near = plans.iter().filter(|plan| plan.rates_too_near).count();
    // Under one weight the rates of repeats differ by chance.
    if near > 0 && table.kind == ReadingKind::Force {
        found.push(NeedleAdvice::RatesTooNear { gels: near });
    }
    let lines: Vec<usize> = gels
        .iter()
        .zip(plans)
        .filter(|(_, plan)| plan.slope_refused)
        .flat_map(|(gel, _)| &gel.runs)
        .filter_map(|&number| runs.get(number))
        .map(|run| run.line)
        .collect();
    if !lines.is_empty() {
        found.push(NeedleAdvice::NoSlope { lines });
    }
    if coverage.gels_with_lengths == 0 {
        let mut lengths: Vec<f64> = runs.iter().map(|run| run.length_m).collect();
        lengths.sort_by(f64::total_cmp);
        lengths.dedup();
        found.push(if lengths.len() > 1 && several_bores(gels) {
            NeedleAdvice::LengthsOfOtherBores
        } else {
            NeedleAdvice::OneLength
        });
    }
    let not_told: Vec<(f64, f64)> = plans.iter().filter_map(|plan| plan.ends_not_told).collect();
    if let Some(first) = not_told.first() {
        found.push(NeedleAdvice::EndsNotTold {
            gels: not_told.len(),
            first_radii: *first,
        });
    }
    if runs.iter().all(|run| run.own_sd_ratio.is_none()) {
        found.push(NeedleAdvice::NoRepeats);
    }
    for (place, used) in bores.used.iter().enumerate() {
        let ratio = readings
            .iter()
            .filter(|one| one.bore == place)
            .map(|one| one.common_parts.bore_ratio)
            .fold(0.0, f64::max);
        if used.source == BoreSource::Nominal && ratio > BORE_WORTH_MEASURING_RATIO {
            found.push(NeedleAdvice::BoreUnsure {
                needle: used.name(),
                ratio,
            });
        }
    }
    found
}

fn several_bores(gels: &[Gel]) -> bool {
    gels.first()
        .is_some_and(|first| gels.iter().any(|gel| gel.bore != first.bore))
}
