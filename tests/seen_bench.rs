//! The invented bench of what is only seen: it is what its generator makes, and its fit covers its
//! known truth; and what a table of set and not-set must not be.
#![cfg(feature = "tables")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[allow(dead_code, missing_docs)]
#[path = "../data/make_seen_bench.rs"]
mod make_seen_bench;

use heatset::fit::set_time::{
    ScatterForm, SetTimeCalibration, SetTimeError, SetTimeKnowledge, SetTimeName, SetTimeOptions,
    calibrate_set_time,
};
use heatset::flow::{FlowCurve, push};
use heatset::plan::set_time::{SetTimeQuestion, same_push, same_setting, set_time};
use heatset::plan::{NeedleUsed, PushSetup};
use heatset::readings::{
    ReadingsError, Seen, SeenGap, read_bench_text, read_seen_text, summarise_seen,
};
use heatset::reference::{BoreBasis, Wall};

const TABLE: &str = include_str!("../data/seen_bench.csv");
const TRUTH: &str = include_str!("../data/seen_truth.json");

fn fitted(text: &str, options: &SetTimeOptions) -> Result<SetTimeCalibration, SetTimeError> {
    calibrate_set_time(
        &read_seen_text("seen.csv", text.as_bytes()).unwrap(),
        options,
    )
}

fn demo() -> SetTimeCalibration {
    fitted(TABLE, &SetTimeOptions::default()).unwrap()
}

fn question(celsius: f64) -> SetTimeQuestion {
    SetTimeQuestion {
        set_kelvin: celsius + 273.15,
        criterion: None,
        lot: None,
        altitude_m: 0.0,
        extrapolate: false,
        draws: 4000,
        seed: 1,
        invented: true,
    }
}

/// A table of one lot from `(°C, minutes, set)`.
fn table_of(rows: &[(f64, f64, bool)]) -> String {
    let mut text = String::from("heat_temp_C,heat_time_min,seen\n");
    for (celsius, minutes, set) in rows {
        let word = if *set { "set" } else { "not-set" };
        text.push_str(&format!("{celsius},{minutes},{word}\n"));
    }
    text
}

#[test]
fn the_committed_bench_is_what_its_generator_makes() {
    let (table, truth) = make_seen_bench::texts().unwrap();
    assert_eq!(table, TABLE);
    assert_eq!(truth, TRUTH);
}

#[test]
fn the_fit_covers_the_known_truth() {
    let truth: serde_json::Value = serde_json::from_str(TRUTH).unwrap();
    let calibration = demo();
    assert!(calibration.invented, "the comment line must travel");
    let blend = calibration.blend(None).unwrap();
    assert_eq!(
        blend.reference_temp_k,
        truth["reference_temp_K"].as_f64().unwrap()
    );
    assert_eq!(blend.scatter, ScatterForm::Lognormal);
    for (name, key) in [
        (SetTimeName::SetTimeRef, "median_ref_s"),
        (SetTimeName::ActivationEnergy, "activation_energy_J_per_mol"),
        (SetTimeName::Scatter, "scatter"),
    ] {
        let known = truth[key].as_f64().unwrap();
        let [low, high] = blend.parameter(name).unwrap().ci95.unwrap();
        assert!(
            low < known && known < high,
            "{key}: {known} not in {low} to {high}"
        );
    }
    assert_eq!(blend.fit.syringes, 90);
    assert_eq!(blend.anchors.len(), 3);
    // The document reads back as it was.
    let text = calibration.to_json().unwrap();
    assert_eq!(
        SetTimeCalibration::from_json("seen.json", &text).unwrap(),
        calibration
    );
}

#[test]
fn looks_at_one_syringe_are_joined() {
    let table = read_seen_text("seen.csv", TABLE.as_bytes()).unwrap();
    let syringes = table.syringes("plain");
    let joined = syringes
        .iter()
        .find(|s| s.after_s > 0.0 && s.by_s.is_finite())
        .unwrap();
    // Lines 10 and 11 of the table: S3 of TR-01 at 76 °C.
    assert_eq!((joined.after_s, joined.by_s), (25.0 * 60.0, 32.25 * 60.0));
    assert_eq!(joined.rows.len(), 2);
    assert_eq!(table.rows[joined.rows[0]].seen, Some(Seen::NotSet));
}

#[test]
fn every_fault_of_a_table_is_told_at_once() {
    let text = "heat_temp_C,heat_time_min,seen,criterion,syringe,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min\n\
        80,4,maybe,bubble,,,,,,,\n\
        80,0,set,bubble,,,,,,,\n\
        80,5,set,,,,,,,,\n\
        80,6,set,bubble,A,,,,,,\n\
        80,7,not-set,bubble,A,,,,,,\n\
        80,8,,,,,,,,,\n\
        80,9,set,bubble,,8,27,,13,4.7,1\n\
        -300,9,Not Set,bubble,,,,,,,\n";
    let told = read_seen_text("seen.csv", text.as_bytes())
        .unwrap_err()
        .to_string();
    assert_eq!(
        told,
        "seen.csv cannot be read: 7 faults\n  \
         line 2, column seen: \"maybe\" is neither set nor not-set (write set or not-set; a syringe of which you are not sure is left out)\n  \
         line 3, column heat_time_min: set after no heat at all (check the time; a gel that stays put without heat does not show setting)\n  \
         line 4, column criterion: the cell is empty (name what counted as set: other rows do)\n  \
         line 6, column seen: syringe \"A\" was set at 6 min (line 5) and is not-set here at 7 min (check both looks; another syringe needs another code, or another session)\n  \
         line 7, column seen: the cell is empty (write set or not-set, or take the row out)\n  \
         line 8, column needle_wall: the cell is empty (a force reading needs it)\n  \
         line 9, column heat_temp_C: -300 is below absolute zero (check the sign and the unit in the header)"
    );
}

#[test]
fn readings_and_looks_do_not_share_a_table() {
    let both = "heat_temp_C,heat_time_min,seen,viscosity_Pa_s\n80,4,set,1\n";
    let told = read_seen_text("both.csv", both.as_bytes())
        .unwrap_err()
        .to_string();
    assert!(
        told.contains("column viscosity_Pa_s: a table holds readings or what was seen, not both"),
        "{told}"
    );
    let looks = table_of(&[(80.0, 4.0, true)]);
    let refused = read_bench_text("looks.csv", looks.as_bytes());
    assert!(
        matches!(refused, Err(ReadingsError::SeenTable { .. })),
        "{refused:?}"
    );
    // Beside readings the columns of looks are notes, as any unknown column is.
    let readings =
        "heat_temp_C,heat_time_min,viscosity_mPa_s,syringe,criterion\n80,1,2,A7,x\n90,1,50,A8,y\n";
    let table = read_bench_text("readings.csv", readings.as_bytes()).unwrap();
    assert_eq!(table.unknown_columns, ["syringe", "criterion"]);
    assert_eq!(
        table.rows[0].note.as_deref(),
        Some("syringe=A7; criterion=x")
    );
}

#[test]
fn what_cannot_be_found_is_refused_in_words() {
    let told = |rows: &[(f64, f64, bool)]| {
        fitted(&table_of(rows), &SetTimeOptions::default()).unwrap_err()
    };
    let mixed = |celsius: f64, unit: f64| {
        [
            (0.6, false),
            (0.8, true),
            (0.9, false),
            (1.1, true),
            (1.2, false),
            (1.5, true),
        ]
        .map(|(ratio, set)| (celsius, unit * ratio, set))
    };
    let one = told(&mixed(80.0, 6.0));
    assert!(
        matches!(one, SetTimeError::OneTemperature { syringes: 6, .. }),
        "{one}"
    );
    let all: Vec<_> = mixed(75.0, 12.0)
        .into_iter()
        .chain(mixed(85.0, 3.0))
        .collect();
    let set: Vec<_> = all.iter().map(|(c, m, _)| (*c, *m, true)).collect();
    assert!(matches!(told(&set), SetTimeError::AllSet { .. }));
    assert!(
        told(&set)
            .to_string()
            .contains("look sooner, at 85 °C well before 1 min 48 s")
    );
    let not: Vec<_> = all.iter().map(|(c, m, _)| (*c, *m, false)).collect();
    assert!(matches!(told(&not), SetTimeError::NoneSet { .. }));
    assert!(
        told(&not)
            .to_string()
            .contains("look later, at 75 °C well after 18 min")
    );
    // Parted without overlap: the scatter runs to zero.
    let parted: Vec<_> = all
        .iter()
        .map(|(c, m, _)| {
            let limit = if *c < 80.0 { 12.0 } else { 3.0 };
            (*c, *m, *m > limit)
        })
        .collect();
    let why = told(&parted);
    assert!(matches!(why, SetTimeError::Parted { .. }), "{why}");
    assert!(why.to_string().contains("--hold scatter=0.15"), "{why}");
    assert!(
        why.to_string()
            .contains("between 2 min 42 s and 3 min 18 s at 85 °C"),
        "{why}"
    );
    // With the scatter stated it is found.
    let held = SetTimeOptions {
        knowledge: SetTimeKnowledge {
            held_scatter: Some(0.15),
            ..Default::default()
        },
        ..Default::default()
    };
    let found = fitted(&table_of(&parted), &held).unwrap();
    let blend = found.blend(None).unwrap();
    assert!(blend.parameter(SetTimeName::Scatter).unwrap().held);
    let median = blend.derived.set_time_s[0].median;
    assert!((600.0..860.0).contains(&median), "{median}");
    // Longer heating sets less: no setting.
    let turned: Vec<_> = all
        .iter()
        .map(|(c, m, _)| {
            let limit = if *c < 80.0 { 12.0 } else { 3.0 };
            (*c, *m, *m < limit)
        })
        .collect();
    let why = told(&turned);
    assert!(
        matches!(
            why,
            SetTimeError::NotBySetting { .. } | SetTimeError::NotFound { .. }
        ),
        "{why}"
    );
    // One answer at one of two temperatures: nothing holds the activation energy.
    let one_sided: Vec<_> = mixed(75.0, 12.0)
        .into_iter()
        .chain([2.0, 3.0, 4.0].map(|m| (85.0, m, true)))
        .collect();
    let why = told(&one_sided);
    assert!(matches!(why, SetTimeError::EnergyNotHeld { .. }), "{why}");
    assert!(
        why.to_string().contains("only at 75 °C had some syringes"),
        "{why}"
    );
    let prior = SetTimeOptions {
        knowledge: SetTimeKnowledge {
            prior_energy_j_per_mol: Some((260e3, 30e3)),
            ..Default::default()
        },
        ..Default::default()
    };
    let found = fitted(&table_of(&one_sided), &prior).unwrap();
    let energy = found
        .blend(None)
        .unwrap()
        .parameter(SetTimeName::ActivationEnergy)
        .unwrap()
        .clone();
    // The one-sided looks can but raise it.
    assert!(
        energy.estimate > 250e3 && energy.std_error.unwrap() < 31e3,
        "{energy:?}"
    );
}

#[test]
fn two_criteria_are_two_times_of_one_gel() {
    // The second criterion comes at 1.5 times the first: the same looks, times stretched.
    let mut text = String::from("heat_temp_C,heat_time_min,seen,criterion\n");
    let looks = [
        (0.6, false),
        (0.8, true),
        (0.9, false),
        (1.1, true),
        (1.2, false),
        (1.5, true),
    ];
    for (celsius, unit) in [(75.0, 12.0), (80.0, 6.0), (85.0, 3.0)] {
        for (criterion, stretch) in [("bubble", 1.0), ("column", 1.5)] {
            for (ratio, set) in looks {
                let word = if set { "set" } else { "not-set" };
                text.push_str(&format!(
                    "{celsius},{},{word},{criterion}\n",
                    unit * ratio * stretch
                ));
            }
        }
    }
    let calibration = fitted(&text, &SetTimeOptions::default()).unwrap();
    let blend = calibration.blend(None).unwrap();
    assert_eq!(blend.criteria, ["bubble", "column"]);
    let ratio = blend.parameter(SetTimeName::CriterionRatio).unwrap();
    approx::assert_relative_eq!(ratio.estimate, 1.5, max_relative = 1e-6);
    assert!(
        set_time(blend, &question(80.0))
            .unwrap_err()
            .to_string()
            .contains("--criterion 'bubble'")
    );
    let of = |criterion: &str| {
        let asked = SetTimeQuestion {
            criterion: Some(criterion.to_owned()),
            ..question(80.0)
        };
        set_time(blend, &asked).unwrap().set_time_s
    };
    approx::assert_relative_eq!(
        of("column").median / of("bubble").median,
        1.5,
        max_relative = 1e-6
    );
}

/// t = t0 exp[(E/R)(1/T - 1/T0)] by hand from the document's own energy, there and back.
#[test]
fn an_equal_heat_is_the_arrhenius_ratio_and_comes_back() {
    let calibration = demo();
    let blend = calibration.blend(None).unwrap();
    let energy = blend.estimate(SetTimeName::ActivationEnergy);
    let there = same_setting(blend, &question(84.0), 354.15, 600.0).unwrap();
    let by_hand = 600.0 * (energy / 8.314_462_618 * (1.0 / 357.15 - 1.0 / 354.15)).exp();
    approx::assert_relative_eq!(there.heat_time_s_point, by_hand, max_relative = 1e-9);
    let back = same_setting(blend, &question(81.0), 357.15, there.heat_time_s_point).unwrap();
    approx::assert_relative_eq!(back.heat_time_s_point, 600.0, max_relative = 1e-9);
    // First order: the interval of ln is that of E times the step; and E's, by hand from its standard
    // error and that of ln scatter, 1.96 se exp(2 v).
    let energy = blend.parameter(SetTimeName::ActivationEnergy).unwrap();
    let ci = energy.ci95.unwrap();
    let ln_scatter = blend.parameter(SetTimeName::Scatter).unwrap();
    let v = ln_scatter.std_error.unwrap().powi(2);
    let by_hand = 1.96 * energy.std_error.unwrap() * (2.0 * v).exp();
    approx::assert_relative_eq!(0.5 * (ci[1] - ci[0]), by_hand, max_relative = 1e-4);
    let step: f64 = (1.0 / 357.15 - 1.0 / 354.15) / 8.314_462_618;
    let [low, high] = there.heat_time_s_interval95;
    let half = 0.5 * (high / low).ln();
    approx::assert_relative_eq!(half, by_hand * step.abs(), max_relative = 0.06);
    // At its own temperature a heat is itself, whatever is not known.
    let same = same_setting(blend, &question(81.0), 354.15, 600.0).unwrap();
    assert_eq!(same.heat_time_s_interval95, [600.0, 600.0]);
}

#[test]
fn a_new_lot_is_less_sure_than_a_known_one_and_a_syringe_than_a_median() {
    let calibration = demo();
    let blend = calibration.blend(None).unwrap();
    let new = set_time(blend, &question(84.0)).unwrap().set_time_s;
    let known = SetTimeQuestion {
        lot: Some("TR-04".to_owned()),
        ..question(84.0)
    };
    let known = set_time(blend, &known).unwrap().set_time_s;
    let width = |[low, high]: [f64; 2]| (high / low).ln();
    assert!(width(new.median_interval95) > width(known.median_interval95));
    assert!(width(new.syringe_interval95) > width(new.median_interval95));
    assert!(
        new.not_before > new.median_interval95[1] && new.not_before < new.syringe_interval95[1]
    );
    // TR-04 sets sooner than the usual lot by its truth, exp(-0.16).
    assert!(known.median < new.median);
    let unknown = SetTimeQuestion {
        lot: Some("TR-99".to_owned()),
        ..question(84.0)
    };
    assert!(
        set_time(blend, &unknown)
            .unwrap_err()
            .to_string()
            .contains("there are: TR-01, TR-04")
    );
}

#[test]
fn an_anchors_own_needle_takes_the_anchors_force() {
    let calibration = demo();
    let blend = calibration.blend(None).unwrap();
    let setup = |gauge: u8| {
        let needle = NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
        let mut setup = PushSetup::with_needle(needle).unwrap();
        setup.barrel = heatset::plan::BarrelUsed::of_bore(4.7e-3);
        setup
    };
    let own = same_push(blend, &question(81.0), None, Some(&setup(27)), None).unwrap();
    // At the anchor's temperature the time is the anchor's.
    approx::assert_relative_eq!(own.heat_time_s_point, 600.0, max_relative = 1e-12);
    assert_eq!(own.heat_time_interval95.dose_s, [600.0, 600.0]);
    let push_own = own.push.unwrap();
    assert!(push_own.is_the_anchors_own);
    // Forces 8.7, 8.0 and 8.9 N with 1.6 N of friction: the geometric mean of what is left, and it.
    let left = (7.1_f64 * 6.4 * 7.3).cbrt() + 1.6;
    assert!(
        (push_own.plunger_force_n.median / left - 1.0).abs() < 0.02,
        "{push_own:?}"
    );
    // Through another needle, by the general law of pipes, for an index of 1 and of 0.5.
    for index in [1.0, 0.5] {
        let anchor = &blend.anchors[0];
        let stress = blend
            .anchors
            .iter()
            .map(|a| a.wall_shear_stress_pa.ln())
            .sum::<f64>()
            / 3.0;
        let rate = anchor.apparent_shear_rate_per_s * (3.0 * index + 1.0) / (4.0 * index);
        let curve = FlowCurve::PowerLaw {
            consistency_pa_s_n: stress.exp() / rate.powf(index),
            flow_index: index,
        };
        let through = PushSetup {
            friction_n: 1.6,
            ..setup(25)
        };
        let expected = push(&curve, &through.conditions().unwrap()).plunger_force_n;
        let found = same_push(blend, &question(84.0), None, Some(&setup(25)), None).unwrap();
        let found = found.push.unwrap();
        let at = found
            .if_flow_index
            .iter()
            .find(|p| p.flow_index == index)
            .unwrap();
        approx::assert_relative_eq!(at.plunger_force_n, expected, max_relative = 1e-9);
    }
    // The dose's time is the same as for --same-as, and a syringe is less sure than a dose.
    let there = same_push(blend, &question(84.0), None, None, None).unwrap();
    let same = same_setting(blend, &question(84.0), 354.15, 600.0).unwrap();
    approx::assert_relative_eq!(
        there.heat_time_s_point,
        same.heat_time_s_point,
        max_relative = 1e-12
    );
    let width = |[low, high]: [f64; 2]| (high / low).ln();
    let interval = there.heat_time_interval95;
    assert!(width(interval.syringe_s) > 3.0 * width(interval.dose_s));
}

/// What is not known of lots enters an anchor's answer once a lot: it cancels where the anchor is of the lot
/// asked about, and does not shrink with the number of its pushes.
#[test]
fn a_lot_counts_once_in_what_an_anchor_tells() {
    let calibration = demo();
    let blend = calibration.blend(None).unwrap();
    let lot_sd = blend.lot_sd();
    // Of the scatter greatest likelihood finds too little: ln of it is raised by (p + 1) v, p = 2 for place and
    // energy, and is itself known to a variance of v.
    let v = blend
        .parameter(SetTimeName::Scatter)
        .and_then(|p| p.std_error)
        .unwrap()
        .powi(2);
    let syringe = blend.estimate(SetTimeName::Scatter).powi(2) * (2.0 * (3.0 * v) + 2.0 * v).exp();
    assert_eq!(
        blend.scatter,
        heatset::fit::set_time::ScatterForm::Lognormal
    );
    // Squared standard deviation of ln t, from the width of the 95 % interval, at the anchor's temperature.
    let variance = |lot: Option<&str>, of_anchors: &[Option<&str>]| {
        let mut blend = blend.clone();
        let anchor = blend.anchors[0].clone();
        blend.anchors = of_anchors
            .iter()
            .map(|lot| heatset::fit::set_time::Anchor {
                lot: lot.map(str::to_owned),
                ..anchor.clone()
            })
            .collect();
        let asked = SetTimeQuestion {
            lot: lot.map(str::to_owned),
            draws: 40_000,
            ..question(81.0)
        };
        let found = same_push(&blend, &asked, None, None, None).unwrap();
        let [low, high] = found.heat_time_interval95.syringe_s;
        ((high / low).ln() / (2.0 * 1.96)).powi(2)
    };
    // Its own lot: two syringes are all that differs.
    let same = variance(Some("TR-04"), &[Some("TR-04")]);
    approx::assert_relative_eq!(same, 2.0 * syringe, max_relative = 0.1);
    // A lot that nobody names: its spread comes on top, known from few lots.
    let unnamed = variance(Some("TR-04"), &[None]);
    assert!(
        unnamed > same + lot_sd * lot_sd,
        "{unnamed} {same} {lot_sd}"
    );
    // Another lot that was looked at is less of a doubt than that.
    let other = variance(Some("TR-04"), &[Some("TR-01")]);
    assert!(same < other && other < unnamed, "{same} {other} {unnamed}");
    // Two pushes of one lot halve what its syringes differ by, and nothing else.
    let new = variance(None, &[None]);
    let twice = variance(None, &[None, None]);
    approx::assert_relative_eq!(new - twice, 0.5 * syringe, max_relative = 0.45);
}

#[test]
fn a_bench_without_a_push_has_no_anchor() {
    let pushed = |line: &&str| !line.contains("kitchen scale");
    let text: String = TABLE
        .lines()
        .filter(pushed)
        .map(|line| format!("{line}\n"))
        .collect();
    let calibration = fitted(&text, &SetTimeOptions::default()).unwrap();
    let refused = same_push(
        calibration.blend(None).unwrap(),
        &question(81.0),
        None,
        None,
        None,
    );
    assert!(
        refused
            .unwrap_err()
            .to_string()
            .starts_with("No push anchors blend plain")
    );
    let table = read_seen_text("seen.csv", text.as_bytes()).unwrap();
    assert!(summarise_seen(&table).gaps.contains(&SeenGap::NoAnchor));
}

#[test]
fn boiling_and_what_nobody_looked_at_are_refused() {
    let calibration = demo();
    let blend = calibration.blend(None).unwrap();
    let refused = set_time(blend, &question(90.0)).unwrap_err().to_string();
    assert!(refused.contains("90 °C lies outside"), "{refused}");
    let extrapolated = SetTimeQuestion {
        extrapolate: true,
        ..question(90.0)
    };
    let answer = set_time(blend, &extrapolated).unwrap();
    assert!(answer.extrapolated && answer.warnings.iter().any(|w| w.code == "extrapolated"));
    let boiling = SetTimeQuestion {
        extrapolate: true,
        ..question(99.5)
    };
    assert!(
        set_time(blend, &boiling)
            .unwrap_err()
            .to_string()
            .contains("boiling")
    );
}
