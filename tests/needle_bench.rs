//! A bench without a rheometer: pushes through needles turned into viscosities, held against
//! published figures, against exact flows laid out by quadrature here, and against a Monte Carlo
//! that knows nothing of the reduction.
#![cfg(feature = "tables")]
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_relative_eq;
use heatset::flow::{
    LengthPoint, SlopeShape, WallPoint, end_correction, end_correction_along_rates, wall_slope,
};
use heatset::readings::{
    BenchTable, BoreSource, FrictionSource, ReadingKind, ViscosityReadings, read_bench_text,
};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal, Uniform};
use std::f64::consts::PI;

const G_M_PER_S2: f64 = 9.80665;

fn read(text: &str) -> BenchTable {
    read_bench_text("bench.csv", text.as_bytes()).unwrap_or_else(|error| panic!("{error}"))
}

fn converted(text: &str) -> ViscosityReadings {
    read(text)
        .viscosity_readings()
        .unwrap_or_else(|error| panic!("{error}"))
}

fn refusal(text: &str) -> String {
    match read_bench_text("bench.csv", text.as_bytes()) {
        Err(error) => error.to_string(),
        Ok(table) => table.viscosity_readings().unwrap_err().to_string(),
    }
}

fn said(readings: &ViscosityReadings) -> String {
    readings
        .assumptions
        .iter()
        .map(|one| one.message())
        .collect::<Vec<_>>()
        .join("\n")
}

fn codes(readings: &ViscosityReadings) -> Vec<&'static str> {
    readings.advice.iter().map(|one| one.code()).collect()
}

fn area_m2(bore_m: f64) -> f64 {
    0.25 * PI * bore_m * bore_m
}

const RUNS: &str = "heat_temp_C,heat_time_min,run_time_s,dead_weight_g,run_volume_mL,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,friction_N";

/// Hagen-Poiseuille for a volume that runs out under a weight (Bird, Stewart & Lightfoot, Transport
/// Phenomena, 2nd ed., 2002, equation 2.3-21); 27G: 0.2095 mm (needle gauge chart).
#[test]
fn a_time_under_a_dead_weight_becomes_a_viscosity() {
    let bore_m: f64 = 0.2095e-3;
    // thick enough that the jet, which is not laid out here, takes nothing
    let (viscosity, friction_n, weight_n) = (1.0, 1.6, 0.5 * G_M_PER_S2);
    let pressure = (weight_n - friction_n) / area_m2(4.7e-3);
    let flow = pressure * PI * bore_m.powi(4) / (128.0 * viscosity * 13e-3);
    let time_s = 0.4e-6 / flow;
    for (time, unit) in [(time_s, "run_time_s"), (time_s / 60.0, "run_time_min")] {
        let header = RUNS.replace("run_time_s", unit);
        let one = converted(&format!(
            "{header}\n80,1,{time},500,0.4,27,regular,13,4.7,1.6\n"
        ));
        assert_eq!(one.table.kind, ReadingKind::Viscosity);
        assert_relative_eq!(one.table.reading[0], viscosity, max_relative = 1e-9);
        assert_relative_eq!(
            one.table.rows[0].shear_rate_per_s.unwrap(),
            32.0 * flow / (PI * bore_m.powi(3)),
            max_relative = 1e-9
        );
    }
    let kilograms = RUNS.replace("dead_weight_g", "dead_weight_kg");
    let one = converted(&format!(
        "{kilograms}\n80,1,{time_s},0.5,0.4,27,regular,13,4.7,1.6\n"
    ));
    assert_relative_eq!(one.table.reading[0], viscosity, max_relative = 1e-9);
}

/// A textbook problem on a capillary rheometer (polypropylene at 190 °C, capillary of 2 mm; seen as a
/// homework question, brainmass.com 82441): pressure in MPa over 5, 10 and 20 mm at 2, 4 and 8e-7
/// m3/s. By hand from the printed figures, at 2e-7: (4.006 - 1.502)/15 = 0.16693 MPa/mm, so
/// tau_w = 83.47 kPa, and the line cuts the axis at -4.0 mm: 4.0 radii. The stresses go as
/// 2.504 : 3.499 : 4.891 while the rate doubles: n' = ln(4.891/2.504)/ln 4 = 0.4829.
const POLYPROPYLENE_MPA: [(f64, [f64; 3]); 3] = [
    (2e-7, [1.502, 2.337, 4.006]),
    (4e-7, [2.100, 3.266, 5.599]),
    (8e-7, [2.935, 4.565, 7.826]),
];

fn polypropylene_bench(wanted: impl Fn(f64, f64) -> bool) -> String {
    let mut text = String::from(
        "heat_temp_C,heat_time_min,force_N,needle_bore_mm,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N\n",
    );
    for (flow, pressures) in POLYPROPYLENE_MPA {
        for (length_mm, pressure) in [5.0, 10.0, 20.0].into_iter().zip(pressures) {
            if wanted(flow, length_mm) {
                let force = pressure * 1e6 * area_m2(15e-3);
                text.push_str(&format!("80,1,{force},2,{length_mm},15,{},0\n", flow * 6e7));
            }
        }
    }
    text
}

#[test]
fn the_textbooks_capillary_gives_its_end_correction_slope_and_true_rate() {
    let readings = converted(&polypropylene_bench(|_, _| true));
    let slope = (4.891_f64 / 2.504).ln() / 4.0_f64.ln();
    let apparent = 4.0 * 2e-7 / (PI * 1e-9);
    for (row, one) in readings.readings.iter().enumerate() {
        // three digits are printed: the axis is cut at 4.00 within 0.01
        assert_relative_eq!(one.end_correction_radii.unwrap(), 4.0, epsilon = 0.015);
        assert_relative_eq!(one.local_slope.unwrap(), slope, epsilon = 0.002);
        let rate = apparent * 2.0_f64.powi(row as i32 / 3) * (3.0 * slope + 1.0) / (4.0 * slope);
        assert_relative_eq!(one.shear_rate_per_s, rate, max_relative = 2e-3);
        // 83.47 kPa at the first rate
        if row < 3 {
            assert_relative_eq!(one.wall_shear_stress_pa, 83.47e3, max_relative = 3e-3);
            assert_relative_eq!(one.viscosity_pa_s, 83.47e3 / rate, max_relative = 4e-3);
        }
    }
    assert!(said(&readings).contains("Bagley"), "{}", said(&readings));
    assert_eq!(readings.coverage.gels_with_lengths, 1);
    assert!(!codes(&readings).contains(&"one_length"));
}

#[test]
fn one_length_leaves_the_ends_in_and_says_what_a_creeping_liquids_would_be() {
    let readings = converted(&polypropylene_bench(|_, length| length == 20.0));
    assert!(
        readings
            .readings
            .iter()
            .all(|one| one.end_correction_radii.is_none())
    );
    // 3 pi R/(8 L) with R 1 mm and L 20 mm: 5.9 % (Dagan, Weinbaum & Pfeffer 1982, from memory)
    assert!(
        said(&readings).contains("a creeping liquid's would be 5.9 %"),
        "{}",
        said(&readings)
    );
    assert!(codes(&readings).contains(&"one_length"));
    // and the stress is high by the ends: (20 + 4)/20 of it
    assert_relative_eq!(
        readings.readings[0].wall_shear_stress_pa,
        83.47e3 * 24.0 / 20.0,
        max_relative = 3e-3
    );
}

#[test]
fn the_same_capillary_under_weights_gives_the_same_end_correction_along_its_rates() {
    // The printed figures at rates that differ with the length, as weights would make them.
    let radius_mm = 1.0;
    let picked = [(0, 0), (1, 0), (1, 1), (2, 1), (0, 2), (2, 2)];
    let points: Vec<LengthPoint> = picked
        .map(|(flow, length)| LengthPoint {
            length_over_radius_ratio: [5.0, 10.0, 20.0][length] / radius_mm,
            pressure_pa: POLYPROPYLENE_MPA[flow].1[length] * 1e6,
            apparent_rate_per_s: 4.0 * POLYPROPYLENE_MPA[flow].0 / (PI * 1e-9),
        })
        .to_vec();
    assert_relative_eq!(
        end_correction_along_rates(&points).unwrap(),
        4.0,
        epsilon = 0.03
    );
    assert!(end_correction(&points[..1]).is_none());
}

/// Flow rate of any curve in a tube by Simpson's rule over the stress, from no law of the crate:
/// Q = (pi R^3/tau_w^3) integral tau^2 g(tau) d tau (Weissenberg, Rabinowitsch).
fn flow_by_quadrature(
    rate_at_stress: impl Fn(f64) -> f64,
    yield_pa: f64,
    wall_pa: f64,
    radius_m: f64,
) -> f64 {
    let steps = 20_000;
    let step = (wall_pa - yield_pa) / f64::from(steps);
    let sum: f64 = (0..=steps)
        .map(|number| {
            let stress = yield_pa + f64::from(number) * step;
            let weight = match number {
                0 => 1.0,
                last if last == steps => 1.0,
                odd if odd % 2 == 1 => 4.0,
                _ => 2.0,
            };
            weight * stress * stress * rate_at_stress(stress)
        })
        .sum();
    PI * radius_m.powi(3) / wall_pa.powi(3) * sum * step / 3.0
}

fn force_bench(flows_m3_per_s: &[f64], walls_pa: &[f64]) -> String {
    let mut text = String::from(
        "heat_temp_C,heat_time_min,force_N,needle_bore_mm,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N\n",
    );
    for (flow, wall) in flows_m3_per_s.iter().zip(walls_pa) {
        let force = wall * 4.0 * 25e-3 / 0.4e-3 * area_m2(4.7e-3) + 1.5;
        text.push_str(&format!("80,1,{force},0.4,25,4.7,{},1.5\n", flow * 6e7));
    }
    text
}

#[test]
fn a_power_law_gel_is_recovered_exactly_from_two_rates() {
    for index in [0.2, 0.5, 0.8, 1.0] {
        // thick enough that the jet, which is not laid out here, takes nothing
        let consistency = 3000.0;
        let rate = |stress: f64| (stress / consistency).powf(1.0 / index);
        let walls = [3000.0 * 20.0_f64.powf(index), 3000.0 * 60.0_f64.powf(index)];
        let flows = walls.map(|wall| flow_by_quadrature(rate, 0.0, wall, 0.2e-3));
        let readings = converted(&force_bench(&flows, &walls));
        for (one, wall) in readings.readings.iter().zip(walls) {
            assert_relative_eq!(one.local_slope.unwrap(), index, max_relative = 1e-6);
            assert_relative_eq!(one.shear_rate_per_s, rate(wall), max_relative = 1e-6);
            assert_relative_eq!(one.viscosity_pa_s, wall / rate(wall), max_relative = 1e-6);
        }
    }
}

/// Herschel-Bulkley gel of carbomer at 20 °C, as fitted to the published flow curve (rheopy-rheodata
/// 0.1.1): yield stress 8.071 Pa, K 102.8 Pa.s^n, n 0.5229.
#[test]
fn a_yielding_gel_is_recovered_from_ten_rates_along_its_bend() {
    let (yield_pa, consistency, index) = (8.071, 102.8, 0.5229);
    let rate = |stress: f64| ((stress - yield_pa) / consistency).powf(1.0 / index);
    let rates = [
        1.0_f64, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0, 512.0,
    ];
    let walls = rates.map(|rate| yield_pa + consistency * rate.powf(index));
    let flows = walls.map(|wall| flow_by_quadrature(rate, yield_pa, wall, 0.2e-3));
    let readings = converted(&force_bench(&flows, &walls));
    // The parabola is no Herschel-Bulkley law, so some error stays: it must be small beside that of
    // one slope for all rates, and of no slope at all.
    let points: Vec<WallPoint> = readings
        .readings
        .iter()
        .map(|one| WallPoint {
            shear_stress_pa: one.wall_shear_stress_pa,
            apparent_rate_per_s: one.apparent_rate_per_s,
        })
        .collect();
    let straight = wall_slope(&points, SlopeShape::Straight).unwrap();
    let (mut worst, mut worst_straight, mut worst_apparent) = (0.0_f64, 0.0_f64, 0.0_f64);
    for (one, wall) in readings.readings.iter().zip(walls) {
        assert_relative_eq!(one.wall_shear_stress_pa, wall, max_relative = 1e-9);
        let off = |found: f64| (found / rate(wall) - 1.0).abs();
        worst = worst.max(off(one.shear_rate_per_s));
        worst_straight = worst_straight.max(off(straight.true_rate_per_s(one.apparent_rate_per_s)));
        worst_apparent = worst_apparent.max(off(one.apparent_rate_per_s));
    }
    assert!(worst < 0.04, "{worst}");
    assert!(worst_straight > 2.0 * worst, "{worst_straight} {worst}");
    assert!(worst_apparent > 0.15, "{worst_apparent}");
    let slopes: Vec<f64> = readings
        .readings
        .iter()
        .map(|one| one.local_slope.unwrap())
        .collect();
    assert!(
        slopes.windows(2).all(|pair| pair[0] < pair[1]),
        "near yield the slope is flatter: {slopes:?}"
    );
}

/// Glycerol by weight at 20 °C, mPa.s and (from memory) kg/m3: Segur & Oberstar, Industrial and
/// Engineering Chemistry 43, 1951, 2117, as tabled.
const GLYCEROL: [(f64, f64); 3] = [(60.0, 10.8), (80.0, 60.1), (85.0, 109.0)];

#[test]
fn glycerol_and_water_through_a_chart_needle_read_their_tabled_viscosity() {
    for (percent, viscosity_mpa_s) in GLYCEROL {
        // 25G: 0.2604 mm (0.01025 in, needle gauge chart)
        let bore_m: f64 = 0.01025 * 25.4e-3;
        let flow = 1e-6 / 60.0;
        let pressure = 128.0 * viscosity_mpa_s * 1e-3 * 16e-3 * flow / (PI * bore_m.powi(4));
        let force = pressure * area_m2(4.7e-3) + 1.7;
        let readings = converted(&format!(
            "heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N\n80,0,{force},25,regular,16,4.7,1,1.7\n"
        ));
        // the chart's bore in mm is rounded to 0.0001; the jet (under 2 %) is not laid out above
        assert_relative_eq!(
            readings.table.reading[0],
            viscosity_mpa_s * 1e-3,
            max_relative = 0.02
        );
        assert!(percent > 0.0);
    }
}

#[test]
fn a_liquid_of_known_viscosity_shows_the_bore_that_the_needle_really_has() {
    // The needle has 0.250 mm where the chart says 0.2604; 80 % glycerol at 20 °C (table above).
    let bore_m: f64 = 0.250e-3;
    let flow = 1e-6 / 60.0;
    let velocity = flow / area_m2(bore_m);
    let creeping = 1.0 + 3.0 * PI * 0.5 * bore_m / (8.0 * 16e-3);
    let pressure = 128.0 * 60.1e-3 * 16e-3 * flow / (PI * bore_m.powi(4)) * creeping
        + 1.16 * 1025.0 * velocity * velocity;
    let force = pressure * area_m2(4.7e-3) + 1.7;
    let gel = 128.0 * 0.5 * 16e-3 * flow / (PI * bore_m.powi(4)) * area_m2(4.7e-3) + 1.7;
    let header = "content,heat_temp_C,heat_time_min,force_N,reading_sd,content_viscosity_mPa_s,content_viscosity_sd_mPa_s,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min\n";
    let text = format!(
        "{header}empty,,,1.7,0.02,,,,,,4.7,\nempty,,,1.7,0.02,,,,,,4.7,\nknown,,,{force},0.02,60.1,0.6,25,regular,16,4.7,1\ngel,80,1,{gel},0.1,,,25,regular,16,4.7,1\n"
    );
    let readings = converted(&text);
    let bore = &readings.bores[0];
    assert_eq!(bore.source, BoreSource::KnownLiquid);
    assert_relative_eq!(bore.bore_m, bore_m, max_relative = 1e-6);
    assert_relative_eq!(readings.table.reading[0], 0.5, max_relative = 1e-5);
    // 1 % of viscosity is 0.25 % of bore and 1 % of the gel's viscosity
    // and the scale's 0.02 N of what the liquid took adds to it
    assert_relative_eq!(
        readings.readings[0].common_parts.bore_ratio,
        0.01_f64.hypot(0.02 / (force - 1.7)),
        max_relative = 0.02
    );
    assert!(said(&readings).contains("in place of the table's"));
    // a ruler's error is in both pushes, and cancels
    assert!(readings.readings[0].common_parts.length_ratio < 1e-3);
}

#[test]
fn water_that_tells_no_more_than_the_chart_is_not_used_and_it_is_said() {
    let text = "content,heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,read_temp_C\n\
        empty,,,1.7,,,,4.7,,\nempty,,,1.8,,,,4.7,,\n\
        water,,,1.79,27,regular,13,4.7,1,20\n\
        gel,80,1,9,27,regular,13,4.7,1,20\n";
    let readings = converted(text);
    assert_eq!(readings.bores[0].source, BoreSource::Nominal);
    assert!(
        said(&readings).contains("tell its bore no better"),
        "{}",
        said(&readings)
    );
}

#[test]
fn empty_pushes_are_the_friction_of_their_barrel_and_session() {
    let text = "content,heat_temp_C,heat_time_min,force_N,session,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N\n\
        empty,,,1.0,mon,,,,4.7,,\nempty,,,1.4,mon,,,,4.7,,\n\
        empty,,,2.0,tue,,,,4.7,,\nempty,,,2.2,tue,,,,4.7,,\n\
        empty,,,3.0,,,,,8.6,,\n\
        gel,80,1,9.0,mon,27,regular,13,4.7,1,\n\
        gel,80,2,9.1,tue,27,regular,13,4.7,1,\n\
        gel,80,3,9.2,wed,27,regular,13,4.7,1,\n\
        gel,80,4,9.3,mon,27,regular,13,8.6,1,\n\
        gel,80,5,9.4,mon,27,regular,13,4.7,1,0.5\n\
        gel,80,6,9.5,mon,27,regular,13,6.4,1,\n";
    let readings = converted(text);
    let frictions: Vec<f64> = readings.readings.iter().map(|one| one.friction_n).collect();
    // means by hand: (1.0+1.4)/2, (2.0+2.2)/2, all four of the barrel, the other barrel's, stated,
    // and the usual one (2 N up to 6.5 mm: common practice, no source)
    let expected = [1.2, 2.1, 1.65, 3.0, 0.5, 2.0];
    for (found, expected) in frictions.iter().zip(expected) {
        assert_relative_eq!(*found, expected, max_relative = 1e-12);
    }
    let used = &readings.frictions[readings.readings[0].friction];
    assert_eq!(used.source, FrictionSource::EmptyRuns);
    assert_eq!((used.runs, used.session.as_deref()), (2, Some("mon")));
    // 0.2 sqrt 2 from push to push, over sqrt 2 for the mean
    assert_relative_eq!(used.run_sd_n.unwrap(), 0.08_f64.sqrt(), max_relative = 1e-9);
    assert_relative_eq!(used.sd_n, 0.2, max_relative = 1e-9);
    assert!(
        codes(&readings).contains(&"no_empty_run"),
        "one barrel has none"
    );
    assert!(codes(&readings).contains(&"one_empty_run"));
}

/// Water at 20 °C: 1.0016 mPa.s (IAPWS R12-08).
#[test]
fn waters_own_pressure_is_taken_off_its_push() {
    let (bore_m, flow): (f64, f64) = (0.2095e-3, 6e-6 / 60.0);
    let velocity = flow / area_m2(bore_m);
    let pressure = 128.0 * 1.0016e-3 * 13e-3 * flow / (PI * bore_m.powi(4))
        + 1.16 * 1025.0 * velocity * velocity;
    let force = 1.5 + pressure * area_m2(4.7e-3);
    let readings = converted(&format!(
        "content,heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,read_temp_C\n\
         water,,,{force},27,regular,13,4.7,6,20\ngel,80,1,9,27,regular,13,4.7,1,20\n"
    ));
    assert!(force > 2.0, "the water matters here: {force}");
    assert_relative_eq!(readings.readings[0].friction_n, 1.5, max_relative = 1e-4);
    assert!(said(&readings).contains("with water, the water's own pressure taken off"));
}

/// The law of propagation, first order, against draws of every input and the plain formula.
#[test]
fn standard_deviations_agree_with_a_monte_carlo_own_and_common_apart() {
    // An exact power-law gel, n' 0.6, under two weights, times by the closed law; bore stated.
    let (bore_m, bore_sd_m, length_m) = (0.26e-3, 0.0026e-3, 16e-3);
    let (friction_n, friction_sd_n, time_sd_ratio) = (1.7, 0.06 / 2.0_f64.sqrt(), 0.02);
    let weights_n = [0.35 * G_M_PER_S2, 0.7 * G_M_PER_S2];
    let (volume, index, consistency) = (0.4e-6, 0.6, 8.0);
    let times = weights_n.map(|weight| {
        let wall = (weight - friction_n) / area_m2(4.7e-3) * bore_m / (4.0 * length_m);
        let rate = (wall / consistency).powf(1.0 / index);
        let apparent = rate * 4.0 * index / (3.0 * index + 1.0);
        volume / (apparent * PI * bore_m.powi(3) / 32.0)
    });
    let mut text = String::from(
        "content,heat_temp_C,heat_time_min,run_time_s,reading_sd,dead_weight_g,run_volume_mL,needle_bore_mm,needle_bore_sd_mm,needle_length_mm,barrel_bore_mm\n",
    );
    // two empty pushes, 0.06 N apart from their mean by sqrt 2: sd of the mean 0.06/sqrt 2
    for side in [-1.0, 1.0] {
        let weight_g = (friction_n + side * 0.06 / 2.0_f64.sqrt()) / G_M_PER_S2 * 1e3;
        text.push_str(&format!("empty,,,,,{weight_g},,,,,4.7\n"));
    }
    for (time, weight) in times.iter().zip(weights_n) {
        let (sd, weight_g) = (time_sd_ratio * time, weight / G_M_PER_S2 * 1e3);
        text.push_str(&format!(
            "gel,80,1,{time},{sd},{weight_g},0.4,0.26,0.0026,16,4.7\n"
        ));
    }
    let readings = converted(&text);

    let mut random = ChaCha8Rng::seed_from_u64(5);
    let normal = |random: &mut ChaCha8Rng| -> f64 { StandardNormal.sample(random) };
    let rectangle = Uniform::new(-1.0, 1.0).unwrap();
    let reduce = |bore: f64, friction: f64, length: f64, volume: f64, times: [f64; 2]| {
        let wall =
            weights_n.map(|weight| (weight - friction) / area_m2(4.7e-3) * bore / (4.0 * length));
        let apparent = times.map(|time| 32.0 * volume / time / (PI * bore.powi(3)));
        let slope = (wall[1] / wall[0]).ln() / (apparent[1] / apparent[0]).ln();
        let ratio = (3.0 * slope + 1.0) / (4.0 * slope);
        // the viscosity at a rate that stays: along the curve of slope n - 1
        [0, 1].map(|push| {
            let rate = ratio * apparent[push];
            (wall[push] / rate).ln() - (index - 1.0) * rate.ln()
        })
    };
    let draws = 200_000;
    let mut own = [[0.0; 2]; 2];
    let mut common = [[0.0; 2]; 2];
    let note = |into: &mut [[f64; 2]; 2], logs: [f64; 2]| {
        for push in 0..2 {
            into[push][0] += logs[push];
            into[push][1] += logs[push] * logs[push];
        }
    };
    let settled = reduce(bore_m, friction_n, length_m, volume, times);
    for (one, log) in readings.readings.iter().zip(settled) {
        let carried = (index - 1.0) * one.shear_rate_per_s.ln();
        assert_relative_eq!(one.viscosity_pa_s.ln() - carried, log, max_relative = 1e-9);
    }
    for _ in 0..draws {
        // own: the time, and the stopper's difference from push to push under that weight
        let read = [0, 1].map(|push| {
            let left = weights_n[push] - friction_n;
            times[push]
                * (1.0 + time_sd_ratio * normal(&mut random) + 0.06 / left * normal(&mut random))
        });
        let logs = reduce(bore_m, friction_n, length_m, volume, read);
        note(&mut own, [0, 1].map(|push| logs[push] - settled[push]));
        // common: bore, friction, a ruler's ±0.5 mm, a graduation's ±5 %
        let logs = reduce(
            bore_m + bore_sd_m * normal(&mut random),
            friction_n + friction_sd_n * normal(&mut random),
            length_m + 0.5e-3 * rectangle.sample(&mut random),
            volume * (1.0 + 0.05 * rectangle.sample(&mut random)),
            times,
        );
        note(&mut common, [0, 1].map(|push| logs[push] - settled[push]));
    }
    let sd = |sums: [f64; 2]| {
        let mean = sums[0] / f64::from(draws);
        (sums[1] / f64::from(draws) - mean * mean).sqrt()
    };
    for (push, one) in readings.readings.iter().enumerate() {
        // first order against the whole: a few per cent
        assert_relative_eq!(
            one.own_sd_pa_s.unwrap() / one.viscosity_pa_s,
            sd(own[push]),
            max_relative = 0.03
        );
        assert_relative_eq!(
            one.common_sd_pa_s / one.viscosity_pa_s,
            sd(common[push]),
            max_relative = 0.03
        );
        // only the own part goes to the fit
        assert_relative_eq!(
            readings.table.rows[push].reading_sd.unwrap(),
            one.own_sd_pa_s.unwrap()
        );
    }
}

#[test]
fn without_a_stated_sd_repeats_say_how_a_reading_scatters() {
    let repeats = "80,1,20,500,0.4,27,regular,13,4.7,1.6\n80,1,22,500,0.4,27,regular,13,4.7,1.6\n";
    let readings = converted(&format!(
        "{RUNS}\n{repeats}90,1,50,500,0.4,27,regular,13,4.7,1.6\n"
    ));
    // ln 22 - ln 20 over sqrt 2, one degree of freedom; every reading has it
    let scatter = (22.0_f64 / 20.0).ln() / 2.0_f64.sqrt();
    for one in &readings.readings {
        assert_relative_eq!(
            one.own_sd_pa_s.unwrap() / one.viscosity_pa_s,
            scatter,
            max_relative = 0.01
        );
    }
    let single = converted(&format!("{RUNS}\n80,1,20,500,0.4,27,regular,13,4.7,1.6\n"));
    assert_eq!(single.readings[0].own_sd_pa_s, None);
    assert!(codes(&single).contains(&"no_repeats"));
    assert_eq!(single.table.rows[0].reading_sd, None);
}

#[test]
fn ends_that_scatter_hides_stay_in_and_it_is_said() {
    // 27G, 13 and 38 mm, 3 % of scatter: the line's cut is good to some ten radii.
    let push = |length: f64, factor: f64| {
        let pressure =
            128.0 * 0.5 * length * 1e-3 * (1e-6 / 60.0) / (PI * 0.2095e-3_f64.powi(4)) * factor;
        let force = pressure * area_m2(4.7e-3) + 2.0;
        format!("80,1,{force},27,regular,{length},4.7,1,2\n")
    };
    let text = format!(
        "heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N\n{}{}{}{}",
        push(13.0, 1.03),
        push(13.0, 1.0),
        push(38.0, 1.0),
        push(38.0, 0.98)
    );
    let readings = converted(&text);
    assert!(
        codes(&readings).contains(&"ends_not_told"),
        "{:?}",
        readings.advice
    );
    assert!(
        readings
            .readings
            .iter()
            .all(|one| one.end_correction_radii.is_none())
    );
}

#[test]
fn what_cannot_be_converted_is_told_by_line_all_at_once() {
    let refused = refusal(&format!(
        "{RUNS}\n80,1,20,150,0.4,27,regular,13,4.7,1.6\n80,2,0.01,500,0.4,27,regular,13,4.7,1.6\n80,3,20,500,0.4,99,regular,13,4.7,1.6\n"
    ));
    assert!(refused.contains("line 4, column needle_gauge"), "{refused}");
    let refused = refusal(&format!(
        "{RUNS}\n80,1,20,150,0.4,27,regular,13,4.7,1.6\n80,2,0.01,500,0.4,27,regular,13,4.7,1.6\n80,3,20,500,0.4,27,regular,13,4.7,1.6\n"
    ));
    assert!(
        refused.starts_with(
            "the timed runs of bench.csv cannot be turned into viscosities: 2 faults\n  line 2, column dead_weight: a weight of 150 g presses with 1.47 N, and the stopper's friction takes 1.6 N"
        ),
        "{refused}"
    );
    assert!(refused.contains("\n  line 3: a jet this fast"), "{refused}");

    let rows = "80,0,0,500,,27,regular,13,4.7,1.6\n";
    let refused = refusal(&format!("{RUNS}\n{rows}"));
    assert!(
        refused.contains("line 2, column run_time_s: 0 is not above zero"),
        "{refused}"
    );
    assert!(
        refused.contains("line 2, column run_volume_mL: the cell is empty (a timed run needs it)"),
        "{refused}"
    );

    let both = RUNS.replace("friction_N", "force_N");
    let refused = refusal(&format!("{both}\n80,1,20,500,0.4,27,regular,13,4.7,1.6\n"));
    assert!(refused.contains("2 reading columns"), "{refused}");

    let only = "content,heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min\nempty,,,1.7,,,,4.7,\n";
    let refused = refusal(only);
    assert!(
        refused.contains("every row was pushed without gel"),
        "{refused}"
    );
    let refused = refusal(&only.replace("empty,", "full,"));
    assert!(
        refused.contains("\"full\" is no content of a barrel (write gel, empty, water, known)"),
        "{refused}"
    );
    let refused = refusal(&only.replace("empty,,,1.7,,,,4.7,", "known,,,5,27,regular,13,4.7,1"));
    assert!(
        refused.contains("the liquid's viscosity is not given"),
        "{refused}"
    );
    let refused = refusal(&only.replace("empty,,,1.7,,,,4.7,", "empty,,,1.7,,,,,"));
    assert!(
        refused.contains("column barrel_bore_mm: the cell is empty"),
        "{refused}"
    );
    let viscosity = "content,heat_temp_C,heat_time_min,viscosity_Pa_s\nempty,80,1,2\n";
    assert!(refusal(viscosity).contains("belongs to a push through a needle"));
    let weights = "heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,dead_weight_g\n80,1,5,27,regular,13,4.7,1,500\n";
    assert!(refusal(weights).contains("column dead_weight_g: this belongs to a timed run"));
    let sd_alone = RUNS.replace("friction_N", "needle_bore_sd_mm");
    let refused = refusal(&format!(
        "{sd_alone}\n80,1,20,500,0.4,27,regular,13,4.7,0.01\n"
    ));
    assert!(
        refused.contains("column needle_bore_sd_mm: a standard deviation without its bore"),
        "{refused}"
    );
    // 0.4 mL in 20 s are 1.2 mL/min
    let flow = RUNS.replace("friction_N", "flow_mL_per_min");
    let refused = refusal(&format!("{flow}\n80,1,20,500,0.4,27,regular,13,4.7,3\n"));
    assert!(
        refused.contains("3 mL/min is stated, and volume over time is 1.2 mL/min"),
        "{refused}"
    );
    let agrees = converted(&format!("{flow}\n80,1,20,500,0.4,27,regular,13,4.7,1.2\n"));
    assert_eq!(agrees.readings.len(), 1);
    let no_needle = RUNS.replace("needle_gauge,needle_wall,", "");
    let refused = refusal(&format!("{no_needle}\n80,1,20,500,0.4,13,4.7,1.6\n"));
    assert!(refused.contains("no column for the needle's gauge, which a timed run needs"));
}

#[test]
fn an_odd_gel_is_converted_and_told() {
    let header = "heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N";
    // stress falls with the rate; rates too near; two lengths of two gauges
    let falls = converted(&format!(
        "{header}\n80,1,9,27,regular,13,4.7,1,2\n80,1,5,27,regular,13,4.7,3,2\n"
    ));
    assert!(codes(&falls).contains(&"no_slope"));
    assert!(falls.readings.iter().all(|one| one.local_slope.is_none()));
    let near = converted(&format!(
        "{header}\n80,1,9,27,regular,13,4.7,1,2\n80,1,9.5,27,regular,13,4.7,1.1,2\n"
    ));
    assert!(codes(&near).contains(&"rates_too_near"));
    let gauges = converted(&format!(
        "{header}\n80,1,9,27,regular,13,4.7,1,2\n80,1,6,25,regular,25,4.7,1,2\n"
    ));
    assert!(codes(&gauges).contains(&"lengths_of_other_bores"));
    let fast = converted(&format!("{header}\n80,1,3.0,25,regular,16,4.7,18,2\n"));
    // by hand: 5.6 m/s and 0.5 mPa.s in 0.26 mm, Reynolds number about 3000
    assert!(
        said(&fast).contains("line 2 is too fast for laminar flow"),
        "{}",
        said(&fast)
    );
    assert!(said(&fast).contains("the jet's own pressure is taken off"));
}

#[test]
fn a_table_with_pushes_without_gel_reads_back_as_it_was_written() {
    let text = include_str!("../data/needle_bench.csv");
    let table = read(text);
    let csv = heatset::readings::write::csv_bytes(&table).unwrap();
    let parquet = heatset::readings::write::parquet_bytes(&table).unwrap();
    for (name, bytes) in [("again.csv", csv), ("again.parquet", parquet)] {
        let again = heatset::readings::read_bench_bytes(name, &bytes).unwrap();
        assert_eq!(again.reading, table.reading);
        assert_eq!(again.heat_temp_kelvin, table.heat_temp_kelvin);
        assert_eq!(again.runs_without_gel.len(), table.runs_without_gel.len());
        for (again, first) in again.runs_without_gel.iter().zip(&table.runs_without_gel) {
            assert_eq!(again.content, first.content);
            assert_eq!(again.reading, first.reading);
            assert_eq!(again.known_viscosity_pa_s, first.known_viscosity_pa_s);
            assert_eq!(again.details.needle, first.details.needle);
        }
        for (again, first) in again.rows.iter().zip(&table.rows) {
            assert_eq!(again.needle, first.needle);
        }
    }
}
