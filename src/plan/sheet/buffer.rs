//! Acid of a citrate anticoagulant, the sodium bicarbonate that takes it up, and the gas that frees.
//!
//! This is stoichiometry: what reacts with what. It is no recipe, and it leaves the plasma's own
//! buffers out.

use crate::reference::constants::{GAS_CONSTANT_J_PER_MOL_K, STANDARD_ATMOSPHERE_PA};
use serde::Serialize;

/// Citric acid in anticoagulant citrate dextrose solution A, in mol/m³: 7.3 g/L of the anhydrous acid
/// (192.124 g/mol).
///
/// # Source
/// United States Pharmacopeia, Anticoagulant Citrate Dextrose Solution, formula A; molar mass from
/// the standard atomic weights.
pub const ACD_A_CITRIC_ACID_MOL_PER_M3: f64 = 7.3e3 / 192.124;
/// Trisodium citrate in it, in mol/m³: 22.0 g/L of the dihydrate (294.10 g/mol). Source as above.
pub const ACD_A_CITRATE_MOL_PER_M3: f64 = 22.0e3 / 294.10;
/// Sodium bicarbonate in a solution of 8.4 % (mass in volume), in mol/m³: 84 g/L (84.0066 g/mol).
///
/// # Source
/// Molar mass from the standard atomic weights.
pub const BICARBONATE_8_4_PERCENT_MOL_PER_M3: f64 = 84.0e3 / 84.0066;
/// Negative decimal logarithms of the three dissociation constants of citric acid, 25 °C, no salt.
///
/// # Source
/// CRC Handbook of Chemistry and Physics, dissociation constants of organic acids: 3.13, 4.76, 6.40.
pub const CITRIC_ACID_PKA: [f64; 3] = [3.13, 4.76, 6.40];

/// Mean negative charge of citrate at an acidity, in elementary charges.
///
/// # Equation
/// z = (K1 h^2 + 2 K1 K2 h + 3 K1 K2 K3)/(h^3 + K1 h^2 + K1 K2 h + K1 K2 K3), h = 10^-pH
///
/// | symbol | field | unit |
/// |---|---|---|
/// | z | returned | 1 |
/// | pH | `acidity_ph` | 1 |
/// | K1, K2, K3 | 10^-[`CITRIC_ACID_PKA`] | mol/L |
///
/// # Valid for
/// Concentrations in place of activities: salt lowers the third pKa by up to half a unit, which at
/// pH 7.4 moves the charge by 2 %.
///
/// # Source
/// Equilibria of a triprotic acid, any textbook of analytical chemistry (D. C. Harris, Quantitative
/// Chemical Analysis, chapter on polyprotic acids; from memory).
#[must_use]
pub fn citrate_charge(acidity_ph: f64) -> f64 {
    let acid = 10f64.powf(-acidity_ph);
    let [first, second, third] = CITRIC_ACID_PKA.map(|pka| 10f64.powf(-pka));
    let terms = [
        acid * acid * acid,
        first * acid * acid,
        first * second * acid,
        first * second * third,
    ];
    let weighted: f64 = (0_u8..).zip(terms).map(|(n, t)| f64::from(n) * t).sum();
    weighted / terms.iter().sum::<f64>()
}

/// How far the acid is taken up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Neutralised {
    /// All three protons of the citric acid.
    AllProtons,
    /// To a stated acidity.
    ToPh(f64),
}

/// Base that a volume of anticoagulant citrate dextrose solution A takes up, in mol.
///
/// # Equation
/// n = 3 c_acid V; or to a pH by charges: n = \[z(pH) (c_acid + c_citrate) - 3 c_citrate\] V
///
/// | symbol | field | unit |
/// |---|---|---|
/// | n | returned | mol |
/// | V | `acd_a_m3` | m3 |
/// | c_acid, c_citrate | [`ACD_A_CITRIC_ACID_MOL_PER_M3`], [`ACD_A_CITRATE_MOL_PER_M3`] | mol/m3 |
/// | z | [`citrate_charge`] | 1 |
///
/// # Valid for
/// The anticoagulant alone, all carbon dioxide gone: the plasma's buffers and dissolved gas are not
/// counted.
///
/// # Source
/// Balance of charge; formula of the United States Pharmacopeia.
#[must_use]
pub fn acid_mol(acd_a_m3: f64, neutralised: Neutralised) -> f64 {
    let per_m3 = match neutralised {
        Neutralised::AllProtons => 3.0 * ACD_A_CITRIC_ACID_MOL_PER_M3,
        Neutralised::ToPh(ph) => {
            let all = ACD_A_CITRIC_ACID_MOL_PER_M3 + ACD_A_CITRATE_MOL_PER_M3;
            citrate_charge(ph) * all - 3.0 * ACD_A_CITRATE_MOL_PER_M3
        }
    };
    per_m3.max(0.0) * acd_a_m3
}

/// Volume of 8.4 % sodium bicarbonate that takes the acid up.
///
/// # Equation
/// V_base = n/c_base, one proton by one bicarbonate: H+ + HCO3- = H2O + CO2
///
/// | symbol | field | unit |
/// |---|---|---|
/// | V_base | returned | m3 |
/// | n | [`acid_mol`] | mol |
/// | c_base | [`BICARBONATE_8_4_PERCENT_MOL_PER_M3`] | mol/m3 |
///
/// # Valid for
/// As [`acid_mol`]. Stoichiometry, and no recipe.
///
/// # Source
/// As [`acid_mol`].
///
/// # Example
/// ```
/// use heatset::plan::sheet::buffer::{Neutralised, bicarbonate_m3};
/// // computed from the formula of the pharmacopeia: 0.1140 mL a mL; to pH 7.4 0.1037 mL
/// assert!((bicarbonate_m3(1e-6, Neutralised::AllProtons) - 0.1140e-6).abs() < 0.5e-10);
/// assert!((bicarbonate_m3(1e-6, Neutralised::ToPh(7.4)) - 0.1037e-6).abs() < 0.5e-10);
/// ```
#[must_use]
pub fn bicarbonate_m3(acd_a_m3: f64, neutralised: Neutralised) -> f64 {
    acid_mol(acd_a_m3, neutralised) / BICARBONATE_8_4_PERCENT_MOL_PER_M3
}

/// Volume of a gas at a room's temperature and one standard atmosphere.
///
/// # Equation
/// V = n R T/p
///
/// | symbol | field | unit |
/// |---|---|---|
/// | V | returned | m3 |
/// | n | `amount_mol` | mol |
/// | T | `room_kelvin` | K |
/// | p | 101325 | Pa |
///
/// # Valid for
/// An ideal gas, all of it set free; some stays dissolved at first, and comes out when it is heated.
///
/// # Source
/// Ideal gas law; molar volume 22.414 L/mol at 273.15 K and 101.325 kPa (CODATA 2018).
///
/// # Example
/// ```
/// use heatset::plan::sheet::buffer::gas_m3;
/// assert!((gas_m3(1.0, 273.15) - 22.41396954e-3).abs() < 1e-9);
/// ```
#[must_use]
pub fn gas_m3(amount_mol: f64, room_kelvin: f64) -> f64 {
    amount_mol * GAS_CONSTANT_J_PER_MOL_K * room_kelvin / STANDARD_ATMOSPHERE_PA
}

/// The stoichiometry on a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BufferStoichiometry {
    /// Anticoagulant citrate dextrose solution A, in m³.
    pub acd_a_m3: f64,
    /// Acid in it, in mol.
    pub acid_mol: f64,
    /// 8.4 % sodium bicarbonate that takes up all three protons, in m³.
    pub bicarbonate_all_protons_m3: f64,
    /// The same to pH 7.4, citrate alone, in m³.
    pub bicarbonate_to_ph_7_4_m3: f64,
    /// Carbon dioxide that all three protons free, in m³.
    pub carbon_dioxide_m3: f64,
    /// At this temperature, in K, and one standard atmosphere.
    #[serde(rename = "room_temp_K")]
    pub room_temp_k: f64,
}

/// The stoichiometry of a volume of anticoagulant.
#[must_use]
pub fn stoichiometry(acd_a_m3: f64, room_kelvin: f64) -> BufferStoichiometry {
    let all_mol = acid_mol(acd_a_m3, Neutralised::AllProtons);
    BufferStoichiometry {
        acd_a_m3,
        acid_mol: all_mol,
        bicarbonate_all_protons_m3: bicarbonate_m3(acd_a_m3, Neutralised::AllProtons),
        bicarbonate_to_ph_7_4_m3: bicarbonate_m3(acd_a_m3, Neutralised::ToPh(7.4)),
        carbon_dioxide_m3: gas_m3(all_mol, room_kelvin),
        room_temp_k: room_kelvin,
    }
}
