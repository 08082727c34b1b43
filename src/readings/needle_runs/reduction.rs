//! Pushes of one gel through one bore to stresses and rates at the wall: a plain function of what
//! was read and of what is known of the apparatus, so that its derivatives can be taken.

use std::collections::BTreeMap;

use super::bores::Bores;
use super::frictions::Frictions;
use super::gels::Gel;
use super::runs::{Push, Run, kinetic_pa};
use crate::flow::pipe::{Tube, apparent_shear_rate_per_s, wall_shear_stress_pa};
use crate::flow::{
    LengthPoint, SlopeShape, WallPoint, WallSlope, distinct_rates, end_correction,
    end_correction_along_rates, slope_shape, wall_slope,
};

/// Rates closer together than this are one rate, for the end correction.
const SAME_RATE_RATIO: f64 = 0.02;
/// Rates must span this factor for a slope.
const LEAST_RATE_SPAN_RATIO: f64 = 1.25;
/// A slope at or under this is no flow: stress that does not rise with the rate.
const LEAST_SLOPE: f64 = 0.02;
/// End corrections under this many of their own standard deviations are not told from none.
const ENDS_TOLD_APART_SDS: f64 = 2.0;
/// Step of a derivative by what was read.
pub(super) const OWN_STEP: f64 = 1e-4;
/// With more pushes than this in a set, a push's error is carried into its own viscosity only.
pub(super) const LARGEST_COUPLED_SET: usize = 200;

/// Everything the reduction is a function of.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Inputs {
    /// Factor of every run's own reading.
    pub own: Vec<f64>,
    pub bores_m: Vec<f64>,
    pub frictions_n: Vec<f64>,
    /// Added to every length of a needle, by the length.
    pub added_lengths_m: Vec<f64>,
    /// Factor of every volume, by the barrel's bore.
    pub volume_ratios: Vec<f64>,
}

impl Inputs {
    /// What is known of the apparatus; tells every run the place of its length and graduation.
    pub(super) fn new(runs: &mut [Run], bores: &Bores, frictions: &Frictions) -> Self {
        let mut lengths: BTreeMap<u64, usize> = BTreeMap::new();
        let mut volumes: BTreeMap<u64, usize> = BTreeMap::new();
        for run in runs.iter_mut() {
            let next = lengths.len();
            run.length_place = *lengths.entry(run.length_m.to_bits()).or_insert(next);
            if matches!(run.push, Push::Timed { .. }) {
                let next = volumes.len();
                run.volume_place = *volumes.entry(run.barrel_bore_m.to_bits()).or_insert(next);
            }
        }
        Inputs {
            own: vec![1.0; runs.len()],
            bores_m: bores.used.iter().map(|used| used.bore_m).collect(),
            frictions_n: frictions.used.iter().map(|used| used.friction_n).collect(),
            added_lengths_m: vec![0.0; lengths.len()],
            volume_ratios: vec![1.0; volumes.len()],
        }
    }

    fn length_m(&self, run: &Run) -> f64 {
        let added_m = self.added_lengths_m.get(run.length_place);
        run.length_m + added_m.copied().unwrap_or(0.0)
    }

    fn volume_ratio(&self, run: &Run) -> f64 {
        self.volume_ratios
            .get(run.volume_place)
            .copied()
            .unwrap_or(1.0)
    }
}

/// How the ends of a set are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ends {
    /// One length, or ends not told from none: left in.
    LeftIn,
    /// At every rate by itself.
    AtEveryRate,
    /// One for all rates.
    AlongRates,
}

/// What was decided for a set, and stays while derivatives are taken.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    pub ends: Ends,
    pub slope: Option<SlopeShape>,
    /// The mean end correction that was found and not taken off, with its standard deviation.
    pub ends_not_told: Option<(f64, f64)>,
    /// Stress that does not rise with the rate.
    pub slope_refused: bool,
    /// Rates too near to one another for a slope.
    pub rates_too_near: bool,
    /// Lengths and rates of the used pushes.
    pub lengths: usize,
    pub rates: usize,
}

/// One push as the needle's wall saw it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct AtWall {
    pub pressure_pa: f64,
    pub kinetic_pa: f64,
    pub flow_rate_m3_per_s: f64,
    pub apparent_rate_per_s: f64,
    pub stress_pa: f64,
    pub end_correction_radii: Option<f64>,
    pub local_slope: Option<f64>,
    pub true_rate_per_s: f64,
}

impl AtWall {
    pub(super) fn viscosity_pa_s(&self) -> f64 {
        self.stress_pa / self.true_rate_per_s
    }

    /// ln viscosity carried along the flow curve to a rate that does not change, but for a constant;
    /// with a slope of 1, ln viscosity itself.
    pub(super) fn log_at_rate(&self, local_slope: f64) -> f64 {
        self.viscosity_pa_s().ln() - (local_slope - 1.0) * self.true_rate_per_s.ln()
    }
}

/// Pressure, rate and uncorrected stress of a push.
fn uncorrected(run: &Run, own: f64, inputs: &Inputs) -> AtWall {
    let bore_m = inputs.bores_m.get(run.bore).copied().unwrap_or(f64::NAN);
    let friction_n = inputs.frictions_n.get(run.friction).copied().unwrap_or(0.0);
    let (force_n, flow_rate_m3_per_s) = match run.push {
        Push::Force {
            force_n,
            flow_rate_m3_per_s,
        } => (force_n * own, flow_rate_m3_per_s),
        Push::Timed {
            weight_n,
            volume_m3,
            time_s,
        } => (
            weight_n,
            volume_m3 * inputs.volume_ratio(run) / (time_s * own),
        ),
    };
    let length_m = inputs.length_m(run);
    let kinetic_pa = if run.kinetic {
        kinetic_pa(bore_m, length_m, flow_rate_m3_per_s, run.density_kg_per_m3)
    } else {
        0.0
    };
    let pressure_pa = (force_n - friction_n) / run.barrel_area_m2() - kinetic_pa;
    let apparent_rate_per_s = apparent_shear_rate_per_s(bore_m, flow_rate_m3_per_s);
    AtWall {
        pressure_pa,
        kinetic_pa,
        flow_rate_m3_per_s,
        apparent_rate_per_s,
        stress_pa: wall_shear_stress_pa(Tube { bore_m, length_m }, pressure_pa),
        end_correction_radii: None,
        local_slope: None,
        true_rate_per_s: apparent_rate_per_s,
    }
}

fn length_point(run: &Run, wall: &AtWall, inputs: &Inputs) -> LengthPoint {
    let bore_m = inputs.bores_m.get(run.bore).copied().unwrap_or(f64::NAN);
    LengthPoint {
        length_over_radius_ratio: inputs.length_m(run) / (0.5 * bore_m),
        pressure_pa: wall.pressure_pa,
        apparent_rate_per_s: wall.apparent_rate_per_s,
    }
}

/// End corrections of a set, by rising rate: one for each rate with two lengths, or one for all.
fn ends_of(points: &[(bool, LengthPoint)], ends: Ends) -> Vec<(f64, f64)> {
    let used: Vec<LengthPoint> = points
        .iter()
        .filter(|(used, _)| *used)
        .map(|(_, point)| *point)
        .collect();
    match ends {
        Ends::LeftIn => Vec::new(),
        Ends::AlongRates => end_correction_along_rates(&used)
            .map(|radii| vec![(1.0, radii)])
            .unwrap_or_default(),
        Ends::AtEveryRate => {
            let mut sorted = used;
            sorted.sort_by(|a, b| a.apparent_rate_per_s.total_cmp(&b.apparent_rate_per_s));
            let mut found = Vec::new();
            let mut rest = sorted.as_slice();
            while let Some(first) = rest.first() {
                let top = first.apparent_rate_per_s * (1.0 + SAME_RATE_RATIO);
                let count = rest
                    .iter()
                    .take_while(|point| point.apparent_rate_per_s <= top)
                    .count();
                let (same, after) = rest.split_at(count);
                rest = after;
                if two_lengths(same)
                    && let Some(correction) = end_correction(same)
                {
                    found.push((first.apparent_rate_per_s, correction.end_correction_radii));
                }
            }
            // No ends give pressure back: a rate that says so shows scatter, and all take the mean.
            if found.iter().any(|(_, radii)| *radii < 0.0) {
                let mean = found.iter().map(|(_, radii)| radii).sum::<f64>() / found.len() as f64;
                for (_, radii) in &mut found {
                    *radii = mean;
                }
            }
            found
        }
    }
}

fn two_lengths(points: &[LengthPoint]) -> bool {
    let lengths = || points.iter().map(|point| point.length_over_radius_ratio);
    let longest = lengths().fold(0.0, f64::max);
    longest > lengths().fold(f64::INFINITY, f64::min) * 1.01
}

/// The end correction at a rate: on the line between the neighbours in ln rate, level outside.
fn end_correction_at(found: &[(f64, f64)], rate_per_s: f64) -> Option<f64> {
    let (first, last) = (found.first()?, found.last()?);
    if rate_per_s <= first.0 {
        return Some(first.1);
    }
    if rate_per_s >= last.0 {
        return Some(last.1);
    }
    found.windows(2).find_map(|pair| match pair {
        [low, high] if rate_per_s <= high.0 => {
            let share = (rate_per_s / low.0).ln() / (high.0 / low.0).ln();
            Some(low.1 + share * (high.1 - low.1))
        }
        _ => None,
    })
}

/// The pushes of a set at the wall.
pub(super) fn reduce(runs: &[Run], gel: &Gel, plan: &Plan, inputs: &Inputs) -> Vec<AtWall> {
    let mut walls: Vec<AtWall> = Vec::with_capacity(gel.runs.len());
    let mut points: Vec<(bool, LengthPoint)> = Vec::with_capacity(gel.runs.len());
    for &number in &gel.runs {
        let (Some(run), Some(&own)) = (runs.get(number), inputs.own.get(number)) else {
            continue;
        };
        let wall = uncorrected(run, own, inputs);
        points.push((run.used, length_point(run, &wall, inputs)));
        walls.push(wall);
    }
    let ends = ends_of(&points, plan.ends);
    for (wall, (_, point)) in walls.iter_mut().zip(&points) {
        if let Some(radii) = end_correction_at(&ends, wall.apparent_rate_per_s) {
            wall.end_correction_radii = Some(radii);
            wall.stress_pa = 0.5 * point.pressure_pa / (point.length_over_radius_ratio + radii);
        }
    }
    if let Some(shape) = plan.slope
        && let Some(slope) = slope_of(&walls, &points, shape)
    {
        for wall in &mut walls {
            wall.local_slope = Some(slope.at(wall.apparent_rate_per_s));
            wall.true_rate_per_s = slope.true_rate_per_s(wall.apparent_rate_per_s);
        }
    }
    walls
}

fn wall_points(walls: &[AtWall], points: &[(bool, LengthPoint)]) -> Vec<WallPoint> {
    walls
        .iter()
        .zip(points)
        .filter(|(_, (used, _))| *used)
        .map(|(wall, _)| WallPoint {
            shear_stress_pa: wall.stress_pa,
            apparent_rate_per_s: wall.apparent_rate_per_s,
        })
        .collect()
}

fn slope_of(
    walls: &[AtWall],
    points: &[(bool, LengthPoint)],
    shape: SlopeShape,
) -> Option<WallSlope> {
    wall_slope(&wall_points(walls, points), shape)
}

/// Decides what a set can tell.
pub(super) fn plan(runs: &[Run], gel: &Gel, inputs: &mut Inputs) -> Plan {
    let mut plan = Plan {
        ends: Ends::LeftIn,
        slope: None,
        ends_not_told: None,
        slope_refused: false,
        rates_too_near: false,
        lengths: 0,
        rates: 0,
    };
    let points: Vec<(bool, LengthPoint)> = gel
        .runs
        .iter()
        .filter_map(|&number| runs.get(number))
        .map(|run| {
            let wall = uncorrected(run, 1.0, inputs);
            (run.used, length_point(run, &wall, inputs))
        })
        .collect();
    let used: Vec<LengthPoint> = points
        .iter()
        .filter(|(used, _)| *used)
        .map(|(_, point)| *point)
        .collect();
    let mut lengths: Vec<f64> = used
        .iter()
        .map(|point| point.length_over_radius_ratio)
        .collect();
    lengths.sort_by(f64::total_cmp);
    lengths.dedup_by(|later, earlier| *later < *earlier * 1.01);
    plan.lengths = lengths.len();
    if plan.lengths > 1 {
        plan.ends = if !ends_of(&points, Ends::AtEveryRate).is_empty() {
            Ends::AtEveryRate
        } else if !ends_of(&points, Ends::AlongRates).is_empty() {
            Ends::AlongRates
        } else {
            Ends::LeftIn
        };
        if let Some(not_told) = ends_not_told(runs, gel, &plan, inputs) {
            plan.ends = Ends::LeftIn;
            plan.ends_not_told = Some(not_told);
        }
    }
    let walls = reduce(runs, gel, &plan, inputs);
    let points = wall_points(&walls, &points);
    plan.rates = distinct_rates(&points);
    let rates = || points.iter().map(|point| point.apparent_rate_per_s);
    let span = rates().fold(0.0, f64::max) / rates().fold(f64::INFINITY, f64::min);
    if plan.rates > 1 && span >= LEAST_RATE_SPAN_RATIO {
        let rises = |shape| {
            wall_slope(&points, shape)
                .is_some_and(|slope| rates().all(|rate| slope.at(rate) > LEAST_SLOPE))
        };
        let asked = slope_shape(&points);
        plan.slope = [asked, SlopeShape::Straight]
            .into_iter()
            .find(|shape| rises(*shape));
        plan.slope_refused = plan.slope.is_none();
    } else {
        plan.rates_too_near = plan.rates > 1;
    }
    plan
}

/// The mean end correction and its standard deviation where it is not told from none; nothing where
/// it is, or where nobody knows how readings scatter.
fn ends_not_told(runs: &[Run], gel: &Gel, plan: &Plan, inputs: &mut Inputs) -> Option<(f64, f64)> {
    if plan.ends == Ends::LeftIn || gel.runs.len() > LARGEST_COUPLED_SET {
        return None;
    }
    let corrections = |inputs: &Inputs| -> Option<f64> {
        let points: Vec<(bool, LengthPoint)> = gel
            .runs
            .iter()
            .filter_map(|&number| Some((runs.get(number)?, *inputs.own.get(number)?)))
            .map(|(run, own)| {
                let wall = uncorrected(run, own, inputs);
                (run.used, length_point(run, &wall, inputs))
            })
            .collect();
        let found = ends_of(&points, plan.ends);
        let count = found.len() as f64;
        (!found.is_empty()).then(|| found.iter().map(|(_, radii)| radii).sum::<f64>() / count)
    };
    let mean = corrections(inputs)?;
    if mean < 0.0 {
        // No ends give pressure back.
        return Some((mean, f64::NAN));
    }
    let mut variance = 0.0;
    for &number in &gel.runs {
        let sd_ratio = runs.get(number)?.own_sd_ratio?;
        // Back to 1 at once: the inputs are everybody's.
        *inputs.own.get_mut(number)? = 1.0 + OWN_STEP;
        let with = corrections(inputs);
        *inputs.own.get_mut(number)? = 1.0;
        variance += ((with? - mean) / OWN_STEP * sd_ratio).powi(2);
    }
    let sd = variance.sqrt();
    (mean < ENDS_TOLD_APART_SDS * sd).then_some((mean, sd))
}
