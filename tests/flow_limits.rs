//! Limits, scaling, warnings and refusals of the flow through a needle.

// the helpers of a test may fail it
#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::flow::pipe::hagen_poiseuille_pressure_pa;
use heatset::flow::reynolds::entrance_length_m;
use heatset::flow::{
    CarreauYasuda, FlowCurve, FlowError, FlowWarning, PushConditions, PushInputs, Tube, end_losses,
    push, viscosity_for_force, viscosity_from_force, warnings,
};
use heatset::reference::{BoreBasis, Wall, find_needle, find_syringe};

/// Water or gel through a 27G needle of 13 mm from a 1 mL syringe.
fn usual_push() -> PushInputs {
    PushInputs {
        bore_m: find_needle(27, Wall::Regular, BoreBasis::Nominal)
            .unwrap()
            .bore_m,
        length_m: 13e-3,
        barrel_bore_m: find_syringe("1mL").unwrap().bore_m,
        flow_rate_m3_per_s: 1e-6 / 60.0,
        friction_n: 2.0,
        tissue_pressure_pa: 0.0,
        density_kg_per_m3: 1025.0,
        include_end_losses: false,
    }
}

fn codes(curve: &FlowCurve, inputs: PushInputs) -> Vec<&'static str> {
    let conditions = PushConditions::new(inputs).unwrap();
    let push = push(curve, &conditions);
    warnings(&push, &conditions)
        .unwrap()
        .iter()
        .map(FlowWarning::code)
        .collect()
}

// ---- limits, scaling, identities ---------------------------------------------------------

#[test]
fn doubling_the_bore_divides_the_force_by_sixteen() {
    let inputs = PushInputs {
        friction_n: 0.0,
        ..usual_push()
    };
    let wide = PushInputs {
        bore_m: 2.0 * inputs.bore_m,
        ..inputs
    };
    let curve = FlowCurve::newtonian(1.0).unwrap();
    let force_n = |inputs| push(&curve, &PushConditions::new(inputs).unwrap()).plunger_force_n;
    assert_relative_eq!(force_n(inputs) / force_n(wide), 16.0, max_relative = 1e-13);
}

#[test]
fn five_percent_of_bore_is_plus_23_minus_18_percent_of_force() {
    // inverse fourth power: 0.95^-4 and 1.05^-4 (arithmetic)
    let inputs = PushInputs {
        friction_n: 0.0,
        ..usual_push()
    };
    let curve = FlowCurve::newtonian(1.0).unwrap();
    let force_n = |factor: f64| {
        let inputs = PushInputs {
            bore_m: factor * inputs.bore_m,
            ..inputs
        };
        push(&curve, &PushConditions::new(inputs).unwrap()).plunger_force_n
    };
    assert_abs_diff_eq!(
        100.0 * (force_n(0.95) / force_n(1.0) - 1.0),
        23.0,
        epsilon = 0.5
    );
    assert_abs_diff_eq!(
        100.0 * (force_n(1.05) / force_n(1.0) - 1.0),
        -18.0,
        epsilon = 0.5
    );
}

#[test]
fn end_losses_enter_the_force_only_when_asked_for() {
    let inputs = usual_push();
    let curve = FlowCurve::newtonian(0.5).unwrap();
    let without = push(&curve, &PushConditions::new(inputs).unwrap());
    let counted = PushConditions::new(PushInputs {
        include_end_losses: true,
        ..inputs
    })
    .unwrap();
    let with = push(&curve, &counted);
    assert_eq!(without.end_loss_pa, with.end_loss_pa);
    assert_eq!(without.pressure_pa, with.pressure_pa);
    let more_n = with.plunger_force_n - without.plunger_force_n;
    assert_relative_eq!(
        more_n,
        with.end_loss_pa * counted.barrel_area_m2(),
        max_relative = 1e-9
    );
    // and the way back takes them off again
    let back = viscosity_for_force(&counted, 1.0, 10.0, with.plunger_force_n).unwrap();
    assert_relative_eq!(back, 0.5, max_relative = 1e-12);
}

#[test]
fn the_creeping_end_loss_is_that_of_dagan_weinbaum_and_pfeffer() {
    // Journal of Fluid Mechanics 115, 1982, 505 (from memory):
    // dP = (Q mu/R^3)(8 L/(pi R) + 3) in all
    let (viscosity, flow, tube) = (
        2.0,
        1e-8,
        Tube {
            bore_m: 0.3e-3,
            length_m: 6e-3,
        },
    );
    let developed_pa = hagen_poiseuille_pressure_pa(tube, viscosity, flow);
    let ends = end_losses(tube, developed_pa, 1000.0, 0.0);
    let radius = 0.15e-3_f64;
    let all_pa = flow * viscosity / radius.powi(3) * (8.0 * 6e-3 / (PI * radius) + 3.0);
    assert_relative_eq!(developed_pa + ends.total_pa(), all_pa, max_relative = 1e-13);
}

#[test]
fn the_entrance_length_runs_to_the_textbooks_at_both_ends() {
    // large Re: 0.06 Re D in textbooks (White, Fluid Mechanics, equation 6.5: 0.06), where
    // this correlation has 0.0567; Re to 0: 0.6 D and more (Durst et al. 2005, from memory)
    for reynolds in [200.0, 1000.0, 2000.0] {
        assert_relative_eq!(
            entrance_length_m(1.0, reynolds) / reynolds,
            0.06,
            max_relative = 0.06
        );
    }
    assert_relative_eq!(entrance_length_m(1e-3, 0.0), 0.619e-3, max_relative = 1e-12);
}

#[test]
fn warnings_are_silent_for_a_usual_push_and_pressure_alone_is_none() {
    let gel = FlowCurve::newtonian(0.5).unwrap();
    // a 0.5 Pa.s gel: 2.3 MPa, 42 N: warned; at a fifth: 458 kPa, 10 N: stated, not warned
    assert_eq!(
        codes(&gel, usual_push()),
        ["pressure_above_joint_test", "force_above_hand"]
    );
    let thin = FlowCurve::newtonian(0.1).unwrap();
    let flow = push(&thin, &PushConditions::new(usual_push()).unwrap());
    assert!(flow.joint_pressure_pa > 300e3 && flow.plunger_force_n < 40.0);
    assert_eq!(codes(&thin, usual_push()), [] as [&str; 0]);
    // a wide barrel: much force at little pressure
    let wide = PushInputs {
        barrel_bore_m: 26.59e-3,
        ..usual_push()
    };
    assert_eq!(
        codes(&FlowCurve::newtonian(0.05).unwrap(), wide),
        ["force_above_hand"]
    );
}

#[test]
fn no_warning_proposes_a_harder_push() {
    for warning in [
        FlowWarning::NotLaminar {
            reynolds: 6342.0,
            critical_reynolds: 2100.0,
        },
        FlowWarning::EntranceNotSmall {
            entrance_length_m: 2e-3,
            length_m: 13e-3,
        },
        FlowWarning::EntranceLongerThanNeedle {
            entrance_length_m: 72e-3,
            length_m: 40e-3,
        },
        FlowWarning::PressureAboveJointTest {
            joint_pressure_pa: 1e6,
            plunger_force_n: 80.0,
        },
        FlowWarning::ForceAboveHand {
            plunger_force_n: 80.0,
            at_most_n: 40.0,
        },
    ] {
        let message = warning.to_string();
        assert!(message.contains("What helps:"), "{message}");
        for word in ["harder", "more force", "safe", "fit to"] {
            assert!(!message.contains(word), "{message}");
        }
    }
}

// ---- refusals ----------------------------------------------------------------------------

#[test]
fn every_unusable_input_is_refused_by_name() {
    let usual = usual_push();
    for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        for (inputs, name) in [
            (
                PushInputs {
                    bore_m: wrong,
                    ..usual
                },
                "needle's bore",
            ),
            (
                PushInputs {
                    length_m: wrong,
                    ..usual
                },
                "needle's length",
            ),
            (
                PushInputs {
                    barrel_bore_m: wrong,
                    ..usual
                },
                "barrel's bore",
            ),
            (
                PushInputs {
                    flow_rate_m3_per_s: wrong,
                    ..usual
                },
                "flow rate",
            ),
            (
                PushInputs {
                    density_kg_per_m3: wrong,
                    ..usual
                },
                "density",
            ),
        ] {
            let message = PushConditions::new(inputs).unwrap_err().to_string();
            assert!(
                message.contains(name) && message.contains("such as"),
                "{message}"
            );
        }
        assert!(FlowCurve::newtonian(wrong).is_err());
        assert!(FlowCurve::power_law(wrong, 0.5).is_err());
        assert!(FlowCurve::power_law(1.0, wrong).is_err());
        assert!(FlowCurve::power_law_through(1.0, wrong, 0.5).is_err());
        assert!(FlowCurve::bingham(1.0, wrong).is_err());
        assert!(FlowCurve::herschel_bulkley(1.0, 1.0, wrong).is_err());
    }
    for wrong in [-1.0, f64::NAN] {
        for (inputs, name) in [
            (
                PushInputs {
                    friction_n: wrong,
                    ..usual
                },
                "stopper friction",
            ),
            (
                PushInputs {
                    tissue_pressure_pa: wrong,
                    ..usual
                },
                "tissue pressure",
            ),
        ] {
            let message = PushConditions::new(inputs).unwrap_err().to_string();
            assert!(message.contains(name), "{message}");
        }
        assert!(FlowCurve::bingham(wrong, 1.0).is_err());
    }
    // zero friction, zero tissue pressure and zero yield stress are values
    let zero = PushInputs {
        friction_n: 0.0,
        tissue_pressure_pa: 0.0,
        ..usual
    };
    assert!(PushConditions::new(zero).is_ok());
    assert!(FlowCurve::bingham(0.0, 1.0).is_ok());
    // a thickening curve that would fall below zero
    let falling = FlowCurve::CarreauYasuda(CarreauYasuda {
        zero_shear_viscosity_pa_s: 1.0,
        infinite_shear_viscosity_pa_s: 2.0,
        time_constant_s: 1.0,
        flow_index: 1.5,
        transition_index: 2.0,
    });
    assert!(matches!(
        falling.checked(),
        Err(FlowError::ViscosityBelowZero { .. })
    ));
}

#[test]
fn a_force_at_or_under_the_friction_says_what_took_it() {
    let conditions = PushConditions::new(usual_push()).unwrap();
    for force_n in [1.0, 2.0] {
        let error = viscosity_from_force(&conditions, force_n).unwrap_err();
        assert_eq!(
            error,
            FlowError::NothingLeftForTheGel {
                plunger_force_n: force_n,
                taken_n: 2.0
            }
        );
    }
    assert!(viscosity_from_force(&conditions, 2.0 + 1e-9).is_ok());
}
