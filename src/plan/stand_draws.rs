//! Gels that were heated and stand, drawn over what is uncertain.

use super::crossing::conditions_of;
use super::draws::{Draw, DrawSource, Varied};
use super::error::PlanError;
use super::gel::Gel;
use super::heat_time::ready_for_draws;
use super::stand_question::StandQuestion;
use crate::fit::standing::Standing;
use crate::fit::{BlendCalibration, ErrorModel};
use crate::flow::{PushConditions, pressure_for_force, push};
use crate::kinetics::StandingCourse;
use crate::thermal::WarmUp;
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
pub(super) struct Standable {
    /// Part of the force that goes with the reading, at once, in N.
    gel_n: f64,
    /// Part that does not: friction, tissue, the jet, in N.
    rest_n: f64,
    /// ln of what the reading may still gain before the limit; minus infinity where nothing is left.
    pub(super) ln_room: f64,
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

    pub(super) fn force_n(&self, stand_kelvin: f64, stand_time_s: f64) -> f64 {
        let scatter_ln = if stand_time_s > 0.0 {
            self.scatter_ln
        } else {
            0.0
        };
        let ln_ratio = self.course.ln_ratio(stand_kelvin, stand_time_s) + scatter_ln;
        self.rest_n + self.gel_n * ln_ratio.exp()
    }

    /// Standing time at which the limit is reached, in s.
    pub(super) fn passes_until_s(&self, stand_kelvin: f64) -> f64 {
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
pub(super) struct Heated {
    pub(super) gel: Gel,
    pub(super) warm_up: WarmUp,
    pub(super) conditions: PushConditions,
    pub(super) point: Standable,
    pub(super) draws: Vec<Standable>,
}

pub(super) fn heat(
    blend: &BlendCalibration,
    question: &StandQuestion,
    standing: &Standing,
) -> Result<Heated, PlanError> {
    let mut gel = Gel::new(blend, &question.setup, question.thinning)?;
    let warm_up = question.warm_up.clone().unwrap_or(gel.setting.warm_up);
    gel.setting.warm_up = ready_for_draws(&warm_up, blend, question.set_kelvin);
    let conditions = question.setup.conditions()?;
    let source = DrawSource::new(
        blend,
        gel.clone(),
        &question.setup,
        question.set_kelvin,
        question.seed,
    )
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
    let mut draws = source
        .with_lots_weighed(Varied::ALL, |draw| {
            [stand(draw).force_n(question.set_kelvin, 0.0).ln()]
        })
        .answer(question.draws, Varied::ALL, stand);
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

/// The fit of standing of a blend.
pub(super) fn standing_of(blend: &BlendCalibration) -> Result<&Standing, PlanError> {
    blend
        .standing
        .as_ref()
        .ok_or_else(|| PlanError::NoStanding {
            blend: blend.blend.clone(),
        })
}
