//! Laws fitted to published flow curves.

// the helpers of a test may fail it
#![allow(clippy::unwrap_used)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::fit::flow_curve::{
    CurveFit, CurveFitError, CurveFitOptions, CurveModel, ShearErrors, fit_curve,
};
use heatset::flow::{FlowCurve, ShearPoint, parse_curve};
use proptest::prelude::*;

/// Carbomer gel at 20, 30, 40 C and a protein-stabilised emulsion by volume fraction (Dinkgreve
/// et al. 2015, figure 2), and a linear polymer solution: PyPI rheopy-rheodata 0.1.1, MIT
/// licence.
const CARBOMER: &str = include_str!("data/flow_carbomer.csv");
const EMULSION: &str = include_str!("data/flow_protein_emulsion.csv");
const POLYMER: &str = include_str!("data/flow_linear_polymer.csv");

fn points(text: &str, sample: &str) -> Vec<ShearPoint> {
    let table = parse_curve("published.csv", text).unwrap();
    let sample = table
        .samples
        .iter()
        .find(|known| known.name.as_deref() == Some(sample))
        .unwrap();
    sample.rows.iter().map(|row| row.point).collect()
}

fn fit(text: &str, sample: &str, model: Option<CurveModel>, errors: ShearErrors) -> CurveFit {
    let options = CurveFitOptions {
        model,
        errors,
        ..CurveFitOptions::default()
    };
    fit_curve(&points(text, sample), &options).unwrap()
}

fn estimates(fit: &CurveFit) -> Vec<f64> {
    fit.chosen.parameters.iter().map(|p| p.estimate).collect()
}

#[test]
fn published_gels_have_their_herschel_bulkley_values() {
    // scipy 1.17 least_squares on relative residuals (law - reading)/reading, as printed
    for (text, sample, expected, digits) in [
        (
            CARBOMER,
            "T_20",
            [8.071, 102.8, 0.5229],
            [0.0005, 0.05, 0.00005],
        ),
        (
            CARBOMER,
            "T_30",
            [6.58, 66.11, 0.5166],
            [0.005, 0.005, 0.00005],
        ),
        (
            CARBOMER,
            "T_40",
            [5.549, 43.74, 0.5167],
            [0.0005, 0.005, 0.00005],
        ),
        (
            EMULSION,
            "phi_0.68",
            [1.926, 2.119, 0.6406],
            [0.0005, 0.0005, 0.00005],
        ),
        (
            EMULSION,
            "phi_0.72",
            [6.169, 4.687, 0.5914],
            [0.0005, 0.0005, 0.00005],
        ),
        (
            EMULSION,
            "phi_0.8",
            [45.58, 9.844, 0.6272],
            [0.005, 0.0005, 0.00005],
        ),
    ] {
        let model = Some(CurveModel::HerschelBulkley);
        let found = estimates(&fit(text, sample, model, ShearErrors::Relative));
        for ((found, expected), half_digit) in found.iter().zip(expected).zip(digits) {
            assert_abs_diff_eq!(*found, expected, epsilon = half_digit);
        }
    }
}

#[test]
fn on_logarithms_the_same_gel_has_a_little_other_values() {
    // scipy 1.17 least_squares on ln(law/reading): which residual is asked matters in the
    // third digit
    let model = Some(CurveModel::HerschelBulkley);
    let found = estimates(&fit(CARBOMER, "T_20", model, ShearErrors::Log));
    for (found, expected) in found.iter().zip([
        8.093_508_128_724_848,
        102.790_067_694_014_75,
        0.523_159_758_922_486_2,
    ]) {
        assert_relative_eq!(*found, expected, max_relative = 1e-7);
    }
}

#[test]
fn a_published_polymer_has_its_carreau_yasuda_values() {
    // scipy 1.17 least_squares on ln(law/reading), eta_inf 0: eta_0 2.1054 Pa.s, lambda
    // 0.10199 s, n 0.29946, a 0.86407
    let model = Some(CurveModel::CarreauYasuda);
    let found = estimates(&fit(POLYMER, "linear_polymer", model, ShearErrors::Log));
    for ((found, expected), half_digit) in found
        .iter()
        .zip([2.1054, 0.10199, 0.29946, 0.86407])
        .zip([0.00005, 0.000005, 0.000005, 0.000005])
    {
        assert_abs_diff_eq!(*found, expected, epsilon = half_digit);
    }
    // on relative residuals (scipy as well): 2.10465, 0.102006, 0.299547, 0.864537
    let found = estimates(&fit(
        POLYMER,
        "linear_polymer",
        model,
        ShearErrors::Relative,
    ));
    for (found, expected) in found.iter().zip([
        2.104_646_847,
        0.102_005_813_2,
        0.299_547_302_3,
        0.864_536_967_5,
    ]) {
        assert_relative_eq!(*found, expected, max_relative = 1e-6);
    }
}

#[test]
fn among_the_laws_the_published_ones_are_chosen() {
    // gels: Herschel-Bulkley (Dinkgreve et al. 2015); the polymer has no yield stress
    for (text, sample, model) in [
        (CARBOMER, "T_20", CurveModel::HerschelBulkley),
        (EMULSION, "phi_0.72", CurveModel::HerschelBulkley),
        (POLYMER, "linear_polymer", CurveModel::CarreauYasuda),
    ] {
        let found = fit(text, sample, None, ShearErrors::Relative);
        assert_eq!(
            found.chosen.model, model,
            "{sample}: {:?}",
            found.candidates
        );
        assert_eq!(found.candidates.len(), CurveModel::ALL.len());
        let weights: f64 = found.candidates.iter().filter_map(|c| c.weight).sum();
        assert_abs_diff_eq!(weights, 1.0, epsilon = 1e-9);
    }
}

#[test]
fn a_straight_line_has_the_standard_errors_of_the_textbook() {
    // Bingham on absolute errors is the straight line of stress on rate. Ordinary least
    // squares by hand for rates 1, 2, 3, 4 and stresses 3, 5, 6, 8: slope 1.6, intercept 1.5,
    // RSS 0.2, s^2 0.1, se(slope) = sqrt(0.1/5), se(intercept) = sqrt(0.1 (1/4 + 2.5^2/5))
    let readings =
        [(1.0, 3.0), (2.0, 5.0), (3.0, 6.0), (4.0, 8.0)].map(|(rate, stress)| ShearPoint {
            shear_rate_per_s: rate,
            shear_stress_pa: stress,
        });
    let options = CurveFitOptions {
        model: Some(CurveModel::Bingham),
        errors: ShearErrors::Absolute,
        ..CurveFitOptions::default()
    };
    let found = fit_curve(&readings, &options).unwrap().chosen;
    assert_relative_eq!(found.weighted_rss, 0.2, max_relative = 1e-9);
    let [yield_stress, viscosity] = [&found.parameters[0], &found.parameters[1]];
    assert_relative_eq!(yield_stress.estimate, 1.5, max_relative = 1e-9);
    assert_relative_eq!(viscosity.estimate, 1.6, max_relative = 1e-9);
    assert_relative_eq!(
        yield_stress.std_error.unwrap(),
        (0.1_f64 * (0.25 + 6.25 / 5.0)).sqrt(),
        max_relative = 1e-6
    );
    // searched as a logarithm: the relative error
    assert_relative_eq!(
        viscosity.std_error.unwrap(),
        (0.1_f64 / 5.0).sqrt() / 1.6,
        max_relative = 1e-6
    );
    // Student's t with 2 degrees of freedom: 4.303 (NIST e-Handbook 1.3.6.7.2)
    let half_width = yield_stress.ci95.unwrap()[1] - yield_stress.estimate;
    assert_relative_eq!(
        half_width / yield_stress.std_error.unwrap(),
        4.303,
        max_relative = 1e-3
    );
}

#[test]
fn a_gel_without_a_yield_stress_is_told_so() {
    // 5 rate^0.8 falls below any straight line through it at rest: the line's constant would
    // be negative for a thickening curve
    let readings: Vec<ShearPoint> = (1..10)
        .map(|i| ShearPoint {
            shear_rate_per_s: f64::from(i),
            shear_stress_pa: 5.0 * f64::from(i).powf(1.4),
        })
        .collect();
    let options = CurveFitOptions {
        model: Some(CurveModel::Bingham),
        ..CurveFitOptions::default()
    };
    let refused = fit_curve(&readings, &options).unwrap_err();
    let message = refused.to_string();
    assert!(message.contains("no yield stress shows"), "{message}");
    assert!(message.contains("What helps:"), "{message}");
}

#[test]
fn what_is_no_table_of_readings_is_refused() {
    let point = |rate, stress| ShearPoint {
        shear_rate_per_s: rate,
        shear_stress_pa: stress,
    };
    let options = CurveFitOptions::default();
    assert!(matches!(
        fit_curve(&[point(1.0, 1.0)], &options),
        Err(CurveFitError::TooFewRows {
            rows: 1,
            needed: 2,
            ..
        })
    ));
    assert!(matches!(
        fit_curve(&[point(1.0, 1.0), point(1.0, 1.1)], &options),
        Err(CurveFitError::OneShearRate { .. })
    ));
    for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(
            fit_curve(&[point(1.0, 1.0), point(wrong, 1.1)], &options),
            Err(CurveFitError::UnusableReading { reading: 2, .. })
        ));
    }
}

proptest! {
    #[test]
    fn readings_on_a_law_give_that_law_back(
        yield_stress in 1.0..100.0,
        consistency in 0.1..50.0,
        index in 0.2..1.2,
    ) {
        let law = FlowCurve::herschel_bulkley(yield_stress, consistency, index).unwrap();
        let readings: Vec<ShearPoint> = (0..25)
            .map(|i| {
                let rate = 10f64.powf(-2.0 + 0.2 * f64::from(i));
                ShearPoint { shear_rate_per_s: rate, shear_stress_pa: law.shear_stress_pa(rate) }
            })
            .collect();
        let options = CurveFitOptions {
            model: Some(CurveModel::HerschelBulkley),
            ..CurveFitOptions::default()
        };
        let fit = fit_curve(&readings, &options).unwrap();
        let found = estimates(&fit);
        for (found, truth) in found.iter().zip([yield_stress, consistency, index]) {
            prop_assert!((found / truth - 1.0).abs() < 1e-6, "{found} {truth}");
        }
    }
}
