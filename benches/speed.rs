//! How long the main job takes: `cargo bench --bench speed`; ratios to peers: `benches/compare`.
#![allow(clippy::unwrap_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use heatset::fit::bench::{BenchModel, BenchRows, Shape, fit_bench};
use heatset::fit::least_squares::{LevenbergMarquardt, Projection, Settings};
use heatset::fit::{
    BlendCalibration, ErrorModel, FitOptions, ParameterName, Resample, WarmUpChoice, bootstrap,
    calibrate,
};
use heatset::flow::{
    CarreauYasuda, FlowCurve, MeasuredCurve, PushConditions, PushInputs, ShearPoint, push,
};
use heatset::kinetics::FirmnessLaw;
use heatset::plan::{
    BarrelUsed, ForceQuestion, NeedleUsed, PushSetup, QuestionWarmUp, StatedHeating,
    StatedThinning, TimeQuestion, force_for_heat_time, heat_time, heated,
};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::reference::{BoreBasis, Wall, find_syringe};
use heatset::thermal::conduction::{
    ConductionStage, Outside, RadialField, RadialGrid, RadialModel, radial_field,
};
use heatset::thermal::{DeclaredCooling, DeclaredSyringe, StatedWarmUp, WarmUp};
use std::hint::black_box;

const START_KELVIN: f64 = 295.15;

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
                &shape(WarmUp::lag(40.0, START_KELVIN).unwrap()),
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

/// The 60 rows as a table.
fn table() -> BenchTable {
    let column = |pick: fn(&(f64, f64, f64)) -> f64| rows().iter().map(pick).collect::<Vec<_>>();
    let (kelvin, time_s) = (column(|r| r.0), column(|r| r.1));
    BenchTable::from_arrays(ReadingKind::Viscosity, kelvin, time_s, column(|r| r.2)).unwrap()
}

/// 10 000 draws of a heat time at 86 °C through 29G.
fn question(warm_up: Option<WarmUp>, contact_histories: Vec<WarmUp>) -> TimeQuestion {
    let needle = NeedleUsed::of_gauge(29, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    TimeQuestion {
        set_kelvin: 359.15,
        setup: PushSetup::with_needle(needle).unwrap(),
        thinning: StatedThinning::default(),
        least: None,
        warm_up,
        contact_histories,
        cooling: heatset::plan::CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: false,
        draws: 10_000,
        varied: heatset::plan::Varied::ALL,
        seed: 1,
        invented: false,
    }
}

/// Every needle of the table with its interval, 10 000 draws.
fn force_table(c: &mut Criterion) {
    let calibration = calibrate(&table(), &FitOptions::default()).unwrap();
    let blend = &calibration.blends[0];
    let asked = question(None, Vec::new());
    let needles: Vec<NeedleUsed> = (18..=34)
        .map(|gauge| NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap())
        .collect();
    let question = ForceQuestion {
        set_kelvin: asked.set_kelvin,
        heat_time_s: 300.0,
        setup: asked.setup,
        needles,
        thinning: asked.thinning,
        warm_up: None,
        contact_histories: Vec::new(),
        cooling: asked.cooling,
        altitude_m: 0.0,
        extrapolate: false,
        draws: 10_000,
        seed: 1,
        invented: false,
    };
    c.bench_function("force table of 17 needles, 10 000 draws", |b| {
        b.iter(|| force_for_heat_time(blend, black_box(&question)).unwrap());
    });
    let window = TimeQuestion {
        draws: 100_000,
        least: Some(heatset::plan::Least::Reading(0.1)),
        ..self::question(None, Vec::new())
    };
    let mut group = c.benchmark_group("window");
    group.sample_size(20);
    group.bench_function("both limits, 100 000 draws", |b| {
        b.iter(|| heat_time(blend, black_box(&window)).unwrap());
    });
    group.finish();
}

fn answers(c: &mut Criterion) {
    let calibration = calibrate(&table(), &FitOptions::default()).unwrap();
    for (name, warm_up) in [
        ("time answer, 10 000 draws, isothermal", WarmUp::None),
        (
            "time answer, 10 000 draws, lag of 40 s",
            WarmUp::lag(40.0, START_KELVIN).unwrap(),
        ),
    ] {
        let question = question(Some(warm_up), Vec::new());
        c.bench_function(name, |b| {
            b.iter(|| heat_time(&calibration.blends[0], black_box(&question)).unwrap());
        });
    }
}

/// A syringe as the tables have it.
fn syringe(name: &str) -> DeclaredSyringe {
    DeclaredSyringe::of(&find_syringe(name).unwrap()).unwrap()
}

/// 6 min in a block of 90 °C in a 1 mL syringe, asked for every 6 s.
fn six_minutes(grid: RadialGrid) -> RadialField {
    let one_ml = syringe("1mL");
    let model = RadialModel::new(&one_ml.barrel().unwrap(), grid).unwrap();
    let stage = ConductionStage {
        duration_s: 360.0,
        outside: Outside::constant(one_ml.contact_w_per_m2_kelvin, 363.15),
    };
    let times_s: Vec<f64> = (1..=60).map(|i| 6.0 * f64::from(i)).collect();
    radial_field(&model, START_KELVIN, &[stage], &times_s).unwrap()
}

/// What is timed is within 0.05 K of ten times as many cells.
fn schedules(c: &mut Criterion) {
    let fine = six_minutes(RadialGrid {
        gel_cells: 240,
        wall_cells: 80,
    });
    let timed = six_minutes(RadialGrid::default());
    let pairs = [
        (timed.core_kelvin(), fine.core_kelvin()),
        (timed.mean_kelvin(), fine.mean_kelvin()),
        (timed.edge_kelvin(), fine.edge_kelvin()),
    ];
    for (here, there) in pairs
        .iter()
        .flat_map(|(here, there)| here.iter().zip(*there))
    {
        assert!((here - there).abs() < 0.05, "{here} K and {there} K");
    }
    c.bench_function("schedule of 6 min in a 1 mL syringe, to 0.05 K", |b| {
        b.iter(|| six_minutes(black_box(RadialGrid::default())));
    });
}

/// Conduction inside, from the declared syringe to the answer: every field is computed anew.
fn conducting_answers(c: &mut Criterion) {
    let calibration = calibrate(&table(), &FitOptions::default()).unwrap();
    let blend: &BlendCalibration = &calibration.blends[0];
    let barrel = BarrelUsed::of_syringe("1mL").unwrap();
    let mut group = c.benchmark_group("time answer, 10 000 draws, conduction in 1 mL");
    group.sample_size(30);
    for (name, contact_known, cools) in [
        ("contact known", true, false),
        ("contact varying", false, false),
        ("contact known, 5 min of cooling", true, true),
        ("contact varying, 5 min of cooling", false, true),
    ] {
        let stated = StatedHeating {
            warm_up: Some(QuestionWarmUp::OwnSyringe),
            start_kelvin: Some(START_KELVIN),
            contact_w_per_m2_kelvin: contact_known.then_some(150.0),
            cooling: cools.then_some(DeclaredCooling {
                cool_time_s: 300.0,
                ambient_kelvin: START_KELVIN,
            }),
            ..StatedHeating::default()
        };
        group.bench_function(name, |b| {
            b.iter(|| {
                let found = heated(blend, &barrel, black_box(&stated)).unwrap();
                let question = question(found.warm_up, found.contact_histories);
                heat_time(blend, &question).unwrap()
            });
        });
    }
    group.finish();
}

/// Conduction inside, from the declared syringe to the calibration.
fn conducting_fits(c: &mut Criterion) {
    let table = table();
    let mut group = c.benchmark_group("fit of 60 rows, conduction in 1 mL");
    group.sample_size(30);
    for (name, law) in [("law log", Some(FirmnessLaw::Log)), ("law auto", None)] {
        group.bench_function(name, |b| {
            b.iter(|| {
                let warm_up = StatedWarmUp::Syringe(syringe("1mL"))
                    .history(START_KELVIN, None)
                    .unwrap();
                let options = FitOptions {
                    law,
                    warm_up: WarmUpChoice::Declared(warm_up),
                    ..FitOptions::default()
                };
                calibrate(black_box(&table), &options).unwrap()
            });
        });
    }
    group.finish();
}

/// Plunger forces through a 27G needle: one law after the other, a thousand consistencies each,
/// so that no call can be guessed from the one before; one thread.
fn flows(c: &mut Criterion) {
    let conditions = PushConditions::new(PushInputs {
        bore_m: 0.2095e-3,
        length_m: 13e-3,
        barrel_bore_m: 4.7e-3,
        flow_rate_m3_per_s: 1e-6 / 60.0,
        friction_n: 2.0,
        tissue_pressure_pa: 0.0,
        density_kg_per_m3: 1025.0,
        include_end_losses: false,
    })
    .unwrap();
    let spread = |i: u32| (0.002 * f64::from(i)).exp();
    let gels: Vec<FlowCurve> = (0..1000)
        .map(|i| FlowCurve::herschel_bulkley(8.071 * spread(i), 10.28 * spread(i), 0.5229).unwrap())
        .collect();
    let polymers: Vec<FlowCurve> = (0..1000)
        .map(|i| {
            FlowCurve::CarreauYasuda(CarreauYasuda {
                zero_shear_viscosity_pa_s: 2.1054 * spread(i),
                infinite_shear_viscosity_pa_s: 0.0,
                time_constant_s: 0.10199 * spread(1000 - i),
                flow_index: 0.29946,
                transition_index: 0.86407,
            })
        })
        .collect();
    let points: Vec<ShearPoint> = (0..51)
        .map(|i| {
            let rate = 10f64.powf(-2.0 + 0.1 * f64::from(i));
            ShearPoint {
                shear_rate_per_s: rate,
                shear_stress_pa: polymers[0].shear_stress_pa(rate),
            }
        })
        .collect();
    let table = MeasuredCurve::new(&points).unwrap();
    let mut group = c.benchmark_group("flow");
    for (name, curves) in [
        ("1000 Herschel-Bulkley pushes", &gels),
        ("1000 Carreau-Yasuda pushes", &polymers),
    ] {
        group.bench_function(name, |b| {
            b.iter(|| -> f64 {
                curves
                    .iter()
                    .map(|curve| push(black_box(curve), &conditions).plunger_force_n)
                    .sum()
            });
        });
    }
    group.bench_function("1000 pushes of a measured curve of 51 points", |b| {
        b.iter(|| -> f64 {
            (0..1000)
                .map(|_| push(black_box(&table), &conditions).plunger_force_n)
                .sum()
        });
    });
    group.finish();
}

criterion_group!(
    benches,
    fits,
    refits,
    answers,
    force_table,
    schedules,
    conducting_answers,
    conducting_fits,
    flows
);
criterion_main!(benches);
