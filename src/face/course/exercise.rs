//! What trainees predict and then measure: settings chosen from the calibration, with their answers.

use crate::fit::BlendCalibration;
use crate::kinetics::SettingModel;
use crate::plan::{
    Consequences, ForceQuestion, ForceSpread, PlanError, force_for_heat_time, predicted_viscosity,
};
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

/// Conversions that the settings are spread over.
const CONVERSIONS: [f64; 3] = [0.3, 0.55, 0.8];
/// Longest heat time of a lesson, in s.
const LESSON_S: f64 = 45.0 * 60.0;
/// Most settings of the sheet.
const MOST_ROWS: usize = 6;

/// One setting with its answers.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ExerciseRow {
    /// Set temperature, in K.
    pub(crate) heat_temp_k: f64,
    /// Heat time, in s.
    pub(crate) heat_time_s: f64,
    /// Viscosity: median and 95 % interval, in Pa.s.
    pub(crate) viscosity_pa_s: (f64, [f64; 2]),
    /// Push through the needle of the course.
    pub(crate) plunger_force_n: ForceSpread,
}

/// Everything that the sheets are made of.
#[derive(Debug, Clone)]
pub(crate) struct Exercise {
    /// Calibration's file and what it stands on, in words.
    pub(crate) stands: String,
    /// Today's push.
    pub(crate) question: ForceQuestion,
    /// Settings in the order of the sheet.
    pub(crate) rows: Vec<ExerciseRow>,
    /// What single changes do to today's push.
    pub(crate) consequences: Consequences,
    /// How the bench read: ' at 10 1/s', or nothing.
    pub(crate) read_at: String,
    /// Whether the calibration stands on invented data.
    pub(crate) invented: bool,
    /// Whether anything lies outside what was measured.
    pub(crate) extrapolated: bool,
}

/// Settings inside what was measured, some at the course's temperature and some at another, in a
/// random order, each with what the calibration predicts of a new lot.
///
/// # Errors
/// As for the answers about force.
pub(crate) fn rows_of(
    blend: &BlendCalibration,
    question: &ForceQuestion,
) -> Result<Vec<ExerciseRow>, PlanError> {
    let mut model = blend.setting()?;
    if let Some(warm_up) = &question.warm_up {
        model.warm_up = warm_up.clone();
    }
    let mut settings: Vec<(f64, f64)> = Vec::new();
    for kelvin in temperatures_kelvin(blend, question.set_kelvin, &model) {
        settings.extend(times_s(blend, &model, kelvin).map(|time_s| (kelvin, time_s)));
    }
    settings.truncate(MOST_ROWS);
    let mut random = ChaCha8Rng::seed_from_u64(question.seed);
    settings.shuffle(&mut random);
    settings
        .into_iter()
        .map(|(heat_temp_k, heat_time_s)| {
            let asked = ForceQuestion {
                set_kelvin: heat_temp_k,
                heat_time_s,
                ..question.clone()
            };
            let viscosity = predicted_viscosity(blend, &asked)?;
            let push = force_for_heat_time(blend, &asked)?;
            let plunger_force_n =
                push.needles
                    .first()
                    .map(|n| n.plunger_force_n)
                    .ok_or(PlanError::NoScatter {
                        blend: blend.blend.clone(),
                    })?;
            Ok(ExerciseRow {
                heat_temp_k,
                heat_time_s,
                viscosity_pa_s: (viscosity.median_in_unit, viscosity.interval95_in_unit),
                plunger_force_n,
            })
        })
        .collect()
}

/// The course's temperature and the measured one next below it that a lesson has time for (else the
/// next above).
fn temperatures_kelvin(
    blend: &BlendCalibration,
    set_kelvin: f64,
    model: &SettingModel,
) -> Vec<f64> {
    let mut measured: Vec<f64> = blend
        .readings
        .iter()
        .filter(|r| r.used)
        .map(|r| r.heat_temp_k)
        .collect();
    measured.sort_by(|a, b| (a - set_kelvin).abs().total_cmp(&(b - set_kelvin).abs()));
    measured.dedup();
    let in_time = |kelvin: f64| {
        model.clock_time_for_conversion_s(kelvin, CONVERSIONS[1]) <= LESSON_S
            && (kelvin - set_kelvin).abs() > 1.0
    };
    let mut found = vec![set_kelvin];
    found.extend(measured.into_iter().find(|kelvin| in_time(*kelvin)));
    found
}

/// Round times at which the gel has set by about the conversions, inside the measured ones.
fn times_s(
    blend: &BlendCalibration,
    model: &SettingModel,
    kelvin: f64,
) -> impl Iterator<Item = f64> {
    let [shortest, longest] = blend.range.heat_time_s;
    let mut times: Vec<f64> = CONVERSIONS
        .into_iter()
        .map(|conversion| {
            let time_s = model.clock_time_for_conversion_s(kelvin, conversion);
            let step_s = if time_s < 600.0 { 30.0 } else { 60.0 };
            (time_s / step_s).round().max(1.0) * step_s
        })
        .filter(|time_s| (shortest..=longest.min(LESSON_S)).contains(time_s))
        .collect();
    times.dedup();
    times.into_iter()
}
