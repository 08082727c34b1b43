//! Symmetric tridiagonal systems: one factorisation, many solves.

/// Factors `L D L'` of a symmetric tridiagonal matrix with a dominant diagonal.
///
/// # Equation
/// `d_1 = a_1`, `l_i = b_i/d_i`, `d_(i+1) = a_(i+1) - l_i b_i`; then `L y = x`, `D z = y`, `L' x = z`.
///
/// # Valid for
/// Dominant diagonals, which capacity plus conductances always give: no pivoting is needed.
///
/// # Source
/// G. Golub, C. Van Loan, Matrix Computations, section 4.3.6 (from memory).
#[derive(Debug, Clone, Default)]
pub(super) struct TridiagonalFactor {
    /// `1/d_i`.
    inverse_pivots: Vec<f64>,
    /// `l_i`, from row i to row i + 1.
    multipliers: Vec<f64>,
}

impl TridiagonalFactor {
    /// Factors for `size` rows, not yet filled.
    pub(super) fn blank(size: usize) -> Self {
        Self {
            inverse_pivots: vec![1.0; size],
            multipliers: vec![0.0; size.saturating_sub(1)],
        }
    }

    /// Factors the matrix with this diagonal and this entry between rows i and i + 1.
    pub(super) fn refill(
        &mut self,
        mut diagonal: impl Iterator<Item = f64>,
        beside: impl Iterator<Item = f64>,
    ) {
        let mut inverse = 1.0 / diagonal.next().unwrap_or(1.0);
        let mut pivots = self.inverse_pivots.iter_mut();
        if let Some(first) = pivots.next() {
            *first = inverse;
        }
        for (((pivot, multiplier), on), off) in
            pivots.zip(&mut self.multipliers).zip(diagonal).zip(beside)
        {
            *multiplier = off * inverse;
            inverse = 1.0 / (on - *multiplier * off);
            *pivot = inverse;
        }
    }

    /// Solves in place.
    pub(super) fn solve(&self, x: &mut [f64]) {
        let Some((first, rest)) = x.split_first_mut() else {
            return;
        };
        let mut carried = *first;
        for (value, multiplier) in rest.iter_mut().zip(&self.multipliers) {
            carried = *value - multiplier * carried;
            *value = carried;
        }
        for (value, inverse) in x.iter_mut().zip(&self.inverse_pivots) {
            *value *= inverse;
        }
        let Some((last, rest)) = x.split_last_mut() else {
            return;
        };
        let mut carried = *last;
        for (value, multiplier) in rest.iter_mut().zip(&self.multipliers).rev() {
            carried = *value - multiplier * carried;
            *value = carried;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// The discrete Laplacian: x_i = i (n + 1 - i)/2 solves -x'' = 1.
    #[test]
    fn the_laplacian_of_a_parabola_is_solved_exactly() {
        let size = 9;
        let mut factor = TridiagonalFactor::blank(size);
        factor.refill((0..size).map(|_| 2.0), (1..size).map(|_| -1.0));
        let mut x = vec![1.0; size];
        factor.solve(&mut x);
        for (i, value) in x.iter().enumerate() {
            let place = (i + 1) as f64;
            assert_relative_eq!(*value, place * (10.0 - place) / 2.0, max_relative = 1e-13);
        }
    }
}
