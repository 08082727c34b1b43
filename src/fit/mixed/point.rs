//! The model at one point: residuals, derivatives, and the penalised sum of squares.

use super::block::{Block, Shape};
use super::model::MixedModel;
use crate::fit::least_squares::PivotedQr;

/// Fixed effects and the random effects of every group, one after the other.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Point {
    pub fixed: Vec<f64>,
    pub effects: Vec<f64>,
}

/// What the model gave at a point, group after group.
#[derive(Debug, Clone, Default)]
pub(super) struct Evaluated {
    /// Readings less model.
    pub residuals: Vec<f64>,
    /// Derivatives of each group column by column.
    pub derivatives: Vec<f64>,
}

/// The model with its groups' places in the common vectors.
pub(super) struct Groups<'a, M: MixedModel + ?Sized> {
    pub model: &'a mut M,
    pub shape: Shape<'a>,
    /// First reading of every group, and the count of all.
    pub offsets: Vec<usize>,
    parameters: Vec<f64>,
    qr: PivotedQr,
    rotated: Vec<f64>,
}

impl<'a, M: MixedModel + ?Sized> Groups<'a, M> {
    /// Lays out the groups.
    pub fn new(model: &'a mut M, shape: Shape<'a>) -> Self {
        let mut offsets = vec![0];
        let mut total = 0;
        for group in 0..model.group_count() {
            total += model.rows(group);
            offsets.push(total);
        }
        Self {
            model,
            shape,
            offsets,
            parameters: vec![0.0; shape.parameters],
            qr: PivotedQr::default(),
            rotated: Vec::new(),
        }
    }

    /// Number of groups.
    pub fn count(&self) -> usize {
        self.offsets.len() - 1
    }

    /// Number of readings.
    pub fn rows(&self) -> usize {
        self.offsets.last().copied().unwrap_or(0)
    }

    /// Random effects of one group in a vector of all.
    pub fn own<'e>(&self, effects: &'e [f64], group: usize) -> &'e [f64] {
        let each = self.shape.random.len();
        &effects[group * each..(group + 1) * each]
    }

    /// Asks the model at a point; gives the sum of squared residuals.
    pub fn evaluate(&mut self, point: &Point, into: &mut Evaluated) -> f64 {
        let (rows, columns) = (self.rows(), self.shape.parameters);
        into.residuals.resize(rows, 0.0);
        into.derivatives.resize(rows * columns, 0.0);
        let mut sum = 0.0;
        for group in 0..self.count() {
            self.parameters.copy_from_slice(&point.fixed);
            for (&component, effect) in self
                .shape
                .random
                .iter()
                .zip(self.own(&point.effects, group))
            {
                self.parameters[component] += effect;
            }
            let (from, to) = (self.offsets[group], self.offsets[group + 1]);
            let residuals = &mut into.residuals[from..to];
            let derivatives = &mut into.derivatives[from * columns..to * columns];
            self.model
                .predict(group, &self.parameters, residuals, derivatives);
            for (residual, reading) in residuals.iter_mut().zip(self.model.response(group)) {
                *residual = reading - *residual;
                sum += *residual * *residual;
            }
            if derivatives.iter().any(|d| !d.is_finite()) {
                sum = f64::NAN;
            }
        }
        sum
    }

    /// Packs every group for the linear step.
    pub fn pack(&mut self, point: &Point, from: &Evaluated, blocks: &mut Vec<Block>) {
        let columns = self.shape.parameters;
        blocks.resize(self.count(), Block::default());
        for (group, block) in blocks.iter_mut().enumerate() {
            let (first, last) = (self.offsets[group], self.offsets[group + 1]);
            let each = self.shape.random.len();
            block.pack(
                &from.derivatives[first * columns..last * columns],
                &from.residuals[first..last],
                &point.effects[group * each..(group + 1) * each],
                self.shape,
                &mut self.qr,
                &mut self.rotated,
            );
        }
    }
}

/// `sum (b / lambda)^2`; random effects at a standard deviation of 0 are 0 themselves.
pub(super) fn penalty(effects: &[f64], relative_sds: &[f64]) -> f64 {
    if relative_sds.is_empty() {
        return 0.0;
    }
    effects
        .chunks_exact(relative_sds.len())
        .flat_map(|group| group.iter().zip(relative_sds))
        .filter(|(_, relative)| **relative > 0.0)
        .map(|(effect, relative)| (effect / relative).powi(2))
        .sum()
}
