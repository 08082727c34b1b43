//! How long a needle still passes a gel that stands after cooling.

use super::assumptions::{Assumptions, answer_warnings};
use super::draws::quantile;
use super::error::PlanError;
use super::force_table::ForceSpread;
use super::heat_time::no_warm_up;
use super::range_check::{check_temperature, check_time};
use super::stand_draws::{Heated, heat, standing_of};
use super::stand_question::{
    AtStorage, NOT_A_SHELF_LIFE, PASSING_ONLY, PASSING_ONLY_WORDS, PassesUntil, PushAfter,
    STAND_TIMES_S, StandAnswer, StandQuestion,
};
use super::window::WINDOW_PROBABILITY;
use crate::fit::standing::{Standing, StandingForm};
use crate::fit::{BlendCalibration, Warning};
use crate::flow::warnings as flow_warnings;
use crate::thermal::WarmUp;
use crate::units::display;

/// Answers how long a needle passes what was heated, while it stands.
///
/// # Equation
/// `F(t_s) = F_rest + F_gel exp[ln P(t_s) - ln P(0)]`, over draws of the setting, the push and the course
/// of standing; the gel passes until `F` is at the limit.
///
/// | symbol | what | unit |
/// |---|---|---|
/// | F_gel | force that the gel makes at once | N |
/// | F_rest | friction, tissue, jet | N |
/// | P(t_s) | [`crate::kinetics::StandingCourse`] | as read |
///
/// # Valid for
/// Gels that thicken as those of the bench did, pushed at the temperature of their readings. Says
/// nothing of anything but the push.
///
/// # Errors
/// Questions that [`PlanError`] names: no readings after standing, temperatures or times outside the
/// measured ones.
///
/// # Source
/// JCGM 101:2008 for the draws.
pub fn stand(blend: &BlendCalibration, question: &StandQuestion) -> Result<StandAnswer, PlanError> {
    let standing = standing_of(blend)?;
    question.setup.check_force(question.setup.force_limit_n)?;
    let outside_temperature = check_temperature(
        blend,
        question.set_kelvin,
        question.altitude_m,
        question.extrapolate,
    )?;
    let outside_time = check_time(blend, question.heat_time_s, question.extrapolate)?;
    let storages = storages(standing, question)?;
    let heated = heat(blend, question, standing)?;
    let at_once = heated.draws.iter().filter(|gel| gel.ln_room > 0.0).count();
    let passes_at_once_probability = at_once as f64 / heated.draws.len().max(1) as f64;
    let passes_at_once = passes_at_once_probability >= WINDOW_PROBABILITY;
    let at = storages
        .iter()
        .map(|storage| at_storage(standing, question, &heated, *storage))
        .collect::<Result<Vec<_>, _>>()?;

    let extrapolated =
        outside_temperature || outside_time || at.iter().any(|storage| storage.extrapolated);
    let fraction = heated
        .gel
        .setting
        .conversion(question.set_kelvin, question.heat_time_s);
    let push_at_once = heated.gel.push(&heated.conditions, fraction);
    let flow = flow_warnings(&push_at_once, &heated.conditions)?;
    let mut warnings = answer_warnings(
        blend,
        &heated.gel,
        Some(&push_at_once),
        &flow,
        extrapolated,
        question.invented,
    );
    if heated.warm_up == WarmUp::None {
        warnings.push(no_warm_up());
    }
    warnings.extend(standing.warnings.iter().cloned());
    warnings.push(Warning::new(PASSING_ONLY, PASSING_ONLY_WORDS));
    Ok(StandAnswer {
        heat_temp_k: question.set_kelvin,
        heat_time_s: question.heat_time_s,
        passes_at_once,
        passes_at_once_probability,
        at,
        form: standing.form,
        meaning: NOT_A_SHELF_LIFE,
        assumptions: Assumptions::new(
            blend,
            &question.setup,
            &heated.gel,
            question.thinning,
            &heated.warm_up,
            question.draws,
            question.seed,
            question.invented,
            extrapolated,
        ),
        warnings,
    })
}

/// A storage temperature, and the longest standing time measured there.
#[derive(Debug, Clone, Copy)]
struct Storage {
    kelvin: f64,
    longest_s: Option<f64>,
}

fn storages(standing: &Standing, question: &StandQuestion) -> Result<Vec<Storage>, PlanError> {
    let energy_is_known = standing.activation_energy_j_per_mol.is_some();
    let asked = if question.stand_kelvin.is_empty() {
        standing.storage_temperatures_kelvin()
    } else {
        question.stand_kelvin.clone()
    };
    asked
        .into_iter()
        .map(|kelvin| {
            let longest_s = standing.longest_measured_s(kelvin);
            if longest_s.is_some() || (question.extrapolate && energy_is_known) {
                return Ok(Storage { kelvin, longest_s });
            }
            let measured: Vec<String> = standing
                .storage_temperatures_kelvin()
                .into_iter()
                .map(display::temperature)
                .collect();
            Err(PlanError::StorageOutside {
                asked_kelvin: kelvin,
                measured: measured.join(", "),
                energy_is_known,
            })
        })
        .collect()
}

fn at_storage(
    standing: &Standing,
    question: &StandQuestion,
    heated: &Heated,
    storage: Storage,
) -> Result<AtStorage, PlanError> {
    let kelvin = storage.kelvin;
    let goes_beyond = question.extrapolate && standing.form == StandingForm::LevelsOff;
    let highest = match (goes_beyond, storage.longest_s) {
        (true, _) => f64::INFINITY,
        (false, Some(longest)) => longest * (1.0 + 1e-9),
        // A slope at a temperature between or beyond the measured ones: as long as anybody looked.
        (false, None) => standing
            .range
            .iter()
            .map(|range| range.stand_time_s[1])
            .fold(0.0, f64::max),
    };
    let within = |time_s: f64| (time_s.is_finite() && time_s <= highest).then_some(time_s);
    let mut times: Vec<f64> = heated
        .draws
        .iter()
        .map(|gel| gel.passes_until_s(kelvin))
        .collect();
    times.sort_by(f64::total_cmp);
    let until = quantile(&times, 1.0 - WINDOW_PROBABILITY);
    let limited_by = match within(until) {
        Some(_) => "force",
        None if until.is_infinite() && standing.form == StandingForm::LevelsOff => "never reached",
        None => "measured range",
    };
    let measured = |time_s: f64| {
        storage
            .longest_s
            .is_some_and(|longest| time_s <= longest * (1.0 + 1e-9))
    };
    let asked = asked_times_s(standing.form, question, storage, highest)?;
    let push_after: Vec<PushAfter> = asked
        .into_iter()
        .map(|stand_time_s| PushAfter {
            stand_time_s,
            extrapolated: stand_time_s > 0.0 && !measured(stand_time_s),
            ..push_after(heated, kelvin, stand_time_s, question.setup.force_limit_n)
        })
        .collect();
    let passes_needle_until_s = PassesUntil {
        probability95: within(until),
        point: within(heated.point.passes_until_s(kelvin)),
        median: within(quantile(&times, 0.5)),
        interval95: [0.025, 0.975].map(|p| within(quantile(&times, p))),
    };
    let beyond = passes_needle_until_s
        .probability95
        .is_some_and(|time_s| time_s > 0.0 && !measured(time_s));
    Ok(AtStorage {
        stand_temp_k: kelvin,
        passes_needle_until_s,
        limited_by: limited_by.to_owned(),
        measured_until_s: storage.longest_s,
        extrapolated: storage.longest_s.is_none()
            || beyond
            || push_after.iter().any(|push| push.extrapolated),
        push_after,
    })
}

/// The standing times at which the push is told.
fn asked_times_s(
    form: StandingForm,
    question: &StandQuestion,
    storage: Storage,
    highest_s: f64,
) -> Result<Vec<f64>, PlanError> {
    if question.stand_times_s.is_empty() {
        let last = storage.longest_s.unwrap_or(highest_s);
        let mut times: Vec<f64> = STAND_TIMES_S
            .into_iter()
            .filter(|time_s| *time_s <= last)
            .chain(last.is_finite().then_some(last))
            .collect();
        times.dedup_by(|later, earlier| (*later - *earlier).abs() < 1.0);
        return Ok(times);
    }
    for &asked_s in &question.stand_times_s {
        if asked_s > highest_s {
            return Err(PlanError::StandTimeOutside {
                asked_s,
                stand_kelvin: storage.kelvin,
                longest_s: storage.longest_s.unwrap_or(highest_s),
                levels_off: form == StandingForm::LevelsOff,
            });
        }
    }
    Ok(question.stand_times_s.clone())
}

pub(super) fn push_after(
    heated: &Heated,
    stand_kelvin: f64,
    stand_time_s: f64,
    limit_n: f64,
) -> PushAfter {
    let mut forces: Vec<f64> = heated
        .draws
        .iter()
        .map(|gel| gel.force_n(stand_kelvin, stand_time_s))
        .collect();
    forces.sort_by(f64::total_cmp);
    let under = forces.partition_point(|force| *force <= limit_n);
    PushAfter {
        stand_time_s,
        plunger_force_n: ForceSpread {
            point: heated.point.force_n(stand_kelvin, stand_time_s),
            median: quantile(&forces, 0.5),
            interval95: [quantile(&forces, 0.025), quantile(&forces, 0.975)],
        },
        probability: under as f64 / forces.len().max(1) as f64,
        extrapolated: false,
    }
}
