//! A heat at another temperature that sets a gel as far as a known one.

use super::answer::this_lot;
use super::draws::SetTimeSource;
use super::question::{SetTimeQuestion, check_temperature, warnings};
use crate::fit::Warning;
use crate::fit::set_time::SetTimeBlend;
use crate::plan::draws::quantile;
use crate::plan::error::PlanError;
use serde::Serialize;

/// Equal setting at another temperature.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SameSettingAnswer {
    /// Blend.
    pub blend: String,
    /// Temperature of the known heat, in K.
    #[serde(rename = "same_as_temp_K")]
    pub same_as_temp_k: f64,
    /// Its time, in s.
    pub same_as_time_s: f64,
    /// Temperature asked about, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Time there that sets as far, by the estimates, in s.
    pub heat_time_s_point: f64,
    /// Its median over draws, in s.
    pub heat_time_s_median: f64,
    /// Its 95 % interval, in s: the doubt of the activation energy.
    pub heat_time_s_interval95: [f64; 2],
    /// What counts as set, where `set_share_by_then` is asked by it; null where several and none named.
    pub criterion: Option<String>,
    /// Share of syringes of a new lot that the known heat sets.
    pub set_share_by_then: Option<f64>,
    /// Whether one of the temperatures lies outside those looked at.
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

/// Which time at the temperature asked about sets a gel as far as a known heat.
///
/// # Equation
/// `t = t_known exp[(E/R)(1/T - 1/T_known)]`
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | t_known, T_known | `same_as_time_s`, `same_as_kelvin` | s, K |
/// | T | `set_kelvin` of the question | K |
///
/// # Valid for
/// The same syringe in the same block: the warm-up is taken to be a like share of both times.
///
/// # Errors
/// A temperature outside those looked at, boiling, a criterion or lot that is not there.
///
/// # Source
/// Equal heat dose: as for `heatset time` on readings.
pub fn same_setting(
    blend: &SetTimeBlend,
    question: &SetTimeQuestion,
    same_as_kelvin: f64,
    same_as_time_s: f64,
) -> Result<SameSettingAnswer, PlanError> {
    let criterion = match (&question.criterion, blend.criteria.len()) {
        (None, 2..) => None,
        (asked, _) => Some(blend.criterion(asked.as_deref())?),
    };
    let known_outside = check_temperature(blend, question, same_as_kelvin)?;
    let extrapolated = check_temperature(blend, question, question.set_kelvin)? || known_outside;
    let source = SetTimeSource::new(blend, this_lot(blend, question.lot.as_deref())?);
    let drawn = source.answers(question.draws, question.seed, |draw, random| {
        let ratio = draw.ln_time_ratio(same_as_kelvin, question.set_kelvin);
        let sets = criterion.map(|criterion| {
            let ln_set = draw.ln_place_at(same_as_kelvin, criterion)
                + draw.lot_deviation(random)
                + draw.syringe_deviation(random);
            ln_set <= same_as_time_s.ln()
        });
        (ratio, sets)
    });
    let mut ratios: Vec<f64> = drawn.iter().map(|(ratio, _)| *ratio).collect();
    ratios.sort_by(f64::total_cmp);
    let at = |share: f64| same_as_time_s * quantile(&ratios, share).exp();
    let ratio = source
        .estimate()
        .ln_time_ratio(same_as_kelvin, question.set_kelvin);
    let set = drawn.iter().filter(|(_, sets)| *sets == Some(true)).count();
    Ok(SameSettingAnswer {
        blend: blend.blend.clone(),
        same_as_temp_k: same_as_kelvin,
        same_as_time_s,
        heat_temp_k: question.set_kelvin,
        heat_time_s_point: same_as_time_s * ratio.exp(),
        heat_time_s_median: at(0.5),
        heat_time_s_interval95: [at(0.025), at(0.975)],
        criterion: criterion.and_then(|c| blend.criteria.get(c).cloned()),
        set_share_by_then: criterion.map(|_| set as f64 / drawn.len().max(1) as f64),
        extrapolated,
        draws: question.draws,
        seed: question.seed,
        invented: question.invented,
        warnings: warnings(blend, question, extrapolated),
    })
}
