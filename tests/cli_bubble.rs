//! The command bubble, run as a person or a script runs it: exit status, words, JSON keys.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::face::cautions;
use said::{document, line, number, refused, served};

/// F. P. Bretherton 1961 (seen): stuck under rho g r^2/gamma 0.842. By hand, 1025 kg/m3: bores
/// of 4.09 mm at 50 mN/m and 4.33 mm at 56 mN/m. Y 0.143 (Tsamopoulos et al. 2008, seen) and 0.50
/// (Sikorski et al. 2009, from memory): 1.4 and 5.0 Pa for 2 mm in diameter. 33.5 Pa.s for
/// radius 1 mm at 0.1 mm/s. rho g D/4 at 4.7 mm: 11.8 Pa.
#[test]
fn the_document_holds_the_published_bounds() {
    let answer = document("bubble --barrel 4.7mm --bubble 2mm");
    assert_eq!(answer["proves"], "something");
    let bounds = &answer["yield_stress_at_least_Pa"];
    assert_abs_diff_eq!(bounds[0].as_f64().unwrap(), 1.4, epsilon = 0.05);
    assert_abs_diff_eq!(bounds[1].as_f64().unwrap(), 5.0, epsilon = 0.05);
    assert_abs_diff_eq!(
        number(&answer, "or_viscosity_in_wide_vessel_Pa_s"),
        33.5,
        epsilon = 0.05
    );
    assert_abs_diff_eq!(
        number(&answer, "yield_stress_holds_any_bubble_Pa"),
        11.8,
        epsilon = 0.05
    );
    for (tension, bore_m) in [
        ("50mN/m", 4.09e-3),
        ("0.056N/m", 4.33e-3),
        ("56dyn/cm", 4.33e-3),
    ] {
        let answer = document(&format!(
            "bubble --barrel 4.7mm --surface-tension {tension}"
        ));
        for end in [0, 1] {
            assert_abs_diff_eq!(
                answer["critical_bore_m"][end].as_f64().unwrap(),
                bore_m,
                epsilon = 0.005e-3
            );
        }
    }
}

/// By Bretherton's relation a long bubble at 4.5 mm, 56 mN/m and 1.3 mPa.s creeps at 0.02 mm/s.
#[test]
fn a_long_bubble_creeps_as_bretherton_says() {
    let answer = document(
        "bubble --barrel 4.5mm --surface-tension 56mN/m --unset-viscosity 1.3mPa.s --density 1025kg/m3",
    );
    let speed = answer["long_bubble_speed_m_per_s"][0].as_f64().unwrap();
    assert_abs_diff_eq!(speed, 0.02e-3, epsilon = 0.001e-3);
    assert_eq!(answer["proves"], "little", "0.2 mm in 10 s is not seen");
    let longer = document(
        "bubble --barrel 4.5mm --surface-tension 56mN/m --unset-viscosity 1.3mPa.s --watched 2min",
    );
    assert_eq!(longer["proves"], "something", "2.4 mm in 2 min is");
}

#[test]
fn looking_ten_times_as_long_asks_ten_times_the_viscosity() {
    let short = document("bubble --barrel 10mm --bubble 2mm --watched 10s --moved 1mm");
    let long = document("bubble --barrel 10mm --bubble 2mm --watched 100s --moved 1mm");
    assert_relative_eq!(
        number(&long, "or_viscosity_at_least_Pa_s"),
        10.0 * number(&short, "or_viscosity_at_least_Pa_s"),
        max_relative = 1e-12
    );
    assert_eq!(
        short["yield_stress_at_least_Pa"],
        long["yield_stress_at_least_Pa"]
    );
}

#[test]
fn a_narrow_bore_proves_nothing_and_gives_no_figure_of_the_gel() {
    let said = line("bubble --barrel 4mm --bubble 2mm");
    assert_eq!(said.code, 0);
    let first = said.out.lines().next().unwrap();
    assert!(first.contains("proves nothing"), "{first}");
    assert!(
        said.talk
            .contains("What helps: look at a bubble in a wider barrel"),
        "{}",
        said.talk
    );
    let answer = document("bubble --barrel 4mm --bubble 2mm");
    assert_eq!(answer["proves"], "nothing");
    for key in [
        "yield_stress_at_least_Pa",
        "or_viscosity_at_least_Pa_s",
        "or_viscosity_in_wide_vessel_Pa_s",
    ] {
        assert!(answer[key].is_null(), "{key}");
    }
}

#[test]
fn every_answer_is_a_bound_and_says_so() {
    for push in [
        "",
        "--syringe 5mL --bubble 3mm",
        "--barrel 4.3mm --bubble 1mm",
        "--barrel 4mm",
    ] {
        let text = served(&format!("bubble {push}"));
        for words in [
            "a bound, never a value",
            "upright",
            "surface tension",
            "Assumed:",
        ] {
            assert!(text.contains(words), "{words} is missing:\n{text}");
        }
        assert!(text.trim_end().ends_with(cautions::SHORT), "{text}");
        let lower = text.to_lowercase();
        for never in ["safe", "use by", "ready to inject", "modulus of"] {
            assert!(!lower.contains(never), "{never}:\n{text}");
        }
    }
    let diameter = served("bubble --barrel 10mm --bubble 2mm");
    assert!(
        diameter.starts_with("A bubble of 2 mm in diameter that stays put"),
        "{diameter}"
    );
}

#[test]
fn what_the_command_cannot_mean_is_told_how_to_be_written() {
    for (command, says) in [
        ("bubble --barrel 4.7", "no unit"),
        ("bubble --bubble 0mm", "above zero"),
        ("bubble --bubble -2mm", "above zero"),
        ("bubble --surface-tension 56", "write 56mN/m"),
        (
            "bubble --surface-tension 56mPa",
            "not in a unit of surface tension",
        ),
        ("bubble --surface-tension -56mN/m", "above zero"),
        ("bubble --surface-tension 5,6mN/m", "decimal comma"),
        ("bubble --surface-tension wet", "no surface tension"),
        ("bubble --watched 0s", "no time at all"),
        ("bubble --syringe 1mL --barrel 4.7mm", "--barrel"),
    ] {
        let message = refused(command, 2);
        assert!(
            message.contains(says),
            "{command} should say {says}:\n{message}"
        );
    }
    let wide = refused("bubble --barrel 4.7mm --bubble 6mm", 1);
    assert!(wide.contains("wider than the barrel's bore"), "{wide}");
    assert!(wide.contains("What helps:"), "{wide}");
}
