//! The fields of a batch that is added to the log.

use crate::batches;
use crate::face::page::fields::{self, Check, Control, Field, numbers, with};

const fn code_field(
    keys: &'static [(&'static str, &'static str, f64)],
    option: &'static str,
    label: &'static str,
    hint: &'static str,
    check: Check,
) -> Field {
    Field {
        check: Some(check),
        ..with(Control::Line { number: false }, keys, option, label, hint)
    }
}

fn checked(what: &'static str, text: &str) -> Result<(), String> {
    batches::code(what, text)
        .map(drop)
        .map_err(|error| error.to_string())
}

/// Code of the lot.
pub(super) static LOT: Field = code_field(
    &[("lot", "", 1.0)],
    "lot",
    "Code of the lot",
    "Of the donor draw: a code such as C-17, never a name or a date of birth",
    |text| checked("lot", text),
);
static OPERATOR: Field = code_field(
    &[("operator", "", 1.0)],
    "operator",
    "Code of who heated and read",
    "",
    |text| checked("operator", text),
);
static BLOCK: Field = code_field(
    &[("block", "", 1.0)],
    "block",
    "Code of the block",
    "",
    |text| checked("block", text),
);
static PLACE: Field = code_field(
    &[("place", "", 1.0)],
    "place",
    "Code of the place in it",
    "",
    |text| checked("place", text),
);
static SESSION: Field = code_field(
    &[("session", "", 1.0)],
    "session",
    "Code of the session",
    "",
    |text| checked("session", text),
);
/// Block temperature of a batch.
pub(super) static AT: Field = fields::number_field(
    &[("at_C", "C", 1.0), ("at_F", "F", 1.0), ("at", "", 1.0)],
    "at",
    "Block temperature, °C",
    "",
);
/// Heat time of a batch.
pub(super) static HEAT_TIME: Field = fields::number_field(
    &[("heat_time_min", "min", 1.0), ("heat_time_s", "s", 1.0)],
    "heat-time",
    "Heat time, min",
    "On the clock; or 7min 30s",
);
static GAUGE: Field = with(
    Control::Gauge("", "none: no force was read"),
    &[("gauge", "", 1.0)],
    "gauge",
    "Needle",
    "Of the force",
);

numbers! {
    /// Force that was read.
    FORCE_READ: [("force_read_N", "N"), ("force_read_kgf", "kgf"), ("force_read_g", "gf")], "force-read", "Push that was read, N", "Through the needle below; a kitchen scale's 900gf will do";
    /// Viscosity that was read.
    VISCOSITY_READ: [("viscosity_read_Pa_s", "Pa.s")], "viscosity-read", "Viscosity that was read, Pa.s", "In place of the push";
    /// Entry that is corrected.
    CORRECTS: [("corrects", "")], "corrects", "Corrects entry, number", "The entry stays in the log; this one counts in its place";
}

static BUBBLE: Field = with(
    Control::OneOf(&[
        ("", "not looked at"),
        ("yes", "it stayed"),
        ("no", "it moved"),
    ]),
    &[("bubble_held", "", 1.0)],
    "bubble-held",
    "Air bubble in the tilted barrel",
    "Logged, not judged",
);
static ACCEPT: Field = with(
    Control::Tick,
    &[("accept", "", 1.0)],
    "accept",
    "A refit may take it, inside its interval or not: it was read well",
    "",
);
static LEAVE_OUT: Field = with(
    Control::Tick,
    &[("leave_out", "", 1.0)],
    "leave-out",
    "No refit may take it",
    "",
);

/// The batch.
pub(super) static BATCH: [&Field; 4] = [&LOT, &fields::BLEND, &AT, &HEAT_TIME];
/// What was read.
pub(super) static READ: [&Field; 7] = [
    &FORCE_READ,
    &GAUGE,
    &fields::LENGTH,
    &fields::SYRINGE,
    &fields::FLOW,
    &VISCOSITY_READ,
    &BUBBLE,
];
/// What is asked for seldom.
pub(super) static MORE: [&Field; 18] = [
    &CORRECTS,
    &ACCEPT,
    &LEAVE_OUT,
    &OPERATOR,
    &BLOCK,
    &PLACE,
    &SESSION,
    &fields::WARM_UP,
    &fields::LAG,
    &fields::WALL,
    &fields::BORE,
    &fields::BORE_OFF,
    &fields::BARREL,
    &fields::FRICTION,
    &fields::GEL_TEMP,
    &fields::START_TEMP,
    &fields::ALTITUDE,
    &fields::EXTRAPOLATE,
];

/// What the control charts show.
pub(super) static OF: Field = with(
    Control::OneOf(&[
        ("z", "deviations in sd of the prediction"),
        ("ratio", "logarithm of reading over prediction"),
    ]),
    &[("of", "", 1.0)],
    "of",
    "What is charted",
    "",
);
static TWO_OF_THREE: Field = with(
    Control::Tick,
    &[("two_of_three", "", 1.0)],
    "two-of-three",
    "Two of three batches in a row beyond 2 sd signal too",
    "",
);
/// The rules.
pub(super) static RULES: [&Field; 2] = [&OF, &TWO_OF_THREE];
