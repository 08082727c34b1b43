//! The restricted likelihood and its derivatives, in matrices of the size of the codes.

use super::ComponentFactor;

/// Readings with the means of cells taken out, as products with the codes' indicators; scaled to unit
/// variance.
pub(super) struct Reduced {
    /// `Z^T M Z`, row by row, `M` taking out the cells.
    products: Vec<f64>,
    /// `Z^T M y`.
    response: Vec<f64>,
    /// `y^T M y`.
    squares: f64,
    /// Which factor a column belongs to.
    factor_of: Vec<usize>,
    factors: usize,
    readings: usize,
    cells: usize,
    /// `ln det X^T X`.
    log_cells: f64,
    scale: f64,
}

/// Value, gradient and expected information at a point.
pub(super) struct Slope {
    pub log_likelihood: f64,
    pub gradient: Vec<f64>,
    /// Row by row.
    pub information: Vec<f64>,
}

impl Reduced {
    pub fn new(values: &[f64], cells: &[usize], factors: &[ComponentFactor]) -> Self {
        let cell_count = cells.iter().max().map_or(0, |m| m + 1);
        let mut in_cell = vec![0.0; cell_count];
        for &cell in cells {
            in_cell[cell] += 1.0;
        }
        let mut factor_of = Vec::new();
        let mut first = Vec::with_capacity(factors.len());
        for (number, factor) in factors.iter().enumerate() {
            first.push(factor_of.len());
            let levels = factor.codes.iter().max().map_or(0, |m| m + 1);
            factor_of.extend(std::iter::repeat_n(number, levels));
        }
        let q = factor_of.len();
        let mut sums = vec![0.0; cell_count];
        for (value, &cell) in values.iter().zip(cells) {
            sums[cell] += value;
        }
        let centred: Vec<f64> = values
            .iter()
            .zip(cells)
            .map(|(value, &cell)| value - sums[cell] / in_cell[cell])
            .collect();
        let filled = in_cell.iter().filter(|n| **n > 0.0).count();
        let freedom = values.len() - filled;
        let squares: f64 = centred.iter().map(|v| v * v).sum();
        let scale = if freedom > 0 {
            squares / freedom as f64
        } else {
            0.0
        };
        let root = if scale > 0.0 { scale.sqrt() } else { 1.0 };
        let mut products = vec![0.0; q * q];
        let mut response = vec![0.0; q];
        let mut counts = vec![0.0; cell_count * q];
        for (row, &cell) in cells.iter().enumerate() {
            let columns: Vec<usize> = factors
                .iter()
                .zip(&first)
                .map(|(factor, start)| start + factor.codes[row])
                .collect();
            for &a in &columns {
                response[a] += centred[row] / root;
                counts[cell * q + a] += 1.0;
                for &b in &columns {
                    products[a * q + b] += 1.0;
                }
            }
        }
        for (cell, n) in in_cell.iter().enumerate().filter(|(_, n)| **n > 0.0) {
            let of_cell = &counts[cell * q..(cell + 1) * q];
            for (a, in_a) in of_cell.iter().enumerate() {
                for (b, in_b) in of_cell.iter().enumerate() {
                    products[a * q + b] -= in_a * in_b / n;
                }
            }
        }
        Self {
            products,
            response,
            squares: if scale > 0.0 { squares / scale } else { 0.0 },
            factor_of,
            factors: factors.len(),
            readings: values.len(),
            cells: filled,
            log_cells: in_cell.iter().filter(|n| **n > 0.0).map(|n| n.ln()).sum(),
            scale,
        }
    }

    pub fn levels(&self) -> usize {
        self.factor_of.len()
    }

    /// Codes of a factor; readings for the rest.
    pub fn levels_of(&self, number: usize) -> usize {
        if number < self.factors {
            self.factor_of.iter().filter(|f| **f == number).count()
        } else {
            self.readings
        }
    }

    pub fn cells(&self) -> usize {
        self.cells
    }

    pub fn factors(&self) -> usize {
        self.factors
    }

    pub fn degrees_of_freedom(&self) -> usize {
        self.readings - self.cells
    }

    /// Variance within cells, which variances are told in.
    pub fn scale(&self) -> f64 {
        self.scale
    }

    /// The log-likelihood of the readings in their own unit.
    pub fn unscaled(&self, log_likelihood: f64) -> f64 {
        log_likelihood - 0.5 * self.degrees_of_freedom() as f64 * self.scale.ln()
    }

    /// Likelihood, gradient and information at relative variances, the rest last; `None` where the rest
    /// is not above zero.
    ///
    /// With S the roots of the variances by column and B = (s_e I + S W S)^-1, W = Z^T M Z, u = Z^T M y:
    /// Z^T P Z = (W - W S B S W)/s_e, Z^T P y = (u - W S B S u)/s_e, and ln det V + ln det X^T V^-1 X
    /// = (N - c - q) ln s_e + ln det(s_e I + S W S) + ln det X^T X.
    pub fn slope(&self, variances: &[f64]) -> Option<Slope> {
        let q = self.levels();
        let rest = *variances.last()?;
        if !(rest > 0.0 && rest.is_finite()) {
            return None;
        }
        let roots: Vec<f64> = self
            .factor_of
            .iter()
            .map(|f| variances[*f].max(0.0).sqrt())
            .collect();
        let mut lower = vec![0.0; q * q];
        for a in 0..q {
            for b in 0..=a {
                lower[a * q + b] = roots[a] * self.products[a * q + b] * roots[b]
                    + if a == b { rest } else { 0.0 };
            }
        }
        cholesky(&mut lower, q)?;
        let log_determinant: f64 = (0..q).map(|a| 2.0 * lower[a * q + a].ln()).sum();
        // L^-1 S [W u], column by column: their inner products are what P takes away.
        let mut solved = vec![0.0; (q + 1) * q];
        for column in 0..=q {
            let target = &mut solved[column * q..(column + 1) * q];
            for (a, slot) in target.iter_mut().enumerate() {
                *slot = roots[a]
                    * if column < q {
                        self.products[a * q + column]
                    } else {
                        self.response[a]
                    };
            }
            forward(&lower, target, q);
        }
        let dot = |a: usize, b: usize| -> f64 {
            solved[a * q..(a + 1) * q]
                .iter()
                .zip(&solved[b * q..(b + 1) * q])
                .map(|(x, y)| x * y)
                .sum()
        };
        let freedom = self.degrees_of_freedom() as f64;
        let weighted = (self.squares - dot(q, q)) / rest;
        let log_likelihood = -0.5
            * (freedom * (2.0 * std::f64::consts::PI).ln()
                + (freedom - q as f64) * rest.ln()
                + log_determinant
                + self.log_cells
                + weighted);
        if !log_likelihood.is_finite() {
            return None;
        }
        let k = self.factors;
        let size = k + 1;
        let mut trace = vec![0.0; size];
        let mut quadratic = vec![0.0; size];
        let mut information = vec![0.0; size * size];
        // Traces of (Z_k^T P Z_k), needed for the column of the rest.
        for a in 0..q {
            let of_a = self.factor_of[a];
            trace[of_a] += (self.products[a * q + a] - dot(a, a)) / rest;
            let projected = (self.response[a] - dot(a, q)) / rest;
            quadratic[of_a] += projected * projected;
            for b in 0..q {
                let value = (self.products[a * q + b] - dot(a, b)) / rest;
                information[of_a * size + self.factor_of[b]] += value * value;
            }
        }
        for one in 0..k {
            let shared: f64 = (0..k)
                .map(|other| variances[other] * information[one * size + other])
                .sum();
            let with_rest = (trace[one] - shared) / rest;
            information[one * size + k] = with_rest;
            information[k * size + one] = with_rest;
        }
        let explained: f64 = (0..k).map(|one| variances[one] * trace[one]).sum();
        trace[k] = (freedom - explained) / rest;
        let explained: f64 = (0..k)
            .map(|one| variances[one] * information[one * size + k])
            .sum();
        information[k * size + k] = (trace[k] - explained) / rest;
        let explained: f64 = (0..k).map(|one| variances[one] * quadratic[one]).sum();
        quadratic[k] = (weighted - explained) / rest;
        let gradient = trace
            .iter()
            .zip(&quadratic)
            .map(|(t, s)| -0.5 * (t - s))
            .collect();
        for value in &mut information {
            *value *= 0.5;
        }
        Some(Slope {
            log_likelihood,
            gradient,
            information,
        })
    }
}

/// Cholesky's factor in place, in the lower triangle.
fn cholesky(matrix: &mut [f64], n: usize) -> Option<()> {
    for column in 0..n {
        for row in column..n {
            let mut value = matrix[row * n + column];
            for k in 0..column {
                value -= matrix[row * n + k] * matrix[column * n + k];
            }
            if row == column {
                if value <= 0.0 || !value.is_finite() {
                    return None;
                }
                matrix[row * n + column] = value.sqrt();
            } else {
                matrix[row * n + column] = value / matrix[column * n + column];
            }
        }
    }
    Some(())
}

fn forward(lower: &[f64], target: &mut [f64], n: usize) {
    for row in 0..n {
        let mut value = target[row];
        for k in 0..row {
            value -= lower[row * n + k] * target[k];
        }
        target[row] = value / lower[row * n + row];
    }
}

/// Solves a small symmetric system by Cholesky's factor, with a little added to the diagonal where it is
/// not positive.
pub(super) fn solved(matrix: &[f64], right: &[f64]) -> Option<Vec<f64>> {
    let n = right.len();
    let largest = (0..n).map(|i| matrix[i * n + i].abs()).fold(0.0, f64::max);
    for ridge in [0.0, 1e-10, 1e-7, 1e-4] {
        let mut lower = matrix.to_vec();
        for i in 0..n {
            lower[i * n + i] += ridge * largest;
        }
        if cholesky(&mut lower, n).is_none() {
            continue;
        }
        let mut answer = right.to_vec();
        forward(&lower, &mut answer, n);
        for row in (0..n).rev() {
            let mut value = answer[row];
            for k in row + 1..n {
                value -= lower[k * n + row] * answer[k];
            }
            answer[row] = value / lower[row * n + row];
        }
        return Some(answer);
    }
    None
}
