//! Makes the invented demo bench: `cargo run --example make-demo-bench -- FOLDER`.
//!
//! Nothing here was measured. The scenario: a skills laboratory for gel preparation reads its
//! practice gels in thin glass cells, which reach the block's temperature within seconds, on a
//! small cone-and-plate viscometer. Lots are codes. The truth behind the readings is written
//! beside the table, so that a fit can be held against it.

use heatset::kinetics::{
    ArrheniusRate, FirmnessCurve, FlowIndexCourse, ReactionOrder, SettingModel, ShearThinning,
};
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use serde_json::json;
use std::fmt::Write as _;
use std::path::PathBuf;

const SEED: u64 = 20_261_125;
/// Scatter of a single reading, on the logarithm.
const SCATTER: f64 = 0.06;
const READ_CELSIUS: f64 = 23.0;
/// Shear rate of the routine reading, in 1/s.
const ROUTINE_PER_S: f64 = 10.0;

/// Truth of one blend.
struct Truth {
    blend: &'static str,
    ha_fraction: f64,
    initial_pa_s: f64,
    plateau_pa_s: f64,
    rate_81c_per_s: f64,
    activation_energy_j_per_mol: f64,
    flow_index_plateau: f64,
    /// Code, and deviations of ln initial, ln plateau and ln rate; they sum to zero over the lots.
    lots: &'static [(&'static str, [f64; 3])],
}

const PLAIN: Truth = Truth {
    blend: "plain",
    ha_fraction: 0.0,
    initial_pa_s: 1.6e-3,
    plateau_pa_s: 16.0,
    rate_81c_per_s: 4.95e-4,
    activation_energy_j_per_mol: 255e3,
    flow_index_plateau: 0.5,
    lots: &[
        ("SK-03", [0.05, -0.08, 0.06]),
        ("SK-08", [-0.03, 0.10, -0.09]),
        ("SK-11", [0.02, 0.03, 0.07]),
        ("SK-16", [-0.04, -0.05, -0.04]),
    ],
};

const WITH_HA: Truth = Truth {
    blend: "ha-30",
    ha_fraction: 0.3,
    initial_pa_s: 9.0e-3,
    plateau_pa_s: 6.5,
    rate_81c_per_s: 4.25e-4,
    activation_energy_j_per_mol: 255e3,
    flow_index_plateau: 0.45,
    lots: &[
        ("SK-03", [0.04, -0.06, 0.05]),
        ("SK-08", [-0.05, 0.08, -0.07]),
        ("SK-11", [0.01, -0.02, 0.02]),
    ],
};

/// Heat times by temperature, in min: some short, some long enough to see the plateau.
const SETTINGS: [(f64, [f64; 6]); 5] = [
    (70.0, [10.0, 20.0, 40.0, 60.0, 90.0, 150.0]),
    (75.0, [5.0, 10.0, 20.0, 40.0, 60.0, 90.0]),
    (80.0, [2.0, 5.0, 10.0, 20.0, 40.0, 60.0]),
    (85.0, [1.0, 2.0, 5.0, 10.0, 20.0, 30.0]),
    (90.0, [0.5, 1.0, 2.0, 4.0, 8.0, 16.0]),
];

impl Truth {
    fn setting(&self, deviations: [f64; 3]) -> SettingModel {
        SettingModel {
            firmness: FirmnessCurve::Log {
                initial: self.initial_pa_s * deviations[0].exp(),
                plateau: self.plateau_pa_s * deviations[1].exp(),
            },
            order: ReactionOrder(1.0),
            rate: ArrheniusRate {
                rate_ref_per_s: self.rate_81c_per_s * deviations[2].exp(),
                activation_energy_j_per_mol: self.activation_energy_j_per_mol,
                reference_kelvin: 354.15,
            },
            dose_lag_s: 0.0,
            warm_up: WarmUp::None,
        }
    }

    fn rows(&self, random: &mut ChaCha8Rng, text: &mut String) {
        let thinning = ShearThinning {
            flow_index_plateau: self.flow_index_plateau,
            reference_shear_rate_per_s: ROUTINE_PER_S,
            course: FlowIndexCourse::WithSetting,
            yield_share_plateau: 0.0,
        };
        for (place, (lot, deviations)) in self.lots.iter().enumerate() {
            let setting = self.setting(*deviations);
            for (celsius, minutes) in SETTINGS {
                for (number, minute) in minutes.iter().enumerate() {
                    let mut shear_rates = vec![ROUTINE_PER_S];
                    // The first lot is read twice at the middle times; two lots at other rates
                    // too, once the gel is thick enough for the instrument.
                    if place == 0 && (2..4).contains(&number) {
                        shear_rates.push(ROUTINE_PER_S);
                    }
                    if place < 2 && celsius >= 80.0 && number >= 3 {
                        shear_rates.extend([1.0, 100.0]);
                    }
                    for shear_rate in shear_rates {
                        let fraction = setting.conversion(celsius + 273.15, minute * 60.0);
                        let index = thinning.flow_index(fraction);
                        let scatter: f64 = StandardNormal.sample(random);
                        let viscosity = setting.reading_at_conversion(fraction)
                            * (shear_rate / ROUTINE_PER_S).powf(index - 1.0)
                            * (SCATTER * scatter).exp();
                        let _ = writeln!(
                            text,
                            "{celsius},{minute},{},{shear_rate},{READ_CELSIUS},{lot},{},{}",
                            four_digits(viscosity * 1e3),
                            self.blend,
                            self.ha_fraction
                        );
                    }
                }
            }
        }
    }

    fn document(&self) -> serde_json::Value {
        json!({
            "blend": self.blend,
            "law": "log",
            "order": 1,
            "reference_temp_K": 354.15,
            "initial": self.initial_pa_s,
            "plateau": self.plateau_pa_s,
            "rate_ref": self.rate_81c_per_s,
            "activation_energy": self.activation_energy_j_per_mol,
            "flow_index_plateau": self.flow_index_plateau,
            "reference_shear_rate_per_s": ROUTINE_PER_S,
            "scatter_of_ln_reading": SCATTER,
            "lots": self.lots.iter().map(|(code, d)| json!({
                "lot": code, "ln_initial": d[0], "ln_plateau": d[1], "ln_rate": d[2],
            })).collect::<Vec<_>>(),
        })
    }
}

fn four_digits(value: f64) -> String {
    let decimals = (3 - value.abs().log10().floor() as i32).max(0);
    format!("{value:.*}", decimals as usize)
}

/// The table and the truth behind it, as texts.
pub fn texts() -> serde_json::Result<(String, String)> {
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut table = String::from(
        "# Invented data: nobody took these readings. Made by data/make_demo_bench.rs; the truth\n\
         # behind them stands in data/demo_truth.json.\n\
         # A skills laboratory heats practice gels in thin glass cells that reach the block's\n\
         # temperature within seconds, and reads them on a small cone-and-plate viscometer.\n\
         heat_temp_C,heat_time_min,viscosity_mPa_s,shear_rate_per_s,read_temp_C,lot,blend,ha_fraction\n",
    );
    PLAIN.rows(&mut random, &mut table);
    WITH_HA.rows(&mut random, &mut table);
    let truth = json!({
        "note": "Invented: the numbers from which the demo bench was made.",
        "seed": SEED,
        "blends": [PLAIN.document(), WITH_HA.document()],
    });
    let mut truth = serde_json::to_string_pretty(&truth)?;
    truth.push('\n');
    Ok((table, truth))
}

fn main() -> std::io::Result<()> {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "data".to_owned()));
    let (table, truth) = texts()?;
    std::fs::create_dir_all(&folder)?;
    std::fs::write(folder.join("demo_bench.csv"), table)?;
    std::fs::write(folder.join("demo_truth.json"), truth)
}
