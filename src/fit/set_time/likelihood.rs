//! The likelihood of what was seen, with exact first and second derivatives.

use super::gauss_hermite::GaussHermite;
use super::observation::SetTimeObservation;
use super::scatter::ScatterForm;
use ndarray::Array2;
use std::f64::consts::{PI, SQRT_2};

/// Nodes by which a lot's deviation is integrated out.
const NODES: usize = 31;
/// Newton steps to the likeliest deviation of a lot; it is concave, so that five do.
const MODE_STEPS: usize = 60;

/// A value that a parameter is known to lie near.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Known {
    /// Place of the parameter.
    pub(super) place: usize,
    pub(super) value: f64,
    pub(super) sd: f64,
}

/// Observations and how the place of ln t goes with them.
#[derive(Debug, Clone)]
pub(super) struct SetTimeModel {
    form: ScatterForm,
    observations: Vec<SetTimeObservation>,
    /// ln of the two ends of each, where there are any.
    ends: Vec<[Option<f64>; 2]>,
    /// One a coefficient.
    columns: Vec<Vec<f64>>,
    /// Rows of each lot; one group of all rows where lots are not told apart.
    groups: Vec<Vec<usize>>,
    has_lots: bool,
    known: Vec<Known>,
    rule: GaussHermite,
}

/// Log-likelihood at a point, with its derivatives.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Evaluation {
    pub(super) value: f64,
    pub(super) gradient: Vec<f64>,
    /// Second derivatives.
    pub(super) hessian: Array2<f64>,
}

/// What the readings say of one lot: mean and variance of its deviation in standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LotPosterior {
    pub(super) mean: f64,
    pub(super) variance: f64,
}

/// First and second derivatives of one observation by place and ln scatter.
#[derive(Debug, Clone, Copy, Default)]
struct Local {
    value: f64,
    by_place: f64,
    by_scale: f64,
    place_place: f64,
    place_scale: f64,
    scale_scale: f64,
}

impl SetTimeModel {
    /// `lots` names the lot of every row by a number from 0; empty where they are not told apart.
    pub(super) fn new(
        form: ScatterForm,
        observations: Vec<SetTimeObservation>,
        columns: Vec<Vec<f64>>,
        lots: &[usize],
        known: Vec<Known>,
    ) -> Self {
        let ends = observations
            .iter()
            .map(|seen| {
                [
                    seen.has_lower().then(|| seen.after_s.ln()),
                    seen.has_upper().then(|| seen.by_s.ln()),
                ]
            })
            .collect();
        let has_lots = !lots.is_empty();
        let groups = if has_lots {
            let count = lots.iter().max().map_or(0, |last| last + 1);
            let mut groups = vec![Vec::new(); count];
            for (row, lot) in lots.iter().enumerate() {
                if let Some(group) = groups.get_mut(*lot) {
                    group.push(row);
                }
            }
            groups
        } else {
            vec![(0..observations.len()).collect()]
        };
        Self {
            form,
            observations,
            ends,
            columns,
            groups,
            has_lots,
            known,
            rule: GaussHermite::new(NODES),
        }
    }

    /// Coefficients of the place.
    pub(super) fn coefficients(&self) -> usize {
        self.columns.len()
    }

    /// Parameters: coefficients, ln scatter, and the standard deviation between lots.
    pub(super) fn parameters(&self) -> usize {
        self.columns.len() + 1 + usize::from(self.has_lots)
    }

    /// Log-likelihood and derivatives.
    ///
    /// # Equation
    /// `L = sum over lots ln integral prod_i P_i(m_i + w u) phi(u) du`, each integral by Gauss-Hermite
    /// quadrature about its mode. With `p` the normalised integrand
    /// `dL = E_p[d l]`, `d2L = E_p[d2 l + (d l)(d l)^T] - E_p[d l] E_p[d l]^T`.
    ///
    /// # Source
    /// Q. Liu, D. Pierce, A note on Gauss-Hermite quadrature, Biometrika 81 (1994) 624; derivatives: T.
    /// Louis, J. R. Stat. Soc. B 44 (1982) 226.
    pub(super) fn evaluate(&self, point: &[f64]) -> Evaluation {
        let size = self.parameters();
        let mut whole = Evaluation {
            value: 0.0,
            gradient: vec![0.0; size],
            hessian: Array2::zeros((size, size)),
        };
        for group in &self.groups {
            if self.has_lots {
                self.add_lot(point, group, &mut whole);
            } else {
                let (value, gradient, hessian) = self.joint(point, group, 0.0);
                whole.value += value;
                add(&mut whole.gradient, &gradient, 1.0);
                whole.hessian += &hessian;
            }
        }
        for known in &self.known {
            let off = point.get(known.place).copied().unwrap_or(f64::NAN) - known.value;
            whole.value -= 0.5 * (off / known.sd).powi(2);
            if let Some(slope) = whole.gradient.get_mut(known.place) {
                *slope -= off / (known.sd * known.sd);
                whole.hessian[[known.place, known.place]] -= 1.0 / (known.sd * known.sd);
            }
        }
        whole
    }

    /// What is known of each lot's deviation at a point.
    pub(super) fn lots(&self, point: &[f64]) -> Vec<LotPosterior> {
        if !self.has_lots {
            return Vec::new();
        }
        self.groups
            .iter()
            .map(|group| {
                let weights = self.weights(point, group);
                let mean: f64 = weights.iter().map(|(u, p)| p * u).sum();
                let square: f64 = weights.iter().map(|(u, p)| p * u * u).sum();
                LotPosterior {
                    mean,
                    variance: (square - mean * mean).max(0.0),
                }
            })
            .collect()
    }

    /// Nodes of a lot's deviation with their probabilities.
    fn weights(&self, point: &[f64], group: &[usize]) -> Vec<(f64, f64)> {
        let (nodes, logs) = self.nodes(point, group);
        let greatest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = logs.iter().map(|log| (log - greatest).exp()).sum();
        nodes
            .into_iter()
            .zip(logs)
            .map(|(u, log)| (u, (log - greatest).exp() / sum))
            .collect()
    }

    /// Nodes of a lot's deviation, and the logarithm of what each adds to the integral.
    fn nodes(&self, point: &[f64], group: &[usize]) -> (Vec<f64>, Vec<f64>) {
        let (mode, sd) = self.mode(point, group);
        self.rule
            .nodes
            .iter()
            .map(|(x, ln_weight)| {
                let u = mode + SQRT_2 * sd * x;
                let log = self.value_only(point, group, u) - 0.5 * u * u - 0.5 * (2.0 * PI).ln()
                    + ln_weight
                    + (SQRT_2 * sd).ln();
                (u, log)
            })
            .unzip()
    }

    fn add_lot(&self, point: &[f64], group: &[usize], whole: &mut Evaluation) {
        let (nodes, logs) = self.nodes(point, group);
        let greatest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if !greatest.is_finite() {
            whole.value = f64::NEG_INFINITY;
            return;
        }
        let sum: f64 = logs.iter().map(|log| (log - greatest).exp()).sum();
        whole.value += greatest + sum.ln();
        let size = self.parameters();
        let mut mean = vec![0.0; size];
        let mut second = Array2::<f64>::zeros((size, size));
        for (u, log) in nodes.into_iter().zip(logs) {
            let share = (log - greatest).exp() / sum;
            // What is lost is under the rounding of the sum.
            if share < 1e-18 {
                continue;
            }
            let (_, gradient, hessian) = self.joint(point, group, u);
            add(&mut mean, &gradient, share);
            for (row, slope) in gradient.iter().enumerate() {
                for (column, other) in gradient.iter().enumerate() {
                    second[[row, column]] += share * (hessian[[row, column]] + slope * other);
                }
            }
        }
        for row in 0..size {
            for column in 0..size {
                second[[row, column]] -= mean[row] * mean[column];
            }
        }
        add(&mut whole.gradient, &mean, 1.0);
        whole.hessian += &second;
    }

    /// The likeliest deviation of a lot and the standard deviation about it, by Newton's steps on a
    /// concave function.
    fn mode(&self, point: &[f64], group: &[usize]) -> (f64, f64) {
        let lot_sd = self.lot_sd(point);
        let at = |u: f64| {
            let (mut value, mut slope, mut curvature) = (-0.5 * u * u, -u, -1.0);
            for &row in group {
                let local = self.local(point, row, lot_sd * u);
                value += local.value;
                slope += lot_sd * local.by_place;
                curvature += lot_sd * lot_sd * local.place_place;
            }
            (value, slope, curvature)
        };
        let mut u = 0.0;
        let (mut value, mut slope, mut curvature) = at(u);
        for _ in 0..MODE_STEPS {
            let mut step = -slope / curvature;
            if step.is_nan() || step.abs() < 1e-12 {
                break;
            }
            let mut better = None;
            for _ in 0..40 {
                let next = at(u + step);
                if next.0 >= value - 1e-13 * value.abs() {
                    better = Some(next);
                    break;
                }
                step *= 0.5;
            }
            let Some(next) = better else { break };
            u += step;
            (value, slope, curvature) = next;
        }
        (u, (-1.0 / curvature).sqrt())
    }

    fn lot_sd(&self, point: &[f64]) -> f64 {
        if self.has_lots {
            point.get(self.columns.len() + 1).copied().unwrap_or(0.0)
        } else {
            0.0
        }
    }

    fn place_of(&self, point: &[f64], row: usize) -> f64 {
        self.columns
            .iter()
            .zip(point)
            .filter_map(|(column, coefficient)| column.get(row).map(|x| coefficient * x))
            .sum()
    }

    /// One observation, `shift` added to its place.
    fn local(&self, point: &[f64], row: usize, shift: f64) -> Local {
        let (Some(seen), Some(ends)) = (self.observations.get(row), self.ends.get(row)) else {
            return Local::default();
        };
        let place = self.place_of(point, row) + shift;
        let ln_scale = point.get(self.columns.len()).copied().unwrap_or(f64::NAN);
        let scale = ln_scale.exp();
        let deviate = |end: Option<f64>| end.map(|ln_time| (ln_time - place) / scale);
        let count = seen.count;
        if seen.is_exact() {
            // Density of t itself: as other programs print it.
            let ln_time = ends[1].unwrap_or(f64::NAN);
            let z = (ln_time - place) / scale;
            let [value, slope, second] = self.form.ln_density_with_slopes(z);
            return Local {
                value: count * (value - ln_scale - ln_time),
                by_place: -count * slope / scale,
                by_scale: count * (-slope * z - 1.0),
                place_place: count * second / (scale * scale),
                place_scale: count * (second * z + slope) / scale,
                scale_scale: count * (second * z * z + slope * z),
            };
        }
        let z = ends.map(deviate);
        let found = self.form.ln_probability(z[0], z[1]);
        let [a, b] = z.map(|z| z.unwrap_or(0.0));
        let [slope_a, slope_b] = found.slope;
        let [aa, ab, bb] = found.curvature;
        Local {
            value: count * found.value,
            by_place: -count * (slope_a + slope_b) / scale,
            by_scale: -count * (slope_a * a + slope_b * b),
            place_place: count * (aa + 2.0 * ab + bb) / (scale * scale),
            place_scale: count * (aa * a + ab * (a + b) + bb * b + slope_a + slope_b) / scale,
            scale_scale: count
                * (aa * a * a + 2.0 * ab * a * b + bb * b * b + slope_a * a + slope_b * b),
        }
    }

    fn value_only(&self, point: &[f64], group: &[usize], u: f64) -> f64 {
        let shift = self.lot_sd(point) * u;
        group
            .iter()
            .map(|row| self.local(point, *row, shift).value)
            .sum()
    }

    /// Logarithm of the joint probability of a lot's rows at a deviation, and its derivatives.
    fn joint(&self, point: &[f64], group: &[usize], u: f64) -> (f64, Vec<f64>, Array2<f64>) {
        let size = self.parameters();
        let coefficients = self.columns.len();
        let shift = self.lot_sd(point) * u;
        let mut value = 0.0;
        let mut gradient = vec![0.0; size];
        let mut hessian = Array2::zeros((size, size));
        let mut by = vec![0.0; size];
        for &row in group {
            let local = self.local(point, row, shift);
            value += local.value;
            // Derivatives of the place.
            for (cell, column) in by.iter_mut().zip(&self.columns) {
                *cell = column.get(row).copied().unwrap_or(0.0);
            }
            if let (true, Some(cell)) = (self.has_lots, by.get_mut(coefficients + 1)) {
                *cell = u;
            }
            for (j, x) in by.iter().enumerate() {
                if j == coefficients {
                    continue;
                }
                gradient[j] += local.by_place * x;
                hessian[[j, coefficients]] += local.place_scale * x;
                hessian[[coefficients, j]] += local.place_scale * x;
                for (k, other) in by.iter().enumerate() {
                    if k != coefficients {
                        hessian[[j, k]] += local.place_place * x * other;
                    }
                }
            }
            gradient[coefficients] += local.by_scale;
            hessian[[coefficients, coefficients]] += local.scale_scale;
        }
        (value, gradient, hessian)
    }
}

fn add(to: &mut [f64], what: &[f64], share: f64) {
    to.iter_mut()
        .zip(what)
        .for_each(|(to, what)| *to += share * what);
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn model(form: ScatterForm, lots: &[usize]) -> SetTimeModel {
        let observations = vec![
            SetTimeObservation::set_by(500.0),
            SetTimeObservation::not_set_at(300.0),
            SetTimeObservation::between(200.0, 420.0).times(2.0),
            SetTimeObservation::at(350.0),
            SetTimeObservation::set_by(260.0),
            SetTimeObservation::not_set_at(610.0),
        ];
        let columns = vec![vec![1.0; 6], vec![-0.2, 0.1, 0.0, 0.3, -0.4, 0.2]];
        let known = vec![Known {
            place: 1,
            value: 2.0,
            sd: 0.5,
        }];
        SetTimeModel::new(form, observations, columns, lots, known)
    }

    #[test]
    fn derivatives_agree_with_differences() {
        for form in ScatterForm::ALL {
            for lots in [&[][..], &[0, 0, 1, 1, 2, 2][..]] {
                let model = model(form, lots);
                let point: Vec<f64> = [5.9, 2.3, -0.6, 0.4][..model.parameters()].to_vec();
                let found = model.evaluate(&point);
                for j in 0..point.len() {
                    let step = 1e-5;
                    let (mut up, mut down) = (point.clone(), point.clone());
                    up[j] += step;
                    down[j] -= step;
                    let (up, down) = (model.evaluate(&up), model.evaluate(&down));
                    let slope = (up.value - down.value) / (2.0 * step);
                    assert!((found.gradient[j] - slope).abs() < 1e-7 * (1.0 + slope.abs()));
                    for k in 0..point.len() {
                        let second = (up.gradient[k] - down.gradient[k]) / (2.0 * step);
                        let ours = found.hessian[[j, k]];
                        assert!(
                            (ours - second).abs() < 1e-6 * (1.0 + second.abs()),
                            "{ours} {second}"
                        );
                    }
                }
            }
        }
    }

    /// Without spread between them lots are as one.
    #[test]
    fn lots_without_spread_are_as_one() {
        let apart = model(ScatterForm::Weibull, &[0, 0, 1, 1, 2, 2]);
        let together = model(ScatterForm::Weibull, &[]);
        let found = apart.evaluate(&[5.9, 2.3, -0.6, 0.0]).value;
        assert_relative_eq!(
            found,
            together.evaluate(&[5.9, 2.3, -0.6]).value,
            max_relative = 1e-12
        );
    }
}
