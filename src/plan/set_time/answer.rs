//! When a gel has set.

use super::draws::SetTimeSource;
use super::question::{SetTimeQuestion, check_temperature, warnings};
use crate::fit::Warning;
use crate::fit::set_time::{SetTimeBlend, SetTimeError};
use crate::plan::draws::quantile;
use crate::plan::error::PlanError;
use crate::units::display;
use serde::Serialize;

/// Share of syringes that have set by `not_before`.
const SET_SHARE: f64 = 0.95;

/// Set times at a temperature, in s.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SetTimes {
    /// By then a syringe has set with a probability of 0.95, all that is not known counted.
    pub not_before: f64,
    /// Median over syringes, by the estimates.
    pub median: f64,
    /// Where the median of the lot lies, with 95 %.
    pub median_interval95: [f64; 2],
    /// Where one syringe's set time lies, with 95 %.
    pub syringe_interval95: [f64; 2],
}

/// When a gel has set at a temperature.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SetTimeAnswer {
    /// Blend.
    pub blend: String,
    /// What counts as set.
    pub criterion: String,
    /// The lot asked about; null for a new one.
    pub lot: Option<String>,
    /// Whether an answer allows for the spread between lots.
    pub new_lot_allowed_for: bool,
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Set times.
    pub set_time_s: SetTimes,
    /// What the longest look of the bench comes to at this temperature, in s: beyond it nobody saw
    /// anything.
    pub longest_look_s: f64,
    /// Whether the temperature lies outside those looked at.
    pub extrapolated: bool,
    /// Draws.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
    /// Whether the looks are invented.
    pub invented: bool,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// The deviation of a lot asked about.
///
/// # Errors
/// A lot that is not there, or lots that are not told apart.
pub(super) fn this_lot(
    blend: &SetTimeBlend,
    lot: Option<&str>,
) -> Result<Option<(f64, f64)>, SetTimeError> {
    let Some(asked) = lot else { return Ok(None) };
    let effects = blend.lots.as_ref().map_or(&[][..], |lots| &lots.effects);
    effects
        .iter()
        .find(|effect| effect.lot == asked)
        .map(|effect| Some((effect.ratio.ln(), effect.sd_ln_ratio.powi(2))))
        .ok_or_else(|| SetTimeError::UnknownLot {
            asked: asked.to_owned(),
            lots: effects.iter().map(|effect| effect.lot.clone()).collect(),
        })
}

/// When a gel has set at a block temperature.
///
/// # Equation
/// `not_before`: the 0.95 quantile of `ln t = m* + E*/R (1/T - 1/T_ref) + d_c* + b + s* e` over draws of
/// all that is starred (the estimates' own doubt), of a new lot `b` and of a syringe `e`
///
/// # Valid for
/// The temperatures that were looked at; clock times of the syringe and block of the bench.
///
/// # Errors
/// A criterion or lot that is not there, a temperature outside those looked at, boiling.
pub fn set_time(
    blend: &SetTimeBlend,
    question: &SetTimeQuestion,
) -> Result<SetTimeAnswer, PlanError> {
    let criterion = blend.criterion(question.criterion.as_deref())?;
    let lot = this_lot(blend, question.lot.as_deref())?;
    let extrapolated = check_temperature(blend, question, question.set_kelvin)?;
    let source = SetTimeSource::new(blend, lot);
    let drawn = source.answers(question.draws, question.seed, |draw, random| {
        let lot = draw.lot_deviation(random);
        let median = draw.ln_median(question.set_kelvin, criterion) + lot;
        let place = draw.ln_place_at(question.set_kelvin, criterion) + lot;
        (median, place + draw.syringe_deviation(random))
    });
    let (mut medians, mut syringes): (Vec<f64>, Vec<f64>) = drawn.into_iter().unzip();
    medians.sort_by(f64::total_cmp);
    syringes.sort_by(f64::total_cmp);
    let at = |sorted: &[f64], share: f64| quantile(sorted, share).exp();
    let own = lot.map_or(0.0, |(deviation, _)| deviation);
    let set_time_s = SetTimes {
        not_before: at(&syringes, SET_SHARE),
        median: (source.estimate().ln_median(question.set_kelvin, criterion) + own).exp(),
        median_interval95: [at(&medians, 0.025), at(&medians, 0.975)],
        syringe_interval95: [at(&syringes, 0.025), at(&syringes, 0.975)],
    };
    let mut warnings = warnings(blend, question, extrapolated);
    let longest_look_s = longest_look_s(blend, &source, question.set_kelvin);
    if set_time_s.not_before > longest_look_s {
        warnings.push(Warning::new(
            "past_the_looks",
            format!(
                "The longest look of the bench comes to {} at this temperature: that 19 of 20 have set by a later time rests on the form of the scatter. What helps: a few syringes looked at later.",
                display::duration(longest_look_s)
            ),
        ));
    }
    Ok(SetTimeAnswer {
        blend: blend.blend.clone(),
        criterion: blend.criteria.get(criterion).cloned().unwrap_or_default(),
        lot: question.lot.clone(),
        new_lot_allowed_for: blend.lots_told_apart() > 1 && !source.is_this_lot(),
        heat_temp_k: question.set_kelvin,
        set_time_s,
        longest_look_s,
        extrapolated,
        draws: question.draws,
        seed: question.seed,
        invented: question.invented,
        warnings,
    })
}

/// What the longest look of all comes to at a temperature: the same share of the median set time.
fn longest_look_s(blend: &SetTimeBlend, source: &SetTimeSource, kelvin: f64) -> f64 {
    blend
        .syringes
        .iter()
        .filter_map(|s| {
            let latest = [s.not_set_until_s, s.set_by_s]
                .into_iter()
                .flatten()
                .reduce(f64::max)?;
            let ratio = source.estimate().ln_time_ratio(s.heat_temp_k, kelvin);
            Some(latest * ratio.exp())
        })
        .fold(0.0, f64::max)
}
