//! The smallest bench before the first reading: designs that are published, widths against simulated
//! benches fitted by the real fit, and the table that comes of it.
#![allow(clippy::unwrap_used)]

mod support;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::fit::{FitOptions, ParameterName, calibrate, t_quantile};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, FirmnessLaw, ReactionOrder, SettingModel};
use heatset::plan::bench_plan::{
    Aggregate, AskedWidth, Beliefs, BenchLimits, BenchPlan, BenchPlanError, BenchPlanQuestion,
    BenchSetting, CaseReadings, DesignWeights, ForWhom, Span, WidthParts, best_settings,
    lot_widths, smallest_bench,
};
use heatset::plan::{
    AskedHeatTime, NeedleUsed, NextQuestion, PushDoubts, PushSetup, StatedThinning, next_reading,
};
use heatset::readings::ReadingKind;
use heatset::reference::{BoreBasis, Wall};
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use support::bench;

const GAS_CONSTANT: f64 = 8.314_462_618;
const PARAMETERS_ALONE: DesignWeights = DesignWeights {
    parameters: 1.0,
    aggregate: Aggregate::Mean,
};
/// Parameters in units that leave a prior of no weight.
const WIDE: f64 = 1e4;

fn case(derivatives: Vec<Vec<f64>>) -> CaseReadings {
    CaseReadings {
        derivatives,
        gradients: Vec::new(),
    }
}

fn grid(low: f64, high: f64, steps: usize) -> Vec<f64> {
    (0..=steps)
        .map(|i| low + (high - low) * i as f64 / steps as f64)
        .collect()
}

/// G. Box, H. Lucas, Biometrika 46 (1959) 77, doi:10.1093/biomet/46.1-2.77: exp(-kt) is best read at
/// 1/k, whatever the number of readings.
#[test]
fn first_order_decay_is_read_at_one_over_k() {
    for rate in [0.01_f64, 0.5] {
        let times = grid(0.0, 5.0 / rate, 5000);
        // By ln k, in wide units: -k t exp(-k t).
        let derivatives = times
            .iter()
            .map(|t| vec![-WIDE * rate * t * (-rate * t).exp()])
            .collect();
        let all: Vec<usize> = (0..times.len()).collect();
        let found = best_settings(&[case(derivatives)], &[&all[..]; 4], PARAMETERS_ALONE);
        assert_eq!(found.len(), 4);
        for place in found {
            assert_abs_diff_eq!(rate * times[place], 1.0, epsilon = 2e-3);
        }
    }
}

/// Box and Lucas 1959 (as above; figures from memory, recomputed from the formula): A(1 - exp(-kt)) on
/// [0, tmax] is read at tmax and at 1/k - tmax e^(-k tmax)/(1 - e^(-k tmax)), half the readings each.
#[test]
fn a_first_order_rise_is_read_where_box_and_lucas_say() {
    for (longest, inner) in [(3.0_f64, 0.84281), (5.0, 0.96608)] {
        let formula = 1.0 - longest * (-longest).exp() / (1.0 - (-longest).exp());
        assert_abs_diff_eq!(formula, inner, epsilon = 1e-5);
        let times = grid(0.0, longest, 6000);
        let derivatives = times
            .iter()
            .map(|t| vec![WIDE * (1.0 - (-t).exp()), WIDE * t * (-t).exp()])
            .collect();
        let all: Vec<usize> = (0..times.len()).collect();
        let found = best_settings(&[case(derivatives)], &[&all[..]; 6], PARAMETERS_ALONE);
        for place in &found[..3] {
            assert_abs_diff_eq!(times[*place], inner, epsilon = 2e-3);
        }
        for place in &found[3..] {
            assert_abs_diff_eq!(times[*place], longest, epsilon = 1e-9);
        }
    }
}

/// k_ref and E of exp(-k(T) t): both extremes of the temperature, each at t = 1/k(T) (for instance A.
/// Atkinson, A. Donev, R. Tobias, Optimum Experimental Designs, 2007, 17.3, from memory; numbers by
/// hand from the derivatives).
#[test]
fn rate_and_energy_are_read_at_both_extremes_of_temperature_at_one_over_k() {
    let (energy, reference) = (300e3, 353.15);
    let rate =
        |kelvin: f64| 2e-3 * (-(energy / GAS_CONSTANT) * (1.0 / kelvin - 1.0 / reference)).exp();
    let temperatures: Vec<f64> = (70..=90)
        .step_by(5)
        .map(|c| f64::from(c) + 273.15)
        .collect();
    let mut settings = Vec::new();
    let mut derivatives = Vec::new();
    for kelvin in &temperatures {
        for share in grid(0.02, 4.0, 398) {
            let slope = -WIDE * share * (-share).exp();
            let by_energy = -(1.0 / kelvin - 1.0 / reference) * 1e5 / GAS_CONSTANT;
            settings.push((*kelvin, share / rate(*kelvin)));
            derivatives.push(vec![slope, slope * by_energy]);
        }
    }
    let all: Vec<usize> = (0..settings.len()).collect();
    let found = best_settings(&[case(derivatives)], &[&all[..]; 2], PARAMETERS_ALONE);
    let read: Vec<(f64, f64)> = found.iter().map(|p| settings[*p]).collect();
    assert_eq!(read[0].0, 343.15);
    assert_eq!(read[1].0, 363.15);
    for (kelvin, time) in read {
        assert_abs_diff_eq!(time * rate(kelvin), 1.0, epsilon = 0.011);
    }
}

/// The worst of two decays: with one reading for rates 1 and 4 the best is where both are told
/// equally well: t exp(-t) = 4 t exp(-4 t), so t = ln 4 / 3 (by hand).
#[test]
fn the_worst_case_is_served_where_both_fare_alike() {
    let times = grid(0.0, 3.0, 30_000);
    let decay = |rate: f64| CaseReadings {
        derivatives: times
            .iter()
            .map(|t| vec![WIDE * rate * t * (-rate * t).exp()])
            .collect(),
        gradients: vec![vec![WIDE]],
    };
    let all: Vec<usize> = (0..times.len()).collect();
    let weights = DesignWeights {
        parameters: 0.0,
        aggregate: Aggregate::Worst,
    };
    let found = best_settings(&[decay(1.0), decay(4.0)], &[&all[..]], weights);
    assert_abs_diff_eq!(times[found[0]], 4.0_f64.ln() / 3.0, epsilon = 2e-4);
}

/// Between lots s alone, three lots: t(2) = 4.303 (NIST/SEMATECH e-Handbook 1.3.6.7.2), c4(3) = 0.8862
/// (6.3.2); and with lots without end the width falls to 1.960 s and never below.
#[test]
fn the_width_for_a_new_lot_never_falls_below_the_spread_between_lots() {
    let parts = WidthParts {
        within_lot_variance: 0.0,
        between_lots_variance: 0.04,
        syringe_variance: 0.0,
    };
    let three = lot_widths(&parts, 3).unwrap();
    assert_abs_diff_eq!(
        three.new_lot_ln,
        4.303 * 0.8862 * (4.0_f64 / 3.0).sqrt() * 0.2,
        epsilon = 2e-4
    );
    assert!(lot_widths(&parts, 1).is_none());
    // Nine benches of ten, five lots: t(4) = 2.776 and chi2(0.9; 4) = 7.779 (the same Handbook, 1.3.6.7.2 and
    // 1.3.6.7.4); a syringe's own scatter is no part of the typical lot's.
    let noisy = WidthParts {
        syringe_variance: 0.09,
        ..parts
    };
    assert_abs_diff_eq!(
        lot_widths(&noisy, 5).unwrap().typical_lot_nine_of_ten_ln,
        2.776 * (7.779_f64 / 4.0).sqrt() * (0.04_f64 / 5.0).sqrt(),
        epsilon = 2e-4
    );
    let mut before = f64::INFINITY;
    for lots in [2, 3, 5, 10, 100, 10_000] {
        let widths = lot_widths(&parts, lots).unwrap();
        assert!(widths.new_lot_ln < before);
        assert!(widths.new_lot_ln > 1.959_96 * 0.2);
        assert_abs_diff_eq!(widths.least_new_lot_ln, 1.959_964 * 0.2, epsilon = 1e-5);
        before = widths.new_lot_ln;
    }
    assert_abs_diff_eq!(before, 1.959_964 * 0.2, epsilon = 1e-4);
}

fn setup() -> PushSetup {
    let needle = NeedleUsed::of_gauge(29, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    PushSetup::with_needle(needle).unwrap()
}

fn question() -> BenchPlanQuestion {
    BenchPlanQuestion {
        beliefs: Beliefs {
            activation_energy_j_per_mol: Span::exactly(300e3),
            half_time_s: Span::exactly(600.0),
            plateau_pa_s: Span::exactly(10.0),
            ..Beliefs::default()
        },
        limits: BenchLimits::default(),
        asked_kelvin: vec![358.15],
        setup: setup(),
        thinning: StatedThinning::default(),
        warm_up: WarmUp::None,
        width: AskedWidth::Ratio(0.5),
        for_whom: ForWhom::NewLot,
        aggregate: Aggregate::Worst,
        temperatures: 3,
        altitude_m: 0.0,
        seed: 1,
    }
}

#[test]
fn the_plan_stays_within_the_limits_and_reaches_the_width_with_fewer_where_less_is_asked() {
    let wide = smallest_bench(&question()).unwrap();
    assert!(wide.reached && wide.half_width_ratio <= 0.5);
    assert_eq!(wide.temperatures_kelvin.len(), 3);
    assert_eq!(wide.readings, wide.lots * wide.settings.len());
    for setting in &wide.settings {
        assert_eq!(setting.heat_time_s % 30.0, 0.0, "{setting:?}");
        assert!((343.15..=363.15).contains(&setting.heat_temp_k));
    }
    let narrow = smallest_bench(&BenchPlanQuestion {
        width: AskedWidth::Ratio(0.46),
        ..question()
    })
    .unwrap();
    assert!(narrow.reached, "{:?}", narrow.half_width_ratio);
    assert!(narrow.readings > wide.readings);
    for plan in [&wide, &narrow] {
        let step = |change: &str| plan.steps.iter().find(|s| s.change == change);
        assert!(step("one-lot-more").unwrap().half_width_ratio < plan.half_width_ratio);
        if let Some(less) = step("one-lot-less") {
            assert!(less.half_width_ratio > plan.half_width_ratio);
        }
        assert!(step("every-setting-twice").unwrap().half_width_ratio < plan.half_width_ratio);
        assert!(plan.floor.half_width_ratio < plan.half_width_ratio);
        let in_sessions: usize = plan.sessions.iter().map(|s| s.readings.len()).sum();
        assert_eq!(in_sessions, plan.readings);
    }
}

#[test]
fn a_width_under_the_spread_between_lots_is_said_to_be_out_of_reach() {
    let plan = smallest_bench(&BenchPlanQuestion {
        width: AskedWidth::Ratio(0.2),
        ..question()
    })
    .unwrap();
    assert!(!plan.reached);
    // The rate alone: 1.96 times its spread of 15 %.
    assert!(plan.floor.half_width_ratio > (1.96_f64 * 0.15).sinh());
    assert!(plan.half_width_ratio > plan.floor.half_width_ratio);
}

/// One temperature wider belief costs readings: what must serve all of a range is never better than
/// what serves one gel of it.
#[test]
fn a_wider_belief_is_served_worse() {
    let known = smallest_bench(&question()).unwrap();
    let wide = smallest_bench(&BenchPlanQuestion {
        beliefs: Beliefs::default(),
        ..question()
    })
    .unwrap();
    let same_size = |plan: &BenchPlan| plan.reached.then_some(plan.readings);
    match (same_size(&known), same_size(&wide)) {
        (Some(few), Some(more)) => assert!(few <= more),
        (Some(_), None) => {}
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_cannot_be_planned_is_refused_in_words() {
    let never = smallest_bench(&BenchPlanQuestion {
        beliefs: Beliefs {
            plateau_pa_s: Span::exactly(0.01),
            ..question().beliefs
        },
        ..question()
    });
    assert!(matches!(never, Err(BenchPlanError::NoHeatTime { .. })));
    let crowded = smallest_bench(&BenchPlanQuestion {
        temperatures: 5,
        limits: BenchLimits {
            block_kelvin: [358.15, 360.15],
            ..BenchLimits::default()
        },
        ..question()
    });
    assert!(matches!(
        crowded,
        Err(BenchPlanError::TooFewTemperatures { .. })
    ));
}

/// A simulated bench of the plan: lots that differ, readings that scatter.
fn simulated(plan: &BenchPlan, beliefs: &Beliefs, seed: u64) -> heatset::readings::BenchTable {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let (mut rows, mut names) = (Vec::new(), Vec::new());
    for lot in 0..plan.lots {
        let mut moved = |value: f64, sd: f64| {
            let z: f64 = StandardNormal.sample(&mut random);
            value * (sd * z).exp()
        };
        let model = SettingModel {
            firmness: FirmnessCurve::Log {
                initial: moved(
                    beliefs.initial_pa_s.middle(),
                    beliefs.lot_spread_initial_ratio,
                ),
                plateau: moved(
                    beliefs.plateau_pa_s.middle(),
                    beliefs.lot_spread_plateau_ratio,
                ),
            },
            order: ReactionOrder(1.0),
            rate: ArrheniusRate {
                rate_ref_per_s: moved(
                    std::f64::consts::LN_2 / beliefs.half_time_s.middle(),
                    beliefs.lot_spread_rate_ratio,
                ),
                activation_energy_j_per_mol: beliefs.activation_energy_j_per_mol.middle(),
                reference_kelvin: beliefs.half_time_temp_k,
            },
            dose_lag_s: 0.0,
            warm_up: WarmUp::None,
        };
        for BenchSetting {
            heat_temp_k,
            heat_time_s,
        } in &plan.settings
        {
            let z: f64 = StandardNormal.sample(&mut random);
            let reading = model.reading(*heat_temp_k, *heat_time_s);
            rows.push((
                *heat_temp_k,
                *heat_time_s,
                reading * (beliefs.reading_scatter_ratio * z).exp(),
            ));
            names.push(format!("L{lot:02}"));
        }
    }
    let mut table = bench(ReadingKind::Viscosity, &rows);
    for (details, name) in table.rows.iter_mut().zip(names) {
        details.lot = Some(name);
    }
    table
}

/// Half-widths of ln heat time of one simulated bench by the real fit: typical lot and new lot.
fn fitted_widths(table: &heatset::readings::BenchTable, setup: &PushSetup) -> Option<[f64; 2]> {
    let options = FitOptions {
        law: Some(FirmnessLaw::Log),
        ..FitOptions::default()
    };
    let calibration = calibrate(table, &options).ok()?;
    let blend = &calibration.blends[0];
    let lots = blend.lots.as_ref().filter(|l| l.are_separate())?;
    let answer = next_reading(
        blend,
        &NextQuestion {
            asked: Some(AskedHeatTime {
                set_kelvin: 358.15,
                setup: setup.clone(),
                thinning: StatedThinning::default(),
                warm_up: None,
            }),
            altitude_m: 0.0,
            extrapolate: true,
            invented: false,
        },
    )
    .ok()?;
    let half = |[low, high]: [f64; 2]| 0.5 * (high / low).ln();
    let intervals = answer.asked?.heat_time_interval95;
    // 'next' counts Student's t on all of it; what does not vary between lots is normal.
    let t = t_quantile(0.975, lots.count - 1)?;
    let curve = half(intervals.curve_s) / t;
    let syringe = half(intervals.syringe_s) / t;
    let rate = lots.sd[ParameterName::RateRef.as_str()];
    assert!(rate.is_finite());
    Some([t * curve, t * syringe])
}

/// Forty benches of the plan, simulated from its own belief and fitted by the real fit (lots told apart
/// by restricted likelihood): the mean widths are those expected, within 12 %. With 6 lots the width of
/// one bench varies by 1/sqrt(2 x 5) = 32 %, the mean of forty by 5 %. Bore, friction, flow and block are
/// taken as known, and the scatter of the syringe as small, so that all of it is Student's t.
#[test]
fn the_expected_widths_are_those_of_simulated_benches() {
    let setup = PushSetup {
        doubts: PushDoubts::NONE,
        needle: NeedleUsed {
            bore_tolerance_m: None,
            ..setup().needle
        },
        ..setup()
    };
    let asked = BenchPlanQuestion {
        setup: setup.clone(),
        width: AskedWidth::Ratio(0.42),
        limits: BenchLimits {
            lots: 6,
            lot_costs_readings: 0.0,
            ..BenchLimits::default()
        },
        ..question()
    };
    let plan = smallest_bench(&asked).unwrap();
    assert!(plan.reached);
    let widths: Vec<[f64; 2]> = (0..40)
        .filter_map(|seed| fitted_widths(&simulated(&plan, &asked.beliefs, seed), &setup))
        .collect();
    assert!(
        widths.len() >= 36,
        "only {} benches told lots apart",
        widths.len()
    );
    let mean = |which: usize| -> f64 {
        widths.iter().map(|w| w[which]).sum::<f64>() / widths.len() as f64
    };
    let case = &plan.cases[0];
    assert_relative_eq!(
        mean(0),
        case.typical_lot_half_width_ratio.asinh(),
        max_relative = 0.12
    );
    assert_relative_eq!(
        mean(1),
        case.new_lot_half_width_ratio.asinh(),
        max_relative = 0.12
    );
}
