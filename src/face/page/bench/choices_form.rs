//! The choices of a fit in words, each with what is taken where nothing is chosen.

use super::choices::{ChoiceFault, Choices, DRAWS, HOLDS, PRIORS, ROOM};
use crate::fit::ParameterName;
use crate::readings::BenchTable;
use crate::reference::all_syringes;
use maud::{Markup, html};

/// A choice among a few: value and words, and a sentence that says when.
type Option3 = (&'static str, &'static str, &'static str);

const LAWS: [Option3; 4] = [
    (
        "auto",
        "Let the readings choose",
        "Fits all that are possible and keeps the one with the least AICc; of equals the simplest.",
    ),
    (
        "log",
        "Logarithmic",
        "The logarithm of the reading rises with what has set: for readings that span decades.",
    ),
    (
        "linear",
        "Linear",
        "The reading itself rises with what has set: a plain first-order rise, as of a weak gel's modulus.",
    ),
    (
        "gel-point",
        "Gel point",
        "The viscosity grows without end as a gel point comes near: for readings before it.",
    ),
];

const ORDERS: [Option3; 3] = [
    (
        "1",
        "First order",
        "The usual: each moment the same share of what is left sets.",
    ),
    (
        "auto",
        "Let the readings choose",
        "First order, or a fitted order where AICc asks for it.",
    ),
    ("set", "This order", "A number from 0.1 to 5."),
];

const WARM_UPS: [Option3; 4] = [
    (
        "none",
        "None declared",
        "The clock is taken for the gel's own time: right for thin cells, wrong for a syringe.",
    ),
    (
        "lag",
        "A lag",
        "The time in which the gel covers 63 % of the way to the block's temperature.",
    ),
    (
        "fit",
        "Fitted with the readings",
        "Needs readings at short times in the hottest block.",
    ),
    (
        "syringe",
        "Conduction in this syringe",
        "Heat through barrel and gel, from the block's contact.",
    ),
];

const ERRORS: [Option3; 3] = [
    (
        "relative",
        "A share of the reading",
        "The usual: large readings scatter more, by the same per cent.",
    ),
    (
        "absolute",
        "The same everywhere",
        "Every reading scatters by the same amount.",
    ),
    (
        "given",
        "As given",
        "By the column reading_sd, which every row must have.",
    ),
];

const ROBUST: [Option3; 4] = [
    ("none", "Every reading counts", "Least squares: the usual."),
    ("huber", "Huber", "Readings far off count less."),
    ("tukey", "Tukey", "Readings very far off do not count."),
    (
        "student",
        "Student's t",
        "Readings far off are expected now and then.",
    ),
];

const INTERVALS: [Option3; 3] = [
    ("t", "Student's t", "The usual, at once."),
    (
        "profile",
        "Profile likelihood",
        "Lopsided where the readings are; slower.",
    ),
    (
        "bootstrap",
        "Bootstrap",
        "Fits again and again on drawn readings; slow.",
    ),
];

const BEFORE: [Option3; 3] = [
    ("none", "None", "Setting begins with the first heat."),
    (
        "auto",
        "Let the readings choose",
        "None, or fitted where AICc asks for it.",
    ),
    ("set", "This dose", "A time at the reference temperature."),
];

const YIELD: [Option3; 2] = [
    (
        "auto",
        "Let the readings choose",
        "Fitted where three shear rates or more ask for it.",
    ),
    ("none", "None", "The set gel flows at any push."),
];

/// Parameters that can be held or given beforehand.
const PARAMETERS: [(ParameterName, &str); 9] = [
    (ParameterName::ActivationEnergy, "activation energy"),
    (ParameterName::Initial, "initial reading"),
    (ParameterName::Plateau, "plateau"),
    (ParameterName::RateRef, "rate at the reference temperature"),
    (ParameterName::FlowIndexPlateau, "flow index when set"),
    (
        ParameterName::FlowActivationEnergy,
        "activation energy of flow",
    ),
    (
        ParameterName::YieldSharePlateau,
        "yield stress when set, share",
    ),
    (ParameterName::GelConversion, "conversion at the gel point"),
    (ParameterName::GelExponent, "exponent of the gel point"),
];

/// What a form of choices shows.
pub(super) struct ChoicesForm<'a> {
    /// What was chosen.
    pub(super) choices: &'a Choices,
    /// What of it cannot be taken.
    pub(super) faults: &'a [ChoiceFault],
    /// The table.
    pub(super) table: &'a BenchTable,
}

impl ChoicesForm<'_> {
    /// The fields.
    pub(super) fn fields(&self) -> Markup {
        let more = !self.choices.value("more").is_empty() || self.more_is_used();
        html! {
            (self.faults_on_top())
            (self.tiles("law", "Law", "How the reading follows what has set.", &LAWS, &html! {}))
            (self.tiles("warm_up", "Warm-up", "The gel is colder than the block at first; a lag that is not counted makes the activation energy too low.", &WARM_UPS, &html! {
                div.pairs {
                    (self.text_when("when-lag", "lag", "Lag", "such as 40s", ""))
                    (self.syringes())
                    (self.text_when("when-warm", "start_temp", "Temperature of the gel when it goes in", "22C where nothing is typed", ROOM))
                    (self.text_when("when-warm", "cool_time", "Cooling that counts as heating too", "time in air until it was read, such as 5min; not counted where nothing is typed", ""))
                }
            }))
            (self.tiles("errors", "Readings scatter by", "", &ERRORS, &html! {}))
            @if self.table.blends().len() > 1 { (self.blends()) }
            details.more open[more] {
                summary { "More: order, robust fit, intervals, held and known values" }
                (self.tiles("order", "Order", "", &ORDERS, &self.text_when("when-set", "order_value", "Order", "such as 1.5", "")))
                (self.tiles("robust", "Readings far off", "", &ROBUST, &html! {}))
                (self.tiles("interval", "Intervals", "95 %, of every parameter.", &INTERVALS, &self.text_when("when-bootstrap", "draws", "Bootstrap draws", "2000 where nothing is typed", &DRAWS.to_string())))
                (self.tiles("before", "Dose before setting", "", &BEFORE, &self.text_when("when-set", "before_time", "Dose, as a time", "such as 60s", "")))
                (self.tiles("yield_stress", "Yield stress of the set gel", "", &YIELD, &html! {}))
                fieldset {
                    legend { "Temperatures and contact" }
                    div.pairs {
                        (self.text("reference_temp", "Reference temperature", "harmonic mean of the readings where nothing is typed", ""))
                        (self.text("ambient", "Air that it cooled in", "22C where nothing is typed", ROOM))
                        (self.text("contact", "Contact of block and barrel", "150W/m2K where nothing is typed, 100 to 300; for conduction", ""))
                        (self.text("air", "Barrel to air while cooling", "30W/m2K where nothing is typed; for conduction", ""))
                    }
                }
                fieldset {
                    legend { "Held values" }
                    p.hint { "A parameter that is known and not fitted, with its unit: 390kJ/mol, 1.5mPa.s, 0.002/s." }
                    @for [key, value] in HOLDS {
                        div.pairs { (self.parameter(key, "Held")) (self.text(value, "at", "", "")) }
                    }
                }
                fieldset {
                    legend { "Published values" }
                    p.hint { "A value known beforehand and its standard deviation; it enters as one more reading." }
                    @for [key, value, deviation] in PRIORS {
                        div.pairs {
                            (self.parameter(key, "Known"))
                            (self.text(value, "value", "", ""))
                            (self.text(deviation, "standard deviation", "", ""))
                        }
                    }
                }
            }
        }
    }

    /// Whether something under 'More' was chosen or is at fault.
    fn more_is_used(&self) -> bool {
        let under = |key: &str| {
            !matches!(
                key,
                "law"
                    | "warm_up"
                    | "lag"
                    | "syringe"
                    | "start_temp"
                    | "cool_time"
                    | "errors"
                    | "blend"
            )
        };
        let plain = [
            ("order", "1"),
            ("robust", "none"),
            ("interval", "t"),
            ("before", "none"),
            ("yield_stress", "auto"),
        ];
        self.faults.iter().any(|fault| under(fault.key))
            || self
                .choices
                .pairs()
                .iter()
                .any(|pair| under(pair.0) && !plain.contains(pair))
    }

    fn faults_on_top(&self) -> Markup {
        html! {
            @if !self.faults.is_empty() {
                div.problem role="alert" {
                    p { strong { "The fit was not started: " (counted(self.faults.len())) "." } }
                    ul {
                        @for fault in self.faults {
                            li { a href={ "#f-" (fault.key) } { (fault.message) } }
                        }
                    }
                }
            }
        }
    }

    fn fault(&self, key: &str) -> Option<&str> {
        self.faults
            .iter()
            .find(|fault| fault.key == key)
            .map(|fault| fault.message.as_str())
    }

    fn fault_words(&self, key: &str) -> Markup {
        html! {
            @if let Some(message) = self.fault(key) {
                span.wrong id={ "w-" (key) } { (message) }
            }
        }
    }

    fn described(&self, key: &str) -> Option<String> {
        self.fault(key).map(|_| format!("w-{key}"))
    }

    fn tiles(
        &self,
        key: &str,
        legend: &str,
        about: &str,
        options: &[Option3],
        after: &Markup,
    ) -> Markup {
        let typed = self.choices.value(key);
        let known = options.iter().any(|(value, _, _)| *value == typed);
        html! {
            fieldset id={ "f-" (key) } aria-describedby=[self.described(key)] {
                legend { (legend) }
                @if !about.is_empty() { p.hint { (about) } }
                (self.fault_words(key))
                div.tiles.worded {
                    @for (place, (value, words, when)) in options.iter().enumerate() {
                        label {
                            input type="radio" name=(key) value=(value)
                                checked[*value == typed || (!known && place == 0)];
                            span {
                                strong { (words) @if place == 0 { " (the default)" } }
                                span.when { (when) }
                            }
                        }
                    }
                }
                (after)
            }
        }
    }

    fn text(&self, key: &str, label: &str, hint: &str, placeholder: &str) -> Markup {
        self.text_when("", key, label, hint, placeholder)
    }

    /// A field that is shown where its choice is made.
    fn text_when(
        &self,
        when: &str,
        key: &str,
        label: &str,
        hint: &str,
        placeholder: &str,
    ) -> Markup {
        html! {
            label class={ "field " (when) } {
                span { (label) }
                input type="text" id={ "f-" (key) } name=(key) value=(self.choices.value(key))
                    placeholder=[(!placeholder.is_empty()).then_some(placeholder)]
                    autocomplete="off"
                    aria-invalid=[self.fault(key).map(|_| "true")]
                    aria-describedby=[self.described(key)];
                @if !hint.is_empty() { span.hint { (hint) } }
                (self.fault_words(key))
            }
        }
    }

    fn select(&self, key: &str, label: &str, options: &Markup) -> Markup {
        let when = if key == "syringe" { "when-syringe" } else { "" };
        html! {
            label class={ "field " (when) } {
                span { (label) }
                select id={ "f-" (key) } name=(key)
                    aria-invalid=[self.fault(key).map(|_| "true")]
                    aria-describedby=[self.described(key)] { (options) }
                (self.fault_words(key))
            }
        }
    }

    fn syringes(&self) -> Markup {
        let typed = match self.choices.value("syringe") {
            "" => crate::plan::DEFAULT_SYRINGE,
            name => name,
        };
        let names: Vec<String> = all_syringes()
            .map(|rows| rows.iter().map(crate::reference::Syringe::name).collect())
            .unwrap_or_default();
        self.select(
            "syringe",
            "Syringe of the bench",
            &html! {
                @for name in &names { option value=(name) selected[name == typed] { (name) } }
            },
        )
    }

    fn blends(&self) -> Markup {
        let typed = self.choices.value("blend");
        html! {
            fieldset {
                legend { "Blend" }
                (self.select("blend", "Which to fit", &html! {
                    option value="" selected[typed.is_empty()] { "every blend of the table" }
                    @for blend in self.table.blends() {
                        option value=(blend) selected[blend == typed] { (blend) }
                    }
                }))
            }
        }
    }

    fn parameter(&self, key: &str, label: &str) -> Markup {
        let typed = self.choices.value(key);
        self.select(
            key,
            label,
            &html! {
                option value="" { "none" }
                @for (name, words) in PARAMETERS {
                    option value=(name.as_str()) selected[name.as_str() == typed] { (words) }
                }
            },
        )
    }
}

fn counted(faults: usize) -> String {
    if faults == 1 {
        "one choice cannot be taken".to_owned()
    } else {
        format!("{faults} choices cannot be taken")
    }
}
