//! A bench that was heated in 1 mL syringes, and folders for what commands write.
#![allow(dead_code, clippy::unwrap_used)]

use std::fmt::Write as _;
use std::path::Path;

use heatset::kinetics::SettingModel;
use heatset::reference::find_syringe;
use heatset::thermal::{DeclaredSyringe, StatedWarmUp};
use serde_json::Value;

use crate::said::{document, number, served};
use crate::support::{log_setting, scattered};

/// What the bench was made with, in J/mol.
pub const TRUE_ENERGY: f64 = 300e3;
/// Zero of the Celsius scale, in K.
pub const ZERO: f64 = 273.15;
/// Molar gas constant, in J/mol/K (SI, exact to the digits given).
pub const GAS_CONSTANT: f64 = 8.314_462_618;

/// A folder with the bench in it.
pub struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    /// 40 readings at 70 to 90 °C by the clock of a 1 mL syringe, 5 % scatter. Invented.
    pub fn of_syringes() -> Self {
        let syringe = DeclaredSyringe::of(&find_syringe("1mL").unwrap()).unwrap();
        let setting = SettingModel {
            warm_up: StatedWarmUp::Syringe(syringe)
                .history(22.0 + ZERO, None)
                .unwrap(),
            ..log_setting(2e-3, TRUE_ENERGY, 1.6e-3, 16.0)
        };
        let mut text = String::from("# Invented data.\nheat_temp_K,heat_time_s,viscosity_Pa_s\n");
        for (kelvin, time_s, viscosity) in scattered(&setting, 0.05, 7) {
            writeln!(text, "{kelvin},{time_s},{viscosity}").unwrap();
        }
        let bench = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        bench.file("bench.csv", &text);
        bench
    }

    /// A file of the folder.
    pub fn file(&self, name: &str, text: &str) -> String {
        let path = self.path(name);
        std::fs::write(&path, text).unwrap();
        path
    }

    /// Its path.
    pub fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    /// Fits the bench and gives the calibration's path.
    pub fn fitted(&self, name: &str, options: &str) -> String {
        let path = self.path(name);
        served(&format!(
            "fit {} {options} --out {path}",
            self.path("bench.csv")
        ));
        path
    }

    /// Names of what lies in the folder.
    pub fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(self.folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
}

/// A calibration's file as it stands.
pub fn read(path: &str) -> Value {
    serde_json::from_slice(&std::fs::read(Path::new(path)).unwrap()).unwrap()
}

/// A parameter of the first blend.
pub fn parameter(calibration: &Value, name: &str) -> Value {
    calibration["blends"][0]["parameters"]
        .as_array()
        .unwrap()
        .iter()
        .find(|parameter| parameter["name"] == name)
        .unwrap()
        .clone()
}

/// The rate at a temperature in °C over that at another one, by Arrhenius.
pub fn rate_ratio(energy: f64, celsius: f64, other_celsius: f64) -> f64 {
    (energy / GAS_CONSTANT * (1.0 / (other_celsius + ZERO) - 1.0 / (celsius + ZERO))).exp()
}

/// A record of a first-order rise from 22 to 90 °C with this time constant, until it is level.
pub fn lag_trace(time_constant_s: f64, until_s: usize) -> String {
    let mut text = String::from("# Invented data.\ntime_s,temp_C\n");
    for time_s in (0..=until_s).step_by(2) {
        let way = (-(time_s as f64) / time_constant_s).exp();
        writeln!(text, "{time_s},{:.3}", 90.0 - 68.0 * way).unwrap();
    }
    text
}

/// The heat time by the point estimates.
pub fn point(command: &str) -> f64 {
    number(&document(command), "heat_time_s_point")
}

/// Codes of an answer's warnings.
pub fn codes(answer: &Value) -> Vec<&str> {
    answer["warnings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|warning| warning["code"].as_str().unwrap())
        .collect()
}
