//! Measured flow curves, and every curve whose tube flow has no closed form, against
//! quadrature of the general integral done here.
//!
//! No published needle force with every input was found for a liquid that thins with
//! shear; that is why quadrature is the judge.

// the helpers of a test may fail it
#![allow(clippy::unwrap_used)]

use approx::assert_relative_eq;
use heatset::flow::pipe::{Tube, flow_rate_m3_per_s, pressure_drop_pa, wall_state};
use heatset::flow::{
    CarreauYasuda, FlowCurve, FlowError, MeasuredCurve, ShearPoint, TubeCurve, parse_curve,
};
use proptest::prelude::*;

/// G = (1/3) [g_w - (1/tau_w^3) integral_0^g_w tau(g)^3 dg] (Bird, Armstrong & Hassager,
/// Dynamics of Polymeric Liquids, vol. 1, 2nd ed., 1987, section 10.2), by a composite Simpson
/// rule in ln g, from where nothing is left; `breaks` are places where the curve is not smooth.
fn general_flow_per_s(curve: &impl TubeCurve, wall_per_s: f64, breaks: &[f64]) -> f64 {
    let wall_pa = curve.shear_stress_pa(wall_per_s);
    let integrand = |ln_rate: f64| {
        let rate = ln_rate.exp();
        (curve.shear_stress_pa(rate) / wall_pa).powi(3) * rate
    };
    let mut ends = vec![wall_per_s.ln() - 45.0];
    ends.extend(breaks.iter().map(|rate| rate.ln()));
    ends.retain(|end| *end < wall_per_s.ln());
    ends.push(wall_per_s.ln());
    ends.sort_by(f64::total_cmp);
    let sum: f64 = ends
        .windows(2)
        .map(|pair| {
            let halves = (((pair[1] - pair[0]) * 100.0).ceil() as u32).max(20);
            let step = (pair[1] - pair[0]) / f64::from(2 * halves);
            let inner: f64 = (1..2 * halves)
                .map(|i| {
                    let weight = if i % 2 == 1 { 4.0 } else { 2.0 };
                    weight * integrand(pair[0] + f64::from(i) * step)
                })
                .sum();
            step / 3.0 * (integrand(pair[0]) + inner + integrand(pair[1]))
        })
        .sum();
    (wall_per_s - sum) / 3.0
}

fn table_of(curve: &FlowCurve, from_per_s: f64, to_per_s: f64, points: u32) -> MeasuredCurve {
    let ratio = (to_per_s / from_per_s).ln() / f64::from(points - 1);
    let points: Vec<ShearPoint> = (0..points)
        .map(|i| {
            let rate = from_per_s * (ratio * f64::from(i)).exp();
            ShearPoint {
                shear_rate_per_s: rate,
                shear_stress_pa: curve.shear_stress_pa(rate),
            }
        })
        .collect();
    MeasuredCurve::new(&points).unwrap()
}

/// A linear polymer solution, 51 readings (PyPI rheopy-rheodata 0.1.1, MIT licence).
fn polymer() -> MeasuredCurve {
    let text = include_str!("data/flow_linear_polymer.csv");
    let table = parse_curve("flow_linear_polymer.csv", text).unwrap();
    table.samples[0].measured_curve(&table.file).unwrap()
}

#[test]
fn between_its_points_the_curve_is_scipys_monotone_cubic() {
    // scipy 1.17 PchipInterpolator of ln stress over ln rate, away from the ends (which differ
    // by intent: ours end in the power law through the last two points)
    let curve = polymer();
    for (rate, stress) in [
        (0.023_472_810_439_045_47, 0.048_889_913_337_858_935),
        (0.117_744_065_228_562_2, 0.240_121_607_537_850_3),
        (1.178_106_062_856_622_7, 2.230_271_380_443_935),
        (11.781_166_863_625_844, 13.090_436_774_117_762),
        (117.811_960_279_829_6, 40.040_472_616_961_24),
    ] {
        assert_relative_eq!(curve.shear_stress_pa(rate), stress, max_relative = 1e-12);
    }
}

#[test]
fn a_measured_curves_wall_obeys_the_general_integral() {
    let curve = polymer();
    let breaks: Vec<f64> = curve.points().iter().map(|p| p.shear_rate_per_s).collect();
    // from under the table to far over it
    for reduced in [1e-4, 1e-2, 0.3, 1.0, 7.0, 100.0, 1e4] {
        let wall = curve.wall_at(reduced);
        let back = general_flow_per_s(&curve, wall.shear_rate_per_s, &breaks);
        assert_relative_eq!(back, reduced, max_relative = 1e-9);
        assert_relative_eq!(
            curve.shear_stress_pa(wall.shear_rate_per_s),
            wall.shear_stress_pa,
            max_relative = 1e-12
        );
        assert_relative_eq!(
            curve.reduced_flow_per_s(wall.shear_stress_pa),
            reduced,
            max_relative = 1e-9
        );
    }
}

#[test]
fn a_table_of_a_power_law_is_that_power_law_inside_and_outside() {
    // straight in logarithms: interpolation and continuation are exact
    for flow_index in [0.2, 0.5, 1.0, 1.4] {
        let law = FlowCurve::power_law(3.0, flow_index).unwrap();
        let table = table_of(&law, 1.0, 1000.0, 7);
        for flow_m3_per_s in [1e-13, 1e-11, 1e-9, 1e-7] {
            let bore_m = 0.3e-3;
            let (found, expected) = (
                wall_state(&table, bore_m, flow_m3_per_s),
                wall_state(&law, bore_m, flow_m3_per_s),
            );
            assert_relative_eq!(
                found.shear_stress_pa,
                expected.shear_stress_pa,
                max_relative = 1e-11
            );
            assert_relative_eq!(
                found.shear_rate_per_s,
                expected.shear_rate_per_s,
                max_relative = 1e-11
            );
        }
    }
}

#[test]
fn a_close_table_of_a_law_pushes_like_the_law() {
    let tube = Tube {
        bore_m: 0.2095e-3,
        length_m: 13e-3,
    };
    let carreau = FlowCurve::CarreauYasuda(CarreauYasuda {
        zero_shear_viscosity_pa_s: 2.1054,
        infinite_shear_viscosity_pa_s: 0.0,
        time_constant_s: 0.10199,
        flow_index: 0.29946,
        transition_index: 0.86407,
    });
    for law in [
        carreau,
        FlowCurve::herschel_bulkley(8.071, 102.8, 0.5229).unwrap(),
    ] {
        let table = table_of(&law, 1e-3, 1e5, 400);
        for flow_m3_per_s in [1e-9, 1e-8, 1e-6 / 60.0] {
            assert_relative_eq!(
                pressure_drop_pa(&table, tube, flow_m3_per_s),
                pressure_drop_pa(&law, tube, flow_m3_per_s),
                max_relative = 1e-6
            );
        }
    }
}

#[test]
fn a_table_tells_by_how_much_the_wall_leaves_it() {
    let curve = table_of(&FlowCurve::newtonian(1.0).unwrap(), 1.0, 100.0, 5);
    assert_eq!(curve.leaves_table(1.0), None);
    assert_eq!(curve.leaves_table(100.0), None);
    let above = curve.leaves_table(40_000.0).unwrap();
    assert!(above.is_above);
    assert_relative_eq!(above.times_outside_ratio(), 400.0, max_relative = 1e-12);
    let below = curve.leaves_table(0.1).unwrap();
    assert!(!below.is_above);
    assert_relative_eq!(below.times_outside_ratio(), 10.0, max_relative = 1e-12);
}

#[test]
fn what_is_no_curve_is_refused() {
    let point = |rate, stress| ShearPoint {
        shear_rate_per_s: rate,
        shear_stress_pa: stress,
    };
    assert_eq!(
        MeasuredCurve::new(&[point(1.0, 1.0)]),
        Err(FlowError::TooFewPoints { points: 1 })
    );
    for (rate, stress) in [
        (1.0, 2.0),
        (0.5, 2.0),
        (2.0, 1.0),
        (2.0, 0.5),
        (f64::NAN, 2.0),
        (2.0, f64::INFINITY),
        (-2.0, 2.0),
    ] {
        let refused = MeasuredCurve::new(&[point(1.0, 1.0), point(rate, stress)]);
        assert!(
            matches!(refused, Err(FlowError::TableDoesNotRise { point: 2, .. })),
            "{rate} {stress}"
        );
    }
    assert!(MeasuredCurve::new(&[point(0.0, 1.0), point(1.0, 2.0)]).is_err());
}

#[test]
fn a_sharp_bend_over_a_little_floor_keeps_its_digits() {
    // found by the search below: a tenth of the viscosity at the wall is floor, and a panel as wide
    // as the power law alone allows lost two digits of the rest
    let (time, reduced) = (17.311_923_960_352_285, 107.168_573_205_712_33);
    let curve = FlowCurve::CarreauYasuda(CarreauYasuda {
        zero_shear_viscosity_pa_s: 5.0,
        infinite_shear_viscosity_pa_s: 5.0 * 0.028_084_112_805_216_294_f64.powi(3),
        time_constant_s: time,
        flow_index: 0.1,
        transition_index: 10.102_605_312_624_902,
    })
    .checked()
    .unwrap();
    let wall = curve.wall_at(reduced);
    let back = general_flow_per_s(&curve, wall.shear_rate_per_s, &[1.0 / time]);
    assert_relative_eq!(back, reduced, max_relative = 1e-10);
}

fn decades(from: f64, to: f64) -> impl Strategy<Value = f64> {
    (from.log10()..to.log10()).prop_map(|power| 10f64.powf(power))
}

proptest! {
    #[test]
    fn every_carreau_yasuda_wall_obeys_the_general_integral(
        share in 0.0..1.0,
        time in decades(1e-3, 1e3),
        n in 0.1..1.0,
        a in 0.3..20.0,
        reduced in decades(1e-3, 1e5),
    ) {
        let curve = FlowCurve::CarreauYasuda(CarreauYasuda {
            zero_shear_viscosity_pa_s: 5.0,
            infinite_shear_viscosity_pa_s: 5.0 * share * share * share,
            time_constant_s: time,
            flow_index: n,
            transition_index: a,
        }).checked().unwrap();
        let wall = curve.wall_at(reduced);
        let back = general_flow_per_s(&curve, wall.shear_rate_per_s, &[1.0 / time]);
        prop_assert!((back / reduced - 1.0).abs() < 1e-9, "{back:e} {reduced:e}");
    }

    #[test]
    fn flow_and_pressure_of_a_table_turn_each_other_round(
        steps in proptest::collection::vec((0.05..3.0, 0.01..2.0), 1..12),
        flow in decades(1e-12, 1e-6),
    ) {
        // any rising table whatever
        let (mut ln_rate, mut ln_stress) = (-3.0_f64, 0.0_f64);
        let mut points = vec![ShearPoint { shear_rate_per_s: ln_rate.exp(), shear_stress_pa: 1.0 }];
        for (width, slope) in steps {
            ln_rate += width;
            ln_stress += width * slope;
            points.push(ShearPoint {
                shear_rate_per_s: ln_rate.exp(),
                shear_stress_pa: ln_stress.exp(),
            });
        }
        let curve = MeasuredCurve::new(&points).unwrap();
        let tube = Tube { bore_m: 0.3e-3, length_m: 13e-3 };
        let pressure = pressure_drop_pa(&curve, tube, flow);
        let back = flow_rate_m3_per_s(&curve, tube, pressure);
        // where the curve is nearly level a stress does not hold the digits of the rate
        let wall = wall_state(&curve, tube.bore_m, flow).shear_rate_per_s;
        let level = (curve.shear_stress_pa(wall * 1.001) / curve.shear_stress_pa(wall)).ln() / 0.001;
        prop_assert!((back / flow - 1.0).abs() < 1e-9 + 1e-13 / level.abs());
    }
}
