//! A blend that nobody read, between two that were: reckoned by the mixing rule, widened by what the
//! rule may be off, refused outside.
#![allow(clippy::unwrap_used, missing_docs)]

mod support;

use heatset::fit::{
    Calibration, FitError, FitOptions, MIXING_DOUBT_RATIO, ParameterName, calibrate,
};
use heatset::kinetics::{FirmnessLaw, SettingModel};
use heatset::plan::{NeedleUsed, PushDoubts, PushSetup, StatedThinning, force_curve};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::reference::{BoreBasis, Wall};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use support::{exact_rows, log_setting};

/// Viscosity of glycerol-water at 20 °C in mPa s by mass per cent of glycerol: table of Segur &
/// Oberstar 1951, Ind. Eng. Chem. 43, 2117, as reprinted in handbooks (from memory).
const GLYCEROL_20C: [(f64, f64); 7] = [
    (0.0, 1.005),
    (10.0, 1.31),
    (20.0, 1.76),
    (30.0, 2.50),
    (40.0, 3.72),
    (50.0, 6.00),
    (100.0, 1412.0),
];

fn blend_rows(name: &str, fraction: f64, setting: &SettingModel, scatter: f64) -> BenchTable {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let rows: Vec<(f64, f64, f64)> = exact_rows(setting)
        .into_iter()
        .map(|(kelvin, time_s, reading)| {
            let z: f64 = StandardNormal.sample(&mut random);
            (kelvin, time_s, reading * (scatter * z).exp())
        })
        .collect();
    let mut table = support::bench(ReadingKind::Viscosity, &rows);
    for row in &mut table.rows {
        row.blend = Some(name.to_owned());
        row.ha_fraction = Some(fraction);
    }
    table
}

fn calibration(scatter: f64, parts: &[(&str, f64, SettingModel)]) -> Calibration {
    let options = FitOptions {
        law: Some(FirmnessLaw::Log),
        ..FitOptions::default()
    };
    let mut whole: Option<Calibration> = None;
    for (name, fraction, setting) in parts {
        let one = calibrate(&blend_rows(name, *fraction, setting, scatter), &options).unwrap();
        match &mut whole {
            None => whole = Some(one),
            Some(whole) => whole.blends.extend(one.blends),
        }
    }
    whole.unwrap()
}

fn usual(scatter: f64) -> Calibration {
    calibration(
        scatter,
        &[
            ("plain", 0.0, log_setting(6e-3, 250e3, 1.6e-3, 12.0)),
            ("ha-20", 0.2, log_setting(5e-3, 270e3, 40e-3, 30.0)),
            ("ha-40", 0.4, log_setting(4e-3, 275e3, 400e-3, 60.0)),
        ],
    )
}

#[test]
fn published_mixtures_stay_within_the_doubt_of_the_mixing_rule() {
    // Every triple of the table: what the middle one is off the straight line on the logarithm,
    // against what is allowed for where it lies.
    for (i, (low, first)) in GLYCEROL_20C.iter().enumerate() {
        for (j, (middle, between)) in GLYCEROL_20C.iter().enumerate().skip(i + 1) {
            for (high, second) in GLYCEROL_20C.iter().skip(j + 1) {
                let weight = (middle - low) / (high - low);
                let line = (1.0 - weight) * first.ln() + weight * second.ln();
                let off = (between.ln() - line).abs();
                let allowed =
                    MIXING_DOUBT_RATIO * 4.0 * weight * (1.0 - weight) * (second.ln() - first.ln());
                assert!(off <= allowed, "{low} {middle} {high}: {off} {allowed}");
            }
        }
    }
    // Hyaluronic acid: ten times the viscosity for twice the concentration (Bothner & Wik 1987),
    // over a solvent ten thousand times thinner.
    let viscosity = |share: f64| 1e-4 + share.powf(10_f64.log2());
    let (first, second) = (viscosity(0.0).ln(), viscosity(1.0).ln());
    for percent in 5..100 {
        let weight = f64::from(percent) / 100.0;
        let off = (viscosity(weight).ln() - (first + weight * (second - first))).abs();
        let allowed = MIXING_DOUBT_RATIO * 4.0 * weight * (1.0 - weight) * (second - first);
        assert!(off <= allowed, "{weight}: {off} {allowed}");
    }
}

#[test]
fn a_measured_fraction_is_that_blend_itself() {
    let calibration = usual(0.05);
    let own = calibration.blend_at(0.2).unwrap();
    assert_eq!(&own, calibration.blend(Some("ha-20")).unwrap());
}

#[test]
fn half_way_the_logarithms_are_half_way_and_the_intervals_wider_than_either() {
    let calibration = usual(0.05);
    let middle = calibration.blend_at(0.1).unwrap();
    let (plain, ha) = (&calibration.blends[0], &calibration.blends[1]);
    for name in [ParameterName::Initial, ParameterName::Plateau] {
        let at = |blend: &heatset::fit::BlendCalibration| blend.parameter(name).unwrap().clone();
        let geometric = (at(plain).estimate * at(ha).estimate).sqrt();
        assert!((at(&middle).estimate / geometric - 1.0).abs() < 1e-12);
        let [a, b, here] = [at(plain), at(ha), at(&middle)].map(|p| p.std_error.unwrap());
        // By hand: half of both variances, and the rule's rectangular doubt of 0.35 of the span.
        let rule = 0.35 / 3_f64.sqrt() * (at(ha).estimate / at(plain).estimate).ln();
        let by_hand = (0.5 * a * a + 0.5 * b * b + rule * rule).sqrt();
        assert!((here / by_hand - 1.0).abs() < 1e-12, "{here} {by_hand}");
        assert!(here > a && here > b);
    }
    // The rate is mixed at one temperature: by the Arrhenius law of each, at 80 °C.
    let rate =
        |blend: &heatset::fit::BlendCalibration| blend.setting().unwrap().rate.rate_per_s(353.15);
    let expected = (rate(plain) * rate(ha)).sqrt();
    assert!((rate(&middle) / expected - 1.0).abs() < 1e-9);
    assert!(middle.readings.is_empty());
    assert!(middle.warnings.iter().any(|w| w.code == "blend_between"));
}

#[test]
fn the_variance_between_is_never_less_than_either_share_allows() {
    // Var((1-w) X + w Y) is at most (1-w) Var X + w Var Y, however X and Y hang together; here with
    // complete dependence, in every direction of the parameters.
    let calibration = usual(0.08);
    let (plain, ha) = (&calibration.blends[0], &calibration.blends[1]);
    let middle = calibration.blend_at(0.05).unwrap();
    let free = plain.free_parameters().len();
    for direction in 0..1 << free {
        let sign = |place: usize| {
            if direction >> place & 1 == 1 {
                1.0
            } else {
                -1.0
            }
        };
        let variance = |blend: &heatset::fit::BlendCalibration| -> f64 {
            (0..free)
                .flat_map(|i| (0..free).map(move |j| (i, j)))
                .map(|(i, j)| sign(i) * sign(j) * blend.covariance[i][j])
                .sum()
        };
        let sd = 0.75 * variance(plain).sqrt() + 0.25 * variance(ha).sqrt();
        assert!(variance(&middle) >= sd * sd * (1.0 - 1e-12));
    }
}

#[test]
fn the_force_between_lies_between_with_a_wider_band() {
    let calibration = usual(0.05);
    let needle = NeedleUsed::of_gauge(25, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    // The doubt of blend and readings alone.
    let setup = PushSetup {
        doubts: PushDoubts::NONE,
        ..PushSetup::with_needle(needle).unwrap()
    };
    let force = |blend: &heatset::fit::BlendCalibration| {
        force_curve(
            blend,
            &setup,
            StatedThinning::default(),
            None,
            353.15,
            &[600.0],
            2000,
            1,
        )
        .unwrap()[0]
    };
    let (plain, ha) = (force(&calibration.blends[0]), force(&calibration.blends[1]));
    let middle = force(&calibration.blend_at(0.1).unwrap());
    assert!(plain.plunger_force_n < middle.plunger_force_n);
    assert!(middle.plunger_force_n < ha.plunger_force_n);
    let width = |point: &heatset::plan::ForcePoint| {
        let [low, high] = point.interval95_n.unwrap();
        ((high - 2.0) / (low - 2.0)).ln()
    };
    assert!(width(&middle) > 1.2 * width(&plain) && width(&middle) > 1.2 * width(&ha));
}

#[test]
fn outside_the_measured_fractions_nothing_is_answered() {
    let calibration = usual(0.05);
    for asked in [0.41, 1.0] {
        let refused = calibration.blend_at(asked).unwrap_err();
        assert!(matches!(refused, FitError::FractionOutside { .. }));
        let words = refused.to_string();
        assert!(words.contains("0 to 0.4 was measured"), "{words}");
        assert!(words.contains("What helps"));
    }
    let mut one = calibration.clone();
    one.blends.truncate(1);
    assert!(one.blend_at(0.1).is_err());
    let mut unknown = calibration;
    for blend in &mut unknown.blends {
        blend.ha_fraction = None;
    }
    let words = unknown.blend_at(0.1).unwrap_err().to_string();
    assert!(words.contains("ha_fraction"), "{words}");
}

#[test]
fn neighbours_that_were_not_fitted_alike_are_refused_with_what_would_mend_it() {
    let mut calibration = usual(0.05);
    calibration.blends[1].law = FirmnessLaw::Linear;
    let words = calibration.blend_at(0.1).unwrap_err().to_string();
    assert!(words.contains("--law log"), "{words}");
    let mut twice = usual(0.05);
    twice.blends[1].ha_fraction = Some(0.0);
    assert!(matches!(
        twice.blend_at(0.1).unwrap_err(),
        FitError::TwoBlendsAtFraction { .. }
    ));
    let mut apart = usual(0.05);
    apart.blends[0].read_temp_k = Some(295.15);
    apart.blends[1].read_temp_k = Some(310.15);
    assert!(apart.blend_at(0.1).unwrap_err().to_string().contains("3 K"));
}
