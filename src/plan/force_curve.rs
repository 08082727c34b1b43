//! Plunger force over heat time, for charts and reports.

use super::crossing::{conditions_of, push_of};
use super::draws::{Draw, DrawSource, Varied, quantile};
use super::error::PlanError;
use super::gel::{Gel, StatedThinning};
use super::setup::PushSetup;
use crate::fit::BlendCalibration;
use crate::thermal::WarmUp;

/// Force at one heat time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForcePoint {
    /// Heat time, in s.
    pub heat_time_s: f64,
    /// Plunger force at the estimates, in N.
    pub plunger_force_n: f64,
    /// 95 % interval, in N, where draws were asked for.
    pub interval95_n: Option<[f64; 2]>,
}

/// Plunger force of one needle at many heat times; with draws, the 95 % interval of each.
///
/// # Errors
/// As for [`Gel::new`] and the push's conditions.
#[allow(clippy::too_many_arguments)]
pub fn force_curve(
    blend: &BlendCalibration,
    setup: &PushSetup,
    thinning: StatedThinning,
    warm_up: Option<WarmUp>,
    set_kelvin: f64,
    times_s: &[f64],
    draws: usize,
    seed: u64,
) -> Result<Vec<ForcePoint>, PlanError> {
    let mut gel = Gel::new(blend, setup, thinning)?;
    if let Some(warm_up) = warm_up {
        gel.setting.warm_up = warm_up;
    }
    let conditions = setup.conditions()?;
    let forces = |draw: &Draw| -> Vec<f64> {
        let own = conditions_of(draw, &conditions);
        times_s
            .iter()
            .map(|time_s| {
                let fraction = draw.gel.setting.conversion(set_kelvin, *time_s);
                push_of(draw, &own, fraction).plunger_force_n
            })
            .collect()
    };
    let source = DrawSource::new(blend, gel.clone(), setup, set_kelvin, seed)
        // One band for all times: the mean of the curve stands for it.
        .with_lots_weighed(Varied::ALL, |draw| {
            [forces(draw).iter().map(|force| force.ln()).sum()]
        });
    let columns: Vec<Vec<f64>> = source.answer(draws, Varied::ALL, forces);
    Ok(times_s
        .iter()
        .enumerate()
        .map(|(i, &heat_time_s)| {
            let fraction = gel.setting.conversion(set_kelvin, heat_time_s);
            let interval95_n = (!columns.is_empty()).then(|| {
                let mut forces: Vec<f64> = columns.iter().map(|column| column[i]).collect();
                forces.sort_by(f64::total_cmp);
                [quantile(&forces, 0.025), quantile(&forces, 0.975)]
            });
            ForcePoint {
                heat_time_s,
                plunger_force_n: gel.push(&conditions, fraction).plunger_force_n,
                interval95_n,
            }
        })
        .collect())
}
