//! Letters: the embedded font, the width of a text, and breaking it into lines.

use std::sync::OnceLock;

use plotters::style::{FontDesc, FontFamily, FontStyle, register_font};

use super::error::ChartError;
use super::scene::Weight;

/// The embedded font first; a reader of the SVG without it finds one of nearly the same width.
pub(super) const FAMILY: &str = "DejaVu Sans, Verdana, sans-serif";
/// Height of a capital, in font sizes (DejaVu Sans 2.37: 1493 of 2048 units).
pub(super) const CAPITAL: f64 = 0.729;
/// From one baseline to the next, in font sizes.
pub(super) const LEADING: f64 = 1.25;
/// The font's line height in font sizes (DejaVu Sans 2.37: 1901 up and 483 down of 2048
/// units); the pixel backend takes sizes as line heights.
pub(super) const LINE_HEIGHT: f64 = 2384.0 / 2048.0;
/// The size at which widths are measured: large, because the library rounds them down.
const MEASURED_AT: f64 = 1000.0;

/// Makes the embedded font known to the drawing library, once.
pub(super) fn prepare_fonts() -> Result<(), ChartError> {
    static READY: OnceLock<bool> = OnceLock::new();
    let ready = *READY.get_or_init(|| {
        register_font(FAMILY, FontStyle::Normal, dejavu::sans::regular()).is_ok()
            && register_font(FAMILY, FontStyle::Bold, dejavu::sans::bold()).is_ok()
    });
    if ready {
        Ok(())
    } else {
        Err(ChartError::FontUnreadable)
    }
}

pub(super) fn font(size: f64, weight: Weight) -> FontDesc<'static> {
    let style = match weight {
        Weight::Regular => FontStyle::Normal,
        Weight::Bold => FontStyle::Bold,
    };
    FontDesc::new(FontFamily::Name(FAMILY), size, style)
}

/// Width of a text in pixels.
pub(super) fn width(text: &str, size: f64, weight: Weight) -> f64 {
    match font(MEASURED_AT * LINE_HEIGHT, weight).layout_box(text) {
        Ok(((left, _), (right, _))) => f64::from(right - left) * size / MEASURED_AT,
        // Never met once the fonts are ready; half a square a letter is near enough to place.
        Err(_) => 0.6 * size * text.chars().count() as f64,
    }
}

/// One line without anything that a picture cannot hold.
pub(super) fn clean(text: &str) -> String {
    text.chars()
        .map(|letter| if letter.is_control() { ' ' } else { letter })
        .collect::<String>()
        .trim()
        .to_string()
}

/// Breaks a text into lines no wider than the room; a word that is wider is broken too, so
/// that nothing is ever cut off. A line break in the text is kept.
pub(super) fn wrap(text: &str, size: f64, weight: Weight, room: f64) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        for word in words_of(&clean(paragraph)) {
            let word = word.as_str();
            let longer = if line.is_empty() {
                word.to_string()
            } else {
                format!("{line} {word}")
            };
            if width(&longer, size, weight) <= room {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for letter in word.chars() {
                let mut longer = line.clone();
                longer.push(letter);
                if !line.is_empty() && width(&longer, size, weight) > room {
                    lines.push(std::mem::take(&mut line));
                    line.push(letter);
                } else {
                    line = longer;
                }
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
    }
    lines
}

/// What a number keeps beside it at the end of a line.
const UNITS: [&str; 15] = [
    "s", "min", "h", "d", "°C", "K", "%", "N", "mm", "mL", "mL/min", "Pa.s", "mPa.s", "kPa",
    "kJ/mol",
];

/// The words of a line; a number and its unit are one word.
fn words_of(line: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in line.split(' ').filter(|word| !word.is_empty()) {
        let bare = word.trim_end_matches([',', ';', '.', ':', ')']);
        match words.last_mut() {
            Some(before)
                if UNITS.contains(&bare)
                    && before.ends_with(|letter: char| letter.is_ascii_digit()) =>
            {
                before.push(' ');
                before.push_str(word);
            }
            _ => words.push(word.to_string()),
        }
    }
    words
}

/// A text broken into lines at the size that suits it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Block {
    pub(super) lines: Vec<String>,
    pub(super) size: f64,
    pub(super) weight: Weight,
}

impl Block {
    /// At the full size if it then takes no more than the lines wanted; else smaller, down to
    /// six tenths, where it takes as many lines as it needs.
    pub(super) fn fit(
        text: &str,
        size: f64,
        weight: Weight,
        room: f64,
        lines_wanted: usize,
    ) -> Self {
        let at = |share: f64| Block {
            lines: wrap(text, size * share, weight, room),
            size: size * share,
            weight,
        };
        [1.0, 0.92, 0.85, 0.78, 0.72, 0.66]
            .into_iter()
            .map(at)
            .find(|block| block.lines.len() <= lines_wanted)
            .unwrap_or_else(|| at(0.6))
    }

    /// The same words in as many lines, of as equal a length as can be: no word alone on the
    /// last line.
    pub(super) fn balanced(self, text: &str, room: f64) -> Self {
        let mut best = self;
        for share in (10..20).rev() {
            let lines = wrap(text, best.size, best.weight, room * f64::from(share) / 20.0);
            if lines.len() != best.lines.len() {
                break;
            }
            best.lines = lines;
        }
        best
    }

    pub(super) fn height(&self) -> f64 {
        self.lines.len() as f64 * self.size * LEADING
    }

    pub(super) fn width(&self) -> f64 {
        self.lines
            .iter()
            .map(|line| width(line, self.size, self.weight))
            .fold(0.0, f64::max)
    }
}
