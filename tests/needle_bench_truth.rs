//! The invented needle bench: it is what its generator makes, and convert and fit find its truth.
#![cfg(feature = "tables")]
#![allow(clippy::unwrap_used)]

#[allow(dead_code, missing_docs)]
#[path = "../data/make_needle_bench.rs"]
mod make_needle_bench;

use heatset::fit::{ErrorModel, FitOptions, ParameterName, calibrate};
use heatset::kinetics::FirmnessLaw;
use heatset::readings::{BoreSource, ReadingKind, read_bench_text};

const TABLE: &str = include_str!("../data/needle_bench.csv");
const TRUTH: &str = include_str!("../data/needle_bench_truth.json");

fn truth(key: &str) -> f64 {
    let truth: serde_json::Value = serde_json::from_str(TRUTH).unwrap();
    truth[key].as_f64().unwrap()
}

#[test]
fn the_committed_bench_is_what_its_generator_makes() {
    let (table, truth) = make_needle_bench::texts().unwrap();
    assert_eq!(table, TABLE);
    assert_eq!(truth, TRUTH);
}

#[test]
fn conversion_finds_bore_and_friction_within_their_uncertainty() {
    let readings = read_bench_text("needle_bench.csv", TABLE.as_bytes())
        .unwrap()
        .viscosity_readings()
        .unwrap();
    let bore = &readings.bores[0];
    assert_eq!(bore.source, BoreSource::KnownLiquid);
    assert!((bore.bore_m - truth("bore_m")).abs() < 2.0 * bore.sd_m);
    let friction = &readings.frictions[0];
    assert!((friction.friction_n - truth("friction_N")).abs() < 2.0 * friction.sd_n);
    assert!(
        readings
            .readings
            .iter()
            .all(|one| one.local_slope.is_some())
    );
}

#[test]
fn the_fit_covers_the_known_truth() {
    let table = read_bench_text("needle_bench.csv", TABLE.as_bytes()).unwrap();
    assert!(table.invented, "the comment line must travel");
    let common_ratio = table
        .viscosity_readings()
        .unwrap()
        .readings
        .iter()
        .map(|one| one.common_parts.total_ratio())
        .fold(0.0, f64::max);
    for errors in [ErrorModel::Relative, ErrorModel::Given] {
        let fitted = calibrate(
            &table,
            &FitOptions {
                errors,
                ..FitOptions::default()
            },
        )
        .unwrap();
        assert!(fitted.invented);
        let blend = fitted.blend(None).unwrap();
        assert_eq!(blend.reading, ReadingKind::RunTime);
        assert_eq!(blend.law, FirmnessLaw::Log);
        assert_eq!(blend.reference_temp_k, truth("reference_temp_K"));
        assert!(blend.answers_pushes());
        // What sets the pace and how far the gel thins do not hang on the bore.
        for name in [
            ParameterName::RateRef,
            ParameterName::ActivationEnergy,
            ParameterName::FlowIndexPlateau,
        ] {
            let [low, high] = blend.parameter(name).unwrap().ci95.unwrap();
            let value = truth(name.as_str());
            assert!(
                low <= value && value <= high,
                "{errors:?} {name}: {value} not in {low} to {high}"
            );
        }
        // Initial and plateau hold at the bench's own rate, and shift with what readings share: the
        // truth is carried to that rate along its power law.
        let rate = blend.reference_shear_rate_per_s.unwrap();
        let carried =
            (rate / truth("reference_shear_rate_per_s")).powf(truth("flow_index_plateau") - 1.0);
        for (name, value) in [
            (ParameterName::Initial, truth("initial")),
            (ParameterName::Plateau, truth("plateau") * carried),
        ] {
            let [low, high] = blend.parameter(name).unwrap().ci95.unwrap();
            let shared = (2.0 * common_ratio).exp();
            assert!(
                low / shared <= value && value <= high * shared,
                "{errors:?} {name}: {value} not in {low} to {high} and {shared}"
            );
        }
    }
}
