//! Answers about heat time and force: identities, the window's rules, refusals.
#![allow(clippy::unwrap_used)]

mod support;

use approx::assert_relative_eq;
use heatset::fit::{BlendCalibration, Calibration, FitOptions, calibrate};
use heatset::plan::{
    ForceQuestion, Least, NeedleUsed, PlanError, PushDoubts, PushSetup, StatedThinning, TimeAnswer,
    TimeQuestion, force_for_heat_time, heat_time,
};
use heatset::readings::ReadingKind;
use heatset::reference::{BoreBasis, Wall};
use heatset::thermal::WarmUp;
use proptest::prelude::*;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use std::sync::OnceLock;
use support::{bench, exact_rows, log_setting};

fn needle(gauge: u8) -> NeedleUsed {
    NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap()
}

/// A bench with scatter, fitted once.
fn calibration() -> &'static Calibration {
    static FITTED: OnceLock<Calibration> = OnceLock::new();
    FITTED.get_or_init(|| {
        let mut random = ChaCha8Rng::seed_from_u64(5);
        let rows: Vec<_> = exact_rows(&log_setting(3e-3, 240e3, 1.6e-3, 6.0))
            .into_iter()
            .map(|(t, s, p)| {
                let z: f64 = StandardNormal.sample(&mut random);
                (t, s, p * (0.07 * z).exp())
            })
            .collect();
        calibrate(
            &bench(ReadingKind::Viscosity, &rows),
            &FitOptions::default(),
        )
        .unwrap()
    })
}

fn blend() -> &'static BlendCalibration {
    &calibration().blends[0]
}

fn question(gauge: u8) -> TimeQuestion {
    TimeQuestion {
        set_kelvin: 358.15,
        setup: PushSetup::with_needle(needle(gauge)).unwrap(),
        thinning: StatedThinning::default(),
        least: None,
        warm_up: None,
        contact_histories: Vec::new(),
        cooling: heatset::plan::CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: false,
        draws: 4000,
        varied: heatset::plan::Varied::ALL,
        seed: 1,
        invented: false,
    }
}

fn force_question(time: &TimeQuestion, heat_time_s: f64) -> ForceQuestion {
    ForceQuestion {
        set_kelvin: time.set_kelvin,
        heat_time_s,
        setup: time.setup.clone(),
        needles: Vec::new(),
        thinning: time.thinning,
        warm_up: time.warm_up.clone(),
        contact_histories: Vec::new(),
        cooling: heatset::plan::CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: time.extrapolate,
        draws: time.draws,
        seed: time.seed,
        invented: false,
    }
}

/// Hagen-Poiseuille by hand: F = 128 eta L Q/(pi D^4) pi Db^2/4 + friction (Bird, Stewart &
/// Lightfoot, Transport Phenomena, eq. 2.3-21), with the log law turned round by hand.
#[test]
fn the_point_answer_is_the_hand_calculation() {
    let asked = question(27);
    let answer = heat_time(blend(), &asked).unwrap();
    let setting = blend().setting().unwrap();
    let (bore, barrel): (f64, f64) = (0.2095e-3, 4.70e-3);
    let area = std::f64::consts::PI * barrel * barrel / 4.0;
    let flow = 1e-6 / 60.0;
    let viscosity =
        (20.0 - 2.0) / area * std::f64::consts::PI * bore.powi(4) / (128.0 * 13e-3 * flow);
    let (initial, plateau) = (setting.firmness.initial(), setting.firmness.plateau());
    let fraction = (viscosity / initial).ln() / (plateau / initial).ln();
    let gas = 8.314_462_618;
    let rate = setting.rate.rate_ref_per_s
        * (-setting.rate.activation_energy_j_per_mol / gas
            * (1.0 / 358.15 - 1.0 / setting.rate.reference_kelvin))
            .exp();
    let by_hand = -(1.0 - fraction).ln() / rate;
    assert_relative_eq!(
        answer.heat_time_s_point.unwrap(),
        by_hand,
        max_relative = 1e-8
    );
}

#[test]
fn the_force_at_the_point_time_is_the_force_asked_for() {
    for gauge in [25, 27, 29, 30, 32] {
        for warm_up in [WarmUp::None, WarmUp::lag(50.0, 295.15).unwrap()] {
            let asked = TimeQuestion {
                warm_up: Some(warm_up),
                ..question(gauge)
            };
            let Some(time) = heat_time(blend(), &asked).unwrap().heat_time_s_point else {
                continue;
            };
            let back = force_for_heat_time(blend(), &force_question(&asked, time)).unwrap();
            assert_relative_eq!(
                back.needles[0].plunger_force_n.point,
                20.0,
                max_relative = 1e-8
            );
        }
    }
}

#[test]
fn the_window_ends_where_nineteen_syringes_of_twenty_pass() {
    let asked = question(29);
    let answer = heat_time(blend(), &asked).unwrap();
    let end = answer.heat_time_s.not_beyond.unwrap();
    let aim = answer.heat_time_s.aim.unwrap();
    let [low, high] = answer.heat_time_s_interval95;
    assert!(low.unwrap() < end && end < answer.heat_time_s_median.unwrap());
    assert!(answer.heat_time_s_median.unwrap() < high.unwrap());
    // An independent path: the force table at the window's end and at the aim, other draws.
    for (time, probability) in [(end, 0.95), (aim, 0.99)] {
        let question = ForceQuestion {
            seed: 77,
            ..force_question(&asked, time)
        };
        let force = force_for_heat_time(blend(), &question).unwrap();
        let found = force.needles[0].probability;
        // Binomial 3 sigma of 4000 draws, twice (both sides draw).
        let allowed = 6.0 * (probability * (1.0 - probability) / 4000.0_f64).sqrt();
        assert!(
            (found - probability).abs() < allowed,
            "{time}: {found} for {probability}"
        );
    }
}

#[test]
fn with_a_least_firmness_the_aim_lies_between_both_ends() {
    let asked = TimeQuestion {
        least: Some(Least::Force(4.0)),
        ..question(29)
    };
    let answer = heat_time(blend(), &asked).unwrap();
    let window = answer.heat_time_s;
    assert!(answer.window_open);
    assert!(window.not_before.unwrap() < window.aim.unwrap());
    assert!(window.aim.unwrap() < window.not_beyond.unwrap());
}

#[test]
fn an_empty_window_says_so_and_computes_what_would_open_it() {
    let asked = TimeQuestion {
        least: Some(Least::Force(19.0)),
        ..question(29)
    };
    let closed = heat_time(blend(), &asked).unwrap();
    assert!(!closed.window_open);
    assert_eq!(closed.limited_by, "firmness");
    assert_eq!(closed.heat_time_s.not_beyond, None);
    assert_eq!(closed.heat_time_s.aim, None);
    let tight = TimeQuestion {
        setup: PushSetup {
            force_limit_n: 2.5,
            doubts: PushDoubts::NONE,
            ..question(34).setup
        },
        set_kelvin: 363.15,
        ..question(34)
    };
    let answer = heat_time(blend(), &tight).unwrap();
    assert!(!answer.window_open);
    assert!(!answer.alternatives.is_empty());
    for alternative in &answer.alternatives {
        assert!(["needle", "flow", "syringe"].contains(&alternative.change.as_str()));
        // Asked again as the alternative says, with the same push, the window is open.
        let mut setup = tight.setup.clone();
        if let Some(gauge) = alternative.gauge {
            setup = setup.through(needle(gauge));
        }
        if let Some(rate) = alternative.flow_rate_m3_per_s {
            assert!(rate < setup.flow_rate_m3_per_s);
            setup.flow_rate_m3_per_s = rate;
        }
        let again = heat_time(
            blend(),
            &TimeQuestion {
                setup,
                ..tight.clone()
            },
        )
        .unwrap();
        assert!(again.window_open, "{alternative:?}");
    }
}

#[test]
fn a_limit_beyond_the_measured_times_leaves_the_end_open() {
    let asked = question(18);
    let answer = heat_time(blend(), &asked).unwrap();
    assert!(answer.window_open);
    assert_eq!(answer.heat_time_s.not_beyond, None);
    assert_eq!(answer.limited_by, "measured range");
    assert_eq!(answer.heat_time_s.aim, Some(blend().range.heat_time_s[1]));
}

#[test]
fn questions_that_cannot_be_served_are_refused_in_words() {
    let cases: Vec<(TimeQuestion, &str)> = vec![
        (
            TimeQuestion {
                setup: PushSetup {
                    force_limit_n: 2.0,
                    ..question(30).setup
                },
                ..question(30)
            },
            "leaves nothing for the gel",
        ),
        (
            TimeQuestion {
                setup: PushSetup {
                    force_limit_n: 201.0,
                    ..question(30).setup
                },
                ..question(30)
            },
            "never a harder push",
        ),
        (
            TimeQuestion {
                set_kelvin: 338.15,
                ..question(30)
            },
            "outside the measured temperatures",
        ),
        (
            TimeQuestion {
                set_kelvin: 372.65,
                ..question(30)
            },
            "boiling",
        ),
        (
            TimeQuestion {
                set_kelvin: 363.15,
                altitude_m: 3500.0,
                ..question(30)
            },
            "boiling",
        ),
        (
            TimeQuestion {
                thinning: StatedThinning {
                    flow_index: Some(0.5),
                    ..StatedThinning::default()
                },
                ..question(30)
            },
            "--shear-rate",
        ),
        (
            TimeQuestion {
                least: Some(Least::Force(25.0)),
                ..question(30)
            },
            "not under the limit",
        ),
        (
            TimeQuestion {
                least: Some(Least::Reading(50.0)),
                ..question(30)
            },
            "above the plateau",
        ),
    ];
    for (asked, words) in cases {
        let refused = heat_time(blend(), &asked).unwrap_err().to_string();
        assert!(refused.contains(words), "{refused} lacks {words}");
    }
    let asked = TimeQuestion {
        set_kelvin: 338.15,
        extrapolate: true,
        ..question(30)
    };
    let served = heat_time(blend(), &asked).unwrap();
    assert!(served.assumptions.extrapolated);
    assert!(served.warnings.iter().any(|w| w.code == "extrapolated"));
}

#[test]
fn a_modulus_answers_no_push() {
    let setting = log_setting(3e-3, 240e3, 3.0, 900.0);
    let fitted = calibrate(
        &bench(ReadingKind::Modulus, &exact_rows(&setting)),
        &FitOptions::default(),
    )
    .unwrap();
    let refused = heat_time(&fitted.blends[0], &question(30)).unwrap_err();
    assert!(
        matches!(refused, PlanError::NoViscosity { .. }),
        "{refused}"
    );
}

fn json(answer: &TimeAnswer) -> String {
    serde_json::to_string(answer).unwrap()
}

#[test]
fn the_same_seed_gives_the_same_bytes_on_any_number_of_threads() {
    let ask = |threads: usize, seed: u64| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap()
            .install(|| {
                json(
                    &heat_time(
                        blend(),
                        &TimeQuestion {
                            seed,
                            ..question(30)
                        },
                    )
                    .unwrap(),
                )
            })
    };
    let one = ask(1, 1);
    assert_eq!(one, ask(2, 1));
    assert_eq!(one, ask(5, 1));
    assert_ne!(one, ask(1, 2));
}

#[test]
fn the_contributions_sum_to_one() {
    let answer = heat_time(blend(), &question(30)).unwrap();
    assert_relative_eq!(
        answer.contributions.values().sum::<f64>(),
        1.0,
        max_relative = 1e-9
    );
    assert!(
        answer.contributions["bore"] > 0.3,
        "a 30G bore is uncertain by 12 %"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(30))]

    /// More push, a wider bore or a slower push never shorten the time until the limit.
    #[test]
    fn an_easier_push_lasts_longer(
        force in 5.0_f64..30.0, wider in 1.02_f64..1.5, slower in 0.3_f64..0.95,
    ) {
        let base = question(30);
        let time = |setup: PushSetup| {
            let asked = TimeQuestion {
                setup, extrapolate: true, draws: 1000, ..base.clone()
            };
            heat_time(blend(), &asked).unwrap().heat_time_s_point.unwrap_or(f64::INFINITY)
        };
        let setup = PushSetup { force_limit_n: force, ..base.setup.clone() };
        let plain = time(setup.clone());
        let bore = NeedleUsed::of_bore(setup.needle.bore_m * wider, None, 13e-3).unwrap();
        prop_assert!(time(setup.through(bore)) >= plain);
        let rate = setup.flow_rate_m3_per_s * slower;
        let slow = time(PushSetup { flow_rate_m3_per_s: rate, ..setup.clone() });
        let strong = time(PushSetup { force_limit_n: force * 1.3, ..setup });
        prop_assert!(slow >= plain);
        prop_assert!(strong >= plain);
    }
}
