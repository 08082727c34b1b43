//! Reads a heat schedule from TOML; every fault with its line and character, all at once.
//!
//! ```toml
//! start_temp = "22C"
//! clock = "insertion"      # insertion (default) | at-set
//! block_start = "22C"      # with ramp: a cold block heats up
//! ramp = "20K/min"
//! [[stage]]
//! kind = "heat"            # heat | hold | cool
//! set = "86C"
//! time = "7min"            # the one heat stage without time is the one that is asked for
//! [[stage]]
//! kind = "cool"
//! set = "22C"
//! time = "6min"
//! ```

use std::ops::Range;
use std::path::Path;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::input_error::{InputFault, InputFaults, ThermalInputError};
use super::input_text::read_text;
use super::near_match::nearest;
use super::schedule::{HeatSchedule, ScheduleClock, ScheduleStage, StageKind};
use super::schedule_check::{Draft, DraftStage, Known, Part};
use crate::units::{Dimension, UnitError, parse_quantity};

/// A schedule longer than this is another file.
const LARGEST_BYTES: u64 = 256 * 1024;

const TOP_KEYS: [&str; 5] = ["start_temp", "clock", "block_start", "ramp", "stage"];
const STAGE_KEYS: [&str; 3] = ["kind", "set", "time"];
const KINDS: [(&str, StageKind); 3] = [
    ("heat", StageKind::Heat),
    ("hold", StageKind::Hold),
    ("cool", StageKind::Cool),
];
const CLOCKS: [(&str, ScheduleClock); 2] = [
    ("insertion", ScheduleClock::Insertion),
    ("at-set", ScheduleClock::AtSet),
];

/// Reads a heat schedule from a file.
///
/// # Errors
/// As [`parse_heat_schedule`]; a file that cannot be opened, is too large or is not UTF-8.
pub fn read_heat_schedule(path: &Path) -> Result<HeatSchedule, ThermalInputError> {
    let text = read_text(path, "heat schedule", LARGEST_BYTES)?;
    parse_heat_schedule(&path.display().to_string(), &text)
}

/// Reads a heat schedule from its text; `file` names it in messages.
///
/// # Errors
/// [`ThermalInputError::Faults`] with every fault: text that is no TOML, keys that are not known
/// (with the one that was probably meant), values without a unit, and all that
/// [`HeatSchedule::checked`] refuses.
///
/// # Example
/// ```
/// use heatset::thermal::parse_heat_schedule;
/// let refused = parse_heat_schedule(
///     "run.toml",
///     "start_temp = \"22C\"\n[[stage]]\nkind = \"heat\"\nset = 86\n",
/// )
/// .unwrap_err();
/// assert_eq!(
///     refused.to_string(),
///     "run.toml cannot be read: 1 fault\n  line 4, column 7: set: \"86\" has no unit: write 86C, 359.15K or 186.8F (between quotation marks)",
/// );
/// ```
pub fn parse_heat_schedule(file: &str, text: &str) -> Result<HeatSchedule, ThermalInputError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (document, errors) = DeTable::parse_recoverable(text);
    let mut reader = Reader {
        text,
        faults: InputFaults::default(),
    };
    if !errors.is_empty() {
        reader.syntax(&errors);
        return Err(reader.faults.refusal(file));
    }
    let table = document.get_ref();
    reader.unknown_keys(
        table,
        &TOP_KEYS,
        &STAGE_KEYS,
        "put it under the [[stage]] that it belongs to",
    );
    let start = reader.quantity(table, "start_temp", Dimension::Temperature);
    if start == Known::Absent {
        reader.faults.push(InputFault::of_file(
            "start_temp is missing",
            "say how warm the gel is at the beginning: start_temp = \"22C\"",
        ));
    }
    let clock = reader.word(table, "clock", &CLOCKS);
    let block_start = reader.quantity(table, "block_start", Dimension::Temperature);
    let ramp = reader.quantity(table, "ramp", Dimension::TemperatureRate);
    let (stages, spans) = reader.stages(table);
    let draft = Draft {
        start_kelvin: start,
        block_start_kelvin: block_start,
        ramp_kelvin_per_s: ramp,
        stages,
    };
    reader.semantics(table, &draft, &spans);
    reader.faults.refuse(file)?;
    Ok(HeatSchedule {
        start_kelvin: start.value().unwrap_or_default(),
        clock: clock.flatten().unwrap_or_default(),
        block_start_kelvin: block_start.value(),
        ramp_kelvin_per_s: ramp.value(),
        stages: draft
            .stages
            .iter()
            .filter_map(|stage| {
                Some(ScheduleStage {
                    kind: stage.kind?,
                    set_kelvin: stage.set_kelvin.value()?,
                    time_s: stage.time_s.value(),
                })
            })
            .collect(),
    })
}

/// Where a stage and its values stand in the text.
#[derive(Default)]
struct StageSpans {
    whole: Range<usize>,
    set: Option<Range<usize>>,
    time: Option<Range<usize>>,
}

struct Reader<'t> {
    text: &'t str,
    faults: InputFaults,
}

fn entry<'a>(table: &'a DeTable<'_>, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
    table
        .iter()
        .find(|(name, _)| name.get_ref() == key)
        .map(|(_, value)| value)
}

impl Reader<'_> {
    /// Line and character of a byte, both from 1.
    fn place(&self, byte: usize) -> (usize, usize) {
        let before = self.text.get(..byte).unwrap_or(self.text);
        let line = 1 + before.matches('\n').count();
        let start = before.rfind('\n').map_or(0, |end| end + 1);
        let column = 1 + before.get(start..).map_or(0, |part| part.chars().count());
        (line, column)
    }

    fn fault(&mut self, span: &Range<usize>, message: impl Into<String>, remedy: Option<String>) {
        let (line, column) = self.place(span.start);
        self.faults.push(InputFault::at(
            line,
            Some(&column.to_string()),
            message,
            remedy,
        ));
    }

    /// Text that is no TOML: one fault a line, in the words of the reader of TOML.
    fn syntax(&mut self, errors: &[toml::de::Error]) {
        let mut told = Vec::new();
        for error in errors {
            let span = error.span().unwrap_or_default();
            let (line, _) = self.place(span.start);
            if told.contains(&line) {
                continue;
            }
            told.push(line);
            let words = self.text.lines().nth(line - 1).unwrap_or_default();
            let twice = error
                .message()
                .contains("duplicate")
                .then(|| "keep one of them".to_owned());
            let remedy = unquoted(words).or(twice).unwrap_or_else(|| {
                "write key = \"value\", one a line, every value between quotation marks".to_owned()
            });
            let message = format!(
                "this is not TOML: {}",
                error.message().replace("invalid", "unreadable")
            );
            self.fault(&span, message, Some(remedy));
        }
    }

    fn unknown_keys(
        &mut self,
        table: &DeTable<'_>,
        known: &[&'static str],
        elsewhere: &[&'static str],
        put_it: &str,
    ) {
        for (key, _) in table.iter() {
            let name: &str = key.get_ref();
            if known.contains(&name) {
                continue;
            }
            let remedy = if elsewhere.contains(&name) {
                put_it.to_owned()
            } else {
                match nearest(name, known) {
                    Some(meant) => format!("is {meant} meant?"),
                    None => format!("known here are {}", known.join(", ")),
                }
            };
            let shown: String = name.chars().take(40).collect();
            self.fault(
                &key.span(),
                format!("\"{shown}\" is not known here"),
                Some(remedy),
            );
        }
    }

    /// A quantity with its unit, between quotation marks.
    fn quantity(&mut self, table: &DeTable<'_>, key: &str, dimension: Dimension) -> Known {
        let Some(value) = entry(table, key) else {
            return Known::Absent;
        };
        let bare = bare_number(value.get_ref());
        let text = match value.get_ref() {
            DeValue::String(text) => text.to_string(),
            other => match &bare {
                Some(number) => number.clone(),
                None => {
                    self.fault(
                        &value.span(),
                        format!("{key} is {}, not a quantity", kind_words(other)),
                        Some(format!("write {key} = \"{}\"", first_example(dimension))),
                    );
                    return Known::Broken;
                }
            },
        };
        match parse_quantity(&text, dimension) {
            Ok(number) => Known::Value(number + 0.0),
            Err(error) => {
                let remedy = matches!(error, UnitError::MissingUnit { .. } if bare.is_some())
                    .then(|| "between quotation marks".to_owned());
                self.fault(&value.span(), format!("{key}: {error}"), remedy);
                Known::Broken
            }
        }
    }

    /// One of a few words: nothing where it is left out, nothing inside where it is not known.
    fn word<T: Copy>(
        &mut self,
        table: &DeTable<'_>,
        key: &str,
        known: &[(&'static str, T)],
    ) -> Option<Option<T>> {
        let value = entry(table, key)?;
        let names: Vec<&'static str> = known.iter().map(|(name, _)| *name).collect();
        let given = match value.get_ref() {
            DeValue::String(text) => text.to_string(),
            other => kind_words(other).to_owned(),
        };
        let found = known.iter().find(|(name, _)| *name == given);
        if found.is_none() {
            let remedy = match nearest(&given, &names) {
                Some(meant) => format!("is \"{meant}\" meant?"),
                None => format!("write {}", names.join(", ")),
            };
            let shown: String = given.chars().take(40).collect();
            self.fault(
                &value.span(),
                format!("{key} is \"{shown}\", which is none"),
                Some(remedy),
            );
        }
        Some(found.map(|(_, value)| *value))
    }

    fn stages(&mut self, table: &DeTable<'_>) -> (Vec<DraftStage>, Vec<StageSpans>) {
        let Some(value) = entry(table, "stage") else {
            return (Vec::new(), Vec::new());
        };
        let mut drafts = Vec::new();
        let mut spans = Vec::new();
        let items: Vec<&Spanned<DeValue<'_>>> = match value.get_ref() {
            DeValue::Array(items) => items.iter().collect(),
            _ => vec![value],
        };
        if !matches!(value.get_ref(), DeValue::Array(_)) {
            self.fault(
                &value.span(),
                "stage is one value here, and a schedule has a list of them",
                Some("write [[stage]] with two brackets on either side".to_owned()),
            );
        }
        for item in items {
            let Some(stage) = item.get_ref().as_table() else {
                if matches!(value.get_ref(), DeValue::Array(_)) {
                    self.fault(
                        &item.span(),
                        format!("a stage is {} here", kind_words(item.get_ref())),
                        Some("write [[stage]] and under it kind, set and time".to_owned()),
                    );
                }
                drafts.push(DraftStage {
                    kind: None,
                    set_kelvin: Known::Broken,
                    time_s: Known::Broken,
                });
                spans.push(StageSpans {
                    whole: item.span(),
                    ..StageSpans::default()
                });
                continue;
            };
            self.unknown_keys(
                stage,
                &STAGE_KEYS,
                &TOP_KEYS,
                "put it above the first [[stage]]: what stands below belongs to the stage",
            );
            let kind = self.word(stage, "kind", &KINDS);
            let set = self.quantity(stage, "set", Dimension::Temperature);
            let time = self.quantity(stage, "time", Dimension::Duration);
            for (missing, example) in [
                (kind.is_none(), "kind = \"heat\", \"hold\" or \"cool\""),
                (set == Known::Absent, "set = \"86C\""),
            ] {
                if missing {
                    let name = example.split(' ').next().unwrap_or_default();
                    self.fault(
                        &item.span(),
                        format!("stage {} has no {name}", drafts.len() + 1),
                        Some(format!("add {example}")),
                    );
                }
            }
            drafts.push(DraftStage {
                kind: kind.flatten(),
                set_kelvin: set,
                time_s: time,
            });
            let span_of = |key| entry(stage, key).map(Spanned::span);
            spans.push(StageSpans {
                whole: item.span(),
                set: span_of("set"),
                time: span_of("time"),
            });
        }
        (drafts, spans)
    }

    /// What contradicts itself, put where it stands in the text.
    fn semantics(&mut self, table: &DeTable<'_>, draft: &Draft, spans: &[StageSpans]) {
        let of_key = |key| entry(table, key).map(Spanned::span);
        for fault in draft.faults() {
            let span = match fault.part {
                Part::Whole => None,
                Part::StartTemp => of_key("start_temp"),
                Part::BlockStart => of_key("block_start"),
                Part::Ramp => of_key("ramp"),
                Part::Stage(number) => spans.get(number).map(|stage| stage.whole.clone()),
                Part::StageSet(number) => spans.get(number).and_then(|stage| stage.set.clone()),
                Part::StageTime(number) => spans.get(number).and_then(|stage| stage.time.clone()),
            };
            match span {
                Some(span) => self.fault(&span, fault.message, Some(fault.remedy)),
                None => self
                    .faults
                    .push(InputFault::of_file(fault.message, fault.remedy)),
            }
        }
    }
}

/// A number without quotation marks, as it stands in the file.
fn bare_number(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::Integer(number) => Some(number.as_str().to_owned()),
        DeValue::Float(number) => Some(number.as_str().to_owned()),
        _ => None,
    }
}

fn kind_words(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or a time of day",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

fn first_example(dimension: Dimension) -> &'static str {
    let examples = dimension.examples();
    examples.split([',', ' ']).next().unwrap_or(examples)
}

/// `set = 86C` is the commonest slip: the value as it should be written.
fn unquoted(line: &str) -> Option<String> {
    let (key, value) = line.split_once('=')?;
    let (key, value) = (key.trim(), value.split('#').next()?.trim());
    let plain = !value.is_empty() && !value.contains(['"', '\'', '[', '{']);
    let known = TOP_KEYS.contains(&key) || STAGE_KEYS.contains(&key);
    (plain && known).then(|| format!("write {key} = \"{value}\""))
}
