//! How sure every viscosity is: the law of propagation of uncertainty, first order, by differences.
//!
//! Where a slope was found, what counts is the viscosity at its rate: an error that moves both along
//! the flow curve does no harm, and the curve is what is fitted. A bore off by 1 % then moves the
//! viscosity by 3 n' + 1 %, and not by 4 %.
//!
//! What a row has of its own (its reading, and through slope and ends those of the same gel) is kept
//! apart from what it shares with others (bore, friction, length, graduation).

use super::bores::{Bores, GRADUATION_RATIO, Links, RULER_M};
use super::frictions::Frictions;
use super::gels::Gel;
use super::reduction::{AtWall, Ends, Inputs, LARGEST_COUPLED_SET, OWN_STEP, Plan, reduce};
use super::runs::{Push, Run, reynolds};
use super::{CommonParts, NeedleReading};

/// Needles, lengths and barrels of a bench whose shared parts are counted.
const LARGEST_SHARED: usize = 100;
/// A difference is taken over this share of the standard deviation.
const STEP_SHARE: f64 = 1e-3;

/// The readings of every row, in the order of the runs.
pub(super) fn readings_of(
    runs: &[Run],
    gels: &[Gel],
    plans: &[Plan],
    inputs: &Inputs,
    bores: &Bores,
    frictions: &Frictions,
) -> Vec<NeedleReading> {
    let mut found: Vec<Option<NeedleReading>> = vec![None; runs.len()];
    // The slopes as they are, held while derivatives are taken; 1 where none was found.
    let mut slopes = vec![1.0; runs.len()];
    for (gel, plan) in gels.iter().zip(plans) {
        for (&number, wall) in gel.runs.iter().zip(reduce(runs, gel, plan, inputs)) {
            if let (Some(place), Some(slope)) = (slopes.get_mut(number), wall.local_slope) {
                *place = slope;
            }
        }
    }
    let whole = |inputs: &Inputs| -> Vec<f64> {
        let mut logs = vec![f64::NAN; runs.len()];
        for (gel, plan) in gels.iter().zip(plans) {
            for (&number, wall) in gel.runs.iter().zip(reduce(runs, gel, plan, inputs)) {
                let slope = slopes.get(number).copied().unwrap_or(1.0);
                if let Some(log) = logs.get_mut(number) {
                    *log = wall.log_at_rate(slope);
                }
            }
        }
        logs
    };
    let mut changed = inputs.clone();
    let common = common_parts(runs, inputs, bores, frictions, &whole);
    for (gel, plan) in gels.iter().zip(plans) {
        let walls = reduce(runs, gel, plan, inputs);
        let own = own_sd_ratios(runs, gel, plan, &mut changed, &walls);
        for ((&number, wall), own_sd_ratio) in gel.runs.iter().zip(&walls).zip(own) {
            let (Some(run), Some(place)) = (runs.get(number), found.get_mut(number)) else {
                continue;
            };
            let parts = common.get(number).copied().unwrap_or_default();
            let viscosity_pa_s = wall.viscosity_pa_s();
            let bore_m = bores.bore_m(run.bore);
            *place = Some(NeedleReading {
                friction: run.friction,
                bore: run.bore,
                length_m: run.length_m,
                friction_n: frictions.friction_n(run.friction),
                pressure_pa: wall.pressure_pa,
                kinetic_pa: wall.kinetic_pa,
                flow_rate_m3_per_s: wall.flow_rate_m3_per_s,
                reynolds: reynolds(
                    bore_m,
                    wall.flow_rate_m3_per_s,
                    run.density_kg_per_m3,
                    wall.stress_pa,
                ),
                end_correction_radii: wall.end_correction_radii,
                wall_shear_stress_pa: wall.stress_pa,
                apparent_rate_per_s: wall.apparent_rate_per_s,
                shear_rate_per_s: wall.true_rate_per_s,
                local_slope: wall.local_slope,
                viscosity_pa_s,
                own_sd_pa_s: own_sd_ratio.map(|ratio| ratio * viscosity_pa_s),
                common_sd_pa_s: parts.total_ratio() * viscosity_pa_s,
                common_parts: parts,
            });
        }
    }
    found.into_iter().flatten().collect()
}

/// Relative standard deviation of every viscosity of a set by what was read.
fn own_sd_ratios(
    runs: &[Run],
    gel: &Gel,
    plan: &Plan,
    changed: &mut Inputs,
    walls: &[AtWall],
) -> Vec<Option<f64>> {
    let coupled = plan.slope.is_some() || plan.ends != Ends::LeftIn;
    if !coupled || gel.runs.len() > LARGEST_COUPLED_SET {
        return gel
            .runs
            .iter()
            .zip(walls)
            .map(|(&number, wall)| {
                let run = runs.get(number)?;
                run.own_sd_ratio
                    .map(|ratio| ratio * direct_slope(run, wall))
            })
            .collect();
    }
    let logs = |changed: &[AtWall]| {
        changed
            .iter()
            .zip(walls)
            .map(|(changed, wall)| changed.log_at_rate(wall.local_slope.unwrap_or(1.0)))
            .collect::<Vec<_>>()
    };
    let mut variances = vec![0.0; gel.runs.len()];
    for &number in &gel.runs {
        let Some(sd_ratio) = runs.get(number).and_then(|run| run.own_sd_ratio) else {
            return vec![None; gel.runs.len()];
        };
        let mut side = |step: f64| {
            if let Some(factor) = changed.own.get_mut(number) {
                *factor = 1.0 + step;
            }
            let logs = logs(&reduce(runs, gel, plan, changed));
            if let Some(factor) = changed.own.get_mut(number) {
                *factor = 1.0;
            }
            logs
        };
        let (up, down) = (side(OWN_STEP), side(-OWN_STEP));
        for (variance, (up, down)) in variances.iter_mut().zip(up.iter().zip(&down)) {
            *variance += ((up - down) / (2.0 * OWN_STEP) * sd_ratio).powi(2);
        }
    }
    variances
        .into_iter()
        .map(|variance: f64| Some(variance.sqrt()))
        .collect()
}

/// d ln eta/d ln reading of a push by itself.
fn direct_slope(run: &Run, wall: &AtWall) -> f64 {
    match run.push {
        // The jet's pressure does not depend on the force at a stated rate.
        Push::Force { force_n, .. } => force_n / (wall.pressure_pa * run.barrel_area_m2()),
        // A longer time is a slower jet: its pressure goes with the square of the rate.
        Push::Timed { .. } => 1.0 + 2.0 * wall.kinetic_pa / wall.pressure_pa,
    }
}

fn shift(values: &mut [f64], place: usize, step: f64) {
    if let Some(value) = values.get_mut(place) {
        *value += step;
    }
}

/// The common parts of every run, each over its viscosity.
fn common_parts(
    runs: &[Run],
    inputs: &Inputs,
    bores: &Bores,
    frictions: &Frictions,
    whole: &impl Fn(&Inputs) -> Vec<f64>,
) -> Vec<CommonParts> {
    let mut squares = vec![[0.0_f64; 4]; inputs.own.len()];
    let mut add = |kind: usize, sd: f64, change: &dyn Fn(&mut Inputs, f64)| {
        if sd <= 0.0 || !sd.is_finite() {
            return;
        }
        let side = |step: f64| {
            let mut changed = inputs.clone();
            change(&mut changed, step);
            whole(&changed)
        };
        let step = sd * STEP_SHARE;
        let (up, down) = (side(step), side(-step));
        for (square, (up, down)) in squares.iter_mut().zip(up.iter().zip(&down)) {
            if let Some(square) = square.get_mut(kind) {
                *square += ((up - down) / (2.0 * STEP_SHARE)).powi(2);
            }
        }
    };
    // A table of this many needles or barrels is no bench's: what they share is then not counted.
    let few = |count: usize| count.min(LARGEST_SHARED);
    for (place, used) in bores.used.iter().enumerate().take(LARGEST_SHARED) {
        add(0, used.apart_sd_m, &|inputs, step| {
            shift(&mut inputs.bores_m, place, step);
        });
    }
    // What moves a known liquid's push moves the bore that it shows with it.
    let follow = |inputs: &mut Inputs, slope: &dyn Fn(&Links) -> f64, step: f64| {
        for (bore_m, used) in inputs.bores_m.iter_mut().zip(&bores.used) {
            *bore_m *= (slope(&used.links) * step).exp();
        }
    };
    let sum = |links: &[(u64, f64)], wanted: Option<f64>| -> f64 {
        links
            .iter()
            .filter(|(bits, _)| wanted.is_some_and(|value| value.to_bits() == *bits))
            .map(|(_, slope)| slope)
            .sum()
    };
    for (place, used) in frictions.used.iter().enumerate().take(LARGEST_SHARED) {
        add(1, used.sd_n, &|inputs, step| {
            shift(&mut inputs.frictions_n, place, step);
            let slope = |links: &Links| {
                links
                    .frictions
                    .iter()
                    .filter(|(linked, _)| *linked == place)
                    .map(|(_, slope)| slope)
                    .sum()
            };
            follow(inputs, &slope, step);
        });
    }
    for place in 0..few(inputs.added_lengths_m.len()) {
        let length_m = runs
            .iter()
            .find(|run| run.length_place == place)
            .map(|run| run.length_m);
        add(2, RULER_M / 3.0_f64.sqrt(), &|inputs, step| {
            shift(&mut inputs.added_lengths_m, place, step);
            follow(inputs, &|links| sum(&links.lengths, length_m), step);
        });
    }
    for place in 0..few(inputs.volume_ratios.len()) {
        let barrel_bore_m = runs
            .iter()
            .find(|run| run.volume_place == place)
            .map(|run| run.barrel_bore_m);
        add(3, GRADUATION_RATIO / 3.0_f64.sqrt(), &|inputs, step| {
            shift(&mut inputs.volume_ratios, place, step);
            follow(inputs, &|links| sum(&links.volumes, barrel_bore_m), step);
        });
    }
    squares
        .into_iter()
        .map(|[bore, friction, length, volume]| CommonParts {
            bore_ratio: bore.sqrt(),
            friction_ratio: friction.sqrt(),
            length_ratio: length.sqrt(),
            volume_ratio: volume.sqrt(),
        })
        .collect()
}
