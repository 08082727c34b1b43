//! The fields that several rooms have.

use super::{Control, Field, number_field, numbers, with};
use crate::units;

numbers! {
    /// Volume fraction of hyaluronic acid solution.
    HA_FRACTION: [("ha_fraction", "")], "ha-fraction", "Hyaluronic acid solution, share of the volume", "In place of the blend: one that was measured, or one between two; 0.2 is one part in five";
    /// Set temperature.
    AT: [("at_C", "C"), ("at_F", "F"), ("at", "")], "at", "Block temperature, °C", "Blank: the hottest that was measured";
    /// Heat time.
    HEAT_TIME: [("heat_time_min", "min"), ("heat_time_s", "s"), ("heat_time", "")], "heat-time", "Heat time, min", "On the clock; or 7min 30s. Blank: the middle of those that were measured";
    /// Bore of a needle that is in no table.
    BORE: [("bore_mm", "mm"), ("bore", "")], "bore", "Bore, mm", "In place of the gauge";
    /// How far that bore may be off.
    BORE_OFF: [("bore_off_mm", "mm")], "bore-tolerance", "Bore may be off by, mm", "Beside a bore";
    /// Length of the needle.
    LENGTH: [("length_mm", "mm"), ("length", "")], "length", "Needle length, mm", "Blank: 13";
    /// Bore of a barrel that is in no table.
    BARREL: [("barrel_mm", "mm")], "barrel", "Bore of the barrel, mm", "In place of the syringe";
    /// Friction of the stopper.
    FRICTION: [("friction_N", "N"), ("friction_kgf", "kgf")], "friction", "Friction of the stopper, N", "Blank: usual of the syringe; best measured on an empty one";
    /// Pressure at the needle's tip.
    TISSUE: [("tissue_Pa", "Pa")], "tissue-pressure", "Pressure at the needle's tip, Pa", "Blank: none";
    /// Temperature of the gel at the push.
    GEL_TEMP: [("gel_temp_C", "C"), ("gel_temp_F", "F")], "gel-temp", "Gel at the push, °C", "Blank: as it was read";
    /// Temperature of the gel when it goes in.
    START_TEMP: [("start_temp_C", "C"), ("start_temp_F", "F")], "start-temp", "Gel when it goes in, °C", "Blank: as on the bench";
    /// Contact of block and barrel.
    CONTACT: [("contact_W_per_m2K", "W/m2K")], "contact", "Contact of block and barrel, W/m²K", "Blank: 150";
    /// Coefficient of the air.
    AIR: [("air_W_per_m2K", "W/m2K")], "air", "Barrel and air, W/m²K", "Blank: 30";
    /// Temperature of the air.
    ROOM: [("room_C", "C"), ("room_F", "F")], "ambient", "Air of the room, °C", "Blank: 22";
    /// Cooling that counts as heating too.
    COOL_TIME: [("cool_time_min", "min"), ("cool_time_s", "s")], "cool-time", "Cooling that counts as heating, min", "";
    /// Volume of the gel in the syringe.
    FILLED: [("filled_mL", "mL")], "filled", "Gel in the syringe, mL", "With conduction, where part stands out of the block; blank: what it is named by";
    /// How much of the gel stands out of the block.
    STANDS_OUT: [("stands_out_mm", "mm")], "stands-out", "Gel that stands out of the block, mm", "With conduction; at the plunger's end; blank: none";
    /// Flow index.
    FLOW_INDEX: [("flow_index", "")], "flow-index", "Flow index of the set gel", "Blank: as the bench found; 1 does not thin";
    /// Shear rate of the bench.
    SHEAR_RATE: [("shear_rate_per_s", "/s")], "shear-rate", "Shear rate of the readings, 1/s", "Where the bench does not say";
    /// Altitude.
    ALTITUDE: [("altitude_m", "m")], "altitude", "Altitude of the place, m", "Water boils lower there";
    /// Least push.
    LEAST_PUSH: [("least_push_N", "N"), ("least_push_kgf", "kgf")], "least-force", "Least push, N", "Firm enough is what needs at least this push";
}

/// Blend of the calibration.
pub(in crate::face::page) static BLEND: Field =
    with(Control::Blend, &[("blend", "", 1.0)], "blend", "Blend", "");
/// Gauge, where one needle is asked about.
pub(in crate::face::page) static GAUGE: Field = with(
    Control::Gauge("own", "by its bore"),
    &[("gauge", "", 1.0)],
    "gauge",
    "Needle",
    "",
);
/// Wall of the needle.
pub(in crate::face::page) static WALL: Field = with(
    Control::OneOf(&[
        ("", "regular"),
        ("thin", "thin"),
        ("extra-thin", "extra-thin"),
        ("ultra-thin", "ultra-thin"),
    ]),
    &[("wall", "", 1.0)],
    "wall",
    "Wall of the needle",
    "",
);
/// Syringe.
pub(in crate::face::page) static SYRINGE: Field = with(
    Control::Syringe("1 mL (usual)"),
    &[("syringe", "", 1.0)],
    "syringe",
    "Syringe",
    "",
);
/// Push limit.
pub(in crate::face::page) static PUSH: Field = number_field(
    &[
        ("push_N", "N", 1.0),
        ("push_kgf", "kgf", 1.0),
        ("push_g", "gf", 1.0),
    ],
    "force",
    "Push limit, N",
    "Blank: 20, the published target for hands",
);
/// Speed of the push.
pub(in crate::face::page) static FLOW: Field = number_field(
    &[
        ("flow_mL_per_min", "mL/min", 1.0),
        ("seconds_per_tenth_mL", "s/mL", 10.0),
    ],
    "flow",
    "Speed, mL/min",
    "Blank: 1",
);
/// Losses at the needle's ends.
pub(in crate::face::page) static END_LOSSES: Field = with(
    Control::Tick,
    &[("end_losses", "", 1.0)],
    "end-losses",
    "Count the losses at the needle's entrance and exit",
    "",
);
/// Gel whose end at the needle meets the air.
pub(in crate::face::page) static OPEN_END: Field = with(
    Control::Tick,
    &[("open_end", "", 1.0)],
    "open-end",
    "The needle's end of the gel meets the room's air, no cap",
    "",
);
/// Answers outside what was measured.
pub(in crate::face::page) static EXTRAPOLATE: Field = with(
    Control::Tick,
    &[("extrapolate", "", 1.0)],
    "extrapolate",
    "Answer outside what was measured too, and mark it",
    "",
);
/// Warm-up of the gel.
pub(in crate::face::page) static WARM_UP: Field = with(
    Control::OneOf(&[
        ("as-calibrated", "as the bench had it"),
        ("hot", "the gel is hot already"),
        ("lag", "a lag that I know"),
        ("syringe", "conduction in this syringe"),
    ]),
    &[("warm_up", "", 1.0)],
    "",
    "Warm-up",
    "",
);
/// Lag of the warm-up.
pub(in crate::face::page) static LAG: Field = Field {
    check: Some(|lag| units::duration_s(lag).map(drop).map_err(|e| e.to_string())),
    ..number_field(
        &[("lag_s", "s", 1.0)],
        "",
        "Lag, s",
        "The time in which the gel covers 63 % of the way to the block's temperature",
    )
};
/// Temperatures at which the gel stands.
pub(in crate::face::page) static STAND_TEMP: Field = with(
    Control::Several,
    &[("stand_temp_C", "C", 1.0)],
    "stand-temp",
    "Stands at, °C",
    "Several with commas; blank: those that were measured",
);

/// Fields whose options a message may name in any room.
pub(super) static EVERYWHERE: [&Field; 24] = [
    &BLEND,
    &HA_FRACTION,
    &AT,
    &HEAT_TIME,
    &GAUGE,
    &WALL,
    &BORE,
    &BORE_OFF,
    &LENGTH,
    &SYRINGE,
    &BARREL,
    &FLOW,
    &FRICTION,
    &PUSH,
    &GEL_TEMP,
    &START_TEMP,
    &CONTACT,
    &FILLED,
    &STANDS_OUT,
    &FLOW_INDEX,
    &SHEAR_RATE,
    &ALTITUDE,
    &EXTRAPOLATE,
    &LEAST_PUSH,
];
