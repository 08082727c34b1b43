//! Readings taken at several temperatures of the gel: the activation energy of flow is fitted with
//! the kinetics, and carries a viscosity to the temperature of the push.
#![allow(clippy::unwrap_used, missing_docs)]

use heatset::fit::{
    BlendCalibration, ErrorModel, FitOptions, Held, ParameterName, Prior, calibrate,
};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, FirmnessLaw, ReactionOrder, SettingModel};
use heatset::plan::{
    ForceQuestion, NeedleUsed, PushDoubts, PushSetup, StatedThinning, TemperatureFactor,
    force_for_heat_time,
};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

const BENCHES: u64 = 100;
const TRUE_FLOW_ENERGY: f64 = 28e3;
const TRUE_ENERGY: f64 = 250e3;
/// Temperatures of reading, in turn: their mean over whole turns is 27 °C.
const READ_CELSIUS: [f64; 4] = [20.0, 24.0, 29.0, 35.0];
const MEAN_READ_KELVIN: f64 = 300.15;

fn truth() -> SettingModel {
    SettingModel {
        firmness: FirmnessCurve::Log {
            initial: 1.6e-3,
            plateau: 12.0,
        },
        order: ReactionOrder(1.0),
        rate: ArrheniusRate {
            rate_ref_per_s: 1.2e-3,
            activation_energy_j_per_mol: TRUE_ENERGY,
            reference_kelvin: 355.15,
        },
        dose_lag_s: 0.0,
        warm_up: WarmUp::None,
    }
}

/// 60 readings at 76 to 90 °C; each is multiplied by `factor` of its temperature of reading in K.
fn bench(seed: u64, scatter: f64, read: &[f64], factor: impl Fn(f64) -> f64) -> BenchTable {
    let truth = truth();
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let (mut kelvin, mut times, mut readings, mut read_at) = (vec![], vec![], vec![], vec![]);
    for celsius in [76.0, 79.5, 83.0, 86.5, 90.0] {
        let set = celsius + 273.15;
        for i in 0..12 {
            let fraction = 0.08 + 0.082 * f64::from(i);
            let time_s = truth.clock_time_for_conversion_s(set, fraction).round();
            let read_kelvin = read[read_at.len() % read.len()] + 273.15;
            let z: f64 = StandardNormal.sample(&mut random);
            kelvin.push(set);
            times.push(time_s);
            readings.push(truth.reading(set, time_s) * factor(read_kelvin) * (scatter * z).exp());
            read_at.push(read_kelvin);
        }
    }
    let mut table =
        BenchTable::from_arrays(ReadingKind::Viscosity, kelvin, times, readings).unwrap();
    for (row, read_kelvin) in table.rows.iter_mut().zip(read_at) {
        row.read_temp_kelvin = Some(read_kelvin);
    }
    table
}

/// `exp[(E/R)(1/T - 1/T_ref)]`, written out once more.
fn arrhenius(read_kelvin: f64) -> f64 {
    (TRUE_FLOW_ENERGY / GAS_CONSTANT_J_PER_MOL_K * (1.0 / read_kelvin - 1.0 / MEAN_READ_KELVIN))
        .exp()
}

fn fitted(table: &BenchTable, options: &FitOptions) -> BlendCalibration {
    calibrate(table, options).unwrap().blends.remove(0)
}

fn log_law() -> FitOptions {
    FitOptions {
        law: Some(FirmnessLaw::Log),
        ..FitOptions::default()
    }
}

fn covers(blend: &BlendCalibration, name: ParameterName, truth: f64) -> bool {
    let [low, high] = blend.parameter(name).unwrap().ci95.unwrap();
    low <= truth && truth <= high
}

/// 95 % intervals: of 100 benches 95 are expected to cover, 89 or fewer in 2 of 100 runs (binomial).
#[test]
fn simulated_benches_give_both_energies_back_within_their_intervals() {
    let (mut flow, mut setting, mut plateau, mut mean) = (0, 0, 0, 0.0);
    for seed in 1..=BENCHES {
        let blend = fitted(&bench(seed, 0.08, &READ_CELSIUS, arrhenius), &log_law());
        let names = [
            (ParameterName::FlowActivationEnergy, TRUE_FLOW_ENERGY),
            (ParameterName::ActivationEnergy, TRUE_ENERGY),
            (ParameterName::Plateau, 12.0),
        ];
        let [f, s, p] = names.map(|(name, truth)| usize::from(covers(&blend, name, truth)));
        flow += f;
        setting += s;
        plateau += p;
        mean += blend.flow_activation_energy().unwrap() / BENCHES as f64;
        assert!((blend.read_temp_k.unwrap() - MEAN_READ_KELVIN).abs() < 1e-9);
        assert!(
            blend
                .warnings
                .iter()
                .all(|w| w.code != "reading_temperatures_differ"),
            "{:?}",
            blend.warnings
        );
    }
    assert!(flow >= 89, "{flow}");
    assert!(setting >= 89, "{setting}");
    assert!(plateau >= 89, "{plateau}");
    // The mean of 100 is known to a tenth of one interval's half-width, about 3.2 kJ/mol.
    assert!((mean - TRUE_FLOW_ENERGY).abs() < 1.0e3, "{mean}");
}

/// Without scatter the log law finds the truth, whatever the errors are taken to be: projected under
/// relative ones, searched under absolute ones.
#[test]
fn exact_readings_give_the_energy_exactly_under_every_kind_of_errors() {
    let table = bench(1, 0.0, &READ_CELSIUS, arrhenius);
    for errors in [ErrorModel::Relative, ErrorModel::Absolute] {
        let options = FitOptions {
            errors,
            ..log_law()
        };
        let blend = fitted(&table, &options);
        for (name, truth) in [
            (ParameterName::FlowActivationEnergy, TRUE_FLOW_ENERGY),
            (ParameterName::ActivationEnergy, TRUE_ENERGY),
            (ParameterName::Plateau, 12.0),
        ] {
            let found = blend.parameter(name).unwrap().estimate;
            assert!(
                (found / truth - 1.0).abs() < 1e-6,
                "{errors:?} {name} {found}"
            );
        }
    }
}

/// Viscosity of water in mPa s by °C: IAPWS R12-08 at 101325 Pa, as shared/water.csv has it
/// (computed with the open package iapws).
const WATER: [(f64, f64); 4] = [
    (15.0, 1.13757),
    (20.0, 1.0016),
    (25.0, 0.890_02),
    (30.0, 0.797_22),
];

/// A gel that follows its solvent: the fitted energy is the slope of IAPWS's viscosities over 1/T by
/// plain least squares, and carries a viscosity as they do.
#[test]
fn a_gel_that_thins_as_water_has_water_s_slope() {
    let inverse = |celsius: f64| 1.0 / (celsius + 273.15);
    let mean = |of: &dyn Fn(&(f64, f64)) -> f64| WATER.iter().map(of).sum::<f64>() / 4.0;
    let (x0, y0) = (mean(&|w| inverse(w.0)), mean(&|w| w.1.ln()));
    let slope = mean(&|w| (inverse(w.0) - x0) * (w.1.ln() - y0))
        / mean(&|w| (inverse(w.0) - x0) * (inverse(w.0) - x0));
    let of_water = slope * GAS_CONSTANT_J_PER_MOL_K;
    let viscosity = |kelvin: f64| {
        let here = |w: &&(f64, f64)| (w.0 + 273.15 - kelvin).abs() < 1e-6;
        WATER.iter().find(here).unwrap().1
    };
    let table = bench(1, 0.0, &WATER.map(|w| w.0), viscosity);
    let energy = fitted(&table, &FitOptions::default())
        .flow_activation_energy()
        .unwrap();
    assert!(
        (energy / of_water - 1.0).abs() < 0.01,
        "{energy} {of_water}"
    );
    // From memory: about 16 to 17 kJ/mol near room temperature.
    assert!((16e3..18e3).contains(&energy), "{energy}");
    for [from, to] in [[0, 3], [1, 2], [3, 1]] {
        let [(read, at_read), (push, at_push)] = [WATER[from], WATER[to]];
        let factor = TemperatureFactor::fitted(energy, push + 273.15, read + 273.15);
        assert!((factor.ratio() / (at_push / at_read) - 1.0).abs() < 0.01);
    }
}

/// Hagen-Poiseuille: the force less friction goes with the viscosity, which goes with the fitted
/// energy.
#[test]
fn a_push_at_another_temperature_uses_the_fitted_energy_and_says_so() {
    let blend = fitted(
        &bench(3, 0.08, &READ_CELSIUS, arrhenius),
        &FitOptions::default(),
    );
    let needle = NeedleUsed::of_bore(0.21e-3, None, 13e-3).unwrap();
    let ask = |blend: &BlendCalibration, gel_kelvin: Option<f64>| {
        let setup = PushSetup {
            gel_kelvin,
            friction_n: 2.0,
            doubts: PushDoubts::NONE,
            ..PushSetup::with_needle(needle.clone()).unwrap()
        };
        let question = ForceQuestion {
            set_kelvin: 359.15,
            heat_time_s: 500.0,
            setup,
            needles: Vec::new(),
            thinning: StatedThinning::default(),
            warm_up: None,
            contact_histories: Vec::new(),
            cooling: heatset::plan::CoolingAsked::default(),
            altitude_m: 0.0,
            extrapolate: true,
            draws: 4000,
            seed: 1,
            invented: false,
        };
        force_for_heat_time(blend, &question).unwrap()
    };
    let as_read = ask(&blend, None);
    let cold = ask(&blend, Some(288.15));
    let energy = blend.flow_activation_energy().unwrap();
    let factor =
        (energy / GAS_CONSTANT_J_PER_MOL_K * (1.0 / 288.15 - 1.0 / MEAN_READ_KELVIN)).exp();
    let viscous =
        |answer: &heatset::plan::ForceAnswer| answer.needles[0].plunger_force_n.point - 2.0;
    assert!((viscous(&cold) / viscous(&as_read) / factor - 1.0).abs() < 1e-9);
    let TemperatureFactor::Fitted {
        flow_activation_energy_j_per_mol,
        ratio,
        ..
    } = cold.assumptions.gel_temp_factor
    else {
        panic!("{:?}", cold.assumptions.gel_temp_factor);
    };
    assert_eq!(flow_activation_energy_j_per_mol, energy);
    assert!((ratio / factor - 1.0).abs() < 1e-12);
    assert_eq!(as_read.assumptions.gel_temp_factor, TemperatureFactor::None);

    // The energy's own doubt widens the answer: with it held the interval is narrower.
    let mut held = blend.clone();
    let place = held
        .free_parameters()
        .iter()
        .position(|name| *name == ParameterName::FlowActivationEnergy)
        .unwrap();
    for parameter in &mut held.parameters {
        parameter.held |= parameter.name == ParameterName::FlowActivationEnergy;
    }
    held.covariance.remove(place);
    for row in &mut held.covariance {
        row.remove(place);
    }
    held.fit.residual_sd = 0.0;
    let mut free = blend.clone();
    free.fit.residual_sd = 0.0;
    let width = |blend: &BlendCalibration| {
        let [low, high] = ask(blend, Some(278.15)).needles[0]
            .plunger_force_n
            .interval95;
        high - low
    };
    assert!(width(&free) > 1.1 * width(&held));

    // A bench that tells nothing of it is carried as water is.
    let plain = fitted(&bench(3, 0.08, &[22.0], |_| 1.0), &FitOptions::default());
    assert!(matches!(
        ask(&plain, Some(288.15)).assumptions.gel_temp_factor,
        TemperatureFactor::Water { .. }
    ));
}

#[test]
fn a_bench_read_at_one_temperature_is_fitted_to_the_same_bits_as_one_that_does_not_say() {
    let same = bench(5, 0.08, &[22.0, 24.9], |_| 1.0);
    let mut silent = same.clone();
    for row in &mut silent.rows {
        row.read_temp_kelvin = None;
    }
    let (same, silent) = (
        fitted(&same, &FitOptions::default()),
        fitted(&silent, &FitOptions::default()),
    );
    assert_eq!(same.parameters, silent.parameters);
    assert_eq!(same.covariance, silent.covariance);
    assert_eq!(same.fit, silent.fit);
    assert_eq!(same.readings, silent.readings);
    assert!(same.flow_activation_energy().is_none());
}

/// One reading apart from the others, and much scatter: nothing is told, and the warning stays.
#[test]
fn temperatures_that_tell_nothing_stay_in_the_scatter_and_are_warned_of() {
    let mut table = bench(7, 0.3, &[22.0], |_| 1.0);
    table.rows[30].read_temp_kelvin = Some(298.15);
    let blend = fitted(&table, &FitOptions::default());
    assert!(blend.flow_activation_energy().is_none());
    assert!(
        blend
            .warnings
            .iter()
            .any(|w| w.code == "reading_temperatures_differ"),
        "{:?}",
        blend.warnings
    );
    // A published value may stand in.
    let mut held = Held::default();
    held.hold(ParameterName::FlowActivationEnergy, 17e3)
        .unwrap();
    let options = FitOptions {
        held,
        ..FitOptions::default()
    };
    let blend = fitted(&table, &options);
    let energy = blend
        .parameter(ParameterName::FlowActivationEnergy)
        .unwrap();
    assert!(energy.held);
    assert_eq!(energy.estimate, 17e3);
}

/// A prior pulls the energy towards the published value, by as much as it is sure.
#[test]
fn a_published_value_weighs_by_its_own_standard_deviation() {
    let table = bench(9, 0.08, &READ_CELSIUS, arrhenius);
    let alone = fitted(&table, &log_law());
    let own = alone
        .parameter(ParameterName::FlowActivationEnergy)
        .unwrap();
    let (free, error) = (own.estimate, own.std_error.unwrap());
    let known = free - error;
    let with = |sd: f64| {
        let prior = Prior::new(ParameterName::FlowActivationEnergy, known, sd);
        let options = FitOptions {
            priors: vec![prior.unwrap()],
            ..log_law()
        };
        fitted(&table, &options).flow_activation_energy().unwrap()
    };
    assert!((with(1.0) - known).abs() < 5.0);
    assert!((with(1e9) - free).abs() < 5.0);
    // As sure as the readings: half-way.
    let middle = 0.5 * (free + known);
    assert!((with(error) - middle).abs() < 0.05 * error);
}
