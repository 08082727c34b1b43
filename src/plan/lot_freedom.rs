//! How freely the doubt of few lots is drawn beside other doubts.

use super::draws::{Deviations, Draw, DrawSource};

/// So many degrees of freedom are as good as none missing.
const MOST_FREEDOM: f64 = 1e6;

impl DrawSource {
    /// Draws each spread between lots with the freedom that suits its share of what is not known of
    /// the answers: alone it is Student's t of the lots less one; a small part beside others, it is
    /// nearly normal.
    ///
    /// `answers` gives the questions' answers for a draw, on a scale on which inputs add up, such as
    /// ln heat time; an answer that is not finite leaves the lots' own freedom.
    ///
    /// # Equation
    /// `nu_i = (L - 1)/rho_i`, `rho_i = u_i^2 / sum_j u_j^2`
    ///
    /// | symbol | meaning | unit |
    /// |---|---|---|
    /// | nu_i | degrees of freedom that spread i is drawn with | 1 |
    /// | L | lots | 1 |
    /// | u_i | half the difference of the answer between plus and minus one standard deviation of input i | of the answer |
    ///
    /// # Valid for
    /// Spreads that are estimated apart from each other. Drawing every spread with `L - 1` whatever
    /// else is not known (the fiducial answer to the Behrens-Fisher problem) covers a new lot too
    /// often with three lots: 97 to 99 % where 95 is meant. For normal inputs, shares from 0.1 to
    /// 0.9, one to three spreads, the rule here covers 93.7 to 96.5 % with three and five lots (our
    /// simulation, 1500 benches each). Of several answers the largest share counts.
    ///
    /// # Source
    /// The rule is ours. It has Welch and Satterthwaite's effective freedom (JCGM 100:2008, G.4.1)
    /// in common that a component's freedom grows as its share falls; theirs is `(L - 1)/rho^2` for
    /// the sum.
    pub(super) fn with_lots_weighed<const N: usize>(
        mut self,
        answers: impl Fn(&Draw) -> [f64; N],
    ) -> Self {
        if self.lot_freedoms.is_empty() {
            return self;
        }
        let shares = self.lot_shares(answers);
        for (freedom, share) in self.lot_freedoms.iter_mut().zip(shares) {
            *freedom = (*freedom / share).min(MOST_FREEDOM);
        }
        self
    }

    /// Share of each spread between lots, the largest over the answers; 1 where it cannot be told.
    fn lot_shares<const N: usize>(&self, answers: impl Fn(&Draw) -> [f64; N]) -> Vec<f64> {
        let parameters = self.lot_sds.len();
        let half_difference = |set: &dyn Fn(&mut Deviations, f64)| -> [f64; N] {
            let ends = [1.0, -1.0].map(|side| {
                let mut at = Deviations::none(parameters);
                set(&mut at, side);
                answers(&self.draw_at(&at))
            });
            std::array::from_fn(|k| 0.5 * (ends[0][k] - ends[1][k]))
        };
        let of_lots: Vec<[f64; N]> = self
            .lot_sds
            .iter()
            .enumerate()
            .map(|(place, sd)| {
                // The new lot and the typical one, which share their doubt.
                let sd = sd * (1.0 + self.typical_lot_ratio.powi(2)).sqrt();
                half_difference(&|at, side| at.shifts[place] = side * sd)
            })
            .collect();
        // A rectangular input's standard deviation is its half-width over the root of three.
        let even = 1.0 / 3.0_f64.sqrt();
        let mut others: Vec<[f64; N]> = (0..parameters)
            .map(|column| {
                half_difference(&|at, side| {
                    for (shift, row) in at.shifts.iter_mut().zip(&self.lower_triangle) {
                        *shift = side * row[column];
                    }
                })
            })
            .collect();
        others.push(half_difference(&|at, side| at.reading = side));
        others.push(half_difference(&|at, side| at.bore = side * even));
        others.push(half_difference(&|at, side| at.friction = side * even));
        others.push(half_difference(&|at, side| at.flow = side * even));
        others.push(half_difference(&|at, side| at.block = side * even));
        if !self.contact_histories.is_empty() {
            let last = self.contact_histories.len() - 1;
            others.push(
                half_difference(&|at, side| {
                    // The ends of the range stand for its standard deviation, as for the rest.
                    at.contact = Some(if side > 0.0 { last } else { 0 });
                })
                .map(|difference| difference * even),
            );
        }
        let square = |values: &[[f64; N]], k: usize| -> f64 {
            values.iter().map(|value| value[k] * value[k]).sum()
        };
        of_lots
            .iter()
            .map(|own| {
                let shares = (0..N).map(|k| {
                    let whole = square(&of_lots, k) + square(&others, k);
                    own[k] * own[k] / whole
                });
                // What is not finite, or 0 over 0, tells nothing.
                shares.fold(0.0_f64, |most, share| {
                    if share.is_finite() {
                        most.max(share)
                    } else {
                        1.0
                    }
                })
            })
            .map(|share| share.clamp(1e-6, 1.0))
            .collect()
    }
}
