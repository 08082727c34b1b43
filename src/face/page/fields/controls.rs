//! The fields as they are shown, each with its hint and its fault.

use super::{Control, Field, Typed};
use crate::face::page::shelf::Shelved;
use crate::reference::{Wall, all_needles, all_syringes, hub_colour};
use maud::{Markup, html};

impl Typed {
    /// Everything that is wrong, for the part that answers.
    pub(in crate::face::page) fn problem(&self) -> Markup {
        html! {
            div.problem role="alert" {
                @for message in &self.whole {
                    @for line in message.lines() { p { (line) } }
                }
                @for (key, words) in &self.faults {
                    p data-fault={ "field-" (key) } { strong { (self.name(key)) ": " } span { (words) } }
                }
            }
        }
    }

    /// The controls of these fields, as far as the form has them.
    pub(in crate::face::page) fn controls(
        &self,
        fields: &[&'static Field],
        shelved: &Shelved,
    ) -> Markup {
        html! {
            @for field in fields {
                @if let Some((_, value)) = self.fields.iter().find(|(known, _)| known.key() == field.key()) {
                    (self.control(field, value, shelved))
                }
            }
        }
    }

    fn control(&self, field: &'static Field, value: &str, shelved: &Shelved) -> Markup {
        let key = field.key();
        let fault = self.faults.iter().find(|(at, _)| *at == key);
        let id = format!("field-{key}");
        let described = format!("hint-{key} field-{key}-fault");
        let wrong = fault.map(|_| "true");
        html! {
            div.field {
                @match field.control {
                    Control::Tick => {
                        label.tick for=(id) {
                            input id=(id) type="checkbox" name=(key) value="yes" checked[value == "yes"] aria-describedby=(described);
                            " " (field.label)
                        }
                    }
                    Control::Lines => {
                        label for=(id) { span { (field.label) } }
                        textarea id=(id) name=(key) rows="4" aria-invalid=[wrong] aria-describedby=(described) { (value) }
                    }
                    Control::Line { number } => {
                        label for=(id) { span { (field.label) } }
                        input id=(id) type="text" name=(key) value=(value) autocomplete="off" spellcheck="false"
                            inputmode=[number.then_some("decimal")] aria-invalid=[wrong] aria-describedby=(described);
                    }
                    Control::Several => {
                        label for=(id) { span { (field.label) } }
                        input id=(id) type="text" name=(key) value=(value) autocomplete="off" spellcheck="false"
                            aria-invalid=[wrong] aria-describedby=(described);
                    }
                    _ => {
                        label for=(id) { span { (field.label) } }
                        (select(field, &id, value, &choices(field.control, shelved), wrong, &described))
                    }
                }
                @if !field.hint.is_empty() { p.hint id={ "hint-" (key) } { (field.hint) } }
                p.fault id={ (id) "-fault" } { @if let Some((_, words)) = fault { (words) } }
            }
        }
    }
}

/// A list to choose from; what an address says and the list does not have is kept as it is.
fn select(
    field: &Field,
    id: &str,
    value: &str,
    choices: &[(String, String)],
    wrong: Option<&str>,
    described: &str,
) -> Markup {
    let known = choices.iter().any(|(choice, _)| choice == value);
    html! {
        select id=(id) name=(field.key()) aria-invalid=[wrong] aria-describedby=(described) {
            @if !known && !value.is_empty() { option value=(value) selected { (value) } }
            @for (choice, words) in choices {
                option value=(choice) selected[choice == value] { (words) }
            }
        }
    }
}

fn choices(control: Control, shelved: &Shelved) -> Vec<(String, String)> {
    let pair = |value: &str, words: &str| (value.to_owned(), words.to_owned());
    match control {
        Control::OneOf(choices) => choices.iter().map(|(v, w)| pair(v, w)).collect(),
        Control::Blend => {
            let blends = &shelved.calibration.blends;
            blends.iter().map(|b| pair(&b.blend, &b.blend)).collect()
        }
        Control::Gauge(value, none) => {
            let mut gauges: Vec<u8> = all_needles().map_or_else(
                |_| Vec::new(),
                |needles| {
                    let regular = needles.iter().filter(|n| n.wall == Wall::Regular);
                    regular.map(|n| n.gauge).collect()
                },
            );
            gauges.sort_unstable();
            gauges.dedup();
            let named = gauges.into_iter().map(|gauge| {
                let hub =
                    hub_colour(gauge).map_or_else(String::new, |hub| format!(", {} hub", hub.name));
                (gauge.to_string(), format!("{gauge}G{hub}"))
            });
            std::iter::once(pair(value, none)).chain(named).collect()
        }
        Control::Syringe(none) => {
            let named = all_syringes().map_or_else(
                |_| Vec::new(),
                |rows| rows.iter().map(|row| row.name()).collect(),
            );
            let named = named
                .into_iter()
                .map(|name| (name.clone(), name.replace("mL", " mL")));
            std::iter::once(pair("", none)).chain(named).collect()
        }
        _ => Vec::new(),
    }
}
