//! The 60-row bench with the crate levenberg-marquardt: one fit from a given start, and 10 000
//! bootstrap refits on one thread. Prints one line of JSON: `cargo run --release -- kinetic60.csv`.
//!
//! Model and start as in `../lmder60.c`; sizes known to the compiler, derivatives by hand, the rows'
//! rates and conversions kept from `set_params` for residuals and derivatives.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{Const, SMatrix, SVector};
use std::time::Instant;

const ROWS: usize = 60;
const FITS: usize = 20_000;
const REFITS: usize = 10_000;
type Parameters = SVector<f64, 4>;
type Column = SVector<f64, ROWS>;

#[derive(Clone)]
struct Bench {
    inverse: Column,
    seconds: Column,
    reading: Column,
    at: Parameters,
    unset: Column,
    rate: Column,
}

impl LeastSquaresProblem<f64, Const<ROWS>, Const<4>> for Bench {
    type ParameterStorage = Owned<f64, Const<4>>;
    type ResidualStorage = Owned<f64, Const<ROWS>>;
    type JacobianStorage = Owned<f64, Const<ROWS>, Const<4>>;

    fn set_params(&mut self, p: &Parameters) {
        self.at = *p;
        for i in 0..ROWS {
            self.rate[i] = (p[2] - p[3] * self.inverse[i]).exp();
            self.unset[i] = (-self.rate[i] * self.seconds[i]).exp();
        }
    }

    fn params(&self) -> Parameters {
        self.at
    }

    fn residuals(&self) -> Option<Column> {
        let p = &self.at;
        Some(Column::from_fn(|i, _| {
            self.unset[i] * p[0] + (1.0 - self.unset[i]) * p[1] - self.reading[i]
        }))
    }

    fn jacobian(&self) -> Option<SMatrix<f64, ROWS, 4>> {
        let p = &self.at;
        Some(SMatrix::from_fn(|i, j| {
            let slope = (p[1] - p[0]) * self.unset[i] * self.rate[i] * self.seconds[i];
            match j {
                0 => self.unset[i],
                1 => 1.0 - self.unset[i],
                2 => slope,
                _ => -slope * self.inverse[i],
            }
        }))
    }
}

fn fit(mut bench: Bench, start: &Parameters) -> (Bench, bool) {
    bench.set_params(start);
    let engine = LevenbergMarquardt::new()
        .with_ftol(1e-10)
        .with_xtol(1e-10)
        .with_gtol(0.0);
    let (bench, report) = engine.minimize(bench);
    (bench, report.termination.was_successful())
}

/// splitmix64, as in `../lmder60.c`.
fn draw(state: &mut u64) -> usize {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) % ROWS as u64) as usize
}

fn main() {
    let path = std::env::args()
        .nth(1)
        .expect("usage: lm-crate kinetic60.csv");
    let text = std::fs::read_to_string(&path).expect("the bench can be read");
    let rows: Vec<Vec<f64>> = text
        .lines()
        .skip(1)
        .map(|line| {
            line.split(',')
                .map(|cell| cell.parse().expect("a number"))
                .collect()
        })
        .collect();
    let bench = Bench {
        inverse: Column::from_fn(|i, _| 1.0 / rows[i][1] - 1.0 / 353.15),
        seconds: Column::from_fn(|i, _| rows[i][2]),
        reading: Column::from_fn(|i, _| rows[i][5]),
        at: Parameters::zeros(),
        unset: Column::zeros(),
        rate: Column::zeros(),
    };
    let start = Parameters::new(-6.0, 2.0, -6.5, 15_000.0);
    let mut times = Vec::with_capacity(FITS);
    let mut found = bench.clone();
    for _ in 0..FITS {
        let fresh = bench.clone();
        let begin = Instant::now();
        let (end, success) = fit(fresh, std::hint::black_box(&start));
        times.push(begin.elapsed().as_secs_f64());
        assert!(success);
        found = end;
    }
    times.sort_by(f64::total_cmp);

    let best = found.at;
    let residuals = found.residuals().expect("residuals at the minimum");
    let fitted = bench.reading + residuals;
    let (mut state, mut failed) = (1_u64, 0);
    let mut spread = Parameters::zeros();
    let begin = Instant::now();
    for _ in 0..REFITS {
        let mut again = bench.clone();
        for i in 0..ROWS {
            again.reading[i] = fitted[i] - residuals[draw(&mut state)];
        }
        let (end, success) = fit(again, &best);
        failed += usize::from(!success);
        let moved = end.at - best;
        spread += moved.component_mul(&moved);
    }
    let refits = begin.elapsed().as_secs_f64();
    let spread = (spread / REFITS as f64).map(f64::sqrt);
    println!(
        "{{\"fit_s\": {:e}, \"refits_s\": {refits:e}, \"failed\": {failed}, \"parameters\": {:?}, \"bootstrap_sd\": {:?}}}",
        times[FITS / 2],
        best.as_slice(),
        spread.as_slice()
    );
}
