//! Thickening on standing: published first-order rises refitted through the same code, identities and
//! limits, coverage, and what the readings cannot tell.
#![allow(clippy::unwrap_used, missing_docs)]

mod support;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::fit::standing::{
    GelStart, NoCourse, StandingFit, StandingForm, StandingGel, StandingRow, StandingRows,
    fit_standing,
};
use heatset::fit::{
    BlendCalibration, Calibration, FitOptions, ParameterName, calibrate, t_quantile,
};
use heatset::kinetics::{ArrheniusRate, StandingCourse};
use heatset::plan::{
    CoolingAsked, ForceQuestion, NeedleUsed, PlanError, PushDoubts, PushSetup, StandQuestion,
    StatedThinning, force_for_heat_time, stand,
};
use heatset::readings::{BenchTable, ReadingKind, RowDetails};
use heatset::reference::{BoreBasis, Wall};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use support::{exact_rows, log_setting, numbers};

const R: f64 = 8.314_462_618;
const FRIDGE: f64 = 277.15;
const ROOM: f64 = 295.15;

/// One gel that begins at ln P(0) = 0, from (time in s, ln of the reading).
fn from_nothing(rows: &[(f64, f64)]) -> StandingRows {
    StandingRows {
        gels: vec![StandingGel {
            start: GelStart::Curve {
                ln_reading: 0.0,
                doubt: None,
            },
        }],
        rows: rows.iter().map(|row| row_of(0, FRIDGE, *row)).collect(),
        curves: Vec::new(),
    }
}

fn row_of(
    gel: usize,
    stand_temp_kelvin: f64,
    (stand_time_s, ln_reading): (f64, f64),
) -> StandingRow {
    StandingRow {
        gel,
        stand_time_s,
        stand_temp_kelvin,
        ln_reading,
    }
}

/// Gain and rate of a course that levels off.
fn gain_and_rate(fit: &StandingFit) -> (f64, ArrheniusRate) {
    match fit.course {
        StandingCourse::LevelsOff {
            gain_ln_ratio,
            rate,
        } => (gain_ln_ratio, rate),
        StandingCourse::Slope { .. } => unreachable!("{fit:?}"),
    }
}

fn standard_errors(fit: &StandingFit) -> Vec<f64> {
    (0..fit.covariance.nrows())
        .map(|i| fit.covariance[[i, i]].sqrt())
        .collect()
}

/// A. Davison, D. Hinkley, Bootstrap Methods and their Application, 1997, example 7.7 (Debian
/// r-cran-boot): uptake = b0 [1 - exp(-b1 t)], t in min; b0 4.309365 (0.302923), b1 0.208478 (0.039323),
/// s 0.546425, lack of fit F(7, 18) 1.430013, p 0.253827 (computed with R).
#[test]
fn the_uptake_of_calcium_is_refitted() {
    let rows: Vec<(f64, f64)> = numbers(include_str!("data/calcium.csv"))
        .iter()
        .map(|r| (60.0 * r[0], r[1]))
        .collect();
    let fit = fit_standing(&from_nothing(&rows)).unwrap();
    let (gain, rate) = gain_and_rate(&fit);
    let errors = standard_errors(&fit);
    assert_relative_eq!(gain, 4.309_365, max_relative = 1e-6);
    assert_relative_eq!(errors[0], 0.302_923, max_relative = 1e-5);
    assert_relative_eq!(60.0 * rate.rate_ref_per_s, 0.208_478, max_relative = 3e-6);
    assert_relative_eq!(errors[1], 0.039_323 / 0.208_478, max_relative = 3e-5);
    assert_relative_eq!(fit.residual_sd, 0.546_425, max_relative = 2e-6);
    let test = fit.lack_of_fit.unwrap();
    assert_eq!((test.df1, test.df2), (7, 18));
    assert_relative_eq!(test.f, 1.430_013, max_relative = 1e-6);
    assert_relative_eq!(test.p, 0.253_827, max_relative = 3e-6);
}

/// D. Bates, D. Watts, Nonlinear Regression Analysis and Its Applications, 1988, biochemical oxygen
/// demand (Debian r-base-core): 19.142575 (2.495917), 0.5310914 (0.2030821) a day.
#[test]
fn the_oxygen_demand_is_refitted() {
    let rows: Vec<(f64, f64)> = numbers(include_str!("data/bod.csv"))
        .iter()
        .map(|r| (86_400.0 * r[0], r[1]))
        .collect();
    let fit = fit_standing(&from_nothing(&rows)).unwrap();
    let (gain, rate) = gain_and_rate(&fit);
    let errors = standard_errors(&fit);
    assert_relative_eq!(gain, 19.142_575, max_relative = 1e-6);
    assert_relative_eq!(errors[0], 2.495_917, max_relative = 1e-5);
    assert_relative_eq!(
        86_400.0 * rate.rate_ref_per_s,
        0.531_091_4,
        max_relative = 1e-6
    );
    assert_relative_eq!(errors[1], 0.203_082_1 / 0.531_091_4, max_relative = 1e-5);
}

/// R, help page of SSasymp (from memory): Loblolly, seed 329, Asym 94.1282, R0 -8.2508, lrc -3.2176
/// (0.1386), residual standard error 0.7493 on 3 degrees of freedom. Here R0 is the gel's own
/// beginning, and Asym less R0 the gain.
#[test]
fn a_rise_with_a_beginning_of_its_own_is_refitted() {
    let rows: Vec<StandingRow> = include_str!("data/loblolly.csv")
        .lines()
        .filter(|line| line.contains("329"))
        .map(|line| {
            let mut cells = line.split(',').map(|cell| cell.trim_matches('"'));
            let height: f64 = cells.next().unwrap().parse().unwrap();
            let age: f64 = cells.next().unwrap().parse().unwrap();
            row_of(0, FRIDGE, (age, height))
        })
        .collect();
    assert_eq!(rows.len(), 6);
    let fit = fit_standing(&StandingRows {
        gels: vec![StandingGel {
            start: GelStart::Own,
        }],
        rows,
        curves: Vec::new(),
    })
    .unwrap();
    let (gain, rate) = gain_and_rate(&fit);
    assert_abs_diff_eq!(gain, 94.1282 + 8.2508, epsilon = 1.1e-4);
    assert_abs_diff_eq!(rate.rate_ref_per_s.ln(), -3.2176, epsilon = 6e-5);
    assert_abs_diff_eq!(standard_errors(&fit)[1], 0.1386, epsilon = 6e-5);
    assert_abs_diff_eq!(fit.residual_sd, 0.7493, epsilon = 6e-5);
    assert_eq!(fit.degrees_of_freedom, 3);
}

/// What benches of standing are made from.
#[derive(Clone, Copy)]
struct Truth {
    gain: f64,
    /// At 12 °C.
    rate_per_s: f64,
    energy: f64,
}

const TRUTH: Truth = Truth {
    gain: 0.8,
    rate_per_s: 3e-5,
    energy: 60e3,
};

impl Truth {
    fn ln_ratio(&self, kelvin: f64, time_s: f64) -> f64 {
        let rate = self.rate_per_s * (-self.energy / R * (1.0 / kelvin - 1.0 / 285.15)).exp();
        self.gain * (1.0 - (-rate * time_s).exp())
    }
}

/// Gels with beginnings of their own, each read at once and after five times at both temperatures.
fn simulated(truth: Truth, gels: usize, sd: f64, seed: u64) -> StandingRows {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut rows = Vec::new();
    for gel in 0..gels {
        let start = -1.0 + 0.7 * gel as f64;
        let mut add = |kelvin: f64, hours: f64| {
            let z: f64 = StandardNormal.sample(&mut random);
            let time_s = 3600.0 * hours;
            let value = start + truth.ln_ratio(kelvin, time_s) + sd * z;
            rows.push(row_of(gel, kelvin, (time_s, value)));
        };
        add(FRIDGE, 0.0);
        for kelvin in [FRIDGE, ROOM] {
            for hours in [1.0, 3.0, 8.0, 24.0, 72.0] {
                add(kelvin, hours);
            }
        }
    }
    StandingRows {
        gels: vec![
            StandingGel {
                start: GelStart::Own
            };
            gels
        ],
        rows,
        curves: Vec::new(),
    }
}

#[test]
fn readings_without_scatter_give_back_what_they_were_made_from() {
    let fit = fit_standing(&simulated(TRUTH, 2, 0.0, 1)).unwrap();
    let (gain, rate) = gain_and_rate(&fit);
    assert!(fit.fits_energy);
    assert_relative_eq!(gain, TRUTH.gain, max_relative = 1e-9);
    assert_relative_eq!(
        rate.activation_energy_j_per_mol,
        TRUTH.energy,
        max_relative = 1e-8
    );
    let at_12 = rate.rate_per_s(285.15);
    assert_relative_eq!(at_12, TRUTH.rate_per_s, max_relative = 1e-9);
}

/// The least-squares problem written out whole, a column for the beginning of each gel: the normal
/// equations hold, and the inverse of J^T J has the same block for gain, ln rate and energy.
#[test]
fn taking_beginnings_out_is_the_same_as_fitting_them_beside() {
    let rows = simulated(TRUTH, 3, 0.05, 7);
    let fit = fit_standing(&rows).unwrap();
    let (gain, rate) = gain_and_rate(&fit);
    let (reference, energy) = (rate.reference_kelvin, rate.activation_energy_j_per_mol);
    let columns: Vec<Vec<f64>> = rows
        .rows
        .iter()
        .map(|row| {
            let (t, kelvin) = (row.stand_time_s, row.stand_temp_kelvin);
            let inverse = (1.0 / kelvin - 1.0 / reference) / R;
            let dose = rate.rate_ref_per_s * (-energy * inverse).exp() * t;
            let by_rate = gain * dose * (-dose).exp();
            let mut cells = vec![1.0 - (-dose).exp(), by_rate, -by_rate * inverse];
            cells.extend((0..3).map(|gel| f64::from(u8::from(gel == row.gel))));
            cells
        })
        .collect();
    for j in 0..6 {
        let gradient: f64 = columns
            .iter()
            .zip(&fit.residuals)
            .map(|(c, r)| c[j] * r)
            .sum();
        let length: f64 = columns.iter().map(|c| c[j] * c[j]).sum::<f64>().sqrt();
        assert!(gradient.abs() < 1e-8 * length, "column {j}: {gradient}");
    }
    // Scaled, so that energies in J/mol do not swamp the elimination.
    let scale = [1.0, 1.0, 1e-4, 1.0, 1.0, 1.0];
    let mut normal = vec![vec![0.0; 12]; 6];
    for i in 0..6 {
        for j in 0..6 {
            normal[i][j] = columns.iter().map(|c| c[i] * c[j]).sum::<f64>() / scale[i] / scale[j];
        }
        normal[i][6 + i] = 1.0;
    }
    for pivot in 0..6 {
        let divisor = normal[pivot][pivot];
        normal[pivot].iter_mut().for_each(|v| *v /= divisor);
        let chosen = normal[pivot].clone();
        for (i, line) in normal.iter_mut().enumerate() {
            if i != pivot {
                let factor = line[pivot];
                line.iter_mut()
                    .zip(&chosen)
                    .for_each(|(v, c)| *v -= factor * c);
            }
        }
    }
    let sum: f64 = fit.residuals.iter().map(|r| r * r).sum();
    let variance = sum / (33.0 - 6.0);
    assert_relative_eq!(fit.residual_sd, variance.sqrt(), max_relative = 1e-12);
    for i in 0..3 {
        for j in 0..3 {
            let whole = variance * normal[i][6 + j] / scale[i] / scale[j];
            assert_relative_eq!(fit.covariance[[i, j]], whole, max_relative = 1e-6);
        }
    }
}

/// Intervals of gain, ln rate and energy cover the truth in 95 of 100 benches: of 600 each, within
/// three standard deviations of a binomial (0.9 %).
#[test]
fn intervals_cover_the_truth() {
    let runs = 600;
    let mut covered = [0_usize; 3];
    for seed in 0..runs {
        let fit = fit_standing(&simulated(TRUTH, 2, 0.06, 1000 + seed)).unwrap();
        let (gain, rate) = gain_and_rate(&fit);
        let t = t_quantile(0.975, fit.degrees_of_freedom).unwrap();
        let truth_at_reference = TRUTH.rate_per_s
            * (-TRUTH.energy / R * (1.0 / rate.reference_kelvin - 1.0 / 285.15)).exp();
        let off = [
            gain - TRUTH.gain,
            (rate.rate_ref_per_s / truth_at_reference).ln(),
            rate.activation_energy_j_per_mol - TRUTH.energy,
        ];
        for ((count, off), error) in covered.iter_mut().zip(off).zip(standard_errors(&fit)) {
            *count += usize::from(off.abs() <= t * error);
        }
    }
    for count in covered {
        let share = count as f64 / runs as f64;
        assert!((share - 0.95).abs() < 0.027, "{covered:?}");
    }
}

#[test]
fn readings_that_do_not_level_off_give_a_slope_only() {
    let rows: Vec<(f64, f64)> = [1.0, 2.0, 4.0, 6.0, 8.0]
        .iter()
        .zip([0.012, -0.008, 0.004, -0.01, 0.006])
        .map(|(hours, off)| (3600.0 * hours, 0.05 * hours + off))
        .collect();
    let fit = fit_standing(&from_nothing(&rows)).unwrap();
    assert_eq!(fit.form, StandingForm::Slope);
    let StandingCourse::Slope {
        slope_ref_per_s, ..
    } = fit.course
    else {
        unreachable!()
    };
    // A line through the origin by hand: sum x y / sum x^2.
    let (xy, xx) = rows
        .iter()
        .fold((0.0, 0.0), |(xy, xx), (x, y)| (xy + x * y, xx + x * x));
    assert_relative_eq!(slope_ref_per_s, xy / xx, max_relative = 1e-10);
    let sum: f64 = rows.iter().map(|(x, y)| (y - xy / xx * x).powi(2)).sum();
    assert_relative_eq!(fit.covariance[[0, 0]], sum / 4.0 / xx, max_relative = 1e-9);
}

#[test]
fn a_gain_that_was_there_at_the_first_reading_tells_no_rate() {
    let mut rows = vec![(0.0, 0.01), (0.0, -0.01), (0.0, 0.0)];
    rows.extend(
        [2.0, 4.0, 8.0, 16.0, 32.0]
            .iter()
            .zip([0.51, 0.49, 0.5, 0.505, 0.495])
            .map(|(hours, value)| (3600.0 * hours, value)),
    );
    let own = StandingRows {
        gels: vec![StandingGel {
            start: GelStart::Own,
        }],
        ..from_nothing(&rows)
    };
    assert_eq!(fit_standing(&own), Err(NoCourse::AllAtOnce));
    assert_eq!(fit_standing(&from_nothing(&rows)), Err(NoCourse::AllAtOnce));
}

#[test]
fn too_few_readings_tell_nothing() {
    let rows = from_nothing(&[(3600.0, 0.1)]);
    assert_eq!(
        fit_standing(&rows),
        Err(NoCourse::TooFew { rows: 1, needed: 2 })
    );
}

/// An unsure curve that gels begin on makes the course unsure: one gel, one slope, by hand
/// var S = s^2/sum t^2 + (sum t)^2/(sum t^2)^2 var(start).
#[test]
fn doubt_of_the_beginning_is_doubt_of_the_slope() {
    let rows: Vec<(f64, f64)> = [1.0, 2.0, 3.0, 5.0]
        .iter()
        .zip([0.01, -0.012, 0.007, -0.002])
        .map(|(t, off)| (1000.0 * t, 0.1 * t + off))
        .collect();
    let sure = fit_standing(&from_nothing(&rows)).unwrap();
    let mut unsure = from_nothing(&rows);
    unsure.gels[0].start = GelStart::Curve {
        ln_reading: 0.0,
        doubt: Some((0, vec![1.0])),
    };
    unsure.curves = vec![heatset::fit::standing::CurveDoubt {
        covariance: ndarray::arr2(&[[0.04]]),
    }];
    let unsure = fit_standing(&unsure).unwrap();
    assert_eq!(unsure.form, StandingForm::Slope);
    let (sum, squares) = (11_000.0, 39e6);
    assert_relative_eq!(
        unsure.covariance[[0, 0]] - sure.covariance[[0, 0]],
        0.04 * (sum / squares) * (sum / squares),
        max_relative = 1e-9
    );
}

/// Rows after standing: (heat temperature, heat time, reading) and how they stood.
type Stood = ((f64, f64, f64), f64, Option<f64>);

/// The exact bench, with readings after standing behind it.
fn bench_with(stood: &[Stood], change: impl Fn(usize, &mut RowDetails)) -> BenchTable {
    let setting = log_setting(6e-3, 250e3, 1.6e-3, 12.0);
    let mut rows = exact_rows(&setting);
    let plain = rows.len();
    rows.extend(stood.iter().map(|row| row.0));
    let mut table = support::bench(ReadingKind::Viscosity, &rows);
    for (row, details) in table.rows.iter_mut().enumerate() {
        details.shear_rate_per_s = Some(10.0);
        details.lot = Some("L1".to_owned());
        if let Some((_, time_s, kelvin)) = row.checked_sub(plain).and_then(|i| stood.get(i)) {
            details.stand_time_s = Some(*time_s);
            details.stand_temp_kelvin = *kelvin;
            change(row - plain, details);
        }
    }
    table
}

/// Readings after standing of the gel heated 5 min at 85 °C, without scatter.
fn stood(temperatures: &[f64], hours: &[f64]) -> Vec<Stood> {
    let (set, time) = (358.15, 300.0);
    let at_once = log_setting(6e-3, 250e3, 1.6e-3, 12.0).reading(set, time);
    temperatures
        .iter()
        .flat_map(|kelvin| {
            hours.iter().map(move |hours| {
                let time_s = 3600.0 * hours;
                let ratio = TRUTH.ln_ratio(*kelvin, time_s).exp();
                ((set, time, at_once * ratio), time_s, Some(*kelvin))
            })
        })
        .collect()
}

const HOURS: [f64; 5] = [1.0, 4.0, 12.0, 24.0, 72.0];

fn fitted(table: &BenchTable) -> BlendCalibration {
    calibrate(table, &FitOptions::default())
        .unwrap()
        .blends
        .swap_remove(0)
}

fn blend() -> BlendCalibration {
    fitted(&bench_with(&stood(&[FRIDGE, ROOM], &HOURS), |_, _| {}))
}

#[test]
fn the_bench_is_fitted_as_if_nothing_had_stood() {
    let without = fitted(&bench_with(&[], |_, _| {}));
    let with = blend();
    assert!(without.standing.is_none());
    assert_eq!(with.parameters, without.parameters);
    assert_eq!(with.fit, without.fit);
    assert_eq!(with.range, without.range);
    assert!(!with.warnings.iter().any(|w| w.code == "standing_left_out"));
    let standing = with.standing.unwrap();
    assert_eq!((standing.rows, standing.gels, standing.lots), (11, 1, 1));
    assert_eq!(standing.gels_with_own_start, 1);
    assert_relative_eq!(
        standing.gain_ln_ratio.unwrap().estimate,
        TRUTH.gain,
        max_relative = 1e-6
    );
    assert_relative_eq!(
        standing.activation_energy_j_per_mol.unwrap().estimate,
        TRUTH.energy,
        max_relative = 1e-5
    );
}

#[test]
fn a_document_is_read_back_and_an_old_one_too() {
    let table = bench_with(&stood(&[FRIDGE, ROOM], &HOURS), |_, _| {});
    let whole = calibrate(&table, &FitOptions::default()).unwrap();
    let text = whole.to_json().unwrap();
    let back = Calibration::from_json("cal.json", &text).unwrap();
    assert_eq!(
        back.blends[0].standing.as_ref().unwrap().covariance,
        whole.blends[0].standing.as_ref().unwrap().covariance
    );
    let mut old: serde_json::Value = serde_json::from_str(&text).unwrap();
    old["blends"][0].as_object_mut().unwrap().remove("standing");
    let old = Calibration::from_json("cal.json", &old.to_string()).unwrap();
    assert!(old.blends[0].standing.is_none());
    assert!(!old.to_json().unwrap().contains("standing"));
}

#[test]
fn a_document_with_a_broken_course_is_refused() {
    let table = bench_with(&stood(&[FRIDGE, ROOM], &HOURS), |_, _| {});
    let text = calibrate(&table, &FitOptions::default())
        .unwrap()
        .to_json()
        .unwrap();
    let broken = |change: fn(&mut serde_json::Value)| {
        let mut document: serde_json::Value = serde_json::from_str(&text).unwrap();
        change(&mut document["blends"][0]["standing"]);
        Calibration::from_json("cal.json", &document.to_string())
            .unwrap_err()
            .to_string()
    };
    for words in [
        broken(|s| s["gain_ln_ratio"] = serde_json::Value::Null),
        broken(|s| s["form"] = "slope".into()),
        broken(|s| s["covariance"] = serde_json::json!([[1.0]])),
        broken(|s| s["reference_temp_K"] = 0.0.into()),
        broken(|s| s["range"] = serde_json::json!([])),
        broken(|s| s["rate_ref_per_s"]["estimate"] = (-1.0).into()),
    ] {
        assert!(words.contains("standing"), "{words}");
        assert!(words.contains("What helps:"), "{words}");
    }
}

#[test]
fn one_storage_temperature_holds_only_there() {
    let blend = fitted(&bench_with(&stood(&[ROOM], &HOURS), |_, _| {}));
    let standing = blend.standing.as_ref().unwrap();
    assert!(standing.activation_energy_j_per_mol.is_none());
    assert!(
        standing
            .warnings
            .iter()
            .any(|w| w.code == "standing_one_temperature")
    );
    for extrapolate in [false, true] {
        let asked = StandQuestion {
            stand_kelvin: vec![FRIDGE],
            extrapolate,
            ..question(27)
        };
        let error = stand(&blend, &asked).unwrap_err();
        assert!(matches!(error, PlanError::StorageOutside { .. }), "{error}");
    }
    assert!(
        stand(
            &blend,
            &StandQuestion {
                stand_kelvin: vec![ROOM + 1.0],
                ..question(27)
            }
        )
        .is_ok()
    );
}

#[test]
fn rows_that_do_not_say_how_they_stood_are_left_out_and_named() {
    let table = bench_with(&stood(&[FRIDGE, ROOM], &HOURS), |row, details| {
        if row < 2 {
            details.stand_temp_kelvin = None;
        }
    });
    let blend = fitted(&table);
    let warning = blend
        .warnings
        .iter()
        .find(|w| w.code == "standing_left_out")
        .unwrap();
    assert!(
        warning.message.starts_with("2 readings"),
        "{}",
        warning.message
    );
    assert_eq!(blend.standing.unwrap().rows, 9);
    let none = fitted(&bench_with(&stood(&[ROOM], &HOURS), |_, details| {
        details.stand_temp_kelvin = None;
    }));
    assert!(none.standing.is_none());
    assert!(none.warnings.iter().any(|w| w.code == "standing_left_out"));
}

/// Readings at ten times the shear rate are other numbers of the same gel: they are compared among
/// themselves, and the course is the same.
#[test]
fn readings_at_another_shear_rate_have_a_beginning_of_their_own() {
    let mut rows = stood(&[FRIDGE, ROOM], &HOURS);
    for row in &mut rows {
        row.0.2 *= 0.3;
    }
    let table = bench_with(&rows, |_, details| details.shear_rate_per_s = Some(100.0));
    let blend = fitted(&table);
    let standing = blend.standing.unwrap();
    assert_eq!((standing.rows, standing.gels), (10, 1));
    assert_relative_eq!(
        standing.gain_ln_ratio.unwrap().estimate,
        TRUTH.gain,
        max_relative = 1e-6
    );
}

/// Each gel read but once, after standing: it begins on the fitted curve.
#[test]
fn gels_read_only_after_standing_begin_on_the_fitted_curve() {
    let setting = log_setting(6e-3, 250e3, 1.6e-3, 12.0);
    let rows: Vec<Stood> = [FRIDGE, ROOM]
        .iter()
        .flat_map(|kelvin| HOURS.iter().map(move |hours| (*kelvin, *hours)))
        .enumerate()
        .map(|(i, (kelvin, hours))| {
            // Heat times that nothing else was read at.
            let (set, time) = (353.15, 200.0 + 37.0 * i as f64);
            let reading = setting.reading(set, time) * TRUTH.ln_ratio(kelvin, 3600.0 * hours).exp();
            ((set, time, reading), 3600.0 * hours, Some(kelvin))
        })
        .collect();
    let standing = fitted(&bench_with(&rows, |_, _| {})).standing.unwrap();
    assert_eq!((standing.gels, standing.gels_with_own_start), (10, 0));
    assert_relative_eq!(
        standing.gain_ln_ratio.unwrap().estimate,
        TRUTH.gain,
        max_relative = 1e-5
    );
    // Heated beyond what the bench measured, there is no curve to begin on.
    let far: Vec<Stood> = rows
        .iter()
        .map(|((set, time, reading), s, k)| ((*set, time + 90_000.0, *reading), *s, *k))
        .collect();
    let blend = fitted(&bench_with(&far, |_, _| {}));
    assert!(blend.standing.is_none());
    assert!(blend.warnings.iter().any(|w| w.code == "standing_left_out"));
}

fn setup(gauge: u8) -> PushSetup {
    let needle = NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    PushSetup::with_needle(needle).unwrap()
}

fn question(gauge: u8) -> StandQuestion {
    StandQuestion {
        set_kelvin: 358.15,
        heat_time_s: 300.0,
        stand_kelvin: Vec::new(),
        stand_times_s: Vec::new(),
        setup: setup(gauge),
        thinning: StatedThinning::default(),
        warm_up: None,
        contact_histories: Vec::new(),
        altitude_m: 0.0,
        extrapolate: false,
        draws: 2000,
        seed: 1,
        invented: false,
    }
}

/// By hand: the needle's part of the force goes with the reading (Hagen-Poiseuille, one shear rate), so
/// that `F(t) = F_f + (F(0) - F_f) exp(B (1 - exp(-k t)))`, and the limit is reached after
/// `-ln(1 - ln((F_lim - F_f)/(F(0) - F_f))/B)/k`.
#[test]
fn the_push_after_standing_is_that_of_the_hand() {
    let blend = blend();
    let mut asked = question(25);
    asked.setup.force_limit_n = 60.0;
    let found = stand(&blend, &asked).unwrap();
    let friction = asked.setup.friction_n;
    for at in &found.at {
        let at_once = at.push_after[0].plunger_force_n.point;
        for push in &at.push_after {
            let ratio = TRUTH.ln_ratio(at.stand_temp_k, push.stand_time_s).exp();
            assert_relative_eq!(
                push.plunger_force_n.point,
                friction + (at_once - friction) * ratio,
                max_relative = 1e-6
            );
        }
        // A limit half-way up the logarithm is reached after ln 2/k.
        let mut half = asked.clone();
        half.setup.force_limit_n = friction + (at_once - friction) * (0.5 * TRUTH.gain).exp();
        let rate =
            TRUTH.rate_per_s * (-TRUTH.energy / R * (1.0 / at.stand_temp_k - 1.0 / 285.15)).exp();
        let answer = stand(&blend, &half).unwrap();
        let same = answer
            .at
            .iter()
            .find(|a| a.stand_temp_k == at.stand_temp_k)
            .unwrap();
        assert_relative_eq!(
            same.passes_needle_until_s.point.unwrap(),
            std::f64::consts::LN_2 / rate,
            max_relative = 1e-5
        );
    }
}

/// Without standing it is the push of `force`, whatever the draws vary.
#[test]
fn the_push_at_once_is_that_of_the_force_answer() {
    let blend = blend();
    let asked = question(27);
    let at_once = stand(&blend, &asked).unwrap().at[0].push_after[0].plunger_force_n;
    let force = force_for_heat_time(
        &blend,
        &ForceQuestion {
            set_kelvin: asked.set_kelvin,
            heat_time_s: asked.heat_time_s,
            setup: asked.setup.clone(),
            needles: vec![asked.setup.needle.clone()],
            thinning: asked.thinning,
            warm_up: None,
            contact_histories: Vec::new(),
            cooling: CoolingAsked::default(),
            altitude_m: 0.0,
            extrapolate: false,
            draws: asked.draws,
            seed: asked.seed,
            invented: false,
        },
    )
    .unwrap();
    let same = force.needles[0].plunger_force_n;
    assert_relative_eq!(at_once.point, same.point, max_relative = 1e-12);
    assert_relative_eq!(at_once.median, same.median, max_relative = 1e-9);
    assert_relative_eq!(
        at_once.interval95[1],
        same.interval95[1],
        max_relative = 1e-9
    );
}

#[test]
fn a_needle_that_nothing_passes_says_so_and_a_wide_one_never_stops() {
    let blend = blend();
    let fine = stand(&blend, &question(34)).unwrap();
    assert!(!fine.passes_at_once);
    assert_eq!(fine.at[0].passes_needle_until_s.probability95, Some(0.0));
    let wide = stand(&blend, &question(18)).unwrap();
    assert!(wide.passes_at_once);
    for at in &wide.at {
        assert_eq!(at.limited_by, "never reached");
        assert_eq!(at.passes_needle_until_s.probability95, None);
        assert!(at.push_after.iter().all(|push| push.probability > 0.99));
    }
}

/// The warmer it stands the sooner it is over; a larger limit is later; the order of the ends holds.
#[test]
fn times_stand_in_order() {
    let blend = blend();
    let mut asked = question(27);
    asked.setup.doubts = PushDoubts::NONE;
    asked.setup.needle.bore_tolerance_m = None;
    let at_once = stand(&blend, &asked).unwrap().at[0].push_after[0]
        .plunger_force_n
        .point;
    let until = |limit_n: f64| {
        let mut asked = asked.clone();
        asked.setup.force_limit_n = limit_n;
        let found = stand(&blend, &asked).unwrap();
        [0, 1].map(|i| found.at[i].passes_needle_until_s)
    };
    let (low, high) = (until(1.2 * at_once), until(1.4 * at_once));
    for found in [low, high] {
        let [cold, warm] = found.map(|f| f.probability95.unwrap());
        assert!(warm < cold, "{warm} {cold}");
        for ends in found {
            assert!(ends.probability95.unwrap() <= ends.median.unwrap());
            assert!(ends.interval95[0].unwrap() <= ends.probability95.unwrap());
        }
    }
    assert!(low[0].probability95.unwrap() < high[0].probability95.unwrap());
}

#[test]
fn outside_what_was_measured_there_is_no_answer_unless_asked_for() {
    let blend = blend();
    let asked =
        |stand_kelvin: Vec<f64>, stand_times_s: Vec<f64>, extrapolate: bool| StandQuestion {
            stand_kelvin,
            stand_times_s,
            extrapolate,
            ..question(27)
        };
    // Between the measured temperatures: no extrapolation.
    let between = stand(&blend, &asked(vec![286.0], vec![], false)).unwrap();
    assert!(!between.at[0].extrapolated);
    let warm = stand(&blend, &asked(vec![310.15], vec![], false)).unwrap_err();
    assert!(matches!(
        warm,
        PlanError::StorageOutside {
            energy_is_known: true,
            ..
        }
    ));
    let warm = stand(&blend, &asked(vec![310.15], vec![], true)).unwrap();
    assert!(warm.at[0].extrapolated && warm.assumptions.extrapolated);
    assert!(warm.warnings.iter().any(|w| w.code == "extrapolated"));
    let long = stand(&blend, &asked(vec![ROOM], vec![4e5], false)).unwrap_err();
    assert!(matches!(long, PlanError::StandTimeOutside { .. }), "{long}");
    let long = stand(&blend, &asked(vec![ROOM], vec![4e5], true)).unwrap();
    assert!(long.at[0].push_after[0].extrapolated);
    let unheated = StandQuestion {
        heat_time_s: 1.0,
        ..question(27)
    };
    assert!(matches!(
        stand(&blend, &unheated),
        Err(PlanError::TimeOutside { .. })
    ));
}

#[test]
fn a_slope_is_never_carried_beyond_the_longest_standing() {
    let rows: Vec<Stood> = stood(&[ROOM], &[1.0, 2.0, 3.0, 4.0])
        .into_iter()
        .enumerate()
        .map(|(i, ((set, time, reading), s, k))| {
            let at_once = reading / TRUTH.ln_ratio(ROOM, s).exp();
            let off = [0.01, -0.01, 0.008, -0.009][i];
            ((set, time, at_once * (0.02 * s / 3600.0 + off).exp()), s, k)
        })
        .collect();
    let blend = fitted(&bench_with(&rows, |_, _| {}));
    let standing = blend.standing.as_ref().unwrap();
    assert_eq!(standing.form, StandingForm::Slope);
    assert!(standing.gain_ln_ratio.is_none() && standing.rate_ref_per_s.is_none());
    assert!(
        standing
            .warnings
            .iter()
            .any(|w| w.code == "standing_slope_only")
    );
    let asked = StandQuestion {
        extrapolate: true,
        ..question(20)
    };
    let found = stand(&blend, &asked).unwrap();
    assert_eq!(found.at[0].passes_needle_until_s.probability95, None);
    assert_eq!(found.at[0].limited_by, "measured range");
    let later = StandQuestion {
        stand_times_s: vec![5.0 * 3600.0],
        ..asked
    };
    assert!(matches!(
        stand(&blend, &later),
        Err(PlanError::StandTimeOutside {
            levels_off: false,
            ..
        })
    ));
}

#[test]
fn without_readings_after_standing_nothing_is_known() {
    let blend = fitted(&bench_with(&[], |_, _| {}));
    let error = stand(&blend, &question(27)).unwrap_err();
    assert!(matches!(error, PlanError::NoStanding { .. }));
    let words = error.to_string();
    assert!(
        words.contains("not known") && words.contains("stand_time_min"),
        "{words}"
    );
    assert!(blend.parameter(ParameterName::RateRef).is_some());
}

/// A hand's calculation of the spread: nothing varies but the reading. ln of the needle's part is then
/// normal (nearly: 2000 draws), its sd after standing that of readings after standing, which scatter
/// more here than those at once.
#[test]
fn syringes_that_stood_scatter_as_readings_after_standing_do() {
    let scatter: [f64; 10] = [0.2, -0.2, 0.15, -0.25, 0.1, -0.1, 0.25, -0.15, 0.2, -0.2];
    let mut rows = stood(&[FRIDGE, ROOM], &HOURS);
    rows.extend(rows.clone());
    for (i, row) in rows.iter_mut().enumerate() {
        let sign = if i < 10 { 1.0 } else { -1.0 };
        row.0.2 *= (sign * scatter[i % 10]).exp();
    }
    let blend = fitted(&bench_with(&rows, |_, _| {}));
    let sd = blend.standing.as_ref().unwrap().residual_sd;
    assert!(sd > 0.15 && blend.fit.residual_sd < 1e-6, "{sd}");
    let mut asked = question(27);
    asked.setup.doubts = PushDoubts::NONE;
    asked.setup.needle.bore_tolerance_m = None;
    let friction = asked.setup.friction_n;
    let found = stand(&blend, &asked).unwrap();
    let ln_width = |place: usize| {
        let [low, high] = found.at[0].push_after[place].plunger_force_n.interval95;
        ((high - friction) / (low - friction)).ln() / (2.0 * 1.96)
    };
    assert!(ln_width(0) < 1e-6, "{}", ln_width(0));
    // Parameters and Student's t come on top of the scatter itself.
    assert!(
        ln_width(1) > 0.95 * sd && ln_width(1) < 1.5 * sd,
        "{} {sd}",
        ln_width(1)
    );
}

/// The same seed gives the same answer; another does not.
#[test]
fn the_draws_follow_their_seed() {
    let blend = blend();
    let with = |seed: u64| {
        stand(
            &blend,
            &StandQuestion {
                seed,
                ..question(27)
            },
        )
        .unwrap()
    };
    assert_eq!(with(1), with(1));
    assert_ne!(with(1).at, with(2).at);
}
