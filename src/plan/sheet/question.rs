//! What a sheet is asked for.

use super::plasma::Separation;
use super::prices::PriceList;
use crate::plan::{PushSetup, StandAnswer, Window};

/// Where the plasma comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Supply {
    /// A volume of blood, in m³, and how it is parted.
    Blood {
        /// Blood without anticoagulant, in m³.
        blood_m3: f64,
        /// How it is parted.
        separation: Separation,
    },
    /// A volume of plasma, in m³.
    PlasmaM3(f64),
    /// What is needed is asked for; blood too, where it is said how it is parted.
    Needed(Option<Separation>),
}

/// What is stated of the solution of hyaluronic acid.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BlendStated {
    /// Volume fraction in the gel; 0 where the calibration says nothing.
    pub ha_fraction: f64,
    /// Whether the calibration knows the fraction.
    pub fraction_is_known: bool,
    /// Hyaluronic acid in the solution, in kg/m³.
    pub ha_solution_kg_per_m3: Option<f64>,
    /// Its molar mass, in kg/mol.
    pub ha_molar_mass_kg_per_mol: Option<f64>,
    /// Protein of the donor's plasma, in kg/m³.
    pub protein_kg_per_m3: Option<f64>,
}

/// What is stated of the buffer.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BufferStated {
    /// Buffer that is added to the plasma, in m³.
    pub added_m3: f64,
    /// Anticoagulant citrate dextrose solution A of which the stoichiometry is asked for.
    pub acd_a: Option<AcdAsked>,
}

/// Of which volume of anticoagulant the stoichiometry is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AcdAsked {
    /// A stated one, in m³.
    VolumeM3(f64),
    /// What the plasma carries.
    InPlasma,
}

/// What is stated of the centrifuge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpinStated {
    /// Speed, in revolutions a second.
    pub speed_per_s: Option<f64>,
    /// Radius of the rotor, in m.
    pub radius_m: Option<f64>,
    /// Relative centrifugal force.
    pub relative_centrifugal_force_ratio: Option<f64>,
}

/// A question about a session.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetQuestion {
    /// The calibration's file.
    pub calibration: String,
    /// Code of the lot.
    pub lot_code: Option<String>,
    /// Plasma.
    pub supply: Supply,
    /// Syringes, where a number is asked for.
    pub syringes: Option<usize>,
    /// Gel in each by the graduation, in m³; the nominal volume where not stated.
    pub fill_m3: Option<f64>,
    /// Dead space of each, in m³; that of the standard where not stated.
    pub dead_space_m3: Option<f64>,
    /// Lost once a session, in m³.
    pub session_loss_m3: f64,
    /// Blend.
    pub blend: BlendStated,
    /// Buffer.
    pub buffer: BufferStated,
    /// Centrifuge.
    pub spin: SpinStated,
    /// Push, with the needle that the answer is for.
    pub setup: PushSetup,
    /// Heat time that is used, in s.
    pub heat_time_s: f64,
    /// Whether it was stated, rather than the aim.
    pub heat_time_is_stated: bool,
    /// The window, where it was asked for.
    pub window: Option<Window>,
    /// What the block is set to, in K: other than the temperature of the answer where its check says so.
    pub block_set_kelvin: f64,
    /// The core must be under this before hand-over, in K.
    pub cool_until_kelvin: f64,
    /// Temperature of the room, in K.
    pub room_kelvin: f64,
    /// Places of the block.
    pub places: usize,
    /// Start, in s after midnight.
    pub start_s: f64,
    /// From one syringe to the next, in s.
    pub handling_s: f64,
    /// Between two turns, in s.
    pub between_turns_s: f64,
    /// What the calibration answers about standing, where it does.
    pub standing: Option<StandAnswer>,
    /// Prices.
    pub prices: Option<PriceList>,
}
