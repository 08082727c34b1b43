//! Sums of squares over many rates where the response is a straight line in the conversion.

use super::rows::BenchRows;
use crate::fit::least_squares::in_wide_registers;
use crate::kinetics::unset_fractions;

/// Scores rates that grow by [`super::grid::RATE_RATIO`]: the unset fraction at the next rate is a
/// power of the one before, so one exponential a row serves all rates.
#[derive(Debug, Clone)]
pub(super) struct LineScan<'a> {
    rows: &'a BenchRows,
    response: &'a [f64],
    mean_response: f64,
    /// Sum of squares about the mean: what no line explains.
    whole: f64,
    rate_doses: Vec<f64>,
    unset: Vec<f64>,
}

impl<'a> LineScan<'a> {
    pub(super) fn new(rows: &'a BenchRows, response: &'a [f64]) -> Self {
        let mean_response = response.iter().sum::<f64>() / response.len() as f64;
        Self {
            rows,
            response,
            mean_response,
            whole: response
                .iter()
                .map(|y| (y - mean_response) * (y - mean_response))
                .sum(),
            rate_doses: vec![0.0; rows.len()],
            unset: vec![0.0; rows.len()],
        }
    }

    /// Sum of squares about the best straight line in the unset fraction, for each rate; shorter
    /// than the rates where the last ones leave nothing unset.
    pub(super) fn scores(&mut self, doses_s: &[f64], rates_per_s: &[f64]) -> Vec<f64> {
        let Some(first) = rates_per_s.first() else {
            return Vec::new();
        };
        for (rate_dose, &point) in self.rate_doses.iter_mut().zip(&self.rows.point_of_row) {
            *rate_dose = first * doses_s[point];
        }
        unset_fractions(&mut self.rate_doses, &mut self.unset);
        let (response, mean_response, whole) = (self.response, self.mean_response, self.whole);
        let count = response.len() as f64;
        let mut scores = Vec::with_capacity(rates_per_s.len());
        let unset = &mut self.unset;
        in_wide_registers(
            #[inline(always)]
            || {
                for level in 0..rates_per_s.len() {
                    if level > 0 {
                        for u in unset.iter_mut() {
                            let square = *u * *u;
                            *u = square * square;
                        }
                    }
                    let (sum, squares, cross) = sums(unset, response);
                    let spread = squares - sum * sum / count;
                    let cross = cross - sum * mean_response;
                    scores.push(if spread > 1e-12 * squares {
                        whole - cross * cross / spread
                    } else {
                        whole
                    });
                    // Hardly anything is unset any more, and will be less so at the next rate.
                    if sum < 0.5 {
                        break;
                    }
                }
            },
        );
        scores
    }
}

/// Sums of u, u^2 and u y, in eight lanes each so that the compiler uses vector registers.
#[inline(always)]
fn sums(unset: &[f64], response: &[f64]) -> (f64, f64, f64) {
    const LANES: usize = 8;
    let mut lanes = [[0.0; LANES]; 3];
    let (chunks, rest) = unset.as_chunks::<LANES>();
    let (response_chunks, response_rest) = response.as_chunks::<LANES>();
    for (u, y) in chunks.iter().zip(response_chunks) {
        for i in 0..LANES {
            lanes[0][i] += u[i];
            lanes[1][i] += u[i] * u[i];
            lanes[2][i] += u[i] * y[i];
        }
    }
    for (i, (u, y)) in rest.iter().zip(response_rest).enumerate() {
        lanes[0][i] += u;
        lanes[1][i] += u * u;
        lanes[2][i] += u * y;
    }
    let [sum, squares, cross] = lanes.map(|l| l.iter().sum::<f64>());
    (sum, squares, cross)
}
