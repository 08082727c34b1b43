//! What cannot be read or answered, and at which field: in the words of the rooms below, with this
//! page's controls in place of the command line's options.

use super::keys;
use crate::plan::PlanError;

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Fault {
    /// Id of the field; none where it is about the whole.
    pub(super) field: Option<&'static str>,
    /// Name of the field.
    pub(super) name: &'static str,
    /// What is wrong, and what helps.
    pub(super) words: String,
}

impl Fault {
    /// At a field.
    pub(super) fn at(field: &'static str, name: &'static str, words: impl Into<String>) -> Self {
        Self {
            field: Some(field),
            name,
            words: words.into(),
        }
    }

    /// About the whole.
    pub(super) fn of_all(words: impl Into<String>) -> Self {
        Self {
            field: None,
            name: "",
            words: words.into(),
        }
    }

    /// A question that was refused, at the field that it is about.
    pub(super) fn of_plan(error: &PlanError) -> Self {
        let words = page_words(&error.to_string());
        let quantity =
            |quantity: &super::quantity::Quantity| Self::at(quantity.id, quantity.name, &*words);
        match error {
            PlanError::TemperatureOutside { .. } | PlanError::Boiling { .. } => quantity(&keys::AT),
            PlanError::ForceTooHigh { .. } | PlanError::ForceUnderFriction { .. } => {
                quantity(&keys::PUSH)
            }
            PlanError::TimeOutside { .. } => quantity(&keys::HEAT_TIME),
            PlanError::ReadTemperatureUnknown { .. } => quantity(&keys::GEL_TEMP),
            PlanError::ShearRateUnknown { .. } => quantity(&keys::SHEAR_RATE),
            PlanError::ToleranceTooLarge { .. } => quantity(&keys::BORE_OFF),
            PlanError::ContactWithoutConduction => quantity(&keys::CONTACT),
            PlanError::FilledUnknown | PlanError::Overfilled { .. } => quantity(&keys::FILLED),
            PlanError::StandsOutFurther { .. } => quantity(&keys::STANDS_OUT),
            PlanError::PartWithoutConduction => Self::at(keys::WARM_UP, "Warm-up", words),
            PlanError::LeastAboveLimit { .. } => quantity(&keys::LEAST_PUSH),
            PlanError::LeastTooHigh { what: "force", .. } => quantity(&keys::LEAST_PUSH),
            PlanError::LeastTooHigh { .. } | PlanError::ReadingNotReached { .. } => {
                Self::at(keys::LEAST_READING, "Least reading", words)
            }
            _ => Self::of_all(words),
        }
    }
}

/// Options of the command line, and the controls of this page that stand for them; the longer first.
const SAID_HERE: [(&str, &str); 21] = [
    ("no --extrapolate makes it so", "no tick makes it so"),
    (
        "or --extrapolate, and",
        "or tick 'Answer outside what was measured too', and",
    ),
    ("--extrapolate", "'Answer outside what was measured too'"),
    (
        "--warm-up syringe, which computes it, or --warm-up with the lag of your syringe",
        "'Conduction in this syringe' under 'Warm-up', which computes it, or the lag of your syringe",
    ),
    (
        "--warm-up with the lag that the trace shows, or --warm-up syringe",
        "the lag that the trace shows, or 'Conduction in this syringe'",
    ),
    (
        "--warm-up syringe",
        "'Conduction in this syringe' under 'Warm-up'",
    ),
    ("leave --contact out", "leave the contact empty"),
    ("makes a --contact of it", "makes a contact of it"),
    (
        "--filled 0.8mL, or --syringe in place of --barrel",
        "how much gel is in it, under 'Warm-up', or a syringe of the table",
    ),
    ("a larger --syringe", "a larger syringe"),
    ("a smaller --friction if", "a smaller friction if"),
    (
        "--shear-rate 10/s, or a column",
        "the shear rate of the readings, under 'More', or a column",
    ),
    ("leave --gel-temp out", "leave the gel's temperature empty"),
    ("a smaller --least-force", "a smaller least push"),
    (
        "a smaller --bore-tolerance",
        "less that the bore may be off by",
    ),
    (
        "ask for a blend by its name: --blend ",
        "ask for a blend by its name: ",
    ),
    ("--ha-fraction", "the fraction of hyaluronic acid solution"),
    ("--blend ", "the blend "),
    ("--altitude", "the altitude under 'More'"),
    ("--flow", "the speed"),
    (
        "'heatset warmup --fit-contact TRACE.csv'",
        "your lab lead can make it one ('heatset warmup', fit of the contact)",
    ),
];

/// The words with this page's controls in place of options.
pub(super) fn page_words(words: &str) -> String {
    let mut words = words.replace(
        "'heatset warmup --fit-contact' makes",
        "a fit of the contact ('heatset warmup') makes",
    );
    for (option, control) in SAID_HERE {
        words = words.replace(option, control);
    }
    words
}
