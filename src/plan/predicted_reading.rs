//! What a reading of the next batch is predicted to be: the draws themselves, to hold it against.

use super::assumptions::answer_warnings;
use super::draws::{Draw, DrawSource, Varied};
use super::error::PlanError;
use super::force_table::{ForceQuestion, forces, weighed_for_push};
use super::gel::Gel;
use super::heat_time::{no_warm_up, ready_for_draws, spread};
use super::range_check::{check_temperature, check_time};
use super::time_question::Spread;
use crate::fit::{BlendCalibration, Warning};
use crate::flow::warnings as flow_warnings;
use crate::thermal::WarmUp;

/// What is predicted of one batch of a new lot.
#[derive(Debug, Clone, PartialEq)]
pub struct PredictedReading {
    /// The draws, sorted, in the SI unit of the reading.
    pub sorted_draws: Vec<f64>,
    /// Their median.
    pub median_in_unit: f64,
    /// Their 95 % interval.
    pub interval95_in_unit: [f64; 2],
    /// Whether it lies outside what was measured.
    pub extrapolated: bool,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

impl PredictedReading {
    fn of(mut draws: Vec<f64>, extrapolated: bool, warnings: Vec<Warning>) -> Self {
        draws.sort_unstable_by(f64::total_cmp);
        let Spread { median, interval95 } = spread(&draws);
        Self {
            sorted_draws: draws,
            median_in_unit: median,
            interval95_in_unit: interval95,
            extrapolated,
            warnings,
        }
    }
}

/// The plunger force of the next batch through the question's own needle, from the same draws as
/// [`force_for_heat_time`](super::force_for_heat_time).
///
/// # Errors
/// Questions that [`PlanError`] names.
pub fn predicted_force(
    blend: &BlendCalibration,
    question: &ForceQuestion,
) -> Result<PredictedReading, PlanError> {
    let (gel, warm_up, extrapolated) = asked(blend, question)?;
    let source = weighed_for_push(source(blend, question, &gel), question)?;
    let conditions = [question.setup.conditions()?];
    let conversion = gel
        .setting
        .conversion(question.set_kelvin, question.heat_time_s);
    let push = gel.push(&conditions[0], conversion);
    let flow = flow_warnings(&push, &conditions[0])?;
    let needles = [question.setup.needle.clone()];
    let draws = forces(question, &source, &needles, &conditions).pop();
    let mut warnings = answer_warnings(
        blend,
        &gel,
        Some(&push),
        &flow,
        extrapolated,
        question.invented,
    );
    warnings.extend(of_warm_up(&warm_up));
    Ok(PredictedReading::of(
        draws.unwrap_or_default(),
        extrapolated,
        warnings,
    ))
}

/// The viscosity of the next batch, read as the calibration's bench was: at its shear rate, at its
/// temperature.
///
/// # Errors
/// Questions that [`PlanError`] names.
pub fn predicted_viscosity(
    blend: &BlendCalibration,
    question: &ForceQuestion,
) -> Result<PredictedReading, PlanError> {
    let (gel, warm_up, extrapolated) = asked(blend, question)?;
    let reading = |draw: &Draw| {
        let fraction = draw
            .gel
            .setting
            .conversion(question.set_kelvin, question.heat_time_s);
        draw.reading(fraction)
    };
    let draws = source(blend, question, &gel)
        .with_lots_weighed(Varied::ALL, |draw| [reading(draw).ln()])
        .answer(question.draws, Varied::ALL, reading);
    let mut warnings = answer_warnings(blend, &gel, None, &[], extrapolated, question.invented);
    warnings.extend(of_warm_up(&warm_up));
    Ok(PredictedReading::of(draws, extrapolated, warnings))
}

/// The gel as it is heated, its warm-up, and whether that lies outside what was measured.
fn asked(
    blend: &BlendCalibration,
    question: &ForceQuestion,
) -> Result<(Gel, WarmUp, bool), PlanError> {
    let mut gel = Gel::new(blend, &question.setup, question.thinning)?;
    let outside_temperature = check_temperature(
        blend,
        question.set_kelvin,
        question.altitude_m,
        question.extrapolate,
    )?;
    let outside_time = check_time(blend, question.heat_time_s, question.extrapolate)?;
    let warm_up = question
        .warm_up
        .clone()
        .unwrap_or_else(|| gel.setting.warm_up.clone());
    gel.setting.warm_up = ready_for_draws(&warm_up, blend, question.set_kelvin);
    Ok((gel, warm_up, outside_temperature || outside_time))
}

fn source(blend: &BlendCalibration, question: &ForceQuestion, gel: &Gel) -> DrawSource {
    let ready = |warm_up: &WarmUp| ready_for_draws(warm_up, blend, question.set_kelvin);
    DrawSource::new(
        blend,
        gel.clone(),
        &question.setup,
        question.set_kelvin,
        question.seed,
    )
    .with_contact(question.contact_histories.iter().map(ready).collect())
}

fn of_warm_up(warm_up: &WarmUp) -> Option<Warning> {
    (*warm_up == WarmUp::None).then(no_warm_up)
}
