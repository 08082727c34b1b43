//! Colours of needle hubs.

use serde::Serialize;

use super::error::ReferenceError;
use super::source::Source;
use super::table::{Embedded, Parsed, Row, rows_of};

static HUBS: Parsed<HubColour> = Parsed::new();
const FILE: Embedded = Embedded {
    name: "hub_colours.csv",
    text: include_str!("../../shared/hub_colours.csv"),
};

/// The colour of a needle's hub.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct HubColour {
    /// Gauge number.
    pub gauge: u8,
    /// Name of the colour in the standard.
    pub name: &'static str,
    /// Red, green and blue for a screen; our own choice near the name.
    pub rgb: (u8, u8, u8),
    /// Where the name comes from.
    #[serde(flatten)]
    pub source: Source,
}

fn rgb(text: &str) -> Option<(u8, u8, u8)> {
    let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6)?;
    let value = |from: usize| u8::from_str_radix(digits.get(from..from + 2)?, 16).ok();
    Some((value(0)?, value(2)?, value(4)?))
}

fn hub(row: &Row<'_>) -> Result<HubColour, ReferenceError> {
    Ok(HubColour {
        gauge: row.parsed("gauge", |text| text.parse().ok())?,
        name: row.text("colour")?,
        rgb: row.parsed("screen_hex", rgb)?,
        source: row.source()?,
    })
}

/// Every row of the table of hub colours.
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
pub fn all_hub_colours() -> Result<&'static [HubColour], ReferenceError> {
    rows_of(&HUBS, FILE, hub)
}

/// The hub colour of a gauge, or nothing where the table has none.
///
/// # Source
/// ISO 6009:2016; rows beyond 30G are remembered with doubt.
///
/// # Example
/// ```
/// let hub = heatset::reference::hub_colour(27).map(|hub| hub.name);
/// assert_eq!(hub, Some("medium grey"));
/// ```
#[must_use]
pub fn hub_colour(gauge: u8) -> Option<HubColour> {
    all_hub_colours()
        .ok()?
        .iter()
        .find(|hub| hub.gauge == gauge)
        .copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_hub_colours_parses_whole() {
        assert_eq!(
            all_hub_colours().unwrap().len(),
            FILE.text.lines().count() - 1
        );
    }

    #[test]
    fn a_screen_colour_is_six_hexadecimal_digits() {
        assert_eq!(rgb("#F07C00"), Some((0xF0, 0x7C, 0)));
        for wrong in [
            "F07C00",
            "#F07C0",
            "#F07C000",
            "#G07C00",
            "#\u{20AC}\u{20AC}",
        ] {
            assert_eq!(rgb(wrong), None, "{wrong}");
        }
    }
}
