//! How long to heat for a plunger force.

use super::alternatives::alternatives;
use super::assumptions::{Assumptions, answer_warnings};
use super::contributions::contributions;
use super::crossing::{FULLY_SET, conditions_of, crossing_times_s, first_conversion, push_of};
use super::draws::{Draw, DrawSource, Varied, quantile};
use super::error::PlanError;
use super::gel::Gel;
use super::hand_over::hand_over;
use super::range_check::check_temperature;
use super::thinning_consequence::thinning_consequences;
use super::time_question::{AtAim, Least, Spread, TimeAnswer, TimeQuestion, Uneven, Window};
use super::window::{WINDOW_PROBABILITY, probability_of_passing, raw_window};
use crate::fit::{BlendCalibration, ParameterName, Warning};
use crate::flow::{PushConditions, warnings as flow_warnings};
use crate::reference::hands;
use crate::thermal::WarmUp;
use crate::units::display;

/// Passing and firm-enough times of all draws, sorted.
pub(super) struct Times {
    pub(super) passes_until_s: Vec<f64>,
    pub(super) firm_from_s: Option<Vec<f64>>,
}

/// Everything that a question stands on once it is checked.
pub(super) struct Prepared {
    pub(super) gel: Gel,
    pub(super) conditions: PushConditions,
    pub(super) warm_up: WarmUp,
    pub(super) source: DrawSource,
}

/// Answers how long to heat.
///
/// # Errors
/// Questions that [`PlanError`] names: readings that are no viscosities, a force taken up by
/// friction or over 200 N, a temperature outside the measured ones or at boiling.
pub fn heat_time(
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<TimeAnswer, PlanError> {
    let prepared = prepare(blend, question)?;
    checked(blend, question, &prepared)?;
    let times = draw_times(question, &prepared, question.varied, question.draws);
    answer_from(blend, question, &prepared, &times)
}

/// Whether the question can be asked; says whether its temperature lies outside the measured ones.
fn checked(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    prepared: &Prepared,
) -> Result<bool, PlanError> {
    question.setup.check_force(question.setup.force_limit_n)?;
    let extrapolated_temperature = check_temperature(
        blend,
        question.set_kelvin,
        question.altitude_m,
        question.extrapolate,
    )?;
    check_least(question, prepared)?;
    Ok(extrapolated_temperature)
}

/// The answer from draws that were made.
pub(super) fn answer_from(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    prepared: &Prepared,
    times: &Times,
) -> Result<TimeAnswer, PlanError> {
    let extrapolated_temperature = checked(blend, question, prepared)?;
    let point_draw = point_draw(&prepared.gel);
    let crossings = crossing_times_s(
        &point_draw,
        &prepared.conditions,
        question.set_kelvin,
        question.setup.force_limit_n,
    )?;

    let [shortest, longest] = blend.range.heat_time_s;
    let within = |time_s: f64| {
        let inside = time_s >= shortest * (1.0 - 1e-9) && time_s <= longest * (1.0 + 1e-9);
        (time_s.is_finite() && (inside || question.extrapolate)).then_some(time_s)
    };
    let verdict = judge(times, shortest, longest, question.extrapolate);
    let at_aim = verdict
        .window
        .aim
        .map(|aim_s| at_aim(question, prepared, aim_s))
        .transpose()?;
    let beyond_range = |t: Option<f64>| t.is_some_and(|t| t < shortest || t > longest);
    let extrapolated = extrapolated_temperature
        || beyond_range(verdict.window.not_beyond)
        || beyond_range(verdict.window.aim)
        || beyond_range(verdict.window.not_before);

    let spoken_of = prepared
        .gel
        .setting
        .conversion(question.set_kelvin, verdict.window.aim.unwrap_or(shortest));
    let push_for_warnings = prepared.gel.push(&prepared.conditions, spoken_of);
    let flow = flow_warnings(&push_for_warnings, &prepared.conditions)?;
    let mut warnings = answer_warnings(
        blend,
        &prepared.gel,
        Some(&push_for_warnings),
        &flow,
        extrapolated,
        question.invented,
    );
    warnings.extend(own_warnings(prepared, &crossings));
    let at_most_n = hands()?.at_most_n;
    if question.setup.force_limit_n > at_most_n {
        warnings.push(Warning::new(
            "limit_above_hand",
            format!(
                "A limit of {} is more than hands are known to manage, {} at most: this window reaches to pushes that few can make. What helps: a limit that a hand has tried on a scale, a wider needle or a slower push.",
                display::force(question.setup.force_limit_n),
                display::force(at_most_n)
            ),
        ));
    }
    let alternatives = if verdict.open {
        Vec::new()
    } else {
        alternatives(blend, question)?
    };
    let handed = verdict
        .window
        .aim
        .map(|aim_s| {
            hand_over(
                &prepared.warm_up,
                &question.setup.barrel,
                question.set_kelvin,
                aim_s,
                &question.cooling,
            )
        })
        .transpose()?;
    let sorted = &times.passes_until_s;
    Ok(TimeAnswer {
        heat_temp_k: question.set_kelvin,
        heat_time_s: verdict.window,
        heat_time_s_point: crossings.first().copied().and_then(within),
        heat_time_s_median: within(quantile(sorted, 0.5)),
        heat_time_s_interval95: [
            within(quantile(sorted, 0.025)),
            within(quantile(sorted, 0.975)),
        ],
        at_aim,
        cool_time_s: handed.and_then(|h| h.cool_time_s),
        cool_time_s_range: handed.and_then(|h| h.cool_time_s_range),
        gel_temp_k: handed.map(|h| h.gel_temp_k),
        block: None,
        window_open: verdict.open,
        limited_by: verdict.limited_by.to_owned(),
        contributions: contributions(question, prepared, shortest, longest),
        alternatives,
        force_at_shortest_n: prepared
            .gel
            .push(
                &prepared.conditions,
                prepared
                    .gel
                    .setting
                    .conversion(question.set_kelvin, shortest),
            )
            .plunger_force_n,
        if_flow_index: thinning_consequences(
            &prepared.gel,
            &prepared.conditions,
            spoken_of,
            question
                .thinning
                .shear_rate_per_s
                .or(blend.reference_shear_rate_per_s),
        ),
        needles: None,
        assumptions: Assumptions::new(
            blend,
            &question.setup,
            &prepared.gel,
            question.thinning,
            &prepared.warm_up,
            question.draws,
            question.seed,
            question.invented,
            extrapolated,
        ),
        warnings,
    })
}

pub(super) fn prepare(
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<Prepared, PlanError> {
    let mut gel = Gel::new(blend, &question.setup, question.thinning)?;
    let warm_up = question.warm_up.clone().unwrap_or(gel.setting.warm_up);
    let ready = |warm_up: &WarmUp| ready_for_draws(warm_up, blend, question.set_kelvin);
    gel.setting.warm_up = ready_for_draws(&warm_up, blend, question.set_kelvin);
    let conditions = question.setup.conditions()?;
    let source = DrawSource::new(
        blend,
        gel.clone(),
        &question.setup,
        question.set_kelvin,
        question.seed,
    )
    .with_contact(question.contact_histories.iter().map(ready).collect())
    .with_lots_weighed(question.varied, |draw| {
        let (passes, firm) = times_of(draw, question, &conditions);
        [passes.ln(), firm.unwrap_or(passes).ln()]
    });
    Ok(Prepared {
        gel,
        conditions,
        warm_up,
        source,
    })
}

/// A warm-up with doses at hand for the activation energies that draws may have: six standard
/// deviations to both sides, lots included. Those beyond are computed one by one.
pub(super) fn ready_for_draws(
    warm_up: &WarmUp,
    blend: &BlendCalibration,
    set_kelvin: f64,
) -> WarmUp {
    let Some(energy) = blend.parameter(ParameterName::ActivationEnergy) else {
        return warm_up.clone();
    };
    let between = blend
        .lots
        .as_ref()
        .and_then(|lots| {
            lots.sd
                .get(ParameterName::ActivationEnergy.as_str())
                .copied()
        })
        .unwrap_or(0.0);
    let sd = energy.std_error.unwrap_or(0.0).hypot(between);
    let width = (6.0 * sd).clamp(0.005 * energy.estimate, 0.3 * energy.estimate);
    warm_up.tabled(set_kelvin, blend.reference_temp_k, (energy.estimate, width))
}

/// The estimates as a draw without any deviation.
pub(super) fn point_draw(gel: &Gel) -> Draw {
    Draw::of_estimates(gel.clone())
}

/// Until when a draw passes, and from when it is firm enough, in s.
fn times_of(
    draw: &Draw,
    question: &TimeQuestion,
    conditions: &PushConditions,
) -> (f64, Option<f64>) {
    let setting = &draw.gel.setting;
    let clock = |fraction: f64| setting.clock_time_for_conversion_s(question.set_kelvin, fraction);
    let passes = clock(first_conversion(
        draw,
        conditions,
        question.setup.force_limit_n,
    ));
    let firm = question.least.map(|least| {
        clock(match least {
            Least::Force(n) => first_conversion(draw, conditions, n),
            Least::Reading(reading) => {
                let wanted = draw.underlying(reading);
                let fraction = if wanted <= 0.0 {
                    0.0
                } else {
                    setting.firmness.conversion_at_reading(wanted)
                };
                if fraction >= 1.0 {
                    f64::INFINITY
                } else {
                    fraction
                }
            }
        })
    });
    (passes, firm)
}

pub(super) fn draw_times(
    question: &TimeQuestion,
    prepared: &Prepared,
    varied: Varied,
    draws: usize,
) -> Times {
    let pairs = prepared.source.answer(draws, varied, |draw| {
        times_of(draw, question, &prepared.conditions)
    });
    let sorted = |mut values: Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values
    };
    let firm_from_s = question
        .least
        .map(|_| sorted(pairs.iter().filter_map(|(_, firm)| *firm).collect()));
    Times {
        passes_until_s: sorted(pairs.into_iter().map(|(passes, _)| passes).collect()),
        firm_from_s,
    }
}

pub(super) struct Verdict {
    pub(super) window: Window,
    pub(super) open: bool,
    pub(super) limited_by: &'static str,
}

/// Turns the draws into a window inside the measured times.
pub(super) fn judge(times: &Times, shortest: f64, longest: f64, extrapolate: bool) -> Verdict {
    let raw = raw_window(&times.passes_until_s, times.firm_from_s.as_deref());
    let closed = |limited_by| Verdict {
        window: Window::default(),
        open: false,
        limited_by,
    };
    if raw.not_before_s.is_some_and(|t| t > raw.not_beyond_s) {
        return closed("firmness");
    }
    let reaches_back = extrapolate && raw.not_beyond_s > 0.0;
    if !reaches_back && probability_of_passing(&times.passes_until_s, shortest) < WINDOW_PROBABILITY
    {
        return closed("force");
    }
    if raw.not_before_s.is_some_and(|t| t > longest) && !extrapolate {
        return closed("measured range");
    }
    let unbounded = raw.not_beyond_s > longest && !extrapolate;
    let not_beyond = (!unbounded && raw.not_beyond_s.is_finite()).then_some(raw.not_beyond_s);
    let (lowest, highest) = if extrapolate {
        (0.0, f64::INFINITY)
    } else {
        (shortest, longest)
    };
    let aim = raw.aim_s.clamp(lowest, highest);
    Verdict {
        window: Window {
            not_before: raw.not_before_s.map(|t| t.max(lowest)),
            aim: aim.is_finite().then_some(aim),
            not_beyond,
        },
        open: true,
        limited_by: if unbounded {
            "measured range"
        } else if not_beyond.is_none() {
            "plateau"
        } else {
            "force"
        },
    }
}

fn check_least(question: &TimeQuestion, prepared: &Prepared) -> Result<(), PlanError> {
    match question.least {
        None => Ok(()),
        Some(Least::Force(least_n)) => {
            question.setup.check_force(least_n)?;
            if least_n >= question.setup.force_limit_n {
                return Err(PlanError::LeastAboveLimit {
                    least_n,
                    limit_n: question.setup.force_limit_n,
                });
            }
            let most_n = prepared
                .gel
                .push(&prepared.conditions, FULLY_SET)
                .plunger_force_n;
            if least_n >= most_n {
                return Err(PlanError::LeastTooHigh {
                    what: "force",
                    asked: display::force(least_n),
                    plateau: display::force(most_n),
                });
            }
            Ok(())
        }
        Some(Least::Reading(reading)) if reading >= prepared.gel.setting.firmness.plateau() => {
            Err(PlanError::LeastTooHigh {
                what: "reading",
                asked: display::viscosity(reading),
                plateau: display::viscosity(prepared.gel.setting.firmness.plateau()),
            })
        }
        Some(Least::Reading(_)) => Ok(()),
    }
}

fn at_aim(question: &TimeQuestion, prepared: &Prepared, aim_s: f64) -> Result<AtAim, PlanError> {
    let mut forces = prepared
        .source
        .answer(question.draws, question.varied, |draw| {
            let fraction = draw.gel.setting.conversion(question.set_kelvin, aim_s);
            push_of(draw, &conditions_of(draw, &prepared.conditions), fraction).plunger_force_n
        });
    forces.sort_by(f64::total_cmp);
    let conversion = prepared.gel.setting.conversion(question.set_kelvin, aim_s);
    let push = prepared.gel.push(&prepared.conditions, conversion);
    let plunger_force_n = spread(&forces);
    Ok(AtAim {
        plunger_force_n,
        hand_band: hands()?.band(plunger_force_n.median),
        reading: prepared.gel.setting.reading_at_conversion(conversion),
        conversion,
        uneven: uneven(question, prepared, aim_s),
        wall_shear_rate_per_s: push.wall_shear_rate_per_s,
        reynolds: push.reynolds,
        pressure_pa: push.pressure_pa,
        joint_pressure_pa: push.joint_pressure_pa,
    })
}

/// Median and 95 % interval of sorted values.
/// How unevenly the gel is set; nothing for a gel of one temperature.
fn uneven(question: &TimeQuestion, prepared: &Prepared, aim_s: f64) -> Option<Uneven> {
    let setting = &prepared.gel.setting;
    if setting.dose_clock(question.set_kelvin).shares().len() < 2 {
        return None;
    }
    let conversion = setting.conversion_extremes(question.set_kelvin, aim_s);
    Some(Uneven {
        conversion,
        unset_share: setting.unset_share(question.set_kelvin, aim_s),
        plunger_force_n: conversion.map(|fraction| {
            prepared
                .gel
                .push(&prepared.conditions, fraction)
                .plunger_force_n
        }),
    })
}

pub(super) fn spread(sorted: &[f64]) -> Spread {
    Spread {
        median: quantile(sorted, 0.5),
        interval95: [quantile(sorted, 0.025), quantile(sorted, 0.975)],
    }
}

/// That warm-up comes on top, where none is counted.
pub(super) fn no_warm_up() -> Warning {
    Warning::new(
        "no_warm_up",
        "Times are for gel that is at the block's temperature from the first moment; what a cold syringe needs to warm up comes on top. What helps: --warm-up syringe, which computes it, or --warm-up with the lag of your syringe.",
    )
}

fn own_warnings(prepared: &Prepared, crossings: &[f64]) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if prepared.warm_up == WarmUp::None {
        warnings.push(no_warm_up());
    }
    if crossings.len() > 1 {
        let words: Vec<String> = crossings.iter().map(|t| display::duration(*t)).collect();
        warnings.push(Warning::new(
            "force_not_monotone",
            format!(
                "The force does not rise all the way: it crosses the limit at {}. The first one counts.",
                words.join(", ")
            ),
        ));
    }
    warnings
}
