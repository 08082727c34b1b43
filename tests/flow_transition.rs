//! Where laminar flow ends, what holds a gel before it flows, and what hub and ends take.

// the helpers of a test may fail it
#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::flow::pipe::{mean_velocity_m_per_s, wall_state};
use heatset::flow::reynolds::{
    critical_reynolds, metzner_reed_reynolds, ryan_johnson_critical_reynolds,
};
use heatset::flow::{
    CarreauYasuda, FlowCurve, FlowWarning, Hub, MeasuredCurve, PushConditions, PushInputs,
    ShearPoint, Tube, hub_loss_pa, push, push_through_hub, warnings, yield_force_n,
};

const DENSITY: f64 = 1250.0;

/// Ryan & Johnson's Z = (rho R/tau_w) max u |du/dr| (AIChE Journal 5, 1959, 433, from memory)
/// of a velocity profile that is integrated here, over the Metzner-Reed number.
fn stability_over_reynolds(curve: &FlowCurve, bore_m: f64, flow_m3_per_s: f64) -> f64 {
    let wall = wall_state(curve, bore_m, flow_m3_per_s);
    let radius_m = 0.5 * bore_m;
    let rate_at = |stress: f64| {
        if stress <= curve.yield_stress_pa() {
            return 0.0;
        }
        let (mut low, mut high) = (1e-12 * wall.shear_rate_per_s, 1.001 * wall.shear_rate_per_s);
        for _ in 0..80 {
            let middle = (low * high).sqrt();
            if curve.shear_stress_pa(middle) < stress {
                low = middle;
            } else {
                high = middle;
            }
        }
        (low * high).sqrt()
    };
    let steps = 4000;
    let step = radius_m / f64::from(steps);
    let (mut velocity, mut most, mut before) = (0.0, 0.0_f64, wall.shear_rate_per_s);
    for i in (0..steps).rev() {
        let rate = rate_at(wall.shear_stress_pa * f64::from(i) / f64::from(steps));
        velocity += 0.5 * step * (rate + before);
        most = most.max(velocity * rate);
        before = rate;
    }
    let mean = mean_velocity_m_per_s(bore_m, flow_m3_per_s);
    let reynolds = metzner_reed_reynolds(DENSITY, mean, wall.shear_stress_pa);
    DENSITY * radius_m / wall.shear_stress_pa * most / reynolds
}

#[test]
fn the_power_laws_limit_has_the_values_of_chhabra_and_richardson() {
    // Non-Newtonian Flow in the Process Industries, 1999, section 3.3 (seen): 2100 for a
    // Newtonian liquid, a maximum of about 2400 at n = 0.4, then 1600 at n = 0.1
    assert_abs_diff_eq!(ryan_johnson_critical_reynolds(1.0), 2100.0, epsilon = 5.0);
    assert_abs_diff_eq!(ryan_johnson_critical_reynolds(0.4), 2400.0, epsilon = 50.0);
    assert_abs_diff_eq!(ryan_johnson_critical_reynolds(0.1), 1600.0, epsilon = 50.0);
    for n in [0.2, 0.3, 0.5, 0.6, 0.8, 1.2] {
        assert!(ryan_johnson_critical_reynolds(n) < ryan_johnson_critical_reynolds(0.4));
    }
}

#[test]
fn the_limit_is_where_the_profile_reaches_ryan_and_johnsons_808() {
    // the closed forms against a profile integrated step by step
    for n in [0.2, 0.5, 1.0, 1.4] {
        let curve = FlowCurve::power_law(2.0, n).unwrap();
        let per_reynolds = stability_over_reynolds(&curve, 1e-3, 1e-6);
        assert_relative_eq!(
            808.0 / per_reynolds,
            ryan_johnson_critical_reynolds(n),
            max_relative = 2e-3
        );
    }
    let bore_m = 34.8e-3;
    let tube = Tube {
        bore_m,
        length_m: 1.0,
    };
    for (yield_pa, consistency, n) in [(50.0, 0.34, 1.0), (5.0, 0.05, 0.6), (20.0, 0.01, 1.2)] {
        let curve = FlowCurve::herschel_bulkley(yield_pa, consistency, n).unwrap();
        let limit = critical_reynolds(&curve, tube, DENSITY, 1e-3);
        // the flow whose number is the limit
        let (mut low, mut high) = (1e-7_f64, 10.0_f64);
        for _ in 0..100 {
            let flow = (low * high).sqrt();
            let stress = wall_state(&curve, bore_m, flow).shear_stress_pa;
            if metzner_reed_reynolds(DENSITY, mean_velocity_m_per_s(bore_m, flow), stress) < limit {
                low = flow;
            } else {
                high = flow;
            }
        }
        let stability = limit * stability_over_reynolds(&curve, bore_m, (low * high).sqrt());
        assert_relative_eq!(stability, 808.0, max_relative = 2e-3);
    }
}

#[test]
fn a_bingham_liquids_limit_is_that_of_hanks() {
    // R. W. Hanks, AIChE Journal 9, 1963, 306 (from memory): f/(1-f)^3 = He/16 800,
    // Re_c = (He/8f)(1 - 4/3 f + f^4/3) with the plastic viscosity
    let bore_m = 34.8e-3;
    let tube = Tube {
        bore_m,
        length_m: 1.0,
    };
    for yield_pa in [0.5, 50.0, 5000.0] {
        let hedstrom = DENSITY * bore_m * bore_m * yield_pa / (0.34 * 0.34);
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        for _ in 0..100 {
            let f = 0.5 * (low + high);
            if f / (1.0 - f).powi(3) < hedstrom / 16_800.0 {
                low = f;
            } else {
                high = f;
            }
        }
        let f = 0.5 * (low + high);
        let plug = 1.0 - 4.0 / 3.0 * f + f.powi(4) / 3.0;
        let plastic = hedstrom / (8.0 * f) * plug;
        let curve = FlowCurve::bingham(yield_pa, 0.34).unwrap();
        let found = critical_reynolds(&curve, tube, DENSITY, 1e-3);
        // 16 800 is rounded from 16 794
        assert_relative_eq!(found, plastic * plug, max_relative = 1e-3);
        // P. Slatter & E. Wasp (from memory): 155 He^0.35 between He 1e3 and 3e5, to a quarter
        if (1e3..3e5).contains(&hedstrom) {
            assert_relative_eq!(plastic, 155.0 * hedstrom.powf(0.35), max_relative = 0.25);
        }
    }
}

#[test]
fn without_thinning_or_yield_every_curves_limit_is_the_newtonian_one() {
    let tube = Tube {
        bore_m: 1e-3,
        length_m: 1.0,
    };
    let flat = CarreauYasuda {
        zero_shear_viscosity_pa_s: 1.0,
        infinite_shear_viscosity_pa_s: 1.0,
        time_constant_s: 1.0,
        flow_index: 0.4,
        transition_index: 2.0,
    };
    let points = [1.0, 10.0].map(|rate| ShearPoint {
        shear_rate_per_s: rate,
        shear_stress_pa: rate,
    });
    let table = MeasuredCurve::new(&points).unwrap();
    for limit in [
        critical_reynolds(&FlowCurve::newtonian(1.0).unwrap(), tube, DENSITY, 1e-6),
        critical_reynolds(&FlowCurve::bingham(0.0, 1.0).unwrap(), tube, DENSITY, 1e-6),
        critical_reynolds(&FlowCurve::bingham(1e-9, 1.0).unwrap(), tube, DENSITY, 1e-6),
        critical_reynolds(&FlowCurve::CarreauYasuda(flat), tube, DENSITY, 1e-6),
        critical_reynolds(&table, tube, DENSITY, 1e-6),
    ] {
        assert_abs_diff_eq!(limit, 2100.0, epsilon = 1.0);
    }
    // far up its thinning part a Carreau curve has the limit of its power law
    let steep = CarreauYasuda {
        infinite_shear_viscosity_pa_s: 0.0,
        time_constant_s: 1e12,
        ..flat
    };
    assert_relative_eq!(
        critical_reynolds(&FlowCurve::CarreauYasuda(steep), tube, DENSITY, 1e-6),
        ryan_johnson_critical_reynolds(0.4),
        max_relative = 1e-6
    );
}

fn gel_push() -> PushInputs {
    PushInputs {
        bore_m: 0.2e-3,
        length_m: 13e-3,
        barrel_bore_m: 4.7e-3,
        flow_rate_m3_per_s: 1e-6 / 60.0,
        friction_n: 2.0,
        tissue_pressure_pa: 1000.0,
        density_kg_per_m3: 1025.0,
        include_end_losses: false,
    }
}

#[test]
fn the_slowest_push_takes_the_force_at_which_the_gel_yields() {
    // F_0 = (2 L tau_y/R + p_t) A + F_f, by hand; and the push as its rate goes to nothing
    let curve = FlowCurve::herschel_bulkley(50.0, 2.0, 0.4).unwrap();
    let conditions = PushConditions::new(gel_push()).unwrap();
    let area = PI * 4.7e-3 * 4.7e-3 / 4.0;
    let by_hand = (2.0 * 13e-3 * 50.0 / 0.1e-3 + 1000.0) * area + 2.0;
    let found = yield_force_n(&curve, &conditions);
    assert_relative_eq!(found, by_hand, max_relative = 1e-12);
    let slow = PushConditions::new(PushInputs {
        flow_rate_m3_per_s: 1e-30,
        ..gel_push()
    })
    .unwrap();
    let slowest = push(&curve, &slow).plunger_force_n;
    assert!(slowest > found);
    assert_relative_eq!(slowest, found, max_relative = 1e-6);
    // without a yield stress only tissue and stopper hold
    let thin = FlowCurve::newtonian(1.0).unwrap();
    assert_relative_eq!(
        yield_force_n(&thin, &conditions),
        1000.0 * area + 2.0,
        max_relative = 1e-12
    );
}

#[test]
fn a_hub_is_so_much_more_tube_and_enters_the_force_only_when_asked_for() {
    let flow = 1e-6 / 60.0;
    for curve in [
        FlowCurve::newtonian(0.5).unwrap(),
        FlowCurve::power_law(3.0, 0.4).unwrap(),
        FlowCurve::herschel_bulkley(50.0, 2.0, 0.4).unwrap(),
    ] {
        // a cone against a thousand short cylinders
        let hub = Hub::cone(2e-3, 0.5e-3, 8e-3).unwrap();
        let slices = 2000;
        let sum: f64 = (0..slices)
            .map(|i| {
                let share = (f64::from(i) + 0.5) / f64::from(slices);
                let bore = 2e-3 - share * 1.5e-3;
                let slice = Hub::cylinder(bore, 8e-3 / f64::from(slices)).unwrap();
                hub_loss_pa(&curve, &slice, flow)
            })
            .sum();
        assert_relative_eq!(hub_loss_pa(&curve, &hub, flow), sum, max_relative = 1e-5);
        let wide = PushConditions::new(gel_push()).unwrap();
        let counted = PushConditions::new(PushInputs {
            include_end_losses: true,
            ..gel_push()
        })
        .unwrap();
        let without = push(&curve, &wide);
        let told = push_through_hub(&curve, &wide, Some(&hub));
        assert_eq!(told.plunger_force_n, without.plunger_force_n);
        assert_relative_eq!(
            told.end_loss_pa,
            without.end_loss_pa + told.end_losses.hub_pa,
            max_relative = 1e-12
        );
        let with = push_through_hub(&curve, &counted, Some(&hub));
        assert_relative_eq!(
            with.plunger_force_n - without.plunger_force_n,
            with.end_loss_pa * wide.barrel_area_m2(),
            max_relative = 1e-9
        );
    }
    // power-law cone in closed form: dP = (2 K/3 n)(L/(R1 - R2)) [(3n+1)Q/(n pi)]^n
    // [R2^-3n - R1^-3n] (Chhabra & Richardson 2008, problem of a tapered tube, from memory)
    let (k, n, wide, narrow, length) = (3.0, 0.4_f64, 1e-3_f64, 0.25e-3_f64, 8e-3);
    let closed = 2.0 * k / (3.0 * n) * length / (wide - narrow)
        * ((3.0 * n + 1.0) / n * flow / PI).powf(n)
        * (narrow.powf(-3.0 * n) - wide.powf(-3.0 * n));
    let hub = Hub::cone(2.0 * wide, 2.0 * narrow, length).unwrap();
    let curve = FlowCurve::power_law(k, n).unwrap();
    assert_relative_eq!(
        hub_loss_pa(&curve, &hub, flow),
        closed,
        max_relative = 1e-10
    );
    for wrong in [0.0, -1.0, f64::NAN] {
        assert!(Hub::cylinder(wrong, 1e-3).is_err() && Hub::cylinder(1e-3, wrong).is_err());
    }
}

#[test]
fn an_entrance_that_is_not_small_is_told_unless_the_ends_are_counted() {
    // water at 20 C, 6 mL/min through 0.26 mm x 13 mm: Re 488, entrance 7.3 mm of 13 (0.0567
    // Re D with Durst et al. 2005, from memory)
    let inputs = PushInputs {
        bore_m: 0.26e-3,
        flow_rate_m3_per_s: 6e-6 / 60.0,
        ..gel_push()
    };
    let water = FlowCurve::newtonian(1.0016e-3).unwrap();
    let codes = |include_end_losses| {
        let conditions = PushConditions::new(PushInputs {
            include_end_losses,
            ..inputs
        })
        .unwrap();
        let found = push(&water, &conditions);
        assert_relative_eq!(found.entrance_length_m, 7.4e-3, max_relative = 0.05);
        warnings(&found, &conditions)
            .unwrap()
            .iter()
            .map(FlowWarning::code)
            .collect::<Vec<_>>()
    };
    assert_eq!(codes(false), ["entrance_not_small"]);
    assert_eq!(codes(true), [] as [&str; 0]);
}

#[test]
fn water_and_glycerol_flow_through_standard_bores_as_hagen_and_poiseuille_say() {
    // water: IAPWS R12-08 at 20, 25, 100 C; glycerol by weight at 20 C: Segur & Oberstar,
    // Industrial and Engineering Chemistry 43, 1951, 2117. Bores: ISO 9626 least bores of 30G,
    // 27G and 25G regular wall. dP = 128 mu L Q/(pi D^4), written out
    for viscosity in [1.0016e-3, 0.8900e-3, 0.2817e-3, 10.8e-3, 60.1e-3, 1.410] {
        for bore_m in [0.133e-3, 0.184e-3, 0.232e-3] {
            let inputs = PushInputs {
                bore_m,
                friction_n: 0.0,
                tissue_pressure_pa: 0.0,
                ..gel_push()
            };
            let written = 128.0 * viscosity * inputs.length_m * inputs.flow_rate_m3_per_s
                / (PI * bore_m.powi(4));
            let conditions = PushConditions::new(inputs).unwrap();
            for curve in [
                FlowCurve::newtonian(viscosity).unwrap(),
                FlowCurve::power_law(viscosity, 1.0).unwrap(),
                FlowCurve::herschel_bulkley(0.0, viscosity, 1.0).unwrap(),
                FlowCurve::CarreauYasuda(CarreauYasuda {
                    zero_shear_viscosity_pa_s: viscosity,
                    infinite_shear_viscosity_pa_s: viscosity,
                    time_constant_s: 1.0,
                    flow_index: 0.3,
                    transition_index: 2.0,
                }),
            ] {
                let found = push(&curve, &conditions);
                assert_relative_eq!(found.pressure_pa, written, max_relative = 1e-10);
            }
        }
    }
}
