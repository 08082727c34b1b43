//! Fields of the forms that state a command's options: what a key means, what was typed for it, and
//! what is wrong with that, at the field.
//!
//! The unit stands in the key (`at_C`), so that a bare number has a meaning; a value may carry a unit of
//! its own ('187F'). No field states an option that names a file.

use super::query::Asked;
use super::shelf::Shelved;
use crate::face::cli::for_page::{Fault, Stated};
use crate::reference::{Wall, all_needles, all_syringes, hub_colour};
use crate::units;
use maud::{Markup, html};

/// The longest value that is read, in letters.
const LONGEST: usize = 200;

/// A field.
#[derive(Debug)]
pub(super) struct Field {
    /// Its keys, each with the unit of a bare number under it and what that number is multiplied with;
    /// the first is the form's own.
    pub(super) keys: &'static [(&'static str, &'static str, f64)],
    /// The option that it states; nothing where its room reads it itself.
    pub(super) option: &'static str,
    /// Its name, with the unit of its own key.
    pub(super) label: &'static str,
    /// What else is to be known of it.
    pub(super) hint: &'static str,
    /// How it is typed.
    pub(super) control: Control,
    /// What its value is held against before the command sees it.
    pub(super) check: Option<fn(&str) -> Result<(), String>>,
}

/// How a field is typed.
#[derive(Debug, Clone, Copy)]
pub(super) enum Control {
    /// One line; with numbers where a keypad of numbers serves.
    Line {
        /// Whether it holds numbers.
        number: bool,
    },
    /// Several lines.
    Lines,
    /// A line of values with commas between them, each stated by itself.
    Several,
    /// A tick; the option is a switch.
    Tick,
    /// One of a few: value and words.
    OneOf(&'static [(&'static str, &'static str)]),
    /// A blend of the calibration.
    Blend,
    /// A gauge of the table; the words are those of none.
    Gauge(&'static str),
    /// A syringe of the table; the words are those of none.
    Syringe(&'static str),
}

impl Field {
    /// Its key in this form.
    pub(super) fn key(&self) -> &'static str {
        self.keys.first().map_or("", |(key, _, _)| key)
    }

    /// What was typed for it, with its unit where the key is another than the form's own.
    fn typed(&self, asked: &Asked) -> Option<String> {
        let given = self.keys.iter().enumerate().find_map(|(place, key)| {
            let value = asked.get(key.0)?;
            Some(if place == 0 {
                value.to_owned()
            } else {
                with_unit(value, key.1, key.2)
            })
        })?;
        // 'own' and 'any' are words of the room of heating: here the bore says it, or nothing does.
        let of_heat = matches!(self.control, Control::Gauge(_) | Control::Syringe(_))
            && matches!(given.as_str(), "own" | "any");
        (!of_heat).then_some(given)
    }

    /// A value with the unit of the form's own key.
    fn in_unit(&self, value: &str) -> String {
        match self.keys.first() {
            Some((_, unit, times)) => with_unit(value, unit, *times),
            None => value.to_owned(),
        }
    }
}

/// A bare number with its unit; anything else as it is.
fn with_unit(value: &str, unit: &str, times: f64) -> String {
    let is_bare = value
        .bytes()
        .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b',' | b'-' | b'+' | b'e' | b'E'));
    if unit.is_empty() || !is_bare {
        return value.to_owned();
    }
    match value.parse::<f64>() {
        Ok(number) if times != 1.0 => format!("{}{unit}", number * times),
        _ => format!("{value}{unit}"),
    }
}

/// What was typed into the fields of a form, and what is wrong with it.
#[derive(Debug, Clone)]
pub(super) struct Typed {
    fields: Vec<(&'static Field, String)>,
    faults: Vec<(&'static str, String)>,
    /// What is wrong with the whole.
    whole: Vec<String>,
}

impl Typed {
    /// What an address says of these fields; where it says nothing, the presets do.
    pub(super) fn of(
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
    pub(super) fn value(&self, key: &str) -> Option<&str> {
        self.fields
            .iter()
            .find(|(field, value)| field.key() == key && !value.is_empty())
            .map(|(_, value)| value.as_str())
    }

    /// The keys of all fields.
    pub(super) fn keys(&self) -> Vec<&'static str> {
        self.fields
            .iter()
            .flat_map(|(field, _)| field.keys.iter().map(|(key, _, _)| *key))
            .collect()
    }

    /// The options that are stated; faults of single values are kept at their fields.
    pub(super) fn stated(&mut self) -> Vec<Stated> {
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
            if field.option.is_empty() {
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
    pub(super) fn is_faulty(&self) -> bool {
        !self.faults.is_empty() || !self.whole.is_empty()
    }

    /// Forgets what is wrong: nothing was sent yet.
    pub(super) fn forgive(&mut self) {
        self.faults.clear();
        self.whole.clear();
    }

    /// Puts a fault at a field.
    pub(super) fn blame(&mut self, key: &'static str, words: impl Into<String>) {
        self.faults.push((key, words.into()));
    }

    /// Puts faults at the fields of their options, in the words of this page.
    pub(super) fn mark(&mut self, faults: Vec<Fault>) {
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
    pub(super) fn in_page_words(&self, message: &str) -> String {
        in_page_words(message, self.fields.iter().map(|(field, _)| *field))
    }

    /// Everything that is wrong, for the part that answers.
    pub(super) fn problem(&self) -> Markup {
        html! {
            div.problem role="alert" {
                @for message in &self.whole {
                    @for line in message.lines() { p { (line) } }
                }
                @for (key, words) in &self.faults {
                    p data-fault=(key) data-words=(words) { strong { (self.name(key)) ": " } (words) }
                }
            }
        }
    }

    /// The same in words alone, one fault a line.
    pub(super) fn words(&self) -> String {
        let at_fields = self
            .faults
            .iter()
            .map(|(key, words)| format!("{}: {words}", self.name(key)));
        let lines: Vec<String> = self.whole.iter().cloned().chain(at_fields).collect();
        lines.join("\n")
    }

    fn name(&self, key: &str) -> &str {
        self.fields
            .iter()
            .find(|(field, _)| field.key() == key)
            .map_or("", |(field, _)| plain_name(field.label))
    }

    /// The controls of these fields, as far as the form has them.
    pub(super) fn controls(&self, fields: &[&'static Field], shelved: &Shelved) -> Markup {
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
        let described = format!("hint-{key} fault-{key}");
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
                p.fault id={ "fault-" (key) } { @if let Some((_, words)) = fault { (words) } }
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
        Control::Gauge(none) => {
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
            std::iter::once(pair("", none)).chain(named).collect()
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

/// A message with the names of fields in place of the options that they state: those of a form, else
/// those that stand in any.
pub(super) fn in_page_words<'a>(message: &str, of_form: impl Iterator<Item = &'a Field>) -> String {
    let known: Vec<(&str, &str)> = of_form
        .chain(EVERYWHERE)
        .filter(|field| !field.option.is_empty())
        .map(|field| (field.option, plain_name(field.label)))
        .chain([("warm-up", WARM_UP.label)])
        .collect();
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
fn plain_name(label: &str) -> &str {
    label.split(", ").next().unwrap_or(label)
}

/// A field that holds a number.
pub(super) const fn number_field(
    keys: &'static [(&'static str, &'static str, f64)],
    option: &'static str,
    label: &'static str,
    hint: &'static str,
) -> Field {
    Field {
        keys,
        option,
        label,
        hint,
        control: Control::Line { number: true },
        check: None,
    }
}

/// A field with another control.
pub(super) const fn with(
    control: Control,
    keys: &'static [(&'static str, &'static str, f64)],
    option: &'static str,
    label: &'static str,
    hint: &'static str,
) -> Field {
    Field {
        keys,
        option,
        label,
        hint,
        control,
        check: None,
    }
}

/// Declares fields that hold a number: keys, option, label, hint.
macro_rules! numbers {
    ($($(#[$doc:meta])* $name:ident: [$(($key:literal, $unit:literal)),+], $option:literal, $label:literal, $hint:literal;)*) => {$(
        $(#[$doc])*
        pub(super) static $name: Field = crate::face::page::fields::number_field(
            &[$(($key, $unit, 1.0)),+], $option, $label, $hint);
    )*};
}
pub(super) use numbers;

numbers! {
    /// Volume fraction of hyaluronic acid solution.
    HA_FRACTION: [("ha_fraction", "")], "ha-fraction", "Hyaluronic acid solution, share of the volume", "In place of the blend: one that was measured, or one between two; 0.2 is one part in five";
    /// Set temperature.
    AT: [("at_C", "C"), ("at_F", "F"), ("at", "")], "at", "Block temperature, °C", "Blank: the hottest that was measured";
    /// Heat time.
    HEAT_TIME: [("heat_time_min", "min"), ("heat_time_s", "s"), ("heat_time", "")], "heat-time", "Heat time, min", "On the clock; or 7min 30s";
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
pub(super) static BLEND: Field = with(Control::Blend, &[("blend", "", 1.0)], "blend", "Blend", "");
/// Gauge, where one needle is asked about.
pub(super) static GAUGE: Field = with(
    Control::Gauge("by its bore"),
    &[("gauge", "", 1.0)],
    "gauge",
    "Needle",
    "",
);
/// Wall of the needle.
pub(super) static WALL: Field = with(
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
pub(super) static SYRINGE: Field = with(
    Control::Syringe("1 mL (usual)"),
    &[("syringe", "", 1.0)],
    "syringe",
    "Syringe",
    "",
);
/// Push limit.
pub(super) static PUSH: Field = number_field(
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
pub(super) static FLOW: Field = number_field(
    &[
        ("flow_mL_per_min", "mL/min", 1.0),
        ("seconds_per_tenth_mL", "s/mL", 10.0),
    ],
    "flow",
    "Speed, mL/min",
    "Blank: 1",
);
/// Losses at the needle's ends.
pub(super) static END_LOSSES: Field = with(
    Control::Tick,
    &[("end_losses", "", 1.0)],
    "end-losses",
    "Count the losses at the needle's entrance and exit",
    "",
);
/// Answers outside what was measured.
pub(super) static EXTRAPOLATE: Field = with(
    Control::Tick,
    &[("extrapolate", "", 1.0)],
    "extrapolate",
    "Answer outside what was measured too, and mark it",
    "",
);
/// Warm-up of the gel.
pub(super) static WARM_UP: Field = with(
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
pub(super) static LAG: Field = Field {
    check: Some(|lag| units::duration_s(lag).map(drop).map_err(|e| e.to_string())),
    ..number_field(
        &[("lag_s", "s", 1.0)],
        "",
        "Lag, s",
        "The time in which the gel covers 63 % of the way to the block's temperature",
    )
};
/// Temperatures at which the gel stands.
pub(super) static STAND_TEMP: Field = with(
    Control::Several,
    &[("stand_temp_C", "C", 1.0)],
    "stand-temp",
    "Stands at, °C",
    "Several with commas; blank: those that were measured",
);

/// Fields whose options a message may name in any room.
static EVERYWHERE: [&Field; 22] = [
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
    &FLOW_INDEX,
    &SHEAR_RATE,
    &ALTITUDE,
    &EXTRAPOLATE,
    &LEAST_PUSH,
];

/// The first blend, where the calibration has several and no share was typed.
pub(super) fn first_blend(asked: &Asked, shelved: &Shelved) -> Option<(&'static str, String)> {
    let first = shelved.calibration.blends.first()?;
    asked
        .get(HA_FRACTION.key())
        .is_none()
        .then(|| (BLEND.key(), first.blend.clone()))
}

/// The blend that is asked about, as far as it was measured; else the first.
pub(super) fn blend_of<'a>(
    typed: Option<&str>,
    shelved: &'a Shelved,
) -> Option<&'a crate::fit::BlendCalibration> {
    let blends = &shelved.calibration.blends;
    typed
        .and_then(|name| blends.iter().find(|blend| blend.blend == name))
        .or(blends.first())
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

    #[test]
    fn a_bare_number_takes_the_unit_of_its_key_and_a_unit_stays() {
        assert_eq!(with_unit("86", "C", 1.0), "86C");
        assert_eq!(with_unit("187F", "C", 1.0), "187F");
        assert_eq!(with_unit("7min 30s", "min", 1.0), "7min 30s");
        assert_eq!(with_unit("NaN", "C", 1.0), "NaN");
        // 6 s for a tenth of a millilitre are 60 s for one.
        assert_eq!(with_unit("6", "s/mL", 10.0), "60s/mL");
    }
}
