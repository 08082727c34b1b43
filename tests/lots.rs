//! Lots: what varies from donor to donor, and what an answer for a new lot makes of it.
#![allow(clippy::unwrap_used)]

mod support;

use approx::assert_relative_eq;
use heatset::fit::{BlendCalibration, Calibration, FitError, FitOptions, ParameterName, calibrate};
use heatset::kinetics::{FirmnessCurve, FirmnessLaw, SettingModel};
use heatset::plan::{NeedleUsed, PushSetup, StatedThinning, TimeQuestion, Varied, heat_time};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::reference::{BoreBasis, Wall};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use support::{bench, exact_rows, log_setting};

/// Lots whose ln initial, ln plateau and ln rate deviate by these standard deviations.
const SDS: [f64; 3] = [0.08, 0.15, 0.20];

fn table(lots: usize, scatter: f64, seed: u64) -> BenchTable {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut rows = Vec::new();
    let mut names = Vec::new();
    for lot in 0..lots {
        let mut z = |sd: f64| {
            let normal: f64 = StandardNormal.sample(&mut random);
            (sd * normal).exp()
        };
        let base = log_setting(4e-3 * z(SDS[2]), 240e3, 1.0, 2.0);
        let firmness = FirmnessCurve::Log {
            initial: 2e-3 * z(SDS[0]),
            plateau: 6.0 * z(SDS[1]),
        };
        for (t, s, p) in exact_rows(&SettingModel { firmness, ..base }) {
            let normal: f64 = StandardNormal.sample(&mut random);
            rows.push((t, s, p * (scatter * normal).exp()));
            names.push(format!("L{lot:02}"));
        }
    }
    let mut table = bench(ReadingKind::Viscosity, &rows);
    for (details, name) in table.rows.iter_mut().zip(names) {
        details.lot = Some(name);
    }
    table
}

fn fitted(table: &BenchTable) -> Calibration {
    let options = FitOptions {
        law: Some(FirmnessLaw::Log),
        ..FitOptions::default()
    };
    calibrate(table, &options).unwrap()
}

fn question() -> TimeQuestion {
    let needle = NeedleUsed::of_gauge(29, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    TimeQuestion {
        set_kelvin: 358.15,
        setup: PushSetup::with_needle(needle).unwrap(),
        thinning: StatedThinning::default(),
        least: None,
        warm_up: None,
        contact_histories: Vec::new(),
        altitude_m: 0.0,
        extrapolate: true,
        draws: 4000,
        varied: Varied::ALL,
        seed: 1,
        invented: false,
    }
}

fn sd(blend: &BlendCalibration, name: ParameterName) -> f64 {
    blend.lots.as_ref().unwrap().sd[name.as_str()]
}

/// Thirty lots: the standard deviation of each is found within the chance of 30 draws (its 99.9 %
/// limits are 0.62 and 1.45 of the truth by chi-squared with 29 degrees of freedom), and the scatter
/// within a lot within 5 %.
#[test]
fn the_spread_between_lots_is_told_from_the_scatter_within() {
    let calibration = fitted(&table(30, 0.05, 4));
    let blend = &calibration.blends[0];
    for (name, truth) in [
        (ParameterName::Initial, SDS[0]),
        (ParameterName::Plateau, SDS[1]),
        (ParameterName::RateRef, SDS[2]),
    ] {
        let ratio = sd(blend, name) / truth;
        assert!((0.62..=1.45).contains(&ratio), "{name}: {ratio}");
    }
    assert_relative_eq!(blend.fit.residual_sd, 0.05, max_relative = 0.05);
    let energy = blend.parameter(ParameterName::ActivationEnergy).unwrap();
    let [low, high] = energy.ci95.unwrap();
    assert!(low < 240e3 && 240e3 < high);
    let test = blend.diagnostics.lack_of_fit;
    assert!(test.is_none(), "no setting was read twice in a lot");
}

#[test]
fn the_interval_for_a_new_lot_is_wider_than_that_for_a_known_one() {
    let calibration = fitted(&table(5, 0.05, 8));
    let blend = &calibration.blends[0];
    let width = |blend: &BlendCalibration| {
        let answer = heat_time(blend, &question()).unwrap();
        let [low, high] = answer.heat_time_s_interval95.map(Option::unwrap);
        (high / low).ln()
    };
    let new = width(blend);
    for effect in &blend.lots.as_ref().unwrap().effects {
        let own = blend.for_lot(&effect.lot).unwrap();
        assert!(width(&own) < new, "{}", effect.lot);
    }
    let answer = heat_time(blend, &question()).unwrap();
    assert!(
        answer.contributions["lot"] > 0.3,
        "{:?}",
        answer.contributions
    );
    assert!(matches!(
        blend.for_lot("L99"),
        Err(FitError::UnknownLot { .. })
    ));
}

/// Lots that may never reach the force count as later than all: the upper end is open, and nothing
/// is dropped.
#[test]
fn a_lot_that_never_reaches_the_force_is_later_than_all() {
    let calibration = fitted(&table(3, 0.05, 2));
    let blend = &calibration.blends[0];
    let setting = blend.setting().unwrap();
    // A limit just under what the typical plateau needs: half of all new lots stay under it.
    let needle = NeedleUsed::of_gauge(29, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    let setup = PushSetup::with_needle(NeedleUsed {
        bore_tolerance_m: None,
        ..needle
    })
    .unwrap();
    let plateau = setting.firmness.plateau();
    let conditions = setup.conditions().unwrap();
    let most = heatset::flow::push(
        &heatset::flow::FlowCurve::newtonian(plateau).unwrap(),
        &conditions,
    )
    .plunger_force_n;
    assert!(
        most > 200.0,
        "a Newtonian plateau is far above any hand: {most}"
    );
    let wide = NeedleUsed::of_bore(0.5e-3, None, 13e-3).unwrap();
    let setup = setup.through(wide);
    let most = heatset::flow::push(
        &heatset::flow::FlowCurve::newtonian(plateau).unwrap(),
        &setup.conditions().unwrap(),
    )
    .plunger_force_n;
    let asked = TimeQuestion {
        setup: PushSetup {
            force_limit_n: 0.98 * most,
            ..setup
        },
        ..question()
    };
    let answer = heat_time(blend, &asked).unwrap();
    assert_eq!(answer.heat_time_s_interval95[1], None);
    assert!(answer.heat_time_s_interval95[0].is_some());
}

#[test]
fn lots_that_are_not_named_throughout_are_fitted_as_one_and_said_so() {
    let mut mixed = table(3, 0.05, 6);
    mixed.rows[0].lot = None;
    let calibration = fitted(&mixed);
    let blend = &calibration.blends[0];
    let lots = blend.lots.as_ref().unwrap();
    assert!(!lots.are_separate() && lots.count == 3);
    assert!(blend.warnings.iter().any(|w| w.code == "lots_pooled"));
    let separate = fitted(&table(3, 0.05, 6));
    assert!(
        separate.blends[0]
            .warnings
            .iter()
            .any(|w| w.code == "few_lots")
    );
}

/// A document whose lot was changed by hand into something no fit writes is refused, not drawn from.
#[test]
fn a_spoilt_covariance_of_a_lot_is_refused() {
    let mut calibration = fitted(&table(3, 0.05, 6));
    let lots = calibration.blends[0].lots.as_mut().unwrap();
    lots.effects[1].covariance[0].pop();
    let text = calibration.to_json().unwrap();
    let refused = Calibration::from_json("cal.json", &text).unwrap_err();
    assert!(refused.to_string().contains("lot L01"), "{refused}");
}
