//! The end of a search: sharpened where asked, then told what kind of end it is.

use super::{LevenbergMarquardt, RANK_TOLERANCE_RATIO};
use crate::fit::least_squares::problem::LeastSquaresProblem;
use crate::fit::least_squares::termination::Termination;
use crate::fit::least_squares::vector::norm;

/// Offset that is the rounding of the residuals themselves: nothing is left to sharpen.
const SHARPEST_RATIO: f64 = 1e-13;

impl LevenbergMarquardt {
    /// Sharpens the end where asked, then says what kind of end it is.
    pub(super) fn finish<P: LeastSquaresProblem + ?Sized>(
        &mut self,
        problem: &mut P,
    ) -> Termination {
        if !self.linearise(problem) {
            return Termination::NotFinite;
        }
        if self.settings.polish {
            self.polish(problem);
        }
        self.classify(problem)
    }

    /// Gauss-Newton steps while the offset falls.
    fn polish<P: LeastSquaresProblem + ?Sized>(&mut self, problem: &mut P) {
        for _ in 0..20 {
            let is_sharp = self.offset_ratio <= SHARPEST_RATIO;
            if is_sharp || self.offset_ratio > 1e-2 || self.qr.smallest_diagonal_ratio() == 0.0 {
                return;
            }
            self.damped.step_within(
                &self.qr,
                &self.scale,
                &self.rotated,
                f64::MAX,
                0.0,
                &mut self.step,
            );
            let before = (
                self.parameters.clone(),
                self.residuals.clone(),
                self.residual_norm,
                self.offset_ratio,
            );
            for (p, s) in self.parameters.iter_mut().zip(&self.step) {
                *p -= s;
            }
            problem.residuals(&self.parameters, &mut self.residuals);
            self.residual_norm = norm(&self.residuals);
            self.jacobian_is_current = false;
            let rises = self.residual_norm.is_nan()
                || self.residual_norm > before.2 * (1.0 + 1e-9) + f64::MIN_POSITIVE;
            let better = !rises && self.linearise(problem) && self.offset_ratio < 0.9 * before.3;
            if !better {
                (
                    self.parameters,
                    self.residuals,
                    self.residual_norm,
                    self.offset_ratio,
                ) = before;
                self.jacobian_is_current = false;
                problem.residuals(&self.parameters, &mut self.residuals);
                self.linearise(problem);
                return;
            }
        }
    }

    /// Largest offset that counts as a minimum: what is asked for, or what the rounding of the
    /// readings leaves of it where the fit is all but exact.
    fn offset_limit<P: LeastSquaresProblem + ?Sized>(&self, problem: &P) -> f64 {
        let rounding = 64.0 * f64::EPSILON * problem.response_norm();
        self.settings
            .offset_limit_ratio
            .max(rounding / self.residual_floor(problem))
    }

    pub(super) fn classify<P: LeastSquaresProblem + ?Sized>(&mut self, problem: &P) -> Termination {
        let size = self.residual_norm.max(problem.response_norm());
        let mut volume_ratio = 1.0;
        for (place, &column) in self.qr.pivots().iter().enumerate() {
            let length = self.qr.column_norms()[column];
            let (p, first) = (self.parameters[column], self.first[column]);
            // What the parameter does when it changes by its own size, by the way it has come, or
            // by one where it ended at zero: nothing to speak of means a plateau.
            let change = p.abs().max((p - first).abs()).max(1.0);
            if length == 0.0 || length * change <= 1e-13 * size {
                return Termination::Flat;
            }
            volume_ratio *= self.qr.r(place, place).abs() / length;
        }
        if volume_ratio.is_nan() || !self.has_full_rank(volume_ratio) {
            Termination::Flat
        } else if self.offset_ratio <= self.offset_limit(problem) {
            Termination::Converged
        } else {
            Termination::Stalled
        }
    }

    /// Whether the derivatives over their columns' norms are of full rank; R over the same stands
    /// for them: Q does not stretch. The volume that its columns span is the product of the
    /// diagonal of its own factors, none of them above 1, so where that is large enough the least
    /// of them is too.
    #[inline]
    fn has_full_rank(&mut self, volume_ratio: f64) -> bool {
        if volume_ratio >= 2.0 * RANK_TOLERANCE_RATIO {
            return true;
        }
        let columns = self.parameters.len();
        self.rank_matrix.clear();
        self.rank_matrix.resize(columns * columns, 0.0);
        for (place, &column) in self.qr.pivots().iter().enumerate() {
            let length = self.qr.column_norms()[column];
            for row in 0..=place {
                self.rank_matrix[place * columns + row] = self.qr.r(row, place) / length;
            }
        }
        let qr = &mut self.rank_qr;
        qr.factor(&self.rank_matrix, columns, columns);
        qr.smallest_diagonal_ratio() >= RANK_TOLERANCE_RATIO
    }
}
