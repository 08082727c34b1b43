//! What the gel in a syringe feels: cooling and resting times, heat doses, the contact fitted from a
//! thermocouple run, and the block check as a document, against closed forms.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod series;

use heatset::thermal::conduction::{AxialBarrel, Barrel, EndCondition, Surroundings, ThermalBody};
use heatset::thermal::{
    BlockCheckDocument, BlockCheckOptions, ContactQuestion, CoolDown, CoreUntil, DoseReference,
    HeatSchedule, MeasuredTrace, ProbePlace, SyringeInput, SyringeSetup, TracePoint, WarmUpBasis,
    check_block, cool_time, fit_contact, gel_history, parse_block_traces, warm_up_summary,
    what_matters,
};
use rand::{RngExt, SeedableRng};

const ZERO: f64 = 273.15;

fn gel() -> ThermalBody {
    ThermalBody {
        conductivity_w_per_m_kelvin: 0.58,
        density_kg_per_m3: 1025.0,
        specific_heat_j_per_kg_kelvin: 3900.0,
    }
}

fn plastic() -> ThermalBody {
    ThermalBody {
        conductivity_w_per_m_kelvin: 0.17,
        density_kg_per_m3: 905.0,
        specific_heat_j_per_kg_kelvin: 1925.0,
    }
}

/// A cylinder of gel without a wall, 12 mm wide.
fn bare(contact: f64, air: f64) -> SyringeSetup {
    SyringeSetup {
        barrel: Barrel::new(12e-3, 0.0, gel(), gel()).unwrap(),
        contact_w_per_m2_kelvin: contact,
        air_w_per_m2_kelvin: air,
        room_kelvin: 22.0 + ZERO,
        length: None,
    }
}

fn one_ml() -> SyringeSetup {
    SyringeSetup {
        barrel: Barrel::new(4.7e-3, 0.9e-3, gel(), plastic()).unwrap(),
        contact_w_per_m2_kelvin: 150.0,
        air_w_per_m2_kelvin: 30.0,
        room_kelvin: 22.0 + ZERO,
        length: None,
    }
}

/// Fourier number of one second in the bare cylinder.
fn fourier_a_second() -> f64 {
    gel().diffusivity_m2_per_s() / (6e-3 * 6e-3)
}

// ---------------------------------------------------------------- cooling and resting

/// F. Incropera, D. DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1 (one-term coefficients of
/// the cylinder; `tests/data/cylinder_one_term.csv`): the centre has `C1 exp(-zeta1^2 Fo)` still to go, for
/// Fo > 0.2.
#[test]
fn a_bare_cylinder_cools_and_warms_in_the_time_of_the_one_term_series() {
    let table = include_str!("data/cylinder_one_term.csv");
    for line in table.lines().skip(1) {
        let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let (biot, zeta, first) = (cells[0], cells[1], cells[2]);
        if !(0.05..=20.0).contains(&biot) {
            continue;
        }
        let air = biot * 0.58 / 6e-3;
        let setup = bare(150.0, air);
        for (start, room, until) in [(80.0, 22.0, 37.0), (90.0, 4.0, 37.0), (4.0, 22.0, 20.0)] {
            let share: f64 = (until - room) / (start - room);
            let fourier = (first / share).ln() / (zeta * zeta);
            if fourier < 0.25 {
                continue;
            }
            let course = CoolDown::from_uniform(&setup, start + ZERO, air, room + ZERO).unwrap();
            let until = until + ZERO;
            let ours = course
                .time_s(if start > room {
                    CoreUntil::Under { kelvin: until }
                } else {
                    CoreUntil::Over { kelvin: until }
                })
                .unwrap();
            let theirs = fourier / fourier_a_second();
            assert!(
                (ours / theirs - 1.0).abs() < 4e-3,
                "Bi {biot}, {start} to {until}: {ours} s, series {theirs} s"
            );
        }
    }
}

/// Close to the room, past eight time constants, one exponential is left: at our time the one-term
/// series is within the 0.01 K of the conduction's steps.
#[test]
fn a_temperature_close_to_the_room_is_reached_late_and_as_the_series_says() {
    // Bi = 0.3: zeta1 0.746461, C1 1.071162 (Incropera, table 5.1).
    let setup = bare(150.0, 29.0);
    let course = CoolDown::from_uniform(&setup, 80.0 + ZERO, 29.0, 22.0 + ZERO).unwrap();
    for excess in [10.0, 1.0, 0.1, 1e-2, 1e-4] {
        let kelvin = 22.0 + excess + ZERO;
        let ours_s = course.time_s(CoreUntil::Under { kelvin }).unwrap();
        let fourier = fourier_a_second() * ours_s;
        let series = 1.071_162 * 58.0 * (-0.746_461_f64.powi(2) * fourier).exp();
        assert!((series - excess).abs() < 0.01, "{excess} K: {series} K");
        let theirs_s =
            (1.071_162 * 58.0 / excess).ln() / 0.746_461_f64.powi(2) / fourier_a_second();
        assert!(
            (ours_s / theirs_s - 1.0).abs() < 0.01,
            "{ours_s} {theirs_s}"
        );
    }
}

#[test]
fn air_that_is_too_warm_never_cools_and_a_cool_core_needs_no_time() {
    let setup = bare(150.0, 29.0);
    let course = |start: f64, room: f64| {
        CoolDown::from_uniform(&setup, start + ZERO, 29.0, room + ZERO).unwrap()
    };
    let under = CoreUntil::Under {
        kelvin: 37.0 + ZERO,
    };
    assert_eq!(course(80.0, 40.0).time_s(under), None);
    assert_eq!(course(80.0, 37.0).time_s(under), None);
    assert_eq!(course(30.0, 22.0).time_s(under), Some(0.0));
    // Cool now, but the room will warm it.
    assert_eq!(course(30.0, 40.0).time_s(under), None);
    // Out of the refrigerator: a room at 18 never brings it to 20.
    let over = CoreUntil::Over {
        kelvin: 20.0 + ZERO,
    };
    assert_eq!(course(4.0, 18.0).time_s(over), None);
    assert_eq!(course(21.0, 22.0).time_s(over), Some(0.0));
}

/// A core that still warms while the wall cools already: the last crossing counts, not the first.
#[test]
fn the_core_counts_as_cool_only_once_it_stays_cool() {
    // 20 s in a hot block leave the core of 12 mm cold and its edge hot.
    let setup = bare(2000.0, 5.0);
    let schedule = HeatSchedule::simple(22.0 + ZERO, 95.0 + ZERO, Some(20.0)).unwrap();
    let history = gel_history(&setup, &schedule.timed().unwrap()).unwrap();
    let core = history.core_kelvin()[history.block_end()];
    assert!(core < 37.0 + ZERO, "{core}");
    let course = CoolDown::from_field(
        &setup,
        history.model(),
        history.block_end_field_kelvin(),
        5.0,
        22.0 + ZERO,
    )
    .unwrap();
    let until = CoreUntil::Under {
        kelvin: 37.0 + ZERO,
    };
    let time_s = course.time_s(until).unwrap();
    // It evens out above 37 °C and then cools as one body (lumped capacitance, Incropera, eq. 5.6).
    let mean = history.mean_kelvin()[history.block_end()] - ZERO;
    assert!(mean > 38.0, "{mean}");
    let lumped_s = 1025.0 * 3900.0 * 6e-3 / (2.0 * 5.0) * ((mean - 22.0) / 15.0).ln();
    assert!((time_s / lumped_s - 1.0).abs() < 0.1, "{time_s} {lumped_s}");
}

/// Twice the coefficient halves the time of a barrel of one temperature (lumped capacitance, Incropera,
/// eq. 5.6); the range brackets the middle.
#[test]
fn the_range_of_the_air_brackets_the_cooling_time() {
    let setup = SyringeSetup {
        air_w_per_m2_kelvin: 4.0,
        ..bare(150.0, 4.0)
    };
    let model = setup.model().unwrap();
    let field = vec![80.0 + ZERO; model.cell_count()];
    let time = cool_time(
        &setup,
        &model,
        &field,
        22.0 + ZERO,
        Some((2.0, 8.0)),
        CoreUntil::Under {
            kelvin: 37.0 + ZERO,
        },
    )
    .unwrap();
    let [soonest, latest] = time.range_s.unwrap().map(Option::unwrap);
    let middle = time.time_s.unwrap();
    // Bi 0.04: rho cp R/(2 h) ln(58/15), within 2 %.
    let lumped_s = 1025.0 * 3900.0 * 6e-3 / 8.0 * (58.0_f64 / 15.0).ln();
    assert!(
        (middle / lumped_s - 1.0).abs() < 0.02,
        "{middle} {lumped_s}"
    );
    assert!((latest / middle - 2.0).abs() < 0.04);
    assert!((middle / soonest - 2.0).abs() < 0.06);
}

// ---------------------------------------------------------------- heat dose and warm-up

/// `integral from 0 to x of (1 - exp(-u))/u du` by Simpson's rule: M. Abramowitz, I. Stegun, Handbook of
/// Mathematical Functions, section 5.1.
fn ein(x: f64) -> f64 {
    let steps = 20_000;
    let h = x / f64::from(steps);
    let value = |u: f64| if u == 0.0 { 1.0 } else { -(-u).exp_m1() / u };
    let inside: f64 = (1..steps)
        .map(|i| f64::from(if i % 2 == 1 { 4 } else { 2 }) * value(f64::from(i) * h))
        .sum();
    h / 3.0 * (value(0.0) + inside + value(x))
}

/// A gel that conducts so well that it has one temperature, and a time constant of 120 s.
fn lumped() -> SyringeSetup {
    let body = ThermalBody {
        conductivity_w_per_m_kelvin: 2000.0,
        ..gel()
    };
    SyringeSetup {
        barrel: Barrel::new(4.7e-3, 0.0, body, body).unwrap(),
        contact_w_per_m2_kelvin: 1025.0 * 3900.0 * 2.35e-3 / (2.0 * 120.0),
        air_w_per_m2_kelvin: 30.0,
        room_kelvin: 25.0 + ZERO,
        length: None,
    }
}

/// A lag of tau costs tau Ein(x), x = E dT/(R T^2) (the Arrhenius exponent taken as straight over the
/// warm-up, hence half a per cent); 390 kJ/mol, 25 to 70 °C, 900 s: 484.70 s (SciPy quadrature).
#[test]
fn a_lumped_gel_loses_tau_ein_of_x_of_its_clock() {
    let schedule = HeatSchedule::simple(25.0 + ZERO, 70.0 + ZERO, Some(900.0))
        .unwrap()
        .timed()
        .unwrap();
    let history = gel_history(&lumped(), &schedule).unwrap();
    for energy in [250e3, 390e3, 470e3] {
        let reference = DoseReference {
            activation_energy_j_per_mol: energy,
            reference_kelvin: 70.0 + ZERO,
        };
        let doses = history.doses(reference);
        let summary = warm_up_summary(&history, &schedule, Some(reference), Some(&doses));
        let x = energy * 45.0 / (8.314_462_618 * (70.0 + ZERO).powi(2));
        let lag_s = summary.lag_s.unwrap();
        let closed_s = 120.0 * ein(x);
        assert!(
            (lag_s / closed_s - 1.0).abs() < 5e-3,
            "{energy}: {lag_s} {closed_s}"
        );
        assert_eq!(summary.warm_up_basis, WarmUpBasis::HeatDose);
        assert!(
            (summary.warm_up_s - lag_s).abs() < 1e-9,
            "nothing cools here"
        );
        if energy == 390e3 {
            let mean_s = summary.doses.unwrap().mean_s;
            // At 390 kJ/mol the 0.01 K of the conduction's steps are 0.4 % of the rate, and the rise
            // takes two minutes.
            assert!((mean_s - 484.70).abs() < 0.5, "{mean_s}");
        }
    }
}

/// Without an activation energy the warm-up of a lumped gel is its time constant: the integral of
/// `exp(-t/tau)`.
#[test]
fn by_mean_temperature_a_lumped_gel_runs_its_time_constant_behind() {
    let schedule = HeatSchedule::simple(25.0 + ZERO, 70.0 + ZERO, Some(1800.0))
        .unwrap()
        .timed()
        .unwrap();
    let history = gel_history(&lumped(), &schedule).unwrap();
    let summary = warm_up_summary(&history, &schedule, None, None);
    assert_eq!(summary.warm_up_basis, WarmUpBasis::MeanTemperature);
    assert!(
        (summary.warm_up_s - 120.0).abs() < 0.1,
        "{}",
        summary.warm_up_s
    );
    // Within 1 K after tau ln(45).
    let near_s = summary.core_near_set_s.unwrap();
    assert!((near_s - 120.0 * 45.0_f64.ln()).abs() <= 1.5, "{near_s}");
    assert_eq!(summary.lag_s, None);
    assert!(summary.doses.is_none());
}

/// What is gathered in air comes on top: with cooling the lag is smaller, the warm-up is not.
#[test]
fn cooling_adds_to_the_dose_and_leaves_the_warm_up_alone() {
    let reference = DoseReference {
        activation_energy_j_per_mol: 300e3,
        reference_kelvin: 90.0 + ZERO,
    };
    let summed = |schedule: HeatSchedule| {
        let schedule = schedule.timed().unwrap();
        let history = gel_history(&one_ml(), &schedule).unwrap();
        let doses = history.doses(reference);
        warm_up_summary(&history, &schedule, Some(reference), Some(&doses))
    };
    let heated = HeatSchedule::simple(22.0 + ZERO, 90.0 + ZERO, Some(360.0)).unwrap();
    let alone = summed(heated.clone());
    let cooled = summed(heated.then_cool(22.0 + ZERO, 300.0).unwrap());
    assert!(cooled.lag_s.unwrap() < alone.lag_s.unwrap() - 1.0);
    assert!((cooled.warm_up_s - alone.warm_up_s).abs() < 1e-6);
    assert!(cooled.core_at_end_kelvin < alone.core_at_end_kelvin - 20.0);
    assert!((cooled.core_at_heat_end_kelvin - alone.core_at_heat_end_kelvin).abs() < 1e-9);
}

/// A block that rises at a steady rate leaves a lumped gel `r tau (1 - exp(-t/tau))` behind (first-order
/// lag under a ramp, K. Ogata, Modern Control Engineering, section 5.2; from memory); the clock starts at
/// the set temperature.
#[test]
fn a_cold_block_leaves_a_lumped_gel_a_ramps_lag_behind() {
    let schedule = heatset::thermal::parse_heat_schedule(
        "run.toml",
        "start_temp = \"25C\"\nclock = \"at-set\"\nblock_start = \"25C\"\nramp = \"9K/min\"\n\
         [[stage]]\nkind = \"heat\"\nset = \"70C\"\ntime = \"5min\"\n",
    )
    .unwrap()
    .timed()
    .unwrap();
    let history = gel_history(&lumped(), &schedule).unwrap();
    // 45 K at 9 K/min are 300 s, then 300 s on the clock.
    assert_eq!(history.times_s().last(), Some(&600.0));
    let rate = 9.0 / 60.0;
    for (time_s, block) in [(120_usize, 43.0), (300, 70.0)] {
        let behind = rate * 120.0 * (1.0 - (-(time_s as f64) / 120.0).exp());
        let place = history
            .times_s()
            .iter()
            .position(|t| (*t - time_s as f64).abs() < 1e-6)
            .unwrap();
        let mean = history.mean_kelvin()[place] - ZERO;
        assert!((mean - (block - behind)).abs() < 0.02, "{time_s}: {mean}");
    }
    let summary = warm_up_summary(&history, &schedule, None, None);
    assert_eq!(summary.heat_time_s, 300.0);
}

#[test]
fn times_come_every_second_or_finer_and_hold_the_ends_of_all_stages() {
    let schedule = HeatSchedule::simple(22.0 + ZERO, 90.0 + ZERO, Some(100.4))
        .unwrap()
        .then_cool(22.0 + ZERO, 30.3)
        .unwrap()
        .timed()
        .unwrap();
    let capillary = SyringeSetup {
        barrel: Barrel::new(0.3e-3, 0.0, gel(), gel()).unwrap(),
        contact_w_per_m2_kelvin: 300.0,
        ..one_ml()
    };
    for setup in [one_ml(), capillary] {
        let history = gel_history(&setup, &schedule).unwrap();
        let times = history.times_s();
        assert_eq!(times[0], 0.0);
        assert!(
            times
                .windows(2)
                .all(|t| t[1] > t[0] && t[1] - t[0] <= 1.0 + 1e-9)
        );
        assert!((times[history.heat_end()] - 100.4).abs() < 1e-9);
        assert!((times.last().unwrap() - 130.7).abs() < 1e-9);
        assert_eq!(history.core_kelvin().len(), times.len());
        assert_eq!(history.gel_kelvin().len(), times.len());
    }
}

/// Which number matters most: by the resistances in series of a thin barrel, the contact's 1/h over 100 to
/// 300 W/m2K far outweighs the wall's d/k and the gel's R/(4k).
#[test]
fn the_contact_matters_most_where_nobody_measured_it() {
    let schedule = HeatSchedule::simple(22.0 + ZERO, 90.0 + ZERO, Some(360.0))
        .unwrap()
        .timed()
        .unwrap();
    let effects = what_matters(
        &one_ml(),
        &schedule,
        None,
        &[
            (SyringeInput::GelConductivity, (0.57, 0.58)),
            (SyringeInput::WallConductivity, (0.12, 0.22)),
            (SyringeInput::Contact, (100.0, 300.0)),
        ],
    )
    .unwrap();
    let order: Vec<SyringeInput> = effects.iter().map(|effect| effect.input).collect();
    assert_eq!(
        order,
        [
            SyringeInput::Contact,
            SyringeInput::WallConductivity,
            SyringeInput::GelConductivity
        ]
    );
    let contact = &effects[0];
    assert!(
        contact.warm_up_s[0] > contact.warm_up_s[1],
        "a better contact warms faster"
    );
    assert!(contact.core_at_heat_end_kelvin[0] < contact.core_at_heat_end_kelvin[1]);
}

// ---------------------------------------------------------------- ends and what stands out

fn with_length(stands_out_m: f64, bottom_end: EndCondition) -> SyringeSetup {
    SyringeSetup {
        length: Some(AxialBarrel {
            filled_length_m: 57.6e-3,
            stands_out_m,
            bottom_end,
            top_end: EndCondition::Insulated,
        }),
        ..one_ml()
    }
}

/// Ends that let no heat through change nothing: the infinite cylinder.
#[test]
fn a_capped_syringe_wholly_in_the_block_is_the_infinite_cylinder() {
    let schedule = HeatSchedule::simple(22.0 + ZERO, 90.0 + ZERO, Some(120.0))
        .unwrap()
        .timed()
        .unwrap();
    let endless = gel_history(&one_ml(), &schedule).unwrap();
    let capped = gel_history(&with_length(0.0, EndCondition::Insulated), &schedule).unwrap();
    for time in [10, 30, 60, 120] {
        let difference = endless.core_kelvin()[time] - capped.core_kelvin()[time];
        assert!(difference.abs() < 0.1, "{time} s: {difference} K");
    }
}

/// What stands out stays unset; along the barrel heat decays as in a fin, over
/// `sqrt(k A/(U P))` (Incropera, section 3.6.2, from memory), some millimetres here.
#[test]
fn the_unset_share_is_what_stands_out_and_a_few_millimetres_more() {
    let schedule = HeatSchedule::simple(22.0 + ZERO, 90.0 + ZERO, Some(900.0))
        .unwrap()
        .timed()
        .unwrap();
    let reference = DoseReference {
        activation_energy_j_per_mol: 300e3,
        reference_kelvin: 90.0 + ZERO,
    };
    let unset = |setup: &SyringeSetup| {
        let history = gel_history(setup, &schedule).unwrap();
        let doses = history.doses(reference);
        warm_up_summary(&history, &schedule, Some(reference), Some(&doses))
            .unset_fraction
            .unwrap()
    };
    let out = unset(&with_length(20e-3, EndCondition::Insulated));
    let share = 20.0 / 57.6;
    assert!(out >= share && out <= share + 6.0 / 57.6, "{out} {share}");
    assert_eq!(unset(&with_length(0.0, EndCondition::Insulated)), 0.0);
    assert_eq!(unset(&one_ml()), 0.0);
    let open = EndCondition::AsSide {
        surroundings: Surroundings::Air,
    };
    let open_end = unset(&with_length(0.0, open));
    assert!(
        open_end > 0.0 && open_end <= 6.0 / 57.6,
        "an open end costs a few millimetres: {open_end}"
    );
}

// ---------------------------------------------------------------- contact from one run

/// A thermocouple run in the bare cylinder by the series of the infinite cylinder: 22 to 90 °C,
/// Bi = 1.5, so 145 W/m2K; the probe at a share of the radius; normal noise.
fn series_run(place: f64, noise_kelvin: f64, seed: u64) -> MeasuredTrace {
    let series = series::cylinder(1.5);
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
    let mut normal = || {
        // Box and Muller.
        let (a, b): (f64, f64) = (random.random(), random.random());
        (-2.0 * (1.0 - a).ln()).sqrt() * (2.0 * std::f64::consts::PI * b).cos()
    };
    let points = (0..=120)
        .map(|step| 5.0 * f64::from(step))
        .map(|time_s| {
            let to_go = if time_s == 0.0 {
                1.0
            } else {
                series.at(place, fourier_a_second() * time_s)
            };
            TracePoint {
                time_s,
                temperature_kelvin: 90.0 + ZERO - 68.0 * to_go + noise_kelvin * normal(),
            }
        })
        .collect();
    MeasuredTrace::new(points).unwrap()
}

fn question(start_kelvin: Option<f64>) -> ContactQuestion {
    ContactQuestion {
        set_kelvin: 90.0 + ZERO,
        probe: ProbePlace::Core,
        start_kelvin,
        wall_conductivity_range_w_per_m_kelvin: None,
    }
}

#[test]
fn the_contact_of_a_quiet_run_comes_back() {
    for (place, probe) in [
        (0.0, ProbePlace::Core),
        (1.0, ProbePlace::Edge),
        (0.5, ProbePlace::Radius(0.5)),
    ] {
        let fit = fit_contact(
            &bare(150.0, 30.0),
            &series_run(place, 0.0, 1),
            ContactQuestion {
                probe,
                ..question(None)
            },
        )
        .unwrap();
        assert!(
            (fit.contact_w_per_m2_kelvin / 145.0 - 1.0).abs() < 5e-3,
            "{probe:?}: {}",
            fit.contact_w_per_m2_kelvin
        );
        assert!((fit.start_kelvin - 22.0 - ZERO).abs() < 0.3);
        assert!(fit.residual_rms_kelvin < 0.1);
    }
}

/// 40 noisy runs: the 95 % interval holds the true coefficient in 34 or more of them (binomial of 40 and
/// 0.95, fewer in 3 of 1000), and its standard error is the spread of the estimates.
#[test]
fn the_interval_of_the_contact_holds_the_truth_as_often_as_it_says() {
    for start in [None, Some(22.0 + ZERO)] {
        let fits: Vec<_> = (0..40)
            .map(|seed| {
                fit_contact(
                    &bare(150.0, 30.0),
                    &series_run(0.0, 0.4, seed),
                    question(start),
                )
                .unwrap()
            })
            .collect();
        let held = fits
            .iter()
            .filter(|fit| {
                let [low, high] = fit.contact_ci95_w_per_m2_kelvin;
                (low..=high).contains(&145.0)
            })
            .count();
        assert!(held >= 34, "{held} of 40");
        let mean = fits.iter().map(|f| f.contact_w_per_m2_kelvin).sum::<f64>() / 40.0;
        let spread = (fits
            .iter()
            .map(|f| (f.contact_w_per_m2_kelvin - mean).powi(2))
            .sum::<f64>()
            / 39.0)
            .sqrt();
        let stated = fits
            .iter()
            .map(|f| f.contact_std_error_w_per_m2_kelvin)
            .sum::<f64>()
            / 40.0;
        // The spread of 40 has a standard error of 11 %.
        assert!((spread / stated - 1.0).abs() < 0.35, "{spread} {stated}");
        assert!(
            fits.iter()
                .all(|f| f.start_std_error_kelvin.is_some() == start.is_none())
        );
        let sd = fits.iter().map(|f| f.residual_sd_kelvin).sum::<f64>() / 40.0;
        assert!((sd - 0.4).abs() < 0.03, "{sd}");
    }
}

#[test]
fn a_probe_off_centre_gives_too_good_a_contact_and_the_fit_says_what_else_it_could_be() {
    let fit = fit_contact(
        &bare(150.0, 30.0),
        &series_run(0.5, 0.0, 1),
        question(Some(22.0 + ZERO)),
    )
    .unwrap();
    assert!(
        fit.contact_w_per_m2_kelvin > 1.05 * 145.0,
        "{}",
        fit.contact_w_per_m2_kelvin
    );
    let other = fit.contact_if_off_centre_w_per_m2_kelvin.unwrap();
    assert!((other / 145.0 - 1.0).abs() < 5e-3, "{other}");
}

/// Wall and contact lie in series: what a less conducting wall costs, a better contact makes good.
#[test]
fn the_contact_over_the_walls_conductivity_keeps_the_delay_of_the_core() {
    let schedule = HeatSchedule::simple(22.0 + ZERO, 90.0 + ZERO, Some(360.0))
        .unwrap()
        .timed()
        .unwrap();
    let history = gel_history(&one_ml(), &schedule).unwrap();
    let points = history
        .times_s()
        .iter()
        .zip(history.core_kelvin())
        .step_by(5)
        .map(|(time_s, kelvin)| TracePoint {
            time_s: *time_s,
            temperature_kelvin: *kelvin,
        })
        .collect();
    let fit = fit_contact(
        &one_ml(),
        &MeasuredTrace::new(points).unwrap(),
        ContactQuestion {
            wall_conductivity_range_w_per_m_kelvin: Some((0.12, 0.22)),
            ..question(None)
        },
    )
    .unwrap();
    assert!((fit.contact_w_per_m2_kelvin - 150.0).abs() < 0.5);
    let ends = fit.contact_over_wall_conductivity_w_per_m2_kelvin.unwrap();
    // Of one metre, in the units of each: resistances ln(R_o/R_i)/k and 1/(R_o h) (Incropera, section
    // 3.3.1). The core's mean delay is the sum of every heat capacity times what lies outside of it
    // (W. Elmore, J. Appl. Phys. 19 (1948) 55, from memory): the gel behind all of it, the wall behind
    // part, and R^2/(4 alpha) within the gel.
    let (inner, outer) = (2.35e-3_f64, 3.25e-3_f64);
    let delay_s = |conductivity: f64, contact: f64| {
        let film = 1.0 / (outer * contact);
        let gel_heat = 1025.0 * 3900.0 * inner * inner / 2.0;
        let rings = 200;
        let wall: f64 = (0..rings)
            .map(|ring| {
                let step = (outer - inner) / f64::from(rings);
                let radius = inner + (f64::from(ring) + 0.5) * step;
                let outside = (outer / radius).ln() / conductivity + film;
                905.0 * 1925.0 * radius * step * outside
            })
            .sum();
        gel_heat * ((outer / inner).ln() / conductivity + film)
            + wall
            + inner * inner / (4.0 * gel().diffusivity_m2_per_s())
    };
    for (conductivity, contact) in [(0.12, ends[0]), (0.22, ends[1])] {
        let ratio = delay_s(conductivity, contact) / delay_s(0.17, 150.0);
        assert!(
            (ratio - 1.0).abs() < 0.01,
            "{conductivity}: {contact}, {ratio}"
        );
    }
}

#[test]
fn a_run_that_no_contact_explains_is_refused_with_the_way_out() {
    let run = |kelvin: fn(f64) -> f64| {
        MeasuredTrace::new(
            (0..60)
                .map(|step| 5.0 * f64::from(step))
                .map(|time_s| TracePoint {
                    time_s,
                    temperature_kelvin: kelvin(time_s),
                })
                .collect(),
        )
        .unwrap()
    };
    let fit = |trace: &MeasuredTrace| fit_contact(&bare(150.0, 30.0), trace, question(None));
    let cold = run(|time_s| 295.15 + 1e-3 * time_s);
    let said = fit(&cold).unwrap_err().to_string();
    assert!(said.contains("hardly warms"), "{said}");
    let at_once = run(|time_s| if time_s < 3.0 { 295.15 } else { 363.15 });
    let said = fit(&at_once).unwrap_err().to_string();
    assert!(said.contains("--probe"), "{said}");
}

// ---------------------------------------------------------------- block check

#[test]
fn a_block_check_reads_back_as_it_was_written() {
    let mut text = String::from("time_s,temp_C,place,set_temp_C\n");
    for step in 0..=120 {
        let time_s = 5.0 * f64::from(step);
        let swing = 0.1 * (time_s / 37.0).sin();
        text.push_str(&format!("{time_s},{},A1,86\n", 85.6 + swing));
        text.push_str(&format!("{time_s},{},D6,86\n", 85.0 + swing));
    }
    let read = parse_block_traces("block.csv", &text, None, Some(100.0)).unwrap();
    let check = check_block(&read.traces, &BlockCheckOptions::default()).unwrap();
    let document = BlockCheckDocument::new(vec!["block.csv".to_owned()], false, check);
    let written = document.to_json().unwrap();
    assert_eq!(
        BlockCheckDocument::from_json("x", &written).unwrap(),
        document
    );
    let set = document.check.nearest(86.0 + ZERO).unwrap();
    // Mean of -0.4 and -1.0 K.
    assert!(
        (set.offset_kelvin + 0.7).abs() < 0.05,
        "{}",
        set.offset_kelvin
    );
}

#[test]
fn what_is_no_block_check_is_refused_by_name() {
    for (text, word) in [("{}", "missing field"), ("time_s,temp_C\n", "expected")] {
        let said = BlockCheckDocument::from_json("a.json", text)
            .unwrap_err()
            .to_string();
        assert!(
            said.contains("a.json is no block check") && said.contains(word),
            "{said}"
        );
    }
}
