//! What was typed into the fields of a form, and what is wrong with it.

use super::{Control, EVERYWHERE, Field, LAG, WARM_UP};
use crate::face::cli::for_page::{Fault, Stated};
use crate::face::page::query::Asked;
use crate::units;

/// The longest value that is read, in letters.
const LONGEST: usize = 200;

/// What was typed into the fields of a form, and what is wrong with it.
#[derive(Debug, Clone)]
pub(in crate::face::page) struct Typed {
    pub(super) fields: Vec<(&'static Field, String)>,
    pub(super) faults: Vec<(&'static str, String)>,
    /// What is wrong with the whole.
    pub(super) whole: Vec<String>,
}

impl Typed {
    /// What an address says of these fields; where it says nothing, the presets do.
    pub(in crate::face::page) fn of(
        asked: &Asked,
        fields: impl IntoIterator<Item = &'static Field>,
        presets: &[(&'static str, String)],
    ) -> Self {
        let fields = fields
            .into_iter()
            .map(|field| {
                let preset = || {
                    presets
                        .iter()
                        .find(|(key, _)| *key == field.key())
                        .map(|(_, value)| value.clone())
                };
                let value = field.typed(asked).or_else(preset).unwrap_or_default();
                (field, value)
            })
            .collect();
        Self {
            fields,
            faults: Vec::new(),
            whole: Vec::new(),
        }
    }

    /// What stands in a field; nothing where it is blank.
    pub(in crate::face::page) fn value(&self, key: &str) -> Option<&str> {
        self.fields
            .iter()
            .find(|(field, value)| field.key() == key && !value.is_empty())
            .map(|(_, value)| value.as_str())
    }

    /// The keys of all fields.
    pub(in crate::face::page) fn keys(&self) -> Vec<&'static str> {
        self.fields
            .iter()
            .flat_map(|(field, _)| field.keys.iter().map(|(key, _, _)| *key))
            .collect()
    }

    /// The options that are stated; faults of single values are kept at their fields.
    pub(in crate::face::page) fn stated(&mut self) -> Vec<Stated> {
        let mut stated = Vec::new();
        let mut faults = Vec::new();
        for (field, value) in self.fields.iter().filter(|(_, value)| !value.is_empty()) {
            if value.chars().count() > LONGEST && !matches!(field.control, Control::Lines) {
                faults.push((field.key(), format!("more than {LONGEST} letters")));
                continue;
            }
            if let Some(Err(words)) = field.check.map(|check| check(&field.in_unit(value))) {
                faults.push((field.key(), words));
                continue;
            }
            // 'own': the bore says it.
            let is_own =
                matches!(field.control, Control::Gauge(..) | Control::Syringe(_)) && value == "own";
            if field.option.is_empty() || is_own {
                continue;
            }
            let values: Vec<Option<String>> = match field.control {
                Control::Tick if value == "yes" => vec![None],
                Control::Tick => Vec::new(),
                Control::Several => value
                    .split([',', ';'])
                    .map(str::trim)
                    .filter(|part| !part.is_empty())
                    .map(|part| Some(field.in_unit(part)))
                    .collect(),
                _ => vec![Some(field.in_unit(value))],
            };
            stated.extend(values.into_iter().map(|value| Stated {
                option: field.option,
                value,
            }));
        }
        stated.extend(self.warm_up());
        self.faults.extend(faults);
        stated
    }

    /// The warm-up: none of its words reaches the command but those that are written here, and a time.
    fn warm_up(&self) -> Option<Stated> {
        let lag = self.value(LAG.key()).map(|lag| LAG.in_unit(lag));
        let value = match (self.value(WARM_UP.key()), lag) {
            (Some("hot"), _) => "none".to_owned(),
            (Some("syringe"), _) => "syringe".to_owned(),
            (Some("lag") | None, Some(lag)) if units::duration_s(&lag).is_ok() => lag,
            _ => return None,
        };
        Some(Stated {
            option: "warm-up",
            value: Some(value),
        })
    }

    /// Whether anything is wrong.
    pub(in crate::face::page) fn is_faulty(&self) -> bool {
        !self.faults.is_empty() || !self.whole.is_empty()
    }

    /// Forgets what is wrong: nothing was sent yet.
    pub(in crate::face::page) fn forgive(&mut self) {
        self.faults.clear();
        self.whole.clear();
    }

    /// Puts a fault at a field.
    pub(in crate::face::page) fn blame(&mut self, key: &'static str, words: impl Into<String>) {
        self.faults.push((key, words.into()));
    }

    /// Puts faults at the fields of their options, in the words of this page.
    pub(in crate::face::page) fn mark(&mut self, faults: Vec<Fault>) {
        for fault in faults {
            let begins_with = |field: &Field| {
                !field.option.is_empty()
                    && fault
                        .message
                        .strip_prefix("--")
                        .and_then(|rest| rest.strip_prefix(field.option))
                        .is_some_and(|rest| rest.starts_with([' ', ':']))
            };
            let at = self.fields.iter().find(|(field, _)| {
                fault.option == Some(field.option) || (fault.option.is_none() && begins_with(field))
            });
            let words = self.in_page_words(&fault.message);
            match at {
                Some((field, _)) => self.faults.push((field.key(), words)),
                None => self.whole.push(words),
            }
        }
    }

    /// A message with the names of fields in place of the options that they state.
    pub(in crate::face::page) fn in_page_words(&self, message: &str) -> String {
        in_page_words(message, self.fields.iter().map(|(field, _)| *field))
    }

    /// The same in words alone, one fault a line.
    pub(in crate::face::page) fn words(&self) -> String {
        let at_fields = self
            .faults
            .iter()
            .map(|(key, words)| format!("{}: {words}", self.name(key)));
        let lines: Vec<String> = self.whole.iter().cloned().chain(at_fields).collect();
        lines.join("\n")
    }

    pub(super) fn name(&self, key: &str) -> &str {
        self.fields
            .iter()
            .find(|(field, _)| field.key() == key)
            .map_or("", |(field, _)| plain_name(field.label))
    }
}

/// Options with their values, and what stands for them on this page; the longer first.
const PHRASES: [(&str, &str); 3] = [
    (
        "--warm-up syringe, which computes it, or --warm-up with the lag of your syringe",
        "'conduction in this syringe' under 'Warm-up', which computes it, or the lag of your syringe",
    ),
    (
        "--warm-up with the lag that the trace shows",
        "the lag that the trace shows",
    ),
    (
        "--warm-up syringe",
        "'conduction in this syringe' under 'Warm-up'",
    ),
];

/// A message with the names of fields in place of the options that they state: those of a form, else
/// those that stand in any.
pub(in crate::face::page) fn in_page_words<'a>(
    message: &str,
    of_form: impl Iterator<Item = &'a Field>,
) -> String {
    let known: Vec<(&str, &str)> = of_form
        .chain(EVERYWHERE)
        .filter(|field| !field.option.is_empty())
        .map(|field| (field.option, plain_name(field.label)))
        .chain([("warm-up", WARM_UP.label)])
        .collect();
    // What an option and its value say together.
    let message = PHRASES.iter().fold(message.to_owned(), |text, (from, to)| {
        text.replace(from, to)
    });
    let mut words = String::with_capacity(message.len());
    let mut parts = message.split("--");
    words.push_str(parts.next().unwrap_or_default());
    for part in parts {
        let end = part
            .find(|letter: char| !letter.is_ascii_lowercase() && letter != '-')
            .unwrap_or(part.len());
        let (option, rest) = part.split_at(end);
        match known.iter().find(|(name, _)| *name == option) {
            Some((_, name)) => words.push_str(&format!("'{name}'{rest}")),
            None => words.push_str(&format!("--{part}")),
        }
    }
    words
}

/// A label without its unit.
pub(super) fn plain_name(label: &str) -> &str {
    label.split(", ").next().unwrap_or(label)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_message_names_fields_and_leaves_other_options_alone() {
        let words = in_page_words(
            "What helps: --gauge 27, --force-read 9N or --out x",
            std::iter::empty(),
        );
        assert_eq!(words, "What helps: 'Needle' 27, --force-read 9N or --out x");
    }
}
