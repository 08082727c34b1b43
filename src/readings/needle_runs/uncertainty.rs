//! How sure every viscosity is: the law of propagation of uncertainty, first order, by differences.
//!
//! What a row has of its own (its reading, and through slope and ends those of the same gel) is kept
//! apart from what it shares with others (bore, friction, length, graduation).

use super::bores::{Bores, GRADUATION_RATIO};
use super::frictions::Frictions;
use super::gels::Gel;
use super::reduction::{AtWall, Ends, Inputs, LARGEST_COUPLED_SET, OWN_STEP, Plan, reduce};
use super::runs::{Push, Run, reynolds};
use super::{CommonParts, NeedleReading};

/// A needle's length read from a ruler, ±0.5 mm: common practice, no source.
const RULER_M: f64 = 0.5e-3;
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
    let whole = |inputs: &Inputs| -> Vec<f64> {
        let mut logs = vec![f64::NAN; runs.len()];
        for (gel, plan) in gels.iter().zip(plans) {
            for (&number, wall) in gel.runs.iter().zip(reduce(runs, gel, plan, inputs)) {
                if let Some(log) = logs.get_mut(number) {
                    *log = wall.viscosity_pa_s().ln();
                }
            }
        }
        logs
    };
    let common = common_parts(inputs, bores, frictions, &whole);
    for (gel, plan) in gels.iter().zip(plans) {
        let walls = reduce(runs, gel, plan, inputs);
        let own = own_sd_ratios(runs, gel, plan, inputs, &walls);
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
    inputs: &Inputs,
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
    let logs = |walls: &[AtWall]| {
        walls
            .iter()
            .map(|wall| wall.viscosity_pa_s().ln())
            .collect::<Vec<_>>()
    };
    let mut variances = vec![0.0; gel.runs.len()];
    let mut changed = inputs.clone();
    for &number in &gel.runs {
        let Some(sd_ratio) = runs.get(number).and_then(|run| run.own_sd_ratio) else {
            return vec![None; gel.runs.len()];
        };
        let mut side = |step: f64| {
            if let Some(factor) = changed.own.get_mut(number) {
                *factor = 1.0 + step;
            }
            let logs = logs(&reduce(runs, gel, plan, &changed));
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
        add(0, used.sd_m, &|inputs, step| {
            shift(&mut inputs.bores_m, place, step);
        });
    }
    for (place, used) in frictions.used.iter().enumerate() {
        add(1, used.sd_n, &|inputs, step| {
            shift(&mut inputs.frictions_n, place, step);
        });
    }
    for place in 0..few(inputs.added_lengths_m.len()) {
        add(2, RULER_M / 3.0_f64.sqrt(), &|inputs, step| {
            shift(&mut inputs.added_lengths_m, place, step);
        });
    }
    for place in 0..few(inputs.volume_ratios.len()) {
        add(3, GRADUATION_RATIO / 3.0_f64.sqrt(), &|inputs, step| {
            shift(&mut inputs.volume_ratios, place, step);
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
