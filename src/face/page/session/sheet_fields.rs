//! The fields of a run sheet.

use crate::face::page::fields::{self, Control, Field, numbers, with};

/// Block temperature, which a sheet cannot do without.
static AT: Field = fields::number_field(
    &[("at_C", "C", 1.0), ("at_F", "F", 1.0), ("at", "", 1.0)],
    "at",
    "Block temperature, °C",
    "",
);
/// Heat time of a sheet.
static HEAT_TIME: Field = fields::number_field(
    &[
        ("heat_time_min", "min", 1.0),
        ("heat_time_s", "s", 1.0),
        ("heat_time", "", 1.0),
    ],
    "heat-time",
    "Heat time, min",
    "Blank: the aim of the room 'Heat'",
);

numbers! {
    /// Temperature under which the core must be.
    COOL_UNTIL: [("cool_until_C", "C"), ("cool_until_F", "F")], "cool-until", "Handed on under, °C", "Blank: 37";
    /// Plasma at hand.
    PLASMA: [("plasma_mL", "mL")], "plasma", "Plasma, mL", "At hand, in place of blood";
    /// Blood.
    BLOOD: [("blood_mL", "mL")], "blood", "Blood, mL", "Without anticoagulant; needs the two below";
    /// Haematocrit.
    HAEMATOCRIT: [("haematocrit", "")], "haematocrit", "Haematocrit, share", "0.42 or 42%";
    /// Share of the plasma layer.
    RECOVERY: [("recovery", "")], "recovery", "Plasma drawn off, share", "Of the plasma layer: 0.85";
    /// Number of syringes.
    SYRINGES: [("syringes", "")], "syringes", "Syringes wanted, number", "Without a volume the sheet says what they need";
    /// Fill of a syringe.
    FILL: [("fill_mL", "mL")], "fill", "In each syringe, mL", "Blank: its nominal volume";
    /// Dead space.
    DEAD_SPACE: [("dead_space_mL", "mL")], "dead-space", "Stays in each syringe, mL", "Blank: the most that ISO 7886-1 allows";
    /// Lost once.
    LOSS: [("loss_mL", "mL")], "loss", "Lost once, mL", "In mixing and drawing up; blank: none";
    /// Share of hyaluronic acid solution.
    HA_SHARE: [("ha_share", "")], "ha-share", "Hyaluronic acid solution in the blend, share", "Where the calibration does not say it";
    /// Its concentration.
    HA_CONCENTRATION: [("ha_mg_per_mL", "mg/mL")], "ha-concentration", "Hyaluronic acid in that solution, mg/mL", "";
    /// Its molar mass.
    HA_MOLAR_MASS: [("ha_kDa", "kDa")], "ha-molar-mass", "Its molar mass, kDa", "";
    /// Protein of the plasma.
    PROTEIN: [("protein_g_per_L", "g/L")], "protein", "Protein of the plasma, g/L", "Where it was measured";
    /// Buffer.
    BUFFER: [("buffer_mL", "mL")], "buffer", "Dilution: buffer added, mL", "Blank: none";
    /// Acid-citrate-dextrose solution.
    ACD_A: [("acd_a_mL", "mL")], "acd-a", "ACD-A to reckon acid and gas of, mL", "Or 'plasma': what the plasma carries of the anticoagulant";
    /// Places of the block.
    PLACES: [("places", "")], "places", "Places of the block, number", "Blank: 6";
    /// From one syringe to the next.
    HANDLING: [("handling_s", "s")], "handling", "From one syringe to the next, s", "Blank: 30";
    /// Between turns.
    BETWEEN: [("between_turns_min", "min")], "between-turns", "Pause between turns, min", "Until the block is back at its temperature; blank: none";
    /// Speed of the centrifuge.
    SPEED: [("speed_rpm", "rpm")], "speed", "Centrifuge, turns a minute", "With the radius";
    /// Radius of its rotor.
    RADIUS: [("rotor_radius_mm", "mm")], "rotor-radius", "Radius of its rotor, mm", "";
    /// Relative centrifugal force.
    RCF: [("rcf", "")], "rcf", "Relative centrifugal force, times gravity", "In place of the speed";
}

static ANTICOAGULANT: Field = with(
    Control::Line { number: false },
    &[("anticoagulant", "mL", 1.0)],
    "anticoagulant",
    "Anticoagulant, mL",
    "Or for each volume of blood: 1:9; blank: none",
);
static START: Field = with(
    Control::Line { number: false },
    &[("start", "", 1.0)],
    "start",
    "First syringe goes in, clock",
    "09:30; blank: times count from the first syringe",
);
static LOT: Field = with(
    Control::Line { number: false },
    &[("lot", "", 1.0)],
    "lot",
    "Code of the lot",
    "A code, never a name, an address or a date of birth",
);
static THIS_LOT: Field = with(
    Control::Line { number: false },
    &[("this_lot", "", 1.0)],
    "this-lot",
    "Answer for a lot of the bench",
    "Its code there; blank: a new lot",
);
/// A price list, pasted.
pub(super) static PRICES: Field = with(
    Control::Lines,
    &[("prices", "", 1.0)],
    "",
    "Price list, pasted",
    "Columns item,unit_price,currency,per with a header line",
);

/// Heat and push.
pub(super) static HEAT: [&Field; 10] = [
    &fields::BLEND,
    &AT,
    &HEAT_TIME,
    &fields::GAUGE,
    &fields::LENGTH,
    &fields::SYRINGE,
    &fields::FLOW,
    &fields::PUSH,
    &fields::WARM_UP,
    &fields::LAG,
];
/// Heat and push, asked for seldom.
pub(super) static HEAT_MORE: [&Field; 21] = [
    &fields::LEAST_PUSH,
    &COOL_UNTIL,
    &fields::STAND_TEMP,
    &fields::HA_FRACTION,
    &THIS_LOT,
    &fields::WALL,
    &fields::BORE,
    &fields::BORE_OFF,
    &fields::BARREL,
    &fields::FRICTION,
    &fields::TISSUE,
    &fields::GEL_TEMP,
    &fields::START_TEMP,
    &fields::ROOM,
    &fields::FLOW_INDEX,
    &fields::CONTACT,
    &fields::FILLED,
    &fields::STANDS_OUT,
    &fields::OPEN_END,
    &fields::ALTITUDE,
    &fields::EXTRAPOLATE,
];
/// Volumes.
pub(super) static VOLUMES: [&Field; 6] = [
    &SYRINGES,
    &PLASMA,
    &BLOOD,
    &HAEMATOCRIT,
    &RECOVERY,
    &ANTICOAGULANT,
];
/// Volumes, blend and centrifuge, asked for seldom.
pub(super) static VOLUMES_MORE: [&Field; 12] = [
    &FILL,
    &DEAD_SPACE,
    &LOSS,
    &BUFFER,
    &ACD_A,
    &PROTEIN,
    &HA_SHARE,
    &HA_CONCENTRATION,
    &HA_MOLAR_MASS,
    &SPEED,
    &RADIUS,
    &RCF,
];
/// Block, clock and codes.
pub(super) static CLOCK: [&Field; 5] = [&LOT, &START, &PLACES, &HANDLING, &BETWEEN];

/// Keys that a first look fills.
pub(super) const AT_KEY: &str = "at_C";
/// Key of the number of syringes.
pub(super) const SYRINGES_KEY: &str = "syringes";
/// Keys of what is at hand, in place of a number of syringes.
pub(super) const AT_HAND: [&str; 3] = [SYRINGES_KEY, "plasma_mL", "blood_mL"];
