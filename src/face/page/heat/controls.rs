//! The form: what a setting is made of, each field with its unit, its slider and what is wrong with it.

use super::super::query::Asked;
use super::super::shelf::Shelved;
use super::faults::Fault;
use super::keys;
use super::more::more;
use super::quantity::{Quantity, kept};
use super::said::hands_words;
use super::setting::{chosen_blend, reading_unit};
use super::tiles::{blend, needle, syringe, warm_up};
use crate::fit::BlendCalibration;
use crate::plan::DEFAULT_FLOW_RATE_M3_PER_S;
use crate::reference::hands;
use crate::units::display;
use crate::units::shown::{TemperatureShown, shown};
use maud::{Markup, html};

/// Id of the form, for controls that stand outside it.
pub(super) const FORM: &str = "heat-form";
/// Coldest block that the slider goes to where answers outside what was measured are wanted, in K.
const COLDEST_KELVIN: f64 = 313.15;
/// Hottest, in K: what is answered at sea level.
const HOTTEST_KELVIN: f64 = 372.15;

/// What the fields of a form show: what was asked, and what is wrong with it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fields<'a> {
    pub(super) asked: &'a Asked,
    pub(super) faults: &'a [Fault],
}

impl Fields<'_> {
    /// What is wrong at a field.
    pub(super) fn fault(&self, id: &str) -> Option<String> {
        self.faults
            .iter()
            .find(|fault| fault.field == Some(id))
            .map(|fault| fault.words.replace('\n', " "))
    }

    /// What is wrong at a choice, below its tiles.
    pub(super) fn fault_line(&self, id: &str) -> Markup {
        html! { p.fault id={ (id) "-fault" } { (self.fault(id).unwrap_or_default()) } }
    }
}

/// How far beyond its first heat time the slider of 'what if' goes.
const SLIDER_OVER: f64 = 2.5;

/// A slider beside a field, in the unit of the field.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slider {
    /// From, to, and in which steps.
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) step: f64,
    /// Ends while answers outside what was measured are wanted, and while not.
    pub(super) ends: Option<[(f64, f64); 2]>,
}

/// How a field is drawn.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Shape<'a> {
    /// Its slider.
    pub(super) slider: Option<Slider>,
    /// What helps to fill it.
    pub(super) hint: &'a str,
    /// What stands in it while it is empty.
    pub(super) empty: &'a str,
    /// The form that it belongs to, where it stands outside.
    pub(super) form: Option<&'a str>,
}

impl<'a> Shape<'a> {
    /// A field and nothing else.
    pub(super) fn plain() -> Self {
        Self::default()
    }

    /// With a hint.
    pub(super) fn hinted(hint: &'a str) -> Self {
        Self {
            hint,
            ..Self::default()
        }
    }
}

/// The form.
pub(super) fn form(fields: &Fields<'_>, shelved: &Shelved) -> Markup {
    let asked = fields.asked;
    let calibration = &shelved.calibration;
    let chosen = chosen_blend(asked, calibration);
    let pushes = chosen.is_none_or(BlendCalibration::answers_pushes);
    html! {
        form.controls id=(FORM) method="get" action="/heat" data-live="answer" data-then="beside" {
            (asked.kept_fields())
            @if pushes { (needle(fields)) (syringe(fields)) }
            (blend(fields, calibration))
            @if let Some(blend) = chosen { (heat(fields, blend)) }
            @if pushes { (push(fields)) }
            (warm_up(fields))
            @if let Some(blend) = chosen { (gel(fields, blend, pushes)) }
            (more(fields, pushes))
            button.without-script type="submit" { "Answer" }
        }
    }
}

/// A quantity: label, slider, field with its unit, what is wrong, what helps.
pub(super) fn quantity_field(
    quantity: &'static Quantity,
    fields: &Fields<'_>,
    usual: Option<f64>,
    shape: &Shape<'_>,
) -> Markup {
    let field = quantity.field(fields.asked, usual);
    let id = quantity.id;
    let fault = fields.fault(id);
    let number = field
        .value
        .map(|si| (quantity.shown().of_si)(si))
        .or(shape.empty.parse().ok());
    html! {
        div.field {
            label for=(id) { (quantity.name) }
            @if let Some(slider) = shape.slider {
                input.with-script type="range" id={ (id) "-slider" } data-moves=(id)
                    min=(display::plain(slider.from)) max=(display::plain(slider.to)) step=(display::plain(slider.step))
                    value=(display::at_most(number.unwrap_or(slider.from).clamp(slider.from, slider.to.max(slider.from)), 6))
                    data-wide=[slider.ends.map(|[wide, _]| ends_words(wide))] data-narrow=[slider.ends.map(|[_, narrow]| ends_words(narrow))]
                    aria-label={ (quantity.name) ", in " (field.unit) };
            }
            span.with-unit {
                input type="text" inputmode="decimal" autocomplete="off" id=(id) name=(field.key) value=(field.text)
                    form=[shape.form] placeholder=[(!shape.empty.is_empty()).then_some(shape.empty)]
                    aria-invalid=[fault.as_ref().map(|_| "true")]
                    aria-describedby={ (id) "-unit " (id) "-fault " (id) "-hint" };
                span id={ (id) "-unit" } { (field.unit) }
            }
            (below(id, fault.as_deref(), shape.hint))
        }
    }
}

/// A field of words.
pub(super) fn text_field(
    key: &str,
    name: &str,
    fields: &Fields<'_>,
    hint: &str,
    unit: &str,
) -> Markup {
    let fault = fields.fault(key);
    html! {
        div.field {
            label for=(key) { (name) }
            span.with-unit {
                input type="text" autocomplete="off" id=(key) name=(key) value=(kept(fields.asked.get(key).unwrap_or_default()))
                    aria-invalid=[fault.as_ref().map(|_| "true")]
                    aria-describedby={ (key) "-unit " (key) "-fault " (key) "-hint" };
                span id={ (key) "-unit" } { (unit) }
            }
            (below(key, fault.as_deref(), hint))
        }
    }
}

/// What is wrong with a field, and what helps to fill it.
fn below(id: &str, fault: Option<&str>, hint: &str) -> Markup {
    html! {
        p.fault id={ (id) "-fault" } { (fault.unwrap_or_default()) }
        p.hint id={ (id) "-hint" } { (hint) }
    }
}

/// A tick.
pub(super) fn tick(key: &str, words: &str, ticked: bool, form: Option<&str>) -> Markup {
    html! {
        label.tick {
            input type="checkbox" id=(key) name=(key) value=(keys::YES) checked[ticked] form=[form];
            span { (words) }
        }
    }
}

/// The block's temperature.
fn heat(fields: &Fields<'_>, blend: &BlendCalibration) -> Markup {
    let [low, high] = blend.range.heat_temp_k;
    let extrapolate = fields.asked.get(keys::EXTRAPOLATE) == Some(keys::YES);
    let of_si = keys::AT.shown().of_si;
    let ends = [
        (COLDEST_KELVIN.min(low), HOTTEST_KELVIN.max(high)),
        (low, high),
    ]
    .map(|(from, to)| (tenth(of_si(from)), tenth(of_si(to))));
    let (from, to) = if extrapolate { ends[0] } else { ends[1] };
    let slider = Slider {
        from,
        to,
        ends: Some(ends),
        step: if shown().temperature == TemperatureShown::Fahrenheit {
            1.0
        } else {
            0.5
        },
    };
    let measured = format!(
        "measured: {} to {}",
        display::temperature(low),
        display::temperature(high)
    );
    html! {
        fieldset {
            legend { "Block" }
            (quantity_field(&keys::AT, fields, Some(high), &Shape { slider: Some(slider), hint: &measured, ..Shape::plain() }))
            label.tick {
                input type="checkbox" id=(keys::EXTRAPOLATE) name=(keys::EXTRAPOLATE) value=(keys::YES) checked[extrapolate]
                    data-widens={ (keys::AT.id) "-slider" };
                span { "Answer outside what was measured too" }
            }
        }
    }
}

/// The ends of a slider, as the script reads them.
fn ends_words((from, to): (f64, f64)) -> String {
    format!("{} {}", display::plain(from), display::plain(to))
}

fn tenth(value: f64) -> f64 {
    (10.0 * value).round() / 10.0
}

/// Comfortable push and its speed.
fn push(fields: &Fields<'_>) -> Markup {
    let usual = hands().map(|hands| (hands.target_n, hands.at_most_n)).ok();
    let unit = keys::PUSH.shown();
    let most = usual.map_or(40.0, |(_, most)| (unit.of_si)(most));
    let in_newton = unit.key == "push_N";
    let slider = Slider {
        from: if in_newton { 2.0 } else { 0.2 },
        to: if in_newton { most } else { tenth(most) },
        step: if in_newton { 0.5 } else { 0.05 },
        ends: None,
    };
    let push = keys::PUSH.field(fields.asked, usual.map(|(target, _)| target));
    let grams = |newton: f64| display::at_most((keys::PUSH.units[2].of_si)(newton), 4);
    // Units of the field to the gram of a kitchen scale.
    let per_gram = if in_newton { 9.806_65e-3 } else { 1e-3 };
    let flow = keys::FLOW.field(fields.asked, Some(DEFAULT_FLOW_RATE_M3_PER_S));
    let speed = Slider {
        from: 0.1,
        to: 5.0,
        step: 0.1,
        ends: None,
    };
    let seconds = |flow: f64| display::at_most((keys::FLOW.units[1].of_si)(flow), 3);
    html! {
        fieldset {
            legend { "Push" }
            (quantity_field(&keys::PUSH, fields, usual.map(|(target, _)| target), &Shape { slider: Some(slider), ..Shape::plain() }))
            div.field.with-script {
                label for="push-scale" { "The same on a kitchen scale" }
                span.with-unit {
                    input type="text" inputmode="decimal" autocomplete="off" id="push-scale" data-moves=(keys::PUSH.id) data-times=(display::plain(per_gram))
                        value=(push.value.map(grams).unwrap_or_default()) aria-describedby="push-scale-unit push-scale-hint";
                    span id="push-scale-unit" { "g" }
                }
                p.hint id="push-scale-hint" { "Stand the scale on the table, press on it with the thumb as you would on the plunger, and read it." }
            }
            @if let Some(newton) = push.value {
                p.hint.without-script { "On a kitchen scale " (grams(newton)) " g; show forces in kgf under 'Units'." }
            }
            p.hint { (hands_words()) }
            (quantity_field(&keys::FLOW, fields, Some(DEFAULT_FLOW_RATE_M3_PER_S), &Shape { slider: Some(speed), ..Shape::plain() }))
            div.field.with-script {
                label for="flow-seconds" { "The same as seconds for 0.1 mL" }
                span.with-unit {
                    input type="text" inputmode="decimal" autocomplete="off" id="flow-seconds" data-moves=(keys::FLOW.id) data-over="6"
                        value=(flow.value.map(seconds).unwrap_or_default()) aria-describedby="flow-seconds-unit";
                    span id="flow-seconds-unit" { "s" }
                }
            }
            @if let Some(flow) = flow.value {
                p.hint.without-script { "0.1 mL in " (seconds(flow)) " s." }
            }
        }
    }
}

/// The gel: how warm it is pushed, how firm it must be.
fn gel(fields: &Fields<'_>, blend: &BlendCalibration, pushes: bool) -> Markup {
    let (unit, _) = reading_unit(blend.reading);
    let read_at = blend.read_temp_k.map_or_else(
        || "empty: as when it was read".to_owned(),
        |kelvin| {
            format!(
                "empty: as when it was read, {}",
                display::temperature(kelvin)
            )
        },
    );
    let quantity = if pushes {
        "viscosity"
    } else {
        blend.reading.quantity()
    };
    html! {
        fieldset {
            legend { @if pushes { "Gel as it is pushed" } @else { "What it shall read" } }
            div.fields {
                @if pushes {
                    (quantity_field(&keys::GEL_TEMP, fields, None, &Shape::hinted(&read_at)))
                    (quantity_field(&keys::LEAST_PUSH, fields, None, &Shape::hinted("the gel must need at least this push to be firm enough")))
                    (quantity_field(&keys::FRICTION, fields, None, &Shape::hinted("empty: usual of the syringe; best measured on one filled with water")))
                }
                (text_field(keys::LEAST_READING, if pushes { "Or a least reading" } else { "Reading" }, fields, &format!("a {quantity}; the unit may stand behind it"), unit))
            }
        }
    }
}

/// The heat time of 'what if', outside the form; its slider ends where the push has long passed the limit.
pub(super) fn heat_time(
    fields: &Fields<'_>,
    blend: &BlendCalibration,
    what_if_s: Option<f64>,
) -> Markup {
    let [shortest, longest] = blend.range.heat_time_s;
    let unit = keys::HEAT_TIME.shown();
    let to_s = what_if_s.map_or(longest, |time_s| (SLIDER_OVER * time_s).min(longest));
    let slider = Slider {
        from: (unit.of_si)(shortest),
        to: (unit.of_si)(to_s),
        step: if unit.key == "heat_time_min" {
            0.25
        } else {
            5.0
        },
        ends: None,
    };
    let measured = format!(
        "measured: {} to {}",
        display::duration(shortest),
        display::duration(longest)
    );
    let empty = what_if_s.map_or_else(String::new, |s| display::at_most((unit.of_si)(s), 3));
    let shape = Shape {
        slider: Some(slider),
        hint: &measured,
        empty: &empty,
        form: Some(FORM),
    };
    quantity_field(&keys::HEAT_TIME, fields, None, &shape)
}

/// Where the gel may be handed on, for a hint.
pub(super) fn usual_hand_over() -> String {
    let usual = crate::plan::CoolingAsked::default();
    format!("empty: {}", display::temperature(usual.until_kelvin))
}
