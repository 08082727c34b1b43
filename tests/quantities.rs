//! Text to SI and back, against the definitions of the units.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use approx::assert_relative_eq;
use heatset::units::display::{
    self, Rounding, at_most, digits_for_interval, duration, duration_rounded, duration_step_s,
    energy, flow_rate, force, force_kgf, length_mm, percent, plain, pressure, rate, significant,
    temperature, viscosity, volume,
};
use heatset::units::{
    Dimension, Sign, UnitError, activation_energy_j_per_mol, bore_m, duration_or_zero_s,
    duration_s, flow_rate_m3_per_s, force_n, force_or_zero_n, fraction, length_or_zero_m, number,
    parse_one_of, parse_quantity, parse_si_or_unit, parse_signed, split_header, temperature_kelvin,
    viscosity_pa_s, volume_m3,
};
use proptest::prelude::*;

fn assert_values(dimension: Dimension, cases: &[(&str, f64)]) {
    for (text, value) in cases {
        let parsed =
            parse_quantity(text, dimension).unwrap_or_else(|error| panic!("{text}: {error}"));
        assert_relative_eq!(parsed, *value, max_relative = 1e-14);
    }
}

// BIPM, The International System of Units (SI Brochure), 9th ed., 2019: section 2.3.1 (degree
// Celsius), table 7 (prefixes), table 8 (min, h, d, L). A. Thompson, B. N. Taylor, NIST SP 811,
// 2008: 4.2.1.1 and appendix B.8 (degree Fahrenheit).
#[test]
fn temperatures_follow_their_definitions() {
    assert_values(
        Dimension::Temperature,
        &[
            ("0C", 273.15),
            ("86C", 359.15),
            ("-4C", 269.15),
            ("-273.15C", 0.0),
            ("359.15K", 359.15),
            ("0K", 0.0),
            ("32F", 273.15),
            ("212 F", 373.15),
            ("186.8F", 359.15),
        ],
    );
    // NIST SP 811, B.8: t/°F to K is (t + 459.67)/1.8; 0 °F is 255.372 K at its precision.
    assert_relative_eq!(temperature_kelvin("0F").unwrap(), 255.372, epsilon = 5e-4);
}

#[test]
fn times_lengths_and_volumes_follow_their_definitions() {
    assert_values(
        Dimension::Duration,
        &[
            ("420s", 420.0),
            ("7min", 420.0),
            ("0.1h", 360.0),
            ("1d", 86400.0),
            ("6 min 10 s", 370.0),
            ("6min10s", 370.0),
            ("1 h 5 min", 3900.0),
            ("2 d 3 h", 183_600.0),
            ("-4min", -240.0),
            ("-1 h 5 min", -3900.0),
        ],
    );
    assert_values(
        Dimension::Length,
        &[
            ("13mm", 0.013),
            ("0.16 mm", 0.00016),
            ("0.013m", 0.013),
            ("160um", 0.00016),
            ("160µm", 0.00016),
            ("1.3cm", 0.013),
        ],
    );
    assert_values(
        Dimension::Volume,
        &[("1mL", 1e-6), ("500uL", 5e-7), ("2L", 2e-3), ("1cm³", 1e-6)],
    );
}

#[test]
fn forces_and_pressures_follow_their_definitions() {
    // NIST SP 811, B.8: 1 kgf = 9.80665 N; 1 gf is a thousandth of it; 1 bar = 1e5 Pa;
    // millimetre of mercury, conventional, 133.3224 Pa.
    assert_values(
        Dimension::Force,
        &[
            ("15N", 15.0),
            ("500mN", 0.5),
            ("0.02kN", 20.0),
            ("1kgf", 9.80665),
            ("1000gf", 9.80665),
        ],
    );
    assert_values(
        Dimension::Pressure,
        &[
            ("50Pa", 50.0),
            ("2kPa", 2000.0),
            ("1MPa", 1e6),
            ("3bar", 3e5),
        ],
    );
    assert_relative_eq!(
        parse_quantity("1mmHg", Dimension::Pressure).unwrap(),
        133.3224,
        max_relative = 1e-6
    );
}

#[test]
fn flow_rates_are_volume_per_time_or_time_per_volume() {
    // SI Brochure, table 8: 1 L = 1e-3 m³, 1 min = 60 s, 1 h = 3600 s.
    assert_values(
        Dimension::FlowRate,
        &[
            ("1mL/min", 1e-6 / 60.0),
            ("0.1mL/s", 1e-7),
            ("100uL/s", 1e-7),
            ("100µL/s", 1e-7),
            ("0.36L/h", 1e-7),
            ("1e-7m3/s", 1e-7),
            ("1e-7 m³/s", 1e-7),
            ("60s/mL", 1e-6 / 60.0),
            ("1min/mL", 1e-6 / 60.0),
            ("10 s / mL", 1e-7),
        ],
    );
}

#[test]
fn viscosities_and_consistencies_follow_their_definitions() {
    // NIST SP 811, B.8: 1 poise = 0.1 Pa.s, 1 centipoise = 1e-3 Pa.s.
    assert_values(
        Dimension::Viscosity,
        &[
            ("1Pa.s", 1.0),
            ("1Pa·s", 1.0),
            ("1000mPa.s", 1.0),
            ("1000cP", 1.0),
            ("10P", 1.0),
            ("1.5mPa·s", 1.5e-3),
        ],
    );
    assert_values(Dimension::Consistency, &[("2Pa.s^n", 2.0), ("2Pa·sⁿ", 2.0)]);
}

#[test]
fn energies_rates_and_heat_quantities_follow_their_definitions() {
    // NIST SP 811, B.8: thermochemical calorie 4.184 J.
    assert_values(
        Dimension::ActivationEnergy,
        &[
            ("150kJ/mol", 150e3),
            ("150000J/mol", 150e3),
            ("1kcal/mol", 4184.0),
            ("-2kJ/mol", -2000.0),
        ],
    );
    assert_values(
        Dimension::ShearRate,
        &[
            ("10/s", 10.0),
            ("10 1/s", 10.0),
            ("10s-1", 10.0),
            ("10 s⁻¹", 10.0),
            ("10s^-1", 10.0),
        ],
    );
    assert_values(
        Dimension::RateConstant,
        &[("0.12/min", 0.002), ("7.2 1/h", 0.002), ("2e-3/s", 0.002)],
    );
    assert_values(
        Dimension::Density,
        &[
            ("1025kg/m3", 1025.0),
            ("1.025g/mL", 1025.0),
            ("1025 kg/m³", 1025.0),
        ],
    );
    assert_values(
        Dimension::TemperatureRate,
        &[
            ("20K/min", 1.0 / 3.0),
            ("20C/min", 1.0 / 3.0),
            ("20 °C/min", 1.0 / 3.0),
        ],
    );
    assert_values(
        Dimension::HeatTransferCoefficient,
        &[
            ("150W/m2K", 150.0),
            ("150 W/m²K", 150.0),
            ("150W/m2/K", 150.0),
            ("150W/(m²·K)", 150.0),
        ],
    );
    assert_values(
        Dimension::Conductivity,
        &[("0.58W/mK", 0.58), ("0.58 W/m/K", 0.58)],
    );
    assert_values(
        Dimension::SpecificHeat,
        &[("3900J/kgK", 3900.0), ("3.9kJ/kgK", 3900.0)],
    );
    assert_values(
        Dimension::Fraction,
        &[("0.2", 0.2), ("20%", 0.2), ("20 %", 0.2)],
    );
    assert_values(Dimension::Firmness, &[("0.5au", 0.5), ("0.5", 0.5)]);
    assert_values(
        Dimension::Number,
        &[("1.5", 1.5), ("-3e2", -300.0), (".5", 0.5)],
    );
}

#[test]
fn signs_and_the_long_minus_may_stand_first() {
    assert_eq!(
        temperature_kelvin("-4C"),
        temperature_kelvin("\u{2212}4 °C")
    );
    assert_eq!(temperature_kelvin("+86C"), temperature_kelvin("86C"));
}

#[test]
fn a_bare_number_is_refused_with_the_way_to_write_it() {
    for (text, dimension, message) in [
        (
            "86",
            Dimension::Temperature,
            "\"86\" has no unit: write 86C, 359.15K or 186.8F",
        ),
        (
            "7",
            Dimension::Duration,
            "\"7\" has no unit: write 7s, 7min or 7h",
        ),
        (
            "15",
            Dimension::Force,
            "\"15\" has no unit: write 15N, 15mN or 15kN",
        ),
        ("10", Dimension::ShearRate, "\"10\" has no unit: write 10/s"),
        (
            "0",
            Dimension::Length,
            "\"0\" has no unit: write 0mm, 0m or 0um",
        ),
    ] {
        assert_eq!(
            parse_quantity(text, dimension).unwrap_err().to_string(),
            message
        );
    }
}

#[test]
fn a_unit_of_another_kind_is_refused_with_those_understood() {
    assert_eq!(
        duration_s("7mm").unwrap_err().to_string(),
        "\"7mm\": \"mm\" is not a unit of time; understood are s, min, h, d"
    );
    // a capital letter is a factor of 1e9 here, so it is never passed over
    assert!(matches!(
        viscosity_pa_s("5MPa.s"),
        Err(UnitError::UnknownUnit { .. })
    ));
    assert!(matches!(
        temperature_kelvin("86 mK"),
        Err(UnitError::UnknownUnit { .. })
    ));
}

#[test]
fn a_decimal_comma_is_refused_with_the_point() {
    assert_eq!(
        duration_s("6,5min").unwrap_err().to_string(),
        "\"6,5min\" has a comma in the number: use a decimal point (6.5min)"
    );
    assert!(matches!(
        force_n(",5N"),
        Err(UnitError::DecimalComma { .. })
    ));
    assert!(matches!(
        force_n("1,000N"),
        Err(UnitError::DecimalComma { .. })
    ));
}

#[test]
fn what_is_no_finite_number_is_refused() {
    for text in ["inf", "infC", "-infC", "NaN", "nanC", "1e999C"] {
        assert!(
            matches!(temperature_kelvin(text), Err(UnitError::NotFinite { .. })),
            "{text}"
        );
    }
    assert!(matches!(
        parse_quantity("0s/mL", Dimension::FlowRate),
        Err(UnitError::NotFinite { .. })
    ));
    assert!(matches!(
        parse_quantity("1e308kN", Dimension::Force),
        Err(UnitError::NotFinite { .. })
    ));
    for text in ["", "  "] {
        assert_eq!(
            temperature_kelvin(text).unwrap_err().to_string(),
            "a temperature is missing here: write 86C, 359.15K or 186.8F"
        );
    }
    for text in ["C", "hot", "-", "e5C", "."] {
        assert!(
            matches!(temperature_kelvin(text), Err(UnitError::NotANumber { .. })),
            "{text}"
        );
    }
}

#[test]
fn temperatures_below_absolute_zero_are_refused() {
    for text in ["-1K", "-274C", "-460F"] {
        let error = temperature_kelvin(text).unwrap_err();
        assert!(
            matches!(error, UnitError::BelowAbsoluteZero { temperature_kelvin, .. } if temperature_kelvin < 0.0)
        );
    }
}

#[test]
fn signs_that_make_no_sense_are_refused_with_the_reason() {
    assert_eq!(
        bore_m("0mm").unwrap_err().to_string(),
        "a bore of 0mm lets nothing through; give a value above zero"
    );
    assert_eq!(
        flow_rate_m3_per_s("0mL/min").unwrap_err().to_string(),
        "a flow rate of 0mL/min empties no syringe; give a value above zero"
    );
    assert_eq!(
        force_or_zero_n("-1N").unwrap_err().to_string(),
        "a force of -1N is negative; give zero or more"
    );
    assert_eq!(force_or_zero_n("0N"), Ok(0.0));
    assert!(force_or_zero_n("-0N").unwrap().is_sign_positive());
    assert_eq!(length_or_zero_m("0mm"), Ok(0.0));
    assert_eq!(duration_or_zero_s("0s"), Ok(0.0));
    assert!(duration_s("0s").is_err());
    assert!(activation_energy_j_per_mol("-5kJ/mol").is_err());
    assert!(fraction("120%").is_err() && fraction("-0.1").is_err());
    assert_eq!(fraction("100%"), Ok(1.0));
    assert_eq!(
        parse_signed("-1N", Dimension::Force, Sign::Any, "force", ""),
        Ok(-1.0)
    );
}

#[test]
fn one_of_several_kinds_is_told_by_its_unit() {
    let kinds = [
        Dimension::Viscosity,
        Dimension::Pressure,
        Dimension::Firmness,
    ];
    assert_eq!(
        parse_one_of("0.5Pa.s", &kinds),
        Ok((Dimension::Viscosity, 0.5))
    );
    assert_eq!(
        parse_one_of("2kPa", &kinds),
        Ok((Dimension::Pressure, 2000.0))
    );
    assert_eq!(parse_one_of("3au", &kinds), Ok((Dimension::Firmness, 3.0)));
    let refused = parse_one_of("3mm", &kinds).unwrap_err().to_string();
    assert!(
        refused.contains("Pa.s") && refused.contains("kPa") && refused.contains("au"),
        "{refused}"
    );
}

#[test]
fn a_held_value_may_be_si_or_carry_its_unit() {
    assert_eq!(
        parse_si_or_unit("0.002", Dimension::RateConstant),
        Ok(0.002)
    );
    assert_eq!(
        parse_si_or_unit("0.12/min", Dimension::RateConstant),
        Ok(0.002)
    );
    assert_eq!(parse_si_or_unit("0", Dimension::Viscosity), Ok(0.0));
    assert!(parse_si_or_unit("0.002mm", Dimension::RateConstant).is_err());
    assert!(parse_si_or_unit("-1", Dimension::Temperature).is_err());
}

#[test]
fn headers_carry_their_unit() {
    // The values follow from SI Brochure tables 7 and 8 and NIST SP 811, B.8.
    for (header, base, dimension, one, si) in [
        (
            "heat_temp_C",
            "heat_temp",
            Dimension::Temperature,
            80.0,
            353.15,
        ),
        (
            "heat_temp_K",
            "heat_temp",
            Dimension::Temperature,
            80.0,
            80.0,
        ),
        (
            "heat_temp_F",
            "heat_temp",
            Dimension::Temperature,
            212.0,
            373.15,
        ),
        ("heat_time_min", "heat_time", Dimension::Duration, 1.0, 60.0),
        ("heat_time_s", "heat_time", Dimension::Duration, 1.0, 1.0),
        ("heat_time_h", "heat_time", Dimension::Duration, 1.0, 3600.0),
        (
            "viscosity_Pa_s",
            "viscosity",
            Dimension::Viscosity,
            1.0,
            1.0,
        ),
        (
            "viscosity_mPa_s",
            "viscosity",
            Dimension::Viscosity,
            1.0,
            1e-3,
        ),
        ("viscosity_cP", "viscosity", Dimension::Viscosity, 1.0, 1e-3),
        ("modulus_Pa", "modulus", Dimension::Pressure, 1.0, 1.0),
        ("modulus_kPa", "modulus", Dimension::Pressure, 1.0, 1e3),
        ("force_N", "force", Dimension::Force, 1.0, 1.0),
        ("force_gf", "force", Dimension::Force, 1.0, 9.80665e-3),
        ("firmness_au", "firmness", Dimension::Firmness, 1.0, 1.0),
        (
            "shear_rate_per_s",
            "shear_rate",
            Dimension::ShearRate,
            1.0,
            1.0,
        ),
        (
            "needle_length_mm",
            "needle_length",
            Dimension::Length,
            1.0,
            1e-3,
        ),
        ("flow_mL_per_min", "flow", Dimension::FlowRate, 60.0, 1e-6),
    ] {
        let parts = split_header(header).unwrap_or_else(|| panic!("{header}"));
        assert_eq!((parts.base, parts.unit.dimension()), (base, dimension));
        assert_relative_eq!(parts.unit.to_si(one), si, max_relative = 1e-14);
        assert_relative_eq!(parts.unit.from_si(si), one, max_relative = 1e-12);
    }
    for header in ["lot", "heat_temp", "_C", "heat_temp_c", ""] {
        assert_eq!(split_header(header), None, "{header}");
    }
    // a difference of temperatures has no zero point
    let fahrenheit = split_header("heat_temp_F").unwrap().unit;
    assert_relative_eq!(fahrenheit.difference_to_si(9.0), 5.0);
}

#[test]
fn times_are_printed_as_people_say_them() {
    for (seconds, text) in [
        (0.0, "0 s"),
        (0.35, "0.35 s"),
        (4.5, "4.5 s"),
        (9.96, "10 s"),
        (45.0, "45 s"),
        (45.3, "45 s"),
        (59.7, "1 min"),
        (370.0, "6 min 10 s"),
        (420.0, "7 min"),
        (3599.6, "1 h"),
        (3900.0, "1 h 5 min"),
        (86400.0, "24 h"),
        (183_600.0, "2 d 3 h"),
        (-370.0, "-6 min 10 s"),
        (f64::INFINITY, "without limit"),
        (f64::NAN, "not known"),
    ] {
        assert_eq!(duration(seconds), text, "{seconds}");
    }
    assert_eq!(duration_rounded(499.0, 10.0, Rounding::Down), "8 min 10 s");
    assert_eq!(duration_rounded(491.0, 10.0, Rounding::Up), "8 min 20 s");
    assert_eq!(duration_rounded(490.0, 10.0, Rounding::Up), "8 min 10 s");
    assert_eq!(
        duration_rounded(494.0, 10.0, Rounding::Nearest),
        "8 min 10 s"
    );
    assert_eq!(duration_step_s(448.0, 532.0), 10.0);
    assert_eq!(duration_step_s(420.0, 420.0), 1.0);
}

#[test]
fn quantities_are_printed_as_people_write_them() {
    assert_eq!(temperature(359.15), "86 °C");
    assert_eq!(temperature(310.65), "37.5 °C");
    assert_eq!(temperature(273.15), "0 °C");
    assert_eq!(temperature(269.15), "-4 °C");
    assert_eq!(force(15.0), "15 N");
    assert_eq!(force(7.361), "7.36 N");
    assert_eq!(force_kgf(9.80665), "1 kgf");
    assert_eq!(length_mm(0.000184), "0.184 mm");
    assert_eq!(length_mm(0.013), "13 mm");
    assert_eq!(viscosity(11.5), "11.5 Pa.s");
    assert_eq!(viscosity(0.00157), "1.57 mPa.s");
    assert_eq!(viscosity(0.5), "0.5 Pa.s");
    assert_eq!(pressure(50.0), "50 Pa");
    assert_eq!(pressure(650_000.0), "650 kPa");
    assert_eq!(pressure(2.5e6), "2.5 MPa");
    assert_eq!(energy(149_000.0), "149 kJ/mol");
    assert_eq!(rate(2.22e-3), "2.22e-3 /s");
    assert_eq!(flow_rate(1e-6 / 60.0), "1 mL/min");
    assert_eq!(volume(1e-6), "1 mL");
    assert_eq!(percent(0.58), "58 %");
}

#[test]
fn digits_are_kept_as_asked_and_no_more() {
    assert_eq!(significant(2.22e-3, 3), "2.22e-3");
    assert_eq!(significant(149.3, 3), "149");
    assert_eq!(significant(11.5, 4), "11.50");
    assert_eq!(significant(0.0123, 2), "0.012");
    assert_eq!(significant(9.996, 3), "10.0");
    assert_eq!(significant(99_950.0, 2), "100000");
    assert_eq!(significant(1_234_567.0, 3), "1.23e6");
    assert_eq!(significant(-0.5, 2), "-0.50");
    assert_eq!(significant(0.0, 3), "0");
    assert_eq!(at_most(13.0, 4), "13");
    assert_eq!(at_most(2.5e7, 3), "2.5e7");
    assert_eq!(at_most(1200.0, 2), "1200");
    assert_eq!(plain(-0.0), "0");
}

#[test]
fn an_interval_allows_as_many_digits_as_its_half_width_has_places() {
    for (lower, upper, digits) in [
        (2.15e-3, 2.30e-3, 3),
        (147.0, 151.0, 3),
        (1.49, 1.65, 3),
        (10.8, 12.3, 3),
        (8.0, 17.0, 2),
        (0.5, 40.0, 1),
        (5.0, 5.0, 6),
        (f64::NAN, 1.0, 3),
        (0.0, f64::INFINITY, 3),
    ] {
        assert_eq!(
            digits_for_interval(lower, upper),
            digits,
            "{lower} to {upper}"
        );
    }
}

proptest! {
    #[test]
    fn printing_then_parsing_a_time_returns_it(seconds in 0_u32..3570) {
        let text = duration(f64::from(seconds));
        prop_assert_eq!(duration_or_zero_s(&text), Ok(f64::from(seconds)));
    }

    #[test]
    fn printing_then_parsing_returns_the_value(value in 1e-4..1e9_f64) {
        // three digits are printed: half a unit of the third is 0.5 %
        for (text, dimension, size) in [
            (force(value), Dimension::Force, value),
            (viscosity(value), Dimension::Viscosity, value),
            (pressure(value), Dimension::Pressure, value),
            (energy(value), Dimension::ActivationEnergy, value),
            (rate(value), Dimension::RateConstant, value),
            (length_mm(value), Dimension::Length, value),
            (flow_rate(value), Dimension::FlowRate, value),
            (display::volume(value), Dimension::Volume, value),
        ] {
            let read = parse_quantity(&text, dimension);
            let read = read.map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
            prop_assert!((read / size - 1.0).abs() <= 5.1e-3, "{} for {}", text, size);
        }
    }

    #[test]
    fn printing_then_parsing_a_temperature_returns_it_to_a_tenth(kelvin in 0.0..700.0_f64) {
        // absolute zero itself may round to just under it
        prop_assume!(kelvin > 0.1);
        let read = temperature_kelvin(&temperature(kelvin)).unwrap();
        prop_assert!((read - kelvin).abs() <= 0.05 + 1e-9);
    }

    #[test]
    fn a_plain_number_reads_back_exactly(value in any::<f64>().prop_filter("finite", |value| value.is_finite())) {
        prop_assert_eq!(number(&plain(value)), Ok(value + 0.0));
    }

    #[test]
    fn seventeen_digits_read_back_exactly(value in any::<f64>().prop_filter("finite", |value| value.is_finite())) {
        prop_assert_eq!(number(&significant(value, 17)), Ok(value + 0.0));
    }

    #[test]
    fn random_text_never_panics(text in "\\PC{0,24}", other in "[-+0-9.,eE a-zA-Z/%µ·°²³]{0,16}") {
        for dimension in Dimension::ALL {
            for text in [&text, &other] {
                match parse_quantity(text, dimension) {
                    Ok(value) => prop_assert!(value.is_finite()),
                    Err(error) => prop_assert!(!error.to_string().is_empty()),
                }
            }
        }
        let _ = split_header(&text);
    }

    #[test]
    fn random_numbers_print_without_panic(value in any::<f64>(), other in any::<f64>(), digits in 0_usize..40) {
        for text in [
            significant(value, digits), at_most(value, digits), plain(value), duration(value),
            temperature(value), viscosity(value), pressure(value), rate(value),
            duration_rounded(value, other, Rounding::Up),
        ] {
            prop_assert!(!text.is_empty());
        }
        let digits = digits_for_interval(value, other);
        prop_assert!((1..=6).contains(&digits));
        prop_assert!(duration_step_s(value, other) >= 1.0);
    }

    #[test]
    fn rounding_a_limit_down_never_raises_it(seconds in 10.0..3000.0_f64, step in 1_u32..60) {
        let down = duration_or_zero_s(&duration_rounded(seconds, f64::from(step), Rounding::Down)).unwrap();
        let up = duration_or_zero_s(&duration_rounded(seconds, f64::from(step), Rounding::Up)).unwrap();
        prop_assert!(down <= seconds + 1e-6 && seconds - 1e-6 <= up);
        prop_assert!(up - down <= f64::from(step));
    }
}

#[test]
fn a_volume_above_zero_is_asked_for() {
    assert_eq!(volume_m3("1mL"), Ok(1e-6));
    assert!(volume_m3("0mL").is_err());
}
