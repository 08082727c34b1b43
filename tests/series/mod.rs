//! Conduction in closed form: the series of the infinite cylinder and of the plane wall, warmed or cooled
//! through a film from one moment on.
//!
//! F. Incropera, D. DeWitt, Fundamentals of Heat and Mass Transfer, sections 5.5.1 and 5.6.1 (eqs. 5.39
//! and 5.47, from memory); H. Carslaw, J. Jaeger, Conduction of Heat in Solids, sections 3.11 and 7.7.

#![allow(dead_code)]

use std::f64::consts::PI;

/// Bessel function of the first kind of order n, by its integral
/// `J_n(x) = (1/pi) integral from 0 to pi of cos(n u - x sin u) du` (M. Abramowitz, I. Stegun, Handbook of
/// Mathematical Functions, eq. 9.1.21). The trapezoid rule is exact to rounding for a periodic integrand once the
/// points outnumber x.
pub fn bessel(order: u32, x: f64) -> f64 {
    let points = 64 + 2 * (x.abs() as usize);
    let n = f64::from(order);
    let sum: f64 = (0..points)
        .map(|i| {
            let u = 2.0 * PI * i as f64 / points as f64;
            (n * u - x * u.sin()).cos()
        })
        .sum();
    sum / points as f64
}

/// Roots of a function in steps of 0.02, by bisection, with sign changes at its poles left out.
fn roots(count: usize, equation: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut found = Vec::new();
    let mut low = 1e-6;
    while found.len() < count {
        let high = low + 0.02;
        if equation(low) * equation(high) < 0.0 {
            let (mut a, mut b) = (low, high);
            for _ in 0..60 {
                let middle = 0.5 * (a + b);
                if equation(a) * equation(middle) <= 0.0 {
                    b = middle;
                } else {
                    a = middle;
                }
            }
            found.push(0.5 * (a + b));
        }
        low = high;
    }
    found
}

/// A series `sum of C_n exp(-zeta_n^2 Fo) f(zeta_n x)`: the share of the way still to go.
pub struct Series {
    /// `zeta_n` and `C_n`.
    pub terms: Vec<(f64, f64)>,
    shape: fn(f64) -> f64,
    mean: fn(f64) -> f64,
}

/// Terms that are kept: enough for 1e-10 from Fo = 0.005 on.
const TERMS: usize = 30;

/// Infinite cylinder of one material: roots of `zeta J1 = Bi J0`, Bi and Fo with the radius.
pub fn cylinder(biot: f64) -> Series {
    let terms = roots(TERMS, |z| z * bessel(1, z) - biot * bessel(0, z))
        .into_iter()
        .map(|z| {
            let (j0, j1) = (bessel(0, z), bessel(1, z));
            (z, 2.0 / z * j1 / (j0 * j0 + j1 * j1))
        })
        .collect();
    Series {
        terms,
        shape: |x| bessel(0, x),
        mean: |z| 2.0 * bessel(1, z) / z,
    }
}

/// Plane wall heated from both sides: roots of `zeta tan zeta = Bi`, Bi and Fo with half the thickness.
pub fn wall(biot: f64) -> Series {
    let terms = roots(TERMS, |z| z * z.sin() - biot * z.cos())
        .into_iter()
        .map(|z| (z, 4.0 * z.sin() / (2.0 * z + (2.0 * z).sin())))
        .collect();
    Series {
        terms,
        shape: f64::cos,
        mean: |z| z.sin() / z,
    }
}

impl Series {
    /// Share still to go at `place` (0 in the middle, 1 at the surface).
    pub fn at(&self, place: f64, fourier: f64) -> f64 {
        self.sum(fourier, |z| (self.shape)(z * place))
    }

    /// Volume mean of the share still to go.
    pub fn mean(&self, fourier: f64) -> f64 {
        self.sum(fourier, self.mean)
    }

    /// Integral over Fo from 0 to `fourier` of the share covered at `place`.
    pub fn covered_integral(&self, place: f64, fourier: f64) -> f64 {
        let to_go: f64 = self
            .terms
            .iter()
            .map(|(z, c)| c * (self.shape)(z * place) * -(-z * z * fourier).exp_m1() / (z * z))
            .sum();
        fourier - to_go
    }

    fn sum(&self, fourier: f64, shape: impl Fn(f64) -> f64) -> f64 {
        self.terms
            .iter()
            .map(|(z, c)| c * (-z * z * fourier).exp() * shape(*z))
            .sum()
    }
}
