//! How long a needle still passes a gel that stands after cooling.

use super::assumptions::{Assumptions, answer_warnings};
use super::crossing::conditions_of;
use super::draws::{Draw, DrawSource, Varied, quantile};
use super::error::PlanError;
use super::force_table::ForceSpread;
use super::gel::Gel;
use super::heat_time::{no_warm_up, ready_for_draws};
use super::range_check::{check_temperature, check_time};
use super::stand_question::{
    AtStorage, NOT_A_SHELF_LIFE, PASSING_ONLY, PASSING_ONLY_WORDS, PassesUntil, PushAfter,
    STAND_TIMES_S, StandAnswer, StandQuestion,
};
use super::window::WINDOW_PROBABILITY;
use crate::fit::standing::{Standing, StandingForm};
use crate::fit::{BlendCalibration, ErrorModel, Warning};
use crate::flow::{PushConditions, pressure_for_force, push, warnings as flow_warnings};
use crate::kinetics::StandingCourse;
use crate::thermal::WarmUp;
use crate::units::display;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{ChiSquared, Distribution, StandardNormal};

/// The stream of random numbers that courses of standing are drawn from: none that gels use.
const STANDING_STREAM: u64 = u64::MAX;

/// One gel at the end of its heating, and the course of its standing.
///
/// The flow curve of a standing gel is that of the gel at once, every stress in proportion to its
/// reading; so the part of the force that the gel makes goes with the reading.
#[derive(Debug, Clone, Copy)]
struct Standable {
    /// Part of the force that goes with the reading, at once, in N.
    gel_n: f64,
    /// Part that does not: friction, tissue, the jet, in N.
    rest_n: f64,
    /// ln of what the reading may still gain before the limit; minus infinity where nothing is left.
    ln_room: f64,
    course: StandingCourse,
    /// Deviation of ln of a reading after standing, beyond that of a reading taken at once.
    scatter_ln: f64,
}

impl Standable {
    fn new(
        draw: &Draw,
        stated: &PushConditions,
        fraction: f64,
        limit_n: f64,
        course: StandingCourse,
    ) -> Self {
        let conditions = conditions_of(draw, stated);
        let curve = draw.gel.curve(draw.reading(fraction), fraction);
        let found = push(&curve, &conditions);
        let mut scaling_pa = found.pressure_pa;
        if conditions.inputs().include_end_losses {
            scaling_pa += found.end_losses.creeping_pa;
        }
        let gel_n = scaling_pa * conditions.barrel_area_m2();
        let ln_room = pressure_for_force(&conditions, limit_n)
            .map_or(f64::NEG_INFINITY, |room_pa| {
                (room_pa / found.pressure_pa).ln()
            });
        Self {
            gel_n,
            rest_n: found.plunger_force_n - gel_n,
            ln_room,
            course,
            scatter_ln: 0.0,
        }
    }

    fn force_n(&self, stand_kelvin: f64, stand_time_s: f64) -> f64 {
        let scatter_ln = if stand_time_s > 0.0 {
            self.scatter_ln
        } else {
            0.0
        };
        let ln_ratio = self.course.ln_ratio(stand_kelvin, stand_time_s) + scatter_ln;
        self.rest_n + self.gel_n * ln_ratio.exp()
    }

    /// Standing time at which the limit is reached, in s.
    fn passes_until_s(&self, stand_kelvin: f64) -> f64 {
        if self.ln_room <= 0.0 {
            return 0.0;
        }
        self.course
            .stand_time_for_ln_ratio_s(stand_kelvin, self.ln_room - self.scatter_ln)
    }
}

/// Courses of standing, as many as there are draws: normal about the estimates with their covariance,
/// widened by the doubt of the scatter, which makes them Student's t. With each the deviation of one
/// syringe, of which `more_scatter` is the standard deviation.
fn courses(
    standing: &Standing,
    more_scatter: f64,
    count: usize,
    seed: u64,
) -> Vec<(StandingCourse, f64)> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(STANDING_STREAM);
    let freedom = standing.degrees_of_freedom.max(1) as f64;
    let chi_squared = ChiSquared::new(freedom).ok();
    let lower = super::draws::lower_triangle(&standing.covariance);
    (0..count)
        .map(|_| {
            let width = chi_squared
                .as_ref()
                .map_or(1.0, |c| (freedom / c.sample(&mut random)).sqrt());
            let normals: Vec<f64> = lower
                .iter()
                .map(|_| StandardNormal.sample(&mut random))
                .collect();
            let shifts: Vec<f64> = lower
                .iter()
                .map(|row| {
                    let sum: f64 = row.iter().zip(&normals).map(|(l, z)| l * z).sum();
                    width * sum
                })
                .collect();
            let scatter: f64 = StandardNormal.sample(&mut random);
            (standing.moved(&shifts), more_scatter * width * scatter)
        })
        .collect()
}

/// Scatter of readings after standing beyond that of readings taken at once, of ln: gels do not all
/// thicken alike. Where the bench's scatter is none of the logarithm, all of it.
fn more_scatter(blend: &BlendCalibration, standing: &Standing) -> f64 {
    let at_once = match blend.error {
        ErrorModel::Relative => blend.fit.residual_sd,
        ErrorModel::Absolute | ErrorModel::Given => 0.0,
    };
    (standing.residual_sd.powi(2) - at_once.powi(2))
        .max(0.0)
        .sqrt()
}

/// The gel as it was heated, at the estimates and over the draws.
struct Heated {
    gel: Gel,
    warm_up: WarmUp,
    conditions: PushConditions,
    point: Standable,
    draws: Vec<Standable>,
}

fn heat(
    blend: &BlendCalibration,
    question: &StandQuestion,
    standing: &Standing,
) -> Result<Heated, PlanError> {
    let mut gel = Gel::new(blend, &question.setup, question.thinning)?;
    let warm_up = question.warm_up.clone().unwrap_or(gel.setting.warm_up);
    gel.setting.warm_up = ready_for_draws(&warm_up, blend, question.set_kelvin);
    let conditions = question.setup.conditions()?;
    let source = DrawSource::new(blend, gel.clone(), &question.setup, question.seed)
        .with_block(question.set_kelvin, question.setup.doubts.block_tolerance_k)
        .with_contact(
            question
                .contact_histories
                .iter()
                .map(|warm_up| ready_for_draws(warm_up, blend, question.set_kelvin))
                .collect(),
        );
    let limit_n = question.setup.force_limit_n;
    let stand = |draw: &Draw| {
        let fraction = draw
            .gel
            .setting
            .conversion(question.set_kelvin, question.heat_time_s);
        Standable::new(draw, &conditions, fraction, limit_n, standing.course())
    };
    let point = stand(&Draw::of_estimates(gel.clone()));
    let mut draws = source.answer(question.draws, Varied::ALL, stand);
    let more_scatter = more_scatter(blend, standing);
    let drawn = courses(standing, more_scatter, question.draws, question.seed);
    for (gel, (course, scatter_ln)) in draws.iter_mut().zip(drawn) {
        gel.course = course;
        gel.scatter_ln = scatter_ln;
    }
    Ok(Heated {
        gel,
        warm_up,
        conditions,
        point,
        draws,
    })
}

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
/// | P(t_s) | [`StandingCourse`] | as read |
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

fn standing_of(blend: &BlendCalibration) -> Result<&Standing, PlanError> {
    blend
        .standing
        .as_ref()
        .ok_or_else(|| PlanError::NoStanding {
            blend: blend.blend.clone(),
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

fn push_after(heated: &Heated, stand_kelvin: f64, stand_time_s: f64, limit_n: f64) -> PushAfter {
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

/// Push after a standing time, for a chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingPoint {
    /// Standing time, in s.
    pub stand_time_s: f64,
    /// Plunger force, in N.
    pub plunger_force_n: ForceSpread,
}

/// Plunger force over standing time at one storage temperature, over the same draws at each time.
///
/// # Errors
/// As for [`stand`].
pub fn standing_curve(
    blend: &BlendCalibration,
    question: &StandQuestion,
    stand_kelvin: f64,
    times_s: &[f64],
) -> Result<Vec<StandingPoint>, PlanError> {
    let standing = standing_of(blend)?;
    let heated = heat(blend, question, standing)?;
    Ok(times_s
        .iter()
        .map(|&stand_time_s| StandingPoint {
            stand_time_s,
            plunger_force_n: push_after(
                &heated,
                stand_kelvin,
                stand_time_s,
                question.setup.force_limit_n,
            )
            .plunger_force_n,
        })
        .collect())
}

/// A measured reading as the push that it makes through the question's needle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingReadingAsPush {
    /// Standing time, in s.
    pub stand_time_s: f64,
    /// Storage temperature, in K; none for a reading taken at once.
    pub stand_temp_kelvin: Option<f64>,
    /// Plunger force, in N.
    pub plunger_force_n: f64,
}

/// The readings of gels that were heated as the question's, as pushes through its needle: those read at
/// the reference shear rate.
///
/// # Errors
/// As for [`stand`].
pub fn standing_readings(
    blend: &BlendCalibration,
    question: &StandQuestion,
) -> Result<Vec<StandingReadingAsPush>, PlanError> {
    let standing = standing_of(blend)?;
    let mut gel = Gel::new(blend, &question.setup, question.thinning)?;
    if let Some(warm_up) = &question.warm_up {
        gel.setting.warm_up = warm_up.clone();
    }
    let conditions = question.setup.conditions()?;
    let fraction = gel
        .setting
        .conversion(question.set_kelvin, question.heat_time_s);
    let at_reference = |rate: Option<f64>| match (rate, blend.reference_shear_rate_per_s) {
        (Some(rate), Some(reference)) => (rate / reference).ln().abs() < 0.05,
        _ => true,
    };
    Ok(standing
        .readings
        .iter()
        .filter(|reading| {
            (reading.heat_temp_k - question.set_kelvin).abs() < 0.05
                && (reading.heat_time_s - question.heat_time_s).abs() < 0.5
                && at_reference(reading.shear_rate_per_s)
        })
        .map(|reading| StandingReadingAsPush {
            stand_time_s: reading.stand_time_s,
            stand_temp_kelvin: reading.stand_temp_k,
            plunger_force_n: push(&gel.curve(reading.reading, fraction), &conditions)
                .plunger_force_n,
        })
        .collect())
}
