//! The kinds of chart, and the fields that each takes.

use crate::face::page::fields::{self, Control, Field, with};

/// A kind of chart.
#[derive(Debug)]
pub(super) struct Kind {
    /// Its word on the command line.
    pub(super) word: &'static str,
    /// Its name.
    pub(super) name: &'static str,
    /// What it shows.
    pub(super) shows: &'static str,
    /// The fields before one's eyes.
    pub(super) fields: &'static [&'static Field],
    /// The fields that are asked for seldom.
    pub(super) more: &'static [&'static Field],
    /// Whether one needle is needed.
    pub(super) needs_needle: bool,
    /// Whether a heat time is needed.
    pub(super) needs_heat_time: bool,
}

/// Gauge, where none named is an answer too.
static GAUGE_OR_USUAL: Field = with(
    Control::Gauge("", "the usual: 25, 27, 29, 30, 32G"),
    &[("gauge", "", 1.0)],
    "gauge",
    "Needle",
    "",
);
/// Gauge, where syringes may be compared without one.
static GAUGE_OR_NONE: Field = with(
    Control::Gauge("", "none: compare after a heat time"),
    &[("gauge", "", 1.0)],
    "gauge",
    "Needle",
    "With a needle the syringes are compared at its push limit, and no heat time is asked",
);
/// Syringes to compare.
static SYRINGES: Field = with(
    Control::Several,
    &[("syringes", "", 1.0)],
    "syringes",
    "Syringes",
    "With commas between them; blank: 1mL, 3mL, 5mL, 10mL",
);
/// Least reading.
static LEAST_READING: Field = with(
    Control::Line { number: false },
    &[("least_reading", "", 1.0)],
    "least-reading",
    "Least reading",
    "In place of the least push; with its unit, such as 0.5Pa.s",
);
/// Title.
pub(super) static TITLE: Field = with(
    Control::Line { number: false },
    &[("title", "", 1.0)],
    "title",
    "Title",
    "Blank: what the chart finds",
);
/// Sizes to choose from.
pub(super) static SIZE: Field = with(
    Control::OneOf(&[
        ("", "usual: 1200x800; equal forces: A3"),
        ("1200x800", "screen, 1200x800"),
        ("1600x900", "slide, 1600x900"),
        ("4961x3508", "wall, A3 lying, 4961x3508"),
    ]),
    &[("size", "", 1.0)],
    "",
    "Size, pixels",
    "",
);
/// A size of one's own.
pub(super) static OWN_SIZE: Field = with(
    Control::Line { number: false },
    &[("own_size", "", 1.0)],
    "",
    "Another size, pixels",
    "Such as 2000x1000",
);

/// Fields of every kind.
pub(super) static OF_ALL: [&Field; 3] = [&SIZE, &OWN_SIZE, &TITLE];

static PUSHED: [&Field; 9] = [
    &fields::BLEND,
    &fields::AT,
    &fields::GAUGE,
    &fields::LENGTH,
    &fields::SYRINGE,
    &fields::FLOW,
    &fields::PUSH,
    &fields::WARM_UP,
    &fields::LAG,
];
static PUSHED_MORE: [&Field; 19] = [
    &fields::HA_FRACTION,
    &fields::BORE,
    &fields::BORE_OFF,
    &fields::WALL,
    &fields::BARREL,
    &fields::FRICTION,
    &fields::TISSUE,
    &fields::GEL_TEMP,
    &fields::START_TEMP,
    &fields::COOL_TIME,
    &fields::FILLED,
    &fields::STANDS_OUT,
    &fields::OPEN_END,
    &fields::FLOW_INDEX,
    &fields::SHEAR_RATE,
    &fields::CONTACT,
    &fields::ALTITUDE,
    &fields::END_LOSSES,
    &fields::EXTRAPOLATE,
];

/// All kinds, those of the bench first.
pub(super) static ALL: [Kind; 12] = [
    Kind {
        word: "firmness",
        name: "Firmness",
        shows: "Readings and curves against heat time, one colour a temperature",
        fields: &[&fields::BLEND],
        more: &[],
        needs_needle: false,
        needs_heat_time: false,
    },
    Kind {
        word: "force",
        name: "Push",
        shows: "The push through each needle against heat time",
        fields: &[
            &fields::BLEND,
            &fields::AT,
            &GAUGE_OR_USUAL,
            &fields::LENGTH,
            &fields::SYRINGE,
            &fields::FLOW,
            &fields::PUSH,
            &fields::WARM_UP,
            &fields::LAG,
        ],
        more: &PUSHED_MORE,
        needs_needle: false,
        needs_heat_time: false,
    },
    Kind {
        word: "window",
        name: "Window",
        shows: "The probability that a syringe passes, against heat time",
        fields: &[
            &fields::BLEND,
            &fields::AT,
            &fields::GAUGE,
            &fields::LENGTH,
            &fields::SYRINGE,
            &fields::FLOW,
            &fields::PUSH,
            &fields::LEAST_PUSH,
            &LEAST_READING,
            &fields::WARM_UP,
            &fields::LAG,
        ],
        more: &PUSHED_MORE,
        needs_needle: true,
        needs_heat_time: false,
    },
    Kind {
        word: "iso-force",
        name: "Equal forces",
        shows: "Equal pushes over block temperature and heat time, for the wall",
        fields: &[
            &fields::BLEND,
            &fields::GAUGE,
            &fields::LENGTH,
            &fields::SYRINGE,
            &fields::FLOW,
            &fields::PUSH,
            &fields::WARM_UP,
            &fields::LAG,
        ],
        more: &PUSHED_MORE,
        needs_needle: true,
        needs_heat_time: false,
    },
    Kind {
        word: "contributions",
        name: "Least sure of",
        shows: "Which doubt widens the answer most",
        fields: &PUSHED,
        more: &PUSHED_MORE,
        needs_needle: true,
        needs_heat_time: false,
    },
    Kind {
        word: "consequences",
        name: "What changes do",
        shows: "What a minute, five degrees, another syringe, needle or speed do to one push",
        fields: &[
            &fields::BLEND,
            &fields::AT,
            &fields::HEAT_TIME,
            &fields::GAUGE,
            &fields::LENGTH,
            &fields::SYRINGE,
            &fields::FLOW,
            &fields::PUSH,
            &fields::WARM_UP,
            &fields::LAG,
        ],
        more: &PUSHED_MORE,
        needs_needle: true,
        needs_heat_time: true,
    },
    Kind {
        word: "history",
        name: "In the syringe",
        shows: "Temperature and setting in the syringe against the clock",
        fields: &[
            &fields::BLEND,
            &fields::AT,
            &fields::HEAT_TIME,
            &fields::SYRINGE,
            &fields::COOL_TIME,
        ],
        more: &[
            &fields::HA_FRACTION,
            &fields::BARREL,
            &fields::CONTACT,
            &fields::AIR,
            &fields::ROOM,
            &fields::ALTITUDE,
            &fields::EXTRAPOLATE,
        ],
        needs_needle: false,
        needs_heat_time: true,
    },
    Kind {
        word: "syringes",
        name: "Syringes",
        shows: "The same gel in several syringes: why the larger takes longer",
        fields: &[
            &fields::BLEND,
            &fields::AT,
            &SYRINGES,
            &GAUGE_OR_NONE,
            &fields::HEAT_TIME,
        ],
        more: &[
            &fields::HA_FRACTION,
            &fields::LENGTH,
            &fields::BORE,
            &fields::FLOW,
            &fields::PUSH,
            &fields::FRICTION,
            &fields::CONTACT,
            &fields::AIR,
            &fields::COOL_TIME,
            &fields::ROOM,
            &fields::START_TEMP,
            &fields::FLOW_INDEX,
            &fields::ALTITUDE,
            &fields::EXTRAPOLATE,
        ],
        needs_needle: false,
        needs_heat_time: true,
    },
    Kind {
        word: "standing",
        name: "Standing",
        shows: "The push against standing time, where gels were read after standing",
        fields: &[
            &fields::BLEND,
            &fields::AT,
            &fields::HEAT_TIME,
            &fields::STAND_TEMP,
            &fields::GAUGE,
            &fields::LENGTH,
            &fields::SYRINGE,
            &fields::FLOW,
            &fields::PUSH,
            &fields::WARM_UP,
            &fields::LAG,
        ],
        more: &PUSHED_MORE,
        needs_needle: true,
        needs_heat_time: true,
    },
    Kind {
        word: "rates",
        name: "Rates",
        shows: "How fast it sets against temperature",
        fields: &[&fields::BLEND],
        more: &[],
        needs_needle: false,
        needs_heat_time: false,
    },
    Kind {
        word: "residuals",
        name: "Residuals",
        shows: "What the fit leaves over",
        fields: &[&fields::BLEND],
        more: &[],
        needs_needle: false,
        needs_heat_time: false,
    },
    Kind {
        word: BATCHES,
        name: "Batches",
        shows: "Batches of the log against this calibration, with control limits",
        fields: &[&fields::BLEND],
        more: &[],
        needs_needle: false,
        needs_heat_time: false,
    },
];

/// Word of the kind that needs a log.
pub(super) const BATCHES: &str = "batches";

/// The kind of that word; the first where there is none.
pub(super) fn kind(word: Option<&str>) -> &'static Kind {
    let [first, ..] = &ALL;
    ALL.iter()
        .find(|kind| Some(kind.word) == word)
        .unwrap_or(first)
}
