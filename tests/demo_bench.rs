//! The invented demo bench: it is what its generator makes, and its fit covers its known truth.
#![cfg(feature = "tables")]
#![allow(clippy::unwrap_used)]

#[allow(dead_code, missing_docs)]
#[path = "../data/make_demo_bench.rs"]
mod make_demo_bench;

use heatset::fit::{FitOptions, ParameterName, calibrate};
use heatset::kinetics::FirmnessLaw;
use heatset::readings::read_bench_text;

const TABLE: &str = include_str!("../data/demo_bench.csv");
const TRUTH: &str = include_str!("../data/demo_truth.json");

#[test]
fn the_committed_bench_is_what_its_generator_makes() {
    let (table, truth) = make_demo_bench::texts().unwrap();
    assert_eq!(table, TABLE);
    assert_eq!(truth, TRUTH);
}

#[test]
fn the_fit_covers_the_known_truth() {
    let table = read_bench_text("demo_bench.csv", TABLE.as_bytes()).unwrap();
    assert!(table.invented, "the comment line must travel");
    let fitted = calibrate(&table, &FitOptions::default()).unwrap();
    assert!(fitted.invented);
    let truth: serde_json::Value = serde_json::from_str(TRUTH).unwrap();
    let mut checked = 0;
    for known in truth["blends"].as_array().unwrap() {
        let blend = fitted.blend(known["blend"].as_str()).unwrap();
        assert_eq!(blend.law, FirmnessLaw::Log);
        assert_eq!(
            blend.reference_temp_k,
            known["reference_temp_K"].as_f64().unwrap()
        );
        for name in [
            ParameterName::Initial,
            ParameterName::Plateau,
            ParameterName::RateRef,
            ParameterName::ActivationEnergy,
            ParameterName::FlowIndexPlateau,
        ] {
            let value = known[name.as_str()].as_f64().unwrap();
            let [low, high] = blend.parameter(name).unwrap().ci95.unwrap();
            assert!(
                low <= value && value <= high,
                "{} {name}: {value} not in {low} to {high}",
                blend.blend
            );
            checked += 1;
        }
    }
    assert_eq!(checked, 10);
}
