//! How long the main job takes: `cargo bench --bench speed`; ratios to peers: `benches/compare`.
#![allow(clippy::unwrap_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use heatset::fit::bench::{BenchModel, BenchRows, Shape, fit_bench};
use heatset::fit::least_squares::{LevenbergMarquardt, Projection, Settings};
use heatset::fit::{ErrorModel, FitOptions, ParameterName, Resample, bootstrap, calibrate};
use heatset::kinetics::FirmnessLaw;
use heatset::plan::{NeedleUsed, PushSetup, StatedThinning, TimeQuestion, heat_time};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::reference::{BoreBasis, Wall};
use heatset::thermal::WarmUp;
use std::hint::black_box;

/// The simulated bench of 60 rows that the tests check (tests/data/kinetic60.csv).
fn rows() -> Vec<(f64, f64, f64)> {
    include_str!("../tests/data/kinetic60.csv")
        .lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<f64> = line.split(',').map(|c| c.parse().unwrap()).collect();
            (cells[1], cells[2], cells[6])
        })
        .collect()
}

fn shape(warm_up: WarmUp) -> Shape {
    Shape {
        warm_up,
        ..Shape::new(FirmnessLaw::Log, ErrorModel::Relative, 353.15)
    }
}

fn fits(c: &mut Criterion) {
    let triples = rows();
    c.bench_function(
        "fit 60 rows, no start given, laid out and with covariance",
        |b| {
            b.iter(|| fit_bench(&BenchRows::new(black_box(&triples)), &shape(WarmUp::None)));
        },
    );
    let bench = BenchRows::new(&triples);
    let mut problem = Projection::new(BenchModel::new(&bench, shape(WarmUp::None)));
    let mut engine = LevenbergMarquardt::new(Settings::batch());
    // The peers' start: ln k -6.5, E/R 15000 K.
    let start = [-6.5, 15_000.0 / 353.15];
    c.bench_function("engine alone, 60 rows, from the peers' start", |b| {
        b.iter(|| engine.run(&mut problem, black_box(&start)));
    });
    assert_same_digits(&mut engine, &mut problem, &start);
    c.bench_function("fit 60 rows with a lag of 40 s", |b| {
        b.iter(|| {
            fit_bench(
                black_box(&bench),
                &shape(WarmUp::lag(40.0, 295.15).unwrap()),
            )
        });
    });
}

/// What is timed ends no further from the optimum of the 60-row bench (Gauss-Newton steps with 50
/// digits, mpmath) than the peers do at their tolerances.
fn assert_same_digits(
    engine: &mut LevenbergMarquardt,
    problem: &mut Projection<BenchModel>,
    start: &[f64],
) {
    assert!(engine.run(problem, start).was_successful());
    let found = problem
        .model()
        .estimates(engine.parameters(), problem.linear());
    for (name, optimum) in [
        (ParameterName::Initial, (-6.470_238_413_618_272_f64).exp()),
        (ParameterName::Plateau, 2.441_209_506_776_466_f64.exp()),
        (ParameterName::RateRef, (-6.111_512_098_910_724_f64).exp()),
        (
            ParameterName::ActivationEnergy,
            18_035.434_342_297_916 * 8.314_462_618,
        ),
    ] {
        let error = (found.get(name) / optimum - 1.0).abs();
        assert!(error < 1e-10, "{name}: {error:e}");
    }
}

/// Refits as in the peers: samples of the residuals, from the optimum, one thread.
fn refits(c: &mut Criterion) {
    let bench = BenchRows::new(&rows());
    let fit = fit_bench(&bench, &shape(WarmUp::None));
    let alone = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .unwrap();
    let mut group = c.benchmark_group("10 000 bootstrap refits of 60 rows, one thread");
    group.sample_size(30);
    group.bench_function("by residuals", |b| {
        b.iter(|| {
            alone.install(|| bootstrap(&bench, black_box(&fit), &Resample::Residuals, 10_000, 1))
        });
    });
    group.finish();
}

fn answers(c: &mut Criterion) {
    let column = |pick: fn(&(f64, f64, f64)) -> f64| rows().iter().map(pick).collect::<Vec<_>>();
    let table = BenchTable::from_arrays(
        ReadingKind::Viscosity,
        column(|r| r.0),
        column(|r| r.1),
        column(|r| r.2),
    )
    .unwrap();
    let calibration = calibrate(&table, &FitOptions::default()).unwrap();
    let needle = NeedleUsed::of_gauge(29, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    let question = |warm_up| TimeQuestion {
        set_kelvin: 359.15,
        setup: PushSetup::with_needle(needle.clone()).unwrap(),
        thinning: StatedThinning::default(),
        least: None,
        warm_up: Some(warm_up),
        contact_histories: Vec::new(),
        altitude_m: 0.0,
        extrapolate: false,
        draws: 10_000,
        varied: heatset::plan::Varied::ALL,
        seed: 1,
        invented: false,
    };
    for (name, warm_up) in [
        ("time answer, 10 000 draws, isothermal", WarmUp::None),
        (
            "time answer, 10 000 draws, lag of 40 s",
            WarmUp::lag(40.0, 295.15).unwrap(),
        ),
    ] {
        let question = question(warm_up);
        c.bench_function(name, |b| {
            b.iter(|| heat_time(&calibration.blends[0], black_box(&question)).unwrap());
        });
    }
}

criterion_group!(benches, fits, refits, answers);
criterion_main!(benches);
