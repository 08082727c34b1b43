//! What a run sheet is reckoned from, against constants, pharmacopeia, gas law and examples by hand.
#![allow(clippy::unwrap_used, missing_docs)]

mod support;

use approx::assert_relative_eq;
use heatset::fit::BlendCalibration;
use heatset::plan::sheet::blend::{
    ProteinDilution, blend_contents, coil_overlap_ratio, diluted_protein,
    intrinsic_viscosity_m3_per_kg,
};
use heatset::plan::sheet::buffer::{
    ACD_A_CITRIC_ACID_MOL_PER_M3, BICARBONATE_8_4_PERCENT_MOL_PER_M3, Neutralised, acid_mol,
    bicarbonate_m3, citrate_charge, gas_m3, stoichiometry,
};
use heatset::plan::sheet::centrifuge::{
    relative_centrifugal_force_ratio, speed_for_relative_centrifugal_force_per_s,
};
use heatset::plan::sheet::cost::{Used, cost};
use heatset::plan::sheet::plasma::{
    Anticoagulant, Separation, blood_for_plasma_m3, own_plasma_fraction, plasma_m3,
};
use heatset::plan::sheet::prices::parse_prices;
use heatset::plan::sheet::syringes::{
    Losses, gel_from_plasma_m3, gel_needed_m3, plasma_for_gel_m3, syringes_filled,
};
use heatset::plan::sheet::turns::{BlockService, syringes_a_turn, turns};
use heatset::plan::sheet::{
    AcdAsked, BlendStated, BufferStated, MOST_SYRINGES, SheetError, SheetQuestion, SpinStated,
    Supply, run_sheet, usable_aim_s, volumes,
};
use heatset::plan::{
    CoolingAsked, ForceQuestion, NeedleUsed, PushSetup, StatedThinning, Window, force_for_heat_time,
};
use heatset::reference::{BoreBasis, Wall};
use proptest::prelude::*;
use support::{exact_calibration, log_setting};

// ---------------------------------------------------------------- centrifuge

/// The constant of every rotor handbook: 1.118e-5 r n^2, r in cm, n in rpm (from memory; g 9.80665).
#[test]
fn relative_centrifugal_force_has_the_handbook_constant() {
    for (rpm, centimetres) in [
        (1000.0, 10.0),
        (3000.0, 8.4),
        (3500.0, 17.3),
        (15000.0, 6.0),
    ] {
        let ours = relative_centrifugal_force_ratio(rpm / 60.0, centimetres / 100.0);
        let handbook = 1.118e-5 * centimetres * rpm * rpm;
        // Four digits of the constant.
        assert_relative_eq!(ours, handbook, max_relative = 4.5e-4);
    }
}

// ---------------------------------------------------------------- anticoagulant and buffer

/// Computed outside this project from the formula of the United States Pharmacopeia (7.3 g/L citric
/// acid anhydrous, 22.0 g/L trisodium citrate dihydrate) and 84.0 g/L sodium bicarbonate.
#[test]
fn acid_of_the_anticoagulant_and_bicarbonate_stand_in_these_proportions() {
    assert_relative_eq!(ACD_A_CITRIC_ACID_MOL_PER_M3, 38.00, max_relative = 1e-4);
    assert_relative_eq!(
        BICARBONATE_8_4_PERCENT_MOL_PER_M3,
        999.92,
        max_relative = 1e-5
    );
    let all = bicarbonate_m3(1e-6, Neutralised::AllProtons) * 1e6;
    let to_ph = bicarbonate_m3(1e-6, Neutralised::ToPh(7.4)) * 1e6;
    assert_eq!(
        (format!("{all:.4}"), format!("{to_ph:.4}")),
        ("0.1140".into(), "0.1037".into())
    );
    assert_relative_eq!(
        acid_mol(1.0, Neutralised::AllProtons),
        114.0,
        max_relative = 1e-4
    );
}

/// Henderson and Hasselbalch: at the second pKa, far from the others, half of the second protons are
/// gone (the neighbours 1.63 and 1.64 away take and give the same); at pH 14 all three, at pH -3 none.
#[test]
fn citrate_charge_runs_from_none_to_three_through_one_and_a_half() {
    assert_relative_eq!(citrate_charge(4.76), 1.5, max_relative = 2e-3);
    assert_relative_eq!(citrate_charge(14.0), 3.0, max_relative = 1e-6);
    assert!(citrate_charge(-3.0) < 1e-6);
    let mut before = -1.0;
    for tenth in -30..140 {
        let charge = citrate_charge(f64::from(tenth) / 10.0);
        assert!(charge > before);
        before = charge;
    }
}

/// Molar volume of an ideal gas at one atmosphere: 22.414 L/mol at 0 C (CODATA 2018), 24.055 L/mol at
/// 20 C, 24.465 L/mol at 25 C (from memory; handbooks).
#[test]
fn carbon_dioxide_takes_the_room_of_an_ideal_gas() {
    for (celsius, litres) in [(0.0, 22.414), (20.0, 24.055), (25.0, 24.465)] {
        let ours = gas_m3(1.0, celsius + 273.15) * 1e3;
        assert!((ours - litres).abs() < 6e-4, "{celsius}: {ours}");
    }
    // By hand: 1 mL frees 0.1140 mmol, times 24.055 mL/mmol = 2.742 mL.
    let all = stoichiometry(1e-6, 293.15);
    assert!((all.carbon_dioxide_m3 * 1e6 - 2.742).abs() < 0.001);
}

// ---------------------------------------------------------------- blend and protein

/// Printed table of intrinsic viscosities of hyaluronic acid, m3/kg, above 1 MDa (the relation:
/// Laurent, Ryan and Pietruszkiewicz 1960, from memory).
#[test]
fn intrinsic_viscosity_gives_back_the_printed_table() {
    for (kilodalton, printed) in [
        (1000.0, 1.73),
        (1500.0, 2.36),
        (2000.0, 2.96),
        (3000.0, 4.06),
    ] {
        assert!((intrinsic_viscosity_m3_per_kg(kilodalton) - printed).abs() < 0.0075);
    }
    // By hand: 2 mg/mL of 1.5 MDa, 2 x 2.364.
    assert!((coil_overlap_ratio(2.0, 1500.0) - 4.728).abs() < 0.001);
    let contents = blend_contents(0.1, Some(20.0), Some(1500.0));
    assert_relative_eq!(contents.ha_in_blend_kg_per_m3.unwrap(), 2.0);
}

/// By hand: 70 g/L; 23.2 of 27.2 parts are own plasma: 59.71; 9 parts with 1 of buffer: 53.74; with a
/// fifth of solution: 42.99.
#[test]
fn protein_thins_by_every_part_that_holds_none() {
    let protein = diluted_protein(
        Some(70.0),
        &ProteinDilution {
            own_plasma_fraction: 23.2 / 27.2,
            plasma_m3: 9e-6,
            buffer_m3: 1e-6,
            ha_fraction: 0.2,
        },
    );
    assert!(protein.is_stated);
    for (ours, by_hand) in [
        (protein.plasma_kg_per_m3, 59.71),
        (protein.buffered_kg_per_m3, 53.74),
        (protein.gel_kg_per_m3, 42.99),
    ] {
        assert!((ours[0] - by_hand).abs() < 0.01 && ours[0] == ours[1]);
    }
}

// ---------------------------------------------------------------- volumes

fn separation(anticoagulant: Anticoagulant) -> Separation {
    Separation {
        haematocrit_fraction: 0.42,
        recovery_fraction: 0.85,
        anticoagulant,
    }
}

/// By hand: 40 (1 - 0.42) = 23.2; 1 part in 9 of 36 mL is 4 mL.
#[test]
fn blood_parts_into_plasma_by_a_balance_of_volumes() {
    let with = |a| plasma_m3(40e-6, &separation(a)) * 1e6;
    assert_relative_eq!(
        with(Anticoagulant::VolumeM3(0.0)),
        19.72,
        max_relative = 1e-9
    );
    assert_relative_eq!(
        with(Anticoagulant::VolumeM3(4e-6)),
        23.12,
        max_relative = 1e-9
    );
    let by_ratio = plasma_m3(36e-6, &separation(Anticoagulant::PerBloodRatio(1.0 / 9.0)));
    assert_relative_eq!(by_ratio, 0.85 * (36e-6 * 0.58 + 4e-6), max_relative = 1e-12);
    let own = own_plasma_fraction(40e-6, &separation(Anticoagulant::VolumeM3(4e-6)));
    assert_relative_eq!(own, 23.2 / 27.2, max_relative = 1e-12);
}

#[test]
fn shares_that_leave_no_plasma_are_refused() {
    for (haematocrit, recovery) in [(0.0, 0.8), (1.0, 0.8), (0.4, 0.0), (f64::NAN, 0.8)] {
        let parted = Separation {
            haematocrit_fraction: haematocrit,
            recovery_fraction: recovery,
            anticoagulant: Anticoagulant::VolumeM3(0.0),
        };
        assert!(matches!(parted.checked(), Err(SheetError::NoPlasma { .. })));
    }
}

proptest! {
    /// Backwards is forwards turned round.
    #[test]
    fn what_is_needed_fills_as_many(
        syringes in 1_usize..60, fill in 0.1..10.0_f64, dead in 0.0..0.2_f64, loss in 0.0..3.0_f64,
        fraction in 0.0..0.6_f64, haematocrit in 0.2..0.6_f64, recovery in 0.3..1.0_f64, ratio in 0.0..0.3_f64,
    ) {
        let losses = Losses { dead_space_m3: dead * 1e-6, session_m3: loss * 1e-6 };
        let fill_m3 = fill * 1e-6;
        let gel = gel_needed_m3(syringes, fill_m3, &losses);
        let plasma = plasma_for_gel_m3(gel, 0.0, fraction);
        let parted = Separation {
            haematocrit_fraction: haematocrit,
            recovery_fraction: recovery,
            anticoagulant: Anticoagulant::PerBloodRatio(ratio),
        };
        let blood = blood_for_plasma_m3(plasma, &parted);
        let again = plasma_m3(blood, &parted);
        prop_assert!((again / plasma - 1.0).abs() < 1e-12);
        prop_assert_eq!(syringes_filled(gel_from_plasma_m3(again, 0.0, fraction), fill_m3, &losses), syringes);
        // Two thirds of a syringe less is one syringe less.
        prop_assert_eq!(syringes_filled(gel - 0.66 * fill_m3, fill_m3, &losses), syringes - 1);
    }

    #[test]
    fn speed_and_force_turn_round(ratio in 1.0..1e5_f64, radius in 0.01..0.5_f64) {
        let speed = speed_for_relative_centrifugal_force_per_s(ratio, radius);
        let again = relative_centrifugal_force_ratio(speed, radius);
        prop_assert!((again / ratio - 1.0).abs() < 1e-12);
    }

    /// Every syringe heats as long as every other, one pair of hands does one thing at a time, and a
    /// place holds one syringe.
    #[test]
    fn hands_and_places_serve_one_syringe_at_a_time(
        syringes in 1_usize..30, places in 1_usize..12, heat in 20.0..2000.0_f64, handling in 1.0..90.0_f64,
        between in 0.0..300.0_f64,
    ) {
        let service = BlockService {
            places, heat_time_s: heat, handling_s: handling, between_turns_s: between, cool_time_s: Some(60.0),
        };
        let planned = turns(syringes, &service);
        prop_assert_eq!(planned.len(), syringes);
        let mut moments: Vec<f64> = planned.iter().flat_map(|s| [s.in_s, s.out_s]).collect();
        moments.sort_by(f64::total_cmp);
        let single = syringes_a_turn(&service) == 1 && heat < handling;
        for pair in moments.windows(2) {
            prop_assert!(single || pair[1] - pair[0] > handling * (1.0 - 1e-6), "{pair:?}");
        }
        for (number, syringe) in planned.iter().enumerate() {
            prop_assert!((syringe.out_s - syringe.in_s - heat).abs() < 1e-6);
            prop_assert!(syringe.place <= places);
            for later in planned.iter().skip(number + 1).filter(|l| l.place == syringe.place) {
                prop_assert!(later.in_s > syringe.out_s);
            }
        }
    }
}

// ---------------------------------------------------------------- turns

/// By hand, 8 syringes in 6 places, 7 min, 30 s a syringe, 2 min between turns: in at 0:00, 0:30 ...
/// 2:30; out at 7:00 ... 9:30; hands free at 10:00, the second turn from 12:00; out at 19:00 and 19:30.
#[test]
fn eight_syringes_take_two_turns_of_six_places() {
    let service = BlockService {
        places: 6,
        heat_time_s: 420.0,
        handling_s: 30.0,
        between_turns_s: 120.0,
        cool_time_s: Some(300.0),
    };
    let planned = turns(8, &service);
    let ins: Vec<f64> = planned.iter().map(|s| s.in_s).collect();
    assert_eq!(ins, [0.0, 30.0, 60.0, 90.0, 120.0, 150.0, 720.0, 750.0]);
    let outs: Vec<f64> = planned.iter().map(|s| s.out_s).collect();
    assert_eq!(
        outs,
        [420.0, 450.0, 480.0, 510.0, 540.0, 570.0, 1140.0, 1170.0]
    );
    assert_eq!(planned[7].cool_until_s, Some(1470.0));
    assert_eq!((planned[6].turn, planned[6].place), (2, 1));
}

/// By hand: 2 min at 30 s a syringe leaves time for four before the first comes out.
#[test]
fn short_heating_leaves_places_empty_because_the_hands_are_not_free() {
    let service = BlockService {
        places: 6,
        heat_time_s: 120.0,
        handling_s: 30.0,
        between_turns_s: 0.0,
        cool_time_s: None,
    };
    assert_eq!(syringes_a_turn(&service), 4);
    assert_eq!(turns(5, &service)[4].turn, 2);
}

#[test]
fn an_aim_is_never_rounded_up_nor_out_of_its_window() {
    let window = |not_before, aim| Window {
        not_before,
        aim: Some(aim),
        not_beyond: None,
    };
    assert_eq!(usable_aim_s(&window(None, 457.3), 10.0, 30.0), Some(450.0));
    assert_eq!(
        usable_aim_s(&window(Some(455.0), 457.3), 10.0, 30.0),
        Some(457.0)
    );
    assert_eq!(
        usable_aim_s(&window(Some(457.2), 457.3), 10.0, 30.0),
        Some(457.3)
    );
    assert_eq!(usable_aim_s(&window(None, 34.0), 10.0, 32.0), Some(34.0));
    assert_eq!(usable_aim_s(&Window::default(), 10.0, 30.0), None);
}

// ---------------------------------------------------------------- prices

const PRICES: &str = "item,unit_price,currency,per\nsyringe,0.30,EUR,piece\nneedle,25,EUR,100 pieces\nbuffer,2,EUR,10mL\nhire,5,EUR,session\ngloves,1,EUR,piece\n";

/// By hand: 8 x 0.30 + 8 x 0.25 + 0.5 x 0.2 + 5 = 9.50.
#[test]
fn a_session_costs_what_its_list_says() {
    let list = parse_prices("p.csv", PRICES).unwrap();
    let used = Used {
        syringes: 8,
        ha_solution_m3: 0.0,
        buffer_m3: 0.5e-6,
        anticoagulant_m3: None,
        plasma_m3: 6e-6,
    };
    let counted = cost(&list, &used);
    assert_relative_eq!(counted.total, 9.5, max_relative = 1e-12);
    assert_relative_eq!(counted.each_syringe, 9.5 / 8.0, max_relative = 1e-12);
    assert_eq!(counted.not_counted, ["gloves"]);
    let comma = PRICES.replace(',', ";").replace("0.30", "0,30");
    assert_eq!(parse_prices("p.csv", &comma).unwrap().prices, list.prices);
}

#[test]
fn every_fault_of_a_price_list_is_named_at_once() {
    let broken = "item,unit_price,currency,per\nsyringe,-1,EUR,piece\nneedle,cheap,EUR,piece\ncap,1,USD,piece\nbuffer,1,EUR,piece\nlabel,1,EUR\nlabel,1,EUR,dozen\n,1,EUR,piece\nx,1,EUR,0 pieces\n";
    let said = parse_prices("p.csv", broken).unwrap_err().to_string();
    assert!(said.contains("p.csv cannot be read: 8 faults"), "{said}");
    for (line, what) in [
        (2, "-1"),
        (3, "cheap"),
        (4, "EUR"),
        (5, "mL"),
        (6, "3 values"),
        (7, "dozen"),
        (8, "missing"),
        (9, "0 pieces"),
    ] {
        assert!(
            said.lines()
                .any(|l| l.contains(&format!("line {line}")) && l.contains(what)),
            "line {line}: {said}"
        );
    }
    for (text, what) in [
        ("", "empty"),
        ("item,unit_price\na,1\n", "currency is missing"),
        ("item,unit_price,currency,per\n", "no line"),
        (
            "item,unit_price,currency,per\ncap,inf,EUR,piece\n",
            "no price",
        ),
        (
            "item,unit_price,currency,per\ncap,1,EUR,piece\ncap,2,EUR,piece\n",
            "twice",
        ),
    ] {
        let said = parse_prices("p.csv", text).unwrap_err().to_string();
        assert!(said.contains(what), "{text}: {said}");
    }
}

// ---------------------------------------------------------------- the sheet

fn blend() -> BlendCalibration {
    exact_calibration(&log_setting(6e-3, 250e3, 1.6e-3, 12.0))
        .blends
        .swap_remove(0)
}

fn question(supply: Supply, syringes: Option<usize>) -> SheetQuestion {
    let needle = NeedleUsed::of_gauge(27, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    SheetQuestion {
        calibration: "bench.json".to_owned(),
        lot_code: Some("L-1".to_owned()),
        supply,
        syringes,
        fill_m3: Some(0.8e-6),
        dead_space_m3: None,
        session_loss_m3: 0.5e-6,
        blend: BlendStated::default(),
        buffer: BufferStated::default(),
        spin: SpinStated {
            speed_per_s: None,
            radius_m: None,
            relative_centrifugal_force_ratio: None,
        },
        setup: PushSetup::with_needle(needle).unwrap(),
        heat_time_s: 300.0,
        heat_time_is_stated: true,
        window: None,
        block_set_kelvin: 343.15,
        cool_until_kelvin: 310.15,
        room_kelvin: 295.15,
        places: 6,
        start_s: 34_200.0,
        handling_s: 30.0,
        between_turns_s: 0.0,
        standing: None,
        prices: None,
    }
}

/// By hand: 8 (0.8 + 0.07) + 0.5 = 7.46 mL with the dead space of ISO 7886-1 (0.07 mL under 5 mL).
#[test]
fn eight_syringes_need_this_much_plasma_and_that_much_fills_eight() {
    let needed = volumes(&question(Supply::Needed(None), Some(8))).unwrap();
    assert_relative_eq!(needed.plasma_m3, 7.46e-6, max_relative = 1e-12);
    assert!(needed.is_needed);
    let filled = volumes(&question(Supply::PlasmaM3(needed.plasma_m3), None)).unwrap();
    assert_eq!(filled.syringes, 8);
    let less = volumes(&question(Supply::PlasmaM3(7.45e-6), None)).unwrap();
    assert_eq!(less.syringes, 7);
    let said = volumes(&question(Supply::PlasmaM3(7.45e-6), Some(8)))
        .unwrap_err()
        .to_string();
    assert!(
        said.contains("--syringes 7") && said.contains("7.46 mL"),
        "{said}"
    );
    // With a fifth of solution and 0.4 mL of buffer: 7.46 x 0.8 - 0.4 = 5.568 mL.
    let mut blended = question(Supply::Needed(None), Some(8));
    blended.blend.ha_fraction = 0.2;
    blended.buffer.added_m3 = 0.4e-6;
    let blended = volumes(&blended).unwrap();
    assert_relative_eq!(blended.plasma_m3, 5.568e-6, max_relative = 1e-12);
    assert_relative_eq!(blended.ha_solution_m3, 1.492e-6, max_relative = 1e-12);
}

#[test]
fn what_cannot_be_filled_is_refused_in_words() {
    let none = volumes(&question(Supply::Needed(None), None));
    assert!(matches!(none, Err(SheetError::NothingToFill)));
    let little = volumes(&question(Supply::PlasmaM3(1e-6), None));
    assert!(matches!(little, Err(SheetError::NotEnoughForOne { .. })));
    let many = volumes(&question(Supply::Needed(None), Some(MOST_SYRINGES + 1)));
    assert!(matches!(many, Err(SheetError::TooManySyringes { .. })));
    let mut full = question(Supply::Needed(None), Some(2));
    full.fill_m3 = Some(1.2e-6);
    assert!(matches!(volumes(&full), Err(SheetError::Overfilled { .. })));
    let mut thin = question(Supply::Needed(None), Some(2));
    thin.buffer.added_m3 = 5e-6;
    assert!(matches!(
        volumes(&thin),
        Err(SheetError::BufferTakesAll { .. })
    ));
    let mut all = question(Supply::Needed(None), Some(2));
    all.blend.ha_fraction = 1.0;
    assert!(matches!(volumes(&all), Err(SheetError::OnlyHyaluronicAcid)));
}

fn force(question: &SheetQuestion, set_kelvin: f64) -> heatset::plan::ForceAnswer {
    force_for_heat_time(
        &blend(),
        &ForceQuestion {
            set_kelvin,
            heat_time_s: question.heat_time_s,
            setup: question.setup.clone(),
            needles: Vec::new(),
            thinning: StatedThinning::default(),
            warm_up: None,
            contact_histories: Vec::new(),
            cooling: CoolingAsked::default(),
            altitude_m: 0.0,
            extrapolate: false,
            draws: 1000,
            seed: 1,
            invented: true,
        },
    )
    .unwrap()
}

#[test]
fn a_sheet_carries_clock_codes_push_and_marks() {
    let mut asked = question(
        Supply::Blood {
            blood_m3: 20e-6,
            separation: separation(Anticoagulant::VolumeM3(2e-6)),
        },
        Some(8),
    );
    asked.buffer.acd_a = Some(AcdAsked::InPlasma);
    let push = force(&asked, 343.15);
    let expected = push.needles[0].plunger_force_n;
    let cool_s = push.hand_over.cool_time_s.unwrap();
    let sheet = run_sheet(&asked, push).unwrap();
    assert!(sheet.invented && !sheet.extrapolated);
    assert_eq!(sheet.push.plunger_force_n, expected);
    let codes: Vec<&str> = sheet.syringes.iter().map(|s| s.code.as_str()).collect();
    assert_eq!(codes, ["A1", "A2", "A3", "A4", "A5", "A6", "B1", "B2"]);
    // By hand: 5 min; the sixth out at 9:37:30, so the second turn begins at 9:38:00.
    assert_eq!(sheet.syringes[0].out_at, "09:35:00");
    assert_eq!(sheet.syringes[6].in_at, "09:38:00");
    assert_eq!(sheet.end_at, "09:43:30");
    let cool = sheet.syringes[0].cool_until_s.unwrap() - 300.0;
    assert!(cool >= cool_s && cool < cool_s + 10.0, "{cool} {cool_s}");
    // The plasma carries 85 % of 2 mL of anticoagulant.
    assert_relative_eq!(sheet.buffer.unwrap().acd_a_m3, 1.7e-6, max_relative = 1e-12);
    let codes: Vec<&str> = sheet.warnings.iter().map(|w| w.code.as_str()).collect();
    assert!(codes.contains(&"gas_before_cap") && codes.contains(&"invented_data"));
}

#[test]
fn a_heat_time_after_which_it_does_not_pass_gives_no_sheet() {
    let mut asked = question(Supply::Needed(None), Some(2));
    asked.heat_time_s = 5400.0;
    let push = force(&asked, 363.15);
    assert!(!push.needles[0].passes);
    let said = run_sheet(&asked, push).unwrap_err().to_string();
    assert!(
        said.starts_with("No sheet:") && said.contains("What helps:"),
        "{said}"
    );
    assert!(!said.contains("harder"), "{said}");
}

// ---------------------------------------------------------------- units

/// By definition: 1 g/L is 1 kg/m3; 1 Da goes with 1 g/mol; ISO 8601 for the time of day (from memory).
#[test]
fn units_of_the_bench_are_read() {
    use heatset::units::clock::{clock_words, time_of_day_s};
    use heatset::units::{
        mass_concentration_kg_per_m3, molar_mass_kg_per_mol, rotation_speed_per_s,
    };
    assert_eq!(rotation_speed_per_s("3000rpm"), Ok(50.0));
    for text in ["65g/L", "65 mg/mL", "6.5g/dL"] {
        assert_eq!(mass_concentration_kg_per_m3(text), Ok(65.0), "{text}");
    }
    for text in ["1500kDa", "1.5MDa", "1500000 g/mol"] {
        assert_eq!(molar_mass_kg_per_mol(text), Ok(1500.0), "{text}");
    }
    assert!(rotation_speed_per_s("3000").is_err() && rotation_speed_per_s("0rpm").is_err());
    assert_eq!(time_of_day_s("9:05"), Ok(32_700.0));
    assert_eq!(time_of_day_s("23:59:59"), Ok(86_399.0));
    for text in [
        "", "9", "24:00", "09:60", "9:5", "-1:00", "09:30 am", "+9:30", "1:2:3:4",
    ] {
        assert!(time_of_day_s(text).is_err(), "{text}");
    }
    for second in (0..86_400).step_by(77) {
        let words = clock_words(f64::from(second));
        assert_eq!(time_of_day_s(&words), Ok(f64::from(second)), "{words}");
    }
}
