//! One group of the model made linear, packed, and freed of its random effects.

use crate::fit::least_squares::PivotedQr;

/// Which components there are and which vary.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shape<'a> {
    /// Parameters of one group.
    pub parameters: usize,
    /// Components that vary.
    pub random: &'a [usize],
}

/// A group at the present point: derivatives and residuals rotated into as many rows as there are
/// parameters, so that the linear step costs the same for 15 readings as for 1500.
#[derive(Debug, Clone, Default)]
pub(super) struct Block {
    /// Rows kept.
    pub kept: usize,
    /// Derivatives, `kept` rows, column by column.
    pub design: Vec<f64>,
    /// Readings less model, the part that the derivatives reach.
    pub residuals: Vec<f64>,
    /// Sum of squares of the part that they do not reach.
    pub rest_squared: f64,
    /// Random effects at the present point.
    pub effects: Vec<f64>,
    /// Lengths of the derivatives by the varying components.
    pub lengths: Vec<f64>,
}

impl Block {
    /// Packs a group: `derivatives` column by column, `residuals` readings less model.
    pub fn pack(
        &mut self,
        derivatives: &[f64],
        residuals: &[f64],
        effects: &[f64],
        shape: Shape<'_>,
        qr: &mut PivotedQr,
        rotated: &mut Vec<f64>,
    ) {
        let (rows, columns) = (residuals.len(), shape.parameters);
        qr.factor(derivatives, rows, columns);
        rotated.clear();
        rotated.extend_from_slice(residuals);
        qr.apply_transpose(rotated);
        self.kept = rows.min(columns);
        self.residuals.clear();
        self.residuals.extend_from_slice(&rotated[..self.kept]);
        self.rest_squared = rotated[self.kept..].iter().map(|v| v * v).sum();
        self.design.clear();
        self.design.resize(self.kept * columns, 0.0);
        for (place, &component) in qr.pivots().iter().enumerate() {
            for row in 0..self.kept.min(place + 1) {
                self.design[component * self.kept + row] = qr.r(row, place);
            }
        }
        self.effects.clear();
        self.effects.extend_from_slice(effects);
        self.lengths.clear();
        self.lengths
            .extend(shape.random.iter().map(|&c| qr.column_norms()[c]));
    }
}

/// A group freed of its random effects for given relative standard deviations.
///
/// The random effects `b = lambda u` enter the group's rows as columns `lambda z`, with one more
/// row `u` each. Rotating those columns away leaves `below`, whose products are those with the
/// inverse covariance: `below_j . below_k = x_j^T V^-1 x_k`, `V = I + sum lambda_k^2 z_k z_k^T`.
#[derive(Debug, Clone, Default)]
pub(super) struct Projection {
    /// Rows of `below`.
    pub kept: usize,
    /// Derivatives, then the working readings, freed of the random effects; column by column.
    pub below: Vec<f64>,
    /// The rows rotated away, from which the random effects follow; column by column.
    above: Vec<f64>,
    /// Whether a component is written as an offset from its fixed effect, see `project`.
    offset: Vec<bool>,
    /// Triangle of the random effects' columns.
    triangle: PivotedQr,
    /// `ln det V`.
    pub log_determinant: f64,
}

impl Projection {
    /// Frees `block` of its random effects.
    ///
    /// Where `lambda |z|` is large, the column `z` lies almost within the span of `(lambda z, 1)`,
    /// and rotating would leave only rounding of it. Taking `(lambda z, 1)/lambda` from it first
    /// changes nothing in exact arithmetic and leaves `(0, -1/lambda)`, which is harmless. In
    /// words: a group that says much about its own parameter is fitted by itself, and its distance
    /// from the fixed effect is counted as the random effect.
    pub fn project(&mut self, block: &Block, relative_sds: &[f64], shape: Shape<'_>) {
        let (kept, effects) = (block.kept, shape.random.len());
        let (rows, columns) = (kept + effects, shape.parameters + 1);
        let mut random = vec![0.0; rows * effects];
        let mut full = vec![0.0; rows * columns];
        for (column, target) in block
            .design
            .chunks_exact(kept)
            .chain(std::iter::once(block.residuals.as_slice()))
            .zip(full.chunks_exact_mut(rows))
        {
            target[..kept].copy_from_slice(column);
        }
        self.offset.clear();
        for (k, (&component, &relative)) in shape.random.iter().zip(relative_sds).enumerate() {
            let source = &block.design[component * kept..(component + 1) * kept];
            let column = &mut random[k * rows..(k + 1) * rows];
            for (target, z) in column.iter_mut().zip(source) {
                *target = relative * z;
            }
            column[kept + k] = 1.0;
            let far = relative * block.lengths[k] > 1.0;
            self.offset.push(far);
            let response = shape.parameters * rows;
            if far {
                full[component * rows..component * rows + kept].fill(0.0);
                full[component * rows + kept + k] = -1.0 / relative;
                full[response + kept + k] = -block.effects[k] / relative;
            } else {
                for (target, z) in full[response..].iter_mut().zip(source) {
                    *target += z * block.effects[k];
                }
            }
        }
        self.triangle.factor(&random, rows, effects);
        self.log_determinant = (0..effects)
            .map(|k| 2.0 * self.triangle.r(k, k).abs().ln())
            .sum();
        self.kept = kept;
        self.below.clear();
        self.above.clear();
        for column in full.chunks_exact_mut(rows) {
            self.triangle.apply_transpose(column);
            self.above.extend_from_slice(&column[..effects]);
            self.below.extend_from_slice(&column[effects..]);
        }
    }

    /// Random effects that go with a step of the fixed effects.
    pub fn effects_after(
        &self,
        step: &[f64],
        block: &Block,
        relative_sds: &[f64],
        shape: Shape<'_>,
    ) -> Vec<f64> {
        let effects = shape.random.len();
        let mut right = self.above[shape.parameters * effects..].to_vec();
        for (column, value) in self.above.chunks(effects.max(1)).zip(step) {
            for (target, entry) in right.iter_mut().zip(column) {
                *target -= entry * value;
            }
        }
        let mut found = back_substituted(&self.triangle, &right);
        for (k, &component) in shape.random.iter().enumerate() {
            found[k] *= relative_sds[k];
            if self.offset[k] {
                found[k] += block.effects[k] - step[component];
            }
        }
        found
    }

    /// Derivatives of the group's parameters by the fixed effects, row by row over `parameters`.
    pub fn sensitivity(&self, relative_sds: &[f64], shape: Shape<'_>) -> Vec<f64> {
        let (effects, parameters) = (shape.random.len(), shape.parameters);
        let mut matrix = vec![0.0; parameters * parameters];
        for j in 0..parameters {
            matrix[j * parameters + j] = 1.0;
        }
        for (j, column) in self
            .above
            .chunks(effects.max(1))
            .take(parameters)
            .enumerate()
        {
            let shift = back_substituted(&self.triangle, column);
            for (k, &component) in shape.random.iter().enumerate() {
                let entry = &mut matrix[component * parameters + j];
                if self.offset[k] && component == j {
                    *entry = 0.0;
                }
                *entry -= relative_sds[k] * shift[k];
            }
        }
        matrix
    }

    /// `(I + Lambda Z^T Z Lambda)^-1`, the covariance of `u` given the fixed effects in units of
    /// the residual variance; row by row over the random effects.
    pub fn conditional(&self, effects: usize) -> Vec<f64> {
        let mut matrix = vec![0.0; effects * effects];
        let mut unit = vec![0.0; effects];
        for place in 0..effects {
            unit.fill(0.0);
            unit[place] = 1.0;
            let column = back_substituted(&self.triangle, &unit);
            for a in 0..effects {
                for b in 0..effects {
                    matrix[a * effects + b] += column[a] * column[b];
                }
            }
        }
        matrix
    }
}

/// Solves `R x = right`, `x` in the order of the matrix that was factored.
pub(super) fn back_substituted(qr: &PivotedQr, right: &[f64]) -> Vec<f64> {
    let columns = qr.columns();
    let mut found = vec![0.0; columns];
    for place in (0..columns).rev() {
        let mut value = right[place];
        for later in place + 1..columns {
            value -= qr.r(place, later) * found[qr.pivots()[later]];
        }
        found[qr.pivots()[place]] = value / qr.r(place, place);
    }
    found
}
