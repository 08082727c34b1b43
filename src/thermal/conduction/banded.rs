//! Symmetric banded systems: one factorisation, many solves.

/// Factors `L D L'` of a symmetric matrix whose entries lie on the diagonal, beside it, and `band` away.
///
/// # Equation
/// Column by column: `l_k = a_k/d`, and from every later column `m <= band` of the same reach
/// `a_(m,k) -= l_m a_k`; then `L y = x`, `D z = y`, `L' x = z`.
///
/// # Valid for
/// Dominant diagonals, which capacity plus conductances always give: no pivoting is needed.
///
/// # Source
/// G. Golub, C. Van Loan, Matrix Computations, section 4.3.5, band Cholesky, without the roots
/// (from memory).
#[derive(Debug, Clone)]
pub(super) struct BandedFactor {
    band: usize,
    /// `d_i` while factoring, then `1/d_i`.
    inverse_pivots: Vec<f64>,
    /// Column j's entries from row j + 1 to row j + band, one column after the other.
    columns: Vec<f64>,
}

impl BandedFactor {
    /// Factors for `size` rows, not yet filled.
    pub(super) fn blank(size: usize, band: usize) -> Self {
        Self {
            band,
            inverse_pivots: vec![1.0; size],
            columns: vec![0.0; size * band],
        }
    }

    /// Factors the matrix with this diagonal, these entries between rows i and i + 1, and these
    /// between rows i and i + band.
    pub(super) fn refill(
        &mut self,
        diagonal: impl Iterator<Item = f64>,
        beside: impl Iterator<Item = f64>,
        afar: impl Iterator<Item = f64>,
    ) {
        let band = self.band;
        self.columns.fill(0.0);
        for (pivot, value) in self.inverse_pivots.iter_mut().zip(diagonal) {
            *pivot = value;
        }
        for (column, value) in self.columns.chunks_exact_mut(band).zip(beside) {
            column[0] = value;
        }
        for (column, value) in self.columns.chunks_exact_mut(band).zip(afar) {
            column[band - 1] = value;
        }
        let size = self.inverse_pivots.len();
        for j in 0..size {
            let reach = band.min(size - 1 - j);
            let inverse = 1.0 / self.inverse_pivots[j];
            self.inverse_pivots[j] = inverse;
            let (done, later) = self.columns.split_at_mut((j + 1) * band);
            let column = &mut done[j * band..][..reach];
            for k in 0..reach {
                let entry = column[k];
                let multiplier = entry * inverse;
                self.inverse_pivots[j + 1 + k] -= multiplier * entry;
                let target = &mut later[k * band..][..reach - 1 - k];
                for (value, below) in target.iter_mut().zip(&column[k + 1..]) {
                    *value -= multiplier * below;
                }
            }
            for value in column {
                *value *= inverse;
            }
        }
    }

    /// Solves in place.
    pub(super) fn solve(&self, x: &mut [f64]) {
        let columns = self.columns.chunks_exact(self.band);
        for (j, column) in columns.clone().enumerate() {
            let Some((value, later)) = x[j..].split_first_mut() else {
                return;
            };
            for (target, multiplier) in later.iter_mut().zip(column) {
                *target -= multiplier * *value;
            }
        }
        for (value, inverse) in x.iter_mut().zip(&self.inverse_pivots) {
            *value *= inverse;
        }
        for (j, column) in columns.enumerate().rev() {
            let Some((value, later)) = x[j..].split_first_mut() else {
                return;
            };
            *value -= dot(column, later);
        }
    }
}

/// Sum of products in four strands, which the processor can add side by side.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let length = a.len().min(b.len());
    let (a, b) = (&a[..length], &b[..length]);
    let (quads_a, quads_b) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = quads_a
        .remainder()
        .iter()
        .zip(quads_b.remainder())
        .map(|(p, q)| p * q)
        .sum();
    let mut strands = [0.0; 4];
    for (p, q) in quads_a.zip(quads_b) {
        for i in 0..4 {
            strands[i] += p[i] * q[i];
        }
    }
    (strands[0] + strands[2]) + (strands[1] + strands[3]) + rest
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// The five-point Laplacian on a 4 x 6 board, checked by multiplying back.
    #[test]
    fn a_solved_board_multiplied_back_gives_the_right_side() {
        let (band, rows) = (4, 6);
        let size = band * rows;
        let beside = |i: usize| {
            if (i + 1).is_multiple_of(band) {
                0.0
            } else {
                -1.0
            }
        };
        let mut factor = BandedFactor::blank(size, band);
        factor.refill(
            (0..size).map(|i| 4.5 + 0.1 * i as f64),
            (0..size - 1).map(beside),
            (0..size - band).map(|_| -1.0),
        );
        let right: Vec<f64> = (0..size).map(|i| ((i * 7) % 11) as f64 - 3.0).collect();
        let mut x = right.clone();
        factor.solve(&mut x);
        for i in 0..size {
            let mut back = (4.5 + 0.1 * i as f64) * x[i];
            if i + 1 < size {
                back += beside(i) * x[i + 1];
            }
            if i > 0 {
                back += beside(i - 1) * x[i - 1];
            }
            if i + band < size {
                back -= x[i + band];
            }
            if i >= band {
                back -= x[i - band];
            }
            assert_relative_eq!(back, right[i], epsilon = 1e-12);
        }
    }
}
