//! The penalised step: fixed and random effects together, for given standard deviations.

use super::block::Block;
use super::linear::{LinearFit, Setting};
use super::model::MixedModel;
use super::point::{Evaluated, Groups, Point, penalty};
use crate::fit::least_squares::{LeastSquaresProblem, Settings, Termination, minimize};

/// Offset, as a share of the penalised sum's root, at which Gauss-Newton has arrived.
const ARRIVED_RATIO: f64 = 1e-10;

/// Offset below which a step that gains nothing is rounding, not failure.
const ROUNDING_RATIO: f64 = 1e-6;

/// Most Gauss-Newton steps.
const MOST_STEPS: usize = 50;

/// The present point with what the model gave there.
#[derive(Debug, Clone, Default)]
pub(super) struct Present {
    pub point: Point,
    pub evaluated: Evaluated,
    /// The groups packed at this point.
    pub blocks: Vec<Block>,
    trial: Point,
    trial_evaluated: Evaluated,
}

impl Present {
    /// Begins at a point where the model is known to be finite.
    pub fn at<M: MixedModel + ?Sized>(groups: &mut Groups<'_, M>, point: Point) -> Self {
        let mut present = Self {
            point,
            ..Self::default()
        };
        present.refresh(groups);
        present
    }

    fn refresh<M: MixedModel + ?Sized>(&mut self, groups: &mut Groups<'_, M>) -> f64 {
        let sum = groups.evaluate(&self.point, &mut self.evaluated);
        groups.pack(&self.point, &self.evaluated, &mut self.blocks);
        sum
    }

    /// Finds the least of `sum (y - f(beta + b))^2 + sum (b / lambda)^2` over `beta` and all `b`.
    ///
    /// Gauss-Newton group by group with halved steps, which costs one pass of the model a step;
    /// where that does not arrive, Levenberg-Marquardt over all unknowns from the same start.
    ///
    /// # Source
    /// M. Lindstrom, D. Bates, Biometrics 46 (1990) 673, section 3, doi:10.2307/2532087.
    pub fn minimise<M: MixedModel + ?Sized>(
        &mut self,
        groups: &mut Groups<'_, M>,
        relative_sds: &[f64],
        setting: Setting<'_>,
    ) -> Result<(), Termination> {
        for (place, effect) in self.point.effects.iter_mut().enumerate() {
            if relative_sds[place % relative_sds.len()] == 0.0 {
                *effect = 0.0;
            }
        }
        let start = self.point.clone();
        if self.gauss_newton(groups, relative_sds, setting) {
            return Ok(());
        }
        self.point = start;
        self.levenberg_marquardt(groups, relative_sds, setting)
    }

    /// Whether Gauss-Newton arrived.
    fn gauss_newton<M: MixedModel + ?Sized>(
        &mut self,
        groups: &mut Groups<'_, M>,
        relative_sds: &[f64],
        setting: Setting<'_>,
    ) -> bool {
        let mut sum = self.refresh(groups) + penalty(&self.point.effects, relative_sds);
        if !sum.is_finite() {
            return false;
        }
        for _ in 0..MOST_STEPS {
            if setting.is_rounding(sum) {
                return true;
            }
            let Some(linear) = LinearFit::solve(&self.blocks, relative_sds, setting) else {
                return false;
            };
            let target = self.after(&linear, relative_sds, setting);
            let gain = self.promised_gain(&linear.step, &target, relative_sds, setting);
            let offset = (gain / linear.sum_of_squares).sqrt();
            let mut length = 1.0;
            loop {
                self.trial.clone_from(&self.point);
                for (value, step) in self.trial.fixed.iter_mut().zip(&linear.step) {
                    *value += length * step;
                }
                for (value, goal) in self.trial.effects.iter_mut().zip(&target) {
                    *value += length * (goal - *value);
                }
                let trial_sum = groups.evaluate(&self.trial, &mut self.trial_evaluated)
                    + penalty(&self.trial.effects, relative_sds);
                let rounding = if offset <= ROUNDING_RATIO {
                    1e-12 * sum + setting.rounding_squares
                } else {
                    0.0
                };
                if trial_sum <= sum - 1e-4 * length * gain + rounding {
                    sum = trial_sum;
                    break;
                }
                length *= 0.5;
                if length < 1e-3 {
                    return false;
                }
            }
            std::mem::swap(&mut self.point, &mut self.trial);
            std::mem::swap(&mut self.evaluated, &mut self.trial_evaluated);
            groups.pack(&self.point, &self.evaluated, &mut self.blocks);
            // Near the end each step squares the offset or multiplies it by the curvature of the
            // model, so a step from a small offset lands within it.
            if offset <= ARRIVED_RATIO {
                return true;
            }
        }
        false
    }

    /// Random effects of all groups after the linear step.
    fn after(&self, linear: &LinearFit, relative_sds: &[f64], setting: Setting<'_>) -> Vec<f64> {
        let mut effects = Vec::with_capacity(self.point.effects.len());
        for (projection, block) in linear.projections.iter().zip(&self.blocks) {
            effects.extend(projection.effects_after(
                &linear.step,
                block,
                relative_sds,
                setting.shape,
            ));
        }
        effects
    }

    /// What the linear model promises to take from the sum of squares: the squared length of the
    /// step's image, free of the rounding that a difference of two sums would have.
    fn promised_gain(
        &self,
        step: &[f64],
        target: &[f64],
        relative_sds: &[f64],
        setting: Setting<'_>,
    ) -> f64 {
        let shape = setting.shape;
        let each = shape.random.len();
        let mut gain = 0.0;
        for (group, block) in self.blocks.iter().enumerate() {
            let mut change = step.to_vec();
            for k in 0..each {
                let move_by = target[group * each + k] - block.effects[k];
                change[shape.random[k]] += move_by;
                if relative_sds[k] > 0.0 {
                    gain += (move_by / relative_sds[k]).powi(2);
                }
            }
            for row in 0..block.kept {
                let image: f64 = change
                    .iter()
                    .enumerate()
                    .map(|(j, value)| value * block.design[j * block.kept + row])
                    .sum();
                gain += image * image;
            }
        }
        gain
    }

    /// The engine over all unknowns at once: slower, and hard to lead astray.
    fn levenberg_marquardt<M: MixedModel + ?Sized>(
        &mut self,
        groups: &mut Groups<'_, M>,
        relative_sds: &[f64],
        setting: Setting<'_>,
    ) -> Result<(), Termination> {
        let mut problem = Penalised {
            active: (0..relative_sds.len())
                .filter(|&k| relative_sds[k] > 0.0)
                .collect(),
            relative_sds,
            point: self.point.clone(),
            evaluated: Evaluated::default(),
            response_norm: setting.rounding_squares.sqrt() / (8.0 * f64::EPSILON),
            groups,
        };
        let start = problem.unknowns();
        let found = minimize(&mut problem, &start, Settings::default());
        problem.place(&found.parameters);
        self.point = problem.point.clone();
        self.refresh(groups);
        if found.termination.was_successful() {
            Ok(())
        } else {
            Err(found.termination)
        }
    }
}

/// The penalised sum as a plain least-squares problem: fixed effects, then `u = b / lambda` group
/// by group; residuals, then one row for every `u`.
struct Penalised<'p, 'a, M: MixedModel + ?Sized> {
    groups: &'p mut Groups<'a, M>,
    relative_sds: &'p [f64],
    /// Random effects whose standard deviation is not 0.
    active: Vec<usize>,
    point: Point,
    evaluated: Evaluated,
    response_norm: f64,
}

impl<M: MixedModel + ?Sized> Penalised<'_, '_, M> {
    fn unknowns(&self) -> Vec<f64> {
        let mut unknowns = self.point.fixed.clone();
        for group in 0..self.groups.count() {
            let own = self.groups.own(&self.point.effects, group);
            unknowns.extend(self.active.iter().map(|&k| own[k] / self.relative_sds[k]));
        }
        unknowns
    }

    fn place(&mut self, unknowns: &[f64]) {
        let (fixed, scaled) = unknowns.split_at(self.point.fixed.len());
        self.point.fixed.copy_from_slice(fixed);
        if self.active.is_empty() {
            return;
        }
        let each = self.relative_sds.len();
        for (group, own) in scaled.chunks_exact(self.active.len()).enumerate() {
            for (&k, u) in self.active.iter().zip(own) {
                self.point.effects[group * each + k] = u * self.relative_sds[k];
            }
        }
    }
}

impl<M: MixedModel + ?Sized> LeastSquaresProblem for &mut Penalised<'_, '_, M> {
    fn residual_count(&self) -> usize {
        self.groups.rows() + self.groups.count() * self.active.len()
    }

    fn parameter_count(&self) -> usize {
        self.point.fixed.len() + self.groups.count() * self.active.len()
    }

    fn residuals(&mut self, parameters: &[f64], residuals: &mut [f64]) {
        self.place(parameters);
        self.groups.evaluate(&self.point, &mut self.evaluated);
        let (of_readings, of_effects) = residuals.split_at_mut(self.groups.rows());
        for (target, value) in of_readings.iter_mut().zip(&self.evaluated.residuals) {
            *target = -value;
        }
        of_effects.copy_from_slice(&parameters[self.point.fixed.len()..]);
    }

    fn jacobian(&mut self, _parameters: &[f64], jacobian: &mut [f64]) {
        let rows = self.residual_count();
        let columns = self.point.fixed.len();
        let active = self.active.len();
        jacobian.fill(0.0);
        for group in 0..self.groups.count() {
            let (from, to) = (self.groups.offsets[group], self.groups.offsets[group + 1]);
            let own = &self.evaluated.derivatives[from * columns..to * columns];
            for (j, column) in own.chunks_exact(to - from).enumerate() {
                jacobian[j * rows + from..j * rows + to].copy_from_slice(column);
            }
            for (a, &k) in self.active.iter().enumerate() {
                let place = group * active + a;
                let component = self.groups.shape.random[k];
                let source = &own[component * (to - from)..(component + 1) * (to - from)];
                let column = &mut jacobian[(columns + place) * rows..][..rows];
                for (target, value) in column[from..to].iter_mut().zip(source) {
                    *target = self.relative_sds[k] * value;
                }
                column[self.groups.rows() + place] = 1.0;
            }
        }
    }

    fn response_norm(&self) -> f64 {
        self.response_norm
    }
}
