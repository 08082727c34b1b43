//! What surrounds a syringe: coefficients in block and air, the pressure in a closed one, and what
//! a block really does.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::reference::{
    BarrelMaterial, Provenance, ReferenceError, air_gap_w_per_m2_kelvin, air_properties,
    block_contact, cross_flow_nusselt_ratio, default_air, forced_air, moving_air, moving_air_table,
    rated_temperature, still_air, still_air_about_barrel,
};
use heatset::thermal::{
    BlockCheckOptions, BlockTrace, ClosedPressure, ClosedSyringe, MeasuredTrace, PressureParts,
    ThermalInputError, TracePoint, check_block, closed_pressure, parse_block_traces,
    read_block_traces, water_saturation_pressure_pa,
};

// ---- coefficients ----

/// Properties of air at 1 atm: Çengel, Heat and Mass Transfer, table A-15, as printed (seen).
/// Temperature in °C, density, conductivity, viscosity, Prandtl number.
const AIR_TABLE: [(f64, f64, f64, f64, f64); 5] = [
    (0.0, 1.292, 0.02364, 1.729e-5, 0.7362),
    (20.0, 1.204, 0.02514, 1.825e-5, 0.7309),
    (50.0, 1.092, 0.02735, 1.963e-5, 0.7228),
    (80.0, 0.9994, 0.02953, 2.096e-5, 0.7154),
    (100.0, 0.9458, 0.03095, 2.181e-5, 0.7111),
];

#[test]
fn properties_of_air_are_those_of_the_textbooks_table() {
    for (celsius, density, conductivity, viscosity, prandtl) in AIR_TABLE {
        let air = air_properties(celsius + 273.15).unwrap();
        assert_relative_eq!(air.density_kg_per_m3, density, max_relative = 2e-3);
        assert_relative_eq!(air.viscosity_pa_s, viscosity, max_relative = 1e-2);
        // Tables differ among themselves: 0.0257 W/mK at 20 °C in others.
        assert_relative_eq!(
            air.conductivity_w_per_m_kelvin,
            conductivity,
            max_relative = 3e-2
        );
        assert_relative_eq!(air.prandtl_ratio, prandtl, max_relative = 4e-2);
        assert!(!air.extrapolated);
    }
    assert!(air_properties(500.0).unwrap().extrapolated);
}

/// The project's table (27, 38, 53, 85 W/m2K at 0.5, 1, 2, 5 m/s on 8 mm) against the correlation
/// of Churchill & Bernstein 1977 with air between 22 and 86 °C.
#[test]
fn the_table_of_moving_air_is_the_correlations() {
    let rows = moving_air_table().unwrap();
    let known = [(0.5, 27.0), (1.0, 38.0), (2.0, 53.0), (5.0, 85.0)];
    assert_eq!(rows.len(), known.len());
    for (row, (speed, coefficient)) in rows.iter().zip(known) {
        assert_eq!(row.air_speed_m_per_s, speed);
        assert_relative_eq!(row.diameter_m, 8e-3);
        assert_eq!(row.coefficient.coefficient_w_per_m2_kelvin, coefficient);
        for film_kelvin in [295.15, 310.0, 327.15] {
            let air = forced_air(speed, 8e-3, film_kelvin).unwrap();
            assert_relative_eq!(
                air.coefficient_w_per_m2_kelvin,
                coefficient,
                max_relative = 0.02
            );
            assert!(!air.extrapolated);
        }
    }
}

/// Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, example 7.4: Re 6071, Pr 0.70, Nu
/// 40.6 (from memory). Çengel & Turner, Fundamentals of Thermal-Fluid Sciences, chapter 19: Re
/// 6.228e4, Pr 0.7232, Nu 159.1 (seen in its printed solutions).
#[test]
fn the_cross_flow_correlation_gives_what_textbooks_print() {
    assert_abs_diff_eq!(cross_flow_nusselt_ratio(6071.0, 0.70), 40.6, epsilon = 0.05);
    assert_abs_diff_eq!(
        cross_flow_nusselt_ratio(6.228e4, 0.7232),
        159.1,
        epsilon = 0.05
    );
    assert_relative_eq!(cross_flow_nusselt_ratio(0.0, 0.7), 0.3);
}

#[test]
fn faster_air_and_thinner_barrels_take_more_heat() {
    let h = |speed: f64, diameter: f64| {
        forced_air(speed, diameter, 320.0)
            .unwrap()
            .coefficient_w_per_m2_kelvin
    };
    for diameter in [6.5e-3, 8e-3, 14e-3] {
        for speed in [0.2, 0.5, 1.0, 3.0] {
            assert!(h(2.0 * speed, diameter) > h(speed, diameter));
            assert!(h(speed, 0.5 * diameter) > h(speed, diameter));
        }
    }
}

#[test]
fn still_air_takes_what_the_table_says_and_less_from_a_wide_barrel_nearly_cold() {
    let row = still_air().unwrap();
    let (low, high) = row.coefficient_range_w_per_m2_kelvin;
    for diameter_m in [6.5e-3, 8e-3, 14e-3] {
        for celsius in [40.0, 60.0, 80.0] {
            let air = still_air_about_barrel(diameter_m, celsius + 273.15, 295.15, 0.93).unwrap();
            let h = air.coefficient_w_per_m2_kelvin;
            assert!((low..=high).contains(&h), "{diameter_m} {celsius} {h}");
        }
    }
    // 15 to 18 W/m2K stands for a barrel of 8 mm in its upper range of temperatures.
    for celsius in [55.0, 65.0, 75.0] {
        let h = still_air_about_barrel(8e-3, celsius + 273.15, 295.15, 0.9)
            .unwrap()
            .coefficient_w_per_m2_kelvin;
        assert!((15.0..=18.0).contains(&h), "{celsius} {h}");
    }
}

#[test]
fn air_that_hardly_moves_takes_no_less_than_still_air() {
    let slow = moving_air(0.01, 8e-3, 350.0, 295.0).unwrap();
    let still = still_air_about_barrel(8e-3, 350.0, 295.0, 0.9).unwrap();
    assert_relative_eq!(
        slow.coefficient_w_per_m2_kelvin,
        still.coefficient_w_per_m2_kelvin
    );
    assert_eq!(slow.source, still_air().unwrap().source);
    let fast = moving_air(2.0, 8e-3, 350.0, 295.0).unwrap();
    assert!(fast.source.text.contains("crossflow"));
    assert_relative_eq!(fast.coefficient_w_per_m2_kelvin, 53.0, max_relative = 0.02);
}

/// Common figures of the trade's block: 150 W/m2K is what a gap of 0.15 to 0.2 mm of air lets
/// through at 55 °C (k/d by hand: 0.0284/0.00019 = 149).
#[test]
fn the_contact_of_a_block_is_that_of_a_gap_of_a_fifth_of_a_millimetre() {
    let contact = block_contact().unwrap();
    assert_eq!(contact.coefficient_w_per_m2_kelvin, 150.0);
    assert_eq!(contact.source.how, Provenance::FromMemory);
    let gap = air_gap_w_per_m2_kelvin(1.9e-4, 3.25e-3, 328.15).unwrap();
    assert_relative_eq!(gap, 150.0, max_relative = 0.05);
    // Referred to the outer face a curved gap lets more through than a flat one.
    assert!(gap > 0.0284 / 1.9e-4);
    assert_eq!(default_air().unwrap().coefficient_w_per_m2_kelvin, 30.0);
}

#[test]
fn sizes_and_temperatures_that_are_not_above_zero_are_refused() {
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        for refused in [
            forced_air(bad, 8e-3, 320.0).err(),
            forced_air(1.0, bad, 320.0).err(),
            forced_air(1.0, 8e-3, bad).err(),
            air_properties(bad).err(),
            air_gap_w_per_m2_kelvin(bad, 3e-3, 320.0).err(),
            still_air_about_barrel(bad, 350.0, 295.0, 0.9).err(),
            moving_air(1.0, 8e-3, bad, 295.0).err(),
        ] {
            assert!(matches!(
                refused,
                Some(ReferenceError::SizeNotInTable { .. })
            ));
        }
    }
}

#[test]
fn polypropylene_is_rated_within_what_the_charts_give() {
    let rated = rated_temperature(BarrelMaterial::Polypropylene).unwrap();
    assert_eq!(rated.rated_kelvin, 373.15);
    assert!(rated.rated_range_kelvin.0 < rated.rated_kelvin);
    assert!(
        rated_temperature(BarrelMaterial::Glass)
            .unwrap()
            .rated_kelvin
            > rated.rated_kelvin
    );
}

// ---- the pressure in a closed syringe ----

/// IAPWS R7-97(2012), table 35 (seen quoted in several public test suites); the saturation table
/// of Çengel & Boles, Thermodynamics, A-4 (from memory).
#[test]
fn saturation_pressures_are_those_of_the_release_and_of_steam_tables() {
    for (kelvin, megapascal) in [
        (300.0, 0.353_658_941e-2),
        (500.0, 0.263_889_776e1),
        (600.0, 0.123_443_146e2),
    ] {
        let pressure = water_saturation_pressure_pa(kelvin).unwrap();
        assert_relative_eq!(pressure, megapascal * 1e6, max_relative = 1e-8);
    }
    for (celsius, kilopascal) in [
        (20.0, 2.3392),
        (50.0, 12.352),
        (80.0, 47.416),
        (90.0, 70.183),
        (100.0, 101.42),
    ] {
        let pressure = water_saturation_pressure_pa(celsius + 273.15).unwrap();
        assert_relative_eq!(pressure, kilopascal * 1e3, max_relative = 3e-4);
    }
    for kelvin in [273.0, 647.2, f64::NAN] {
        assert!(water_saturation_pressure_pa(kelvin).is_err());
    }
}

fn syringe(air_gap_ml: f64, filled_ml: f64) -> ClosedSyringe {
    ClosedSyringe {
        start_kelvin: 293.15,
        hot_kelvin: 353.15,
        ambient_pa: 101_325.0,
        air_gap_m3: air_gap_ml * 1e-6,
        filled_m3: filled_ml * 1e-6,
        barrel_bore_m: 4.7e-3,
        barrel_expansion_per_kelvin: 0.0,
    }
}

/// By hand from printed figures: saturation 2.3392 and 47.416 kPa (steam tables), densities
/// 998.2072 and 971.7904 kg/m3 at 20 and 80 °C (the project's water table, IAPWS-95). Half a
/// millilitre of each: the liquid grows by 0.5 (998.2072/971.7904 - 1) = 0.013592 mL; the air has
/// 0.486408 mL left; 98.9858 kPa 353.15/293.15 0.5/0.486408 + 47.416 kPa = 169.996 kPa, 68.67 kPa
/// over the outside, 1.191 N on a bore of 4.7 mm. Free, the air takes
/// 98.9858 353.15/293.15 0.5/(101.325 - 47.416) = 1.10600 mL, and the stopper gives 0.61959 mL.
#[test]
fn pressure_force_and_travel_are_those_by_hand() {
    let ClosedPressure::Gas {
        gauge_pa,
        parts,
        stopper_force_n,
        hot_gap_m3,
        free_stopper,
    } = closed_pressure(&syringe(0.5, 0.5)).unwrap()
    else {
        panic!("air remains");
    };
    assert_relative_eq!(gauge_pa, 68.67e3, max_relative = 1e-3);
    assert_relative_eq!(hot_gap_m3, 0.486_408e-6, max_relative = 1e-5);
    assert_relative_eq!(stopper_force_n, 1.191, max_relative = 1e-3);
    let free = free_stopper.unwrap();
    assert_relative_eq!(free.volume_m3, 0.61959e-6, max_relative = 1e-3);
    assert_relative_eq!(
        free.travel_m,
        0.61959e-6 / 1.734_944e-5,
        max_relative = 1e-3
    );
    let PressureParts {
        air_heated_pa,
        air_compressed_pa,
        vapour_pa,
    } = parts;
    assert_relative_eq!(
        air_heated_pa,
        98.9858e3 * (353.15 / 293.15 - 1.0),
        max_relative = 1e-4
    );
    assert_relative_eq!(vapour_pa, 45.077e3, max_relative = 1e-4);
    assert_relative_eq!(
        air_heated_pa + air_compressed_pa + vapour_pa,
        gauge_pa,
        max_relative = 1e-12
    );
}

#[test]
fn at_the_free_stoppers_place_nothing_presses() {
    // A syringe closed with the hot gas space of the free stopper, seen from the start: its
    // pressure when hot is that outside.
    let closed = syringe(0.3, 0.7);
    let ClosedPressure::Gas {
        free_stopper: Some(free),
        hot_gap_m3,
        ..
    } = closed_pressure(&closed).unwrap()
    else {
        panic!("air remains");
    };
    let space_m3 = hot_gap_m3 + free.volume_m3;
    let air_pa = (closed.ambient_pa - water_saturation_pressure_pa(293.15).unwrap())
        * closed.air_gap_m3
        / space_m3
        * (353.15 / 293.15);
    let inside_pa = air_pa + water_saturation_pressure_pa(353.15).unwrap();
    assert_relative_eq!(inside_pa, closed.ambient_pa, max_relative = 1e-12);
}

#[test]
fn without_air_no_pressure_is_stated_and_the_expansion_is() {
    // 1 mL from 20 to 80 °C: 998.2072/971.7904 - 1 = 2.7184 %.
    let ClosedPressure::LiquidFills {
        excess_m3,
        free_stopper,
    } = closed_pressure(&syringe(0.0, 1.0)).unwrap()
    else {
        panic!("no air");
    };
    assert_relative_eq!(excess_m3, 27.184e-9, max_relative = 1e-4);
    assert_relative_eq!(
        free_stopper.unwrap().volume_m3,
        excess_m3,
        max_relative = 1e-9
    );
    // Air that the expanding liquid uses up is the same case.
    let small = closed_pressure(&syringe(0.02, 1.0)).unwrap();
    assert!(matches!(small, ClosedPressure::LiquidFills { excess_m3, .. } if excess_m3 > 7e-9));
    assert!(small.moves_stopper(1000.0));
}

#[test]
fn expelling_air_lessens_what_a_free_stopper_gives() {
    let gives = |gap_ml: f64| match closed_pressure(&syringe(gap_ml, 1.0)).unwrap() {
        ClosedPressure::Gas { free_stopper, .. }
        | ClosedPressure::LiquidFills { free_stopper, .. } => free_stopper.unwrap().volume_m3,
    };
    for pair in [0.0, 0.01, 0.05, 0.2, 0.5].windows(2) {
        assert!(gives(pair[0]) < gives(pair[1]));
    }
}

#[test]
fn heating_by_nothing_builds_nothing_and_a_barrel_that_widens_less() {
    let cold = ClosedSyringe {
        hot_kelvin: 293.15,
        ..syringe(0.3, 0.7)
    };
    let ClosedPressure::Gas { gauge_pa, .. } = closed_pressure(&cold).unwrap() else {
        panic!("air remains");
    };
    assert_abs_diff_eq!(gauge_pa, 0.0, epsilon = 1e-9);
    let pressure = |expansion: f64| {
        let widening = ClosedSyringe {
            barrel_expansion_per_kelvin: expansion,
            ..syringe(0.1, 0.9)
        };
        match closed_pressure(&widening).unwrap() {
            ClosedPressure::Gas { gauge_pa, .. } => gauge_pa,
            _ => f64::NAN,
        }
    };
    assert!(pressure(1e-4) < pressure(0.0));
    let rigid = closed_pressure(&ClosedSyringe {
        barrel_expansion_per_kelvin: 1.8e-4,
        ..syringe(0.0, 1.0)
    })
    .unwrap();
    assert!(
        !rigid.moves_stopper(0.0),
        "the barrel widens more than the liquid"
    );
}

#[test]
fn where_the_water_boils_no_travel_ends_the_pressure() {
    // 95 °C at 3500 m (65.8 kPa by the standard atmosphere, from memory): vapour 84.6 kPa.
    let high = ClosedSyringe {
        hot_kelvin: 368.15,
        ambient_pa: 65_800.0,
        ..syringe(0.1, 0.9)
    };
    assert!(matches!(
        closed_pressure(&high).unwrap(),
        ClosedPressure::Gas {
            free_stopper: None,
            ..
        }
    ));
}

#[test]
fn impossible_syringes_are_refused_with_their_range() {
    for bad in [
        ClosedSyringe {
            hot_kelvin: 380.0,
            ..syringe(0.1, 0.9)
        },
        ClosedSyringe {
            start_kelvin: 270.0,
            ..syringe(0.1, 0.9)
        },
        ClosedSyringe {
            ambient_pa: 1000.0,
            ..syringe(0.1, 0.9)
        },
        ClosedSyringe {
            barrel_bore_m: 0.0,
            ..syringe(0.1, 0.9)
        },
        ClosedSyringe {
            barrel_expansion_per_kelvin: -1e-4,
            ..syringe(0.1, 0.9)
        },
        syringe(-0.1, 0.9),
        syringe(0.1, f64::NAN),
    ] {
        assert!(matches!(
            closed_pressure(&bad),
            Err(ThermalInputError::OutOfRange { .. })
        ));
    }
}

// ---- what a block really does ----

fn block(
    place: &str,
    insertion_s: Option<f64>,
    times: impl IntoIterator<Item = f64>,
    celsius: impl Fn(f64) -> f64,
) -> BlockTrace {
    BlockTrace {
        place: place.to_owned(),
        set_kelvin: Some(359.15),
        insertion_s,
        trace: MeasuredTrace::new(
            times
                .into_iter()
                .map(|time_s| TracePoint {
                    time_s,
                    temperature_kelvin: celsius(time_s) + 273.15,
                })
                .collect(),
        )
        .unwrap(),
    }
}

fn every(step_s: f64, until_s: f64) -> impl Iterator<Item = f64> + Clone {
    (0..=(until_s / step_s).round() as u32).map(move |number| step_s * f64::from(number))
}

/// A thermostat that swings by 0.3 K about 85.4 °C after a warm-up: the mean of whole swings is
/// 85.4, and the standard deviation of a sine is its amplitude over the root of 2.
#[test]
fn a_swinging_plateau_has_its_mean_and_its_swing() {
    let trace = block("A1", None, every(1.0, 1800.0), |time_s| {
        85.4 - 63.4 * (-time_s / 100.0).exp() + 0.3 * (std::f64::consts::TAU * time_s / 60.0).sin()
    });
    let check = check_block(&[trace], &BlockCheckOptions::default()).unwrap();
    let plateau = check.traces[0].plateau;
    assert!(plateau.settled);
    // The warm-up enters the band of 1 K between 63.4 exp(-t/100) = 1.3 and 0.7 K.
    assert!(
        (388.0..451.0).contains(&plateau.from_s),
        "{}",
        plateau.from_s
    );
    assert_abs_diff_eq!(check.traces[0].offset_kelvin, -0.6, epsilon = 0.08);
    assert_abs_diff_eq!(plateau.swing_sd_kelvin, 0.3 / 2f64.sqrt(), epsilon = 0.06);

    // Narrowed to what the tail of the warm-up no longer reaches, both are exact.
    let narrow = BlockCheckOptions {
        plateau_window_s: 600.0,
        plateau_band_kelvin: 0.3001,
        ..BlockCheckOptions::default()
    };
    let trace = block("A1", None, every(1.0, 1800.0), |time_s| {
        85.4 + 0.3 * (std::f64::consts::TAU * time_s / 60.0).sin()
    });
    let check = check_block(&[trace], &narrow).unwrap();
    let plateau = check.traces[0].plateau;
    assert_eq!((plateau.from_s, plateau.to_s), (0.0, 1800.0));
    assert_abs_diff_eq!(check.traces[0].offset_kelvin, -0.6, epsilon = 1e-9);
    assert_relative_eq!(
        plateau.swing_sd_kelvin,
        0.3 / 2f64.sqrt(),
        max_relative = 1e-3
    );
}

/// Independent scatter of standard deviation s: the standard error of a mean of n is s/sqrt(n)
/// (GUM 4.2.3), which batch means must give on average.
#[test]
fn the_standard_error_of_a_noisy_plateau_is_right_on_average() {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let mut normal = move || {
        // Sum of twelve uniforms less six: unit variance.
        (0..12)
            .map(|_| {
                state ^= state << 13;
                state ^= state >> 7;
                state ^= state << 17;
                (state >> 11) as f64 / (1u64 << 53) as f64
            })
            .sum::<f64>()
            - 6.0
    };
    let (mut squares, mut misses) = (0.0, 0);
    let runs = 400;
    for _ in 0..runs {
        let noise: Vec<f64> = (0..=320).map(|_| 0.2 * normal()).collect();
        let trace = block("A1", None, every(1.0, 320.0), |time_s| {
            85.0 + noise[time_s as usize]
        });
        let check = check_block(&[trace], &BlockCheckOptions::default()).unwrap();
        let plateau = check.traces[0].plateau;
        let error = plateau.std_error_kelvin.unwrap();
        squares += error * error / f64::from(runs);
        // Student's t with 7 degrees of freedom: 95 % within 2.365 standard errors.
        if (check.traces[0].offset_kelvin + 1.0).abs() > 2.365 * error {
            misses += 1;
        }
    }
    assert_relative_eq!(squares.sqrt(), 0.2 / 321f64.sqrt(), max_relative = 0.08);
    assert!((8..=34).contains(&misses), "{misses} of 400, 20 expected");
}

/// Offsets of -0.2, -0.6 and -1.0 K: mean -0.6, standard deviation 0.4, spread 0.8, standard error
/// 0.4/sqrt(3), by hand.
#[test]
fn places_give_offset_spread_and_standard_error() {
    let places = [("D6", 85.0), ("A1", 85.8), ("B3", 85.4)]
        .map(|(place, celsius)| block(place, None, every(10.0, 600.0), |_| celsius));
    let check = check_block(&places, &BlockCheckOptions::default()).unwrap();
    let [set] = &check.by_set[..] else {
        panic!("one set temperature");
    };
    assert_eq!(set.places, 3);
    assert_abs_diff_eq!(set.offset_kelvin, -0.6, epsilon = 1e-9);
    assert_abs_diff_eq!(set.place_sd_kelvin.unwrap(), 0.4, epsilon = 1e-9);
    assert_abs_diff_eq!(set.place_spread_kelvin.unwrap(), 0.8, epsilon = 1e-9);
    assert_abs_diff_eq!(
        set.offset_std_error_kelvin.unwrap(),
        0.4 / 3f64.sqrt(),
        epsilon = 1e-9
    );
    assert_eq!(
        (set.hottest_place.as_str(), set.coldest_place.as_str()),
        ("A1", "D6")
    );
    assert_eq!(check.largest_fall_kelvin, None);

    // The thermocouple's own uncertainty is common to all and goes on top in squares (3-4-5).
    let options = BlockCheckOptions {
        probe_uncertainty_kelvin: 0.4 / 3f64.sqrt() * 0.75,
        ..BlockCheckOptions::default()
    };
    let check = check_block(&places, &options).unwrap();
    assert_abs_diff_eq!(
        check.by_set[0].offset_std_error_kelvin.unwrap(),
        0.4 / 3f64.sqrt() * 1.25,
        epsilon = 1e-9
    );
}

#[test]
fn two_traces_of_one_place_count_as_one_place() {
    let traces = [("A1", 85.0), ("A1", 85.4), ("D6", 85.8)]
        .map(|(place, celsius)| block(place, None, every(10.0, 600.0), |_| celsius));
    let check = check_block(&traces, &BlockCheckOptions::default()).unwrap();
    assert_eq!(check.by_set[0].places, 2);
    // Means of the places: -0.8 and -0.2.
    assert_abs_diff_eq!(check.by_set[0].offset_kelvin, -0.5, epsilon = 1e-9);
    assert_abs_diff_eq!(
        check.by_set[0].place_spread_kelvin.unwrap(),
        0.6,
        epsilon = 1e-9
    );
}

/// A fall of 4 K (x) e^(1-x), x the time since the insertion in units of 60 s: greatest at x = 1,
/// where x e^(1-x) = 1; back within 0.5 K where x e^(1-x) = 1/8, x = 4.3636 (by bisection below).
#[test]
fn dip_and_recovery_are_those_of_a_known_fall() {
    let fall = |time_s: f64| {
        let x = ((time_s - 300.0) / 60.0).max(0.0);
        85.4 - 4.0 * x * (1.0 - x).exp()
    };
    let trace = block("A1", Some(300.0), every(1.0, 1800.0), fall);
    let check = check_block(&[trace], &BlockCheckOptions::default()).unwrap();
    let dip = check.traces[0].dip.unwrap();
    assert!(dip.before_was_measured);
    assert_abs_diff_eq!(dip.before_kelvin, 358.55, epsilon = 1e-9);
    assert_abs_diff_eq!(dip.fall_kelvin, 4.0, epsilon = 1e-9);
    assert_eq!(dip.lowest_after_s, 60.0);
    let (mut low, mut high) = (1.0_f64, 10.0_f64);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if middle * (1.0 - middle).exp() > 0.125 {
            low = middle;
        } else {
            high = middle;
        }
    }
    assert_abs_diff_eq!(dip.recovered_after_s.unwrap(), 60.0 * low, epsilon = 0.05);
    assert_eq!(check.largest_fall_kelvin, Some(dip.fall_kelvin));
    assert_eq!(check.longest_recovery_s, dip.recovered_after_s);
    // The plateau is that after the insertion.
    assert!(check.traces[0].plateau.from_s > 300.0);
    assert_abs_diff_eq!(check.traces[0].offset_kelvin, -0.6, epsilon = 0.05);
}

#[test]
fn a_fall_within_the_band_recovers_at_once_and_one_that_goes_on_never() {
    let small = block("A1", Some(100.0), every(1.0, 900.0), |time_s| {
        85.4 - if time_s > 100.0 { 0.3 } else { 0.0 }
    });
    let lasting = block("D6", Some(100.0), every(1.0, 900.0), |time_s| {
        85.4 - if time_s > 100.0 { 2.0 } else { 0.0 }
    });
    let check = check_block(&[small, lasting], &BlockCheckOptions::default()).unwrap();
    assert_eq!(check.traces[0].dip.unwrap().recovered_after_s, Some(0.0));
    assert_eq!(check.traces[1].dip.unwrap().recovered_after_s, None);
    assert_abs_diff_eq!(check.largest_fall_kelvin.unwrap(), 2.0, epsilon = 1e-9);
    assert_eq!(check.longest_recovery_s, None);
}

#[test]
fn a_trace_that_begins_with_the_insertion_takes_the_plateau_for_before_and_says_so() {
    let trace = block("A1", Some(0.0), every(1.0, 900.0), |time_s| {
        85.4 - 3.0 * (-time_s / 30.0).exp()
    });
    let check = check_block(&[trace], &BlockCheckOptions::default()).unwrap();
    let dip = check.traces[0].dip.unwrap();
    assert!(!dip.before_was_measured);
    assert_abs_diff_eq!(dip.fall_kelvin, 3.0, epsilon = 0.02);
    // 3 exp(-t/30) = 0.5 at 30 ln 6 = 53.75 s.
    assert_abs_diff_eq!(dip.recovered_after_s.unwrap(), 53.75, epsilon = 1.0);
}

#[test]
fn a_block_that_still_drifts_is_told_as_not_settled() {
    let trace = block("A1", None, every(1.0, 900.0), |time_s| 60.0 + 0.02 * time_s);
    let check = check_block(&[trace], &BlockCheckOptions::default()).unwrap();
    let plateau = check.traces[0].plateau;
    assert!(!plateau.settled);
    assert_eq!(plateau.from_s, 600.0);
}

#[test]
fn a_block_check_without_what_it_needs_says_so() {
    let options = BlockCheckOptions::default();
    assert_eq!(check_block(&[], &options), Err(ThermalInputError::NoTrace));
    let unset = BlockTrace {
        set_kelvin: None,
        ..block("A1", None, every(10.0, 600.0), |_| 85.0)
    };
    let refused = check_block(&[unset], &options).unwrap_err().to_string();
    assert!(
        refused.contains("A1") && refused.contains("set_temp_C"),
        "{refused}"
    );
    let short = block("A1", None, every(10.0, 200.0), |_| 85.0);
    assert!(matches!(
        check_block(&[short], &options),
        Err(ThermalInputError::PlateauTooShort { .. })
    ));
    let late = block("A1", Some(500.0), every(10.0, 600.0), |_| 85.0);
    assert!(matches!(
        check_block(&[late], &options),
        Err(ThermalInputError::PlateauTooShort { .. })
    ));
}

#[test]
fn a_file_of_several_places_and_set_temperatures_is_taken_apart() {
    let text = "# invented data\ntime_min;temp_C;place;set_temp_C;operator\n0;85,5;A1;86;x\n0;85,0;D6;86;x\n1;85,6;A1;86;x\n1;85,1;D6;86;x\n2;70,2;A1;70;y\n3;70,1;A1;70;y\n";
    let read = parse_block_traces("block.csv", text, None, Some(30.0)).unwrap();
    assert!(read.invented);
    assert_eq!(read.ignored_columns, ["operator"]);
    let told: Vec<(&str, f64, usize)> = read
        .traces
        .iter()
        .map(|trace| {
            (
                trace.place.as_str(),
                trace.set_kelvin.unwrap(),
                trace.trace.points().len(),
            )
        })
        .collect();
    assert_eq!(
        told,
        [("A1", 359.15, 2), ("D6", 359.15, 2), ("A1", 343.15, 2)]
    );
    assert!(
        read.traces
            .iter()
            .all(|trace| trace.insertion_s == Some(30.0))
    );
}

#[test]
fn a_file_without_places_is_one_place_of_its_own_name() {
    let folder = std::env::temp_dir().join(format!("heatset-block-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("well-A1.csv");
    std::fs::write(&path, "time_s,temp_C\n0,85\n60,85.2\n").unwrap();
    let read = read_block_traces(&path, Some(359.15), None).unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    assert_eq!(read.traces[0].place, "well-A1");
    assert_eq!(read.traces[0].set_kelvin, Some(359.15));
}

#[test]
fn faults_of_a_block_file_name_line_and_column() {
    for (text, says) in [
        (
            "time_s,temp_C,place\n0,85,A1\n1,85,\n2,85,A1\n",
            "line 3, column place: the place is missing",
        ),
        (
            "time_s,temp_C,place\n0,85,A1\n1,85,B2\n2,85,A1\n",
            "line 3: this is the only reading of place B2",
        ),
        (
            "time_s,temp_C,place\n0,85,A1\n0,85,B2\n0,85,A1\n1,85,B2\n",
            "line 4, column time_s: the same time as on line 2",
        ),
        (
            "time_s,temp_C,set_temp_C\n0,85,86\n1,85,hot\n2,85,86\n",
            "line 3, column set_temp_C: \"hot\" is not a number",
        ),
    ] {
        let refused = parse_block_traces("block.csv", text, None, None)
            .unwrap_err()
            .to_string();
        assert!(refused.contains(says), "{refused} should say {says}");
    }
}

#[test]
fn a_block_check_prints_as_json_with_units_in_its_keys() {
    let trace = block("A1", Some(100.0), every(10.0, 600.0), |_| 85.0);
    let check = check_block(&[trace], &BlockCheckOptions::default()).unwrap();
    let json = serde_json::to_value(&check).unwrap();
    assert_abs_diff_eq!(
        json["by_set"][0]["offset_K"].as_f64().unwrap(),
        -1.0,
        epsilon = 1e-9
    );
    assert_eq!(json["traces"][0]["dip"]["recovered_after_s"], 0.0);
    assert!(json["by_set"][0]["place_sd_K"].is_null());
}
