//! The turns of the penalised and the linear step.

use super::block::Block;
use super::linear::{LinearFit, Setting};
use super::model::{MixedModel, MixedSettings};
use super::outcome::MixedTermination;
use super::penalised::Present;
use super::point::Groups;
use super::variance::{WORTHLESS_GAIN, by_logarithms, maximise, mean_squared_length};

/// The standard deviations as they stand, in units of the residual one.
pub(super) struct Turns {
    pub relative_sds: Vec<f64>,
    /// The linear fit at the present point and standard deviations.
    pub linear: Option<LinearFit>,
    pub iterations: usize,
}

impl Turns {
    /// Before the first turn.
    pub fn begin(present: &Present, setting: Setting<'_>) -> Self {
        Self {
            relative_sds: first_guess(present, setting),
            linear: None,
            iterations: 0,
        }
    }

    /// Turns until both steps agree, or the reason why they do not.
    pub fn run<M: MixedModel + ?Sized>(
        &mut self,
        groups: &mut Groups<'_, M>,
        present: &mut Present,
        setting: Setting<'_>,
        settings: &MixedSettings,
    ) -> MixedTermination {
        let mut approach = Approach::from(&self.relative_sds);
        while self.iterations < settings.max_iterations {
            self.iterations += 1;
            if let Err(end) = present.minimise(groups, &self.relative_sds, setting) {
                self.linear = LinearFit::solve(&present.blocks, &self.relative_sds, setting);
                return MixedTermination::PenalisedStep(end);
            }
            let Some((found, linear)) = maximise(&present.blocks, &self.relative_sds, setting)
            else {
                self.linear = None;
                return MixedTermination::Flat;
            };
            let change = change(
                &present.blocks,
                &self.relative_sds,
                &found,
                &linear,
                setting,
            );
            let exact = setting.is_rounding(linear.sum_of_squares);
            if change <= settings.tolerance_ratio || (exact && self.iterations > 2) {
                self.relative_sds = found;
                if let Err(end) = present.minimise(groups, &self.relative_sds, setting) {
                    self.linear = Some(linear);
                    return MixedTermination::PenalisedStep(end);
                }
                self.linear = LinearFit::solve(&present.blocks, &self.relative_sds, setting);
                return if self.linear.is_some() {
                    MixedTermination::Converged
                } else {
                    MixedTermination::Flat
                };
            }
            self.relative_sds = approach.next(&self.relative_sds, &found);
            self.linear = Some(linear);
        }
        MixedTermination::IterationLimit
    }
}

/// Largest change of the logarithm of a standard deviation, in units of its standard error.
///
/// A step to zero or from it has no logarithm: it counts as a change unless it is worth less than
/// the likelihood can tell.
fn change(
    blocks: &[Block],
    old: &[f64],
    new: &[f64],
    linear: &LinearFit,
    setting: Setting<'_>,
) -> f64 {
    let n = new.len();
    let crosses = |k: usize| (new[k] > 0.0) != (old[k] > 0.0);
    if (0..n).any(crosses) {
        let before = LinearFit::solve(blocks, old, setting);
        let gain = before.map_or(f64::INFINITY, |b| linear.log_likelihood - b.log_likelihood);
        if gain > WORTHLESS_GAIN {
            return f64::INFINITY;
        }
    }
    let (_, hessian) = by_logarithms(new, &linear.curvature(setting));
    (0..n)
        .filter(|&k| new[k] > 0.0 && old[k] > 0.0)
        .map(|k| (new[k] / old[k]).ln().abs() * hessian[k * n + k].abs().sqrt())
        .fold(0.0, f64::max)
}

/// First relative standard deviations: the penalty weighs about a third of the readings.
///
/// # Source
/// J. Pinheiro, D. Bates, Mixed-Effects Models in S and S-PLUS, Springer 2000, section 3.1
/// (factor 0.375 from memory; it is a start and moves no estimate).
fn first_guess(present: &Present, setting: Setting<'_>) -> Vec<f64> {
    (0..setting.shape.random.len())
        .map(|k| {
            let length = mean_squared_length(&present.blocks, k).sqrt();
            if length > 0.0 {
                1.0 / (0.375 * length)
            } else {
                1.0
            }
        })
        .collect()
}

/// Where the next turn begins: turns that creep are drawn out, turns that chase each other are
/// brought together.
///
/// The two last turns say how the linear step's answer moves with the standard deviations that the
/// penalised step was given; the secant through them points to where it would move no more. It
/// runs in `ln(1 + (lambda/scale)^2) / 2`, which is a logarithm for large standard deviations and
/// reaches zero.
///
/// # Source
/// D. Anderson, Iterative procedures for nonlinear integral equations, J. ACM 12 (1965) 547,
/// doi:10.1145/321296.321305 (with one turn of memory).
struct Approach {
    scale: Vec<f64>,
    /// Place and gap of the turn before.
    last: Option<(Vec<f64>, Vec<f64>)>,
}

/// Longest step, in gaps of the turn it follows.
const LONGEST_DRAW: f64 = 10.0;

/// Gap from which on a turn is still on its way and begins where the linear step says.
const WIDE_GAP: f64 = 1.0;

impl Approach {
    fn from(relative_sds: &[f64]) -> Self {
        Self {
            scale: relative_sds.to_vec(),
            last: None,
        }
    }

    fn next(&mut self, old: &[f64], found: &[f64]) -> Vec<f64> {
        let placed = |values: &[f64]| -> Vec<f64> {
            let ratios = values.iter().zip(&self.scale).map(|(v, s)| v / s);
            ratios.map(|r| 0.5 * (r * r).ln_1p()).collect()
        };
        let place = placed(old);
        let goal = placed(found);
        let gap: Vec<f64> = goal.iter().zip(&place).map(|(g, p)| g - p).collect();
        let widest = gap.iter().fold(0.0_f64, |m, g| m.max(g.abs()));
        let longest = (LONGEST_DRAW * widest).min(WIDE_GAP);
        let mut next = found.to_vec();
        if let Some((last_place, last_gap)) = &self.last
            && widest < WIDE_GAP
        {
            let turned: Vec<f64> = gap.iter().zip(last_gap).map(|(g, l)| g - l).collect();
            let square: f64 = turned.iter().map(|t| t * t).sum();
            let share = turned.iter().zip(&gap).map(|(t, g)| t * g).sum::<f64>() / square;
            if share.is_finite() {
                for k in 0..next.len() {
                    let step = gap[k] - share * (place[k] - last_place[k] + turned[k]);
                    let target = (place[k] + step.clamp(-longest, longest)).max(0.0);
                    if old[k] > 0.0 || found[k] > 0.0 {
                        next[k] = self.scale[k] * (2.0 * target).exp_m1().sqrt();
                    }
                }
            }
        }
        self.last = Some((place, gap));
        next
    }
}
