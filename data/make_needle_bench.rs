//! Makes the invented needle bench: `cargo run --example make-needle-bench -- FOLDER`.
//!
//! Nothing here was measured. The scenario: a village practice without a rheometer reads its
//! practice gels with a 1 mL syringe held upright, a 25G needle, weights on the plunger and a
//! stopwatch; every gel under two weights. First the empty barrel and a mixture of glycerol and
//! water are pushed. Lots are codes. The truth behind the readings is written beside the table, so
//! that a fit can be held against it.
//!
//! A needle's flow is laid out here by the closed law of a power-law liquid, jet and creeping ends
//! added, and not by the way in which the readings are taken apart again.

use heatset::kinetics::{
    ArrheniusRate, FirmnessCurve, FlowIndexCourse, ReactionOrder, SettingModel, ShearThinning,
};
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use serde_json::json;
use std::f64::consts::PI;
use std::fmt::Write as _;
use std::path::PathBuf;

const SEED: u64 = 20_261_126;
const GRAVITY_M_PER_S2: f64 = 9.806_65;
/// Scatter of one run's time, on the logarithm: gel, stopwatch and stopper together.
const SCATTER: f64 = 0.04;
/// The bore that the needles of this box really have; the chart says 0.2604 mm.
const BORE_M: f64 = 0.252e-3;
const LENGTH_M: f64 = 16e-3;
const BARREL_BORE_M: f64 = 4.70e-3;
const FRICTION_N: f64 = 1.70;
/// How far the friction differs from push to push.
const FRICTION_SD_N: f64 = 0.06;
const DENSITY_KG_PER_M3: f64 = 1025.0;
const GLYCEROL_DENSITY_KG_PER_M3: f64 = 1209.0;
/// 80 % glycerol by weight at 20 °C: Segur and Oberstar 1951.
const GLYCEROL_PA_S: f64 = 60.1e-3;
const READ_CELSIUS: f64 = 20.0;

const BLEND: &str = "ha-25";
const INITIAL_PA_S: f64 = 14e-3;
const PLATEAU_PA_S: f64 = 0.62;
const RATE_83C_PER_S: f64 = 6.0e-4;
const ACTIVATION_ENERGY_J_PER_MOL: f64 = 240e3;
const FLOW_INDEX_PLATEAU: f64 = 0.5;
/// Rate that initial and plateau hold at, in 1/s.
const REFERENCE_PER_S: f64 = 1000.0;

/// Code, and deviations of ln initial, ln plateau and ln rate; they sum to zero over the lots.
const LOTS: [(&str, [f64; 3]); 4] = [
    ("VP-02", [0.03, -0.05, 0.05]),
    ("VP-05", [-0.04, 0.06, -0.06]),
    ("VP-06", [0.02, 0.02, 0.03]),
    ("VP-09", [-0.01, -0.03, -0.02]),
];

/// Heat times by temperature, in min.
const SETTINGS: [(f64, [f64; 5]); 3] = [
    (78.0, [10.0, 30.0, 60.0, 120.0, 240.0]),
    (83.0, [4.0, 12.0, 24.0, 48.0, 100.0]),
    (88.0, [1.0, 4.0, 8.0, 16.0, 32.0]),
];

fn area_m2(bore_m: f64) -> f64 {
    0.25 * PI * bore_m * bore_m
}

/// Time in which a power-law liquid runs out under a weight: pressure of the needle with creeping
/// ends, and of the jet, solved for the rate by halving.
fn run_time_s(
    consistency_pa_s_n: f64,
    flow_index: f64,
    weight_g: f64,
    friction_n: f64,
    volume_ml: f64,
    density_kg_per_m3: f64,
) -> f64 {
    let pressure_pa = (weight_g * 1e-3 * GRAVITY_M_PER_S2 - friction_n) / area_m2(BARREL_BORE_M);
    let radius_m = 0.5 * BORE_M;
    let taken_pa = |flow_m3_per_s: f64| {
        let n = flow_index;
        let rate = (3.0 * n + 1.0) / n * flow_m3_per_s / (PI * radius_m.powi(3));
        let needle = 2.0 * consistency_pa_s_n * rate.powf(n) * LENGTH_M / radius_m;
        let ends = 3.0 * PI * radius_m / (8.0 * LENGTH_M);
        let velocity = flow_m3_per_s / area_m2(BORE_M);
        needle * (1.0 + ends) + 1.16 * density_kg_per_m3 * velocity * velocity
    };
    let (mut low, mut high) = (1e-14_f64, 1e-4_f64);
    for _ in 0..200 {
        let middle = (low * high).sqrt();
        if taken_pa(middle) < pressure_pa {
            low = middle;
        } else {
            high = middle;
        }
    }
    volume_ml * 1e-6 / low
}

fn three_digits(value: f64) -> String {
    let decimals = (2 - value.abs().log10().floor() as i32).clamp(0, 1);
    format!("{value:.*}", decimals as usize)
}

/// Weights and volume that suit a gel: thick ones run under the heavier weights, and less of them.
fn weights_and_volume(viscosity_pa_s: f64) -> ([f64; 2], f64) {
    if viscosity_pa_s < 0.03 {
        ([250.0, 400.0], 0.6)
    } else if viscosity_pa_s < 0.15 {
        ([300.0, 600.0], 0.4)
    } else {
        ([450.0, 700.0], 0.2)
    }
}

fn gel_rows(random: &mut ChaCha8Rng, text: &mut String) {
    let thinning = ShearThinning {
        flow_index_plateau: FLOW_INDEX_PLATEAU,
        reference_shear_rate_per_s: REFERENCE_PER_S,
        course: FlowIndexCourse::WithSetting,
        yield_share_plateau: 0.0,
    };
    for (place, (lot, deviations)) in LOTS.iter().enumerate() {
        let setting = SettingModel {
            firmness: FirmnessCurve::Log {
                initial: INITIAL_PA_S * deviations[0].exp(),
                plateau: PLATEAU_PA_S * deviations[1].exp(),
            },
            order: ReactionOrder(1.0),
            rate: ArrheniusRate {
                rate_ref_per_s: RATE_83C_PER_S * deviations[2].exp(),
                activation_energy_j_per_mol: ACTIVATION_ENERGY_J_PER_MOL,
                reference_kelvin: 356.15,
            },
            dose_lag_s: 0.0,
            warm_up: WarmUp::None,
        };
        for (celsius, minutes) in SETTINGS {
            for (number, minute) in minutes.iter().enumerate() {
                let fraction = setting.conversion(celsius + 273.15, minute * 60.0);
                let index = thinning.flow_index(fraction);
                let viscosity = setting.reading_at_conversion(fraction);
                let (weights, volume_ml) = weights_and_volume(viscosity);
                // The first lot's middle gels are run twice.
                let repeats = 1 + usize::from(place == 0 && number == 2);
                for weight_g in weights {
                    for _ in 0..repeats {
                        let scatter: f64 = StandardNormal.sample(random);
                        let stopper: f64 = StandardNormal.sample(random);
                        let time_s = run_time_s(
                            viscosity * REFERENCE_PER_S.powf(1.0 - index),
                            index,
                            weight_g,
                            FRICTION_N + 0.3 * FRICTION_SD_N * stopper,
                            volume_ml,
                            DENSITY_KG_PER_M3,
                        ) * (SCATTER * scatter).exp();
                        let _ = writeln!(
                            text,
                            "gel,{celsius},{minute},{},{weight_g},{volume_ml},,,25,regular,16,4.7,{READ_CELSIUS},{lot},{BLEND},0.25",
                            three_digits(time_s)
                        );
                    }
                }
            }
        }
    }
}

/// The table and the truth behind it, as texts.
pub fn texts() -> serde_json::Result<(String, String)> {
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut table = String::from(
        "# Invented data: nobody took these readings. Made by data/make_needle_bench.rs; the truth\n\
         # behind them stands in data/needle_bench_truth.json.\n\
         # A village practice without a rheometer: a 1 mL syringe held upright, a 25G needle, weights\n\
         # on the plunger, a stopwatch. Empty barrel first, then 80 % glycerol at 20 C, then the gels.\n\
         content,heat_temp_C,heat_time_min,run_time_s,dead_weight_g,run_volume_mL,content_viscosity_mPa_s,content_viscosity_sd_mPa_s,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,read_temp_C,lot,blend,ha_fraction\n",
    );
    for _ in 0..4 {
        let stopper: f64 = StandardNormal.sample(&mut random);
        let weight_g = (FRICTION_N + FRICTION_SD_N * stopper) / GRAVITY_M_PER_S2 * 1e3;
        let _ = writeln!(table, "empty,,,,{weight_g:.0},,,,,,,4.7,,,,");
    }
    for weight_g in [400.0, 400.0, 600.0, 600.0] {
        let scatter: f64 = StandardNormal.sample(&mut random);
        let stopper: f64 = StandardNormal.sample(&mut random);
        let time_s = run_time_s(
            GLYCEROL_PA_S,
            1.0,
            weight_g,
            FRICTION_N + 0.3 * FRICTION_SD_N * stopper,
            0.6,
            GLYCEROL_DENSITY_KG_PER_M3,
        ) * (0.01 * scatter).exp();
        let _ = writeln!(
            table,
            "known,,,{},{weight_g},0.6,60.1,1.8,25,regular,16,4.7,20,,,",
            three_digits(time_s)
        );
    }
    gel_rows(&mut random, &mut table);
    let truth = json!({
        "note": "Invented: the numbers from which the needle bench was made.",
        "seed": SEED,
        "blend": BLEND,
        "law": "log",
        "order": 1,
        "reference_temp_K": 356.15,
        "initial": INITIAL_PA_S,
        "plateau": PLATEAU_PA_S,
        "rate_ref": RATE_83C_PER_S,
        "activation_energy": ACTIVATION_ENERGY_J_PER_MOL,
        "flow_index_plateau": FLOW_INDEX_PLATEAU,
        "reference_shear_rate_per_s": REFERENCE_PER_S,
        "scatter_of_ln_time": SCATTER,
        "bore_m": BORE_M,
        "friction_N": FRICTION_N,
        "lots": LOTS.iter().map(|(code, d)| json!({
            "lot": code, "ln_initial": d[0], "ln_plateau": d[1], "ln_rate": d[2],
        })).collect::<Vec<_>>(),
    });
    let mut truth = serde_json::to_string_pretty(&truth)?;
    truth.push('\n');
    Ok((table, truth))
}

fn main() -> std::io::Result<()> {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "data".to_owned()));
    let (table, truth) = texts()?;
    std::fs::create_dir_all(&folder)?;
    std::fs::write(folder.join("needle_bench.csv"), table)?;
    std::fs::write(folder.join("needle_bench_truth.json"), truth)
}
