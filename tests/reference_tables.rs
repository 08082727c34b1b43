//! The reference tables against what their sources print.

use approx::assert_relative_eq;
use heatset::reference::{
    BoreBasis, Provenance, PushBand, ReferenceError, Wall, all_hub_colours, all_needles,
    all_syringes, borosilicate, constants, dead_space_max_m3, default_friction_for_bore_n,
    default_friction_n, find_needle, find_syringe, hands, hub_colour, measured_frictions, plasma,
    plunger_force_limit, polypropylene, water, water_table, water_viscosity_pa_s,
    water_viscosity_ratio,
};

/// Nominal bores in inches, 10G to 34G, regular wall, as the usual needle gauge chart
/// prints them (encyclopedia needle gauge comparison chart; 32G to 34G from memory).
const NOMINAL_BORE_IN: [(u8, f64); 25] = [
    (10, 0.10600),
    (11, 0.09400),
    (12, 0.08500),
    (13, 0.07100),
    (14, 0.06300),
    (15, 0.05400),
    (16, 0.04700),
    (17, 0.04200),
    (18, 0.03300),
    (19, 0.02700),
    (20, 0.02375),
    (21, 0.02025),
    (22, 0.01625),
    (23, 0.01325),
    (24, 0.01225),
    (25, 0.01025),
    (26, 0.01025),
    (27, 0.00825),
    (28, 0.00725),
    (29, 0.00725),
    (30, 0.00625),
    (31, 0.00525),
    (32, 0.00425),
    (33, 0.00425),
    (34, 0.00325),
];

#[test]
fn every_nominal_bore_is_the_charts_inch_figure() {
    for (gauge, bore_in) in NOMINAL_BORE_IN {
        let needle = find_needle(gauge, Wall::Regular, BoreBasis::Nominal).unwrap();
        assert_eq!(needle.bore_basis, BoreBasis::Nominal);
        // the chart's millimetres are rounded to 0.0001
        assert_relative_eq!(needle.bore_m, bore_in * 25.4e-3, epsilon = 0.6e-7);
    }
    let nominal = all_needles()
        .unwrap()
        .iter()
        .filter(|n| n.bore_basis == BoreBasis::Nominal);
    assert_eq!(nominal.count(), NOMINAL_BORE_IN.len());
}

#[test]
fn every_tolerance_is_the_charts() {
    // the same chart: bore within 0.003 in to 14G, 0.0015 in to 19G, 0.00075 in beyond
    for (gauge, _) in NOMINAL_BORE_IN {
        let needle = find_needle(gauge, Wall::Regular, BoreBasis::Nominal).unwrap();
        let tolerance_in = match gauge {
            ..=14 => 0.003,
            15..=19 => 0.0015,
            _ => 0.00075,
        };
        let tolerance_m = needle.bore_tolerance_m.unwrap();
        assert_relative_eq!(tolerance_m, tolerance_in * 25.4e-3, epsilon = 0.6e-7);
    }
}

#[test]
fn the_standards_least_bores_are_found_by_wall() {
    // ISO 9626:2016, least inner diameters in mm, from memory
    for (gauge, wall, bore_mm) in [
        (10, Wall::Regular, 2.5),
        (18, Wall::Thin, 0.910),
        (21, Wall::Regular, 0.490),
        (23, Wall::ExtraThin, 0.460),
        (25, Wall::Thin, 0.292),
        (27, Wall::Regular, 0.184),
        (27, Wall::Thin, 0.241),
        (30, Wall::Regular, 0.133),
        (30, Wall::Thin, 0.165),
        (30, Wall::ExtraThin, 0.190),
        (30, Wall::UltraThin, 0.240),
        (32, Wall::UltraThin, 0.146),
        (34, Wall::Regular, 0.064),
    ] {
        let needle = find_needle(gauge, wall, BoreBasis::Minimum).unwrap();
        assert_relative_eq!(needle.bore_m, bore_mm * 1e-3, max_relative = 1e-12);
        assert_eq!(needle.bore_basis, BoreBasis::Minimum);
        assert_eq!(needle.bore_tolerance_m, None);
    }
}

#[test]
fn a_wall_without_a_nominal_bore_answers_with_the_minimum_and_says_so() {
    let needle = find_needle(30, Wall::Thin, BoreBasis::Nominal).unwrap();
    assert_eq!(needle.bore_basis, BoreBasis::Minimum);
    assert_eq!(needle.bore_m, 0.165e-3);
}

#[test]
fn the_tables_of_tubing_are_in_order_over_their_whole_range() {
    for gauge in 10..=34 {
        let regular = find_needle(gauge, Wall::Regular, BoreBasis::Minimum).unwrap();
        let nominal = find_needle(gauge, Wall::Regular, BoreBasis::Nominal).unwrap();
        // a minimum is a minimum: the nominal bore is wider
        assert!(nominal.bore_m > regular.bore_m, "{gauge}G");
        // a thinner wall leaves a wider bore
        let bores: Vec<f64> = Wall::ALL
            .into_iter()
            .filter_map(|wall| find_needle(gauge, wall, BoreBasis::Minimum).ok())
            .map(|needle| needle.bore_m)
            .collect();
        assert!(
            bores.windows(2).all(|pair| pair[0] < pair[1]),
            "{gauge}G: {bores:?}"
        );
        // a finer gauge is nowhere wider
        if gauge > 10 {
            let wider = find_needle(gauge - 1, Wall::Regular, BoreBasis::Nominal).unwrap();
            assert!(
                wider.bore_m >= nominal.bore_m && wider.outer_diameter_m > nominal.outer_diameter_m
            );
        }
        // the chart's tube lies within 0.05 mm of the standard's outer diameters
        let (least, greatest) = regular.outer_diameter_range_m;
        assert!(nominal.outer_diameter_m > least - 0.05e-3, "{gauge}G");
        assert!(nominal.outer_diameter_m < greatest + 0.05e-3, "{gauge}G");
    }
}

#[test]
fn nominal_against_minimum_bore_changes_the_force_by_1_68_at_27g_and_2_03_at_30g() {
    // laminar Newtonian force goes with the inverse fourth power of the bore
    // (Hagen-Poiseuille); ratios of the two published tables
    for (gauge, ratio) in [(27, 1.68), (30, 2.03)] {
        let nominal = find_needle(gauge, Wall::Regular, BoreBasis::Nominal).unwrap();
        let minimum = find_needle(gauge, Wall::Regular, BoreBasis::Minimum).unwrap();
        assert_relative_eq!(
            (nominal.bore_m / minimum.bore_m).powi(4),
            ratio,
            epsilon = 0.005
        );
    }
}

#[test]
fn the_bores_tolerance_alone_is_plus_47_minus_29_percent_at_27g() {
    // tolerance of the chart, 0.00075 in, through Hagen-Poiseuille; 30G: +67/-37 %
    for (gauge, up_percent, down_percent) in [(27, 47.0, -29.0), (30, 67.0, -37.0)] {
        let needle = find_needle(gauge, Wall::Regular, BoreBasis::Nominal).unwrap();
        let tolerance_m = needle.bore_tolerance_m.unwrap();
        let percent = |bore_m: f64| 100.0 * ((needle.bore_m / bore_m).powi(4) - 1.0);
        assert_relative_eq!(
            percent(needle.bore_m - tolerance_m),
            up_percent,
            epsilon = 0.55
        );
        assert_relative_eq!(
            percent(needle.bore_m + tolerance_m),
            down_percent,
            epsilon = 0.55
        );
    }
}

#[test]
fn an_unknown_gauge_is_told_the_range() {
    for gauge in [0, 9, 35, 255] {
        let error = find_needle(gauge, Wall::Regular, BoreBasis::Nominal).unwrap_err();
        assert_eq!(
            error,
            ReferenceError::UnknownGauge {
                gauge,
                widest_gauge: 10,
                finest_gauge: 34
            }
        );
        assert!(error.to_string().contains("10G to 34G"), "{error}");
    }
}

#[test]
fn a_wall_that_a_gauge_does_not_have_is_told_those_that_it_has() {
    let error = find_needle(25, Wall::UltraThin, BoreBasis::Minimum).unwrap_err();
    let message = error.to_string();
    assert!(message.contains("25G has: regular, thin."), "{message}");
}

#[test]
fn hubs_carry_the_standards_colours() {
    // ISO 6009:2016, as quoted in open tables
    for (gauge, name) in [
        (16, "white"),
        (18, "pink"),
        (20, "yellow"),
        (21, "deep green"),
        (22, "black"),
        (23, "deep blue"),
        (24, "medium purple"),
        (25, "orange"),
        (26, "brown"),
        (27, "medium grey"),
        (30, "yellow"),
    ] {
        let hub = hub_colour(gauge).unwrap();
        assert_eq!((hub.gauge, hub.name), (gauge, name));
        assert_eq!(hub.source.how, Provenance::SeenQuoted);
    }
    assert_eq!(hub_colour(9), None);
    assert_eq!(hub_colour(35), None);
    for gauge in 10..=34 {
        assert!(hub_colour(gauge).is_some(), "{gauge}G");
    }
}

#[test]
fn a_screen_colour_has_the_hue_of_its_name() {
    // hues of the colour circle in degrees, common practice, no source
    for hub in all_hub_colours().unwrap() {
        let (red, green, blue) = hub.rgb;
        let [red, green, blue] = [red, green, blue].map(f64::from);
        let most = red.max(green).max(blue);
        let span = most - red.min(green).min(blue);
        let hue = if span == 0.0 {
            0.0
        } else if most == red {
            (60.0 * (green - blue) / span).rem_euclid(360.0)
        } else if most == green {
            60.0 * (blue - red) / span + 120.0
        } else {
            60.0 * (red - green) / span + 240.0
        };
        let (from, to) = match hub.name {
            "white" => {
                assert!(most - span > 225.0, "{}", hub.gauge);
                continue;
            }
            "black" => {
                assert!(most < 40.0, "{}", hub.gauge);
                continue;
            }
            "medium grey" => {
                assert!(
                    span < 10.0 && (100.0..180.0).contains(&most),
                    "{}",
                    hub.gauge
                );
                continue;
            }
            "red" => (345.0, 370.0),
            "pink" => (320.0, 350.0),
            "red-violet" => (300.0, 335.0),
            "purple" | "medium purple" => (265.0, 300.0),
            "deep blue" | "pale blue" | "blue-grey" => (195.0, 230.0),
            "blue-green" => (170.0, 195.0),
            "deep green" | "pale green" => (110.0, 160.0),
            "yellow-green" => (65.0, 90.0),
            "yellow" | "cream" | "olive-brown" => (40.0, 60.0),
            "orange" | "brown" => (20.0, 40.0),
            other => panic!("no hue is known for {other}"),
        };
        let hue = if hue < 20.0 { hue + 360.0 } else { hue };
        assert!(
            (from..to).contains(&hue),
            "{}G {}: hue {hue}",
            hub.gauge,
            hub.name
        );
    }
}

#[test]
fn syringes_are_found_by_material_and_size() {
    // polypropylene: open tables for syringe pumps; glass: ISO 11040-4:2015, from memory;
    // bores in mm
    for (name, bore_mm) in [
        ("1mL", 4.70),
        ("polypropylene:1mL", 4.70),
        ("3mL", 8.585),
        ("5mL", 11.99),
        ("polypropylene:10mL", 14.43),
        ("60mL", 26.59),
        ("glass:0.5mL", 4.65),
        ("glass:1mL-long", 6.35),
        ("glass:1mL", 8.65),
        ("glass:2.25mL", 8.65),
        ("glass:5mL", 11.85),
        ("glass:20mL", 19.05),
        (" GLASS:1ml-Long ", 6.35),
    ] {
        let syringe = find_syringe(name).unwrap();
        assert_relative_eq!(syringe.bore_m, bore_mm * 1e-3, max_relative = 1e-12);
    }
    assert_eq!(
        find_syringe("1mL").unwrap().bore_range_m,
        Some((4.61e-3, 4.90e-3))
    );
    // 2.25 mL is read without a rounding of its own
    assert_eq!(
        find_syringe("glass:2.25mL").unwrap().nominal_volume_m3,
        2.25e-6
    );
}

#[test]
fn an_unknown_syringe_is_told_every_name() {
    for name in ["2mL", "1", "glass:60mL", "steel:1mL", "", ":"] {
        let message = find_syringe(name).unwrap_err().to_string();
        for row in all_syringes().unwrap() {
            assert!(
                message.contains(&row.name()),
                "{message} should name {}",
                row.name()
            );
        }
    }
}

#[test]
fn a_millilitre_moves_the_plunger_as_far_as_the_source_prints() {
    // stroke per mL in mm, printed beside the bores: 57.64, 8.86; glass 31.58, 9.07
    for (name, stroke_mm) in [
        ("1mL", 57.64),
        ("5mL", 8.86),
        ("glass:1mL-long", 31.58),
        ("glass:5mL", 9.07),
    ] {
        let bore_m = find_syringe(name).unwrap().bore_m;
        let stroke_m = 1e-6 / (std::f64::consts::PI * bore_m * bore_m / 4.0);
        assert_relative_eq!(stroke_m * 1e3, stroke_mm, epsilon = 0.005);
    }
}

#[test]
fn the_standard_allows_these_plunger_forces_and_dead_spaces() {
    // ISO 7886-1:1993, Annex G, Table G.1, from memory: N to start, N mean;
    // dead space in mL: ISO 7886-1:2018, quoted
    for (volume_ml, start_n, mean_n, dead_ml) in [
        (1.0, 10.0, 5.0, 0.07),
        (2.0, 25.0, 10.0, 0.07),
        (5.0, 25.0, 10.0, 0.075),
        (10.0, 25.0, 10.0, 0.10),
        (20.0, 25.0, 10.0, 0.15),
        (30.0, 25.0, 10.0, 0.17),
        (60.0, 30.0, 15.0, 0.20),
    ] {
        let limit = plunger_force_limit(volume_ml / 1e6).unwrap();
        assert_eq!(
            (limit.initial_force_max_n, limit.mean_force_max_n),
            (start_n, mean_n)
        );
        let (dead_space_m3, _) = dead_space_max_m3(volume_ml / 1e6).unwrap();
        assert_relative_eq!(dead_space_m3, dead_ml * 1e-6, max_relative = 1e-12);
    }
}

#[test]
fn materials_have_the_texts_properties() {
    // plasma: texts, from memory, 1024 to 1028 kg/m3, 0.57 to 0.58 W/m/K, 3930 J/kg/K
    let plasma = plasma().unwrap();
    assert!((1024.0..=1028.0).contains(&plasma.density_kg_per_m3));
    assert!((0.57..=0.58).contains(&plasma.conductivity_w_per_m_kelvin));
    assert_relative_eq!(
        plasma.specific_heat_j_per_kg_kelvin,
        3930.0,
        max_relative = 0.01
    );
    // water at 25 C: 997.05 kg/m3, 0.607 W/m/K, 4180 J/kg/K, from memory
    let water = water().unwrap();
    assert_relative_eq!(water.density_kg_per_m3, 997.05, epsilon = 0.01);
    assert_relative_eq!(water.conductivity_w_per_m_kelvin, 0.607, epsilon = 0.001);
    assert_relative_eq!(water.specific_heat_j_per_kg_kelvin, 4180.0, epsilon = 5.0);
    // polypropylene: Callister 0.12 W/m/K and 1925 J/kg/K; other texts up to 0.22 W/m/K
    let polypropylene = polypropylene().unwrap();
    assert_eq!(polypropylene.specific_heat_j_per_kg_kelvin, 1925.0);
    assert_eq!(
        polypropylene.conductivity_range_w_per_m_kelvin,
        (0.12, 0.22)
    );
    assert_eq!(polypropylene.density_kg_per_m3, 905.0);
    // borosilicate glass: 1.1 to 1.4 W/m/K, 850 J/kg/K
    let borosilicate = borosilicate().unwrap();
    assert_eq!(borosilicate.specific_heat_j_per_kg_kelvin, 850.0);
    assert_eq!(borosilicate.conductivity_range_w_per_m_kelvin, (1.1, 1.4));
}

#[test]
fn pushes_fall_in_the_published_bands() {
    // Robinson et al. 2020
    let hands = hands().unwrap();
    for (force_n, band) in [
        (0.0, PushBand::Easy),
        (11.9, PushBand::Easy),
        (12.0, PushBand::ConsiderableEffort),
        (37.9, PushBand::ConsiderableEffort),
        (38.0, PushBand::GreatEffort),
        (64.0, PushBand::GreatEffort),
        (64.1, PushBand::NotInjectable),
    ] {
        assert_eq!(hands.band(force_n), band, "{force_n} N");
    }
    // Watt et al. 2019
    assert_eq!((hands.target_n, hands.at_most_n), (20.0, 40.0));
}

#[test]
fn a_stopper_has_a_stated_friction_and_a_range() {
    // common practice, no source: 2 N up to 1 mL, 4 N for 3 to 10 mL (3 to 5)
    for (volume_ml, friction_n, extrapolated) in [
        (0.5, 2.0, false),
        (1.0, 2.0, false),
        (3.0, 4.0, false),
        (5.0, 4.0, false),
        (10.0, 4.0, false),
        (20.0, 6.0, true),
        (60.0, 6.0, true),
    ] {
        let default = default_friction_n(volume_ml / 1e6).unwrap();
        assert_eq!(
            (default.friction_n, default.extrapolated),
            (friction_n, extrapolated)
        );
        assert!(default.friction_range_n.0 < friction_n && friction_n < default.friction_range_n.1);
        assert_eq!(default.source.how, Provenance::CommonPractice);
    }
    assert_eq!(
        default_friction_n(3e-6).unwrap().friction_range_n,
        (3.0, 5.0)
    );
    for row in all_syringes().unwrap() {
        if row.source.text.starts_with("Barrel bores of disposable") {
            let by_volume = default_friction_n(row.nominal_volume_m3).unwrap();
            assert_eq!(
                default_friction_for_bore_n(row.bore_m).unwrap(),
                by_volume,
                "{}",
                row.name()
            );
        }
    }
    // Kiselev 2020: dry two-part 5.5 N, three-part about 2.3 N
    let measured: Vec<f64> = measured_frictions()
        .unwrap()
        .iter()
        .map(|m| m.1.friction_n)
        .collect();
    assert_eq!(measured, [5.5, 2.3]);
}

#[test]
fn the_constants_are_the_published_ones() {
    // BIPM, The International System of Units, 9th edition: R = N_A k, both exact
    let exact = 6.022_140_76e23 * 1.380_649e-23;
    assert_relative_eq!(
        constants::GAS_CONSTANT_J_PER_MOL_K,
        exact,
        max_relative = 1e-9
    );
    assert_eq!(constants::ZERO_CELSIUS_KELVIN, 273.15);
    assert_eq!(constants::STANDARD_GRAVITY_M_PER_S2, 9.80665);
}

/// Viscosity of water by temperature and density, IAPWS R12-08(2008), Release on the
/// IAPWS Formulation 2008 for the Viscosity of Ordinary Water Substance, equations 10
/// to 12 (without the critical enhancement), tables 1 and 2; coefficients from memory,
/// proved by the release's own verification points below.
fn iapws_viscosity_pa_s(temperature_kelvin: f64, density_kg_per_m3: f64) -> f64 {
    let reduced = temperature_kelvin / 647.096;
    let density = density_kg_per_m3 / 322.0;
    let dilute: f64 = [1.677_52, 2.204_62, 0.636_656_4, -0.241_605]
        .iter()
        .zip(0..)
        .map(|(factor, power)| factor / reduced.powi(power))
        .sum();
    let terms = [
        (0, 0, 5.200_94e-1),
        (1, 0, 8.508_95e-2),
        (2, 0, -1.083_74),
        (3, 0, -2.895_55e-1),
        (0, 1, 2.225_31e-1),
        (1, 1, 9.991_15e-1),
        (2, 1, 1.887_97),
        (3, 1, 1.266_13),
        (5, 1, 1.205_73e-1),
        (0, 2, -2.813_78e-1),
        (1, 2, -9.068_51e-1),
        (2, 2, -7.724_79e-1),
        (3, 2, -4.898_37e-1),
        (4, 2, -2.570_40e-1),
        (0, 3, 1.619_13e-1),
        (1, 3, 2.573_99e-1),
        (0, 4, -3.253_72e-2),
        (3, 4, 6.984_52e-2),
        (4, 5, 8.721_02e-3),
        (3, 6, -4.356_73e-3),
        (5, 6, -5.932_64e-4),
    ];
    let dense: f64 = terms
        .iter()
        .map(|(i, j, factor)| factor * (1.0 / reduced - 1.0).powi(*i) * (density - 1.0).powi(*j))
        .sum();
    1e-6 * 100.0 * reduced.sqrt() / dilute * (density * dense).exp()
}

#[test]
fn the_formulation_of_water_meets_its_own_verification_points() {
    // IAPWS R12-08, table 4: T in K, density in kg/m3, viscosity in microPa.s
    for (temperature_kelvin, density_kg_per_m3, micro_pa_s) in [
        (298.15, 998.0, 889.735_100),
        (373.15, 1000.0, 307.883_622),
        (433.15, 1000.0, 217.685_358),
    ] {
        let viscosity_pa_s = iapws_viscosity_pa_s(temperature_kelvin, density_kg_per_m3);
        assert_relative_eq!(viscosity_pa_s * 1e6, micro_pa_s, max_relative = 2e-9);
    }
}

#[test]
fn the_water_table_and_the_viscosity_look_up_agree_with_the_formulation() {
    for point in water_table().unwrap() {
        let published = iapws_viscosity_pa_s(point.temperature_kelvin, point.density_kg_per_m3);
        // the table prints five or six digits
        assert_relative_eq!(point.viscosity_pa_s, published, max_relative = 2e-5);
        let looked_up = water_viscosity_pa_s(point.temperature_kelvin).unwrap();
        assert_relative_eq!(looked_up, published, max_relative = 5e-5);
    }
}

#[test]
fn the_viscosity_of_water_falls_everywhere_with_temperature() {
    let mut before = f64::INFINITY;
    for step in 0..=1300 {
        let viscosity_pa_s = water_viscosity_pa_s(253.15 + 0.1 * f64::from(step)).unwrap();
        assert!(viscosity_pa_s < before);
        before = viscosity_pa_s;
    }
}

#[test]
fn water_outside_the_formulas_range_is_refused() {
    for temperature_kelvin in [0.0, 253.0, 383.2, f64::NAN, f64::INFINITY] {
        let error = water_viscosity_pa_s(temperature_kelvin).unwrap_err();
        assert!(
            error.to_string().contains("253.15 K to 383.15 K"),
            "{error}"
        );
    }
    assert!(water_viscosity_ratio(300.0, 500.0).is_err());
    assert_relative_eq!(water_viscosity_ratio(300.0, 300.0).unwrap(), 1.0);
}
