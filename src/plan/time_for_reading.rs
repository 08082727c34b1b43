//! How long to heat until a reading is reached: what a bench answers that says nothing of a push.

use super::draws::{Draw, DrawSource, Varied, quantile};
use super::error::PlanError;
use super::gel::Gel;
use super::heat_time::ready_for_draws;
use super::range_check::check_temperature;
use super::window::WINDOW_PROBABILITY;
use crate::fit::BlendCalibration;
use crate::kinetics::FirmnessLaw;
use crate::thermal::WarmUp;
use crate::units::display;
use serde::Serialize;

/// A question about the heat time of a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingTimeQuestion {
    /// Set temperature, in K.
    pub set_kelvin: f64,
    /// The reading that is to be reached, in SI (in its own unit for a firmness).
    pub reading: f64,
    /// Warm-up in place of the calibration's.
    pub warm_up: Option<WarmUp>,
    /// Warm-ups over the range of the contact coefficient, all as likely as each other.
    pub contact_histories: Vec<WarmUp>,
    /// How far a place of the block may be off the set temperature, either way, in K.
    pub block_tolerance_k: f64,
    /// Altitude, in m.
    pub altitude_m: f64,
    /// Whether answers outside the measured range are wanted.
    pub extrapolate: bool,
    /// Number of draws.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
}

/// The answer; times that lie outside the measured ones are null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingTimeAnswer {
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// From here on 19 syringes of 20 read so, in s.
    pub reached_by_s: Option<f64>,
    /// By the estimates alone, in s.
    pub heat_time_s_point: Option<f64>,
    /// Median over the draws, in s.
    pub heat_time_s_median: Option<f64>,
    /// 95 % interval over the draws, in s.
    pub heat_time_s_interval95: [Option<f64>; 2],
    /// Conversion at that reading, by the estimates.
    pub conversion: f64,
    /// Whether temperature or time lies outside what was measured.
    pub extrapolated: bool,
}

/// Heat time until a reading is reached, for any calibration, of a push or of another measure.
///
/// # Equation
/// `t = t(a)` where the firmness law at the conversion `a` gives the reading less its own scatter; over
/// draws of the parameters, the lot, the scatter and the block.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | t | `heat_time_s_point` | s |
/// | a | `conversion` | 1 |
///
/// # Valid for
/// Readings between that at the start and the plateau; heat times and temperatures that were measured,
/// unless others are asked for.
///
/// # Errors
/// A reading that no heat time gives; a temperature outside the measured ones or at boiling.
///
/// # Source
/// JCGM 101:2008 for the draws.
pub fn time_for_reading(
    blend: &BlendCalibration,
    question: &ReadingTimeQuestion,
) -> Result<ReadingTimeAnswer, PlanError> {
    let outside = check_temperature(
        blend,
        question.set_kelvin,
        question.altitude_m,
        question.extrapolate,
    )?;
    let mut gel = Gel::of_setting(blend.setting()?);
    let firmness = gel.setting.firmness;
    let conversion = firmness.conversion_at_reading(question.reading);
    if !(conversion > 0.0 && conversion < 1.0) {
        let words = |reading: f64| reading_words(blend, reading);
        return Err(PlanError::ReadingNotReached {
            asked: words(question.reading),
            initial: words(firmness.initial()),
            plateau: words(firmness.plateau()),
        });
    }
    let warm_up = question.warm_up.clone().unwrap_or(gel.setting.warm_up);
    let ready = |warm_up: &WarmUp| ready_for_draws(warm_up, blend, question.set_kelvin);
    gel.setting.warm_up = ready_for_draws(&warm_up, blend, question.set_kelvin);
    let set = question.set_kelvin;
    let point_s = gel.setting.clock_time_for_conversion_s(set, conversion);
    let time_of = |draw: &Draw| {
        let setting = &draw.gel.setting;
        let wanted = draw.underlying(question.reading);
        let rises = setting.firmness.plateau() > setting.firmness.initial();
        let fraction = match setting.firmness.law() {
            FirmnessLaw::Linear => setting.firmness.conversion_at_reading(wanted),
            // What the scatter alone reads is there from the first moment, or never passed in a decay.
            _ if wanted <= 0.0 && rises => 0.0,
            _ if wanted <= 0.0 => f64::INFINITY,
            _ => setting.firmness.conversion_at_reading(wanted),
        };
        if fraction.is_nan() || fraction >= 1.0 {
            f64::INFINITY
        } else {
            setting.clock_time_for_conversion_s(set, fraction.max(0.0))
        }
    };
    let mut times = DrawSource::without_needle(blend, gel, question.seed)
        .with_block(question.block_tolerance_k, set)
        .with_contact(question.contact_histories.iter().map(ready).collect())
        .with_lots_weighed(Varied::ALL, |draw| [time_of(draw).ln()])
        .answer(question.draws, Varied::ALL, time_of);
    times.sort_by(f64::total_cmp);
    let [shortest, longest] = blend.range.heat_time_s;
    let inside = |time_s: f64| (shortest..=longest).contains(&time_s);
    let told = |time_s: f64| {
        (time_s.is_finite() && (question.extrapolate || inside(time_s))).then_some(time_s)
    };
    let reached_s = quantile(&times, WINDOW_PROBABILITY);
    Ok(ReadingTimeAnswer {
        heat_temp_k: set,
        reached_by_s: told(reached_s),
        heat_time_s_point: told(point_s),
        heat_time_s_median: told(quantile(&times, 0.5)),
        heat_time_s_interval95: [told(quantile(&times, 0.025)), told(quantile(&times, 0.975))],
        conversion,
        extrapolated: outside || told(reached_s).is_some_and(|time_s| !inside(time_s)),
    })
}

/// A reading with its unit, as people write it.
#[must_use]
pub fn reading_words(blend: &BlendCalibration, reading: f64) -> String {
    match blend.reading_unit.as_str() {
        "Pa.s" => display::viscosity(reading),
        "Pa" => display::pressure(reading),
        unit => format!("{} {unit}", display::at_most(reading, 3)),
    }
}
