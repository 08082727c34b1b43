//! The keys of this room: what an address may say, and in which units.

use super::quantity::{Follows, Quantity, Unit};
use crate::units;

/// Key of the needle: a gauge, `any`, or `own` for one of which the bore is known.
pub(super) const GAUGE: &str = "gauge";
/// Key of the needle's wall.
pub(super) const WALL: &str = "wall";
/// Key of which bore of the tables.
pub(super) const BORE_BASIS: &str = "bore_basis";
/// Key of the syringe: a name of the table, or `own` for a barrel of which the bore is known.
pub(super) const SYRINGE: &str = "syringe";
/// Key of the blend.
pub(super) const BLEND: &str = "blend";
/// Key of the volume fraction of hyaluronic acid solution.
pub(super) const HA_FRACTION: &str = "ha_fraction";
/// Key of a lot of the bench.
pub(super) const THIS_LOT: &str = "this_lot";
/// Key of the warm-up: one of [`WARM_UPS`].
pub(super) const WARM_UP: &str = "warm_up";
/// Key of the tick for answers outside what was measured.
pub(super) const EXTRAPOLATE: &str = "extrapolate";
/// Key of the tick for gel whose end at the needle meets the room's air.
pub(super) const OPEN_END: &str = "open_end";
/// Key of the tick for losses at the needle's ends.
pub(super) const END_LOSSES: &str = "end_losses";
/// Key of the least reading.
pub(super) const LEAST_READING: &str = "least_reading";
/// Key of the flow index.
pub(super) const FLOW_INDEX: &str = "flow_index";
/// Key of the tick for what is usual of standing where nobody measured.
pub(super) const COMMON_PRACTICE: &str = "common_practice";
/// A tick.
pub(super) const YES: &str = "yes";
/// A needle or barrel of which the bore is known.
pub(super) const OWN: &str = "own";
/// Whichever needle will do.
pub(super) const ANY: &str = "any";

/// Warm-ups: value, and its words.
pub(super) const WARM_UPS: [(&str, &str); 4] = [
    ("as-calibrated", "As the bench had it"),
    ("hot", "The gel is hot already"),
    ("lag", "A lag that I know"),
    ("syringe", "Conduction in this syringe"),
];

const ZERO_CELSIUS: f64 = 273.15;
const NEWTON_PER_KGF: f64 = 9.806_65;

fn celsius(kelvin: f64) -> f64 {
    kelvin - ZERO_CELSIUS
}
fn fahrenheit(kelvin: f64) -> f64 {
    kelvin * 1.8 - 459.67
}
fn itself(si: f64) -> f64 {
    si
}
fn millimetre(metre: f64) -> f64 {
    metre * 1e3
}
fn millilitre(cubic_metre: f64) -> f64 {
    cubic_metre * 1e6
}
fn minutes(seconds: f64) -> f64 {
    seconds / 60.0
}
fn kgf(newton: f64) -> f64 {
    newton / NEWTON_PER_KGF
}
fn gram_force(newton: f64) -> f64 {
    1e3 * newton / NEWTON_PER_KGF
}
fn millilitre_per_minute(cubic_metre_per_second: f64) -> f64 {
    cubic_metre_per_second * 6e7
}
fn seconds_per_tenth(cubic_metre_per_second: f64) -> f64 {
    1e-7 / cubic_metre_per_second
}

/// Declares a quantity whose units differ in key, text, words and number alone.
macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident: $id:literal, $words:literal, $parse:ident, $follows:ident,
        [$(($key:literal, $text:literal, $shown:literal, $times:literal, $of_si:ident)),+];)*) => {$(
        $(#[$doc])*
        pub(super) static $name: Quantity = Quantity {
            id: $id,
            name: $words,
            units: &[$(Unit { key: $key, text: $text, words: $shown, times: $times, of_si: $of_si }),+],
            follows: Follows::$follows,
            parse: units::$parse,
        };
    )*};
}

quantities! {
    /// Set temperature of the block.
    AT: "at", "Block temperature", temperature_kelvin, Temperature,
        [("at_C", "C", "°C", 1.0, celsius), ("at_F", "F", "°F", 1.0, fahrenheit)];
    /// Comfortable push.
    PUSH: "push", "Comfortable push", force_n, Force,
        [("push_N", "N", "N", 1.0, itself), ("push_kgf", "kgf", "kgf", 1.0, kgf), ("push_g", "gf", "g on a kitchen scale", 1.0, gram_force)];
    /// How fast it is pushed.
    FLOW: "flow", "Speed", flow_rate_m3_per_s, Nothing,
        [("flow_mL_per_min", "mL/min", "mL/min", 1.0, millilitre_per_minute), ("seconds_per_tenth_mL", "s/mL", "s for 0.1 mL", 10.0, seconds_per_tenth)];
    /// Length of the needle.
    LENGTH: "length", "Length", length_m, Nothing, [("length_mm", "mm", "mm", 1.0, millimetre)];
    /// Bore of a needle that is in no table.
    BORE: "bore", "Bore", bore_m, Nothing, [("bore_mm", "mm", "mm", 1.0, millimetre)];
    /// How far that bore may be off.
    BORE_OFF: "bore_off", "Bore may be off by", length_or_zero_m, Nothing, [("bore_off_mm", "mm", "mm", 1.0, millimetre)];
    /// Bore of a barrel that is in no table.
    BARREL: "barrel", "Bore of the barrel", bore_m, Nothing, [("barrel_mm", "mm", "mm", 1.0, millimetre)];
    /// Lag of the warm-up.
    LAG: "lag", "Lag", duration_s, Nothing, [("lag_s", "s", "s", 1.0, itself)];
    /// Volume of the gel in the syringe.
    FILLED: "filled", "Gel in the syringe", volume_m3, Nothing, [("filled_mL", "mL", "mL", 1.0, millilitre)];
    /// How much of the gel stands out of the block.
    STANDS_OUT: "stands_out", "Gel that stands out of the block", length_or_zero_m, Nothing, [("stands_out_mm", "mm", "mm", 1.0, millimetre)];
    /// Temperature of the gel at the push.
    GEL_TEMP: "gel_temp", "Gel at the push", temperature_kelvin, Temperature,
        [("gel_temp_C", "C", "°C", 1.0, celsius), ("gel_temp_F", "F", "°F", 1.0, fahrenheit)];
    /// Temperature of the gel when it goes into the block.
    START_TEMP: "start_temp", "Gel when it goes in", temperature_kelvin, Temperature,
        [("start_temp_C", "C", "°C", 1.0, celsius), ("start_temp_F", "F", "°F", 1.0, fahrenheit)];
    /// Temperature of the air.
    ROOM: "room", "Air of the room", temperature_kelvin, Temperature,
        [("room_C", "C", "°C", 1.0, celsius), ("room_F", "F", "°F", 1.0, fahrenheit)];
    /// Temperature under which the core must be.
    COOL_UNTIL: "cool_until", "Handed on under", temperature_kelvin, Temperature,
        [("cool_until_C", "C", "°C", 1.0, celsius), ("cool_until_F", "F", "°F", 1.0, fahrenheit)];
    /// Cooling that counts as heating too.
    COOL_TIME: "cool_time", "Cooling that counts as heating", duration_s, Time,
        [("cool_time_min", "min", "min", 1.0, minutes), ("cool_time_s", "s", "s", 1.0, itself)];
    /// The gel must need at least this push.
    LEAST_PUSH: "least_push", "Least push", force_n, Force,
        [("least_push_N", "N", "N", 1.0, itself), ("least_push_kgf", "kgf", "kgf", 1.0, kgf)];
    /// Friction of the stopper.
    FRICTION: "friction", "Friction of the stopper", force_or_zero_n, Force,
        [("friction_N", "N", "N", 1.0, itself), ("friction_kgf", "kgf", "kgf", 1.0, kgf)];
    /// How far the friction may be off.
    FRICTION_OFF: "friction_off", "Friction may be off by", force_or_zero_n, Force,
        [("friction_off_N", "N", "N", 1.0, itself), ("friction_off_kgf", "kgf", "kgf", 1.0, kgf)];
    /// How far the speed may be off.
    FLOW_OFF: "flow_off", "Speed may be off by", flow_rate_or_zero_m3_per_s, Nothing,
        [("flow_off_mL_per_min", "mL/min", "mL/min", 1.0, millilitre_per_minute)];
    /// How far a place of the block may be off.
    BLOCK_OFF: "block_off", "Block may be off by", temperature_difference_or_zero_kelvin, Nothing,
        [("block_off_K", "K", "K (= °C)", 1.0, itself)];
    /// Altitude of the place.
    ALTITUDE: "altitude", "Altitude of the place", length_or_zero_m, Nothing, [("altitude_m", "m", "m", 1.0, itself)];
    /// Coefficient between block and barrel.
    CONTACT: "contact", "Contact of block and barrel", heat_transfer_w_per_m2_kelvin, Nothing,
        [("contact_W_per_m2K", "W/m2K", "W/m²K", 1.0, itself)];
    /// Pressure at the needle's tip.
    TISSUE: "tissue", "Pressure at the needle's tip", pressure_or_zero_pa, Nothing, [("tissue_Pa", "Pa", "Pa", 1.0, itself)];
    /// Shear rate at which the bench read.
    SHEAR_RATE: "shear_rate", "Shear rate of the readings", shear_rate_per_s, Nothing, [("shear_rate_per_s", "/s", "1/s", 1.0, itself)];
    /// Heat time of 'what if'.
    HEAT_TIME: "heat_time", "Heated for", duration_s, Time,
        [("heat_time_min", "min", "min", 1.0, minutes), ("heat_time_s", "s", "s", 1.0, itself)];
}
