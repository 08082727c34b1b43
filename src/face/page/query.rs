//! What an address asks for: which calibration, in which units, and which part of the view.
//!
//! Every choice stands in the address, so that it can be kept, sent and reloaded.

use super::problem::PageError;
use super::shelf::Shelved;
use super::state::Shared;
use crate::units::shown::{ForceShown, Shown, TemperatureShown, TimeShown};
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use maud::{Markup, html};
use std::sync::Arc;

/// Key of the calibration.
pub(super) const CALIBRATION: &str = "cal";
/// Keys of the units.
pub(super) const TEMPERATURE_IN: &str = "temp_in";
/// Key of the unit of times.
pub(super) const TIME_IN: &str = "time_in";
/// Key of the unit of forces.
pub(super) const FORCE_IN: &str = "force_in";
/// What goes along to every room.
const KEPT: [&str; 4] = [CALIBRATION, TEMPERATURE_IN, TIME_IN, FORCE_IN];
/// Header with which the script asks for one part of a view.
const PART: &str = "x-heatset-part";
/// The longest address that is read, in bytes.
const LONGEST: usize = 16 * 1024;
/// The same in words.
const LONGEST_WORDS: &str = "16 kB";

/// What an address asks for.
#[derive(Debug, Clone, Default)]
pub(super) struct Asked {
    path: String,
    pairs: Vec<(String, String)>,
    part: Option<String>,
}

impl FromRequestParts<Shared> for Asked {
    type Rejection = PageError;

    async fn from_request_parts(parts: &mut Parts, _: &Shared) -> Result<Self, PageError> {
        let query = parts.uri.query();
        if query.is_some_and(|query| query.len() > LONGEST) {
            return Err(PageError::AddressTooLong {
                limit: LONGEST_WORDS,
            });
        }
        Ok(Self {
            path: parts.uri.path().to_owned(),
            pairs: form_urlencoded::parse(query.unwrap_or_default().as_bytes())
                .into_owned()
                .collect(),
            part: parts
                .headers
                .get(PART)
                .and_then(|part| part.to_str().ok())
                .map(str::to_owned),
        })
    }
}

impl Asked {
    /// The value of a key; blank counts as not given.
    pub(super) fn get(&self, key: &str) -> Option<&str> {
        self.pairs
            .iter()
            .rev()
            .find(|(name, _)| name == key)
            .map(|(_, value)| value.trim())
            .filter(|value| !value.is_empty())
    }

    /// The pair that stands last in the address of these keys; blank counts as not given.
    pub(super) fn last_of(&self, keys: &[&str]) -> Option<(&str, &str)> {
        self.pairs
            .iter()
            .rev()
            .map(|(key, value)| (key.as_str(), value.trim()))
            .find(|(key, value)| keys.contains(key) && !value.is_empty())
    }

    /// The same address with what was typed into a form that was sent.
    pub(super) fn sent(&self, pairs: Vec<(String, String)>) -> Self {
        let kept = self
            .pairs
            .iter()
            .filter(|(key, _)| KEPT.contains(&key.as_str()));
        Self {
            path: self.path.clone(),
            pairs: kept.cloned().chain(pairs).collect(),
            part: None,
        }
    }

    /// Whether the script asks for this part of the view alone.
    pub(super) fn wants(&self, part: &str) -> bool {
        self.part.as_deref() == Some(part)
    }

    /// The units that quantities are shown in.
    pub(super) fn shown(&self) -> Shown {
        Shown {
            temperature: match self.get(TEMPERATURE_IN) {
                Some("F") => TemperatureShown::Fahrenheit,
                _ => TemperatureShown::Celsius,
            },
            time: match self.get(TIME_IN) {
                Some("s") => TimeShown::Seconds,
                _ => TimeShown::Spoken,
            },
            force: match self.get(FORCE_IN) {
                Some("kgf") => ForceShown::KilogramForce,
                _ => ForceShown::Newton,
            },
        }
    }

    /// The calibration that answers stand on.
    ///
    /// # Errors
    /// A code that is not on the shelf.
    pub(super) fn calibration(&self, state: &Shared) -> Result<Arc<Shelved>, PageError> {
        match self.get(CALIBRATION) {
            Some(code) => state.shelf.find(code).ok_or_else(|| PageError::NotOnShelf {
                code: code.chars().take(20).collect(),
            }),
            None => state.shelf.first().ok_or(PageError::NoView),
        }
    }

    /// The path of the view.
    pub(super) fn path(&self) -> &str {
        &self.path
    }

    /// An address elsewhere that keeps calibration and units, with these pairs beside them.
    pub(super) fn to(&self, path: &str, pairs: &[(&str, &str)]) -> String {
        let kept = self
            .pairs
            .iter()
            .filter(|(key, _)| KEPT.contains(&key.as_str()))
            .filter(|(key, _)| !pairs.iter().any(|(name, _)| name == key))
            .map(|(key, value)| (key.as_str(), value.as_str()));
        address(path, kept.chain(pairs.iter().copied()))
    }

    /// This view's path or another, with everything that was asked for and these pairs changed.
    pub(super) fn with(&self, path: &str, pairs: &[(&str, &str)]) -> String {
        let kept = self
            .pairs
            .iter()
            .filter(|(key, _)| !pairs.iter().any(|(name, _)| name == key))
            .map(|(key, value)| (key.as_str(), value.as_str()));
        address(path, kept.chain(pairs.iter().copied()))
    }

    /// Hidden fields that carry calibration and units through a form.
    pub(super) fn kept_fields(&self) -> Markup {
        self.hidden(|key| KEPT.contains(&key))
    }

    /// Hidden fields of everything but these keys.
    pub(super) fn fields_but(&self, changed: &[&str]) -> Markup {
        self.hidden(|key| !changed.contains(&key))
    }

    fn hidden(&self, wanted: impl Fn(&str) -> bool) -> Markup {
        html! {
            @for (key, value) in self.pairs.iter().filter(|(key, _)| wanted(key)) {
                input type="hidden" name=(key) value=(value);
            }
        }
    }
}

/// A path with a query; pairs without a value are left out.
fn address<'a>(path: &str, pairs: impl Iterator<Item = (&'a str, &'a str)>) -> String {
    let query = form_urlencoded::Serializer::new(String::new())
        .extend_pairs(pairs.filter(|(_, value)| !value.is_empty()))
        .finish();
    if query.is_empty() {
        path.to_owned()
    } else {
        format!("{path}?{query}")
    }
}
