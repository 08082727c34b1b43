//! Where the search begins: coarse grids over what is not linear, the rest solved for.

use super::model::{CurveModel, ShearErrors};
use crate::flow::ShearPoint;

/// Flow indices that are tried.
const INDICES: [f64; 10] = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.85, 1.0, 1.3];
/// Transition indices that are tried.
const TRANSITIONS: [f64; 3] = [0.5, 1.0, 2.0];
/// Time constants a decade of shear rates.
const TIMES_A_DECADE: f64 = 2.0;

/// Starts of the search for a law, the most promising first.
pub(super) fn starts(
    model: CurveModel,
    points: &[ShearPoint],
    errors: ShearErrors,
    floor_pa_s: f64,
) -> Vec<Vec<f64>> {
    let table = Table { points, errors };
    let mut found: Vec<(f64, Vec<f64>)> = match model {
        CurveModel::Newtonian => table
            .one_term(|rate| rate)
            .map(|(viscosity, misfit)| (misfit, vec![viscosity.ln()]))
            .into_iter()
            .collect(),
        CurveModel::PowerLaw => INDICES
            .iter()
            .filter_map(|index| {
                let (consistency, misfit) = table.one_term(|rate| rate.powf(*index))?;
                Some((misfit, vec![consistency.ln(), *index]))
            })
            .collect(),
        CurveModel::Bingham => table
            .yield_and_term(|rate| rate)
            .map(|(yield_stress, viscosity, misfit)| (misfit, vec![yield_stress, viscosity.ln()]))
            .into_iter()
            .collect(),
        CurveModel::HerschelBulkley => INDICES
            .iter()
            .filter_map(|index| {
                let (yield_stress, consistency, misfit) =
                    table.yield_and_term(|rate| rate.powf(*index))?;
                Some((misfit, vec![yield_stress, consistency.ln(), *index]))
            })
            .collect(),
        CurveModel::CarreauYasuda => table.bent(floor_pa_s),
    };
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.truncate(3);
    found.into_iter().map(|(_, start)| start).collect()
}

struct Table<'a> {
    points: &'a [ShearPoint],
    errors: ShearErrors,
}

impl Table<'_> {
    /// Square of a reading's weight.
    fn weight(&self, stress_pa: f64) -> f64 {
        match self.errors {
            ShearErrors::Relative | ShearErrors::Log => 1.0 / (stress_pa * stress_pa),
            ShearErrors::Absolute => 1.0,
        }
    }

    /// Factor of one term by weighted least squares, and what is left.
    fn one_term(&self, term: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
        let (mut tt, mut ty, mut yy) = (0.0, 0.0, 0.0);
        for point in self.points {
            let (t, y) = (term(point.shear_rate_per_s), point.shear_stress_pa);
            let w = self.weight(y);
            tt += w * t * t;
            ty += w * t * y;
            yy += w * y * y;
        }
        let factor = ty / tt;
        let misfit = yy - factor * ty;
        (factor > 0.0 && factor.is_finite() && misfit.is_finite()).then_some((factor, misfit))
    }

    /// A constant and the factor of one term, and what is left.
    fn yield_and_term(&self, term: impl Fn(f64) -> f64) -> Option<(f64, f64, f64)> {
        let [mut w1, mut t1, mut tt, mut y1, mut ty] = [0.0; 5];
        for point in self.points {
            let (t, y) = (term(point.shear_rate_per_s), point.shear_stress_pa);
            let w = self.weight(y);
            w1 += w;
            t1 += w * t;
            tt += w * t * t;
            y1 += w * y;
            ty += w * t * y;
        }
        let determinant = w1 * tt - t1 * t1;
        let constant = (y1 * tt - ty * t1) / determinant;
        let factor = (w1 * ty - t1 * y1) / determinant;
        let misfit = self
            .points
            .iter()
            .map(|point| {
                let left = point.shear_stress_pa - constant - factor * term(point.shear_rate_per_s);
                self.weight(point.shear_stress_pa) * left * left
            })
            .sum::<f64>();
        let usable = factor > 0.0 && factor.is_finite() && misfit.is_finite();
        usable.then_some((constant, factor, misfit))
    }

    /// Bends of the Carreau-Yasuda law over the measured rates.
    fn bent(&self, floor_pa_s: f64) -> Vec<(f64, Vec<f64>)> {
        let rates = self.points.iter().map(|point| point.shear_rate_per_s);
        let (low, high) = rates.fold((f64::INFINITY, 0.0_f64), |(low, high), rate| {
            (low.min(rate), high.max(rate))
        });
        let decades = (high / low).log10();
        let steps = (decades * TIMES_A_DECADE).ceil().clamp(1.0, 60.0) as u32;
        let mut found = Vec::new();
        for step in 0..=steps {
            let time_s = 1.0 / (low * 10f64.powf(decades * f64::from(step) / f64::from(steps)));
            for index in INDICES.into_iter().filter(|index| *index < 1.0) {
                for transition in TRANSITIONS {
                    let bend = |rate: f64| {
                        rate * (1.0 + (time_s * rate).powf(transition))
                            .powf((index - 1.0) / transition)
                    };
                    if let Some((viscosity, misfit)) = self.one_term(bend)
                        && viscosity > floor_pa_s
                    {
                        let start = vec![viscosity.ln(), time_s.ln(), index, transition.ln()];
                        found.push((misfit, start));
                    }
                }
            }
        }
        found
    }
}
