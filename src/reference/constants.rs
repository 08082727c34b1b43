//! Constants of nature and of the trade, each with its source.

/// Molar gas constant, J/(mol K).
///
/// Source: CODATA 2018, exact since the SI of 2019 (BIPM, The International System of
/// Units, 9th edition): 8.314 462 618... J/mol/K, here cut after ten digits.
pub const GAS_CONSTANT_J_PER_MOL_K: f64 = 8.314_462_618;

/// Zero of the Celsius scale, K.
///
/// Source: BIPM, The International System of Units, 9th edition, 2019, section 2.3.1.
pub const ZERO_CELSIUS_KELVIN: f64 = 273.15;

/// Standard acceleration of gravity, m/s2.
///
/// Source: 3rd General Conference on Weights and Measures, 1901: exact by convention.
pub const STANDARD_GRAVITY_M_PER_S2: f64 = 9.806_65;

/// Standard atmosphere, Pa.
///
/// Source: 10th General Conference on Weights and Measures, 1954: exact by convention.
pub const STANDARD_ATMOSPHERE_PA: f64 = 101_325.0;

/// Pressure at which a luer joint is tested for leaks, Pa.
///
/// A joint is made for more than a joint that merely holds; above this pressure nothing
/// is promised, and the joint must at least be a locking one.
///
/// Source: ISO 80369-7 (before it ISO 594), leak test at 300 to 330 kPa; from memory,
/// and seen quoted in the notes of a maker of test equipment.
pub const LUER_JOINT_PROOF_PRESSURE_PA: f64 = 300e3;

/// Temperature that polypropylene ware commonly stands, K (121 C).
///
/// A maker's own figure for a syringe goes before this one.
///
/// Source: the usual steam cycle for polypropylene laboratory ware, 121 C; from memory.
pub const POLYPROPYLENE_RATED_TEMPERATURE_KELVIN: f64 = 394.15;
