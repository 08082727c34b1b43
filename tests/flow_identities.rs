//! What must hold between the functions of flow, over random needles, pushes and curves.

// the helpers of a test may fail it
#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use heatset::flow::pipe::{
    apparent_shear_rate_per_s, flow_rate_m3_per_s, pressure_drop_pa, wall_shear_stress_pa,
    wall_state,
};
use heatset::flow::{
    CarreauYasuda, FlowCurve, FlowError, PushConditions, PushInputs, consistency_for_force,
    pressure_for_force, push, viscosity_for_force, viscosity_from_force,
};
use proptest::prelude::*;

fn carreau(values: (f64, f64, f64, f64, f64)) -> FlowCurve {
    let (zero, infinite, time, flow_index, transition_index) = values;
    FlowCurve::CarreauYasuda(CarreauYasuda {
        zero_shear_viscosity_pa_s: zero,
        infinite_shear_viscosity_pa_s: infinite,
        time_constant_s: time,
        flow_index,
        transition_index,
    })
    .checked()
    .unwrap()
}

// ---- properties ----------------------------------------------------------------------------

fn decades(from: f64, to: f64) -> impl Strategy<Value = f64> {
    (from.log10()..to.log10()).prop_map(|power| 10f64.powf(power))
}

fn any_push() -> impl Strategy<Value = PushInputs> {
    (
        decades(0.05e-3, 3e-3),
        decades(4e-3, 0.1),
        decades(3e-3, 0.03),
        decades(1e-11, 1e-6),
        0.0..10.0,
        0.0..20e3,
        any::<bool>(),
    )
        .prop_map(
            |(bore, length, barrel, flow, friction, tissue, ends)| PushInputs {
                bore_m: bore,
                length_m: length,
                barrel_bore_m: barrel,
                flow_rate_m3_per_s: flow,
                friction_n: friction,
                tissue_pressure_pa: tissue,
                density_kg_per_m3: 1025.0,
                include_end_losses: ends,
            },
        )
}

fn any_curve() -> impl Strategy<Value = FlowCurve> {
    let viscosity = || decades(1e-3, 1e3);
    let index = || 0.05..2.0;
    prop_oneof![
        viscosity().prop_map(|eta| FlowCurve::newtonian(eta).unwrap()),
        (viscosity(), index()).prop_map(|(k, n)| FlowCurve::power_law(k, n).unwrap()),
        (decades(1e-2, 1e4), viscosity()).prop_map(|(y, mu)| FlowCurve::bingham(y, mu).unwrap()),
        (decades(1e-2, 1e4), viscosity(), index())
            .prop_map(|(y, k, n)| FlowCurve::herschel_bulkley(y, k, n).unwrap()),
        (
            viscosity(),
            0.0..1.0,
            decades(1e-4, 1e2),
            0.1..1.0,
            0.5..10.0
        )
            .prop_map(|(eta, share, time, n, a)| carreau((eta, share * eta, time, n, a))),
    ]
}

proptest! {
    #[test]
    fn flow_rate_and_pressure_turn_each_other_round(curve in any_curve(), inputs in any_push()) {
        let tube = PushConditions::new(inputs).unwrap().tube();
        let pressure_pa = pressure_drop_pa(&curve, tube, inputs.flow_rate_m3_per_s);
        prop_assert!(pressure_pa.is_finite() && pressure_pa > 0.0);
        // a pressure hardly above the yield value does not hold the digits of the flow
        let stress_pa = wall_shear_stress_pa(tube, pressure_pa);
        let above = (stress_pa - curve.yield_stress_pa()) / stress_pa;
        prop_assume!(above > 1e-4);
        let back = flow_rate_m3_per_s(&curve, tube, pressure_pa);
        prop_assert!((back / inputs.flow_rate_m3_per_s - 1.0).abs() < 1e-8);
    }

    #[test]
    fn the_wall_lies_on_the_flow_curve(curve in any_curve(), inputs in any_push()) {
        let flow = push(&curve, &PushConditions::new(inputs).unwrap());
        let on_curve_pa = curve.shear_stress_pa(flow.wall_shear_rate_per_s);
        prop_assert!((on_curve_pa / flow.wall_shear_stress_pa - 1.0).abs() < 1e-9);
        let viscosity = curve.viscosity_pa_s(flow.wall_shear_rate_per_s);
        prop_assert!((viscosity / flow.apparent_viscosity_pa_s - 1.0).abs() < 1e-9);
    }

    #[test]
    fn every_curve_obeys_rabinowitsch(curve in any_curve(), inputs in any_push()) {
        // g_w = 3 G + tau_w dG/dtau_w (G = Q/(pi R^3)), by a central difference of the
        // flow rate; Bird, Armstrong & Hassager 1987, equation 10.2-4 (number from memory)
        let tube = PushConditions::new(inputs).unwrap().tube();
        let wall = wall_state(&curve, tube.bore_m, inputs.flow_rate_m3_per_s);
        let excess = 1.0 - curve.yield_stress_pa() / wall.shear_stress_pa;
        prop_assume!(excess > 1e-2);
        let pressure_pa = pressure_drop_pa(&curve, tube, inputs.flow_rate_m3_per_s);
        let step = 1e-5 * excess;
        let reduced = |factor: f64| {
            flow_rate_m3_per_s(&curve, tube, factor * pressure_pa) / (PI * tube.radius_m().powi(3))
        };
        let slope = (reduced(1.0 + step) - reduced(1.0 - step)) / (2.0 * step);
        let rate = 3.0 * reduced(1.0) + slope;
        prop_assert!((rate / wall.shear_rate_per_s - 1.0).abs() < 1e-5);
    }

    #[test]
    fn a_power_law_of_index_1_is_newtonian(eta in decades(1e-3, 1e3), inputs in any_push()) {
        let conditions = PushConditions::new(inputs).unwrap();
        let newtonian = push(&FlowCurve::newtonian(eta).unwrap(), &conditions);
        for offset in [0.0, 1e-9, -1e-9] {
            let near = push(&FlowCurve::power_law(eta, 1.0 + offset).unwrap(), &conditions);
            let ratio = near.plunger_force_n / newtonian.plunger_force_n;
            prop_assert!((ratio - 1.0).abs() < 1e-7);
        }
    }

    #[test]
    fn a_curve_without_its_yield_stress_is_the_simpler_curve(
        k in decades(1e-3, 1e3),
        n in 0.05..2.0,
        inputs in any_push(),
    ) {
        let stress = |curve: Result<FlowCurve, FlowError>| {
            wall_state(&curve.unwrap(), inputs.bore_m, inputs.flow_rate_m3_per_s).shear_stress_pa
        };
        let power_law = stress(FlowCurve::power_law(k, n));
        prop_assert!((stress(FlowCurve::herschel_bulkley(0.0, k, n)) / power_law - 1.0).abs() < 1e-11);
        let newtonian = stress(FlowCurve::newtonian(k));
        prop_assert!((stress(FlowCurve::bingham(0.0, k)) / newtonian - 1.0).abs() < 1e-11);
        let bingham = stress(FlowCurve::bingham(10.0, k));
        let same = stress(FlowCurve::herschel_bulkley(10.0, k, 1.0));
        prop_assert!((same / bingham - 1.0).abs() < 1e-13);
    }

    #[test]
    fn carreau_yasuda_runs_from_newtonian_to_the_power_law(n in 0.1..1.0, a in 0.5..10.0) {
        // far under and far over the bend at 1/lambda
        let bore_m = 1e-3;
        let flow = |rate: f64| rate * PI * bore_m * bore_m * bore_m / 32.0;
        let curve = carreau((5.0, 0.0, 1.0, n, a));
        let slow = wall_state(&curve, bore_m, flow(1e-25)).shear_stress_pa;
        prop_assert!((slow / (5.0 * 1e-25) - 1.0).abs() < 1e-9);
        let power_law = FlowCurve::power_law(5.0, n).unwrap();
        let fast = wall_state(&curve, bore_m, flow(1e25)).shear_stress_pa;
        let expected = wall_state(&power_law, bore_m, flow(1e25)).shear_stress_pa;
        prop_assert!((fast / expected - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_viscosity_for_a_force_needs_that_force(
        force in 21.0..200.0,
        n in 0.05..2.0,
        reference in decades(0.1, 1e4),
        inputs in any_push(),
    ) {
        let conditions = PushConditions::new(inputs).unwrap();
        // tissue and ends may take the whole force in a wide barrel
        prop_assume!(pressure_for_force(&conditions, force).is_ok());
        let viscosity = viscosity_for_force(&conditions, n, reference, force).unwrap();
        let curve = FlowCurve::power_law_through(viscosity, reference, n).unwrap();
        let back = push(&curve, &conditions).plunger_force_n;
        prop_assert!((back / force - 1.0).abs() < 1e-9);
        let consistency = consistency_for_force(&conditions, n, force).unwrap();
        let curve = FlowCurve::power_law(consistency, n).unwrap();
        prop_assert!((push(&curve, &conditions).plunger_force_n / force - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_reading_gives_back_the_viscosity(
        eta in decades(1e-3, 1e3),
        friction_ratio in 0.0..100.0,
        inputs in any_push(),
    ) {
        let curve = FlowCurve::newtonian(eta).unwrap();
        let bare = PushInputs {
            friction_n: 0.0,
            tissue_pressure_pa: 0.0,
            include_end_losses: false,
            ..inputs
        };
        // friction up to a hundred times what the gel itself takes
        let gel_n = push(&curve, &PushConditions::new(bare).unwrap()).plunger_force_n;
        let rubbing = PushInputs { friction_n: friction_ratio * gel_n, ..bare };
        let conditions = PushConditions::new(rubbing).unwrap();
        let force_n = push(&curve, &conditions).plunger_force_n;
        let reading = viscosity_from_force(&conditions, force_n).unwrap();
        prop_assert!((reading.viscosity_pa_s / eta - 1.0).abs() < 1e-11);
        let rate = apparent_shear_rate_per_s(inputs.bore_m, inputs.flow_rate_m3_per_s);
        prop_assert!((reading.wall_shear_rate_per_s / rate - 1.0).abs() < 1e-12);
    }

    #[test]
    fn more_flow_more_length_or_a_narrower_bore_need_more_force(
        curve in any_curve(),
        inputs in any_push(),
        factor in 1.01..10.0,
    ) {
        let pressure = |inputs| push(&curve, &PushConditions::new(inputs).unwrap()).pressure_pa;
        let base = pressure(inputs);
        // a stress hardly above the yield stress moves by less than its last digit
        let faster = PushInputs { flow_rate_m3_per_s: factor * inputs.flow_rate_m3_per_s, ..inputs };
        prop_assert!(pressure(faster) >= base * (1.0 - 1e-12));
        let longer = pressure(PushInputs { length_m: factor * inputs.length_m, ..inputs });
        let narrower = pressure(PushInputs { bore_m: inputs.bore_m / factor, ..inputs });
        prop_assert!(longer > base);
        prop_assert!(narrower > base);
    }
}
