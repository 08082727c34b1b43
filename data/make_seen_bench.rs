//! Makes the invented bench of what is only seen: `cargo run --example make-seen-bench -- FOLDER`.
//!
//! Nothing here was seen or measured. The scenario: a teaching room without any instrument heats
//! practice gels in 1 mL syringes, takes each out at its time, turns it over and watches the bubble: set
//! where it no longer travels. Some syringes go back and are looked at again later. Three gels of one
//! heat are pushed over a kitchen scale: the anchor. Lots are codes. The truth behind it all is written
//! beside the table, so that a fit can be held against it.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use serde_json::json;
use std::f64::consts::PI;
use std::fmt::Write as _;
use std::path::PathBuf;

const SEED: u64 = 20_261_128;
const GAS_CONSTANT: f64 = 8.314_462_618;
const REFERENCE_KELVIN: f64 = 354.15;
/// Median set time at the reference temperature, of the usual lot.
const MEDIAN_REF_S: f64 = 480.0;
const ACTIVATION_ENERGY_J_PER_MOL: f64 = 255e3;
/// Scatter of ln of the set time from syringe to syringe, normal.
const SCATTER: f64 = 0.15;
/// Code, and deviation of ln of the set time; they sum to zero over the lots.
const LOTS: [(&str, f64); 5] = [
    ("TR-01", 0.12),
    ("TR-04", -0.16),
    ("TR-05", 0.03),
    ("TR-08", 0.10),
    ("TR-09", -0.09),
];
const TEMPERATURES_CELSIUS: [f64; 3] = [76.0, 81.0, 86.0];
/// When syringes are taken out, over the median that the room expects.
const LOOKS: [f64; 6] = [0.6, 0.75, 0.9, 1.05, 1.25, 1.5];
/// Of the first two lots these syringes go back and are looked at again, so much later.
const AGAIN: [usize; 3] = [0, 2, 3];
const AGAIN_RATIO: f64 = 1.3;

/// The push of the anchor: a 27G needle by its chart, a 1 mL syringe at 1 mL/min.
const ANCHOR_CELSIUS: f64 = 81.0;
const ANCHOR_MIN: f64 = 10.0;
const ANCHOR_LOTS: [&str; 3] = ["TR-01", "TR-05", "TR-09"];
const BORE_M: f64 = 0.210e-3;
const LENGTH_M: f64 = 13e-3;
const BARREL_BORE_M: f64 = 4.70e-3;
const FLOW_M3_PER_S: f64 = 1e-6 / 60.0;
const FRICTION_N: f64 = 1.6;
/// Apparent viscosity of the usual gel of that heat at that push, and its scatter from gel to gel.
const ANCHOR_PA_S: f64 = 0.085;
const ANCHOR_SCATTER: f64 = 0.12;

fn median_s(celsius: f64) -> f64 {
    let inverse = (1.0 / (celsius + 273.15) - 1.0 / REFERENCE_KELVIN) / GAS_CONSTANT;
    MEDIAN_REF_S * (ACTIVATION_ENERGY_J_PER_MOL * inverse).exp()
}

/// To the quarter of a minute, as a room with a wall clock does it.
fn quarter_minutes(seconds: f64) -> f64 {
    (seconds / 15.0).round().max(1.0) * 0.25
}

fn word(set_s: f64, minutes: f64) -> &'static str {
    if set_s <= minutes * 60.0 {
        "set"
    } else {
        "not-set"
    }
}

/// The table and the truth behind it, as texts.
pub fn texts() -> serde_json::Result<(String, String)> {
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut normal = || -> f64 { StandardNormal.sample(&mut random) };
    let mut table = String::from(
        "# Invented data: nobody saw this. Made by data/make_seen_bench.rs; the truth behind it stands\n\
         # in data/seen_truth.json.\n\
         # A teaching room without instruments turns each syringe over at its time and watches the bubble.\n\
         # A syringe with a code was put back and looked at again. Three gels were pushed over a scale.\n\
         heat_temp_C,heat_time_min,seen,criterion,syringe,lot,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N,note\n",
    );
    for (place, (lot, deviation)) in LOTS.iter().enumerate() {
        for celsius in TEMPERATURES_CELSIUS {
            for (number, ratio) in LOOKS.iter().enumerate() {
                let set_s = median_s(celsius) * (deviation + SCATTER * normal()).exp();
                let mut looks = vec![quarter_minutes(median_s(celsius) * ratio)];
                if place < 2 && AGAIN.contains(&number) {
                    looks.push(quarter_minutes(median_s(celsius) * ratio * AGAIN_RATIO));
                }
                let code = if looks.len() > 1 {
                    format!("S{}", number + 1)
                } else {
                    String::new()
                };
                for minutes in looks {
                    let seen = word(set_s, minutes);
                    let _ = writeln!(
                        table,
                        "{celsius},{minutes},{seen},bubble stays,{code},{lot},,,,,,,,"
                    );
                    // Once set it is not put back.
                    if seen == "set" {
                        break;
                    }
                }
            }
        }
    }
    for lot in ANCHOR_LOTS {
        let viscosity = ANCHOR_PA_S * (ANCHOR_SCATTER * normal()).exp();
        let pressure = 128.0 * viscosity * LENGTH_M * FLOW_M3_PER_S / (PI * BORE_M.powi(4));
        let force = PI * BARREL_BORE_M.powi(2) / 4.0 * pressure + FRICTION_N;
        let _ = writeln!(
            table,
            "{ANCHOR_CELSIUS},{ANCHOR_MIN},,,,{lot},{force:.1},27,regular,13,4.7,1,{FRICTION_N},pushed over a kitchen scale"
        );
    }
    let truth = json!({
        "note": "Invented: the numbers from which the bench of what is seen was made.",
        "seed": SEED,
        "reference_temp_K": REFERENCE_KELVIN,
        "median_ref_s": MEDIAN_REF_S,
        "activation_energy_J_per_mol": ACTIVATION_ENERGY_J_PER_MOL,
        "scatter": SCATTER,
        "scatter_form": "lognormal",
        "lots": LOTS.iter().map(|(lot, d)| json!({"lot": lot, "ln_ratio": d})).collect::<Vec<_>>(),
        "anchor": {
            "heat_temp_K": ANCHOR_CELSIUS + 273.15,
            "heat_time_s": ANCHOR_MIN * 60.0,
            "apparent_viscosity_Pa_s": ANCHOR_PA_S,
            "scatter_of_ln_viscosity": ANCHOR_SCATTER,
        },
    });
    let mut truth = serde_json::to_string_pretty(&truth)?;
    truth.push('\n');
    Ok((table, truth))
}

fn main() -> std::io::Result<()> {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "data".to_owned()));
    let (table, truth) = texts()?;
    std::fs::create_dir_all(&folder)?;
    std::fs::write(folder.join("seen_bench.csv"), table)?;
    std::fs::write(folder.join("seen_truth.json"), truth)
}
