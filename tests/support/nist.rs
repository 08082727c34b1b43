//! The 27 nonlinear regressions of NIST's Statistical Reference Datasets: data, models, certified
//! values, and how near a search comes to them. For the tests and for `benches/nist_table.rs`.
//!
//! Source: NIST Statistical Reference Datasets, Nonlinear Regression (public domain),
//! <https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml>; data, starts, certified parameters
//! and their standard deviations in `tests/data/nist_strd.json` (figures as carried by the Python
//! package lmfit 1.3.4, folder NIST_STRD). `polished` there is the same optimum to 16 digits,
//! computed with multiple precision (mpmath). Derivatives come from dual numbers (crate num-dual),
//! so that neither the engine nor the models' derivatives are ours alone.
#![allow(dead_code, missing_docs, clippy::unwrap_used, clippy::panic)]

use heatset::fit::least_squares::{
    LeastSquaresProblem, Minimum, Settings, Termination, covariance_from_jacobian, minimize,
};
use num_dual::{Dual64, DualNum};
use serde::Deserialize;
use std::collections::HashMap;

/// One regression as published.
#[derive(Deserialize)]
pub struct Reference {
    pub name: String,
    pub difficulty: String,
    pub n_params: usize,
    pub dof: usize,
    pub predictors: Vec<String>,
    pub starts: Vec<Vec<f64>>,
    pub certified: Vec<f64>,
    pub certified_sd: Vec<f64>,
    pub polished: Vec<f64>,
    pub polished_sd: Vec<f64>,
    pub data: HashMap<String, Vec<f64>>,
}

/// The models as NIST prints them, over any dual number.
fn model<D: DualNum<Primitive = f64> + Copy>(name: &str, b: &[D], x: &[f64]) -> D {
    let one = D::from(1.0);
    let u = x[0];
    let decay = |scale: D, rate: D| scale * (-rate * u).exp();
    let bell = |height: D, centre: D, width: D| height * (-((-centre + u) / width).powi(2)).exp();
    let wave = |cosine: D, sine: D, period: D| {
        let phase = period.recip() * (2.0 * std::f64::consts::PI * u);
        cosine * phase.cos() + sine * phase.sin()
    };
    match name {
        "Misra1a" | "BoxBOD" => b[0] * (one - (-b[1] * u).exp()),
        "Misra1b" => b[0] * (one - (b[1] * (u / 2.0) + 1.0).powi(-2)),
        "Misra1c" => b[0] * (one - (b[1] * (2.0 * u) + 1.0).sqrt().recip()),
        "Misra1d" => b[0] * b[1] * u / (b[1] * u + 1.0),
        "Chwirut1" | "Chwirut2" => (-b[0] * u).exp() / (b[1] + b[2] * u),
        "Lanczos1" | "Lanczos2" | "Lanczos3" => {
            decay(b[0], b[1]) + decay(b[2], b[3]) + decay(b[4], b[5])
        }
        "Gauss1" | "Gauss2" | "Gauss3" => {
            decay(b[0], b[1]) + bell(b[2], b[3], b[4]) + bell(b[5], b[6], b[7])
        }
        "DanWood" => b[0] * (b[1] * u.ln()).exp(),
        "Kirby2" => (b[0] + b[1] * u + b[2] * (u * u)) / (b[3] * u + b[4] * (u * u) + 1.0),
        "Hahn1" | "Thurber" => {
            (b[0] + b[1] * u + b[2] * (u * u) + b[3] * (u * u * u))
                / (b[4] * u + b[5] * (u * u) + b[6] * (u * u * u) + 1.0)
        }
        "Nelson" => b[0] - b[1] * x[0] * (-b[2] * x[1]).exp(),
        "MGH17" => b[0] + decay(b[1], b[3]) + decay(b[2], b[4]),
        "Roszman1" => b[0] - b[1] * u - (b[2] / (-b[3] + u)).atan() * std::f64::consts::FRAC_1_PI,
        "ENSO" => {
            b[0] + wave(b[1], b[2], D::from(12.0)) + wave(b[4], b[5], b[3]) + wave(b[7], b[8], b[6])
        }
        "MGH09" => b[0] * (b[1] * u + u * u) / (b[2] * u + b[3] + u * u),
        "Rat42" => b[0] / ((b[1] - b[2] * u).exp() + 1.0),
        "Rat43" => b[0] * (-((b[1] - b[2] * u).exp() + 1.0).ln() / b[3]).exp(),
        "MGH10" => b[0] * (b[1] / (b[2] + u)).exp(),
        "Eckerle4" => b[0] / b[1] * (((-b[2] + u) / b[1]).powi(2) * -0.5).exp(),
        "Bennett5" => b[0] * (-(b[1] + u).ln() / b[2]).exp(),
        other => panic!("no model for {other}"),
    }
}

/// A regression as the engine takes it.
pub struct Regression<'a> {
    name: &'a str,
    rows: Vec<Vec<f64>>,
    response: Vec<f64>,
    parameters: usize,
}

impl<'a> Regression<'a> {
    pub fn new(reference: &'a Reference) -> Self {
        let response: Vec<f64> = reference.data["y"]
            .iter()
            .map(|y| {
                if reference.name == "Nelson" {
                    y.ln()
                } else {
                    *y
                }
            })
            .collect();
        let rows = (0..response.len())
            .map(|i| {
                reference
                    .predictors
                    .iter()
                    .map(|p| reference.data[p][i])
                    .collect()
            })
            .collect();
        Self {
            name: &reference.name,
            rows,
            response,
            parameters: reference.n_params,
        }
    }
}

impl LeastSquaresProblem for Regression<'_> {
    fn residual_count(&self) -> usize {
        self.response.len()
    }

    fn parameter_count(&self) -> usize {
        self.parameters
    }

    fn residuals(&mut self, parameters: &[f64], residuals: &mut [f64]) {
        for ((slot, row), y) in residuals.iter_mut().zip(&self.rows).zip(&self.response) {
            *slot = model(self.name, parameters, row) - y;
        }
    }

    fn jacobian(&mut self, parameters: &[f64], jacobian: &mut [f64]) {
        let rows = self.response.len();
        let mut dual: Vec<Dual64> = parameters.iter().map(|p| Dual64::from_re(*p)).collect();
        for j in 0..self.parameters {
            dual[j] = dual[j].derivative();
            for (i, row) in self.rows.iter().enumerate() {
                jacobian[j * rows + i] = model(self.name, &dual, row).eps;
            }
            dual[j] = Dual64::from_re(parameters[j]);
        }
    }

    fn response_norm(&self) -> f64 {
        self.response.iter().map(|y| y * y).sum::<f64>().sqrt()
    }
}

/// All 27, in NIST's order.
pub fn references() -> Vec<Reference> {
    serde_json::from_str(include_str!("../data/nist_strd.json")).unwrap()
}

/// Correct digits of the worst parameter: -log10 of the relative error, 16 at most.
pub fn digits(found: &[f64], expected: &[f64]) -> f64 {
    found
        .iter()
        .zip(expected)
        .map(|(f, e)| -((f - e) / e).abs().max(1e-16).log10())
        .fold(16.0, |a: f64, d| if d.is_nan() { 0.0 } else { a.min(d) })
}

/// Standard errors of the parameters at a minimum.
pub fn standard_errors(minimum: &Minimum, reference: &Reference) -> Vec<f64> {
    let rows = minimum.residuals.len();
    let covariance = covariance_from_jacobian(&minimum.jacobian, rows, reference.n_params)
        .unwrap()
        .unscaled;
    let variance = minimum.sum_of_squares / reference.dof as f64;
    covariance
        .diag()
        .iter()
        .map(|d| (d * variance).sqrt())
        .collect()
}

/// How one search ended; digits of the worst parameter, and of the worst standard error.
pub struct Line {
    pub name: String,
    pub difficulty: String,
    pub start: usize,
    pub termination: Termination,
    /// Against the optimum to 16 digits.
    pub digits: f64,
    /// Against the certified values, which are printed with 11 digits.
    pub certified_digits: f64,
    /// Against the certified standard deviations.
    pub error_digits: f64,
    /// Against the standard deviations at the optimum to 16 digits.
    pub polished_error_digits: f64,
    pub iterations: usize,
}

/// Every regression from both starts.
pub fn table() -> Vec<Line> {
    references()
        .iter()
        .flat_map(|reference| {
            reference.starts.iter().enumerate().map(|(start, from)| {
                let minimum = minimize(Regression::new(reference), from, Settings::default());
                let against = |expected: &[f64]| {
                    if minimum.termination.was_successful() {
                        digits(&standard_errors(&minimum, reference), expected)
                    } else {
                        0.0
                    }
                };
                Line {
                    name: reference.name.clone(),
                    difficulty: reference.difficulty.clone(),
                    start: start + 1,
                    termination: minimum.termination,
                    digits: digits(&minimum.parameters, &reference.polished),
                    certified_digits: digits(&minimum.parameters, &reference.certified),
                    error_digits: against(&reference.certified_sd),
                    polished_error_digits: against(&reference.polished_sd),
                    iterations: minimum.iterations,
                }
            })
        })
        .collect()
}
