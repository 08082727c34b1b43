//! Sampled temperature histories: the same dose as the closed form, the conduction itself, and the
//! fine integration of a trace.
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, ReactionOrder, SettingModel};
use heatset::reference::find_syringe;
use heatset::thermal::conduction::{
    ConductionStage, Outside, RadialGrid, RadialModel, radial_field,
};
use heatset::thermal::{
    DeclaredCooling, DeclaredHistory, DeclaredLength, DeclaredSyringe, HistorySource,
    MeasuredTrace, StatedWarmUp, TemperatureHistory, TracePoint, WarmUp, relative_rate,
};

const ROOM_KELVIN: f64 = 295.15;

fn lag_with_cooling(tau_s: f64, cool_time_s: f64) -> WarmUp {
    WarmUp::sampled(DeclaredHistory {
        source: HistorySource::Lag {
            time_constant_s: tau_s,
        },
        start_kelvin: ROOM_KELVIN,
        cooling: Some(DeclaredCooling {
            cool_time_s,
            ambient_kelvin: 298.15,
        }),
    })
    .unwrap()
}

/// Simpson's rule with 20 000 intervals over any course of temperature.
fn fine_dose_s(kelvin: impl Fn(f64) -> f64, end_s: f64, energy: f64, reference: f64) -> f64 {
    let steps = 20_000;
    let step_s = end_s / f64::from(steps);
    let rate = |i: i32| relative_rate(kelvin(f64::from(i) * step_s), reference, energy);
    let mut sum = rate(0) + rate(steps);
    for i in 1..steps {
        sum += rate(i) * if i % 2 == 1 { 4.0 } else { 2.0 };
    }
    sum * step_s / 3.0
}

/// The cooling of a lag is a closed form too: T = T_air + (T(t) - T_air) exp(-s/tau).
#[test]
fn a_lag_that_cools_has_the_dose_of_its_whole_course() {
    let (tau_s, cool_s, set) = (55.0, 240.0, 361.15);
    let history = lag_with_cooling(tau_s, cool_s);
    for energy in [120e3, 300e3, 450e3] {
        for time_s in [40.0, 95.0, 260.0, 700.0, 2000.0] {
            let warm = |t: f64| set - (set - ROOM_KELVIN) * (-t / tau_s).exp();
            let end = warm(time_s);
            let cold = |s: f64| 298.15 + (end - 298.15) * (-s / tau_s).exp();
            let expected = fine_dose_s(warm, time_s, energy, 353.15)
                + fine_dose_s(cold, cool_s, energy, 353.15);
            let found = history.heat_dose(set, time_s, energy, 353.15).dose_s;
            // 0.3 % of a dose is 0.3 % of a heat time.
            assert_relative_eq!(found, expected, max_relative = 3e-3);
        }
    }
}

#[test]
fn derivatives_by_the_energy_agree_with_differences() {
    let syringe = DeclaredSyringe::of(&find_syringe("3mL").unwrap()).unwrap();
    let cooled = Some(DeclaredCooling {
        cool_time_s: 300.0,
        ambient_kelvin: 296.15,
    });
    for cooling in [None, cooled] {
        let history = StatedWarmUp::Syringe(syringe.clone())
            .history(ROOM_KELVIN, cooling)
            .unwrap();
        for time_s in [80.0, 333.0, 5000.0] {
            let dose = |energy: f64| history.heat_dose(359.15, time_s, energy, 353.15);
            let slope = (dose(280e3 + 50.0).dose_s - dose(280e3 - 50.0).dose_s) / 100.0;
            assert_relative_eq!(
                dose(280e3).by_activation_energy_s_mol_per_j,
                slope,
                max_relative = 1e-5
            );
        }
    }
}

/// Against the conduction solver's own field, a second apart, summed ring by ring: other times,
/// other sums, no shells.
#[test]
fn a_syringe_sets_as_its_rings_do() {
    for (name, air_s) in [
        ("1mL", 0.0),
        ("5mL", 0.0),
        ("glass:3mL", 0.0),
        ("5mL", 420.0),
    ] {
        let syringe = DeclaredSyringe::of(&find_syringe(name).unwrap()).unwrap();
        let cooling = (air_s > 0.0).then_some(DeclaredCooling {
            cool_time_s: air_s,
            ambient_kelvin: ROOM_KELVIN,
        });
        let history = StatedWarmUp::Syringe(syringe.clone())
            .history(ROOM_KELVIN, cooling)
            .unwrap();
        let grid = RadialGrid {
            gel_cells: 48,
            wall_cells: 16,
        };
        let model = RadialModel::new(&syringe.barrel().unwrap(), grid).unwrap();
        let (set, energy, rate, reference) = (363.15, 320e3, 1.1e-3, 353.15);
        let setting = SettingModel {
            firmness: FirmnessCurve::Log {
                initial: 1.5e-3,
                plateau: 20.0,
            },
            order: ReactionOrder(1.0),
            rate: ArrheniusRate {
                rate_ref_per_s: rate,
                activation_energy_j_per_mol: energy,
                reference_kelvin: reference,
            },
            dose_lag_s: 0.0,
            warm_up: history,
        };
        for time_s in [90.0, 200.0, 480.0, 1000.0] {
            let mut stages = vec![ConductionStage {
                duration_s: time_s,
                outside: Outside::constant(syringe.contact_w_per_m2_kelvin, set),
            }];
            if air_s > 0.0 {
                stages.push(ConductionStage {
                    duration_s: air_s,
                    outside: Outside::constant(syringe.air_w_per_m2_kelvin, ROOM_KELVIN),
                });
            }
            let end_s = time_s + air_s;
            let times: Vec<f64> = (0..=end_s as usize).map(|t| t as f64).collect();
            let field = radial_field(&model, ROOM_KELVIN, &stages, &times).unwrap();
            let mut doses = vec![0.0; model.gel_cell_count()];
            let rings: Vec<&[f64]> = field.gel_kelvin().collect();
            for pair in rings.windows(2) {
                for (ring, dose) in doses.iter_mut().enumerate() {
                    let ends = [pair[0][ring], pair[1][ring]];
                    *dose += 0.5
                        * ends
                            .map(|t| relative_rate(t, reference, energy))
                            .iter()
                            .sum::<f64>();
                }
            }
            let expected: f64 = doses
                .iter()
                .zip(model.gel_volume_fractions())
                .map(|(dose, share)| share * (1.0 - (-rate * dose).exp()))
                .sum();
            let found = setting.conversion(set, time_s);
            assert_abs_diff_eq!(found, expected, epsilon = 2e-3);
            let back = setting.clock_time_for_conversion_s(set, found);
            if found < 0.999 {
                assert_relative_eq!(back, time_s, max_relative = 1e-6);
            }
        }
    }
}

/// A trace of a lag, read every 5 s, gives the dose of the lag, at another set temperature too:
/// the scaling is exact for what is linear.
#[test]
fn a_trace_serves_other_set_temperatures() {
    let tau_s = 48.0;
    let points = (0..200)
        .map(|i| f64::from(i) * 5.0)
        .map(|time_s| TracePoint {
            time_s,
            temperature_kelvin: 355.15 - 60.0 * (-time_s / tau_s).exp(),
        })
        .collect();
    let trace = MeasuredTrace::new(points).unwrap();
    let history = StatedWarmUp::Trace {
        file: "trace.csv".to_owned(),
        trace,
    }
    .history(295.15, None)
    .unwrap();
    let lag = WarmUp::lag(tau_s, 295.15).unwrap();
    for set in [345.15, 355.15, 363.15] {
        for time_s in [60.0, 200.0, 900.0, 2500.0] {
            assert_relative_eq!(
                history.heat_dose(set, time_s, 300e3, 353.15).dose_s,
                lag.heat_dose(set, time_s, 300e3, 353.15).dose_s,
                max_relative = 3e-3
            );
        }
    }
}

/// A trace that comes back down brings its cooling: twice the dose where it goes down as it came.
#[test]
fn a_trace_with_its_cooling_part_counts_it() {
    let tau_s = 50.0;
    let (top, end_s) = (355.15, 600.0);
    let points = (0..=240)
        .map(|i| f64::from(i) * 5.0)
        .map(|time_s| TracePoint {
            time_s,
            temperature_kelvin: if time_s <= end_s {
                top - 60.0 * (-time_s / tau_s).exp()
            } else {
                295.15 + 60.0 * (-(time_s - end_s) / tau_s).exp()
            },
        })
        .collect();
    let history = StatedWarmUp::Trace {
        file: "trace.csv".to_owned(),
        trace: MeasuredTrace::new(points).unwrap(),
    }
    .history(295.15, None)
    .unwrap();
    let warm = |t: f64| top - 60.0 * (-t / tau_s).exp();
    let cold = |s: f64| 295.15 + 60.0 * (-s / tau_s).exp();
    let expected =
        fine_dose_s(warm, 400.0, 300e3, 353.15) + fine_dose_s(cold, 600.0, 300e3, 353.15);
    let found = history.heat_dose(top, 400.0, 300e3, 353.15).dose_s;
    // The trace's last reading stands for the air, and its heating ends within 5 % of the top.
    assert_relative_eq!(found, expected, max_relative = 1e-2);
}

#[test]
fn what_cannot_be_is_refused_in_words() {
    let cooling = Some(DeclaredCooling {
        cool_time_s: 300.0,
        ambient_kelvin: 295.15,
    });
    let alone = StatedWarmUp::None.history(295.15, cooling).unwrap_err();
    assert!(alone.to_string().contains("syringe:1mL"), "{alone}");
    let points = [(0.0, 295.15), (10.0, 310.15), (20.0, 325.15)]
        .map(|(time_s, temperature_kelvin)| TracePoint {
            time_s,
            temperature_kelvin,
        })
        .to_vec();
    let rising = StatedWarmUp::Trace {
        file: "short.csv".to_owned(),
        trace: MeasuredTrace::new(points).unwrap(),
    }
    .history(295.15, None)
    .unwrap_err();
    assert!(rising.to_string().contains("short.csv"), "{rising}");
}

/// The table that serves draws by the thousand against each energy computed by itself.
#[test]
fn doses_from_a_table_are_those_computed_one_by_one() {
    let syringe = DeclaredSyringe::of(&find_syringe("5mL").unwrap()).unwrap();
    let cooled = Some(DeclaredCooling {
        cool_time_s: 300.0,
        ambient_kelvin: 296.15,
    });
    for cooling in [None, cooled] {
        let plain = StatedWarmUp::Syringe(syringe.clone())
            .history(ROOM_KELVIN, cooling)
            .unwrap();
        let tabled = plain.tabled(361.15, 353.15, (270e3, 50e3));
        for energy in [221e3, 255e3, 270e3, 299e3, 318e3] {
            for time_s in [300.0, 700.0, 2000.0] {
                let one = plain.heat_dose(361.15, time_s, energy, 353.15).dose_s;
                let other = tabled.heat_dose(361.15, time_s, energy, 353.15).dose_s;
                assert_relative_eq!(one, other, max_relative = 1e-5);
            }
        }
        // Outside the table, and at another set temperature, nothing changes.
        for (set, energy) in [(361.15, 400e3), (350.15, 270e3)] {
            assert_eq!(
                plain.heat_dose(set, 500.0, energy, 353.15),
                tabled.heat_dose(set, 500.0, energy, 353.15)
            );
        }
    }
}

fn part(length: DeclaredLength) -> WarmUp {
    let syringe = DeclaredSyringe::of(&find_syringe("5mL").unwrap()).unwrap();
    StatedWarmUp::Syringe(DeclaredSyringe {
        length: Some(length),
        ..syringe
    })
    .history(ROOM_KELVIN, None)
    .unwrap()
}

const WHOLE: DeclaredLength = DeclaredLength {
    filled_length_m: 44e-3,
    stands_out_m: 0.0,
    open_end: false,
    room_kelvin: ROOM_KELVIN,
};

fn setting(warm_up: WarmUp) -> SettingModel {
    SettingModel {
        firmness: FirmnessCurve::Log {
            initial: 1.5e-3,
            plateau: 20.0,
        },
        order: ReactionOrder(1.0),
        rate: ArrheniusRate {
            rate_ref_per_s: 1.1e-3,
            activation_energy_j_per_mol: 320e3,
            reference_kelvin: 353.15,
        },
        dose_lag_s: 0.0,
        warm_up,
    }
}

/// With nothing out of the block and no heat through the ends the finite barrel is the long one.
#[test]
fn a_syringe_all_in_the_block_is_the_long_one() {
    let syringe = DeclaredSyringe::of(&find_syringe("5mL").unwrap()).unwrap();
    let long = StatedWarmUp::Syringe(syringe)
        .history(ROOM_KELVIN, None)
        .unwrap();
    let (finite, long) = (setting(part(WHOLE)), setting(long));
    for time_s in [300.0, 600.0, 1200.0] {
        assert_abs_diff_eq!(
            finite.conversion(363.15, time_s),
            long.conversion(363.15, time_s),
            epsilon = 5e-3
        );
        // At first the middle of a wide barrel lags; later all is set alike.
        let unset = finite.unset_share(363.15, time_s);
        assert!(unset <= if time_s < 500.0 { 0.34 } else { 0.0 }, "{unset}");
    }
}

/// What stands out stays unset, and a few millimetres beside the rim with it: half the setting is
/// lost within 6 mm, for heat leaks along gel and wall over about sqrt(k A/(h p)), 3 mm here (fin
/// length; Incropera, section 3.6, from memory). The firmest slice sets as the long barrel does.
#[test]
fn what_stands_out_stays_unset_and_the_firmest_part_decides() {
    let syringe = DeclaredSyringe::of(&find_syringe("5mL").unwrap()).unwrap();
    let long = setting(
        StatedWarmUp::Syringe(syringe)
            .history(ROOM_KELVIN, None)
            .unwrap(),
    );
    for out_m in [5e-3, 10e-3, 20e-3] {
        let finite = setting(part(DeclaredLength {
            stands_out_m: out_m,
            ..WHOLE
        }));
        let time_s = 900.0;
        let unset = finite.unset_share(363.15, time_s) * WHOLE.filled_length_m;
        // Shares are told in fourteenths of the gel.
        let slice_m = WHOLE.filled_length_m / 14.0;
        assert!(unset >= out_m - slice_m, "{out_m}: {unset}");
        assert!(unset <= out_m + 6e-3 + slice_m, "{out_m}: {unset}");
        assert_abs_diff_eq!(
            finite.conversion(363.15, time_s),
            long.conversion(363.15, time_s),
            epsilon = 0.02
        );
        let [least, most] = finite.conversion_extremes(363.15, time_s);
        assert!(least < 0.05 && most > 0.3, "{least} {most}");
    }
}

/// The clock time of a conversion is its inverse whatever the order, in a gel that is cold for long too: a
/// search that starts there must not take the first far point for the root.
#[test]
fn the_clock_time_of_a_conversion_in_a_syringe_is_its_inverse() {
    for name in ["1mL", "10mL"] {
        let syringe = DeclaredSyringe::of(&find_syringe(name).unwrap()).unwrap();
        let warm_up = StatedWarmUp::Syringe(syringe)
            .history(295.15, None)
            .unwrap();
        for order in [0.5, 1.0, 1.5, 2.0, 3.0] {
            for (rate_ref_per_s, set_kelvin) in [(0.008, 362.15), (0.05, 362.15), (1e-4, 345.15)] {
                let setting = SettingModel {
                    firmness: FirmnessCurve::Log {
                        initial: 1.6e-3,
                        plateau: 5.0,
                    },
                    order: ReactionOrder(order),
                    rate: ArrheniusRate {
                        rate_ref_per_s,
                        activation_energy_j_per_mol: 400e3,
                        reference_kelvin: 354.15,
                    },
                    dose_lag_s: 0.0,
                    warm_up: warm_up.clone(),
                };
                for fraction in [1e-6, 0.02, 0.3, 0.75, 0.99] {
                    let time_s = setting.clock_time_for_conversion_s(set_kelvin, fraction);
                    let back = setting.conversion(set_kelvin, time_s);
                    assert!(
                        (back - fraction).abs() < 1e-8 * fraction,
                        "{name}, order {order}, {rate_ref_per_s} 1/s: {fraction} after {time_s} s is {back}"
                    );
                }
                // All is set in the end where the order says so, and never where it does not.
                let whole_s = setting.clock_time_for_conversion_s(set_kelvin, 1.0);
                assert_eq!(whole_s.is_finite(), order < 1.0, "{name}, order {order}");
                if order < 1.0 {
                    assert!(setting.conversion(set_kelvin, whole_s) > 1.0 - 1e-12);
                }
            }
        }
    }
}
