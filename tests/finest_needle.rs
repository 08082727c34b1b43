//! Which needle: any of the table may be the answer, and what an assumed flow index would change.
#![allow(clippy::unwrap_used, missing_docs)]

mod support;

use heatset::fit::{FitOptions, calibrate};
use heatset::flow::{FlowCurve, push};
use heatset::plan::{
    CoolingAsked, EXAMPLE_FLOW_INDEX, Least, NeedleUsed, PushSetup, StatedThinning, TimeQuestion,
    Varied, finest_needle, finest_needle_alone, heat_time,
};
use heatset::readings::ReadingKind;
use heatset::reference::{BoreBasis, Wall};
use support::{exact_rows, log_setting};

fn needles() -> Vec<NeedleUsed> {
    (20..=34)
        .map(|gauge| NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap())
        .collect()
}

fn question(least: Option<Least>) -> TimeQuestion {
    TimeQuestion {
        set_kelvin: 353.15,
        setup: PushSetup::with_needle(needles().swap_remove(0)).unwrap(),
        thinning: StatedThinning::default(),
        least,
        warm_up: None,
        contact_histories: Vec::new(),
        cooling: CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: false,
        draws: 2000,
        varied: Varied::ALL,
        seed: 1,
        invented: false,
    }
}

fn blend() -> heatset::fit::BlendCalibration {
    let setting = log_setting(6e-3, 250e3, 1.6e-3, 12.0);
    let mut table = support::bench(ReadingKind::Viscosity, &exact_rows(&setting));
    for row in &mut table.rows {
        row.shear_rate_per_s = Some(10.0);
    }
    calibrate(&table, &FitOptions::default())
        .unwrap()
        .blends
        .swap_remove(0)
}

#[test]
fn the_finest_needle_is_the_last_whose_own_answer_has_a_window() {
    let blend = blend();
    let least = Some(Least::Reading(0.05));
    let (answer, asked) = finest_needle(&blend, &question(least), &needles()).unwrap();
    let windows = answer.needles.clone().unwrap();
    assert_eq!(windows.len(), needles().len());
    assert!(
        windows
            .windows(2)
            .all(|pair| pair[0].bore_m >= pair[1].bore_m)
    );
    let mut finest = None;
    for (needle, window) in needles().into_iter().zip(&windows) {
        assert_eq!(window.gauge, needle.gauge);
        let mut own = question(least);
        own.setup = own.setup.through(needle.clone());
        let alone = heat_time(&blend, &own).unwrap();
        assert_eq!(alone.window_open, window.window_open, "{:?}", needle.gauge);
        assert_eq!(alone.heat_time_s, window.heat_time_s);
        if alone.window_open {
            finest = Some(needle);
        }
    }
    let finest = finest.unwrap();
    assert_eq!(asked.setup.needle, finest);
    assert!(answer.window_open);
    // Looking from the finest on finds the same, and only looks as far as it must.
    let (alone, of) = finest_needle_alone(&blend, &question(least), &needles()).unwrap();
    let seen = alone.needles.clone().unwrap();
    assert_eq!(of.setup.needle, finest);
    assert!(seen.len() < windows.len());
    assert_eq!(seen, windows[windows.len() - seen.len()..]);
    let told = serde_json::to_value(&heatset::plan::TimeAnswer {
        needles: Some(windows.clone()),
        ..alone
    });
    assert_eq!(told.unwrap(), serde_json::to_value(&answer).unwrap());
    // Some needle is too fine, or the question would not have been one.
    assert!(!windows.last().unwrap().window_open);
}

#[test]
fn where_no_needle_passes_the_widest_answers_with_what_would_help() {
    let blend = blend();
    let fine: Vec<NeedleUsed> = needles()
        .into_iter()
        .filter(|n| n.bore_m < 0.1e-3)
        .collect();
    let (answer, asked) =
        finest_needle(&blend, &question(Some(Least::Reading(1.0))), &fine).unwrap();
    assert!(!answer.window_open);
    assert_eq!(asked.setup.needle, fine[0]);
    assert!(!answer.alternatives.is_empty());
    let (alone, of) =
        finest_needle_alone(&blend, &question(Some(Least::Reading(1.0))), &fine).unwrap();
    assert_eq!(of.setup.needle, fine[0]);
    assert_eq!(alone.needles, answer.needles);
}

#[test]
fn an_assumed_flow_index_says_what_it_means_in_newtons() {
    // By the power law's pressure drop, written out: Chhabra & Richardson 2008, equation 3.5.
    let blend = blend();
    let mut asked = question(None);
    asked.setup = asked.setup.through(needles().swap_remove(7));
    let answer = heat_time(&blend, &asked).unwrap();
    let aim = answer.at_aim.unwrap();
    let [plain, thins] = answer.if_flow_index.as_slice() else {
        panic!("two flow indices: {:?}", answer.if_flow_index);
    };
    assert!(plain.answered_with && plain.flow_index == 1.0);
    assert!(!thins.answered_with && thins.flow_index == EXAMPLE_FLOW_INDEX);
    let conditions = asked.setup.conditions().unwrap();
    let newtonian = push(&FlowCurve::newtonian(aim.reading).unwrap(), &conditions);
    assert!((plain.plunger_force_n / newtonian.plunger_force_n - 1.0).abs() < 1e-9);
    let index = 1.0 - 0.5 * aim.conversion;
    let inputs = conditions.inputs();
    let radius = inputs.bore_m / 2.0;
    let rate = inputs.flow_rate_m3_per_s / (std::f64::consts::PI * radius.powi(3))
        * (3.0 * index + 1.0)
        / index;
    let pressure =
        2.0 * inputs.length_m / radius * aim.reading * 10_f64.powf(1.0 - index) * rate.powf(index);
    let force = pressure * conditions.barrel_area_m2() + inputs.friction_n;
    assert!((thins.plunger_force_n / force - 1.0).abs() < 1e-9);
    // A stated index turns the two round.
    asked.thinning.flow_index = Some(0.4);
    let stated = heat_time(&blend, &asked).unwrap().if_flow_index;
    assert!(!stated[0].answered_with && stated[1].answered_with);
    assert_eq!(stated[1].flow_index, 0.4);
    // Nothing can be said where nobody knows the bench's shear rate.
    let mut unknown = blend.clone();
    unknown.reference_shear_rate_per_s = None;
    asked.thinning.flow_index = None;
    assert!(
        heat_time(&unknown, &asked)
            .unwrap()
            .if_flow_index
            .is_empty()
    );
}
